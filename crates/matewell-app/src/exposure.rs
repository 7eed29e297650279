//! Which ends are exposed to something found bad.

use crate::{AppError, Workshop};
use matewell_lab::{EndRecord, Moment};
use matewell_verdict::Exposure;

impl Workshop {
    pub(crate) fn exposures_of(&self, _record: &EndRecord, _at: Moment) -> Result<Vec<Exposure>, AppError> {
        Ok(Vec::new())
    }
}
