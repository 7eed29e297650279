//! A short list of events, played again with other luck.

use std::collections::BTreeMap;

use crate::event::{DAY, day_of, day_starts};
use crate::source::{ceiling, floor};
use crate::tool::elapsed;
use crate::{EndIndex, Event, EventKind, Exposure, History, Source, TaintKind, TaintSet};

enum Move {
    Touch { coin: usize, a: usize, b: usize },
    Clear { end: usize },
}

/// Events of one moment, or of one day without order.
struct Turn {
    starts_at: i64,
    /// First moment past it.
    ends_at: i64,
    unordered: bool,
    moves: Vec<Move>,
}

pub(crate) struct Game {
    turns: Vec<Turn>,
    ends: usize,
    coins: usize,
    pub(crate) sources: Vec<Source>,
    /// The end of each source, by its place among the exposed.
    source_ends: Vec<usize>,
}

#[derive(Default)]
pub(crate) struct Outcome {
    ever: Vec<bool>,
    by_touch: Vec<bool>,
    own_cleared: Vec<bool>,
    now: Vec<bool>,
}

impl Outcome {
    pub(crate) fn iter(&self) -> impl Iterator<Item = (bool, bool)> {
        self.ever.iter().copied().zip(self.now.iter().copied())
    }
}

impl Game {
    /// Keeps the touches between ends that are both exposed at the time.
    pub(crate) fn new(
        history: &History,
        sources: &[Source],
        exposed: &[Exposure],
        kind: TaintKind,
        transmits: TaintSet,
    ) -> Self {
        let days = history.unordered_days();
        let place: BTreeMap<EndIndex, (usize, &Exposure)> =
            exposed.iter().enumerate().map(|(index, x)| (x.end, (index, x))).collect();
        let covers = |x: &Exposure, at: i64| {
            x.intervals
                .iter()
                .any(|i| floor(i.since, days) <= at && i.until.is_none_or(|until| at < ceiling(until, days)))
        };
        let mut game = Self {
            turns: Vec::new(),
            ends: exposed.len(),
            coins: 0,
            sources: sources.to_vec(),
            source_ends: sources.iter().filter_map(|s| place.get(&s.end)).map(|p| p.0).collect(),
        };
        for event in history.events() {
            let done = match event.kind {
                EventKind::Touch { a, b } => match (place.get(&a), place.get(&b)) {
                    (Some(a), Some(b))
                        if transmits.has(kind) && covers(a.1, event.at) && covers(b.1, event.at) =>
                    {
                        game.coins += 1;
                        Move::Touch { coin: game.coins - 1, a: a.0, b: b.0 }
                    }
                    _ => continue,
                },
                EventKind::Clear { end, .. } | EventKind::Replace { end } => match place.get(&end) {
                    Some(x) if clears(event, kind) => Move::Clear { end: x.0 },
                    _ => continue,
                },
            };
            game.add(event.at, done, days);
        }
        game
    }

    fn add(&mut self, at: i64, done: Move, days: &[i64]) {
        let day = day_of(at);
        let unordered = days.binary_search(&day).is_ok();
        let starts_at = if unordered { day_starts(day) } else { at };
        match self.turns.last_mut() {
            Some(last) if last.starts_at == starts_at && last.unordered == unordered => last.moves.push(done),
            _ => {
                let ends_at = if unordered { starts_at.saturating_add(DAY) } else { at.saturating_add(1) };
                self.turns.push(Turn { starts_at, ends_at, unordered, moves: vec![done] });
            }
        }
    }

    pub(crate) fn ends(&self) -> usize {
        self.ends
    }

    pub(crate) fn touches(&self) -> usize {
        self.coins
    }

    /// Per source: moments that stand for a stretch of its window, each with
    /// its part of it.
    pub(crate) fn onsets(&self) -> Vec<Vec<(i64, f64)>> {
        let stretches = |source: &Source| {
            let (good, evidence) = (source.last_known_good, source.first_evidence);
            let mut found = Vec::new();
            let mut before = 0.0;
            for turn in &self.turns {
                // Bad by the last moment of the turn is bad in it.
                let last = turn.ends_at.saturating_sub(1);
                let part = elapsed(good, evidence, last);
                if last > good && last < evidence && part > before {
                    found.push((last, part - before));
                    before = part;
                }
            }
            found.push((evidence, 1.0 - before));
            found
        };
        self.sources.iter().map(stretches).collect()
    }

    /// One history: when each source went bad and which touches pass.
    pub(crate) fn play(&self, onsets: &[i64], passing: &[bool], outcome: &mut Outcome) {
        for state in [&mut outcome.ever, &mut outcome.by_touch] {
            state.clear();
            state.resize(self.ends, false);
        }
        outcome.own_cleared.clear();
        outcome.own_cleared.resize(self.sources.len(), false);
        let own = |outcome: &Outcome, past: i64| {
            let mut bad = outcome.by_touch.clone();
            for ((&end, &onset), &cleared) in self.source_ends.iter().zip(onsets).zip(&outcome.own_cleared) {
                if onset < past
                    && !cleared
                    && let Some(bad) = bad.get_mut(end)
                {
                    *bad = true;
                }
            }
            bad
        };
        let note = |ever: &mut Vec<bool>, bad: &[bool]| {
            for (ever, bad) in ever.iter_mut().zip(bad) {
                *ever |= bad;
            }
        };
        for turn in &self.turns {
            let mut bad = own(outcome, turn.ends_at);
            loop {
                let before = bad.clone();
                for done in &turn.moves {
                    match *done {
                        Move::Touch { coin, a, b } if passing[coin] && (bad[a] || bad[b]) => {
                            for end in [a, b] {
                                outcome.by_touch[end] |= !bad[end];
                                bad[end] = true;
                            }
                        }
                        Move::Clear { end } if !turn.unordered => {
                            note(&mut outcome.ever, &bad);
                            self.clear(end, turn, outcome);
                            bad = own(outcome, turn.ends_at);
                        }
                        Move::Touch { .. } | Move::Clear { .. } => {}
                    }
                }
                if !turn.unordered || bad == before {
                    break;
                }
            }
            note(&mut outcome.ever, &bad);
            if turn.unordered {
                for end in turn.cleared() {
                    self.clear(end, turn, outcome);
                }
            }
        }
        let bad = own(outcome, i64::MAX);
        note(&mut outcome.ever, &bad);
        outcome.now = bad;
    }

