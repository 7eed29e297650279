//! Opening a case, and taking more into it.

use super::{
    load::LoadedCase,
    reach::{Reach, Reached},
    words,
};
use crate::{AppError, Said, Workshop};
use matewell_lab::{
    CaseChanged, CaseEnd, CaseOpened, CaseReach, EndId, EndState, Fact, FactBody, FactId, Held, Moment,
    Subject, end_record,
};
use matewell_wire::CaseWrittenJson;
use std::collections::BTreeSet;

/// Which ends to hold.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum CaseHolds {
    /// The ends found bad and every end that is exposed now. An end that is in
    /// doubt by a tool alone is not held unless it is named.
    #[default]
    ExposedNow,
    /// These only, by tag.
    Only(Vec<String>),
    /// None.
    None,
}

/// A case to be opened.
#[derive(Debug, Clone, Default)]
pub struct CaseOrder {
    /// Tags of the ends found bad, and of gauges and wrenches that were off.
    pub tags: Vec<String>,
    /// Last known good; from the history of each end when left out.
    pub since: Option<Moment>,
    /// First evidence; from the history of each end when left out.
    pub until: Option<Moment>,
    /// `deformation`, `particles`, `residue` or `unknown`; by the evidence
    /// when left out.
    pub taint: Option<String>,
    /// What to call it; the first label and the day when left out.
    pub name: Option<String>,
    /// Why.
    pub because: String,
    /// Which ends to hold.
    pub holds: CaseHolds,
}

/// Longest name of a case.
const LONGEST_NAME: usize = 100;

