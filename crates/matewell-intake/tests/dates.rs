//! Dates and times as people and spreadsheets write them, through the draft.

mod lab;

use lab::{problems, read};
use matewell_intake::{Rows, Severity, Topic, serial_to_civil};

/// The times of a log of cleanings with these date cells.
fn log(cells: &[&str]) -> String {
    let head = "Date;End tag;Method;Person\n".to_owned();
    cells.iter().fold(head, |text, cell| text + &format!("\"{cell}\";CB-17A;swab;AK\n"))
}

#[expect(clippy::unwrap_used, reason = "a helper of tests: a draft that is not ready fails the test")]
#[track_caller]
fn shown(cells: &[&str], answers: &[(Topic, &str)]) -> Vec<String> {
    let draft = read(&log(cells), answers);
    assert_eq!((problems(&draft), draft.questions.len()), (vec![], 0), "{:?}", draft.questions);
    let Rows::Cleanings(rows) = draft.into_rows().unwrap() else { panic!("cleanings expected") };
    rows.iter().map(|row| row.when.shown()).collect()
}

#[track_caller]
fn refused(cell: &str, expected: &str) {
    let draft = read(&log(&[cell]), &[(Topic::TimeZone, "UTC"), (Topic::DayOrder, "day_first")]);
    let shown = problems(&draft);
    assert_eq!(shown.len(), 1, "{cell}: {shown:?}");
    assert!(shown[0].contains("row 2, column A") && shown[0].contains(expected), "{cell}: {shown:?}");
    assert!(shown[0].ends_with(&format!("found {cell}")), "{shown:?}");
}

const UTC: (Topic, &str) = (Topic::TimeZone, "UTC");

#[test]
fn one_day_in_many_spellings() {
    for cell in [
        "2026-02-03",
        "2026/02/03",
        "2026-2-3",
        "2026-Feb-03",
        "03.02.2026",
        "3.2.2026",
        "3. Feb 2026",
        "3 February 2026",
        "03-Feb-2026",
        "Feb 3, 2026",
        "February 3rd, 2026",
        "3. Februar 2026",
        " 2026-02-03 ",
        // 1900 calendar of spreadsheets; the number from date arithmetic of coreutils:
        // 20487 days after 1970-01-01, which is number 25569.
        "46056",
    ] {
        assert_eq!(shown(&[cell], &[]), ["2026-02-03"], "{cell}");
    }
    assert_eq!(
        shown(&["3. M\u{e4}rz 2026", "5 Okt 2026", "24 Dez 2026"], &[]),
        ["2026-03-03", "2026-10-05", "2026-12-24"]
    );
}

#[test]
fn slashes_are_asked_unless_the_file_shows_the_order() {
    let asked = read(&log(&["03/04/2026", "05/04/2026"]), &[]);
    assert_eq!(asked.questions.len(), 1);
    assert_eq!((asked.questions[0].topic, asked.questions[0].cells), (Topic::DayOrder, 2));
    assert_eq!(asked.questions[0].example, "03/04/2026");
    assert!(asked.into_rows().is_err());
    for (answer, day) in [("day_first", "2026-04-03"), ("month_first", "2026-03-04")] {
        assert_eq!(shown(&["03/04/2026"], &[(Topic::DayOrder, answer)]), [day]);
        assert_eq!(shown(&["03-04-2026"], &[(Topic::DayOrder, answer)]), [day]);
    }
    assert_eq!(shown(&["03/04/2026", "25/04/2026"], &[]), ["2026-04-03", "2026-04-25"]);
    assert_eq!(shown(&["03/04/2026", "04/25/2026"], &[]), ["2026-03-04", "2026-04-25"]);
    // Points put the day first, and a day equal to the month needs no order.
    assert_eq!(shown(&["03.04.2026", "04/04/2026"], &[]), ["2026-04-03", "2026-04-04"]);
    // A file that shows both orders shows none.
    let torn = read(&log(&["25/04/2026", "04/26/2026", "03/04/2026"]), &[]);
    assert_eq!(torn.questions.iter().map(|q| (q.topic, q.cells)).collect::<Vec<_>>(), [(Topic::DayOrder, 1)]);
    let against = read(&log(&["25/04/2026"]), &[(Topic::DayOrder, "month_first")]);
    assert!(problems(&against)[0].contains("month before day, as answered"));
}

#[test]
fn years_have_four_digits_and_limits() {
    for cell in ["03.02.26", "03/02/26", "3 Feb 26", "2/3/26"] {
        refused(cell, "a year of four digits");
    }
    // Without an answer too: the order would not help.
    let draft = read(&log(&["03/02/26"]), &[]);
    assert_eq!((draft.questions.len(), draft.problems.len()), (0, 1));
    for cell in ["1989-12-31", "31.12.1989", "2101-01-01", "32873", "73416"] {
        refused(cell, "a year from 1990 to 2100");
    }
    assert_eq!(shown(&["1990-01-01", "2100-12-31"], &[]), ["1990-01-01", "2100-12-31"]);
    assert_eq!(shown(&["32874", "73415"], &[]), ["1990-01-01", "2100-12-31"]);
}

