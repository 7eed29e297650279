//! Which facts show that an end of a case is in order.
//!
//! A look or a gauging verifies; which kinds of taint it clears is the lab's
//! policy, the same as for a trace.

use super::{
    load::LoadedCase,
    reach::{Reach, clears, policy_clears},
};
use crate::{AppError, Workshop, sentence, trace::Care};
use matewell_lab::{CaseEnd, CaseRecord, Fact, FactBody, FactId, Moment, Subject, Taint, verifies};

/// Since when a verification must have been made, as a place in the facts of
/// the end.
struct Since {
    place: Option<usize>,
    at: Option<Moment>,
}

impl Workshop {
    /// Facts on record that would clear an end of a case, oldest first.
    pub(crate) fn evidence_for<'c>(
        &self,
        loaded: &'c LoadedCase,
        end: &CaseEnd,
        reach: Option<&Reach>,
    ) -> Result<Vec<&'c Fact>, AppError> {
        let Some(facts) = loaded.standing.get(&end.on) else { return Ok(Vec::new()) };
        let mut since = since(facts, end);
        since.at = since.at.max(reach.and_then(|r| r.of(end.on)).map(|r| r.exposed_since));
        let mut found = Vec::new();
        for (place, fact) in facts.iter().enumerate() {
            if is_after(&since, place, fact)
                && verifies(fact, end.on)
                && self.verification_clears(facts, place, &since, end.on, &loaded.record)?
            {
                found.push(fact);
            }
        }
        Ok(found)
    }

    /// Whether a verification, or a cleaning before it and after `since`,
    /// clears this kind of taint.
    fn verification_clears(
        &self,
        facts: &[Fact],
        place: usize,
        since: &Since,
        on: Subject,
        record: &CaseRecord,
    ) -> Result<bool, AppError> {
        let at_or_before = facts.iter().enumerate().take(place + 1);
        for (earlier, fact) in at_or_before.filter(|(n, f)| is_after(since, *n, f)) {
            let counts = earlier == place
                || matches!(&fact.body, FactBody::Cleaned { end, .. } if Subject::End(*end) == on);
            if counts && clears(self, fact, record.opened.taint, record.at)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// The verification a person names, or the last there is.
    ///
    /// # Errors
    ///
    /// [`AppError::Field`] that says what would do.
    pub(crate) fn verification(
        &self,
        loaded: &LoadedCase,
        end: &CaseEnd,
        tag: &str,
        named: Option<FactId>,
    ) -> Result<FactId, AppError> {
        let reach = self.reach_if_open(loaded, loaded.record.at)?;
        let found = self.evidence_for(loaded, end, reach.as_ref())?;
        let chosen = match named {
            Some(named) => found.iter().find(|f| f.id == named),
            None => found.last(),
        };
        if let Some(fact) = chosen {
            return Ok(fact.id);
        }
        let after = match (end.mated_while_held.last(), end.hold) {
            (Some(mate), _) => format!("its mate while held, {}", sentence::when(mate.at)),
            (None, Some((_, at))) => format!("the hold, {}", sentence::when(at)),
            (None, None) => match &end.reach {
                Some(reach) => format!("the exposure, {}", sentence::when(reach.arrived_at)),
                None => "the finding".to_owned(),
            },
        };
        let what = format!(
            "expected {} of {tag} made after {after}",
            self.would_clear(loaded.record.opened.taint, end.on)
        );
        let message = match named {
            None => format!("{what}, found none"),
            Some(named) => {
                match loaded.standing.get(&end.on).and_then(|f| f.iter().find(|f| f.id == named)) {
                    None => format!("{what}, found {named}, which is no fact about it that stands"),
                    Some(fact) if verifies(fact, end.on) => {
                        format!("{what}, found the fact {named} of {}", sentence::when(fact.happened_at))
                    }
                    Some(_) => format!("{what}, found {named}, which shows nothing of the kind"),
                }
            }
        };
        Err(AppError::Field { field: "evidence", message })
    }
}

impl Workshop {
    /// In words, what would clear it by the lab's policy.
    pub(crate) fn would_clear(&self, taint: Taint, on: Subject) -> String {
        let policy = self.sheets.policy();
        let clears = |care| policy_clears(care, policy, taint);
        let acts: Vec<&str> = match on {
            Subject::Item(_) => vec!["a check of it in order"],
            Subject::End(_) => [
                (clears(Care::GaugedSafe), "a gauging that shows the pin safe"),
                (clears(Care::LookedGood), "a good look"),
                (!clears(Care::LookedGood) && clears(Care::Cleaned), "a cleaning and then a good look"),
            ]
            .iter()
            .filter_map(|(does, act)| does.then_some(*act))
            .collect(),
        };
        if acts.is_empty() { "nothing that the lab's policy names".to_owned() } else { acts.join(" or ") }
    }
}

/// After the hold of the case and the last mate while it lasted; without a
/// hold, after the earliest arrival.
fn since(facts: &[Fact], end: &CaseEnd) -> Since {
    let place_of = |id: FactId| facts.iter().position(|f| f.id == id);
    let hold = end.hold.and_then(|(id, _)| place_of(id));
    let alarm = end.mated_while_held.last().and_then(|m| place_of(m.fact));
    let at = match (&end.reach, &end.source) {
        (Some(reach), _) => Some(reach.arrived_at),
        (None, Some(source)) => Some(source.first_evidence),
        (None, None) => end.tool.as_ref().map(|tool| tool.first_evidence),
    };
    Since { place: hold.max(alarm), at }
}

fn is_after(since: &Since, place: usize, fact: &Fact) -> bool {
    since.place.is_none_or(|p| p < place) && since.at.is_none_or(|at| at <= fact.happened_at)
}