impl Workshop {
    /// Opens a case: traces from the ends found bad, takes in what they
    /// reached and the results made through it, and holds the ends chosen.
    ///
    /// # Errors
    ///
    /// Unknown tags, no reason, a name that is taken, a window that ends
    /// before it begins; an end to hold that the case does not reach.
    pub fn open_case(
        &mut self,
        order: &CaseOrder,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", &order.because)?;
            let reach = shop.reach_of_order(order, at)?;
            let name = shop.case_name(order, at)?;
            let sources: BTreeSet<EndId> = reach.sources.iter().map(|s| s.end).collect();
            let hold: Vec<EndId> = match &order.holds {
                CaseHolds::None => Vec::new(),
                CaseHolds::ExposedNow => {
                    let exposed = reach.reached.iter().filter(|r| r.exposed_now && r.hops > 0);
                    let exposed = exposed.filter_map(Reached::end);
                    sources.iter().copied().chain(exposed).collect()
                }
                CaseHolds::Only(tags) => {
                    let mut chosen = Vec::new();
                    for tag in tags {
                        let end = shop.one_end(tag)?.end;
                        if !sources.contains(&end) && !reach.reached.iter().any(|r| r.end() == Some(end)) {
                            return Err(AppError::Field {
                                field: "hold",
                                message: format!("expected ends that the case reaches, found {}", tag.trim()),
                            });
                        }
                        chosen.push(end);
                    }
                    chosen
                }
            };
            let in_doubt = by_tool(&reach.reached);
            let why = |end| {
                if sources.contains(&end) {
                    format!("found bad, case {name}")
                } else if in_doubt.contains(&end) {
                    format!("in doubt by a tool that was off, not yet verified, case {name}")
                } else {
                    exposed(&name)
                }
            };
            let (mut facts, holds) = shop.holds_of_case(&hold, why, said, at, now)?;
            let opened = CaseOpened {
                name,
                because,
                sources: reach.sources.clone(),
                tools: reach.tools.clone(),
                taint: reach.taint,
                reached: reach.reached.iter().map(Reached::taken_in).collect(),
                results: reach.results.iter().map(|r| r.result).collect(),
                holds,
            };
            facts.push(shop.fact(said, now, FactBody::CaseOpened(Box::new(opened))));
            Ok(facts)
        })
    }

    /// Takes into a case what its trace now also reaches, or some of it.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a tag that the trace does not reach or the
    /// case knows already; nothing to take in; no reason.
    pub fn add_to_case(
        &mut self,
        case: &str,
        tags: &[String],
        hold: bool,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let reach = shop.reach_of_case(&loaded, at)?;
            let new: Vec<&Reached> = news(&loaded, &reach);
            let chosen: Vec<&Reached> = if tags.is_empty() {
                new
            } else {
                let mut chosen = Vec::new();
                for tag in tags {
                    let on = shop.end_or_gauge(tag)?;
                    let found = reach.reached.iter().find(|r| r.on == on).ok_or_else(|| AppError::Field {
                        field: "ends",
                        message: format!(
                            "expected ends and gauges that the trace of the case reaches, found {}",
                            tag.trim()
                        ),
                    })?;
                    if !new.iter().any(|r| r.on == on) {
                        let name = &loaded.record.opened.name;
                        return Err(AppError::Conflict(format!(
                            "{} is part of the case {name} already",
                            tag.trim()
                        )));
                    }
                    chosen.push(found);
                }
                chosen
            };
            let results: Vec<FactId> = new_results(&loaded, &reach)
                .into_iter()
                .filter(|r| {
                    tags.is_empty()
                        || r.through.iter().any(|on| chosen.iter().any(|c| c.on == *on))
                        || r.through.iter().any(|on| is_in(&loaded, *on))
                })
                .map(|r| r.result)
                .collect();
            if chosen.is_empty() && results.is_empty() {
                return Err(AppError::Conflict(format!(
                    "the trace of the case {} reaches nothing that it has not taken in",
                    loaded.record.opened.name
                )));
            }
            let ends: Vec<EndId> = chosen
                .iter()
                .filter(|r| hold && r.exposed_now && r.hops > 0)
                .filter_map(|r| r.end())
                .collect();
            let name = loaded.record.opened.name.clone();
            let (mut facts, holds) = shop.holds_of_case(&ends, |_| exposed(&name), said, at, now)?;
            let changed = CaseChanged {
                case: loaded.record.case,
                reached: chosen.iter().map(|r| r.taken_in()).collect(),
                results,
                set_aside: Vec::new(),
                holds,
                because,
            };
            facts.push(shop.fact(said, now, FactBody::CaseChanged(Box::new(changed))));
            Ok(facts)
        })
    }

    /// Sets ends or gauges aside: they are no longer the business of a case.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a tag that is not part of it; an end that
    /// it holds; no reason.
    pub fn set_aside(
        &mut self,
        case: &str,
        tags: &[String],
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let name = &loaded.record.opened.name;
            if tags.is_empty() {
                return Err(AppError::Field {
                    field: "ends",
                    message: "expected the tag of at least one end or gauge, found none".to_owned(),
                });
            }
            let mut set_aside = Vec::new();
            for tag in tags {
                let on = shop.end_or_gauge(tag)?;
                match loaded.record.end(on) {
                    Some(end) if end.state == EndState::SetAside => {
                        return Err(AppError::Conflict(format!("{} is set aside already", tag.trim())));
                    }
                    Some(end) if end.source.is_some() => {
                        return Err(AppError::Conflict(format!(
                            "{} was found bad and is what the case {name} is about: decide about it",
                            tag.trim()
                        )));
                    }
                    Some(end) if end.hold.is_some() => {
                        return Err(AppError::Conflict(format!(
                            "{} is held by the case {name}: verify and release it, then set it aside",
                            tag.trim()
                        )));
                    }
                    Some(_) => set_aside.push(on),
                    None => return Err(not_part(tag, &loaded)),
                }
            }
            set_aside.sort_unstable();
            set_aside.dedup();
            let changed = CaseChanged {
                case: loaded.record.case,
                reached: Vec::new(),
                results: Vec::new(),
                set_aside,
                holds: Vec::new(),
                because,
            };
            Ok(vec![shop.fact(said, now, FactBody::CaseChanged(Box::new(changed)))])
        })
    }

    /// Facts that hold ends for a case, and the ids of the holds it takes
    /// over or sets.
    fn holds_of_case(
        &mut self,
        ends: &[EndId],
        because: impl Fn(EndId) -> String,
        said: &Said,
        at: Moment,
        now: Moment,
    ) -> Result<(Vec<Fact>, Vec<FactId>), AppError> {
        let mut facts = Vec::new();
        let mut holds = Vec::new();
        let wanted: BTreeSet<EndId> = ends.iter().copied().collect();
        for end in wanted {
            let Some(record) = end_record(end, &self.store.facts_of_end(end)?, at) else { continue };
            if record.retired.is_some() {
                continue;
            }
            if !record.open_holds.is_empty() {
                holds.extend(record.open_holds.iter().map(|h| h.fact));
                continue;
            }
            let fact = self.fact(said, now, FactBody::Held(Held { end, because: because(end) }));
            holds.push(fact.id);
            facts.push(fact);
        }
        Ok((facts, holds))
    }

    fn case_name(&self, order: &CaseOrder, at: Moment) -> Result<String, AppError> {
        let taken = |name: &str| -> Result<bool, AppError> {
            let folded = name.to_lowercase();
            Ok(self
                .store
                .case_openings()?
                .iter()
                .any(|f| matches!(&f.body, FactBody::CaseOpened(c) if c.name.to_lowercase() == folded)))
        };
        if let Some(name) = order.name.as_deref().map(str::trim).filter(|n| !n.is_empty()) {
            if name.chars().count() > LONGEST_NAME || name.chars().any(char::is_control) {
                return Err(AppError::Field {
                    field: "name",
                    message: format!("expected at most {LONGEST_NAME} characters on one line"),
                });
            }
            if name.parse::<FactId>().is_ok() || taken(name)? {
                return Err(AppError::Conflict(format!("the name \"{name}\" is taken; give another")));
            }
            return Ok(name.to_owned());
        }
        let tag = match order.tags.first() {
            Some(tag) => self.label(self.end_or_gauge(tag)?),
            None => "case".to_owned(),
        };
        let day = matewell_wire::moment_text(at);
        let first = format!("{tag} {}", day.split('T').next().unwrap_or_default());
        let mut name = first.clone();
        let mut number = 2;
        while taken(&name)? {
            name = format!("{first} {number}");
            number += 1;
        }
        Ok(name)
    }
}