#[test]
fn what_is_no_date_is_named() {
    for cell in [
        "yesterday",
        "12",
        "460560",
        "2026",
        "2026-02",
        "2026-02-03-04",
        "00/00/2026",
        "1e5",
        "-46056",
        "Tuesday 3 Feb",
    ] {
        refused(cell, "a date");
    }
    for cell in ["2026-02-30", "31.04.2026", "29.02.2026", "2026-13-01", "31/13/2026", "13/13/2026"] {
        refused(cell, "a date that the calendar has");
    }
    for cell in [
        "2026-02-03 25:00",
        "2026-02-03 12:60",
        "2026-02-03 13:00 PM",
        "2026-02-03 0:30 AM",
        "2026-02-03 8:30:00.1234567890",
    ] {
        refused(cell, "a time of day");
    }
    let blank = read("Date;End tag;Method;Person\n;CB-17A;swab;AK\n", &[]);
    assert!(problems(&blank)[0].ends_with("found nothing"), "{:?}", problems(&blank));
}

#[test]
fn times_of_day_in_many_spellings() {
    for cell in [
        "2026-02-03 14:05",
        "2026-02-03T14:05",
        "2026-02-03T14:05:00Z",
        "2026-02-03 15:05:00+01:00",
        "2026-02-03 09:05 -0500",
        "03.02.2026 14:05 Uhr",
        "03.02.2026, 14:05",
        "3 Feb 2026 2:05 PM",
        "Feb 3, 2026 02:05:00 pm",
    ] {
        assert_eq!(shown(&[cell], &[UTC]), ["2026-02-03T14:05:00Z"], "{cell}");
    }
    assert_eq!(
        shown(&["2026-02-03 12:05 AM", "2026-02-03 12:05 PM", "2026-02-03 11:59:59.999999 PM"], &[UTC]),
        ["2026-02-03T00:05:00Z", "2026-02-03T12:05:00Z", "2026-02-03T23:59:59.999999Z"]
    );
    // A date alone stays a day in any zone; a stated offset needs no answer.
    assert_eq!(shown(&["2026-02-03"], &[(Topic::TimeZone, "Europe/Berlin")]), ["2026-02-03"]);
    assert_eq!(shown(&["2026-02-03T00:30+02:00"], &[]), ["2026-02-02T22:30:00Z"]);
}

#[test]
fn a_time_may_have_its_own_column() {
    let text =
        |date: &str, time: &str| format!("Date;Time;End tag;Method;Person\n{date};{time};CB-17A;swab;AK\n");
    let draft = read(&text("03.02.2026", "14:05"), &[UTC]);
    let Rows::Cleanings(rows) = draft.into_rows().unwrap() else { panic!("cleanings expected") };
    assert_eq!(rows[0].when.shown(), "2026-02-03T14:05:00Z");
    let twice = read(&text("2026-02-03 14:05", "14:06"), &[UTC]);
    assert!(problems(&twice)[0].contains("one time of day"), "{:?}", problems(&twice));
    let wrong = read(&text("2026-02-03", "noon"), &[UTC]);
    assert!(
        problems(&wrong)[0].contains("column B (\"Time\"): expected a time of day"),
        "{:?}",
        problems(&wrong)
    );
}

#[test]
fn hours_of_the_clock_change() {
    // Berlin, 2026: forward on 29 March at 02:00, back on 25 October at 03:00
    // (rules of the European Union, last Sundays, 01:00 UTC).
    let berlin = (Topic::TimeZone, "Europe/Berlin");
    assert_eq!(
        shown(&["2026-03-29 01:59", "2026-03-29 03:00", "2026-10-25 01:59", "2026-10-25 03:00"], &[berlin]),
        ["2026-03-29T00:59:00Z", "2026-03-29T01:00:00Z", "2026-10-24T23:59:00Z", "2026-10-25T02:00:00Z"]
    );
    let never = read(&log(&["2026-03-29 02:30"]), &[berlin]);
    assert_eq!(never.errors(), 1);
    assert!(problems(&never)[0].contains("the clock went forward"), "{:?}", problems(&never));
    let twice = read(&log(&["2026-10-25 02:30"]), &[berlin]);
    assert_eq!((twice.errors(), twice.problems[0].severity), (0, Severity::Warning));
    let Rows::Cleanings(rows) = twice.into_rows().unwrap() else { panic!("cleanings expected") };
    assert_eq!(rows[0].when.shown(), "2026-10-25T00:30:00Z", "the first of the two");
    // The offset says which of the two it was.
    assert_eq!(shown(&["2026-10-25 02:30+01:00"], &[berlin]), ["2026-10-25T01:30:00Z"]);
}

#[test]
fn serial_numbers_follow_the_1900_calendar() {
    // Day 61 is 1900-03-01, day 60 never was; 2958465 is the last of the calendar (9999-12-31).
    for (serial, shown) in [
        (61.0, "1900-03-01T00:00:00"),
        (25_569.0, "1970-01-01T00:00:00"),
        (46_056.5, "2026-02-03T12:00:00"),
        (46_056.25, "2026-02-03T06:00:00"),
        (2_958_464.0, "9999-12-30T00:00:00"),
        (2_958_465.0, "9999-12-31T00:00:00"),
    ] {
        assert_eq!(serial_to_civil(serial).map(|at| at.to_string()).as_deref(), Some(shown), "{serial}");
    }
    for serial in [60.0, 60.999, 0.0, -1.0, 2_958_466.0, f64::NAN, f64::INFINITY] {
        assert_eq!(serial_to_civil(serial), None, "{serial}");
    }
}
