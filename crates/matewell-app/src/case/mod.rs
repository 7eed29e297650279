//! What follows when an end was found bad: a case.
//!
//! Opening one holds the ends chosen and makes a work list; every end and
//! every result in doubt needs a decision before it closes. Exposed is not
//! damaged, and nobody is blamed.

mod audit;
mod decide;
mod load;
mod open;
mod reach;
mod release;
mod show;
mod tools;
mod touched;
mod verify;
mod work;

pub use decide::EndDecision;
pub use open::{CaseHolds, CaseOrder};

use crate::{AppError, Said, Workshop, WrittenJson};
use load::{EndsRead, LoadedCase};
use matewell_lab::{Fact, FactBody, FactId, Moment, Subject, case_record};
use matewell_store::EndHit;
use matewell_wire::{CaseJson, CaseListJson, CaseWrittenJson};

impl Workshop {
    /// All cases: open ones first, then the latest.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn cases(&self, at: Moment) -> Result<CaseListJson, AppError> {
        let mut rows = Vec::new();
        let mut read = EndsRead::new();
        for opening in self.store.case_openings()? {
            if let Some(loaded) = self.load_case_with(opening.id, &mut read, at)? {
                let reach = self.reach_if_open(&loaded, at)?;
                rows.push(self.case_row(&loaded, reach.as_ref()));
            }
        }
        rows.sort_by(|x, y| {
            let closed = |row: &matewell_wire::CaseRowJson| row.state == "closed";
            (closed(x), &y.opened_at, &x.id).cmp(&(closed(y), &x.opened_at, &y.id))
        });
        Ok(CaseListJson { at: matewell_wire::moment_text(at), cases: rows })
    }

    /// One case, by its id, its name, or the label of an end found bad.
    ///
    /// # Errors
    ///
    /// [`AppError::UnknownTag`]; [`AppError::WhichEnd`] with the names when
    /// the text fits several.
    pub fn case(&self, text: &str, at: Moment) -> Result<CaseJson, AppError> {
        let loaded = self.one_case(text, at)?;
        self.case_json(&loaded, at)
    }

    /// The one case a text means.
    pub(crate) fn one_case(&self, text: &str, at: Moment) -> Result<LoadedCase, AppError> {
        let unknown =
            || AppError::UnknownTag { what: "a case", found: text.trim().chars().take(64).collect() };
        if let Ok(id) = text.trim().parse::<FactId>() {
            return self.load_case(id, at)?.ok_or_else(unknown);
        }
        let folded = text.trim().to_lowercase();
        let mut named = Vec::new();
        let mut by_end = Vec::new();
        for opening in self.store.case_openings()? {
            let facts = self.store.facts_of_case(opening.id)?;
            let Some(record) = case_record(opening.id, &facts, at) else { continue };
            if record.opened.name.to_lowercase() == folded {
                named.push((record.case, record.opened.name));
            } else if record.closed.is_none() {
                let hits = record.opened.sources.iter().map(|s| self.store.end(s.end));
                let hits: Vec<EndHit> = hits.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect();
                let tools =
                    record.opened.tools.iter().map(|t| self.label(Subject::Item(t.tool)).to_lowercase());
                if hits
                    .iter()
                    .any(|h| h.end_tag.to_lowercase() == folded || h.item_tag.to_lowercase() == folded)
                    || tools.into_iter().any(|tag| tag == folded)
                {
                    by_end.push((record.case, record.opened.name));
                }
            }
        }
        let mut fits = if named.is_empty() { by_end } else { named };
        if fits.len() > 1 {
            return Err(AppError::WhichEnd {
                found: text.trim().to_owned(),
                candidates: fits.into_iter().map(|(_, name)| name).collect(),
            });
        }
        let (id, _) = fits.pop().ok_or_else(unknown)?;
        self.load_case(id, at)?.ok_or_else(unknown)
    }

    /// A case that is not closed.
    pub(crate) fn one_open_case(&self, text: &str, at: Moment) -> Result<LoadedCase, AppError> {
        let loaded = self.one_case(text, at)?;
        match &loaded.record.closed {
            None => Ok(loaded),
            Some(closed) => Err(AppError::Conflict(format!(
                "the case {} is closed since {} by {}; take that back to go on with it",
                loaded.record.opened.name,
                crate::sentence::when(closed.at),
                closed.person
            ))),
        }
    }

    /// An end by its tag, or a gauge by its own.
    pub(crate) fn end_or_gauge(&self, tag: &str) -> Result<Subject, AppError> {
        match self.one_end(tag) {
            Ok(hit) => Ok(Subject::End(hit.end)),
            Err(AppError::UnknownTag { .. }) => Ok(Subject::Item(self.one_item("an end or a gauge", tag)?)),
            Err(error) => Err(error),
        }
    }

    /// The answer to a write to a case.
    fn case_written(&self, written: WrittenJson, now: Moment) -> Result<CaseWrittenJson, AppError> {
        let mut case = None;
        for fact in written.facts.iter().rev() {
            let Ok(id) = fact.parse::<FactId>() else { continue };
            if let Some(found) = self.store.fact(id)? {
                case = match &found.fact.body {
                    FactBody::CaseOpened(_) => Some(id),
                    body => body.of_case(),
                };
            }
            if case.is_some() {
                break;
            }
        }
        let unreadable = || AppError::Conflict("the case that was written cannot be found".to_owned());
        let loaded = self.load_case(case.ok_or_else(unreadable)?, now)?.ok_or_else(unreadable)?;
        Ok(CaseWrittenJson { facts: written.facts, ends: written.ends, case: self.case_json(&loaded, now)? })
    }

    /// Writes the facts of one act on a case, or answers the same request the
    /// same again.
    fn write_case(
        &mut self,
        said: &Said,
        now: Moment,
        make: impl FnOnce(&mut Self, Moment) -> Result<Vec<Fact>, AppError>,
    ) -> Result<CaseWrittenJson, AppError> {
        if let Some(written) = self.written_before(said, now)? {
            return self.case_written(written, now);
        }
        let mut facts = make(self, said.happened_at.unwrap_or(now))?;
        // Facts of one act happen at one moment; their order is part of it.
        for (fact, sequence) in facts.iter_mut().zip(0..) {
            fact.sequence = sequence;
        }
        let written = self.write(&facts, said, now, None)?;
        self.case_written(written, now)
    }
}

/// Words that a person must give.
fn words(field: &'static str, text: &str) -> Result<String, AppError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        let message = "expected a reason in words, found nothing".to_owned();
        return Err(AppError::Field { field, message });
    }
    Ok(trimmed.to_owned())
}
