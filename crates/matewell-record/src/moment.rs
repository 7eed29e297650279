//! Moments as RFC 3339 text with microseconds.
//!
//! The calendar is the proleptic Gregorian one and the conversion is closed
//! arithmetic, so that this room needs no clock and no time zone data.

use crate::RecordError;
use matewell_lab::{MICROSECONDS_PER_DAY, Moment};

/// 0000-01-01T00:00:00Z in microseconds since 1970.
pub const EARLIEST_MICROSECONDS: i64 = -62_167_219_200_000_000;
/// 9999-12-31T23:59:59.999999Z in microseconds since 1970.
pub const LATEST_MICROSECONDS: i64 = 253_402_300_799_999_999;

const MICROSECONDS_PER_SECOND: i64 = 1_000_000;
/// Days in the 400 years after which the Gregorian calendar repeats.
const DAYS_PER_ERA: i64 = 146_097;
/// Days from 0000-03-01 to 1970-01-01.
const DAYS_TO_1970: i64 = 719_468;

/// Writes a moment as `2026-03-01T09:30:00.000000Z`.
///
/// # Errors
///
/// [`RecordError::MomentOutOfRange`] outside the years 0000 to 9999, which is
/// all RFC 3339 can write.
pub fn moment_text(moment: Moment) -> Result<String, RecordError> {
    let microseconds = moment.microseconds();
    if !(EARLIEST_MICROSECONDS..=LATEST_MICROSECONDS).contains(&microseconds) {
        return Err(RecordError::MomentOutOfRange { microseconds });
    }
    let (year, month, day) = civil_from_days(microseconds.div_euclid(MICROSECONDS_PER_DAY));
    let in_day = microseconds.rem_euclid(MICROSECONDS_PER_DAY);
    let seconds = in_day / MICROSECONDS_PER_SECOND;
    Ok(format!(
        "{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}.{:06}Z",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60,
        in_day % MICROSECONDS_PER_SECOND
    ))
}

/// Reads an RFC 3339 time with any offset and up to microseconds.
///
/// # Errors
///
/// [`RecordError::NotAMoment`] for anything else, a leap second and digits
/// finer than a microsecond included: nothing is rounded in silence.
pub fn moment_from_text(text: &str) -> Result<Moment, RecordError> {
    let wrong = |because| RecordError::NotAMoment { found: text.chars().take(64).collect(), because };
    let mut rest = Digits { bytes: text.as_bytes() };
    let shape = "it does not have the shape of RFC 3339";
    let mut read = |count, then: &[u8]| rest.number(count, then).ok_or_else(|| wrong(shape));
    let year = read(4, b"-")?;
    let month = read(2, b"-")?;
    let day = read(2, b"Tt ")?;
    let hour = read(2, b":")?;
    let minute = read(2, b":")?;
    let second = read(2, b"")?;
    let fraction = rest.fraction().ok_or_else(|| wrong("it is finer than a microsecond"))?;
    let offset_minutes = rest.offset().ok_or_else(|| wrong("the offset from UTC is missing or wrong"))?;
    if !(1..=12).contains(&month) || day < 1 || day > days_in_month(year, month) {
        return Err(wrong("the calendar has no such day"));
    }
    if hour > 23 || minute > 59 || second > 59 {
        return Err(wrong("the day has no such time"));
    }
    let seconds = hour * 3600 + (minute - offset_minutes) * 60 + second;
    let microseconds = days_from_civil(year, month, day) * MICROSECONDS_PER_DAY
        + seconds * MICROSECONDS_PER_SECOND
        + fraction;
    if !(EARLIEST_MICROSECONDS..=LATEST_MICROSECONDS).contains(&microseconds) {
        return Err(RecordError::MomentOutOfRange { microseconds });
    }
    Ok(Moment::from_microseconds(microseconds))
}

struct Digits<'a> {
    bytes: &'a [u8],
}

