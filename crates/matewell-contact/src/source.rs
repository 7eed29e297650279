//! The same traces over a store that is asked level by level.

use std::collections::BTreeMap;

use crate::event::{DAY, day_of, day_starts};
use crate::forward::{check, exposures, seeds};
use crate::mirror::{mirrored, turn};
use crate::pass::{Pass, Rules, Seed};
use crate::{BatchError, EndIndex, Event, EventKind, Exposure, Source, TaintKind, TaintSet};

/// A question for the events of one end, `from <= at < until`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// The end.
    pub end: EndIndex,
    /// First moment, microseconds UTC.
    pub from: i64,
    /// First moment past the question; `i64::MAX`: no end.
    pub until: i64,
}

/// Where touches and clears are kept. The order of an answer is free and an
/// event may come twice; two events of one moment need different sequences.
pub trait ContactSource {
    /// What can go wrong in the source.
    type Error;

    /// The touches that any of the asks covers, by either end.
    ///
    /// # Errors
    ///
    /// As the source says.
    fn touches(&mut self, asks: &[Ask]) -> Result<Vec<Event>, Self::Error>;

    /// The clears and replacements that any of the asks covers.
    ///
    /// # Errors
    ///
    /// As the source says.
    fn clears(&mut self, asks: &[Ask]) -> Result<Vec<Event>, Self::Error>;

    /// UTC days since 1970-01-01, from `from` to `until` inclusive, that hold
    /// any event of day resolution; ascending.
    ///
    /// # Errors
    ///
    /// As the source says.
    fn unordered_days(&mut self, from: i64, until: i64) -> Result<Vec<i64>, Self::Error>;
}

/// The answer of a trace by levels, and what it took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batched<T> {
    /// The same as from the whole history in memory.
    pub answer: Vec<T>,
    /// How many times touches were asked for.
    pub rounds: u32,
    /// How many different events were fetched.
    pub events: usize,
}

