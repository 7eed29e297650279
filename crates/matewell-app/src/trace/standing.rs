//! Which ends does a finding on another end leave exposed now?
//!
//! Every mate check asks this for both ends, so the answer is kept and set
//! right fact by fact: a mate between two ends that nothing bad reached
//! changes nothing, whenever it happened, and neither does one after all that
//! befell two ends reached alike. Only damage seen and pins that
//! protrude count; a hold alone is a precaution, and dirt is found where it is.

use super::{
    Bad, Bound,
    gauges::{EVER, Gauges},
    what_if::is_open,
    window::{Window, windows},
};
use crate::{AppError, Workshop};
use matewell_contact::{DAY, EndIndex, TaintKind};
use matewell_lab::{EndId, Fact, FactBody, Moment, Resolution, ToolCheck, standing_facts};
use matewell_store::TouchedBy;
use matewell_verdict::Exposure;
use matewell_wire::Names;
use std::collections::{BTreeSet, HashMap};

/// More new facts than this are not gone through one by one: a picture made
/// afresh costs a trace for each finding, and a quick writer would have made
/// the next one necessary before it is there.
const MOST_NEW: u64 = 20_000;
/// New facts read at once.
const PAGE: u64 = 1000;
/// Findings on other ends told of one end: the nearest.
const MOST_TOLD: usize = 3;

/// How an end or gauge was reached.
#[derive(Debug, Clone, Copy)]
struct How {
    /// Since when without a break; none: cleared.
    open_since: Option<Moment>,
    hops: u32,
    /// Fewest hops since then.
    hops_now: Option<u32>,
    /// The last touch or care that the trace read: after it, it is reached as
    /// it is now.
    last: Moment,
}

/// What one finding reached.
#[derive(Debug)]
pub(super) struct Reach {
    bad: Bad,
    tag: String,
    reached: HashMap<TouchedBy, How>,
    /// Numbers of days without order.
    unordered: BTreeSet<i64>,
}

impl Reach {
    /// Whether a mate at a moment changes who was reached, and how. It does
    /// not between two ends that are as near to the finding as each other, or
    /// a step apart: what [`matewell_contact::forward`] finds is the same.
    fn changes(&self, ends: [EndId; 2], at: Moment) -> bool {
        let ends = ends.map(TouchedBy::End);
        let mut hops = [u32::MAX; 2];
        let is_unordered = || self.unordered.contains(&at.microseconds().div_euclid(DAY));
        for (end, hops) in ends.iter().zip(&mut hops) {
            let Some(how) = self.reached.get(end) else { continue };
            if how.last >= at || is_unordered() {
                return true;
            }
            *hops = how.hops_now.unwrap_or(u32::MAX);
        }
        hops[0].abs_diff(hops[1]) > 1
    }
}

/// All findings of a lab up to a moment.
#[derive(Debug)]
pub(super) struct Picture {
    head: u64,
    /// Nothing on record happened after this.
    latest: Moment,
    pub(super) reaches: Vec<Reach>,
}

/// What was asked lately.
#[derive(Debug, Default)]
pub(crate) struct Exposures {
    now: Option<Picture>,
    past: Option<(Moment, Picture)>,
}

enum New {
    Nothing,
    Mate([EndId; 2], Moment),
    Carriers(Vec<TouchedBy>),
    Everything,
}

impl Workshop {
    /// Findings on other ends that leave this one exposed at a moment, the
    /// nearest first.
    pub(crate) fn exposures_of(&self, end: EndId, at: Moment) -> Result<Vec<Exposure>, AppError> {
        let mut kept = self.exposures.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let head = self.store.last_number()?;
        let is_known = kept.now.as_ref().is_some_and(|now| now.head == head);
        if !is_known {
            let now = kept.now.take();
            kept.now = Some(self.brought_up(now, head)?);
        }
        match &kept.now {
            Some(now) if at >= now.latest => return Ok(told(&now.reaches, end)),
            _ => {}
        }
        let is_known = kept.past.as_ref().is_some_and(|(moment, past)| *moment == at && past.head == head);
        if !is_known {
            kept.past = Some((at, self.picture(head, at)?));
        }
        Ok(kept.past.as_ref().map(|(_, past)| told(&past.reaches, end)).unwrap_or_default())
    }

    pub(super) fn picture(&self, head: u64, at: Moment) -> Result<Picture, AppError> {
        let latest = self.store.latest_happened()?;
        let mut reaches = Vec::new();
        let now = at.min(latest.unwrap_or(at));
        let from = now.plus_days(-self.sheets.policy().exposure_days.value);
        for end in self.store.ends_with_harm(from, at)? {
            for window in self.findings_on(end, at)? {
                if window.evidence.at >= from {
                    reaches.push(self.reach(Bad { end, window }, at)?);
                }
            }
        }
        Ok(Picture { head, latest: latest.unwrap_or(EVER.0), reaches })
    }

    fn findings_on(&self, end: EndId, at: Moment) -> Result<Vec<Window>, AppError> {
        let facts = standing_facts(&self.store.facts_of_end(end)?, at);
        let (found, _) = windows(end, &facts, &mut Gauges::new(self, at))?;
        Ok(found.into_iter().filter(|w| w.kind == TaintKind::Deformation && !w.is_lifted).collect())
    }

