//! What the trace of a case reaches.

use super::{load::LoadedCase, open::CaseOrder};
use crate::{
    AppError, TraceOrder, Workshop,
    trace::{Care, Gauges, Traced, bad_within, care_of, cleared_by, is_open, kind_word, through_exposed},
};
use matewell_contact::{Exposure, TaintKind};
use matewell_lab::{
    CaseReach, CaseSource, CaseTool, EndId, Fact, FactBody, FactId, InspectionOutcome, Moment, Subject, Taint,
};
use matewell_sheets::PolicySheet;
use matewell_store::TouchedBy;
use matewell_verdict::PinDecision;
use matewell_wire::Names;
use std::collections::BTreeSet;

/// An exposed end or gauge, the ends found bad not among them.
#[derive(Debug, Clone)]
pub(crate) struct Reached {
    pub(crate) on: Subject,
    pub(crate) arrived_at: Moment,
    pub(crate) definite_at: Option<Moment>,
    pub(crate) hops: u32,
    /// Labels from an end found bad to here, in order.
    pub(crate) way: String,
    pub(crate) exposed_now: bool,
    /// When the last stretch of its exposure began.
    pub(crate) exposed_since: Moment,
}

impl Reached {
    pub(crate) fn end(&self) -> Option<EndId> {
        match self.on {
            Subject::End(end) => Some(end),
            Subject::Item(_) => None,
        }
    }

    pub(crate) fn taken_in(&self) -> CaseReach {
        CaseReach { on: self.on, arrived_at: self.arrived_at, definite_at: self.definite_at, hops: self.hops }
    }
}

/// A result made through exposed ends.
#[derive(Debug, Clone)]
pub(crate) struct DoubtedResult {
    pub(crate) result: FactId,
    /// The exposed ends it went through.
    pub(crate) through: Vec<Subject>,
}

/// What the trace of a case reaches at a moment.
#[derive(Debug, Clone)]
pub(crate) struct Reach {
    pub(crate) sources: Vec<CaseSource>,
    pub(crate) tools: Vec<CaseTool>,
    pub(crate) taint: Taint,
    /// By arrival, then contacts, then id.
    pub(crate) reached: Vec<Reached>,
    /// Oldest first.
    pub(crate) results: Vec<DoubtedResult>,
}

impl Reach {
    pub(crate) fn of(&self, on: Subject) -> Option<&Reached> {
        self.reached.iter().find(|r| r.on == on)
    }
}

impl Workshop {
    /// The trace of a case that is to be opened.
    pub(crate) fn reach_of_order(&self, order: &CaseOrder, at: Moment) -> Result<Reach, AppError> {
        let (ends, tools) = self.ends_and_tools(order, at)?;
        let trace = TraceOrder {
            tags: ends,
            since: order.since,
            until: order.until,
            kind: order.taint.clone(),
            ..TraceOrder::default()
        };
        let mut reach = if trace.tags.is_empty() && !tools.is_empty() {
            let taint = order.taint.as_deref().map(Taint::from_word).transpose();
            let taint = taint.map_err(crate::error::field("taint"))?.unwrap_or(Taint::Deformation);
            Reach { sources: Vec::new(), tools: Vec::new(), taint, reached: Vec::new(), results: Vec::new() }
        } else {
            self.reach_of_trace(&self.trace_forward(&trace, at)?, at)?
        };
        self.add_tools(&mut reach, tools, at)?;
        Ok(reach)
    }

    /// The trace of a case from the facts as they are now.
    pub(crate) fn reach_of_case(&self, loaded: &LoadedCase, at: Moment) -> Result<Reach, AppError> {
        let opened = &loaded.record.opened;
        let kind = kind_of(opened.taint);
        let bad: Vec<_> = opened
            .sources
            .iter()
            .map(|s| bad_within(s.end, s.last_known_good, s.first_evidence, kind))
            .collect();
        let mut reach = if bad.is_empty() {
            let taint = opened.taint;
            Reach { sources: Vec::new(), tools: Vec::new(), taint, reached: Vec::new(), results: Vec::new() }
        } else {
            self.reach_of_trace(&self.trace_from(bad, kind, at, None)?, at)?
        };
        self.add_tools(&mut reach, opened.tools.clone(), at)?;
        Ok(reach)
    }

