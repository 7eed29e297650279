//! What a bad end reached: one pass over the events in time order.

use std::collections::BTreeMap;

use crate::event::DAY;
use crate::{ContactError, EndIndex, Event, EventKind, History, Resolution, TaintKind, TaintSet};

/// An end that went bad somewhere in (last known good, first evidence].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// The end.
    pub end: EndIndex,
    /// Last known good, microseconds UTC.
    pub last_known_good: i64,
    /// First evidence that it is bad, microseconds UTC.
    pub first_evidence: i64,
}

/// One step of a witness path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// When the touch was logged.
    pub at: i64,
    /// The end that was exposed already.
    pub from: EndIndex,
    /// The end it touched.
    pub to: EndIndex,
}

/// Why and how long an end was exposed: `[since, until)`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interval {
    /// First moment.
    pub since: i64,
    /// The clearing moment, or none while it lasts.
    pub until: Option<i64>,
}

/// One exposed end. Exposed is not damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exposure {
    /// The end.
    pub end: EndIndex,
    /// Earliest arrival, counted from last known good.
    pub arrived_at: i64,
    /// Earliest arrival counted from first evidence; none: only possible,
    /// also where it rests on a day without order.
    pub definite_at: Option<i64>,
    /// Generation: fewest hops among the time-respecting paths.
    pub hops: u32,
    /// One path that arrives at `arrived_at`, source first.
    pub via: Vec<Step>,
    /// When it was exposed, in time order.
    pub intervals: Vec<Interval>,
    /// Whether a day without order within it had a part in this answer.
    pub order_unknown: bool,
}