    fn reach(&self, bad: Bad, at: Moment) -> Result<Reach, AppError> {
        let policy = self.sheets.policy();
        let bound =
            Bound { rounds: policy.exposure_rounds.count(), carriers: policy.exposure_ends.count() as usize };
        let traced = self.trace_from(vec![bad], TaintKind::Deformation, at, Some(bound))?;
        let mut last: HashMap<EndIndex, i64> = HashMap::with_capacity(traced.exposed.len());
        for event in traced.part.history.events() {
            for end in event.ends() {
                last.insert(end, event.at);
            }
        }
        let mut reached = HashMap::with_capacity(traced.exposed.len());
        for exposure in &traced.exposed {
            if let Some(of) = traced.name(exposure) {
                let open = exposure.intervals.last().filter(|_| is_open(exposure));
                let open_since = open.map(|interval| Moment::from_microseconds(interval.since));
                let last = last.get(&exposure.end).copied().unwrap_or(i64::MIN);
                let last = Moment::from_microseconds(last);
                let (hops, hops_now) = (exposure.hops, exposure.hops_now);
                reached.insert(of, How { open_since, hops, hops_now, last });
            }
        }
        let unordered = traced.part.history.unordered_days().iter().copied().collect();
        Ok(Reach { bad, tag: self.tags().end_tag(bad.end), reached, unordered })
    }

    /// The picture after what is new, from the picture before it.
    fn brought_up(&self, before: Option<Picture>, head: u64) -> Result<Picture, AppError> {
        let Some(mut before) = before.filter(|p| p.head < head && head - p.head <= MOST_NEW) else {
            return self.picture(head, EVER.1);
        };
        let mut dirty = vec![false; before.reaches.len()];
        let mut seen = before.head;
        while seen < head {
            let page = self.store.all_facts(seen, PAGE)?;
            let Some(last) = page.last() else { break };
            seen = last.seq;
            for numbered in page {
                before.latest = before.latest.max(numbered.fact.happened_at);
                match self.changed_by(&numbered.fact)? {
                    New::Nothing => {}
                    New::Mate(ends, at) => {
                        for (reach, dirty) in before.reaches.iter().zip(&mut dirty) {
                            *dirty = *dirty || reach.changes(ends, at);
                        }
                    }
                    New::Carriers(carriers) => {
                        for (reach, dirty) in before.reaches.iter().zip(&mut dirty) {
                            *dirty |= carriers.iter().any(|of| reach.reached.contains_key(of));
                        }
                    }
                    New::Everything => return self.picture(head, EVER.1),
                }
            }
        }
        for (reach, dirty) in before.reaches.iter_mut().zip(dirty) {
            if dirty {
                *reach = self.reach(reach.bad, EVER.1)?;
            }
        }
        before.head = head.max(seen);
        Ok(before)
    }

    /// What a new fact may change. A care changes the window of an end with
    /// findings, lifted ones too, and else only how long it was exposed.
    fn changed_by(&self, fact: &Fact) -> Result<New, AppError> {
        // A day without order is one for everybody.
        if fact.resolution == Resolution::Day {
            return Ok(New::Everything);
        }
        let care = |end: EndId, gauge: Option<TouchedBy>| -> Result<New, AppError> {
            Ok(if self.store.has_harm(end)? {
                New::Everything
            } else {
                New::Carriers([TouchedBy::End(end)].into_iter().chain(gauge).collect())
            })
        };
        Ok(match &fact.body {
            FactBody::Mated(m) => New::Mate([m.a, m.b], fact.happened_at),
            FactBody::Gauged(g) => care(g.end, g.gauge.map(TouchedBy::Gauge))?,
            FactBody::Inspected(i) => care(i.end, None)?,
            FactBody::Cleaned { end, .. } => care(*end, None)?,
            FactBody::Replaced(r) => care(r.end, None)?,
            FactBody::Released(r) => care(r.end, None)?,
            // Torque says nothing of a pin.
            FactBody::ToolChecked(checked) if matches!(checked.check, ToolCheck::Wrench(_)) => New::Nothing,
            FactBody::ToolChecked(_) | FactBody::Corrected(_) => New::Everything,
            _ => New::Nothing,
        })
    }
}

pub(super) fn told(reaches: &[Reach], end: EndId) -> Vec<Exposure> {
    let mut found: Vec<Exposure> = reaches
        .iter()
        .filter(|reach| reach.bad.end != end)
        .filter_map(|reach| {
            let how = reach.reached.get(&TouchedBy::End(end))?;
            Some(Exposure {
                from: reach.bad.end,
                from_tag: reach.tag.clone(),
                arrived_at: how.open_since?,
                hops: how.hops,
                found_by: reach.bad.window.evidence.fact?,
            })
        })
        .collect();
    found.sort_by_key(|x| (x.hops, std::cmp::Reverse(x.arrived_at), x.from));
    found.truncate(MOST_TOLD);
    found
}
