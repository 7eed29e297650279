//! Decisions about ends and results, and the close of a case.

use super::{open::not_part, words};
use crate::{AppError, Said, Workshop};
use matewell_lab::{
    CaseClosed, EndDisposed, EndDisposition, EndState, FactBody, FactId, Held, Moment, Released,
    ResultDisposed, ResultDisposition, Subject, end_record,
};
use matewell_wire::CaseWrittenJson;

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
    /// Decides about an end or a gauge of a case. A cleared end that the case
    /// holds is released in the same act.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a tag that is not part of it; no reason; a
    /// clearing without a verification made after the hold; a waiver until a
    /// time that has passed.
    pub fn dispose_end(
        &mut self,
        case: &str,
        tag: &str,
        decision: EndDecision,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let on = shop.end_or_gauge(tag)?;
            let end = loaded
                .record
                .end(on)
                .filter(|e| e.state != EndState::SetAside)
                .ok_or_else(|| not_part(tag, &loaded))?;
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
                            matewell_wire::moment_text(seen.at)
                        )));
                    }
                    let evidence = shop.verification(&loaded, end, tag.trim(), evidence)?;
                    EndDisposition::Cleared { evidence }
                }
                EndDecision::Damaged => EndDisposition::Damaged,
                EndDecision::Waived { until } => {
                    let until =
                        until.unwrap_or_else(|| at.plus_days(shop.sheets.policy().waiver_days.value));
                    if until <= at {
                        return Err(AppError::Field {
                            field: "until",
                            message: format!(
                                "expected a time to come, found {}",
                                matewell_wire::moment_text(until)
                            ),
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
                        let own = |hold: FactId| loaded.holds(hold);
                        let all_own = record.open_holds.iter().all(|h| own(h.fact));
                        let by_others = shop.held_by_another_case(end_id, case, at)?;
                        if !record.open_holds.is_empty() && all_own && !by_others {
                            let released = Released { end: end_id, because, evidence: Some(evidence) };
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
        })
    }

    /// Decides about a result of a case, named by the fact that noted it or
    /// by its URI.
    ///
    /// # Errors
    ///
    /// An unknown or closed case; a result that is not part of it; no reason.
    pub fn dispose_result(
        &mut self,
        case: &str,
        result: &str,
        disposition: ResultDisposition,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<CaseWrittenJson, AppError> {
        self.write_case(said, now, |shop, at| {
            let because = words("because", because)?;
            let loaded = shop.one_open_case(case, at)?;
            let id = result.trim().parse::<FactId>().ok();
            let mut found = None;
            for known in &loaded.record.results {
                let named = shop.result_noted(known.result, at)?.is_some_and(|(_, n)| n.uri == result.trim());
                if id == Some(known.result) || named {
                    found = Some(known.result);
                }
            }
            let result = found.ok_or_else(|| {
                AppError::Conflict(format!(
                    "the result {} is not part of the case {}; take it in first",
                    result.trim(),
                    loaded.record.opened.name
                ))
            })?;
            let disposed = ResultDisposed { case: loaded.record.case, result, disposition, because };
            Ok(vec![shop.fact(said, now, FactBody::ResultDisposed(disposed))])
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

    fn held_by_another_case(
        &self,
        end: matewell_lab::EndId,
        case: FactId,
        at: Moment,
    ) -> Result<bool, AppError> {
        let on = Subject::End(end);
        let others = self.open_cases(at)?.into_iter().filter(|other| other.record.case != case);
        Ok(others.into_iter().any(|other| other.record.end(on).is_some_and(|e| e.hold.is_some())))
    }
}
