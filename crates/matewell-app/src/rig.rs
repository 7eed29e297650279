//! What posting a list of mates would do, without writing anything.

use crate::{AppError, LoggedMate, Workshop, error::bad, workshop::Tags};
use matewell_wire::{MateCheckJson, RigCheckJson, RigMateJson, RigReasonJson};

/// Most mates of one check: each is a whole mate check.
const MOST: usize = 1000;

impl Workshop {
    /// Whether a list of mates would be written, and what a mate check says of
    /// each at its time. Mates earlier in the list are not taken into account:
    /// they are not on record.
    ///
    /// # Errors
    ///
    /// An empty or too long list; a store that cannot be read. What is wrong
    /// with one mate is told with it.
    pub fn check_mates(&self, mates: &[LoggedMate], person: &str) -> Result<RigCheckJson, AppError> {
        if mates.is_empty() || mates.len() > MOST {
            return Err(bad("mates", format!("expected 1 to {MOST} mates, found {}", mates.len())));
        }
        let mut list = Vec::with_capacity(mates.len());
        for (mate, number) in mates.iter().zip(1..) {
            let (answer, reasons) = match self.one_of_a_rig(mate, person) {
                Ok(check) => (Some(check.answer.clone()), reasons(&check)),
                Err(error) if error.status() >= 500 => return Err(error),
                Err(error) => (None, vec![problem(&error)]),
            };
            list.push(RigMateJson {
                number,
                a: mate.a.clone(),
                b: mate.b.clone(),
                ready: answer.is_some(),
                answer,
                reasons,
            });
        }
        Ok(RigCheckJson { ready: list.iter().all(|mate| mate.ready), mates: list })
    }

    fn one_of_a_rig(&self, mate: &LoggedMate, person: &str) -> Result<MateCheckJson, AppError> {
        let (a, b) = (self.one_end(&mate.a)?, self.one_end(&mate.b)?);
        if a.end == b.end {
            return Err(bad("mates", format!("expected two ends, found {} twice", mate.a)));
        }
        self.authorised_to_mate([&a, &b], person)?;
        let wrench = mate.wrench.as_deref().map(|tag| self.one_item("a wrench", tag)).transpose()?;
        let check = self.check_ends(a.end, b.end, None, wrench, mate.happened_at)?;
        Ok(MateCheckJson::new(&check, &Tags(self.store())))
    }
}

fn reasons(check: &MateCheckJson) -> Vec<RigReasonJson> {
    let said = check.findings.iter().map(|finding| RigReasonJson {
        code: finding.code.clone(),
        weight: finding.weight.clone(),
        text: finding.text.clone(),
        end: finding.end.as_ref().map(|end| end.tag.clone()),
    });
    said.collect()
}

fn problem(error: &AppError) -> RigReasonJson {
    RigReasonJson {
        code: error.code().to_owned(),
        weight: "problem".to_owned(),
        text: error.to_string(),
        end: None,
    }
}
