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
    /// A touch that is to be left out is not in the history.
    #[error("expected a touch at {at} µs with sequence {sequence}, found none")]
    UnknownTouch {
        /// When, in microseconds UTC.
        at: i64,
        /// Order among equal moments.
        sequence: u64,
    },
    /// A probability outside 0 to 1, or not a number.
    #[error("expected a probability from 0 to 1, found {found} for {what}")]
    NotAProbability {
        /// What it was given for.
        what: &'static str,
        /// As given, printed.
        found: String,
    },
    /// Too many cases to list one by one.
    #[error("expected at most {limit} cases to list, found 2^{coins} outcomes of {onsets} onsets")]
    TooManyCases {
        /// The most that are listed.
        limit: u64,
        /// Touches that decide something.
        coins: usize,
        /// Different moments at which the sources may have gone bad.
        onsets: u64,
    },
    /// A simulation without trials says nothing.
    #[error("expected at least one trial, found none")]
    NoTrials,
}

/// Why a trace over a [`crate::ContactSource`] has no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BatchError<E> {
    /// The question is refused.
    #[error(transparent)]
    Question(#[from] ContactError),
    /// The source failed.
    #[error("expected the touches or clears asked for, found an error of the source")]
    Source(#[source] E),
}
