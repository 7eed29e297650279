//! Items over several rows: what may be left out, what must agree, what is there already.

mod lab;

use lab::{problems, read};
use matewell_intake::{Rows, Severity, Topic};

const HEAD: &str =
    "Item,Kind,Description,Location,Cost,Repeatability (um),Set torque,Interface,Sex,End tag,Colour\n";

fn two_rows(first: &str, second: &str) -> String {
    format!("{HEAD}{first}\n{second}\n")
}

#[test]
fn a_later_row_of_an_item_that_says_otherwise_is_a_problem_at_its_cell() {
    let first = "CB-90,cable,flexible,drawer 1,420 EUR,2,0.9 N.m,SMA,m,CB-90A,red";
    for (second, cell, expected, found) in [
        ("CB-90,adapter,,,,,,SMA,f,CB-90B,", "column B (\"Kind\")", "cable", "adapter"),
        ("CB-90,,rigid,,,,,SMA,f,CB-90B,", "column C (\"Description\")", "flexible", "rigid"),
        ("CB-90,,,drawer 2,,,,SMA,f,CB-90B,", "column D (\"Location\")", "drawer 1", "drawer 2"),
        ("CB-90,,,,421 EUR,,,SMA,f,CB-90B,", "column E (\"Cost\")", "420.00 EUR", "421.00 EUR"),
        ("CB-90,,,,420 USD,,,SMA,f,CB-90B,", "column E (\"Cost\")", "420.00 EUR", "420.00 USD"),
        ("CB-90,,,,,3,,SMA,f,CB-90B,", "column F (\"Repeatability (um)\")", "2 \u{b5}m", "3 \u{b5}m"),
        ("CB-90,,,,,,1 N.m,SMA,f,CB-90B,", "column G (\"Set torque\")", "0.9", "1"),
    ] {
        let draft = read(&two_rows(first, second), &[]);
        let shown = problems(&draft);
        assert_eq!(shown.len(), 1, "{second}: {shown:?}");
        let problem = &draft.problems[0];
        assert_eq!(problem.severity, Severity::Error);
        assert!(shown[0].contains("row 3") && shown[0].contains(cell), "{shown:?}");
        assert!(problem.expected.contains(expected) && problem.expected.contains("row 2"), "{shown:?}");
        assert!(problem.found.contains(found), "{shown:?}");
    }
    // What the later row leaves out stands in the first.
    let draft = read(&two_rows(first, "CB-90,,,,,,,SMA,f,CB-90B,"), &[]);
    let Rows::Register(rows) = draft.into_rows().unwrap() else { panic!("register expected") };
    assert_eq!((rows.len(), rows[0].ends.len()), (1, 2));
    // What the first leaves out may stand in a later row, the kind too.
    let draft = read(&two_rows("CB-90,,,,,,,SMA,f,CB-90B,", first), &[]);
    let Rows::Register(rows) = draft.into_rows().unwrap() else { panic!("register expected") };
    assert_eq!((rows[0].item_kind.word(), rows[0].location.as_str()), ("cable", "drawer 1"));
    assert!(rows[0].wrench_set_point.is_some() && rows[0].cost.is_some());
}

#[test]
fn the_same_end_once_more_is_repeated_only_if_every_cell_is() {
    let first = "CB-90,cable,flexible,drawer 1,420 EUR,2,0.9 N.m,SMA,m,CB-90A,red";
    let same = read(&two_rows(first, first), &[(Topic::Duplicates, "skip")]);
    assert_eq!((problems(&same).len(), same.duplicates.len()), (0, 1));
    assert_eq!(same.duplicates[0].first.as_ref().unwrap().row, Some(2));
    for (at, cell) in [
        (1, "adapter"),
        (2, "rigid"),
        (3, "drawer 2"),
        (4, "421 EUR"),
        (4, ""),
        (5, "3"),
        (6, "1 N.m"),
        (6, ""),
        (7, "N 50"),
        (8, "f"),
        (10, "blue"),
    ] {
        let mut cells: Vec<&str> = first.split(',').collect();
        cells[at] = cell;
        let draft = read(&two_rows(first, &cells.join(",")), &[(Topic::Duplicates, "skip")]);
        assert_eq!(
            (problems(&draft).len(), draft.duplicates.len()),
            (1, 0),
            "{cells:?}: {:?}",
            draft.problems
        );
    }
}

#[test]
fn a_repeated_second_row_is_compared_with_the_second_row() {
    let text = format!(
        "{HEAD}CB-90,cable,,drawer 1,,,,SMA,m,CB-90A,\nCB-90,,,,,,,SMA,f,CB-90B,\nCB-90,,,,,,,SMA,f,CB-90B,\n"
    );
    let draft = read(&text, &[(Topic::Duplicates, "keep")]);
    assert_eq!(problems(&draft), [""; 0]);
    assert_eq!(draft.duplicates[0].first.as_ref().unwrap().row, Some(3));
    assert!(!draft.duplicates[0].kept, "an item has an end once");
}

#[test]
fn items_that_are_registered_already_are_never_kept_twice() {
    let text = format!(
        "{HEAD}CB-17,cable,,,,,,SMA,m,CB-17A,\nCB-17,cable,,,,,,SMA,m,CB-17B,\nCB-91,cable,,,,,,SMA,m,CB-91A,\n"
    );
    for answer in ["keep", "skip"] {
        let draft = read(&text, &[(Topic::Duplicates, answer)]);
        let listed: Vec<_> =
            draft.duplicates.iter().map(|d| (d.place.row, d.first.is_none(), d.kept)).collect();
        assert_eq!(listed, [(Some(2), true, false), (Some(3), true, false)], "{answer}");
        let Rows::Register(rows) = draft.into_rows().unwrap() else { panic!("register expected") };
        assert_eq!(rows.iter().map(|row| row.item_tag.as_str()).collect::<Vec<_>>(), ["CB-91"]);
    }
    let refused = read(&text, &[(Topic::Duplicates, "refuse")]);
    assert!(problems(&refused)[0].contains("registered already"), "{:?}", refused.problems);
}

#[test]
fn an_end_that_cannot_be_read_is_one_problem_not_two() {
    let draft = read(&two_rows("CB-90,cable,,,,,,SMA,m,CB-90A,", "CB-90,cable,,,,,,XYZ,f,CB-90B,"), &[]);
    assert_eq!(problems(&draft).len(), 1, "{:?}", draft.problems);
    assert!(problems(&draft)[0].contains("XYZ"));
}
