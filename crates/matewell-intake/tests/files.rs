//! Files as labs have them, read to the end: text of other countries, wide
//! sheets, titles, page breaks, saved mappings.

mod lab;

use lab::{Lab, Names, guess, problems, read, read_bytes};
use matewell_intake::{
    Confidence, Field, Mapping, PinPosition, Rows, Topic, draft, guess_kind, guess_mapping, read_tables,
};
use rust_xlsxwriter::{Format, Workbook};

fn um(position: &PinPosition) -> f64 {
    let um = match position {
        PinPosition::Recessed(by) => by.micrometres(),
        PinPosition::Protruding(by) => -by.micrometres(),
        PinPosition::Flush => 0.0,
    };
    (um * 1e6).round() / 1e6
}

#[test]
fn semicolons_and_decimal_commas_are_read_to_the_end() {
    let text = "sep=;\nDatum;Kennung;R\u{fc}ckstand 1 [\u{b5}m];R\u{fc}ckstand 2 [\u{b5}m];Unsicherheit [\u{b5}m];Lehre;Pr\u{fc}fer;Bemerkung\n\
        03.02.2026;CB-17A;12,5;1,250;1,125;PG-2;AK;\"a; b, c\"\n\
        04.02.2026;CB-17B;0,75;;;;AK;\n";
    let (table, mapping) = guess(text.as_bytes(), &[]);
    assert_eq!(table.read_as, "text, UTF-8, separated by semicolon");
    let draft = draft(&table, &mapping, &Names, &Lab);
    assert_eq!((problems(&draft).len(), draft.questions.len()), (0, 0), "{:?}", draft.problems);
    assert!(draft.assumptions.iter().any(|line| line.contains("decimal comma")), "{:?}", draft.assumptions);
    let Rows::Gaugings(rows) = draft.into_rows().unwrap() else { panic!("gaugings expected") };
    let depths: Vec<Vec<f64>> = rows.iter().map(|row| row.readings.iter().map(um).collect()).collect();
    assert_eq!(depths, [vec![12.5, 1.25], vec![0.75]]);
    assert!((rows[0].stated_uncertainty_um.unwrap() - 1.125).abs() < 1e-9);
    assert_eq!(rows[0].note, "a; b, c");
    // Windows-1252 says the same.
    let old: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let draft = read_bytes(&old, &[]);
    assert_eq!((draft.rows().len(), draft.errors()), (2, 0));
    // A cost in thousands with a decimal comma, and the same bare thousands.
    let cost = "Item;Kind;Interface;Sex;Cost\nCB-90;cable;SMA;m;1.420,50 EUR\nCB-91;cable;SMA;m;1.250 EUR\n";
    let Rows::Register(rows) = read(cost, &[]).into_rows().unwrap() else { panic!("register expected") };
    let cents: Vec<i64> = rows.iter().map(|row| row.cost.as_ref().unwrap().hundredths).collect();
    assert_eq!(cents, [142_050, 125_000]);
    let alone = "Item;Kind;Interface;Sex;Cost\nCB-91;cable;SMA;m;1.250 EUR\n";
    let asked = read(alone, &[]);
    assert_eq!(asked.questions.iter().map(|q| q.topic).collect::<Vec<_>>(), [Topic::Decimal]);
}

