//! Two questions about a trace: what if, and what is new.

use std::collections::BTreeMap;

use crate::{
    ContactError, EndIndex, Event, EventKind, Exposure, History, Resolution, Source, TaintKind, TaintSet,
    forward,
};

/// Something that was not done, to ask what it would have changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// The end is looked at, or cleaned, and clear from then on.
    Clear {
        /// The end.
        end: EndIndex,
        /// When, microseconds UTC.
        at: i64,
        /// Order among equal moments.
        sequence: u64,
        /// What the act clears, by the lab's policy.
        clears: TaintSet,
    },
    /// The end is taken for harmless: neither exposed nor passing on.
    WaiveEnd {
        /// The end.
        end: EndIndex,
    },
    /// The touch is taken for harmless.
    WaiveTouch {
        /// When it was logged, microseconds UTC.
        at: i64,
        /// Its order among equal moments.
        sequence: u64,
    },
}

/// [`forward`] as if the changes had been made.
///
/// A clear of a source within its window counts for nothing here either: it
/// was bad at its first evidence.
///
/// # Errors
///
/// As [`forward`]; also [`ContactError::UnknownEnd`] for a change and
/// [`ContactError::UnknownTouch`] for a waived touch that is not there.
pub fn what_if(
    history: &History,
    sources: &[Source],
    kind: TaintKind,
    transmits: TaintSet,
    changes: &[Change],
) -> Result<Vec<Exposure>, ContactError> {
    let mut events = history.events().to_vec();
    let mut sources = sources.to_vec();
    for change in changes {
        match *change {
            Change::Clear { end, at, sequence, clears } => {
                let kind = EventKind::Clear { end, clears };
                events.push(Event { at, sequence, resolution: Resolution::Instant, kind });
            }
            Change::WaiveEnd { end } => {
                let (ends, found) = (history.ends(), end.0);
                if found >= ends {
                    return Err(ContactError::UnknownEnd { ends, found, place: "a change" });
                }
                events.retain(|event| match event.kind {
                    EventKind::Touch { a, b } => a != end && b != end,
                    EventKind::Clear { .. } | EventKind::Replace { .. } => true,
                });
                sources.retain(|source| source.end != end);
            }
            Change::WaiveTouch { at, sequence } => {
                let before = events.len();
                events.retain(|event| {
                    let touch = matches!(event.kind, EventKind::Touch { .. });
                    !touch || event.at != at || event.sequence != sequence
                });
                if events.len() == before {
                    return Err(ContactError::UnknownTouch { at, sequence });
                }
            }
        }
    }
    forward(&History::on_days(history, events)?, &sources, kind, transmits)
}

/// How one trace differs from another, each list in the order of its trace.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Difference {
    /// Exposed only after.
    pub added: Vec<Exposure>,
    /// Exposed only before.
    pub removed: Vec<Exposure>,
    /// Exposed in both, but not in the same way: before, after.
    pub changed: Vec<(Exposure, Exposure)>,
}

/// What a later answer to the same question says that an earlier one did not,
/// for example after a late touch was entered.
pub fn difference(before: &[Exposure], after: &[Exposure]) -> Difference {
    let mut old: BTreeMap<EndIndex, &Exposure> = before.iter().map(|x| (x.end, x)).collect();
    let mut difference = Difference::default();
    for now in after {
        match old.remove(&now.end) {
            None => difference.added.push(now.clone()),
            Some(then) if then != now => difference.changed.push((then.clone(), now.clone())),
            Some(_) => {}
        }
    }
    let gone = before.iter().filter(|x| old.contains_key(&x.end));
    difference.removed = gone.cloned().collect();
    difference
}
