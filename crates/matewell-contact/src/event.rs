//! Compact events and the time-sorted history they form.

use crate::ContactError;

/// Microseconds in one UTC day.
pub const DAY: i64 = 86_400_000_000;

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

/// Validated events in time order.
#[derive(Debug, Clone)]
pub struct History {
    ends: u32,
    events: Vec<Event>,
}

impl History {
    /// Sorts events by moment, then sequence.
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
        events.sort_by_key(|event| (event.at, event.sequence));
        Ok(Self { ends, events })
    }

    /// How many ends there are.
    pub fn ends(&self) -> u32 {
        self.ends
    }

    /// The events in time order.
    pub fn events(&self) -> &[Event] {
        &self.events
    }
}
