//! Since when may an end have been bad, and by what evidence?

use super::gauges::Gauges;
use crate::AppError;
use matewell_contact::TaintKind;
use matewell_lab::{EndId, Fact, FactBody, FactId, InspectionOutcome, Moment};
use matewell_verdict::PinDecision;
use std::collections::BTreeSet;

/// A moment and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Known {
    pub(crate) at: Moment,
    pub(crate) because: &'static str,
    pub(crate) fact: Option<FactId>,
}

impl Known {
    fn of(fact: &Fact, because: &'static str) -> Self {
        Self { at: fact.happened_at, because, fact: Some(fact.id) }
    }

    /// Asked for by a person.
    pub(crate) fn asked(at: Moment) -> Self {
        Self { at, because: "as-asked", fact: None }
    }

    /// Whether it is evidence and no mere question.
    pub(crate) fn is_evidence(&self) -> bool {
        self.fact.is_some()
    }
}

/// A time in which an end was bad or may have been.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) good: Known,
    pub(crate) evidence: Known,
    pub(crate) kind: TaintKind,
    /// Not yet cleared, released or replaced.
    pub(crate) is_open: bool,
    /// A person released the end afterwards: it was not bad after all, or no
    /// longer.
    pub(crate) is_lifted: bool,
}

/// What is known good at a moment, by what showed it.
#[derive(Clone, Copy)]
struct Good {
    start: Known,
    looked: Option<Known>,
    gauged: Option<Known>,
    cleaned: Option<Known>,
}

impl Good {
    fn latest(&self, shown: &[Option<Known>]) -> Known {
        shown.iter().flatten().fold(self.start, |last, known| if known.at >= last.at { *known } else { last })
    }

    /// What would have shown a pin that protrudes: a gauging, not a look.
    fn by_gauging(&self) -> Known {
        self.latest(&[self.gauged])
    }

    fn by_looking(&self) -> Known {
        self.latest(&[self.looked, self.gauged])
    }

    fn clean(&self) -> Known {
        self.latest(&[self.looked, self.cleaned])
    }
}

/// The windows in the history of an end, oldest evidence first, and what was
/// known good at the end of it. `facts`: those that stand, in order.
///
/// A pin that protrudes was good when it was last gauged safe; damage or a
/// hold, when it was last looked at or gauged; dirt, when it was last looked
/// at or cleaned. A contact made anew and a release begin the history again.
pub(crate) fn windows(
    end: EndId,
    facts: &[Fact],
    gauges: &mut Gauges<'_>,
) -> Result<(Vec<Window>, Known), AppError> {
    let mut found: Vec<Window> = Vec::new();
    let begin = Known { at: Moment::from_microseconds(i64::MIN), because: "registered", fact: None };
    let mut good = Good { start: begin, looked: None, gauged: None, cleaned: None };
    let mut begun = false;
    let add = |found: &mut Vec<Window>, good: Known, fact: &Fact, because, kind| {
        // The first evidence counts while it is open.
        if !found.iter().any(|w| w.is_open && w.kind == kind) {
            let evidence = Known::of(fact, because);
            found.push(Window { good, evidence, kind, is_open: true, is_lifted: false });
        }
    };
    let close = |found: &mut Vec<Window>, lifts: bool, closes: &dyn Fn(&Window) -> bool| {
        for window in found.iter_mut().filter(|w| w.is_open && closes(w)) {
            window.is_open = false;
            window.is_lifted = lifts;
        }
    };
    let precautions = precautions(end, facts);
    for fact in facts {
        match &fact.body {
            FactBody::Registered(registered) if registered.ends.iter().any(|e| e.id == end) && !begun => {
                good.start = Known::of(fact, "registered");
                begun = true;
            }
            FactBody::Replaced(replaced) if replaced.end == end => {
                let start = Known::of(fact, "contact-made-anew");
                good = Good { start, looked: None, gauged: None, cleaned: None };
                close(&mut found, false, &|_| true);
            }
            FactBody::Released(released) if released.end == end => {
                let start = Known::of(fact, "released");
                good = Good { start, looked: None, gauged: None, cleaned: None };
                close(&mut found, true, &|_| true);
            }
            FactBody::Inspected(inspected) if inspected.end == end => match inspected.outcome {
                InspectionOutcome::Good | InspectionOutcome::NormalWear => {
                    good.looked = Some(Known::of(fact, "looked-good"));
                    close(&mut found, false, &|w| w.kind == TaintKind::Particles);
                }
                InspectionOutcome::Dirty => {
                    add(&mut found, good.clean(), fact, "dirty", TaintKind::Particles);
                }
                InspectionOutcome::Damaged => {
                    add(&mut found, good.by_looking(), fact, "damaged", TaintKind::Deformation);
                }
            },
            FactBody::Cleaned { end: cleaned, .. } if *cleaned == end => {
                good.cleaned = Some(Known::of(fact, "cleaned"));
                close(&mut found, false, &|w| w.kind == TaintKind::Particles);
            }
            FactBody::Gauged(gauged) if gauged.end == end => match gauges.decide(fact, gauged)? {
                PinDecision::Out => {
                    add(&mut found, good.by_gauging(), fact, "pin-protrudes", TaintKind::Deformation);
                }
                PinDecision::ShownSafe => {
                    good.gauged = Some(Known::of(fact, "gauged-safe"));
                    close(&mut found, false, &|w| w.evidence.because == "pin-protrudes");
                }
                _ => {}
            },
            FactBody::Held(held) if held.end == end && !precautions.contains(&fact.id) => {
                add(&mut found, good.by_looking(), fact, "held", TaintKind::Unknown);
            }
            _ => {}
        }
    }
    Ok((found, good.by_looking()))
}

/// Holds that a case set on an end because it was exposed: no evidence that
/// it is bad.
fn precautions(end: EndId, facts: &[Fact]) -> BTreeSet<FactId> {
    let mut found = BTreeSet::new();
    for fact in facts {
        let holds = match &fact.body {
            FactBody::CaseOpened(opened) if !opened.sources.iter().any(|s| s.end == end) => &opened.holds,
            FactBody::CaseChanged(changed) => &changed.holds,
            _ => continue,
        };
        // One that a case took over was there before, for a reason of its own.
        let set_with_it =
            |hold: &&FactId| facts.iter().any(|f| f.id == **hold && f.happened_at == fact.happened_at);
        found.extend(holds.iter().filter(set_with_it));
    }
    found
}

/// The window a person most likely means: the last that is open, evidence of
/// damage before a mere hold; else the last there was; else from the last
/// known good up to now, without evidence.
pub(crate) fn likely(windows: &[Window], good: Known, kind: Option<TaintKind>, at: Moment) -> Window {
    let fits = |w: &&Window| kind.is_none_or(|kind| w.kind == kind);
    let rank = |w: &&Window| (w.is_open, w.kind != TaintKind::Unknown, w.evidence.at);
    windows.iter().filter(fits).max_by_key(rank).copied().unwrap_or(Window {
        good: if good.at <= at { good } else { Known::asked(at) },
        evidence: Known { at, because: "nothing-found", fact: None },
        kind: kind.unwrap_or(TaintKind::Unknown),
        is_open: true,
        is_lifted: false,
    })
}
