//! Compact events and the time-sorted history they form.

use crate::ContactError;

/// Microseconds in one UTC day.
pub const DAY: i64 = 86_400_000_000;

pub(crate) fn day_of(at: i64) -> i64 {
    at.div_euclid(DAY)
}

pub(crate) fn day_starts(day: i64) -> i64 {
    day.saturating_mul(DAY)
}

/// A dense number for one end; the caller keeps the names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EndIndex(pub u32);

impl EndIndex {
    pub(crate) fn at(self) -> usize {
        self.0 as usize
    }
}

/// How exactly the moment of an event is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Resolution {
    /// Known to the moment; equal moments are ordered by `sequence`.
    Instant,
    /// Only the UTC day is known.
    Day,
}

/// What may pass from end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaintKind {
    /// A bent, proud or burred contact.
    Deformation,
    /// Loose metal or dust.
    Particles,
    /// A film, such as oil.
    Residue,
    /// Not told apart; only a clear that covers this kind by name ends it.
    Unknown,
}

/// A set of taint kinds. Which event clears which kinds is the lab's policy,
/// so it comes with each event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TaintSet(u8);

impl TaintSet {
    /// No kind at all.
    pub const NONE: Self = Self(0);

    /// This set and one kind more.
    #[must_use]
    pub const fn with(self, kind: TaintKind) -> Self {
        Self(self.0 | 1 << kind as u8)
    }

    /// Whether the kind is in the set.
    pub const fn has(self, kind: TaintKind) -> bool {
        self.0 & (1 << kind as u8) != 0
    }
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventKind {
    /// Two ends touched; a gauging is a touch too.
    Touch {
        /// One end.
        a: EndIndex,
        /// The other end.
        b: EndIndex,
    },
    /// From here on the end is clear of these kinds.
    Clear {
        /// The end.
        end: EndIndex,
        /// What the act clears, by the lab's policy.
        clears: TaintSet,
    },
    /// The end was cut off and re-terminated: it starts clean.
    Replace {
        /// The end.
        end: EndIndex,
    },
}

/// One event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// Microseconds since 1970-01-01 UTC.
    pub at: i64,
    /// Order among equal moments.
    pub sequence: u64,
    /// How exactly `at` is known.
    pub resolution: Resolution,
    /// What happened.
    pub kind: EventKind,
}

impl Event {
    /// The ends of a touch, or twice the end that is cleared.
    #[must_use]
    pub fn ends(&self) -> [EndIndex; 2] {
        match self.kind {
            EventKind::Touch { a, b } => [a, b],
            EventKind::Clear { end, .. } | EventKind::Replace { end } => [end, end],
        }
    }

    /// Total, so that an answer never depends on the order of entry.
    pub(crate) fn order(&self) -> (i64, u64, u8, EndIndex, EndIndex) {
        match self.kind {
            EventKind::Touch { a, b } => (self.at, self.sequence, 0, a.min(b), a.max(b)),
            EventKind::Clear { end, clears } => (self.at, self.sequence, 1 + clears.0, end, end),
            EventKind::Replace { end } => (self.at, self.sequence, u8::MAX, end, end),
        }
    }
}

/// Validated events in time order.
#[derive(Debug, Clone)]
pub struct History {
    ends: u32,
    events: Vec<Event>,
    unordered_days: Vec<i64>,
}

impl History {
    /// Sorts events by moment, then sequence; touches go first where both are
    /// equal.
    ///
    /// # Errors
    ///
    /// [`ContactError::UnknownEnd`] and [`ContactError::TouchesItself`].
    pub fn new(ends: u32, mut events: Vec<Event>) -> Result<Self, ContactError> {
        let known = |end: EndIndex| {
            if end.0 < ends {
                Ok(())
            } else {
                Err(ContactError::UnknownEnd { ends, found: end.0, place: "an event" })
            }
        };
        for event in &events {
            match event.kind {
                EventKind::Touch { a, b } => {
                    known(a)?;
                    known(b)?;
                    if a == b {
                        return Err(ContactError::TouchesItself { end: a.0, at: event.at });
                    }
                }
                EventKind::Clear { end, .. } | EventKind::Replace { end } => known(end)?,
            }
        }
        events.sort_unstable_by_key(Event::order);
        let mut unordered_days: Vec<i64> = events
            .iter()
            .filter(|event| event.resolution == Resolution::Day)
            .map(|event| day_of(event.at))
            .collect();
        unordered_days.dedup();
        Ok(Self { ends, events, unordered_days })
    }

    /// Other events on the same days: a day without order stays one, also
    /// where the event that made it so is left out.
    pub(crate) fn on_days(other: &Self, events: Vec<Event>) -> Result<Self, ContactError> {
        let history = Self::new(other.ends, events)?;
        Ok(Self { unordered_days: other.unordered_days.clone(), ..history })
    }

    /// With more days taken as unordered: a part of a longer history keeps the
    /// days that are unordered because of what was left out.
    #[must_use]
    pub fn with_unordered_days(mut self, days: &[i64]) -> Self {
        self.unordered_days.extend_from_slice(days);
        self.unordered_days.sort_unstable();
        self.unordered_days.dedup();
        self
    }

    /// How many ends there are.
    pub fn ends(&self) -> u32 {
        self.ends
    }

    /// UTC days since 1970-01-01 that hold an event of day resolution,
    /// ascending: within them nothing is ordered.
    pub fn unordered_days(&self) -> &[i64] {
        &self.unordered_days
    }

    /// The events in time order.
    pub fn events(&self) -> &[Event] {
        &self.events
    }
}
