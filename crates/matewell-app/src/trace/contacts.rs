//! Facts of the store as events of the contact room.

use super::{
    gauges::{Gauges, care_of},
    taint::{Care, cleared_by},
};
use crate::{AppError, Workshop};
use matewell_contact::{
    Ask, ContactSource, EndIndex, Event, EventKind, History, Resolution as Known, TaintSet,
};
use matewell_lab::{Fact, FactBody, FactId, InspectionOutcome, Moment, Resolution};
use matewell_sheets::PolicySheet;
use matewell_store::{Stretch, TouchedBy};
use matewell_verdict::PinDecision;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// How far a source answers: a standing bounds it, a trace asked for does not.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bound {
    pub(crate) rounds: u32,
    pub(crate) carriers: usize,
}

/// Mates, gaugings and cares of the store, asked level by level.
///
/// Ends and gauges get numbers as they are met; [`Contacts::into_part`] gives
/// the events with numbers in the order of the ids, so that ties fall alike in
/// every copy of the lab.
pub(crate) struct Contacts<'a> {
    shop: &'a Workshop,
    at: Moment,
    gauges: Gauges<'a>,
    numbers: HashMap<TouchedBy, u32>,
    names: Vec<TouchedBy>,
    given: BTreeMap<(FactId, u8), Event>,
    days: BTreeSet<i64>,
    bound: Option<Bound>,
    rounds: u32,
}

/// The part of the history that a trace needed.
pub(crate) struct Part {
    /// Ends and gauges in the order of their numbers.
    pub(crate) names: Vec<TouchedBy>,
    pub(crate) history: History,
    /// The fact behind each touch, by moment and the two numbers.
    pub(super) touches: HashMap<(i64, EndIndex, EndIndex), FactId>,
}

impl Part {
    pub(crate) fn number(&self, of: TouchedBy) -> Option<EndIndex> {
        let at = self.names.binary_search(&of).ok()?;
        u32::try_from(at).ok().map(EndIndex)
    }

    pub(crate) fn name(&self, end: EndIndex) -> Option<TouchedBy> {
        self.names.get(end.0 as usize).copied()
    }

    pub(crate) fn touch(&self, at: i64, x: EndIndex, y: EndIndex) -> Option<FactId> {
        self.touches.get(&(at, x.min(y), x.max(y))).copied()
    }
}

impl<'a> Contacts<'a> {
    pub(crate) fn new(shop: &'a Workshop, at: Moment, bound: Option<Bound>) -> Self {
        Self {
            shop,
            at,
            gauges: Gauges::new(shop, at),
            numbers: HashMap::new(),
            names: Vec::new(),
            given: BTreeMap::new(),
            days: BTreeSet::new(),
            bound,
            rounds: 0,
        }
    }

    pub(crate) fn number(&mut self, of: TouchedBy) -> EndIndex {
        let next = u32::try_from(self.names.len()).unwrap_or(u32::MAX);
        let number = *self.numbers.entry(of).or_insert(next);
        if number == next {
            self.names.push(of);
        }
        EndIndex(number)
    }

    pub(crate) fn into_part(self) -> Result<Part, AppError> {
        let mut names = self.names.clone();
        names.sort_unstable();
        let place: Vec<u32> = self
            .names
            .iter()
            .map(|name| names.binary_search(name).ok().and_then(|at| u32::try_from(at).ok()).unwrap_or(0))
            .collect();
        let renamed = |end: EndIndex| EndIndex(place.get(end.0 as usize).copied().unwrap_or(0));
        let mut touches = HashMap::new();
        let mut events = Vec::with_capacity(self.given.len());
        for ((fact, _), event) in &self.given {
            let kind = match event.kind {
                EventKind::Touch { a, b } => {
                    let (a, b) = (renamed(a), renamed(b));
                    touches.insert((event.at, a.min(b), a.max(b)), *fact);
                    EventKind::Touch { a, b }
                }
                EventKind::Clear { end, clears } => EventKind::Clear { end: renamed(end), clears },
                EventKind::Replace { end } => EventKind::Replace { end: renamed(end) },
            };
            events.push(Event { kind, ..*event });
        }
        let days: Vec<i64> = self.days.into_iter().collect();
        let ends = u32::try_from(names.len()).unwrap_or(u32::MAX);
        let history = History::new(ends, events).map_err(super::question)?.with_unordered_days(&days);
        Ok(Part { names, history, touches })
    }

    /// Adds the events of facts and gives those of one sort back.
    pub(super) fn take(&mut self, facts: &[Fact], touches: bool) -> Result<Vec<Event>, AppError> {
        let mut events = Vec::new();
        for fact in facts {
            for (part, event) in self.events(fact)? {
                if touches == matches!(event.kind, EventKind::Touch { .. }) {
                    self.given.insert((fact.id, part), event);
                    events.push(event);
                }
            }
        }
        Ok(events)
    }

