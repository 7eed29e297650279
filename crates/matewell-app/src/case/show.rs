//! A case as the doors show it.

use super::{
    load::LoadedCase,
    open::{exposed_again, new_results, news},
    reach::{DoubtedResult, Reach, Reached},
};
use crate::{AppError, Workshop, sentence, told};
use matewell_lab::{
    Decided, EndDisposition, EndState, Fact, ItemId, Missing, Moment, ResultDisposition, ResultNoted, Subject,
};
use matewell_wire::{
    CaseChangesJson, CaseDecisionJson, CaseJson, CaseMissingJson, CaseReachedJson, CaseResultJson,
    CaseRowJson, CaseStartJson, CaseToolStartJson, EndNameJson, moment_text,
};

impl Workshop {
    /// A case with its work list, from the facts as they are now.
    pub(crate) fn case_json(&self, loaded: &LoadedCase, at: Moment) -> Result<CaseJson, AppError> {
        let reach = self.reach_if_open(loaded, at)?;
        let reach = reach.as_ref();
        let record = &loaded.record;
        let results = self.results_of_case(loaded, reach, at)?;
        let work = self.work_list(loaded, reach, at)?;
        let missing = self.case_missing(loaded, reach)?;
        Ok(CaseJson {
            at: moment_text(at),
            case: self.case_row(loaded, reach),
            starts: (record.opened.sources.iter())
                .map(|s| CaseStartJson {
                    end: EndNameJson::new(s.end, &self.tags()),
                    last_known_good: moment_text(s.last_known_good),
                    first_evidence: moment_text(s.first_evidence),
                })
                .collect(),
            tools: (record.opened.tools.iter())
                .map(|t| {
                    Ok(CaseToolStartJson {
                        id: t.tool.to_string(),
                        tag: self.label(Subject::Item(t.tool)),
                        kind: self.kind_of_item(t.tool)?,
                        last_known_good: moment_text(t.last_known_good),
                        first_evidence: moment_text(t.first_evidence),
                    })
                })
                .collect::<Result<_, AppError>>()?,
            record: super::audit::record(loaded, &work, &results),
            changes: self.changes(loaded, reach, at)?,
            closed: record.closed.as_ref().map(|closed| decision(closed, "closed", None, None)),
            history: (record.steps.iter())
                .map(|step| told::event(step, sentence::of_case(&step.body, &self.tags()), false))
                .collect(),
            work,
            results,
            missing,
        })
    }

    /// A case as one line.
    pub(crate) fn case_row(&self, loaded: &LoadedCase, reach: Option<&Reach>) -> CaseRowJson {
        let record = &loaded.record;
        let missing = record.missing();
        let count = |counts: fn(&Missing) -> bool| missing.iter().filter(|m| counts(m)).count();
        let results_open = count(|m| matches!(m, Missing::Result(_)));
        let ends = record.ends.iter().filter(|e| e.state != EndState::SetAside).count();
        let ends_open = missing.len() - results_open;
        let also_reached =
            reach.map_or(0, |reach| news(loaded, reach).len() + new_results(loaded, reach).len());
        let state = match (&record.closed, missing.len() + also_reached) {
            (Some(_), _) => "closed",
            (None, 0) => "ready-to-close",
            (None, _) => "open",
        };
        let results = record.results.len();
        let mut text = match state {
            "closed" => {
                let closed = record.closed.as_ref();
                let (at, by) = closed.map_or((record.at, ""), |c| (c.at, c.person.as_str()));
                let left = if missing.is_empty() {
                    String::new()
                } else {
                    format!(" {} of it no longer stands decided.", missing.len())
                };
                format!("Closed on {} by {by}.{left}", sentence::when(at))
            }
            "ready-to-close" => "Everything is decided: it can be closed.".to_owned(),
            _ => format!(
                "{ends_open} of {ends} ends and gauges and {results_open} of {results} results wait for a decision."
            ),
        };
        if also_reached > 0 {
            text.push_str(&format!(" The trace now reaches {also_reached} that it has not taken in."));
        }
        CaseRowJson {
            id: record.case.to_string(),
            name: record.opened.name.clone(),
            state: state.to_owned(),
            opened_at: moment_text(record.opened_at),
            opened_by: record.opened_by.clone(),
            because: record.opened.because.clone(),
            taint: record.opened.taint.word().to_owned(),
            sources: record.opened.sources.iter().map(|s| EndNameJson::new(s.end, &self.tags())).collect(),
            tools: record.opened.tools.iter().map(|t| self.label(Subject::Item(t.tool))).collect(),
            ends,
            ends_open,
            results,
            results_open,
            alarms: count(|m| matches!(m, Missing::MatedWhileHeld(..))),
            waivers_ran_out: count(|m| matches!(m, Missing::WaiverRanOut(..))),
            also_reached,
            text,
        }
    }

