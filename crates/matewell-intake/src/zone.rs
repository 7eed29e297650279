//! From the wall clock to universal time.

use crate::dates::{Written, read_offset};
use jiff::{
    Timestamp, civil,
    tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase},
};

/// A zone by its name; the rules are those bundled with the library, so that
/// the same file means the same on every machine.
pub(crate) fn read_zone(text: &str) -> Option<TimeZone> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("utc") || text == "Z" {
        return Some(TimeZone::UTC);
    }
    read_offset(text).map(TimeZone::fixed).or_else(|| TimeZoneDatabase::bundled().get(text).ok())
}

/// A moment, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moment {
    /// One moment.
    At(i64),
    /// The clock went back: the hour was there twice, this is the first.
    Twice(i64),
    /// The clock went forward: the hour was never there.
    Never,
    /// Outside the range of time stamps.
    Outside,
    /// The zone must be asked.
    NeedsZone,
}

pub(crate) fn moment(written: Written, time: civil::Time, zone: Option<&TimeZone>) -> Moment {
    let at = written.date.to_datetime(time);
    let of = |stamp: Result<Timestamp, jiff::Error>| {
        stamp.map_or(Moment::Outside, |stamp| Moment::At(stamp.as_microsecond()))
    };
    if let Some(offset) = written.offset {
        return of(offset.to_timestamp(at));
    }
    let Some(zone) = zone else { return Moment::NeedsZone };
    match zone.to_ambiguous_timestamp(at).offset() {
        AmbiguousOffset::Unambiguous { offset } => of(offset.to_timestamp(at)),
        AmbiguousOffset::Gap { .. } => Moment::Never,
        AmbiguousOffset::Fold { before, .. } => match of(before.to_timestamp(at)) {
            Moment::At(at) => Moment::Twice(at),
            other => other,
        },
    }
}

/// Midnight in universal time, for a date without a time of day.
pub(crate) fn midnight(date: civil::Date) -> Option<i64> {
    let at = date.to_datetime(civil::time(0, 0, 0, 0));
    jiff::tz::Offset::UTC.to_timestamp(at).ok().map(Timestamp::as_microsecond)
}
