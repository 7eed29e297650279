//! A case with the facts it rests on.

use crate::{AppError, Workshop};
use matewell_lab::{
    CaseRecord, Fact, FactBody, FactId, Moment, ResultNoted, Subject, case_record, standing_facts,
};
use std::collections::{BTreeMap, BTreeSet, btree_map::Entry};

/// What was read about ends and gauges, in one answer at one moment.
pub(crate) type EndsRead = BTreeMap<Subject, Vec<Fact>>;

/// A case with the facts it rests on.
pub(crate) struct LoadedCase {
    pub(crate) record: CaseRecord,
    /// Facts of each of its ends and gauges that stand, in time order.
    pub(crate) standing: BTreeMap<Subject, Vec<Fact>>,
}

impl Workshop {
    /// `None` when the fact does not open a case, or was taken back.
    pub(crate) fn load_case(&self, case: FactId, at: Moment) -> Result<Option<LoadedCase>, AppError> {
        self.load_case_with(case, &mut EndsRead::new(), at)
    }

    /// As [`Workshop::load_case`], for answers about many cases: what is about
    /// an end that several of them have taken in is read once.
    pub(crate) fn load_case_with(
        &self,
        case: FactId,
        read: &mut EndsRead,
        at: Moment,
    ) -> Result<Option<LoadedCase>, AppError> {
        let mut facts = self.store.facts_of_case(case)?;
        let Some(light) = case_record(case, &facts, at) else { return Ok(None) };
        let mut seen: BTreeSet<FactId> = facts.iter().map(|f| f.id).collect();
        let mut standing = BTreeMap::new();
        for end in &light.ends {
            let about = match read.entry(end.on) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(new) => new.insert(match end.on {
                    // Mates before a hold are no alarm, and no mate verifies.
                    Subject::End(end) => self.store.story_of_end_but_cases(end, at)?.facts,
                    Subject::Item(item) => self.store.facts_of_item(item)?,
                }),
            };
            standing.insert(end.on, standing_facts(about, at));
            facts.extend(about.iter().filter(|f| seen.insert(f.id)).cloned());
        }
        for result in &light.results {
            if !seen.contains(&result.result)
                && let Some(found) = self.store.fact(result.result)?
            {
                facts.push(found.fact);
            }
        }
        let record = case_record(case, &facts, at);
        Ok(record.map(|record| LoadedCase { record, standing }))
    }

    /// Cases that are not closed.
    pub(crate) fn open_cases(&self, at: Moment) -> Result<Vec<LoadedCase>, AppError> {
        let mut open = Vec::new();
        let mut read = EndsRead::new();
        for opening in self.store.case_openings()? {
            let facts = self.store.facts_of_case(opening.id)?;
            let is_open = case_record(opening.id, &facts, at).is_some_and(|r| r.closed.is_none());
            if is_open {
                open.extend(self.load_case_with(opening.id, &mut read, at)?);
            }
        }
        Ok(open)
    }

    /// A result as it stands; `None` when it was taken back.
    pub(crate) fn result_noted(
        &self,
        result: FactId,
        at: Moment,
    ) -> Result<Option<(Fact, ResultNoted)>, AppError> {
        let Some(found) = self.store.fact(result)? else { return Ok(None) };
        let FactBody::ResultNoted(first) = &found.fact.body else { return Ok(None) };
        let about = match first.chain.first() {
            Some(end) => self.store.facts_of_end(*end)?,
            None => vec![found.fact],
        };
        let stands = standing_facts(&about, at).into_iter().find(|f| f.id == result);
        Ok(stands.and_then(|fact| match &fact.body {
            FactBody::ResultNoted(noted) => Some((fact.clone(), noted.clone())),
            _ => None,
        }))
    }
}

impl LoadedCase {
    /// Whether the case set or took over this hold.
    pub(crate) fn holds(&self, hold: FactId) -> bool {
        let later = self.record.steps.iter().any(|step| match &step.body {
            FactBody::CaseChanged(changed) => changed.holds.contains(&hold),
            _ => false,
        });
        later || self.record.opened.holds.contains(&hold)
    }
}
