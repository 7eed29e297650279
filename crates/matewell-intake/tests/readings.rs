//! Tables of readings: what is understood, what is asked, what is refused.

#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_intake::{
    DecimalSign, Holds, Limits, Readings, ReadingsAsked, ReadingsError, Wanted, read_readings,
};
use proptest::prelude::*;

const WANTED: [Wanted; 3] = [
    Wanted { name: "appraiser", also: &["person", "operator"], holds: Holds::Text, needed: true },
    Wanted { name: "part", also: &["end"], holds: Holds::Text, needed: true },
    Wanted { name: "reading", also: &["value"], holds: Holds::Quantity, needed: true },
];

fn read_as(text: &str, asked: &ReadingsAsked) -> Result<Readings, ReadingsError> {
    read_readings(text.as_bytes(), "study.csv", &Limits::USUAL, &WANTED, asked)
}

fn read(text: &str) -> Result<Readings, ReadingsError> {
    read_as(text, &ReadingsAsked::default())
}

fn values(readings: &Readings) -> Vec<f64> {
    readings.rows.iter().map(|r| r.numbers[2].unwrap()).collect()
}

#[track_caller]
fn refused(text: &str, field: &str, parts: &[&str]) {
    let error = read(text).unwrap_err();
    let words = error.to_string();
    assert_eq!(error.field, field, "{words}");
    for part in parts {
        assert!(words.contains(part), "expected {part:?} in: {words}");
    }
}

#[test]
fn headers_name_columns_and_unit_in_any_usual_form() {
    for header in ["reading (um)", "Reading [µm]", "reading_um", "reading / um", "value in um", "VALUE, um"]
    {
        let found = read(&format!("Person;End;{header}\nada;1;12,5\nben;1;12,75\n")).unwrap();
        assert_eq!((found.unit, values(&found)), ("um", vec![12.5, 12.75]), "{header}");
    }
    let found = read("part,appraiser,reading (mil)\n1,ada,0.5\n").unwrap();
    assert!((values(&found)[0] - 12.7).abs() < 1e-12);
    assert_eq!(found.rows[0].texts, ["ada", "1", ""]);
    assert_eq!(found.rows[0].number, 2);
}

#[test]
fn a_title_above_and_a_unit_in_the_cells_are_understood() {
    let found =
        read("Gauge study of the workshop\n\nappraiser,part,reading\nada,1,12.5 um\nada,2,13 um\n").unwrap();
    assert_eq!((found.unit, values(&found)), ("um", vec![12.5, 13.0]));
    assert_eq!(found.rows[0].number, 4);
}

#[test]
fn what_is_not_said_is_asked() {
    refused(
        "appraiser,part,reading\nada,1,12.5\n",
        "unit",
        &["row 1, column C", "reading (um)", "found \"reading\""],
    );
    refused(
        "appraiser;part;reading (um)\nada;1;1,250\n",
        "decimal",
        &["row 2, column C", "comma or point", "1,250"],
    );
    let comma = ReadingsAsked { decimal: Some(DecimalSign::Comma), ..ReadingsAsked::default() };
    assert_eq!(values(&read_as("appraiser;part;reading (um)\nada;1;1,250\n", &comma).unwrap()), [1.25]);
    // Another number of the table shows the sign.
    assert_eq!(values(&read("appraiser;part;reading (um)\nada;1;1,250\nada;2;0,5\n").unwrap()), [1.25, 0.5]);
    let unit = ReadingsAsked { unit: Some("µm".to_owned()), ..ReadingsAsked::default() };
    assert_eq!(read_as("appraiser,part,reading\nada,1,12.5\n", &unit).unwrap().unit, "um");
}

#[test]
fn errors_name_row_column_expected_and_found() {
    refused(
        "appraiser,part,reading (um)\nada,1,12.5\n,2,x\n",
        "file",
        &[
            "row 3, column A (\"appraiser\"): expected the appraiser, found an empty cell",
            "column C",
            "found \"x\"",
        ],
    );
    refused("appraiser,part,reading (um)\nada,1,12.5\nada,2,0.5 mm\n", "file", &["row 3", "in um", "0.5 mm"]);
    refused(
        "appraiser;part;reading (um)\nada;1;12,5\nada;2;12.5\n",
        "file",
        &["row 3", "one decimal sign", "row 2"],
    );
    refused("appraiser,part,reading (furlong)\nada,1,1\n", "unit", &["column C", "furlong", "N.m"]);
    refused("who,part,reading (um)\nada,1,1\n", "columns", &["appraiser", "found \"who\", \"part\""]);
    refused(
        "appraiser,part,reading (um),value (um)\nada,1,1,1\n",
        "columns",
        &["one column for reading", "column C"],
    );
    refused("appraiser,part,reading (um)\n", "file", &["rows of readings below the header"]);
    refused("", "file", &["empty file"]);
    refused("\u{0}\u{1}", "file", &["not text"]);
    let long: String = (0..30).map(|_| "ada,1,x\n").collect();
    refused(&format!("appraiser,part,reading (um)\n{long}"), "file", &["and 18 more"]);
}

#[test]
fn a_column_may_be_named_by_the_person() {
    let asked = ReadingsAsked {
        columns: vec![
            ("reading".to_owned(), "Tiefe (um)".to_owned()),
            ("appraiser".to_owned(), "Wer".to_owned()),
        ],
        ..ReadingsAsked::default()
    };
    let found = read_as("Wer,part,Tiefe (um)\nada,1,12.5\n", &asked).unwrap();
    assert_eq!((found.unit, values(&found)), ("um", vec![12.5]));
    let unknown =
        ReadingsAsked { columns: vec![("depth".to_owned(), "x".to_owned())], ..ReadingsAsked::default() };
    assert_eq!(read_as("a,b\n1,2\n", &unknown).unwrap_err().field, "columns");
}

proptest! {
    /// No text of any kind stops the program.
    #[test]
    fn nothing_panics(text in "[a-z,;0-9.\n\"µ ()]{0,120}") {
        let _ = read(&format!("appraiser,part,reading (um)\n{text}"));
        let _ = read(&text);
    }

    /// Either decimal sign gives the same numbers.
    #[test]
    fn the_decimal_sign_does_not_matter(list in prop::collection::vec(-400.0f64..400.0, 1..20)) {
        let rows = |sign: char| -> String {
            let row = |v: &f64| format!("ada;1;{v:.4}\n").replace('.', &sign.to_string());
            list.iter().map(row).collect::<Vec<_>>().concat()
        };
        let head = "appraiser;part;reading (um)\n";
        let point = read(&format!("{head}{}", rows('.'))).unwrap();
        let comma = read(&format!("{head}{}", rows(','))).unwrap();
        prop_assert_eq!(values(&point), values(&comma));
    }
}
