//! The lab as a whole: bulk logs, verification, back-up, the demo lab.

use crate::{AppError, Said, Workshop, WrittenJson, workshop::file_name};
use matewell_lab::{FactBody, Mated, Moment};
use matewell_store::{BrokenFile, Store, hash_text};
use serde::{Deserialize, Serialize};
use std::{collections::HashMap, path::Path};
use utoipa::ToSchema;

/// Seed of the demo lab that everybody sees.
const DEMO_SEED: u64 = 1;

/// The demo lab's own sheet values: it chooses between sources that disagree.
pub const DEMO_SHEETS: &str = "\
# The Larkmoor Receiver Workshop's own values, over the ones that come with the program.
# Each needs a reason; what it replaces stays visible.

[interface.\"3.5mm\"]
coupling_torque = { value = 0.9, body = \"any\", because = \"our wrenches are set to 0.9 N.m; the copy of the standard that gives 1.5 is doubtful\" }
";

/// What a verification found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct VerifyJson {
    /// Whether every fact is as it was written.
    pub whole: bool,
    /// Facts looked at.
    pub facts: u64,
    /// Id of the first broken fact.
    pub first_broken: Option<String>,
    /// Kept files whose bytes were looked at.
    pub files: u64,
    /// SHA-256 of the first kept file that is broken or lost.
    pub first_broken_file: Option<String>,
    /// In words.
    pub text: String,
}

impl VerifyJson {
    pub(crate) fn new(found: &matewell_store::Verification) -> Self {
        let text = match (&found.first_broken, &found.first_broken_file) {
            (None, None) if found.files == 0 => {
                format!("Whole: {} facts, every hash as written", found.facts)
            }
            (None, None) => {
                format!("Whole: {} facts and {} kept files, every hash as written", found.facts, found.files)
            }
            (None, Some(BrokenFile::Bytes(hash))) => {
                format!("BROKEN: the kept file {} is not what was written", hash_text(hash))
            }
            (None, Some(BrokenFile::Missing(hash))) => {
                format!("BROKEN: the kept file {} is lost", hash_text(hash))
            }
            (Some(broken), _) => {
                format!("BROKEN at fact {} (number {}): {}", broken.id, broken.seq, said(broken.what))
            }
        };
        Self {
            whole: found.whole(),
            facts: found.facts,
            first_broken: found.first_broken.as_ref().map(|b| b.id.to_string()),
            files: found.files,
            first_broken_file: found.first_broken_file.as_ref().map(|broken| match broken {
                BrokenFile::Bytes(hash) | BrokenFile::Missing(hash) => hash_text(hash),
            }),
            text,
        }
    }
}

fn said(what: matewell_store::BrokenLink) -> &'static str {
    use matewell_store::BrokenLink;
    match what {
        BrokenLink::Hole => "a fact before it is missing",
        BrokenLink::Place => "a place in its machine's chain is missing or double",
        BrokenLink::Hash => "its content or its link is not what was written",
    }
}

/// What a tag means, found at its first mention.
fn once<'t, T: Clone>(
    known: &mut HashMap<&'t str, T>,
    tag: &'t str,
    find: impl FnOnce(&'t str) -> Result<T, AppError>,
) -> Result<T, AppError> {
    if let Some(found) = known.get(tag) {
        return Ok(found.clone());
    }
    let found = find(tag)?;
    known.insert(tag, found.clone());
    Ok(found)
}

/// A mate that happened, as a rig reports it.
#[derive(Debug, Clone)]
pub struct LoggedMate {
    /// Tag of one end.
    pub a: String,
    /// Tag of the other end.
    pub b: String,
    /// When it happened.
    pub happened_at: Moment,
    /// Tag of the wrench.
    pub wrench: Option<String>,
}

impl Workshop {
    /// Logs mates that happened already: none is refused, all or nothing.
    ///
    /// # Errors
    ///
    /// Unknown tags; an end mated with itself; a store that cannot be written.
    pub fn log_mates(
        &mut self,
        mates: &[LoggedMate],
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let mut facts = Vec::with_capacity(mates.len());
        // A rig mates the same few ends again and again: each tag is looked up once.
        let (mut ends, mut wrenches) = (HashMap::new(), HashMap::new());
        for (mate, sequence) in mates.iter().zip(0..) {
            let a = once(&mut ends, &mate.a, |tag| self.one_end(tag))?;
            let b = once(&mut ends, &mate.b, |tag| self.one_end(tag))?;
            self.authorised_to_mate([&a, &b], &said.person)?;
            let (a, b) = (a.end, b.end);
            if a == b {
                return Err(AppError::Field {
                    field: "mates",
                    message: format!("mate {}: expected two ends, found {} twice", sequence + 1, mate.a),
                });
            }
            let wrench = mate.wrench.as_deref();
            let wrench = wrench
                .map(|tag| once(&mut wrenches, tag, |tag| self.one_item("a wrench", tag)))
                .transpose()?;
            let mut said = said.clone();
            said.happened_at = Some(mate.happened_at);
            let mut fact = self.fact(&said, now, FactBody::Mated(Mated { a, b, wrench, overridden: None }));
            fact.sequence = sequence;
            facts.push(fact);
        }
        self.write(&facts, said, now, None)
    }

    /// Proves the hash chain, or names the first broken fact.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn verify(&self) -> Result<VerifyJson, AppError> {
        Ok(VerifyJson::new(&self.store.verify()?))
    }

    /// Copies the lab to a new file while it is in use, verifies the copy, and
    /// notes when that was.
    ///
    /// # Errors
    ///
    /// A file that exists already or cannot be written.
    pub fn back_up(&mut self, file: &Path, now: Moment) -> Result<VerifyJson, AppError> {
        let found = self.store.back_up(file)?;
        let head = Store::open_read_only(file)?.head()?;
        self.store.note_back_up(now, head.as_ref(), &file_name(file))?;
        Ok(VerifyJson::new(&found))
    }

    /// Makes the invented demo lab if there is no fact yet. Says whether it did.
    ///
    /// # Errors
    ///
    /// A store that cannot be written.
    pub fn demo(&mut self, now: Moment) -> Result<bool, AppError> {
        if self.store.counts()?.facts > 0 {
            return Ok(false);
        }
        let lab = matewell_demo::demo_lab(now, DEMO_SEED);
        let sweeps = matewell_demo::demo_sweeps(&lab, now, DEMO_SEED)
            .map_err(|e| AppError::Conflict(format!("the demo sweeps: {e}")))?;
        let mut facts = lab.facts;
        facts.extend(sweeps.iter().map(|s| s.fact.clone()));
        let machine = self.store.machine();
        for fact in &mut facts {
            fact.machine = machine;
        }
        let files: Vec<&[u8]> = sweeps.iter().map(|s| s.bytes.as_slice()).collect();
        self.store.append_with_files(&files, &facts)?;
        let name = self.own_sheets.as_deref().map_or_else(|| "demo.sheets.toml".to_owned(), file_name);
        if let Some(own) = self.own_sheets.as_ref().filter(|own| !own.exists()) {
            std::fs::write(own, DEMO_SHEETS)
                .map_err(|e| AppError::File { path: own.display().to_string(), message: e.to_string() })?;
        }
        self.sheets = std::sync::Arc::new(self.sheets.with_lab_file(DEMO_SHEETS, &name)?);
        self.policy_noted = self.own_sheets.is_none();
        self.take_up_policy("metrologist-1", now)?;
        Ok(true)
    }
}
