//! A workbook for each kind of record, with dates, times and numbers as the
//! spreadsheet types them.

mod lab;

use lab::{Lab, Names, problems};
use matewell_intake::{
    Draft, Kind, OutcomeWord, PinPosition, Resolution, Rows, Topic, draft, guess_kind, guess_mapping,
    read_tables,
};
use rust_xlsxwriter::{Format, Formula, Workbook, Worksheet};

/// 2026-02-03 in the 1900 calendar: 20487 days after 1970-01-01, which is 25569.
const DAY: f64 = 46_056.0;

#[expect(clippy::unwrap_used, reason = "a helper of tests: a sheet that cannot be written fails the test")]
fn heads(sheet: &mut Worksheet, names: &[&str]) {
    for (column, name) in (0..).zip(names) {
        sheet.write(0, column, *name).unwrap();
    }
}

#[expect(clippy::unwrap_used, reason = "a helper of tests: a book that cannot be read fails the test")]
fn drafted(fill: impl FnOnce(&mut Worksheet), kind: Kind, answers: &[(Topic, &str)]) -> Draft {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name("Sheet of ours").unwrap();
    fill(sheet);
    let table = read_tables(&book.save_to_buffer().unwrap(), "book.xlsx").unwrap().remove(0);
    assert_eq!(guess_kind(&table), Some(kind));
    let mut mapping = guess_mapping(&table, kind);
    for (topic, answer) in answers {
        mapping.answers.set(*topic, answer).unwrap();
    }
    draft(&table, &mapping, &Names, &Lab)
}

fn day() -> Format {
    Format::new().set_num_format("dd/mm/yyyy")
}

#[test]
fn a_register() {
    let draft = drafted(
        |sheet| {
            heads(
                sheet,
                &[
                    "Item",
                    "Kind",
                    "Serial",
                    "Interface",
                    "Sex",
                    "Interface",
                    "Sex",
                    "Cost (EUR)",
                    "Currency",
                    "Set torque",
                    "Calibrated",
                ],
            );
            sheet.write(1, 0, 9001).unwrap();
            for (column, cell) in (1..).zip(["cable", "S-1", "SMA", "male", "N 50", "female"]) {
                sheet.write(1, column, cell).unwrap();
            }
            sheet.write(1, 7, 1250).unwrap();
            sheet.write(1, 8, "EUR").unwrap();
            sheet.write_with_format(1, 10, DAY, &day()).unwrap();
            sheet.write(2, 0, "TW-9").unwrap();
            sheet.write(2, 1, "torque wrench").unwrap();
            sheet.write(2, 9, 0.9).unwrap();
        },
        Kind::Register,
        &[(Topic::TorqueUnit, "newton_metre")],
    );
    assert_eq!(problems(&draft), [""; 0]);
    let Rows::Register(rows) = draft.into_rows().unwrap() else { panic!("register expected") };
    assert_eq!(rows[0].item_tag, "9001");
    assert_eq!(
        rows[0].cost.as_ref().unwrap().hundredths,
        125_000,
        "a typed number has no thousands to ask for"
    );
    assert_eq!(rows[0].ends.len(), 2);
    assert_eq!(rows[0].extra, [("Calibrated".to_owned(), "2026-02-03".to_owned())]);
    assert!((rows[1].wrench_set_point.unwrap().newton_metres() - 0.9).abs() < 1e-12);
}

#[test]
fn mates_with_a_column_of_times() {
    let fill = |sheet: &mut Worksheet| {
        heads(sheet, &["Date", "Time", "Item", "Mated to", "Wrench", "By"]);
        for (row, time) in [(1, 0.5), (2, 14.0 / 24.0 + 5.0 / 1440.0)] {
            sheet.write_with_format(row, 0, DAY, &day()).unwrap();
            sheet.write_with_format(row, 1, time, &Format::new().set_num_format("hh:mm")).unwrap();
            for (column, cell) in (2..).zip(["CB-17A", "AD-3", "TW-1", "AK"]) {
                sheet.write(row, column, cell).unwrap();
            }
        }
    };
    let asked = drafted(fill, Kind::Mates, &[]);
    assert_eq!(
        asked.questions.iter().map(|q| (q.topic, q.cells)).collect::<Vec<_>>(),
        [(Topic::TimeZone, 2)]
    );
    let draft = drafted(fill, Kind::Mates, &[(Topic::TimeZone, "+01:00")]);
    assert_eq!(problems(&draft), [""; 0]);
    let Rows::Mates(rows) = draft.into_rows().unwrap() else { panic!("mates expected") };
    let times: Vec<String> = rows.iter().map(|row| row.when.shown()).collect();
    assert_eq!(times, ["2026-02-03T11:00:00Z", "2026-02-03T13:05:00Z"]);
}