    /// Everything that keeps a case from being closed.
    pub(crate) fn case_missing(
        &self,
        loaded: &LoadedCase,
        reach: Option<&Reach>,
    ) -> Result<Vec<CaseMissingJson>, AppError> {
        let at = loaded.record.at;
        let mut missing = Vec::new();
        let mut add = |what: &str, about: String, text: String| {
            missing.push(CaseMissingJson { what: what.to_owned(), about, text });
        };
        for one in loaded.record.missing() {
            match one {
                Missing::End(on) => {
                    let tag = self.label(on);
                    add("end", tag.clone(), format!("{tag}: cleared, damaged or waived until a date?"));
                }
                Missing::MatedWhileHeld(on, mate) => {
                    let (tag, partner) = (self.label(on), self.label(Subject::End(mate.partner)));
                    let when = sentence::when(mate.at);
                    add(
                        "mated-while-held",
                        tag.clone(),
                        format!("{tag} was mated with {partner} on {when} while held: decide anew."),
                    );
                }
                Missing::WaiverRanOut(on, until) => {
                    let tag = self.label(on);
                    let when = sentence::when(until);
                    add("waiver-ran-out", tag.clone(), format!("{tag}: its waiver ran out on {when}."));
                }
                Missing::Result(result) => {
                    let uri =
                        self.result_noted(result, at)?.map_or_else(|| result.to_string(), |(_, n)| n.uri);
                    add("result", uri.clone(), format!("{uri}: no effect, measure again, or notify?"));
                }
            }
        }
        if let Some(reach) = reach {
            for reached in news(loaded, reach) {
                let tag = self.label(reached.on);
                add("also-reached", tag, self.reached_text(loaded, reached));
            }
            for result in new_results(loaded, reach) {
                let noted = self.result_noted(result.result, at)?;
                let uri = noted.map_or_else(|| result.result.to_string(), |(_, n)| n.uri);
                add("also-in-doubt", uri.clone(), format!("{uri} is now in doubt as well: take it in."));
            }
        }
        Ok(missing)
    }

    /// The word for what an item is.
    pub(crate) fn kind_of_item(&self, item: ItemId) -> Result<String, AppError> {
        Ok(self.store.registered(item)?.map_or("tool", |item| item.kind.word()).to_owned())
    }

    /// The id, and `end`, `gauge` or `torque-wrench`.
    pub(crate) fn id_and_what(&self, on: Subject) -> Result<(String, String), AppError> {
        Ok(match on {
            Subject::End(end) => (end.to_string(), "end".to_owned()),
            Subject::Item(item) => (item.to_string(), self.kind_of_item(item)?),
        })
    }

    fn reached_text(&self, loaded: &LoadedCase, reached: &Reached) -> String {
        let (tag, arrived) = (self.label(reached.on), sentence::when(reached.arrived_at));
        match loaded.record.end(reached.on) {
            Some(end) if exposed_again(end, reached) => format!(
                "{tag} was exposed again on {}, after it was cleared: take it in anew.",
                sentence::when(reached.exposed_since)
            ),
            Some(_) => format!("{tag} was reached on {arrived}, not when the case says: take it in anew."),
            None if reached.hops == 0 => {
                format!("{tag} was judged or tightened on {arrived}: {}: take it in.", reached.way)
            }
            None => format!("{tag} was reached on {arrived} by {}: take it in.", reached.way),
        }
    }

