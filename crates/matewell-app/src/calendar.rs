//! What is due, as a calendar (RFC 5545).
//!
//! Each thing due stands as an event of the whole day on which the calendar is
//! read, until it is done: what has been due for weeks is then still in sight.

use crate::{AppError, Workshop};
use matewell_lab::Moment;
use matewell_wire::{DueJson, DueListJson, moment_text};
use std::collections::BTreeMap;

/// Longest line in octets without its end, RFC 5545 section 3.1.
const LINE: usize = 75;

impl Workshop {
    /// What is due, as a calendar.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn due_calendar(&self, now: Moment) -> Result<String, AppError> {
        let machine = self.store.machine().to_string();
        Ok(calendar(&self.due(None, now)?, &machine, now))
    }
}

/// `20261125T083000Z` of RFC 3339 text in UTC.
fn stamp(now: Moment) -> String {
    let text =
        moment_text(Moment::from_microseconds(now.microseconds() - now.microseconds().rem_euclid(1_000_000)));
    text.chars().filter(|c| !matches!(c, '-' | ':')).collect()
}

fn calendar(list: &DueListJson, machine: &str, now: Moment) -> String {
    let at = stamp(now);
    let day = at.split('T').next().unwrap_or_default();
    let tomorrow = stamp(Moment::from_microseconds(now.microseconds().saturating_add(86_400_000_000)));
    let tomorrow = tomorrow.split('T').next().unwrap_or_default();
    let mut out = String::new();
    for text in ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Matewell//Due//EN", "CALSCALE:GREGORIAN"] {
        line(&mut out, text);
    }
    line(&mut out, "X-WR-CALNAME:Due at the bench");
    let mut names: BTreeMap<String, u32> = BTreeMap::new();
    for due in &list.due {
        let name = name(due);
        let again = names.entry(name.clone()).and_modify(|n| *n += 1).or_insert(1);
        let uid = if *again == 1 { format!("{name}@{machine}") } else { format!("{name}-{again}@{machine}") };
        event(&mut out, due, &uid, &at, (day, tomorrow));
    }
    line(&mut out, "END:VCALENDAR");
    out
}

/// The same thing due keeps its name from day to day, so it moves and does not
/// pile up.
fn name(due: &DueJson) -> String {
    format!("{}-{}", due.task, due.end.as_deref().unwrap_or(&due.tag))
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' })
        .collect()
}

fn event(out: &mut String, due: &DueJson, uid: &str, at: &str, (day, tomorrow): (&str, &str)) {
    line(out, "BEGIN:VEVENT");
    line(out, &format!("UID:{uid}"));
    line(out, &format!("DTSTAMP:{at}"));
    line(out, &format!("DTSTART;VALUE=DATE:{day}"));
    line(out, &format!("DTEND;VALUE=DATE:{tomorrow}"));
    line(out, &format!("SUMMARY:{}", text(&format!("{}: {}", due.tag, due.task.replace('-', " ")))));
    let since = due.since.as_ref().map(|s| format!(" Due since {s}.")).unwrap_or_default();
    line(out, &format!("DESCRIPTION:{}", text(&format!("{}{since}", due.text))));
    if let Some(place) = &due.location {
        line(out, &format!("LOCATION:{}", text(place)));
    }
    line(out, "TRANSP:TRANSPARENT");
    line(out, "END:VEVENT");
}

/// A value of type TEXT, RFC 5545 section 3.3.11.
fn text(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    for c in value.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A content line, folded between characters so that no line is longer than 75
/// octets, ended by CRLF.
fn line(out: &mut String, text: &str) {
    let mut octets = 0;
    for c in text.chars() {
        if octets + c.len_utf8() > LINE {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(c);
        octets += c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn due(tag: &str, text: &str) -> DueJson {
        DueJson {
            tag: tag.to_owned(),
            end: None,
            location: Some("drawer 3; left".to_owned()),
            task: "check-tool".to_owned(),
            text: text.to_owned(),
            rank: 1,
            since: None,
        }
    }

    #[test]
    fn lines_are_folded_at_75_octets_and_unfold_to_what_was_said() {
        let said = "ü".repeat(120) + "; a, b\\c\nnext";
        let list = DueListJson {
            at: String::new(),
            location: None,
            locations: Vec::new(),
            due: vec![due("TW-1", &said), due("ГА-1,x", "b")],
        };
        let out = calendar(&list, "m", Moment::from_microseconds(1_800_000_000_123_456));
        assert!(out.ends_with("END:VCALENDAR\r\n"));
        assert!(!out.replace("\r\n", "").contains(['\r', '\n']));
        let lines: Vec<&str> = out.split("\r\n").collect();
        assert!(lines.iter().all(|l| l.len() <= 75), "{out}");
        assert!(lines.iter().filter(|l| l.starts_with(' ')).count() >= 3);
        let whole = out.replace("\r\n ", "");
        assert!(whole.contains(&format!("DESCRIPTION:{}\\; a\\, b\\\\c\\nnext\r\n", "ü".repeat(120))));
        assert!(whole.contains("LOCATION:drawer 3\\; left\r\n"));
        assert!(whole.contains(
            "DTSTAMP:20270115T080000Z\r\nDTSTART;VALUE=DATE:20270115\r\nDTEND;VALUE=DATE:20270116"
        ));
        assert!(whole.contains("UID:check-tool-__-1_x@m\r\n"), "{whole}");
        let twice = DueListJson {
            at: String::new(),
            location: None,
            locations: Vec::new(),
            due: vec![due("TW-1", "a"), due("TW-1", "b")],
        };
        let out = calendar(&twice, "m", Moment::from_microseconds(0));
        assert!(
            out.contains("UID:check-tool-TW-1@m\r\n") && out.contains("UID:check-tool-TW-1-2@m\r\n"),
            "{out}"
        );
    }

    /// `crosscheck/calendar/texts.json`: texts as the Python library icalendar
    /// writes them, and what it reads back from lines folded as here.
    #[test]
    fn texts_are_written_as_another_library_writes_them() {
        let stored = include_str!("../../../crosscheck/calendar/texts.json");
        let cases: Vec<(String, String)> = serde_json::from_str(stored).unwrap();
        assert!(cases.len() >= 10);
        for (said, written) in cases {
            let mut out = String::new();
            line(&mut out, &format!("DESCRIPTION:{}", text(&said)));
            assert_eq!(out.replace("\r\n ", ""), format!("DESCRIPTION:{written}\r\n"), "{said}");
            assert!(out.split("\r\n").all(|l| l.len() <= 75), "{out}");
        }
    }
}
