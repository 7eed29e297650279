//! Decisions about ends and results, and the close of a case.

use super::{load::LoadedCase, open::not_part, words};
use crate::{AppError, Said, Workshop, write::lifted};
use matewell_lab::{
    CaseClosed, EndDisposed, EndDisposition, EndState, Fact, FactBody, FactId, Held, Moment, Released,
    ResultDisposed, ResultDisposition, Subject, end_record,
};
use matewell_wire::CaseWrittenJson;
use std::collections::BTreeSet;

/// What a person decides about an end of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndDecision {
    /// Verified by this fact; the last one that does when left out.
    Cleared {
        /// The verification.
        evidence: Option<FactId>,
    },
    /// It is damaged; it stays held.
    Damaged,
    /// Left as it is until then; for the time of the lab's policy when left
    /// out. Lifts no hold.
    Waived {
        /// Until when.
        until: Option<Moment>,
    },
}

impl Workshop {
    /// Decides about ends and gauges of a case, all or none. A cleared end
    /// that the case holds is released in the same act. Cleared without tags
    /// means every one that has a verification on record and is still open.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a tag that is not part of it; no tag; no
    /// reason; a clearing without a verification made after the hold, or of an
    /// end with an open damage finding; a waiver until a time that has passed.
    pub fn dispose_ends(
        &mut self,
        case: &str,
        tags: &[String],
        decision: EndDecision,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let tags = if tags.is_empty() && decision == (EndDecision::Cleared { evidence: None }) {
                shop.verified_and_open(&loaded, at)?
            } else {
                tags.to_vec()
            };
            if tags.is_empty() {
                return Err(AppError::Field {
                    field: "ends",
                    message: "expected the tag of at least one end or gauge, found none".to_owned(),
                });
            }
            if tags.len() > 1 && matches!(decision, EndDecision::Cleared { evidence: Some(_) }) {
                return Err(AppError::Field {
                    field: "evidence",
                    message: format!("expected one end with a named verification, found {}", tags.len()),
                });
            }
            let mut facts = Vec::new();
            let mut seen = BTreeSet::new();
            for tag in &tags {
                if seen.insert(shop.end_or_gauge(tag)?) {
                    facts.extend(shop.disposed(&loaded, tag, decision, &because, said, (at, now))?);
                }
            }
            Ok(facts)
        })
    }

    /// Labels of what is open, has a verification on record, and no open
    /// damage finding.
    fn verified_and_open(&self, loaded: &LoadedCase, at: Moment) -> Result<Vec<String>, AppError> {
        let reach = self.reach_if_open(loaded, at)?;
        let mut tags = Vec::new();
        for end in &loaded.record.ends {
            let is_open = matches!(end.state, EndState::Open | EndState::WaiverRanOut { .. });
            let is_damaged = match end.on {
                Subject::End(end) => end_record(end, &self.store.facts_of_end(end)?, at)
                    .is_some_and(|record| !record.open_damage.is_empty()),
                Subject::Item(_) => false,
            };
            if is_open && !is_damaged && !self.evidence_for(loaded, end, reach.as_ref())?.is_empty() {
                tags.push(self.label(end.on));
            }
        }
        Ok(tags)
    }

    /// The facts of one decision.
    fn disposed(
        &mut self,
        loaded: &LoadedCase,
        tag: &str,
        decision: EndDecision,
        because: &str,
        said: &Said,
        (at, now): (Moment, Moment),
    ) -> Result<Vec<Fact>, AppError> {
        let shop = self;
        let because = because.to_owned();
        let on = shop.end_or_gauge(tag)?;
        let end = loaded
            .record
            .end(on)
            .filter(|e| e.state != EndState::SetAside)
            .ok_or_else(|| not_part(tag, loaded))?;
        let record = match on {
            Subject::End(end) => end_record(end, &shop.store.facts_of_end(end)?, at),
            Subject::Item(_) => None,
        };
        let mut facts = Vec::new();
        let disposition = match decision {
            EndDecision::Cleared { evidence } => {
                let seen = record.as_ref().and_then(|r| r.open_damage.last());
                if let Some(seen) = seen {
                    return Err(AppError::Conflict(format!(
                        "damage was seen on {} ({}): decide damaged, or release that finding with its own reason first",
                        tag.trim(),
                        crate::sentence::when(seen.at)
                    )));
                }
                let evidence = shop.verification(loaded, end, tag.trim(), evidence)?;
                EndDisposition::Cleared { evidence }
            }
            EndDecision::Damaged => EndDisposition::Damaged,
            EndDecision::Waived { until } => {
                let until = until.unwrap_or_else(|| at.plus_days(shop.sheets.policy().waiver_days.value));
                if until <= at {
                    return Err(AppError::Field {
                        field: "until",
                        message: format!("expected a time to come, found {}", crate::sentence::when(until)),
                    });
                }
                EndDisposition::Waived { until }
            }
        };
        let case = loaded.record.case;
        let disposed = EndDisposed { case, on, disposition, because: because.clone() };
        facts.push(shop.fact(said, now, FactBody::EndDisposed(disposed)));
        if let (Subject::End(end_id), Some(record)) = (on, record) {
            match disposition {
                EndDisposition::Cleared { evidence } => {
                    let all_own = record.open_holds.iter().all(|h| loaded.holds(h.fact));
                    let by_others = shop.held_by_another_case(end_id, case, at)?;
                    if !record.open_holds.is_empty() && all_own && !by_others {
                        let lifts = lifted(&record);
                        let released = Released { end: end_id, because, evidence: Some(evidence), lifts };
                        facts.push(shop.fact(said, now, FactBody::Released(released)));
                    }
                }
                EndDisposition::Damaged => {
                    let is_kept = !record.open_holds.is_empty()
                        || !record.open_damage.is_empty()
                        || record.retired.is_some();
                    if !is_kept {
                        let because = format!("damaged, case {}: {because}", loaded.record.opened.name);
                        facts.push(shop.fact(said, now, FactBody::Held(Held { end: end_id, because })));
                    }
                }
                EndDisposition::Waived { .. } => {}
            }
        }
        Ok(facts)
    }

    /// Decides about results of a case, all or none, each named by the fact
    /// that noted it or by its URI.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a result that is not part of it; no reason.
    pub fn dispose_results(
        &mut self,
        case: &str,
        results: &[String],
        disposition: ResultDisposition,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            if results.is_empty() {
                return Err(AppError::Field {
                    field: "results",
                    message: "expected at least one result, found none".to_owned(),
                });
            }
            let mut known = Vec::new();
            for result in &loaded.record.results {
                let uri = shop.result_noted(result.result, at)?.map(|(_, noted)| noted.uri);
                known.push((result.result, uri));
            }
            let mut chosen = BTreeSet::new();
            for result in results {
                let text = result.trim();
                let id = text.parse::<FactId>().ok();
                let before = chosen.len();
                let fits = known.iter().filter(|(k, uri)| id == Some(*k) || uri.as_deref() == Some(text));
                chosen.extend(fits.map(|(k, _)| *k));
                if chosen.len() == before
                    && !known.iter().any(|(k, uri)| {
                        chosen.contains(k) && (id == Some(*k) || uri.as_deref() == Some(text))
                    })
                {
                    return Err(AppError::Conflict(format!(
                        "the result {text} is not part of the case {}; take it in first",
                        loaded.record.opened.name
                    )));
                }
            }
            let case = loaded.record.case;
            Ok(chosen
                .into_iter()
                .map(|result| {
                    let because = because.clone();
                    let disposed = ResultDisposed { case, result, disposition, because };
                    shop.fact(said, now, FactBody::ResultDisposed(disposed))
                })
                .collect())
        })
    }

    /// Closes a case: work may go on, authorised by who says so.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; no reason; [`AppError::NotYetClosed`] with
    /// everything that is missing.
    pub fn close_case(
        &mut self,
        case: &str,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let reach = shop.reach_of_case(&loaded, at)?;
            let missing = shop.case_missing(&loaded, Some(&reach))?;
            if !missing.is_empty() {
                return Err(AppError::NotYetClosed { name: loaded.record.opened.name.clone(), missing });
            }
            let closed = CaseClosed { case: loaded.record.case, because };
            Ok(vec![shop.fact(said, now, FactBody::CaseClosed(closed))])
        })
    }

    /// Whether another open case holds an end and has not cleared it.
    fn held_by_another_case(
        &self,
        end: matewell_lab::EndId,
        case: FactId,
        at: Moment,
    ) -> Result<bool, AppError> {
        let on = Subject::End(end);
        let others = self.open_cases(at)?.into_iter().filter(|other| other.record.case != case);
        Ok(others.into_iter().any(|other| {
            other.record.end(on).is_some_and(|e| e.hold.is_some() && e.state != EndState::Cleared)
        }))
    }
}
