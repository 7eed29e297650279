//! Dates and times of cells, as they are written by hand and by spreadsheets.

use crate::{
    mapping::DayOrder,
    table::{Cell, Value},
};
use jiff::{SignedDuration, civil, tz::Offset};

/// Date and time of a serial number in the 1900 calendar of spreadsheets:
/// days since 1899-12-30, valid from 61 (1900-03-01) on; before that the
/// calendar has a day that never was.
pub fn serial_to_civil(serial: f64) -> Option<civil::DateTime> {
    if !(61.0..2_958_466.0).contains(&serial) {
        return None;
    }
    let seconds = (serial * 86_400.0).round();
    #[expect(clippy::cast_possible_truncation, reason = "below 2_958_466 days, checked above")]
    let whole = seconds as i64;
    civil::date(1899, 12, 30).at(0, 0, 0, 0).checked_add(SignedDuration::from_secs(whole)).ok()
}

/// First and last year that a log of connectors can speak of.
const YEARS: std::ops::RangeInclusive<i16> = 1990..=2100;

/// What a cell says about the moment, before any time zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Written {
    pub(crate) date: civil::Date,
    pub(crate) time: Option<civil::Time>,
    /// An offset that the cell states.
    pub(crate) offset: Option<Offset>,
    /// A bare number was read as a serial date.
    pub(crate) was_serial: bool,
}

/// Why a cell is no date yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DateTrouble {
    /// Day and month could be swapped.
    NeedsDayOrder,
    /// Not understood; what was expected.
    Wrong(&'static str),
}

const DATE_EXPECTED: &str = "a date such as 2026-02-03, 03.02.2026 or 3 Feb 2026";
const FOUR_DIGITS: &str = "a year of four digits (which century is meant?)";
const YEAR_RANGE: &str = "a year from 1990 to 2100";
const TIME_EXPECTED: &str = "a time of day such as 14:05";

/// The order of day and month that a text proves, if it has slashes and one of
/// the two cannot be a month.
pub(crate) fn day_order_evidence(text: &str) -> Option<DayOrder> {
    let (first, second) = slashed(split_time(text).0)?;
    match (first > 12, second > 12) {
        (true, false) => Some(DayOrder::DayFirst),
        (false, true) => Some(DayOrder::MonthFirst),
        _ => None,
    }
}

/// The first two numbers of `03/04/2026` or `03-04-2026`.
fn slashed(date: &str) -> Option<(u8, u8)> {
    let separator = ['/', '-'].into_iter().find(|c| date.matches(*c).count() == 2)?;
    let mut parts = date.split(separator).map(str::trim);
    let (first, second, year) = (parts.next()?, parts.next()?, parts.next()?);
    let short = |part: &str| (1..=2).contains(&part.len()).then(|| part.parse::<u8>().ok()).flatten();
    if year.len() != 4 && year.len() != 2 {
        return None;
    }
    Some((short(first)?, short(second)?))
}

/// Splits a text into its date and what is behind it.
fn split_time(text: &str) -> (&str, &str) {
    let text = text.trim().trim_start_matches('\'');
    let Some(colon) = text.find(':') else {
        let head = text.strip_suffix(['T', ' ']).unwrap_or(text);
        return (head, "");
    };
    let head = text.get(..colon).unwrap_or("");
    match head.rfind(|c: char| !c.is_ascii_digit()) {
        Some(at) => {
            let (date, time) = text.split_at(at);
            let gap = time.chars().next().map_or(0, char::len_utf8);
            (date.trim_end_matches([' ', ',', 'T']), time.get(gap..).unwrap_or("").trim())
        }
        None => (text, ""),
    }
}

/// Reads a cell of the date column.
pub(crate) fn read_date(cell: &Cell, order: Option<DayOrder>) -> Result<Written, DateTrouble> {
    let written = match &cell.value {
        Value::Moment { civil, has_time } => Written {
            date: civil.date(),
            time: has_time.then(|| civil.time()),
            offset: None,
            was_serial: false,
        },
        Value::Number(serial) => read_serial(*serial)?,
        Value::Text(text) => read_text(text, order)?,
        _ => return Err(DateTrouble::Wrong(DATE_EXPECTED)),
    };
    if YEARS.contains(&written.date.year()) { Ok(written) } else { Err(DateTrouble::Wrong(YEAR_RANGE)) }
}

