//! What is due, as a calendar (RFC 5545).
//!
//! Each thing due stands as an event of the whole day on which the calendar is
//! read, until it is done: what has been due for weeks is then still in sight.

use crate::{AppError, Workshop};
use matewell_lab::Moment;
use matewell_wire::{DueJson, DueListJson, moment_text};

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
        Ok(calendar(&self.due(now)?, &machine, now))
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
    for due in &list.due {
        event(&mut out, due, machine, &at, (day, tomorrow));
    }
    line(&mut out, "END:VCALENDAR");
    out
}

fn event(out: &mut String, due: &DueJson, machine: &str, at: &str, (day, tomorrow): (&str, &str)) {
    line(out, "BEGIN:VEVENT");
    // The same thing due keeps its name from day to day, so it moves and does
    // not pile up.
    let name: String = format!("{}-{}", due.task, due.end.as_deref().unwrap_or(&due.tag))
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' })
        .collect();
    line(out, &format!("UID:{name}@{machine}"));
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
        let list = DueListJson { at: String::new(), due: vec![due("TW-1", &said), due("ГА-1,x", "b")] };
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
    }
}
