//! The lab's policy with its sources, and what is the lab's own.

use crate::{AppError, Workshop, workshop::file_name};
use matewell_sheets::Sheets;
use matewell_store::{hash_text, sha256_of};
use matewell_wire::{OwnFileJson, OwnValueJson, PolicyJson, PolicyRowJson};

impl Workshop {
    /// Every value of the policy in force, its default and source, and what
    /// the lab's own file put in its place.
    ///
    /// The lab's own file is how a policy changes. No fact says who wrote it:
    /// its hash names it, and answers carry the revision they were made under.
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
        Ok(PolicyJson { revision: sheets.revision(), own_file: self.own_file(&embedded)?, rows, own })
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
