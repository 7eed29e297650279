//! Logs joined: what a laptop wrote alone comes home.

use crate::{AppError, Workshop, judge::ReadOnce};
use matewell_lab::{EndId, Fact, FactBody, MICROSECONDS_PER_DAY, Moment, Subject};
use matewell_store::{Merged, Store};
use matewell_wire::{MergeJson, MergeMachineJson, MergeQuestionJson, moment_text};
use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

/// Facts read from the store at a time.
const PAGE: u64 = 5_000;
/// A clock that jumped back by more than this ran wrong: an hour covers a
/// person who enters things late on a machine that keeps its time.
const JUMP: i64 = MICROSECONDS_PER_DAY / 24;
/// Questions told of one kind.
const MOST_TOLD: usize = 100;

impl Workshop {
    /// Takes over the facts of another log, and says what they leave to be
    /// decided by a person.
    ///
    /// # Errors
    ///
    /// A place without a log; one machine that went on in two places; a store
    /// that cannot be read or written. Nothing is written then.
    pub fn merge(&mut self, from: &Path, now: Moment) -> Result<MergeJson, AppError> {
        let other = Store::open_read_only(from)?;
        let found = other.verify()?;
        if !found.whole() {
            return Err(AppError::Conflict(format!(
                "expected a log that is whole, found: {}",
                crate::house::VerifyJson::new(&found).text
            )));
        }
        let merged = self.store.merge_from(&other)?;
        self.merged(&merged, now)
    }

    /// What came of a merge, and what it leaves to a person.
    pub(crate) fn merged(&self, merged: &Merged, now: Moment) -> Result<MergeJson, AppError> {
        let mut clocks: BTreeMap<matewell_lab::MachineId, Clock> = BTreeMap::new();
        let mut touched = BTreeSet::new();
        let mut after = merged.after;
        loop {
            let page = self.store.all_facts(after, PAGE)?;
            let Some(last) = page.last() else { break };
            after = last.seq;
            for fact in page.iter().map(|numbered| &numbered.fact) {
                clocks.entry(fact.machine).or_default().see(fact, now);
                touched.extend(ends_held_or_released(fact));
            }
        }
        let taken: u64 = merged.taken.values().sum();
        let machines = merged
            .taken
            .iter()
            .map(|(machine, facts)| MergeMachineJson {
                machine: machine.to_string(),
                facts: *facts,
                clock: clocks.get(machine).and_then(Clock::text),
            })
            .collect();
        let mut questions = self.labels_twice()?;
        questions.extend(self.held_and_released(&touched, now)?);
        let asks = match questions.len() {
            0 => String::new(),
            1 => " 1 question for a person.".to_owned(),
            n => format!(" {n} questions for a person."),
        };
        Ok(MergeJson {
            taken,
            known: merged.known,
            machines,
            text: format!("{taken} facts taken over, {} were here already.{asks}", merged.known),
            questions,
        })
    }

    /// Labels that two things carry: nobody but a person knows which is which.
    pub(crate) fn labels_twice(&self) -> Result<Vec<MergeQuestionJson>, AppError> {
        let twice = self.store.labels_given_twice()?;
        let ask = |tag: String| MergeQuestionJson {
            what: "label-given-twice".to_owned(),
            text: format!("{tag} is on two things. Look at both, and set one registration right."),
            tag,
        };
        Ok(twice.into_iter().take(MOST_TOLD).map(ask).collect())
    }

    /// Ends that one machine holds and another released without knowing of it:
    /// they stay held.
    fn held_and_released(
        &self,
        ends: &BTreeSet<EndId>,
        now: Moment,
    ) -> Result<Vec<MergeQuestionJson>, AppError> {
        let once = ReadOnce::default();
        let mut questions = Vec::new();
        for end in ends {
            let loaded = self.load_to_judge(*end, &once, now)?;
            for hold in &loaded.record.open_holds {
                if let Some((_, at, person)) = &hold.released_apart {
                    let tag = self.label(Subject::End(*end));
                    let text = format!(
                        "{tag} was held on {} ({}) and released on {} by {person}, who did not know of it. It stays held: release it again, or leave it.",
                        crate::sentence::when(hold.at),
                        hold.because,
                        crate::sentence::when(*at),
                    );
                    questions.push(MergeQuestionJson { what: "held-and-released".to_owned(), tag, text });
                }
            }
        }
        questions.truncate(MOST_TOLD);
        Ok(questions)
    }
}

fn ends_held_or_released(fact: &Fact) -> Option<EndId> {
    match &fact.body {
        FactBody::Held(held) => Some(held.end),
        FactBody::Released(released) => Some(released.end),
        _ => None,
    }
}

/// What the times of entry say of a machine's clock.
#[derive(Default)]
struct Clock {
    latest: Option<Moment>,
    went_back: Option<(Moment, Moment)>,
    ahead: Option<Moment>,
}

impl Clock {
    /// Facts come in the order in which their machine wrote them.
    fn see(&mut self, fact: &Fact, now: Moment) {
        let at = fact.recorded_at;
        if let Some(latest) = self.latest
            && latest.microseconds().saturating_sub(at.microseconds()) > JUMP
            && self.went_back.is_none()
        {
            self.went_back = Some((latest, at));
        }
        self.latest = Some(self.latest.map_or(at, |latest| latest.max(at)));
        if at.microseconds().saturating_sub(now.microseconds()) > JUMP && self.ahead.is_none() {
            self.ahead = Some(at);
        }
    }

    fn text(&self) -> Option<String> {
        let back = self.went_back.map(|(from, to)| {
            format!("its clock went back from {} to {}", moment_text(from), moment_text(to))
        });
        let ahead = self.ahead.map(|at| format!("its clock is ahead of this one: {}", moment_text(at)));
        match (back, ahead) {
            (Some(back), Some(ahead)) => Some(format!("{back}; {ahead}")),
            (back, ahead) => back.or(ahead),
        }
    }
}