    fn changes(
        &self,
        loaded: &LoadedCase,
        reach: Option<&Reach>,
        at: Moment,
    ) -> Result<CaseChangesJson, AppError> {
        let Some(reach) = reach else { return Ok(CaseChangesJson::default()) };
        let mut changes = CaseChangesJson::default();
        for reached in news(loaded, reach) {
            let known = loaded.record.end(reached.on).and_then(|e| e.reach.as_ref());
            let (id, what) = self.id_and_what(reached.on)?;
            let json = CaseReachedJson {
                id,
                tag: self.label(reached.on),
                what,
                arrived_at: Some(moment_text(reached.arrived_at)),
                was: known.map(|k| moment_text(k.arrived_at)),
                hops: Some(reached.hops),
                way: Some(reached.way.clone()),
                text: self.reached_text(loaded, reached),
            };
            if known.is_some() {
                changes.reached_otherwise.push(json);
            } else {
                changes.also_reached.push(json);
            }
        }
        for end in &loaded.record.ends {
            let Some(known) = &end.reach else { continue };
            if end.state == EndState::SetAside || end.source.is_some() || reach.of(end.on).is_some() {
                continue;
            }
            let tag = self.label(end.on);
            let (id, what) = self.id_and_what(end.on)?;
            changes.no_longer_reached.push(CaseReachedJson {
                id,
                what,
                arrived_at: None,
                was: Some(moment_text(known.arrived_at)),
                hops: None,
                way: None,
                text: format!("{tag} is not reached any more: decide about it, or set it aside."),
                tag,
            });
        }
        for result in new_results(loaded, reach) {
            if let Some((fact, noted)) = self.result_noted(result.result, at)? {
                changes.also_in_doubt.push(self.result_json(&fact, &noted, Some(result), None, false));
            }
        }
        Ok(changes)
    }

    fn results_of_case(
        &self,
        loaded: &LoadedCase,
        reach: Option<&Reach>,
        at: Moment,
    ) -> Result<Vec<CaseResultJson>, AppError> {
        let mut found = Vec::new();
        for result in &loaded.record.results {
            let Some((fact, noted)) = self.result_noted(result.result, at)? else { continue };
            let doubted = reach.and_then(|r| r.results.iter().find(|d| d.result == result.result));
            let mut json = self.result_json(&fact, &noted, doubted, result.decided.as_ref(), true);
            if doubted.is_none() {
                let of_case = noted.chain.iter().map(|end| Subject::End(*end));
                json.through =
                    of_case.filter(|on| loaded.record.end(*on).is_some()).map(|on| self.label(on)).collect();
            }
            found.push(((fact.happened_at, fact.id), json));
        }
        found.sort_by_key(|(key, _)| *key);
        Ok(found.into_iter().map(|(_, json)| json).collect())
    }

    fn result_json(
        &self,
        fact: &Fact,
        noted: &ResultNoted,
        doubted: Option<&DoubtedResult>,
        decided: Option<&Decided<ResultDisposition>>,
        taken_in: bool,
    ) -> CaseResultJson {
        CaseResultJson {
            fact: fact.id.to_string(),
            uri: noted.uri.clone(),
            sha256: noted.sha256.clone(),
            device: noted.device.clone(),
            at: moment_text(fact.happened_at),
            person: fact.person.clone(),
            note: fact.note.clone(),
            through: doubted.map_or_else(Vec::new, |d| d.through.iter().map(|on| self.label(*on)).collect()),
            taken_in,
            decision: decided.map(|d| decision(d, d.disposition.word(), None, None)),
        }
    }
}

pub(crate) fn decision_of_end(decided: &Decided<EndDisposition>) -> CaseDecisionJson {
    let (evidence, until) = match decided.disposition {
        EndDisposition::Cleared { evidence } => (Some(evidence.to_string()), None),
        EndDisposition::Waived { until } => (None, Some(moment_text(until))),
        EndDisposition::Damaged => (None, None),
    };
    decision(decided, decided.disposition.word(), evidence, until)
}

fn decision<D>(
    decided: &Decided<D>,
    disposition: &str,
    evidence: Option<String>,
    until: Option<String>,
) -> CaseDecisionJson {
    CaseDecisionJson {
        fact: decided.fact.to_string(),
        disposition: disposition.to_owned(),
        at: moment_text(decided.at),
        person: decided.person.clone(),
        because: decided.because.clone(),
        evidence,
        until,
    }
}
