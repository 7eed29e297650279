//! Serial dates of spreadsheets.

use jiff::{SignedDuration, civil};

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