    /// A closed case asks for no new trace.
    pub(crate) fn reach_if_open(&self, loaded: &LoadedCase, at: Moment) -> Result<Option<Reach>, AppError> {
        if loaded.record.closed.is_some() {
            return Ok(None);
        }
        self.reach_of_case(loaded, at).map(Some)
    }

    fn reach_of_trace(&self, traced: &Traced, at: Moment) -> Result<Reach, AppError> {
        let sources: Vec<CaseSource> = traced
            .bad
            .iter()
            .map(|b| CaseSource {
                end: b.end,
                last_known_good: b.window.good.at,
                first_evidence: b.window.evidence.at,
            })
            .collect();
        let starts: BTreeSet<Subject> = sources.iter().map(|s| Subject::End(s.end)).collect();
        let reached = traced
            .exposed
            .iter()
            .filter_map(|exposure| Some((subject(traced.name(exposure)?), exposure)))
            .filter(|(on, _)| !starts.contains(on))
            .map(|(on, exposure)| Reached {
                on,
                arrived_at: Moment::from_microseconds(exposure.arrived_at),
                definite_at: exposure.definite_at.map(Moment::from_microseconds),
                hops: exposure.hops,
                way: self.way(traced, exposure),
                exposed_now: is_open(exposure),
                exposed_since: Moment::from_microseconds(
                    exposure.intervals.last().map_or(exposure.arrived_at, |i| i.since),
                ),
            })
            .collect();
        let mut results = Vec::new();
        for result in through_exposed(self, traced, at)? {
            let through = result.through.iter().filter_map(|t| t.end.id.parse().ok().map(Subject::End));
            let through = through.collect();
            if let Ok(result) = result.fact.parse() {
                results.push(DoubtedResult { result, through });
            }
        }
        Ok(Reach { sources, tools: Vec::new(), taint: taint_of(traced.kind), reached, results })
    }

    /// `CB-009A → IN-003P1 → CB-010A`.
    fn way(&self, traced: &Traced, exposure: &Exposure) -> String {
        let first = exposure.via.first().map(|step| step.from);
        first
            .into_iter()
            .chain(exposure.via.iter().map(|step| step.to))
            .filter_map(|end| traced.part.name(end))
            .map(|of| self.label(subject(of)))
            .collect::<Vec<_>>()
            .join(" → ")
    }

    /// What the label of an end or a gauge says.
    pub(crate) fn label(&self, on: Subject) -> String {
        match on {
            Subject::End(end) => self.tags().end_tag(end),
            Subject::Item(item) => self.tags().item_tag(item),
        }
    }
}

fn subject(of: TouchedBy) -> Subject {
    match of {
        TouchedBy::End(end) => Subject::End(end),
        TouchedBy::Gauge(item) => Subject::Item(item),
    }
}

fn kind_of(taint: Taint) -> TaintKind {
    match taint {
        Taint::Deformation => TaintKind::Deformation,
        Taint::Particles => TaintKind::Particles,
        Taint::Residue => TaintKind::Residue,
        Taint::Unknown => TaintKind::Unknown,
    }
}

fn taint_of(kind: TaintKind) -> Taint {
    Taint::from_word(kind_word(kind)).unwrap_or(Taint::Unknown)
}

/// Whether an act clears this kind of taint by the lab's policy.
pub(crate) fn clears(shop: &Workshop, fact: &Fact, taint: Taint, at: Moment) -> Result<bool, AppError> {
    let care = match &fact.body {
        FactBody::Inspected(i)
            if matches!(i.outcome, InspectionOutcome::Good | InspectionOutcome::NormalWear) =>
        {
            Some(Care::LookedGood)
        }
        FactBody::Gauged(gauged) => {
            let decision = Gauges::new(shop, at).decide(fact, gauged)?;
            (decision == PinDecision::ShownSafe).then_some(Care::GaugedSafe)
        }
        FactBody::Cleaned { .. } => Some(Care::Cleaned),
        FactBody::ToolChecked(checked) => care_of(&checked.check),
        _ => None,
    };
    Ok(care.is_some_and(|care| policy_clears(care, shop.sheets.policy(), taint)))
}

/// Whether an act of this sort clears this kind of taint.
pub(crate) fn policy_clears(care: Care, policy: &PolicySheet, taint: Taint) -> bool {
    cleared_by(care, policy).has(kind_of(taint))
}
