//! Ugly files as labs have them.

use matewell_intake::{Field, IntakeError, Kind, Mapping, Value, guess_kind, guess_mapping, read_tables};
use rust_xlsxwriter::{Format, Workbook};

#[test]
fn latin_1_semicolons_and_a_title_above_the_header() {
    let text = b"Larkmoor Receiver Workshop;;;\n\nDatum;Pr\xfcfer;Stecker;R\xfcckstand [\xb5m];Bemerkung\n03.02.2026;AK;CB-17A;12,5;\"a;b\"\n";
    let tables = read_tables(text, "log.csv").unwrap();
    let table = tables.first().unwrap();
    assert_eq!(table.read_as, "text, Windows-1252, separated by semicolon");
    assert_eq!(table.header_row, Some(3));
    assert_eq!(table.rows.last().unwrap().number, 4);
    assert_eq!(guess_kind(table), Some(Kind::Gaugings));
    let mapping = guess_mapping(table, Kind::Gaugings);
    let fields: Vec<_> = mapping.columns.iter().map(|column| column.field).collect();
    assert_eq!(
        fields,
        [
            Some(Field::Date),
            Some(Field::Person),
            Some(Field::EndTag),
            Some(Field::PinDepth),
            Some(Field::Note)
        ]
    );
    let depth = mapping.columns.get(3).unwrap();
    assert_eq!(depth.unit.unwrap().symbol(), "µm");
    assert_eq!(depth.word.unwrap().word(), "recessed");
    assert_eq!(Mapping::from_toml(&mapping.to_toml().unwrap()).unwrap(), mapping);
}

#[test]
fn a_workbook_keeps_types_rows_and_formulas() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name("Log").unwrap();
    sheet.write(0, 0, "Pin gauging").unwrap();
    for (column, header) in
        ["Date", "End tag", "Reading 1 (mil)", "Reading 2 (mil)", "Mean"].iter().enumerate()
    {
        sheet.write(2, u16::try_from(column).unwrap(), *header).unwrap();
    }
    let date = Format::new().set_num_format("yyyy-mm-dd");
    sheet.write_with_format(3, 0, 45_943.0, &date).unwrap();
    sheet.write(3, 1, "CB-17A").unwrap();
    sheet.write(3, 2, -0.5).unwrap();
    sheet.write(3, 3, -0.4).unwrap();
    sheet.write_formula(3, 4, "=AVERAGE(C4:D4)").unwrap();
    book.add_worksheet().set_name("Nothing").unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let tables = read_tables(&bytes, "log.xlsx").unwrap();
    assert_eq!(tables.len(), 2);
    assert!(tables.get(1).unwrap().rows.is_empty());
    let table = tables.first().unwrap();
    assert_eq!((table.sheet.as_str(), table.header_row), ("Log", Some(3)));
    let row = table.rows.last().unwrap();
    assert_eq!(row.number, 4);
    // 45943 is 2025-10-13 in the 1900 calendar of spreadsheets.
    assert!(
        matches!(row.cell(0).value, Value::Moment { civil, has_time: false } if civil.date() == jiff::civil::date(2025, 10, 13))
    );
    assert_eq!(row.cell(2).value, Value::Number(-0.5));
    assert!(row.cell(4).from_formula);
    let mapping = guess_mapping(table, Kind::Gaugings);
    let readings = mapping.columns.iter().filter(|column| column.field == Some(Field::PinDepth)).count();
    assert_eq!(readings, 2, "a mean is no reading");
}

#[test]
fn grouped_headers_name_their_end() {
    let text = b"Tag,Type,End 1,,End 2,\n,,Interface,Sex,Interface,Sex\nCB-17,cable,SMA,m,N,f\n";
    let mut tables = read_tables(text, "r.csv").unwrap();
    let table = tables.first_mut().unwrap();
    table.header_row = Some(2);
    let headers = table.headers(2);
    assert_eq!(headers.get(2..).unwrap(), ["End 1 Interface", "End 1 Sex", "End 2 Interface", "End 2 Sex"]);
}

#[test]
fn no_mutation_of_a_file_panics() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for row in 0..12_u32 {
        sheet.write(row, 0, format!("CB-{row}")).unwrap();
        sheet.write(row, 1, f64::from(row)).unwrap();
    }
    let xlsx = book.save_to_buffer().unwrap();
    let csv = b"Date;End;\"Pin depth (\xb5m)\"\n1.2.2026;CB-17A;12,5\n".to_vec();
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    println!("seed {state:#x}");
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    let pick = |random: u64, length: usize| usize::try_from(random % (length as u64)).unwrap();
    for round in 0..4000 {
        let mut bytes = if round % 2 == 0 { xlsx.clone() } else { csv.clone() };
        for _ in 0..=(next() % 6) {
            let at = pick(next(), bytes.len());
            if let Some(byte) = bytes.get_mut(at) {
                *byte = u8::try_from(next() % 256).unwrap();
            }
        }
        if next() % 4 == 0 {
            let at = pick(next(), bytes.len());
            bytes.truncate(at);
        }
        for table in read_tables(&bytes, "mutant").unwrap_or_default() {
            for kind in Kind::ALL {
                let _mapping = guess_mapping(&table, *kind);
            }
        }
    }
}

#[test]
fn what_is_not_a_table_is_named() {
    for bytes in [&b"%PDF-1.7"[..], b"\xd0\xcf\x11\xe0rest", b"PK\x05\x06", b"PK\x03\x04junk", b"a\0b"] {
        let error = read_tables(bytes, "x").unwrap_err();
        assert!(
            matches!(error, IntakeError::UnknownFormat { .. } | IntakeError::BrokenWorkbook { .. }),
            "{error}"
        );
    }
    assert!(read_tables(b"", "empty.csv").unwrap().first().unwrap().rows.is_empty());
}