/// Everything exposed to one kind of taint from these sources, sorted by
/// arrival, hops and end.
///
/// `transmits`: the kinds that pass by touch, by the lab's policy.
/// A UTC day with any day-resolution event is unordered as a whole: each end
/// in touch with an exposed one that day is exposed, and a clear counts at
/// the end of the day and only for ends that touched nothing exposed.
///
/// # Errors
///
/// [`ContactError::UnknownEnd`] and [`ContactError::WindowBackwards`].
///
/// # Source
///
/// `wu-2014` (earliest arrival in one pass over time-sorted contacts), with
/// undirected contacts that take no time.
pub fn forward(
    history: &History,
    sources: &[Source],
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Vec<Exposure>, ContactError> {
    for source in sources {
        if source.end.0 >= history.ends() {
            return Err(ContactError::UnknownEnd {
                ends: history.ends(),
                found: source.end.0,
                place: "a source",
            });
        }
        if source.last_known_good > source.first_evidence {
            return Err(ContactError::WindowBackwards {
                good: source.last_known_good,
                evidence: source.first_evidence,
            });
        }
    }
    let seeds = |since: fn(&Source) -> i64| sources.iter().map(|s| (since(s), s.end)).collect();
    let possible = Pass::run(history, seeds(|s| s.last_known_good), kind, transmits);
    let definite = Pass::run(history, seeds(|s| s.first_evidence), kind, transmits);
    let mut found: Vec<Exposure> = possible
        .first
        .iter()
        .map(|(&end, &first)| Exposure {
            end,
            arrived_at: possible.spans[first].since,
            definite_at: definite
                .spans
                .iter()
                .find(|span| span.end == end && !span.order_unknown)
                .map(|span| span.since),
            hops: possible.hops[&end],
            via: possible.path(first),
            intervals: possible
                .spans
                .iter()
                .filter(|span| span.end == end)
                .map(|span| Interval { since: span.since, until: span.until })
                .collect(),
            order_unknown: possible.spans.iter().any(|span| span.end == end && span.order_unknown),
        })
        .collect();
    found.sort_by_key(|x| (x.arrived_at, x.hops, x.end));
    Ok(found)
}

struct Span {
    end: EndIndex,
    since: i64,
    until: Option<i64>,
    parent: Option<(usize, i64)>,
    order_unknown: bool,
}

struct Pass {
    /// Per end: its open span and the fewest hops alive in it.
    now: Vec<Option<(usize, u32)>>,
    spans: Vec<Span>,
    first: BTreeMap<EndIndex, usize>,
    hops: BTreeMap<EndIndex, u32>,
}

impl Pass {
    fn run(history: &History, mut seeds: Vec<(i64, EndIndex)>, kind: TaintKind, transmits: TaintSet) -> Self {
        seeds.sort_unstable();
        let mut pass = Self {
            now: vec![None; history.ends() as usize],
            spans: Vec::new(),
            first: BTreeMap::new(),
            hops: BTreeMap::new(),
        };
        let passes = transmits.has(kind);
        let mut seeds = seeds.into_iter().peekable();
        for day in history.events().chunk_by(|x, y| x.at.div_euclid(DAY) == y.at.div_euclid(DAY)) {
            let unordered = day.iter().any(|event| event.resolution == Resolution::Day);
            let ends_at = day.first().map_or(0, |e| (e.at.div_euclid(DAY) + 1).saturating_mul(DAY));
            if unordered {
                while let Some((at, end)) = seeds.next_if(|seed| seed.0 < ends_at) {
                    pass.expose(end, at, None, 0, false);
                }
                pass.unordered_day(day, ends_at, kind, passes);
                continue;
            }
            for event in day {
                // A source is bad from its moment on: it goes before a touch at that moment.
                while let Some((at, end)) = seeds.next_if(|seed| seed.0 <= event.at) {
                    pass.expose(end, at, None, 0, false);
                }
                match event.kind {
                    EventKind::Touch { a, b } if passes => {
                        pass.touch(a, b, event.at, event.at, false);
                    }
                    EventKind::Touch { .. } => {}
                    EventKind::Clear { clears, .. } if !clears.has(kind) => {}
                    EventKind::Clear { end, .. } | EventKind::Replace { end } => {
                        pass.clear(end, event.at);
                    }
                }
            }
        }
        for (at, end) in seeds {
            pass.expose(end, at, None, 0, false);
        }
        pass
    }

    /// Returns whether anything changed.
    fn touch(&mut self, a: EndIndex, b: EndIndex, at: i64, logged: i64, loose: bool) -> bool {
        let (from_a, from_b) = (self.now[a.at()], self.now[b.at()]);
        let mut changed = false;
        for (from, to) in [(from_a, b), (from_b, a)] {
            if let Some((span, hops)) = from {
                let at = at.max(self.spans[span].since);
                changed |= self.expose(to, at, Some((span, logged)), hops + 1, loose);
            }
        }
        changed
    }

    fn expose(
        &mut self,
        end: EndIndex,
        at: i64,
        parent: Option<(usize, i64)>,
        hops: u32,
        order_unknown: bool,
    ) -> bool {
        let fewest = self.hops.entry(end).or_insert(hops);
        *fewest = hops.min(*fewest);
        if let Some((_, alive)) = &mut self.now[end.at()] {
            let better = hops < *alive;
            *alive = hops.min(*alive);
            return better;
        }
        let span = self.spans.len();
        let order_unknown = order_unknown || parent.is_some_and(|(span, _)| self.spans[span].order_unknown);
        self.spans.push(Span { end, since: at, until: None, parent, order_unknown });
        self.now[end.at()] = Some((span, hops));
        self.first.entry(end).or_insert(span);
        true
    }

    fn clear(&mut self, end: EndIndex, at: i64) {
        if let Some((span, _)) = self.now[end.at()].take() {
            self.spans[span].until = Some(at);
        }
    }

    fn unordered_day(&mut self, day: &[Event], ends_at: i64, kind: TaintKind, passes: bool) {
        let starts_at = ends_at.saturating_sub(DAY);
        let mut changed = passes;
        while changed {
            changed = false;
            for event in day {
                if let EventKind::Touch { a, b } = event.kind {
                    changed |= self.touch(a, b, starts_at, event.at, true);
                }
            }
        }
        for event in day {
            let (EventKind::Clear { end, .. } | EventKind::Replace { end }) = event.kind else {
                continue;
            };
            let covers = match event.kind {
                EventKind::Clear { clears, .. } => clears.has(kind),
                _ => true,
            };
            let touched = passes
                && day.iter().any(|other| match other.kind {
                    EventKind::Touch { a, b } => a == end || b == end,
                    _ => false,
                });
            // A source that may have gone bad within the day, after the clear, stays.
            let began_today = self.now[end.at()].is_some_and(|(span, _)| self.spans[span].since >= starts_at);
            if covers && !touched && !began_today {
                self.clear(end, ends_at);
            }
        }
    }

    fn path(&self, mut span: usize) -> Vec<Step> {
        let mut steps = Vec::new();
        while let Some((parent, at)) = self.spans[span].parent {
            let (from, to) = (self.spans[parent].end, self.spans[span].end);
            steps.push(Step { at, from, to });
            span = parent;
        }
        steps.reverse();
        steps
    }
}
