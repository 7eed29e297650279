//! What is put on paper about an end or a case.

use crate::{AppError, Workshop, workshop::Tags};
use matewell_lab::{FactBody, ItemId, Moment, PinPosition, standing_facts};
use matewell_wire::{
    CaseDossierJson, DossierGaugingJson, DossierResultJson, EndDossierJson, LogHeadJson, Names, PositionJson,
    moment_text,
};
use std::collections::HashMap;

fn positions(found: &[PinPosition]) -> Vec<PositionJson> {
    found.iter().map(|position| PositionJson::recessed_by(position.recession_um())).collect()
}

impl Workshop {
    fn log_head(&self) -> Result<Option<LogHeadJson>, AppError> {
        Ok(self.store.head()?.map(|(number, hash)| LogHeadJson { number, hash }))
    }

    /// Everything about an end, for paper: how it stands and why, its readings
    /// as read, its cases and results, every fact, and the last fact of the
    /// log with its hash.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous labels; a store that cannot be read.
    pub fn end_dossier(&self, tag: &str, at: Moment) -> Result<EndDossierJson, AppError> {
        self.store.in_one_look(|| self.end_dossier_in_one_look(tag, at))
    }

    fn end_dossier_in_one_look(&self, tag: &str, at: Moment) -> Result<EndDossierJson, AppError> {
        let end = self.end(tag, at)?;
        let id = self.one_end(tag)?.end;
        let loaded = self.load(id, at)?;
        let names = Tags(&self.store);
        let points = self.pin_history(tag, at)?.points;
        let people: HashMap<String, &str> =
            loaded.facts.iter().map(|fact| (fact.id.to_string(), fact.person.as_str())).collect();
        let master = |item: Option<ItemId>| item.map(|item| names.item_tag(item));
        let gaugings = points
            .into_iter()
            .zip(&loaded.record.gaugings)
            .map(|(point, gauging)| {
                let session = gauging.gauged.session.as_ref();
                DossierGaugingJson {
                    person: people.get(&point.fact).copied().unwrap_or_default().to_owned(),
                    master: master(session.and_then(|s| s.master)),
                    readings: positions(&gauging.gauged.readings),
                    zero_before: session.map_or_else(Vec::new, |s| positions(&s.zero_before)),
                    zero_after: session.map_or_else(Vec::new, |s| positions(&s.zero_after)),
                    point,
                }
            })
            .collect();
        let mut results: Vec<DossierResultJson> = standing_facts(&loaded.facts, at)
            .iter()
            .filter_map(|fact| match &fact.body {
                FactBody::ResultNoted(noted) if noted.chain.contains(&id) => Some(DossierResultJson {
                    fact: fact.id.to_string(),
                    uri: noted.uri.clone(),
                    sha256: noted.sha256.clone(),
                    device: noted.device.clone(),
                    at: moment_text(fact.happened_at),
                    person: fact.person.clone(),
                    chain: noted.chain.iter().map(|end| names.end_tag(*end)).collect(),
                }),
                _ => None,
            })
            .collect();
        results.sort_by(|x, y| (&y.at, &y.fact).cmp(&(&x.at, &x.fact)));
        Ok(EndDossierJson {
            at: moment_text(at),
            log: self.log_head()?,
            item: self.item(&end.item.tag, at)?.registered,
            gaugings,
            kept: self.end_kept(tag, at)?,
            results,
            sheets: self.sheets.revision(),
            end,
        })
    }

    /// Everything about a case, for paper, with the last fact of the log.
    ///
    /// # Errors
    ///
    /// As [`Self::case`].
    pub fn case_dossier(&self, case: &str, at: Moment) -> Result<CaseDossierJson, AppError> {
        self.store.in_one_look(|| {
            Ok(CaseDossierJson {
                at: moment_text(at),
                log: self.log_head()?,
                case: self.case(case, at)?,
                sheets: self.sheets.revision(),
            })
        })
    }
}
