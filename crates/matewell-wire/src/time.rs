//! Moments as RFC 3339 text.

use jiff::Timestamp;
use matewell_lab::Moment;

/// `2026-11-25T08:00:00Z`. Moments outside the years that RFC 3339 can write
/// are given as the nearest that it can.
#[must_use]
pub fn moment_text(moment: Moment) -> String {
    Timestamp::from_microsecond(moment.microseconds())
        .unwrap_or(if moment.microseconds() < 0 { Timestamp::MIN } else { Timestamp::MAX })
        .to_string()
}

/// Reads RFC 3339, or a plain date (its midnight in UTC).
///
/// # Errors
///
/// Says what was expected and found.
pub fn parse_moment(text: &str) -> Result<Moment, String> {
    let trimmed = text.trim();
    if let Ok(stamp) = trimmed.parse::<Timestamp>() {
        return Ok(Moment::from_microseconds(stamp.as_microsecond()));
    }
    if trimmed.parse::<jiff::civil::Date>().is_ok()
        && let Ok(stamp) = format!("{trimmed}T00:00:00Z").parse::<Timestamp>()
    {
        return Ok(Moment::from_microseconds(stamp.as_microsecond()));
    }
    Err(format!(
        "expected a time such as 2026-11-25T08:00:00Z or a date such as 2026-11-25, found \"{trimmed}\""
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_print_and_read_back() {
        let moment = parse_moment("2026-11-25T08:30:00.25Z").unwrap();
        assert_eq!(moment_text(moment), "2026-11-25T08:30:00.25Z");
        assert_eq!(moment_text(parse_moment("2026-11-25").unwrap()), "2026-11-25T00:00:00Z");
        assert!(parse_moment("yesterday").is_err());
        assert!(!moment_text(Moment::from_microseconds(i64::MAX)).is_empty());
    }
}
