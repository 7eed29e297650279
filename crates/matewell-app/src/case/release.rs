//! A hold of a case is lifted only after a verification.

use crate::{AppError, Workshop};
use matewell_lab::{EndId, FactId, Moment, Subject};

impl Workshop {
    /// Checks that an end may be released: one that an open case holds needs
    /// a verification made after the hold. Gives the verification.
    ///
    /// # Errors
    ///
    /// [`AppError::Field`] that says what would do, and which case asks.
    pub(crate) fn may_release(
        &self,
        end: EndId,
        tag: &str,
        evidence: Option<FactId>,
        at: Moment,
    ) -> Result<Option<FactId>, AppError> {
        let mut shown = evidence;
        for loaded in self.open_cases(at)? {
            let Some(case_end) = loaded.record.end(Subject::End(end)) else { continue };
            if case_end.hold.is_none() {
                continue;
            }
            let found = self.verification(&loaded, case_end, tag.trim(), evidence);
            shown = Some(found.map_err(|error| match error {
                AppError::Field { field, message } => AppError::Field {
                    field,
                    message: format!("{message}; the case {} holds it", loaded.record.opened.name),
                },
                other => other,
            })?);
        }
        Ok(shown)
    }
}