/// [`crate::forward`] over a source: grows only with what is exposed.
///
/// Each round asks for the touches of the newly exposed stretches of time,
/// then for the clears of the ends they reach.
///
/// # Errors
///
/// [`crate::ContactError::WindowBackwards`], and what the source reports.
///
/// # Source
///
/// `wu-2014` (the pass within a round).
pub fn forward_batched<S: ContactSource>(
    source: &mut S,
    sources: &[Source],
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Batched<Exposure>, BatchError<S::Error>> {
    check(u32::MAX, sources)?;
    let from = sources.iter().map(|s| s.last_known_good).min().unwrap_or(i64::MAX);
    let days = source.unordered_days(day_of(from), day_of(i64::MAX)).map_err(BatchError::Source)?;
    let rules = Rules { kind, transmits, unordered: &days, definite: false, cut: None };
    let mut grown = Grown::new(seeds(sources, false), false, (i64::MIN, i64::MAX));
    let (possible, rounds) = grown.grow(source, &rules).map_err(BatchError::Source)?;
    let definite = grown.run(seeds(sources, true), &Rules { definite: true, ..rules });
    let mut answer = exposures(&possible, &definite);
    grown.rename(&mut answer);
    Ok(Batched { answer, rounds, events: grown.events.len() })
}

/// The part of a history that a trace has asked for so far.
pub(crate) struct Grown {
    seeds: Vec<Seed>,
    backward: bool,
    /// The moments that may be asked about, in the time of the pass.
    span: (i64, i64),
    pub(crate) events: Vec<Event>,
    names: Vec<EndIndex>,
    clears_from: BTreeMap<EndIndex, i64>,
    touches_in: BTreeMap<EndIndex, Vec<(i64, i64)>>,
}

impl Grown {
    pub(crate) fn new(seeds: Vec<Seed>, backward: bool, span: (i64, i64)) -> Self {
        Self {
            seeds,
            backward,
            span,
            events: Vec::new(),
            names: Vec::new(),
            clears_from: BTreeMap::new(),
            touches_in: BTreeMap::new(),
        }
    }

    pub(crate) fn grow<S: ContactSource>(
        &mut self,
        source: &mut S,
        rules: &Rules<'_>,
    ) -> Result<(Pass, u32), S::Error> {
        let mut rounds = 0;
        loop {
            let pass = self.run(self.seeds.clone(), rules);
            let clears = self.clears_missing(&pass, rules);
            if !clears.is_empty() {
                let events = source.clears(&self.asks(&clears))?;
                if self.add(events) {
                    continue;
                }
            }
            let touches = self.touches_missing(&pass, rules);
            if touches.is_empty() {
                return Ok((pass, rounds));
            }
            rounds += 1;
            let events = source.touches(&self.asks(&touches))?;
            self.add(events);
        }
    }

    /// Ends are renumbered in their own order, so that ties fall alike and
    /// memory stays with what was fetched.
    pub(crate) fn run(&mut self, mut seeds: Vec<Seed>, rules: &Rules<'_>) -> Pass {
        self.names = seeds.iter().map(|seed| seed.end).collect();
        self.names.extend(rules.cut.iter().chain(&self.events).flat_map(Event::ends));
        self.names.sort_unstable();
        self.names.dedup();
        let short = |end: EndIndex| EndIndex(number(self.names.partition_point(|&name| name < end)));
        for seed in &mut seeds {
            seed.end = short(seed.end);
        }
        let cut = rules.cut.map(|event| renamed(event, short));
        let rules = Rules { cut, ..*rules };
        let events: Vec<Event> = self.events.iter().map(|&event| renamed(event, short)).collect();
        let ends = number(self.names.len());
        if self.backward {
            Pass::run(ends, mirrored(&events, cut), seeds, &rules)
        } else {
            Pass::run(ends, events.into_iter(), seeds, &rules)
        }
    }

    pub(crate) fn rename(&self, exposures: &mut [Exposure]) {
        let name = |end: EndIndex| self.names.get(end.at()).copied().unwrap_or(end);
        for exposure in exposures {
            exposure.end = name(exposure.end);
            for step in &mut exposure.via {
                (step.from, step.to) = (name(step.from), name(step.to));
            }
        }
    }

    fn add(&mut self, events: Vec<Event>) -> bool {
        let before = self.events.len();
        self.events.extend(events);
        self.events.sort_unstable_by_key(Event::order);
        self.events.dedup();
        self.events.len() > before
    }

    fn asks(&self, wanted: &[Ask]) -> Vec<Ask> {
        let back = |ask: &Ask| Ask {
            end: ask.end,
            from: if ask.until == i64::MAX { i64::MIN } else { turn(ask.until).saturating_add(1) },
            until: turn(ask.from).saturating_add(1),
        };
        if self.backward { wanted.iter().map(back).collect() } else { wanted.to_vec() }
    }

    fn clears_missing(&mut self, pass: &Pass, rules: &Rules<'_>) -> Vec<Ask> {
        let mut asks = Vec::new();
        for (end, first) in self.names.iter().zip(&pass.reached) {
            let Some(span) = first.and_then(|(span, _)| pass.spans.get(span as usize)) else { continue };
            let from = floor(span.since, rules.unordered).max(self.span.0);
            let until = self.clears_from.get(end).copied().unwrap_or(self.span.1);
            if from < until {
                self.clears_from.insert(*end, from);
                asks.push(Ask { end: *end, from, until });
            }
        }
        asks
    }

    fn touches_missing(&mut self, pass: &Pass, rules: &Rules<'_>) -> Vec<Ask> {
        let mut asks = Vec::new();
        if !rules.transmits.has(rules.kind) {
            return asks;
        }
        for span in &pass.spans {
            let Some(&end) = self.names.get(span.end.at()) else { continue };
            let from = floor(span.since, rules.unordered).max(self.span.0);
            // A touch at the moment of the clear may go before it.
            let until = span.until.map_or(i64::MAX, |at| ceiling(at, rules.unordered)).min(self.span.1);
            let had = self.touches_in.entry(end).or_default();
            let mut at = from;
            for &(begins, ends) in had.iter() {
                if begins > at && at < until {
                    asks.push(Ask { end, from: at, until: begins.min(until) });
                }
                at = at.max(ends);
            }
            if at < until {
                asks.push(Ask { end, from: at, until });
            }
            had.push((from, until));
            had.sort_unstable();
        }
        asks
    }
}

fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(crate) fn floor(at: i64, unordered: &[i64]) -> i64 {
    let day = day_of(at);
    if unordered.binary_search(&day).is_ok() { day_starts(day) } else { at }
}

pub(crate) fn ceiling(at: i64, unordered: &[i64]) -> i64 {
    let day = day_of(at);
    let past = if unordered.binary_search(&day).is_ok() { day_starts(day).saturating_add(DAY) } else { at };
    past.max(at.saturating_add(1))
}

fn renamed(event: Event, name: impl Fn(EndIndex) -> EndIndex) -> Event {
    let kind = match event.kind {
        EventKind::Touch { a, b } => EventKind::Touch { a: name(a), b: name(b) },
        EventKind::Clear { end, clears } => EventKind::Clear { end: name(end), clears },
        EventKind::Replace { end } => EventKind::Replace { end: name(end) },
    };
    Event { kind, ..event }
}
