//! All message texts of this room.

/// Why a history or a question about it is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ContactError {
    /// An event or a source names an end outside the history.
    #[error("expected an end below {ends}, found {found} in {place}")]
    UnknownEnd {
        /// How many ends the history has.
        ends: u32,
        /// The end as given.
        found: u32,
        /// Where it was found.
        place: &'static str,
    },
    /// An end touching itself is a slip of the log.
    #[error("expected two different ends in a touch, found end {end} twice at {at} µs")]
    TouchesItself {
        /// The end.
        end: u32,
        /// When, in microseconds UTC.
        at: i64,
    },
    /// The window of a source ends before it begins.
    #[error("expected last known good {good} µs no later than the first evidence {evidence} µs")]
    WindowBackwards {
        /// Last known good, in microseconds UTC.
        good: i64,
        /// First evidence, in microseconds UTC.
        evidence: i64,
    },
}