#[test]
fn gaugings_with_numbers_formulas_and_faults() {
    let fill = |sheet: &mut Worksheet| {
        heads(sheet, &["Date", "Tag", "Gauge", "Reading 1 (mil)", "Reading 2 (mil)", "Mean", "Operator"]);
        for row in 1..3 {
            sheet.write_with_format(row, 0, DAY, &day()).unwrap();
            sheet.write(row, 1, "CB-17A").unwrap();
            sheet.write(row, 2, "PG-2").unwrap();
            sheet.write(row, 3, -0.5).unwrap();
            sheet.write(row, 6, "AK").unwrap();
        }
        sheet.write_formula(1, 4, Formula::new("=D2*2").set_result("-1.125")).unwrap();
        sheet.write_formula(2, 4, Formula::new("=1/0").set_result("#DIV/0!")).unwrap();
        sheet.write_formula(1, 5, Formula::new("=AVERAGE(D2:E2)").set_result("-0.8125")).unwrap();
    };
    let draft = drafted(fill, Kind::Gaugings, &[(Topic::PositiveMeans, "protruding")]);
    assert_eq!(
        problems(&draft),
        [
            "sheet \"Sheet of ours\", row 3, column E (\"Reading 2 (mil)\"): expected a value, found the error #DIV/0!"
        ]
    );
    assert!(draft.assumptions.iter().any(|line| line.contains("formulas count")), "{:?}", draft.assumptions);
    let Rows::Gaugings(rows) = draft.rows() else { panic!("gaugings expected") };
    assert_eq!(rows.len(), 1);
    let readings: Vec<f64> = rows[0]
        .readings
        .iter()
        .map(|reading| match reading {
            PinPosition::Recessed(by) => by.micrometres(),
            _ => panic!("recessed expected"),
        })
        .collect();
    // 1 mil is 25.4 um exactly.
    assert!((readings[0] - 12.7).abs() < 1e-9 && (readings[1] - 28.575).abs() < 1e-9, "{readings:?}");
    assert_eq!(rows[0].extra.len(), 1, "the mean is kept as text");
}

#[test]
fn cleanings_with_serial_dates_that_nobody_formatted() {
    let draft = drafted(
        |sheet| {
            heads(sheet, &["Date", "Connector ID", "Cleaned with", "Initials"]);
            sheet.write(1, 0, DAY).unwrap();
            sheet
                .write_with_format(2, 0, DAY + 0.25, &Format::new().set_num_format("yyyy-mm-dd hh:mm"))
                .unwrap();
            for row in 1..3 {
                for (column, cell) in (1..).zip(["CB-17B", "isopropanol", "AK"]) {
                    sheet.write(row, column, cell).unwrap();
                }
            }
        },
        Kind::Cleanings,
        &[(Topic::TimeZone, "UTC")],
    );
    assert_eq!(problems(&draft), [""; 0]);
    assert!(draft.assumptions.iter().any(|line| line.contains("1900 calendar")), "{:?}", draft.assumptions);
    let Rows::Cleanings(rows) = draft.into_rows().unwrap() else { panic!("cleanings expected") };
    let times: Vec<_> = rows.iter().map(|row| (row.when.shown(), row.when.resolution)).collect();
    assert_eq!(
        times,
        [
            ("2026-02-03".to_owned(), Resolution::Day),
            ("2026-02-03T06:00:00Z".to_owned(), Resolution::Instant)
        ]
    );
}

#[test]
fn inspections() {
    let draft = drafted(
        |sheet| {
            heads(sheet, &["Date", "Connector", "Visual inspection", "Magnification", "Inspected by"]);
            for (row, tag, seen) in
                [(1, "CB-17A", "ok"), (2, "CB-17B", "light scratches, dirt"), (3, "AD-3", "not broken")]
            {
                sheet.write_with_format(row, 0, DAY, &day()).unwrap();
                sheet.write(row, 1, tag).unwrap();
                sheet.write(row, 2, seen).unwrap();
                sheet.write(row, 3, 40).unwrap();
                sheet.write(row, 4, "AK").unwrap();
            }
        },
        Kind::Inspections,
        &[],
    );
    let shown = problems(&draft);
    assert_eq!(shown.len(), 1, "{shown:?}");
    assert!(shown[0].contains("row 4, column C") && shown[0].ends_with("found not broken"), "{shown:?}");
    let Rows::Inspections(rows) = draft.rows() else { panic!("inspections expected") };
    let read: Vec<_> = rows.iter().map(|row| (row.outcome, row.seen.len(), row.magnification)).collect();
    assert_eq!(read, [(OutcomeWord::Good, 1, Some(40.0)), (OutcomeWord::Dirty, 2, Some(40.0))]);
}
