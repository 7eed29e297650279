//! A case at a moment, folded from its facts and those of its ends.
//!
//! As with the record of an end, the order in which facts were entered does
//! not matter: only when they happened.

use crate::{
    CaseOpened, CaseReach, CaseSource, CaseTool, EndDisposition, Fact, FactBody, FactId, InspectionOutcome,
    MatedWhileHeld, Moment, ResultDisposition, Subject, standing_facts,
};
use std::collections::{BTreeMap, BTreeSet};

/// A decision with its author.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decided<D> {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// Who: a name or a pseudonym.
    pub person: String,
    /// What.
    pub disposition: D,
    /// Why.
    pub because: String,
}

/// How far an end of a case is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndState {
    /// Nothing was decided that still counts.
    Open,
    /// Verified to be in order.
    Cleared,
    /// Found damaged.
    Damaged,
    /// Left as it is until a date.
    Waived {
        /// Until when.
        until: Moment,
    },
    /// The date has passed.
    WaiverRanOut {
        /// Until when it was left as it is.
        until: Moment,
    },
    /// No longer the business of the case.
    SetAside,
}

impl EndState {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Cleared => "cleared",
            Self::Damaged => "damaged",
            Self::Waived { .. } => "waived",
            Self::WaiverRanOut { .. } => "waiver-ran-out",
            Self::SetAside => "set-aside",
        }
    }
}

/// An end or a gauge of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseEnd {
    /// The end, or the gauge as an item.
    pub on: Subject,
    /// As a source, if it is one.
    pub source: Option<CaseSource>,
    /// As a tool that was off, if it is one.
    pub tool: Option<CaseTool>,
    /// As an exposed end, as last taken in.
    pub reach: Option<CaseReach>,
    /// The hold of the case on it, while it lasts.
    pub hold: Option<(FactId, Moment)>,
    /// Mates while that hold lasted, in time order.
    pub mated_while_held: Vec<MatedWhileHeld>,
    /// The decision that counts, if one does.
    pub decided: Option<Decided<EndDisposition>>,
    /// How far it is.
    pub state: EndState,
}

/// A result of a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseResult {
    /// The fact that noted it.
    pub result: FactId,
    /// The last decision, if any.
    pub decided: Option<Decided<ResultDisposition>>,
}

/// What keeps a case from being closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// An end or gauge without a decision that counts.
    End(Subject),
    /// An end that was mated while held and not decided about since.
    MatedWhileHeld(Subject, MatedWhileHeld),
    /// An end or gauge whose waiver ran out.
    WaiverRanOut(Subject, Moment),
    /// A result without a decision.
    Result(FactId),
}

/// A case at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseRecord {
    /// The fact that opened it.
    pub case: FactId,
    /// The moment described.
    pub at: Moment,
    /// When it was opened.
    pub opened_at: Moment,
    /// Who opened it.
    pub opened_by: String,
    /// As opened.
    pub opened: CaseOpened,
    /// Its ends and gauges, by id.
    pub ends: Vec<CaseEnd>,
    /// Its results, by id; those that were taken back are left out.
    pub results: Vec<CaseResult>,
    /// Closed: by which fact, when, by whom, why.
    pub closed: Option<Decided<()>>,
    /// Its own facts in the order in which they happened.
    pub steps: Vec<Fact>,
}

/// Whether a fact shows that an end is in order: a look that found it good or
/// normally worn, or a gauging without a protruding reading; for a gauge, a
/// check that found it in order.
///
/// Whether the gauging decides at the lab's risk, and whether the act clears
/// what may have passed on, is judged elsewhere.
#[must_use]
pub fn verifies(fact: &Fact, on: Subject) -> bool {
    match &fact.body {
        FactBody::Inspected(i) => {
            Subject::End(i.end) == on
                && matches!(i.outcome, InspectionOutcome::Good | InspectionOutcome::NormalWear)
        }
        FactBody::Gauged(g) => {
            Subject::End(g.end) == on
                && !g.readings.is_empty()
                && g.recessions_um().iter().all(|um| *um >= 0.0)
        }
        FactBody::ToolChecked(t) => Subject::Item(t.tool) == on && t.check.in_order(),
        _ => false,
    }
}

