//! Random histories that never change, and a store that is asked level by
//! level.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]
#![allow(dead_code, clippy::allow_attributes, reason = "each test file uses a part of this one")]

use std::convert::Infallible;

use matewell_contact::{
    Ask, ContactSource, DAY, EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, TaintSet,
};

pub(crate) const SEED: u64 = 20_260_731;
pub(crate) const DIRT: TaintSet = TaintSet::NONE.with(TaintKind::Particles);
pub(crate) const RESIDUE: TaintSet = TaintSet::NONE.with(TaintKind::Residue);

/// SplitMix64, written out so that the histories never change.
pub(crate) fn draw(state: &mut u64, below: u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (z ^ (z >> 31)) % below
}

/// A moment: days 0 to 4, few hours, so that equal moments occur.
pub(crate) fn moment(state: &mut u64) -> i64 {
    let hour = i64::try_from(draw(state, 30)).unwrap();
    hour / 6 * DAY + hour % 6 * (DAY / 6)
}

/// Touches, clears of two policies and replacements among `ends`; one event
/// in `day_in` is known to the day only (0: none).
pub(crate) fn history(state: &mut u64, ends: u32, length: u64, day_in: u64) -> History {
    let events = (0..draw(state, length + 1))
        .map(|sequence| {
            let a = EndIndex(u32::try_from(draw(state, u64::from(ends))).unwrap());
            let kind = match draw(state, 10) {
                0 | 1 => EventKind::Clear { end: a, clears: DIRT },
                2 => EventKind::Clear { end: a, clears: RESIDUE },
                3 => EventKind::Replace { end: a },
                _ => {
                    let step = u32::try_from(1 + draw(state, u64::from(ends) - 1)).unwrap();
                    EventKind::Touch { a, b: EndIndex((a.0 + step) % ends) }
                }
            };
            let day = day_in > 0 && draw(state, day_in) == 0;
            let resolution = if day { Resolution::Day } else { Resolution::Instant };
            Event { at: moment(state), sequence, resolution, kind }
        })
        .collect();
    History::new(ends, events).unwrap()
}

pub(crate) fn source(state: &mut u64, ends: u32) -> Source {
    let (x, y) = (moment(state), moment(state));
    let end = EndIndex(u32::try_from(draw(state, u64::from(ends))).unwrap());
    Source { end, last_known_good: x.min(y), first_evidence: x.max(y) }
}

/// Answers each ask by looking at every event, newest first and some twice.
pub(crate) struct Scan<'a> {
    pub(crate) history: &'a History,
    pub(crate) touches_given: usize,
}

impl<'a> Scan<'a> {
    pub(crate) fn new(history: &'a History) -> Self {
        Self { history, touches_given: 0 }
    }

    fn find(&self, asks: &[Ask], touch: bool) -> Vec<Event> {
        let ends = |event: &Event| match event.kind {
            EventKind::Touch { a, b } => [a, b],
            EventKind::Clear { end, .. } | EventKind::Replace { end } => [end, end],
        };
        let wanted = |event: &&Event, ask: &Ask| {
            touch == matches!(event.kind, EventKind::Touch { .. })
                && ends(event).contains(&ask.end)
                && (ask.from..ask.until).contains(&event.at)
        };
        let events = self.history.events();
        asks.iter().flat_map(|ask| events.iter().rev().filter(move |e| wanted(e, ask))).copied().collect()
    }
}

impl ContactSource for Scan<'_> {
    type Error = Infallible;

    fn touches(&mut self, asks: &[Ask]) -> Result<Vec<Event>, Infallible> {
        let found = self.find(asks, true);
        self.touches_given += found.len();
        Ok(found)
    }

    fn clears(&mut self, asks: &[Ask]) -> Result<Vec<Event>, Infallible> {
        Ok(self.find(asks, false))
    }

    fn unordered_days(&mut self, from: i64, until: i64) -> Result<Vec<i64>, Infallible> {
        let days = self.history.unordered_days().iter();
        Ok(days.copied().filter(|day| (from..=until).contains(day)).collect())
    }
}