fn read_serial(serial: f64) -> Result<Written, DateTrouble> {
    let civil = serial_to_civil(serial).ok_or(DateTrouble::Wrong(DATE_EXPECTED))?;
    let time = (serial.fract() != 0.0).then(|| civil.time());
    Ok(Written { date: civil.date(), time, offset: None, was_serial: true })
}

fn read_text(text: &str, order: Option<DayOrder>) -> Result<Written, DateTrouble> {
    let text = text.trim();
    if text.len() >= 5 && text.chars().all(|c| c.is_ascii_digit()) {
        return text.parse::<f64>().map_err(|_| DateTrouble::Wrong(DATE_EXPECTED)).and_then(|serial| {
            if text.len() == 5 { read_serial(serial) } else { Err(DateTrouble::Wrong(DATE_EXPECTED)) }
        });
    }
    let (date, time) = split_time(text);
    let date = read_date_part(date, order)?;
    let (time, offset) =
        if time.is_empty() { (None, None) } else { read_time_part(time).map(|(t, o)| (Some(t), o))? };
    Ok(Written { date, time, offset, was_serial: false })
}

fn date_of(year: &str, month: u8, day: u8) -> Result<civil::Date, DateTrouble> {
    if year.len() == 2 && year.chars().all(|c| c.is_ascii_digit()) {
        return Err(DateTrouble::Wrong(FOUR_DIGITS));
    }
    let year =
        year.parse::<i16>().ok().filter(|_| year.len() == 4).ok_or(DateTrouble::Wrong(DATE_EXPECTED))?;
    let part = |number: u8| i8::try_from(number).unwrap_or(-1);
    civil::Date::new(year, part(month), part(day))
        .map_err(|_| DateTrouble::Wrong("a date that the calendar has"))
}

fn read_date_part(text: &str, order: Option<DayOrder>) -> Result<civil::Date, DateTrouble> {
    let wrong = DateTrouble::Wrong(DATE_EXPECTED);
    let parts: Vec<&str> = text
        .split(|c: char| matches!(c, '.' | '/' | '-' | ',') || c.is_whitespace())
        .filter(|part| !part.is_empty())
        .collect();
    let [first, second, third] = parts.as_slice() else { return Err(wrong) };
    let small = |part: &str| part.parse::<u8>().ok().filter(|_| part.len() <= 2);
    if first.len() == 4 {
        let (Some(month), Some(day)) = (small(second).or_else(|| month_of(second)), small(third)) else {
            return Err(wrong);
        };
        return date_of(first, month, day);
    }
    if let Some(month) = month_of(second) {
        return date_of(third, month, small(first).ok_or(wrong)?);
    }
    if let Some(month) = month_of(first) {
        return date_of(
            third,
            month,
            small(second.trim_end_matches(['s', 't', 'n', 'd', 'r', 'h'])).ok_or(wrong)?,
        );
    }
    let (Some(one), Some(two)) = (small(first), small(second)) else { return Err(wrong) };
    if text.contains('.') {
        return date_of(third, two, one);
    }
    let (day, month) = match (one > 12, two > 12, order) {
        (true, true, _) => return Err(DateTrouble::Wrong("a date that the calendar has")),
        (true, false, Some(DayOrder::MonthFirst)) => {
            return Err(DateTrouble::Wrong("month before day, as answered"));
        }
        (false, true, Some(DayOrder::DayFirst)) => {
            return Err(DateTrouble::Wrong("day before month, as answered"));
        }
        (true, false, _) | (false, false, Some(DayOrder::DayFirst)) => (one, two),
        (false, true, _) | (false, false, Some(DayOrder::MonthFirst)) => (two, one),
        (false, false, None) if one == two => (one, two),
        (false, false, None) => {
            // A two-digit year is refused first: the answer would not help.
            date_of(third, 1, 1)?;
            return Err(DateTrouble::NeedsDayOrder);
        }
    };
    date_of(third, month, day)
}

/// A month by its first letters, in English or German.
fn month_of(text: &str) -> Option<u8> {
    let text = text.to_lowercase();
    let start: String = text.chars().take(3).collect();
    if !text.chars().all(char::is_alphabetic) {
        return None;
    }
    let month = match start.as_str() {
        "jan" | "j\u{e4}n" => 1,
        "feb" => 2,
        "mar" | "m\u{e4}r" | "mae" | "mrz" => 3,
        "apr" => 4,
        "may" | "mai" => 5,
        "jun" => 6,
        "jul" => 7,
        "aug" => 8,
        "sep" => 9,
        "oct" | "okt" => 10,
        "nov" => 11,
        "dec" | "dez" => 12,
        _ => return None,
    };
    Some(month)
}