/// Folds the facts of one case. `None` when the fact that opened it is not
/// among those that stand at `at`.
///
/// Give the facts of the case, of its ends and of its results; others do no
/// harm.
#[must_use]
pub fn case_record(case: FactId, facts: &[Fact], at: Moment) -> Option<CaseRecord> {
    let ordered = standing_facts(facts, at);
    let opening = ordered.iter().find(|f| f.id == case)?;
    let FactBody::CaseOpened(opened) = &opening.body else { return None };
    let opened = opened.as_ref().clone();
    let mut ends: BTreeMap<Subject, Ground> = BTreeMap::new();
    let mut holds: BTreeSet<FactId> = opened.holds.iter().copied().collect();
    for source in &opened.sources {
        ends.entry(Subject::End(source.end)).or_default().source = Some(source.clone());
    }
    for tool in &opened.tools {
        ends.entry(Subject::Item(tool.tool)).or_default().tool = Some(tool.clone());
    }
    for reach in &opened.reached {
        ends.entry(reach.on).or_default();
    }
    for fact in &ordered {
        if let FactBody::CaseChanged(changed) = &fact.body
            && changed.case == case
        {
            holds.extend(changed.holds.iter().copied());
            for reach in &changed.reached {
                ends.entry(reach.on).or_default();
            }
        }
    }
    let place: BTreeMap<FactId, usize> = ordered.iter().enumerate().map(|(n, f)| (f.id, n)).collect();
    let known: BTreeSet<FactId> = facts.iter().map(|f| f.id).collect();
    let mut results: BTreeMap<FactId, Option<Decided<ResultDisposition>>> = BTreeMap::new();
    let mut closed = None;
    let mut steps = Vec::new();
    for (now, fact) in ordered.iter().enumerate() {
        if fact.id == case || fact.body.of_case() == Some(case) {
            steps.push(fact.clone());
        }
        match &fact.body {
            FactBody::CaseOpened(opened) if fact.id == case => {
                for source in &opened.sources {
                    taken_in(&mut ends, Subject::End(source.end), None, now);
                }
                for tool in &opened.tools {
                    taken_in(&mut ends, Subject::Item(tool.tool), None, now);
                }
                for reach in &opened.reached {
                    taken_in(&mut ends, reach.on, Some(reach), now);
                }
                results.extend(opened.results.iter().map(|r| (*r, None)));
            }
            FactBody::CaseChanged(changed) if changed.case == case => {
                for reach in &changed.reached {
                    taken_in(&mut ends, reach.on, Some(reach), now);
                }
                for result in &changed.results {
                    results.entry(*result).or_insert(None);
                }
                for end in &changed.set_aside {
                    if let Some(ground) = ends.get_mut(end) {
                        ground.set_aside = true;
                    }
                }
            }
            FactBody::EndDisposed(d) if d.case == case => {
                if let Some(ground) = ends.get_mut(&d.on) {
                    ground.decided = Some((now, decided(fact, d.disposition, &d.because)));
                }
            }
            FactBody::ResultDisposed(d) if d.case == case => {
                if let Some(result) = results.get_mut(&d.result) {
                    *result = Some(decided(fact, d.disposition, &d.because));
                }
            }
            FactBody::CaseClosed(c) if c.case == case => closed = Some(decided(fact, (), &c.because)),
            FactBody::Held(h) if holds.contains(&fact.id) => {
                if let Some(ground) = ends.get_mut(&Subject::End(h.end)) {
                    ground.hold = Some((now, fact.id, fact.happened_at));
                    ground.held_since = Some(now);
                }
            }
            FactBody::Released(r) => {
                if let Some(ground) = ends.get_mut(&Subject::End(r.end)) {
                    ground.hold = None;
                }
            }
            FactBody::Mated(m) => {
                for (me, partner) in [(m.a, m.b), (m.b, m.a)] {
                    if let Some(ground) = ends.get_mut(&Subject::End(me)).filter(|g| g.hold.is_some()) {
                        let mate = MatedWhileHeld { fact: fact.id, at: fact.happened_at, partner };
                        ground.mated_while_held.push((now, mate));
                    }
                }
            }
            _ => {}
        }
    }
    let look_up = |id: FactId| place.get(&id).and_then(|n| Some((*n, ordered.get(*n)?)));
    results.retain(|id, _| look_up(*id).is_some() || !known.contains(id));
    Some(CaseRecord {
        case,
        at,
        opened_at: opening.happened_at,
        opened_by: opening.person.clone(),
        opened,
        ends: ends.into_iter().map(|(on, ground)| ground.settle(on, at, look_up)).collect(),
        results: results.into_iter().map(|(result, decided)| CaseResult { result, decided }).collect(),
        closed,
        steps,
    })
}

