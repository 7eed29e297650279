//! How an end is cleaned: steps and cautions as the data says them.

use crate::{AppError, Workshop, look::origin, workshop::Tags};
use matewell_lab::{Moment, end_record};
use matewell_wire::{CleanGuideJson, EndNameJson, LookCautionJson, moment_text};

impl Workshop {
    /// The steps and cautions of a cleaning of an end. A caution about what is
    /// behind an end, such as static discharge, is left out where its
    /// registration does not name it.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous labels; a store that cannot be read.
    pub fn clean_guide(&self, tag: &str, at: Moment) -> Result<CleanGuideJson, AppError> {
        let end = self.one_end(tag)?.end;
        let record = end_record(end, &self.store.facts_of_end(end)?, at)
            .ok_or_else(|| AppError::UnknownTag { what: "an end", found: tag.trim().to_owned() })?;
        let procedure = self.sheets.procedure("cleaning");
        let applies = |code: &str| match code {
            "static" => record.end.static_sensitive,
            "bias" => record.end.biased,
            _ => true,
        };
        Ok(CleanGuideJson {
            end: EndNameJson::new(end, &Tags(&self.store)),
            interface: record.end.interface.clone(),
            sex: record.end.sex.word().to_owned(),
            cautions: self
                .sheets
                .cautions_during("cleaning")
                .into_iter()
                .filter(|caution| applies(&caution.code))
                .map(|caution| LookCautionJson { code: caution.code.clone(), text: caution.text.clone() })
                .collect(),
            order: self.sheets.procedure("order-of-work").map_or_else(Vec::new, |p| p.steps.clone()),
            steps: procedure.map_or_else(Vec::new, |p| p.steps.clone()),
            because: procedure.map_or_else(String::new, |p| p.because.clone()),
            origin: procedure.map(|p| origin(&p.source, &p.locator, p.evidence)),
            cleaned_at: record.last_cleaned.map(moment_text),
        })
    }
}
