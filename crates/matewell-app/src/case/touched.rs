//! Cases that a write concerns, and what cases make due.

use super::{load::EndsRead, open::news};
use crate::{AppError, Workshop, sentence};
use matewell_lab::{EndState, Fact, FactBody, Missing, Moment, Subject, case_record};
use matewell_wire::CaseTouchedJson;
use std::collections::BTreeSet;

/// Labels named in one answer.
const MOST_NAMED: usize = 20;

/// What a case makes due.
pub(crate) struct CaseDue {
    pub(crate) pressure: f64,
    pub(crate) tag: String,
    pub(crate) on: Option<Subject>,
    pub(crate) task: &'static str,
    pub(crate) text: String,
    pub(crate) since: Moment,
}

/// Whether a fact can change what a trace reaches, or what is known of an end.
fn matters(body: &FactBody) -> bool {
    matches!(
        body,
        FactBody::Mated(_)
            | FactBody::Gauged(_)
            | FactBody::Inspected(_)
            | FactBody::Cleaned { .. }
            | FactBody::Replaced(_)
            | FactBody::Released(_)
            | FactBody::ToolChecked(_)
            | FactBody::ResultNoted(_)
            | FactBody::Corrected(_)
    )
}

impl Workshop {
    /// Open cases that these facts concern: an end of theirs is named, or the
    /// trace now reaches one.
    pub(crate) fn cases_touched(&self, facts: &[Fact], at: Moment) -> Result<Vec<CaseTouchedJson>, AppError> {
        let of_a_case = |f: &Fact| f.body.of_case().is_some() || matches!(f.body, FactBody::CaseOpened(_));
        if !facts.iter().any(|f| matters(&f.body)) || facts.iter().any(of_a_case) {
            return Ok(Vec::new());
        }
        let open = self.open_cases(at)?;
        if open.is_empty() {
            return Ok(Vec::new());
        }
        let mut about: BTreeSet<Subject> = BTreeSet::new();
        for fact in facts {
            about.extend(fact.body.subjects());
            if let Some(earlier) = fact.body.earlier_fact()
                && let Some(found) = self.store.fact(earlier)?
            {
                about.extend(found.fact.body.subjects());
            }
        }
        // A trace per open case and write would cost a busy lab too much, so
        // ends that nothing bad reached, and no case knows, ask for none.
        let mut is_exposed = false;
        for on in &about {
            if let Subject::End(end) = on {
                is_exposed = is_exposed || !self.exposures_of(*end, at)?.is_empty();
            }
        }
        let mut touched = Vec::new();
        for loaded in open {
            if !is_exposed && !about.iter().any(|on| loaded.record.end(*on).is_some()) {
                continue;
            }
            let reach = self.reach_of_case(&loaded, at)?;
            let new: Vec<Subject> = news(&loaded, &reach).iter().map(|r| r.on).collect();
            let own: Vec<String> = about
                .iter()
                .filter(|on| loaded.record.end(**on).is_some_and(|e| e.state != EndState::SetAside))
                .map(|on| self.label(*on))
                .collect();
            if own.is_empty() && !about.iter().any(|on| new.contains(on)) {
                continue;
            }
            let name = loaded.record.opened.name.clone();
            let also_reached: Vec<String> = new.iter().take(MOST_NAMED).map(|on| self.label(*on)).collect();
            let mut text = match own.as_slice() {
                [] => format!("This concerns the open case {name}."),
                own => format!("Part of the open case {name}: {}.", own.join(", ")),
            };
            if !new.is_empty() {
                let more = new.len() - also_reached.len();
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                text.push_str(&format!(
                    " It now also reaches {}{more}: take that in, or say why not.",
                    also_reached.join(", ")
                ));
            }
            touched.push(CaseTouchedJson { id: loaded.record.case.to_string(), name, also_reached, text });
        }
        Ok(touched)
    }

    /// What open cases wait for, and waivers that ran out, closed cases
    /// included.
    pub(crate) fn due_of_cases(&self, at: Moment) -> Result<Vec<CaseDue>, AppError> {
        let mut due = Vec::new();
        let mut read = EndsRead::new();
        for opening in self.store.case_openings()? {
            let facts = self.store.facts_of_case(opening.id)?;
            let Some(light) = case_record(opening.id, &facts, at) else { continue };
            let ran_out = light.ends.iter().any(|e| matches!(e.state, EndState::WaiverRanOut { .. }));
            if light.closed.is_some() && !ran_out {
                continue;
            }
            let Some(loaded) = self.load_case_with(opening.id, &mut read, at)? else { continue };
            let record = &loaded.record;
            let name = &record.opened.name;
            for missing in record.missing() {
                if let Missing::WaiverRanOut(on, until) = missing {
                    due.push(CaseDue {
                        pressure: 1200.0,
                        tag: self.label(on),
                        on: Some(on),
                        task: "waiver-ran-out",
                        text: format!("Its waiver in the case {name} ran out on {}.", sentence::when(until)),
                        since: until,
                    });
                }
            }
            let reach = self.reach_if_open(&loaded, at)?;
            if record.closed.is_none() {
                let row = self.case_row(&loaded, reach.as_ref());
                let pressure = if row.also_reached > 0 || row.alarms > 0 { 1150.0 } else { 950.0 };
                due.push(CaseDue {
                    pressure,
                    tag: name.clone(),
                    on: None,
                    task: "case",
                    text: row.text,
                    since: record.opened_at,
                });
            }
        }
        Ok(due)
    }
}