#[test]
fn more_columns_than_a_byte_counts() {
    let fillers: Vec<String> = (0..300).map(|n| format!("Filler {n}x")).collect();
    let values: Vec<String> = (0..300).map(|n| format!("v{n}")).collect();
    let text = format!(
        "{},Date,End tag,Method,Person\n{},2026-02-03,CB-17A,swab,AK\n{},2026-02-04,XX,swab,AK\n",
        fillers.join(","),
        values.join(","),
        values.join(",")
    );
    let draft = read(&text, &[]);
    assert_eq!(problems(&draft).len(), 1);
    // Columns 0 to 299 are A to KN; the tag stands in 301.
    assert!(problems(&draft)[0].contains("row 3, column KP (\"End tag\")"), "{:?}", problems(&draft));
    let Rows::Cleanings(rows) = draft.rows() else { panic!("cleanings expected") };
    assert_eq!(rows[0].extra.len(), 300);
    assert_eq!(rows[0].extra[299], ("Filler 299x".to_owned(), "v299".to_owned()));

    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, (header, value)) in
        [("Date", "2026-02-03"), ("End tag", "CB-17A"), ("Method", "swab"), ("Person", "AK")]
            .iter()
            .enumerate()
    {
        let column = u16::try_from(column * 400).unwrap();
        sheet.write(0, column, *header).unwrap();
        sheet.write(1, column, *value).unwrap();
    }
    let draft = read_bytes(&book.save_to_buffer().unwrap(), &[]);
    assert_eq!(problems(&draft), [""; 0]);
    assert_eq!(draft.into_rows().unwrap().len(), 1);
}

#[test]
fn a_merged_title_is_passed_over_and_a_merged_group_counts() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    let plain = Format::new();
    sheet.merge_range(0, 0, 0, 5, "Larkmoor Receiver Workshop: cables, ends and sexes", &plain).unwrap();
    sheet.merge_range(1, 2, 1, 3, "End 1", &plain).unwrap();
    sheet.merge_range(1, 4, 1, 5, "End 2", &plain).unwrap();
    sheet.merge_range(1, 0, 2, 0, "Item", &plain).unwrap();
    sheet.merge_range(1, 1, 2, 1, "Kind", &plain).unwrap();
    for (column, header) in (2..).zip(["Interface", "Sex", "Interface", "Sex"]) {
        sheet.write(2, column, header).unwrap();
    }
    for (column, cell) in (0..).zip(["CB-90", "cable", "SMA", "m", "N 50", "f"]) {
        sheet.write(3, column, cell).unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    let (table, mapping) = guess(&bytes, &[]);
    assert_eq!(table.header_row, Some(3));
    assert_eq!(
        table.headers(3),
        ["Item", "Kind", "End 1 Interface", "End 1 Sex", "End 2 Interface", "End 2 Sex"]
    );
    let Rows::Register(rows) = draft(&table, &mapping, &Names, &Lab).into_rows().unwrap() else {
        panic!("register expected")
    };
    let ends: Vec<&str> = rows[0].ends.iter().map(|end| end.interface.as_str()).collect();
    assert_eq!(ends, ["sma", "n-50"]);
}

#[test]
fn headers_of_page_breaks_and_totals_are_skipped_and_listed() {
    let head = "Date,End tag,Method,Person\n";
    let text = format!(
        "Cleaning log\n\n{head}2026-02-03,CB-17A,swab,AK\n\n{head}2026-02-04,CB-17B,swab,AK\n,,,\n{head}Total,2,,\n"
    );
    let draft = read(&text, &[]);
    assert_eq!(problems(&draft), [""; 0]);
    let skipped: Vec<_> = draft.skipped.iter().map(|skipped| (skipped.place.row, skipped.because)).collect();
    assert_eq!(
        skipped,
        [
            (Some(6), "the header once more"),
            (Some(9), "the header once more"),
            (Some(10), "a row of totals below the records")
        ]
    );
    assert_eq!(draft.into_rows().unwrap().len(), 2);
}

