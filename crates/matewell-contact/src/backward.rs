//! What could have made an end bad, and what several bad ends have in common.

use std::collections::BTreeMap;

use crate::event::{day_of, day_starts};
use crate::forward::{check, exposures};
use crate::mirror::{mirrored, turn};
use crate::pass::{Pass, Rules, Seed};
use crate::source::Grown;
use crate::{
    BatchError, Batched, ContactError, ContactSource, EndIndex, Event, EventKind, Exposure, History,
    Resolution, Source, Step, TaintKind, TaintSet,
};

/// Being bad at a moment in `after < at <= until` could have led to the bad
/// end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The clear that ends it looking back, or none.
    pub after: Option<i64>,
    /// The touch that leads on.
    pub until: i64,
}

/// An end that could have made another bad. Nothing says that it did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// The end.
    pub end: EndIndex,
    /// Latest moment of a touch that leads to the bad end.
    pub latest_departure: i64,
    /// Fewest touches from it to the bad end.
    pub hops: u32,
    /// One path that leaves at `latest_departure`, the candidate first.
    pub via: Vec<Step>,
    /// When it must have been bad, latest first.
    pub stretches: Vec<Stretch>,
    /// Whether a day without order had a part in this answer.
    pub order_unknown: bool,
}

/// The ends that could have made `bad` bad between its last known good and
/// its first evidence, latest possible departure first, then fewest hops.
///
/// Being known good cuts `bad` off at that moment; what came before reaches
/// it only by way of other ends, and nothing before `not_before` counts.
///
/// # Errors
///
/// [`ContactError::UnknownEnd`] and [`ContactError::WindowBackwards`].
///
/// # Source
///
/// `wu-2014` (latest departure: the pass in reverse time), with undirected
/// contacts that take no time.
pub fn backward(
    history: &History,
    bad: &Source,
    not_before: i64,
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Vec<Candidate>, ContactError> {
    let mut found = linked(history, bad, not_before, kind, transmits)?;
    found.retain(|candidate| candidate.end != bad.end);
    Ok(found)
}

/// [`backward`] over a source, asked level by level.
///
/// # Errors
///
/// [`ContactError::WindowBackwards`], and what the source reports.
///
/// # Source
///
/// `wu-2014` (latest departure).
pub fn backward_batched<S: ContactSource>(
    source: &mut S,
    bad: &Source,
    not_before: i64,
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Batched<Candidate>, BatchError<S::Error>> {
    check(u32::MAX, &[*bad])?;
    let days =
        source.unordered_days(day_of(not_before), day_of(bad.first_evidence)).map_err(BatchError::Source)?;
    let days: Vec<i64> = days.into_iter().rev().map(turn).collect();
    let rules = rules(bad, kind, transmits, &days);
    let last = last_moment(bad, |day| days.contains(&turn(day)));
    let span = (turn(last), turn(not_before).saturating_add(1));
    let mut grown = Grown::new(vec![seed(bad)], true, span);
    let (pass, rounds) = grown.grow(source, &rules).map_err(BatchError::Source)?;
    let mut found = exposures(&pass, &pass);
    grown.rename(&mut found);
    let mut answer: Vec<Candidate> = found.iter().map(candidate).collect();
    answer.retain(|candidate| candidate.end != bad.end);
    Ok(Batched { answer, rounds, events: grown.events.len() })
}

/// One end that several bad ends lead back to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Common {
    /// The end; it may be one of the bad ends itself.
    pub end: EndIndex,
    /// The bad ends it could explain, as given.
    pub explains: Vec<EndIndex>,
    /// Latest moment at which being bad explains all of them at once; none:
    /// it would have had to go bad more than once.
    pub together_until: Option<i64>,
    /// Fewest touches to each, summed.
    pub hops: u32,
    /// Whether a day without order had a part in this answer.
    pub order_unknown: bool,
}

/// The ends that could explain at least two of `bad`: most explained first,
/// then by one onset, then the latest such moment, then fewest hops.
///
/// # Errors
///
/// [`ContactError::UnknownEnd`] and [`ContactError::WindowBackwards`].
///
/// # Source
///
/// `wu-2014` (latest departure, once per bad end).
pub fn common_source(
    history: &History,
    bad: &[Source],
    not_before: i64,
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Vec<Common>, ContactError> {
    let mut all: BTreeMap<EndIndex, (Common, Vec<Stretch>)> = BTreeMap::new();
    for one in bad {
        for found in linked(history, one, not_before, kind, transmits)? {
            let (common, stretches) = all.entry(found.end).or_insert_with(|| {
                let always = Stretch { after: None, until: i64::MAX };
                let (end, explains) = (found.end, Vec::new());
                (Common { end, explains, together_until: None, hops: 0, order_unknown: false }, vec![always])
            });
            common.explains.push(one.end);
            common.hops = common.hops.saturating_add(found.hops);
            common.order_unknown |= found.order_unknown;
            *stretches = both(stretches, &found.stretches);
        }
    }
    let mut ranked: Vec<Common> = all
        .into_values()
        .filter(|(common, _)| common.explains.len() > 1)
        .map(|(mut common, stretches)| {
            common.together_until = stretches.iter().map(|stretch| stretch.until).max();
            common
        })
        .collect();
    ranked.sort_by(|x, y| {
        let rank = |c: &Common| (c.explains.len(), c.together_until);
        rank(y).cmp(&rank(x)).then_with(|| (x.hops, x.end).cmp(&(y.hops, y.end)))
    });
    Ok(ranked)
}

fn both(these: &[Stretch], those: &[Stretch]) -> Vec<Stretch> {
    let mut shared = Vec::new();
    for x in these {
        for y in those {
            // `None` sorts first, as the beginning of time does.
            let (after, until) = (x.after.max(y.after), x.until.min(y.until));
            if after.is_none_or(|after| after < until) {
                shared.push(Stretch { after, until });
            }
        }
    }
    shared
}

fn linked(
    history: &History,
    bad: &Source,
    not_before: i64,
    kind: TaintKind,
    transmits: TaintSet,
) -> Result<Vec<Candidate>, ContactError> {
    check(history.ends(), &[*bad])?;
    let days: Vec<i64> = history.unordered_days().iter().rev().map(|&day| turn(day)).collect();
    let rules = rules(bad, kind, transmits, &days);
    let last = last_moment(bad, |day| history.unordered_days().binary_search(&day).is_ok());
    let first = history.events().partition_point(|event| event.at < not_before);
    let past = history.events().partition_point(|event| event.at <= last);
    let events = history.events().get(first..past).unwrap_or_default();
    let pass = Pass::run(history.ends(), mirrored(events, rules.cut), vec![seed(bad)], &rules);
    Ok(exposures(&pass, &pass).iter().map(candidate).collect())
}

/// The last moment that can matter: within a day without order the evidence
/// may have come last.
fn last_moment(bad: &Source, unordered: impl Fn(i64) -> bool) -> i64 {
    let day = day_of(bad.first_evidence);
    if unordered(day) { day_starts(day + 1).saturating_sub(1) } else { bad.first_evidence }
}

/// A clear at the moment of the evidence came after it, so it cuts nothing.
fn seed(bad: &Source) -> Seed {
    let from = turn(bad.first_evidence);
    Seed { from, end: bad.end, until: from.saturating_add(1) }
}

fn rules<'a>(bad: &Source, kind: TaintKind, transmits: TaintSet, unordered: &'a [i64]) -> Rules<'a> {
    let cut = Event {
        at: turn(bad.last_known_good),
        sequence: 0,
        resolution: Resolution::Instant,
        kind: EventKind::Replace { end: bad.end },
    };
    Rules { kind, transmits, unordered, definite: false, cut: Some(cut) }
}

fn candidate(found: &Exposure) -> Candidate {
    let mut via: Vec<Step> =
        found.via.iter().map(|step| Step { at: turn(step.at), from: step.to, to: step.from }).collect();
    via.reverse();
    let stretches =
        found.intervals.iter().map(|i| Stretch { after: i.until.map(turn), until: turn(i.since) }).collect();
    Candidate {
        end: found.end,
        latest_departure: turn(found.arrived_at),
        hops: found.hops,
        via,
        stretches,
        order_unknown: found.order_unknown,
    }
}
