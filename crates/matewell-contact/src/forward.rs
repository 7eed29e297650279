//! What a bad end reached: one pass over the events in time order.

use crate::event::{day_of, day_starts};
use crate::pass::{Pass, Rules, Seed, Span};
use crate::{ContactError, EndIndex, History, TaintKind, TaintSet};

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
    /// The same among the paths into the interval that lasts; none: cleared.
    pub hops_now: Option<u32>,
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
/// A clear of a source within its window counts for nothing: it was bad at
/// the first evidence, so it may have gone bad right after the clear.
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
    check(history.ends(), sources)?;
    let run = |definite: bool| {
        let rules = Rules { kind, transmits, unordered: history.unordered_days(), definite, cut: None };
        let seeds = seeds(sources, definite);
        let start = seeds.iter().map(|seed| seed.from).min().unwrap_or(i64::MAX);
        // From the start of the day, for a day without order.
        let start = day_starts(day_of(start));
        let first = history.events().partition_point(|event| event.at < start);
        let events = history.events().get(first..).unwrap_or_default();
        Pass::run(history.ends(), events.iter().copied(), seeds, &rules)
    };
    let possible = run(false);
    let same =
        history.unordered_days().is_empty() && sources.iter().all(|s| s.last_known_good == s.first_evidence);
    let definite = if same { None } else { Some(run(true)) };
    Ok(exposures(&possible, definite.as_ref().unwrap_or(&possible)))
}

pub(crate) fn seeds(sources: &[Source], definite: bool) -> Vec<Seed> {
    let from = |s: &Source| if definite { s.first_evidence } else { s.last_known_good };
    sources.iter().map(|s| Seed { from: from(s), end: s.end, until: s.first_evidence }).collect()
}

pub(crate) fn check(ends: u32, sources: &[Source]) -> Result<(), ContactError> {
    for source in sources {
        if source.end.0 >= ends {
            return Err(ContactError::UnknownEnd { ends, found: source.end.0, place: "a source" });
        }
        if source.last_known_good > source.first_evidence {
            return Err(ContactError::WindowBackwards {
                good: source.last_known_good,
                evidence: source.first_evidence,
            });
        }
    }
    Ok(())
}

pub(crate) fn exposures(possible: &Pass, definite: &Pass) -> Vec<Exposure> {
    let mut spans: Vec<&Span> = possible.spans.iter().collect();
    // Stable: the spans of one end stay in time order.
    spans.sort_by_key(|span| span.end);
    let mut found: Vec<Exposure> = spans
        .chunk_by(|x, y| x.end == y.end)
        .filter_map(|spans| {
            let end = spans.first()?.end;
            let (first, hops) = possible.reached.get(end.at()).copied().flatten()?;
            let sure = definite.reached.get(end.at()).copied().flatten();
            Some(Exposure {
                end,
                arrived_at: possible.spans.get(first as usize)?.since,
                definite_at: sure.and_then(|(first, _)| Some(definite.spans.get(first as usize)?.since)),
                hops,
                hops_now: possible.open(end).map(|(_, hops)| hops),
                via: path(possible, first),
                intervals: spans.iter().map(|s| Interval { since: s.since, until: s.until }).collect(),
                order_unknown: spans.iter().any(|s| s.order_unknown),
            })
        })
        .collect();
    found.sort_by_key(|x| (x.arrived_at, x.hops, x.end));
    found
}

fn path(pass: &Pass, span: u32) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut to = pass.spans.get(span as usize);
    while let Some((span, (parent, at))) = to.and_then(|span| Some((span, span.parent?))) {
        to = pass.spans.get(parent as usize);
        if let Some(from) = to {
            steps.push(Step { at, from: from.end, to: span.end });
        }
    }
    steps.reverse();
    steps
}
