//! How the lab itself is: what is on record, when it was last backed up, what
//! the program found when it started. And a lab moved to another place.

use crate::{AppError, VerifyJson, Workshop, workshop::own_sheets_of};
use matewell_lab::Moment;
use matewell_store::{Place, Store};
use matewell_wire::moment_text;
use serde::{Deserialize, Serialize};
use std::path::Path;
use utoipa::ToSchema;

const MICROSECONDS_PER_MINUTE: i64 = 60_000_000;

/// The last back-up that was verified.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BackUpJson {
    /// When it was made.
    pub made_at: String,
    /// Whole minutes since then; 0 when the clock says it is still to come.
    pub age_min: u64,
    /// What the file is called.
    pub name: String,
    /// Facts in it.
    pub facts: u64,
    /// Facts written since then: they are in no back-up.
    pub facts_since: u64,
}

/// How a server that has a replica answers questions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ReadsJson {
    /// How far the replica is behind the primary in the log of the database;
    /// none when it cannot be asked.
    pub behind_bytes: Option<u64>,
    /// Age of the newest write that the replica has when it is behind, else 0;
    /// none when it cannot be asked.
    pub lag_ms: Option<u64>,
    /// Questions that the replica answered since the server was started.
    pub by_replica: u64,
    /// Questions that the primary answered instead.
    pub by_primary: u64,
    /// Why the primary answered the last of them; none when it never did.
    pub note: Option<String>,
    /// In words.
    pub text: String,
}

impl ReadsJson {
    /// With the words.
    pub fn new(
        behind_bytes: Option<u64>,
        lag_ms: Option<u64>,
        by_replica: u64,
        by_primary: u64,
        note: Option<String>,
    ) -> Self {
        let now = match behind_bytes {
            None => "The replica cannot be asked; the primary answers questions.".to_owned(),
            Some(0) => "The replica has everything.".to_owned(),
            Some(bytes) => format!("The replica is {bytes} bytes behind."),
        };
        let mut text = format!("{now} Questions answered: {by_replica} by it, {by_primary} by the primary.");
        if let Some(note) = &note {
            text += &format!(" Why the primary, the last time: {note}.");
        }
        Self { behind_bytes, lag_ms, by_replica, by_primary, note, text }
    }
}

/// How the lab itself is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HealthJson {
    /// Facts on record.
    pub facts: u64,
    /// Machines that wrote them.
    pub machines: u64,
    /// Number and SHA-256 of the last fact; none in an empty lab. Written down
    /// elsewhere it shows later that nothing was cut off the end.
    pub head: Option<String>,
    /// The last back-up that was verified; none when there never was one.
    pub last_back_up: Option<BackUpJson>,
    /// What the program found when it opened the lab; empty when all was well.
    pub found_at_start: Vec<String>,
    /// How questions are answered; none without a replica.
    pub reads: Option<ReadsJson>,
    /// In words.
    pub text: String,
}

/// A lab moved to another place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MovedJson {
    /// What the verification of the new place found.
    pub verification: VerifyJson,
    /// Number and SHA-256 of the last fact, the same in both places.
    pub head: Option<String>,
    /// Whether the lab's own sheet file went along.
    pub own_sheets: bool,
    /// In words.
    pub text: String,
}

fn headed(head: Option<(u64, String)>) -> Option<String> {
    head.map(|(seq, hash)| format!("{seq} {hash}"))
}

fn aged(minutes: u64) -> String {
    match minutes {
        0..120 => format!("{minutes} min"),
        120..2880 => format!("{} h", minutes / 60),
        _ => format!("{} days", minutes / 1440),
    }
}