    fn clear(&self, end: usize, turn: &Turn, outcome: &mut Outcome) {
        let at = if turn.unordered { turn.ends_at } else { turn.starts_at };
        if turn.unordered && self.evidence_on(end, turn) {
            return;
        }
        outcome.by_touch[end] = false;
        for (index, source) in self.sources.iter().enumerate() {
            if self.source_ends[index] == end && source.first_evidence <= at {
                outcome.own_cleared[index] = true;
            }
        }
    }

    fn evidence_on(&self, end: usize, turn: &Turn) -> bool {
        let today = |s: &Source| (turn.starts_at..=turn.ends_at).contains(&s.first_evidence);
        self.sources.iter().zip(&self.source_ends).any(|(s, &of)| of == end && today(s))
    }

    /// Per end: bounds from above on ever and now, ends taken as independent.
    pub(crate) fn bound(&self, per_contact: f64) -> Vec<(f64, f64)> {
        let or = |x: f64, y: f64| 1.0 - (1.0 - x) * (1.0 - y);
        let (mut ever, mut by_touch) = (vec![0.0; self.ends], vec![0.0; self.ends]);
        let mut cleared = Outcome { own_cleared: vec![false; self.sources.len()], ..Outcome::default() };
        cleared.by_touch = vec![false; self.ends];
        let own = |end: usize, at: i64, cleared: &Outcome| {
            let sources = self.sources.iter().zip(&self.source_ends).zip(&cleared.own_cleared);
            sources
                .filter(|((_, of), cleared)| **of == end && !**cleared)
                .fold(0.0, |bad, ((s, _), _)| or(bad, elapsed(s.last_known_good, s.first_evidence, at)))
        };
        for turn in &self.turns {
            let last = turn.ends_at.saturating_sub(1);
            if turn.unordered {
                for group in turn.groups() {
                    let none = group
                        .iter()
                        .fold(1.0, |none, &end| none * (1.0 - or(by_touch[end], own(end, last, &cleared))));
                    for end in group {
                        by_touch[end] = 1.0 - none;
                        ever[end] = or(ever[end], 1.0 - none);
                    }
                }
            }
            for done in &turn.moves {
                match *done {
                    Move::Touch { a, b, .. } if !turn.unordered => {
                        let from = [a, b].map(|end| or(by_touch[end], own(end, last, &cleared)));
                        for (end, from) in [(b, from[0]), (a, from[1])] {
                            by_touch[end] = or(by_touch[end], per_contact * from);
                            ever[end] = or(ever[end], per_contact * from);
                        }
                    }
                    Move::Clear { end } if !turn.unordered => {
                        self.clear(end, turn, &mut cleared);
                        by_touch[end] = 0.0;
                    }
                    Move::Touch { .. } | Move::Clear { .. } => {}
                }
            }
            if turn.unordered {
                for end in turn.cleared().filter(|&end| !self.evidence_on(end, turn)) {
                    self.clear(end, turn, &mut cleared);
                    by_touch[end] = 0.0;
                }
            }
        }
        let source = |end: usize| self.source_ends.contains(&end);
        (0..self.ends)
            .map(|end| {
                let ever = if source(end) { 1.0 } else { ever[end] };
                (ever, or(by_touch[end], own(end, i64::MAX, &cleared)))
            })
            .collect()
    }
}

impl Turn {
    /// The ends whose clear counts: nothing touched them that day.
    fn cleared(&self) -> impl Iterator<Item = usize> {
        let touched = |end: usize| {
            self.moves.iter().any(|m| matches!(*m, Move::Touch { a, b, .. } if a == end || b == end))
        };
        self.moves.iter().filter_map(move |m| match *m {
            Move::Clear { end } if !touched(end) => Some(end),
            _ => None,
        })
    }

    /// The ends joined by touches.
    fn groups(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for done in &self.moves {
            if let Move::Touch { a, b, .. } = *done {
                let mut joined = vec![a, b];
                groups.retain(|group| {
                    let meets = group.contains(&a) || group.contains(&b);
                    if meets {
                        joined.extend(group);
                    }
                    !meets
                });
                joined.sort_unstable();
                joined.dedup();
                groups.push(joined);
            }
        }
        groups
    }
}

fn clears(event: &Event, kind: TaintKind) -> bool {
    match event.kind {
        EventKind::Clear { clears, .. } => clears.has(kind),
        EventKind::Replace { .. } => true,
        EventKind::Touch { .. } => false,
    }
}