impl Digits<'_> {
    /// A number of exactly `count` digits, then one of the bytes of `then`.
    fn number(&mut self, count: usize, then: &[u8]) -> Option<i64> {
        let (digits, rest) = self.bytes.split_at_checked(count)?;
        let mut value = 0;
        for digit in digits {
            value = value * 10 + digit.is_ascii_digit().then(|| i64::from(digit - b'0'))?;
        }
        self.bytes = rest;
        if !then.is_empty() {
            let (first, rest) = self.bytes.split_first()?;
            then.contains(first).then_some(())?;
            self.bytes = rest;
        }
        Some(value)
    }

    /// Microseconds behind the decimal point; zeros beyond the sixth digit
    /// lose nothing and are accepted.
    fn fraction(&mut self) -> Option<i64> {
        let Some((b'.', rest)) = self.bytes.split_first() else { return Some(0) };
        let length = rest.iter().take_while(|b| b.is_ascii_digit()).count();
        let (digits, rest) = rest.split_at_checked(length)?;
        self.bytes = rest;
        let mut value = 0;
        for place in 0..length.max(6) {
            let digit = digits.get(place).map_or(0, |b| i64::from(b - b'0'));
            if place < 6 {
                value = value * 10 + digit;
            } else if digit != 0 {
                return None;
            }
        }
        (length > 0).then_some(value)
    }

    /// Minutes east of UTC, and nothing behind it.
    fn offset(&mut self) -> Option<i64> {
        let (sign, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        let minutes = match sign {
            b'Z' | b'z' => 0,
            b'+' | b'-' => {
                let hours = self.number(2, b":")?;
                let minutes = self.number(2, b"")?;
                (hours <= 23 && minutes <= 59).then_some(())?;
                let east = hours * 60 + minutes;
                if *sign == b'-' { -east } else { east }
            }
            _ => return None,
        };
        self.bytes.is_empty().then_some(minutes)
    }
}

/// Days since 1970-01-01 of a day of the Gregorian calendar. The year is
/// counted from March, so that the leap day is its last day.
fn days_from_civil(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let month_from_march = (month + 9) % 12;
    let day_of_year = (153 * month_from_march + 2) / 5 + day - 1;
    let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    era * DAYS_PER_ERA + day_of_era - DAYS_TO_1970
}

/// Year, month and day of a number of days since 1970-01-01.
fn civil_from_days(days: i64) -> (i64, i64, i64) {
    let days = days + DAYS_TO_1970;
    let era = days.div_euclid(DAYS_PER_ERA);
    let day_of_era = days.rem_euclid(DAYS_PER_ERA);
    let year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / (DAYS_PER_ERA - 1)) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    (year, month, day)
}

fn days_in_month(year: i64, month: i64) -> i64 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
        2 => 28,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(text: &str, microseconds: i64) {
        assert_eq!(moment_from_text(text).unwrap().microseconds(), microseconds, "{text}");
    }

    /// The examples of RFC 3339 section 5.8; the seconds are from GNU
    /// coreutils 9.1: `date -u -d TEXT +%s`.
    #[test]
    fn the_examples_of_rfc_3339() {
        check("1985-04-12T23:20:50.52Z", 482_196_050_520_000);
        check("1996-12-19T16:39:57-08:00", 851_042_397_000_000);
        check("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130_000);
        // The section's two leap seconds are refused, not moved.
        assert!(moment_from_text("1990-12-31T23:59:60Z").is_err());
    }

    #[test]
    fn the_ends_of_the_range_are_written_and_read() {
        check("1970-01-01T00:00:00Z", 0);
        check("0000-01-01T00:00:00.000000Z", EARLIEST_MICROSECONDS);
        check("9999-12-31T23:59:59.999999Z", LATEST_MICROSECONDS);
        check("2026-03-01T09:30:00.000001000Z", 1_772_357_400_000_001);
        assert!(moment_text(Moment::from_microseconds(LATEST_MICROSECONDS + 1)).is_err());
        assert!(moment_text(Moment::from_microseconds(i64::MIN)).is_err());
    }

    #[test]
    fn junk_is_refused() {
        for junk in [
            "",
            "2026-03-01",
            "2026-03-01T09:30Z",
            "2026-02-29T00:00:00Z",
            "2026-13-01T00:00:00Z",
            "2026-03-01T24:00:00Z",
            "2026-03-01T09:30:00",
            "2026-03-01T09:30:00.Z",
            "2026-03-01T09:30:00.0000001Z",
            "2026-03-01T09:30:00Zx",
            "2026-03-01T09:30:00+0100",
            "\u{661}026-03-01T09:30:00Z",
            "9999-12-31T23:59:59-01:00",
        ] {
            assert!(moment_from_text(junk).is_err(), "{junk}");
        }
    }

    /// A slow twin: count the days one by one.
    #[test]
    fn the_calendar_agrees_with_counting_days() {
        let (mut year, mut month, mut day) = (1600, 1, 1);
        let first = days_from_civil(year, month, day);
        for count in 0..(500 * 366) {
            assert_eq!(days_from_civil(year, month, day), first + count);
            assert_eq!(civil_from_days(first + count), (year, month, day));
            day += 1;
            if day > days_in_month(year, month) {
                day = 1;
                month += 1;
            }
            if month > 12 {
                month = 1;
                year += 1;
            }
        }
    }

    proptest! {
        #[test]
        fn every_moment_survives(microseconds in EARLIEST_MICROSECONDS..=LATEST_MICROSECONDS) {
            let text = moment_text(Moment::from_microseconds(microseconds)).unwrap();
            prop_assert_eq!(moment_from_text(&text).unwrap().microseconds(), microseconds);
        }
    }
}