fn exposed(name: &str) -> String {
    format!("exposed, not yet verified, case {name}; exposed is not damaged")
}

/// Ends that only a tool put in doubt.
fn by_tool(reached: &[Reached]) -> BTreeSet<EndId> {
    reached.iter().filter(|r| r.hops == 0).filter_map(Reached::end).collect()
}

pub(crate) fn not_part(tag: &str, loaded: &LoadedCase) -> AppError {
    AppError::Conflict(format!(
        "{} is not part of the case {}; take it in first",
        tag.trim(),
        loaded.record.opened.name
    ))
}

fn is_in(loaded: &LoadedCase, on: Subject) -> bool {
    loaded.record.end(on).is_some()
}

/// What a trace reaches and the case does not know: new, at another time than
/// the case took in, or exposed again since it was cleared.
pub(crate) fn news<'r>(loaded: &LoadedCase, reach: &'r Reach) -> Vec<&'r Reached> {
    let is_new = |reached: &&Reached| {
        loaded.record.end(reached.on).is_none_or(|end| {
            end.source.is_none() && (otherwise(end.reach.as_ref(), reached) || exposed_again(end, reached))
        })
    };
    reach.reached.iter().filter(is_new).collect()
}

/// Whether an exposure is another than the case took in: it arrived at another
/// time. More certainty or fewer contacts alone ask for no new look.
pub(crate) fn otherwise(known: Option<&CaseReach>, now: &Reached) -> bool {
    known.is_none_or(|known| known.arrived_at != now.arrived_at)
}

/// Whether an end was exposed anew after it was cleared.
pub(crate) fn exposed_again(end: &CaseEnd, now: &Reached) -> bool {
    let cleared = end.decided.as_ref().filter(|_| end.state == EndState::Cleared);
    now.exposed_now && cleared.is_some_and(|decided| decided.at < now.exposed_since)
}

/// Results in doubt that the case has not taken in.
pub(crate) fn new_results<'r>(loaded: &LoadedCase, reach: &'r Reach) -> Vec<&'r super::reach::DoubtedResult> {
    reach
        .results
        .iter()
        .filter(|r| !loaded.record.results.iter().any(|known| known.result == r.result))
        .collect()
}