impl CaseRecord {
    /// What keeps it from being closed; empty when nothing does.
    #[must_use]
    pub fn missing(&self) -> Vec<Missing> {
        let mut missing = Vec::new();
        for end in &self.ends {
            match end.state {
                EndState::Open => missing.push(match end.mated_while_held.last() {
                    Some(mate) => Missing::MatedWhileHeld(end.on, *mate),
                    None => Missing::End(end.on),
                }),
                EndState::WaiverRanOut { until } => missing.push(Missing::WaiverRanOut(end.on, until)),
                EndState::Cleared | EndState::Damaged | EndState::Waived { .. } | EndState::SetAside => {}
            }
        }
        let open = self.results.iter().filter(|r| r.decided.is_none());
        missing.extend(open.map(|r| Missing::Result(r.result)));
        missing
    }

    /// One of its ends or gauges.
    #[must_use]
    pub fn end(&self, on: Subject) -> Option<&CaseEnd> {
        self.ends.iter().find(|e| e.on == on)
    }
}

fn decided<D>(fact: &Fact, disposition: D, because: &str) -> Decided<D> {
    Decided {
        fact: fact.id,
        at: fact.happened_at,
        person: fact.person.clone(),
        disposition,
        because: because.to_owned(),
    }
}

fn taken_in(ends: &mut BTreeMap<Subject, Ground>, on: Subject, reach: Option<&CaseReach>, now: usize) {
    let ground = ends.entry(on).or_default();
    ground.taken_in = now;
    ground.set_aside = false;
    if let Some(reach) = reach {
        ground.reach = Some(reach.clone());
    }
}

/// What is gathered about an end before its state is settled. Numbers are
/// places in the order of the facts.
#[derive(Default)]
struct Ground {
    source: Option<CaseSource>,
    tool: Option<CaseTool>,
    reach: Option<CaseReach>,
    taken_in: usize,
    set_aside: bool,
    hold: Option<(usize, FactId, Moment)>,
    held_since: Option<usize>,
    mated_while_held: Vec<(usize, MatedWhileHeld)>,
    decided: Option<(usize, Decided<EndDisposition>)>,
}

impl Ground {
    fn settle<'f>(
        self,
        on: Subject,
        at: Moment,
        look_up: impl Fn(FactId) -> Option<(usize, &'f Fact)>,
    ) -> CaseEnd {
        let last_alarm = self.mated_while_held.last().map(|(n, _)| *n);
        let decided = self.decided.clone().filter(|(n, decided)| {
            if *n < self.taken_in || last_alarm.is_some_and(|alarm| *n < alarm) {
                return false;
            }
            let EndDisposition::Cleared { evidence } = decided.disposition else { return true };
            let Some((shown, fact)) = look_up(evidence) else { return false };
            let off = self.tool.as_ref().map(|t| t.first_evidence);
            let arrived = self.reach.as_ref().map(|r| r.arrived_at).max(off);
            verifies(fact, on)
                && self.held_since.is_none_or(|hold| hold < shown)
                && last_alarm.is_none_or(|alarm| alarm < shown)
                && arrived.is_none_or(|arrived| arrived <= fact.happened_at)
        });
        let state = match decided.as_ref().map(|(_, d)| d.disposition) {
            _ if self.set_aside => EndState::SetAside,
            None => EndState::Open,
            Some(EndDisposition::Cleared { .. }) => EndState::Cleared,
            Some(EndDisposition::Damaged) => EndState::Damaged,
            Some(EndDisposition::Waived { until }) if until < at => EndState::WaiverRanOut { until },
            Some(EndDisposition::Waived { until }) => EndState::Waived { until },
        };
        CaseEnd {
            on,
            source: self.source,
            tool: self.tool,
            reach: self.reach,
            hold: self.hold.map(|(_, fact, at)| (fact, at)),
            mated_while_held: self.mated_while_held.into_iter().map(|(_, mate)| mate).collect(),
            decided: decided.map(|(_, decided)| decided),
            state,
        }
    }
}

#[cfg(test)]
mod tests;
