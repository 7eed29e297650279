//! The lab's policy with its sources, and what is the lab's own.

use crate::{AppError, Said, Workshop, workshop::file_name};
use matewell_lab::{
    Fact, FactBody, FactSource, MachineId, Moment, OwnPolicyValue, PolicyTakenUp, PolicyValue,
};
use matewell_sheets::Sheets;
use matewell_store::{hash_text, sha256_of};
use matewell_wire::{
    OwnFileJson, OwnValueJson, PolicyChangeJson, PolicyJson, PolicyRowJson, PolicyTakenUpOnRecordJson,
    moment_text,
};
use std::collections::BTreeMap;

impl Workshop {
    /// Every value of the policy in force, its default and source, and what
    /// the lab's own file put in its place.
    ///
    /// The lab's own file is how a policy changes. Who wrote it is not known
    /// here; when it was first judged by is a fact, and who did so.
    ///
    /// # Errors
    ///
    /// [`AppError::File`] when the lab's own file cannot be read.
    pub fn policy(&self) -> Result<PolicyJson, AppError> {
        let embedded = Sheets::embedded()?;
        let sheets = &self.sheets;
        let rows = sheets
            .policy()
            .rows()
            .into_iter()
            .map(|(key, unit, now)| {
                let default = embedded.policy().get(key).unwrap_or(now);
                PolicyRowJson {
                    key: key.to_owned(),
                    value: now.value,
                    unit: unit.to_owned(),
                    own: now.because.is_some(),
                    default: default.value,
                    because: now.because.clone(),
                    source: default.source.clone(),
                    source_title: sheets
                        .source(&default.source)
                        .map_or_else(|| default.source.clone(), |work| work.title.clone()),
                    locator: default.locator.clone(),
                    evidence: default.evidence.word().to_owned(),
                    revision: default.revision,
                    note: default.note.clone(),
                }
            })
            .collect();
        let own = sheets
            .overrides()
            .iter()
            .map(|o| OwnValueJson {
                place: o.place.clone(),
                now: o.now.clone(),
                before: o.before.clone(),
                because: o.because.clone(),
            })
            .collect();
        let own_file = self.own_file(&embedded)?;
        Ok(PolicyJson { revision: sheets.revision(), own_file, rows, own, history: self.policy_history()? })
    }

    /// Writes down which policy is in force, if the log does not say so yet.
    ///
    /// # Errors
    ///
    /// A store that cannot be read or written.
    pub fn take_up_policy(&mut self, person: &str, now: Moment) -> Result<(), AppError> {
        if let Some(fact) = self.policy_not_noted(person, now)? {
            self.store.append(&[fact])?;
        }
        self.policy_noted = true;
        Ok(())
    }

    /// The fact that these sheets are in force, unless the log has it.
    pub(crate) fn policy_not_noted(&mut self, person: &str, now: Moment) -> Result<Option<Fact>, AppError> {
        if self.policy_noted {
            return Ok(None);
        }
        if let Some(FactBody::PolicyTakenUp(last)) = self.store.last_policy()?.map(|fact| fact.body)
            && last.revision == self.sheets.revision()
        {
            return Ok(None);
        }
        let values = self.sheets.policy().rows().into_iter().map(|(key, unit, now)| PolicyValue {
            key: key.to_owned(),
            value: if unit == "1" { now.value.to_string() } else { format!("{} {unit}", now.value) },
        });
        let own = self.sheets.overrides().iter().map(|o| OwnPolicyValue {
            place: o.place.clone(),
            now: o.now.clone(),
            because: o.because.clone(),
        });
        let body =
            PolicyTakenUp { revision: self.sheets.revision(), values: values.collect(), own: own.collect() };
        let said = Said { source: FactSource::Program, ..Said::at_the_bench(person) };
        Ok(Some(self.fact(&said, now, FactBody::PolicyTakenUp(Box::new(body)))))
    }

    /// Policies taken up, newest first, each with what it changed from the one
    /// before it on the same machine.
    fn policy_history(&self) -> Result<Vec<PolicyTakenUpOnRecordJson>, AppError> {
        let facts = self.store.policies()?;
        let mut last: BTreeMap<MachineId, &PolicyTakenUp> = BTreeMap::new();
        let mut history = Vec::new();
        for fact in &facts {
            let FactBody::PolicyTakenUp(taken) = &fact.body else { continue };
            let changes = last.insert(fact.machine, taken).map(|before| taken.changes_from(before));
            history.push(PolicyTakenUpOnRecordJson {
                fact: fact.id.to_string(),
                at: moment_text(fact.happened_at),
                person: fact.person.clone(),
                revision: taken.revision.clone(),
                on_this_machine: fact.machine == self.store.machine(),
                first: changes.is_none(),
                changes: changes.unwrap_or_default().into_iter().map(PolicyChangeJson::from).collect(),
            });
        }
        history.reverse();
        Ok(history)
    }

    fn own_file(&self, embedded: &Sheets) -> Result<Option<OwnFileJson>, AppError> {
        let Some(path) = self.own_sheets.as_ref().filter(|path| path.exists()) else { return Ok(None) };
        let failed = |message: String| AppError::File { path: path.display().to_string(), message };
        let bytes = std::fs::read(path).map_err(|e| failed(e.to_string()))?;
        let name = file_name(path);
        // A file that no longer reads is not the one in force.
        let read = std::str::from_utf8(&bytes).ok().and_then(|text| embedded.with_lab_file(text, &name).ok());
        let in_force = read.is_some_and(|read| read.revision() == self.sheets.revision());
        Ok(Some(OwnFileJson { sha256: hash_text(&sha256_of(&bytes)), name, in_force }))
    }
}