/// Reads a cell of the time column.
pub(crate) fn read_time(cell: &Cell) -> Result<(civil::Time, Option<Offset>), DateTrouble> {
    match &cell.value {
        Value::Moment { civil, .. } => Ok((civil.time(), None)),
        Value::Number(part) if (0.0..1.0).contains(part) => {
            let midnight = civil::time(0, 0, 0, 0);
            #[expect(clippy::cast_possible_truncation, reason = "at most 86_400")]
            let seconds = (part * 86_400.0).round() as i64;
            let time = midnight.checked_add(SignedDuration::from_secs(seconds));
            time.map(|time| (time, None)).map_err(|_| DateTrouble::Wrong(TIME_EXPECTED))
        }
        Value::Text(text) => read_time_part(text.trim()),
        _ => Err(DateTrouble::Wrong(TIME_EXPECTED)),
    }
}

fn read_time_part(text: &str) -> Result<(civil::Time, Option<Offset>), DateTrouble> {
    let wrong = DateTrouble::Wrong(TIME_EXPECTED);
    let text = text.trim().trim_end_matches("Uhr").trim_end_matches(['h', ' ']);
    let upper = text.to_ascii_uppercase();
    let (body, half) = match (upper.strip_suffix("AM"), upper.strip_suffix("PM")) {
        (Some(body), _) => (body.trim().to_owned(), Some(0_i8)),
        (_, Some(body)) => (body.trim().to_owned(), Some(12)),
        _ => (upper.clone(), None),
    };
    let (body, offset) = if let Some(body) = body.strip_suffix("UTC").or_else(|| body.strip_suffix('Z')) {
        (body.trim().to_owned(), Some(Offset::UTC))
    } else if let Some(at) = body.rfind(['+', '-']) {
        let (time, offset) = body.split_at(at);
        (time.trim().to_owned(), Some(read_offset(offset).ok_or(wrong)?))
    } else {
        (body, None)
    };
    let mut parts = body.split(':');
    let number = |part: Option<&str>| {
        part.and_then(|p| p.parse::<i8>().ok().filter(|_| p.len() <= 2 && !p.starts_with(['+', '-'])))
    };
    let (hour, minute) = (number(parts.next()).ok_or(wrong)?, number(parts.next()).ok_or(wrong)?);
    let hour = match half {
        Some(_) if !(1..=12).contains(&hour) => return Err(wrong),
        Some(add) => hour % 12 + add,
        None => hour,
    };
    let (second, fraction) = match parts.next() {
        None => (0, 0),
        Some(part) => {
            let (whole, fraction) = part.split_once(['.', ',']).unwrap_or((part, "0"));
            if fraction.len() > 9 || !fraction.chars().all(|c| c.is_ascii_digit()) {
                return Err(wrong);
            }
            let nanoseconds = format!("{fraction:0<9}").parse::<i32>().map_err(|_| wrong)?;
            (number(Some(whole)).ok_or(wrong)?, nanoseconds)
        }
    };
    if parts.next().is_some() {
        return Err(wrong);
    }
    civil::Time::new(hour, minute, second, fraction).map(|time| (time, offset)).map_err(|_| wrong)
}

/// `+01:00`, `-0530`, `+1`.
pub(crate) fn read_offset(text: &str) -> Option<Offset> {
    let (sign, body) = match text.strip_prefix('+') {
        Some(body) => (1, body),
        None => (-1, text.strip_prefix(['-', '\u{2212}'])?),
    };
    let (hours, minutes) = match (body.split_once(':'), body.len()) {
        (Some(pair), _) => pair,
        (None, 4) => (body.get(..2)?, body.get(2..)?),
        (None, 1 | 2) => (body, "0"),
        _ => return None,
    };
    let (hours, minutes) = (hours.parse::<u8>().ok()?, minutes.parse::<u8>().ok()?);
    if hours > 14 || minutes > 59 {
        return None;
    }
    Offset::from_seconds(sign * (i32::from(hours) * 3600 + i32::from(minutes) * 60)).ok()
}