    /// What a fact means, in order. A gauging that shows the end safe clears
    /// it before and after the touch: nothing of that kind passed either way.
    pub(crate) fn events(&mut self, fact: &Fact) -> Result<Vec<(u8, Event)>, AppError> {
        let shop = self.shop;
        let policy = shop.sheets.policy();
        let mut kinds: Vec<(u8, EventKind)> = Vec::new();
        match &fact.body {
            FactBody::Mated(mated) if mated.a != mated.b => {
                let (a, b) = (self.number(TouchedBy::End(mated.a)), self.number(TouchedBy::End(mated.b)));
                kinds.push((1, EventKind::Touch { a, b }));
            }
            FactBody::Gauged(gauged) => {
                let end = self.number(TouchedBy::End(gauged.end));
                let clears = match self.gauges.decide(fact, gauged)? {
                    PinDecision::ShownSafe => cleared_by(Care::GaugedSafe, policy),
                    _ => TaintSet::NONE,
                };
                if clears != TaintSet::NONE {
                    kinds.push((0, EventKind::Clear { end, clears }));
                    kinds.push((2, EventKind::Clear { end, clears }));
                }
                if let Some(gauge) = gauged.gauge {
                    let b = self.number(TouchedBy::Gauge(gauge));
                    kinds.push((1, EventKind::Touch { a: end, b }));
                }
            }
            FactBody::Inspected(inspected)
                if matches!(inspected.outcome, InspectionOutcome::Good | InspectionOutcome::NormalWear) =>
            {
                kinds.extend(self.clear(TouchedBy::End(inspected.end), Care::LookedGood, policy));
            }
            FactBody::Cleaned { end, .. } => {
                kinds.extend(self.clear(TouchedBy::End(*end), Care::Cleaned, policy));
            }
            FactBody::Released(released) => {
                kinds.extend(self.clear(TouchedBy::End(released.end), Care::Released, policy));
            }
            FactBody::Replaced(replaced) => {
                kinds.push((1, EventKind::Replace { end: self.number(TouchedBy::End(replaced.end)) }));
            }
            FactBody::ToolChecked(checked) => {
                if let Some(care) = care_of(&checked.check) {
                    kinds.extend(self.clear(TouchedBy::Gauge(checked.tool), care, policy));
                }
            }
            _ => {}
        }
        kinds.sort_by_key(|(part, _)| *part);
        let resolution = match fact.resolution {
            Resolution::Instant => Known::Instant,
            Resolution::Day => Known::Day,
        };
        let at = fact.happened_at.microseconds();
        let event = |(part, kind)| (part, Event { at, sequence: order(fact, part), resolution, kind });
        Ok(kinds.into_iter().map(event).collect())
    }

    fn clear(&mut self, of: TouchedBy, care: Care, policy: &PolicySheet) -> Option<(u8, EventKind)> {
        let clears = cleared_by(care, policy);
        let end = self.number(of);
        (clears != TaintSet::NONE).then_some((1, EventKind::Clear { end, clears }))
    }

    fn stretches(&self, asks: &[Ask]) -> Vec<Stretch> {
        let stretch = |ask: &Ask| {
            Some(Stretch {
                of: *self.names.get(ask.end.0 as usize)?,
                from: Moment::from_microseconds(ask.from),
                until: Moment::from_microseconds(ask.until),
            })
        };
        asks.iter().filter_map(stretch).collect()
    }
}

impl ContactSource for Contacts<'_> {
    type Error = AppError;

    fn touches(&mut self, asks: &[Ask]) -> Result<Vec<Event>, AppError> {
        self.rounds += 1;
        if self.bound.is_some_and(|b| self.rounds > b.rounds || self.names.len() > b.carriers) {
            return Ok(Vec::new());
        }
        let facts = self.shop.store.contacts_within(&self.stretches(asks), self.at)?;
        self.take(&facts, true)
    }

    fn clears(&mut self, asks: &[Ask]) -> Result<Vec<Event>, AppError> {
        let facts = self.shop.store.cares_within(&self.stretches(asks), self.at)?;
        self.take(&facts, false)
    }

    fn unordered_days(&mut self, from: i64, until: i64) -> Result<Vec<i64>, AppError> {
        let days = self.shop.store.unordered_days(from, until, self.at)?;
        self.days.extend(&days);
        Ok(days)
    }
}

/// The order among facts of one moment, as the record has it: sequence, then
/// cares before contacts, then the id. Facts whose ids end alike fall by their
/// ends.
fn order(fact: &Fact, part: u8) -> u64 {
    let rank: u64 = match fact.body {
        FactBody::Replaced(_) => 1,
        FactBody::Released(_) => 2,
        FactBody::Cleaned { .. } | FactBody::ToolChecked(_) => 3,
        FactBody::Inspected(_) => 4,
        FactBody::Gauged(_) => 5,
        _ => 8,
    };
    let tail = fact.id.bytes().iter().skip(12).fold(0_u64, |tail, byte| tail << 8 | u64::from(*byte));
    u64::from(fact.sequence) << 32 | rank << 28 | (tail & 0x3ff_ffff) << 2 | u64::from(part)
}
