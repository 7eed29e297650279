//! Spreadsheets in and out.

use crate::lab::{NOW, REGISTER, demo, empty, said};
use matewell_app::{ImportOrder, ImportReportJson, Workshop};

fn order(name: &str, text: &str) -> ImportOrder {
    ImportOrder { bytes: text.as_bytes().to_vec(), file_name: name.to_owned(), ..ImportOrder::default() }
}

fn import(shop: &mut Workshop, name: &str, text: &str) -> ImportReportJson {
    shop.import(&order(name, text), &said(), NOW).unwrap()
}

#[test]
fn a_dry_run_writes_nothing_and_says_everything() {
    let mut shop = empty();
    let mut dry = order("register.csv", REGISTER);
    dry.dry_run = true;
    let report = shop.import(&dry, &said(), NOW).unwrap();
    assert!(report.ready && !report.written, "{}", report.text());
    assert_eq!(report.facts, 2);
    assert_eq!(shop.ends("", None, 0, 10).unwrap().total, 0);
}

#[test]
fn one_bad_row_stops_the_whole_file_and_every_problem_is_listed() {
    let mut shop = empty();
    let bad = REGISTER
        .replace("IN-1P1,3.5 mm,male", "IN-1P1,banana,male")
        .replace("CB-1B,3.5 mm,female", "CB-1B,3.5 mm,both");
    let report = import(&mut shop, "register.csv", &bad);
    assert!(!report.written && !report.ready);
    let errors: Vec<_> = report.problems.iter().filter(|p| p.severity == "error").collect();
    assert_eq!(errors.len(), 2, "{}", report.text());
    assert!(errors.iter().all(|p| p.row.is_some() && p.column.is_some()));
    assert_eq!(shop.ends("", None, 0, 10).unwrap().total, 0);
}

#[test]
fn whose_sign_convention_is_asked_and_the_answer_is_used() {
    let mut shop = empty();
    import(&mut shop, "register.csv", REGISTER);
    let log = "Date,End,Pin depth (um) 1,Pin depth (um) 2,Pin depth (um) 3,Person\n2026-11-20,CB-1A,-12,-11,-13,technician-2\n";
    let report = import(&mut shop, "gaugings.csv", log);
    assert!(!report.written);
    assert!(report.questions.iter().any(|q| q.topic == "positive_means"), "{}", report.text());
    let mut answered = order("gaugings.csv", log);
    answered.answers = vec![("positive_means".to_owned(), "protruding".to_owned())];
    let report = shop.import(&answered, &said(), NOW).unwrap();
    assert!(report.written, "{}", report.text());
    let history = shop.end("CB-1A", NOW).unwrap().history;
    let gauged = history.iter().find(|e| e.kind == "gauged").unwrap();
    assert!(gauged.text.contains("recessed by 12 µm"), "{}", gauged.text);
    assert_eq!(gauged.resolution, "day");
    assert_eq!(gauged.person, "technician-2");
}

#[test]
fn a_saved_mapping_reads_the_next_file() {
    let mut shop = empty();
    let first = import(&mut shop, "register.csv", REGISTER);
    let mut next = order("next.csv", &REGISTER.replace("CB-1", "CB-2").replace("IN-1", "IN-2"));
    next.mapping = Some(first.mapping);
    assert!(shop.import(&next, &said(), NOW).unwrap().written);
    assert_eq!(shop.ends("", None, 0, 10).unwrap().total, 8);
}

/// Export, import into an empty lab, export again: the same tables.
#[test]
fn import_export_import_is_the_identity() {
    let first = demo();
    let tables = ["register", "mates", "gaugings", "cleanings", "inspections"];
    let mut second = empty();
    for table in tables {
        let text = first.export_csv(table).unwrap();
        let mut order = order(&format!("{table}.csv"), &text);
        order.kind = Some(table.to_owned());
        order.answers = vec![("duplicates".to_owned(), "keep".to_owned())];
        let report = second.import(&order, &said(), NOW).unwrap();
        assert!(report.written, "{table}: {}", report.text());
    }
    for table in tables {
        let (one, two) = (first.export_csv(table).unwrap(), second.export_csv(table).unwrap());
        let (mut a, mut b): (Vec<&str>, Vec<&str>) = (one.lines().collect(), two.lines().collect());
        a.sort_unstable();
        b.sort_unstable();
        let different = a.iter().zip(&b).find(|(x, y)| x != y);
        assert!(
            different.is_none() && a.len() == b.len(),
            "{table}: {different:?}, {} and {} lines",
            a.len(),
            b.len()
        );
    }
}

#[test]
fn a_cell_that_a_spreadsheet_would_run_is_made_harmless_and_comes_back() {
    let mut shop = empty();
    let text = REGISTER.replace("test cable", "\"=HYPERLINK(\"\"x\"\")\"");
    assert!(import(&mut shop, "register.csv", &text).written);
    let out = shop.export_csv("register").unwrap();
    assert!(out.contains("'=HYPERLINK"), "{out}");
    let mut again = empty();
    assert!(import(&mut again, "register.csv", &out).written);
    assert_eq!(again.export_csv("register").unwrap(), out);
}

#[test]
fn the_workbook_reads_back() {
    let shop = demo();
    let bytes = shop.export_workbook().unwrap();
    let mut again = empty();
    let order = ImportOrder {
        bytes,
        file_name: "lab.xlsx".to_owned(),
        sheet: Some("register".to_owned()),
        ..ImportOrder::default()
    };
    let report = again.import(&order, &said(), NOW).unwrap();
    assert!(report.written, "{}", report.text());
    assert_eq!(again.ends("", None, 0, 1).unwrap().total, shop.ends("", None, 0, 1).unwrap().total);
}

#[test]
fn facts_are_given_back_as_lines() {
    let shop = demo();
    let lines = shop.export_lines().unwrap();
    assert_eq!(lines.lines().count() as u64, shop.verify().unwrap().facts);
}