#[test]
fn a_saved_mapping_finds_moved_columns_and_names_missing_ones() {
    let text = "Date,Tag,Seen by,Depth,Person\n03/04/2026,CB-17A,x,-12.5,AK\n";
    let (table, mut mapping) = guess(text.as_bytes(), &[]);
    assert!(mapping.set("Seen by", None, None) && !mapping.set("Nowhere", None, None));
    for (topic, answer) in [
        (Topic::DayOrder, "day_first"),
        (Topic::DepthUnit, "micrometre"),
        (Topic::PositiveMeans, "protruding"),
    ] {
        mapping.answers.set(topic, answer).unwrap();
    }
    let first = draft(&table, &mapping, &Names, &Lab).into_rows().unwrap();
    let saved = mapping.to_toml().unwrap();
    let mapping = Mapping::from_toml(&saved).unwrap();
    assert_eq!(mapping.columns[2].confidence, Confidence::Confirmed);

    // Next month: a title above, columns in another order, one more, other case.
    let moved = "Log of April\n\nPERSON,depth,Shift,Seen by,tag,Date\nAK,-12.5,early,x,CB-17A,03/04/2026\n";
    let table = read_tables(moved.as_bytes(), "april.csv").unwrap().remove(0);
    let draft_moved = draft(&table, &mapping, &Names, &Lab);
    assert_eq!(problems(&draft_moved), [""; 0]);
    assert!(draft_moved.assumptions.iter().any(|line| line.ends_with("extra text: Shift")));
    let (Rows::Gaugings(first), Rows::Gaugings(second)) = (first, draft_moved.into_rows().unwrap()) else {
        panic!("gaugings expected")
    };
    assert_eq!((first[0].when, &first[0].readings), (second[0].when, &second[0].readings));
    assert!((um(&second[0].readings[0]) - 12.5).abs() < 1e-9);
    assert_eq!(
        second[0].extra,
        [("Shift".to_owned(), "early".to_owned()), ("Seen by".to_owned(), "x".to_owned())]
    );

    let less = "Date,Tag,Person\n03/04/2026,CB-17A,AK\n";
    let table = read_tables(less.as_bytes(), "may.csv").unwrap().remove(0);
    let draft_less = draft(&table, &mapping, &Names, &Lab);
    assert!(
        problems(&draft_less)[0]
            .contains("expected a column \"Depth\" as in the mapping, found Date | Tag | Person"),
        "{:?}",
        problems(&draft_less)
    );
    assert!(Mapping::from_toml("kind = \"nothing\"").is_err());
}

#[test]
fn what_nobody_guesses_is_said_by_hand() {
    let text = "Wann,Was,Womit\n2026-02-03,CB-17A,swab\n";
    let table = read_tables(text.as_bytes(), "t.csv").unwrap().remove(0);
    assert_eq!(guess_kind(&table), None);
    let mut mapping = guess_mapping(&table, matewell_intake::Kind::Cleanings);
    for (header, field) in [("Wann", Field::Date), ("Was", Field::EndTag), ("Womit", Field::Method)] {
        assert!(mapping.set(header, Some(field), (field == Field::EndTag).then_some(1)));
    }
    mapping.answers.set(Topic::Person, "AK").unwrap();
    let Rows::Cleanings(rows) = draft(&table, &mapping, &Names, &Lab).into_rows().unwrap() else {
        panic!("cleanings expected")
    };
    assert_eq!((rows[0].method.as_str(), rows[0].person.as_str()), ("swab", "AK"));
}

#[test]
fn two_columns_said_to_be_one_field_lose_nothing() {
    let text = "Date,Tag,Cleaned with,Person,Note,Words\n2026-02-03,CB-17A,swab,AK,first,second\n";
    let (table, mut mapping) = guess(text.as_bytes(), &[]);
    assert!(mapping.set("Words", Some(Field::Note), None));
    // Said by hand without the number of an end: a log of one end has only one.
    assert!(mapping.set("Tag", Some(Field::EndTag), None));
    let draft = draft(&table, &mapping, &Names, &Lab);
    assert_eq!(problems(&draft), [""; 0]);
    let Rows::Cleanings(rows) = draft.into_rows().unwrap() else { panic!("cleanings expected") };
    assert_eq!((rows[0].end.as_str(), rows[0].note.as_str()), ("CB-17A", "first"));
    assert_eq!(rows[0].extra, [("Words".to_owned(), "second".to_owned())]);
}
