//! A log in a file of SQLite, and a person with that file and SQL.

use matewell_lab::MachineId;
use matewell_store::{Place, Store};
use tempfile::TempDir;

/// Random histories tried.
pub(super) const RANDOM_CASES: u32 = 60;

/// A log that nobody looks at from outside.
pub(super) fn fresh(machine: MachineId) -> Store {
    Store::in_memory(machine).unwrap()
}

/// Room for one log.
pub(super) struct Lab {
    pub(super) place: Place,
    _folder: TempDir,
}

impl Lab {
    pub(super) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { place: Place::File(folder.path().join("log.db")), _folder: folder }
    }

    /// What the database answers to SQL from outside.
    pub(super) fn by_hand(&self, sql: &str) -> Result<(), String> {
        let Place::File(path) = &self.place else { panic!("a file") };
        let raw = rusqlite::Connection::open(path).unwrap();
        raw.execute_batch(sql).map_err(|error| error.to_string())
    }

    /// SQL of somebody who may do anything and keeps no rule.
    pub(super) fn tamper(&self, sql: &str) {
        let triggers = "DROP TRIGGER IF EXISTS fact_is_not_updated; DROP TRIGGER IF EXISTS fact_is_not_deleted; \
             DROP TRIGGER IF EXISTS kept_file_is_not_updated; DROP TRIGGER IF EXISTS kept_file_is_not_deleted;";
        self.by_hand(&format!("PRAGMA foreign_keys = OFF; {triggers} {sql}")).unwrap();
    }
}
