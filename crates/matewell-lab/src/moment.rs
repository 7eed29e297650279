//! Points in time without a clock.

/// Microseconds in a day.
pub const MICROSECONDS_PER_DAY: i64 = 86_400_000_000;

/// A point in time: microseconds since 1970-01-01T00:00:00Z.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(i64);

impl Moment {
    /// From microseconds since 1970 UTC.
    #[must_use]
    pub const fn from_microseconds(microseconds: i64) -> Self {
        Self(microseconds)
    }

    /// Microseconds since 1970 UTC.
    #[must_use]
    pub const fn microseconds(self) -> i64 {
        self.0
    }

    /// This moment moved by a number of days, which may be negative.
    #[must_use]
    pub fn plus_days(self, days: f64) -> Self {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "saturates, and saturation is the wanted behaviour"
        )]
        let shift = (days * MICROSECONDS_PER_DAY as f64) as i64;
        Self(self.0.saturating_add(shift))
    }

    /// Days from `earlier` to here; negative when `earlier` is later.
    #[must_use]
    pub fn days_since(self, earlier: Self) -> f64 {
        self.0.saturating_sub(earlier.0) as f64 / MICROSECONDS_PER_DAY as f64
    }
}

/// How exactly the time of a fact is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Resolution {
    /// To the instant given.
    Instant,
    /// Only the day is known; facts of one day are unordered among themselves.
    Day,
}