impl Workshop {
    /// How the lab itself is.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn health(&self, now: Moment) -> Result<HealthJson, AppError> {
        let counts = self.store.counts()?;
        let last_back_up = self.store.last_back_up()?.map(|made| {
            let minutes = (now.microseconds() - made.made_at.microseconds()) / MICROSECONDS_PER_MINUTE;
            BackUpJson {
                made_at: moment_text(made.made_at),
                age_min: u64::try_from(minutes).unwrap_or(0),
                name: made.name,
                facts: made.last_seq,
                facts_since: counts.facts.saturating_sub(made.last_seq),
            }
        });
        let backed = match &last_back_up {
            None => "No back-up was ever verified.".to_owned(),
            Some(made) => format!(
                "The last verified back-up, {}, is {} old; {} facts came since.",
                made.name,
                aged(made.age_min),
                made.facts_since
            ),
        };
        let of = if counts.machines == 1 { "machine" } else { "machines" };
        let mut lines =
            vec![format!("{} facts of {} {of} on record.", counts.facts, counts.machines), backed];
        let found_at_start = self.found_at_start(now)?;
        lines.extend(found_at_start.iter().cloned());
        Ok(HealthJson {
            facts: counts.facts,
            machines: counts.machines,
            head: headed(self.store.head()?),
            last_back_up,
            found_at_start,
            reads: None,
            text: lines.join("\n"),
        })
    }

    /// What was found when the lab was opened: a program that did not end as
    /// it should, a clock that runs behind. Empty when all was well.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn found_at_start(&self, now: Moment) -> Result<Vec<String>, AppError> {
        let mut found = Vec::new();
        if let Some(bytes) = self.store.left_behind() {
            found.push(format!(
                "{bytes} bytes of write-ahead log were left beside the file: the program before was cut short. \
                 What was written whole was taken over, the rest dropped."
            ));
            found.push(match self.store.broken_at_the_end()? {
                None => "The last facts are whole, every hash as written.".to_owned(),
                Some(number) => format!("BROKEN at fact number {number}: run matewell verify"),
            });
        }
        let last = self.store.head()?.map_or(0, |(seq, _)| seq);
        if let Some(newest) = self.store.all_facts(last.saturating_sub(1), 1)?.pop() {
            let behind = newest.fact.recorded_at.microseconds() - now.microseconds();
            if behind > MICROSECONDS_PER_MINUTE {
                let minutes = u64::try_from(behind / MICROSECONDS_PER_MINUTE).unwrap_or(0);
                found.push(format!(
                    "The clock of this machine is {} behind the last fact, which was entered {}. Set it right \
                     before anything is entered.",
                    aged(minutes),
                    moment_text(newest.fact.recorded_at)
                ));
            }
        }
        Ok(found)
    }
}

/// Copies a lab to a place where there is none yet, chain and all, verifies the
/// copy and takes the lab's own sheet file along. The old place stays as it was.
///
/// # Errors
///
/// A place that is not empty; a copy that is not whole; a store or a file that
/// cannot be read or written.
pub fn move_lab(from: &Path, to: &Path) -> Result<MovedJson, AppError> {
    let (old_sheets, new_sheets) = (own_sheets_of(from), own_sheets_of(to));
    let own_sheets = old_sheets.exists() && old_sheets != new_sheets;
    if own_sheets && new_sheets.exists() {
        return Err(AppError::Conflict(format!(
            "expected no sheet file at {}, found one; nothing was moved",
            new_sheets.display()
        )));
    }
    let store = Store::open(from)?;
    let verification = VerifyJson::new(&store.verify()?);
    if !verification.whole {
        return Err(AppError::Conflict(format!("{}; nothing was moved", verification.text)));
    }
    let verification = VerifyJson::new(&store.copy_to(to)?);
    if own_sheets {
        std::fs::copy(&old_sheets, &new_sheets)
            .map_err(|e| AppError::File { path: new_sheets.display().to_string(), message: e.to_string() })?;
    }
    let head = headed(Store::open_read_only(to)?.head()?);
    let text = format!(
        "{}. Moved to {}; the old place stays as it was, and nothing should be written there any more.",
        verification.text,
        Place::from(to)
    );
    Ok(MovedJson { verification, head, own_sheets, text })
}
