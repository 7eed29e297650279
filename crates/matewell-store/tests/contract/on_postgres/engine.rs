//! A log in a database of PostgreSQL, and a person with its password and SQL.
//! Where there is no PostgreSQL the tests run on SQLite again, which is said
//! aloud once.

use crate::cluster::cluster;
use matewell_lab::MachineId;
use matewell_store::{Place, Store};
use tempfile::TempDir;

/// Random histories tried: fewer, since each is two logs laid on a server.
pub(super) const RANDOM_CASES: u32 = 8;

/// A log that nobody looks at from outside.
pub(super) fn fresh(machine: MachineId) -> Store {
    match cluster() {
        Some(cluster) => Store::create_with_machine(Place::Server(cluster.new_schema()), machine).unwrap(),
        None => Store::in_memory(machine).unwrap(),
    }
}

/// Room for one log.
pub(super) struct Lab {
    pub(super) place: Place,
    _folder: TempDir,
}

impl Lab {
    pub(super) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let place = match cluster() {
            Some(cluster) => Place::Server(cluster.new_schema()),
            None => Place::File(folder.path().join("log.db")),
        };
        Self { place, _folder: folder }
    }

    /// What the database answers to SQL from outside.
    pub(super) fn by_hand(&self, sql: &str) -> Result<(), String> {
        let url = match &self.place {
            Place::Server(url) => url,
            Place::File(path) => {
                let raw = rusqlite::Connection::open(path).unwrap();
                return raw.execute_batch(sql).map_err(|error| error.to_string());
            }
        };
        let sql = sql
            .replace("zeroblob(16)", "decode(repeat('00', 16), 'hex')")
            .replace("zeroblob(32)", "decode(repeat('00', 32), 'hex')")
            .replace("CAST(bytes || x'0a' AS BLOB)", "bytes || '\\x0a'::bytea")
            .replace("x'00'", "'\\x00'::bytea");
        let mut raw = postgres::Client::connect(url, postgres::NoTls).unwrap();
        raw.batch_execute(&sql).map_err(|error| error.as_db_error().unwrap().message().to_owned())
    }

    /// SQL of somebody who may do anything and keeps no rule.
    pub(super) fn tamper(&self, sql: &str) {
        let rules = match &self.place {
            Place::Server(_) => "SET session_replication_role = replica;",
            Place::File(_) => {
                "PRAGMA foreign_keys = OFF; DROP TRIGGER fact_is_not_updated; DROP TRIGGER fact_is_not_deleted; \
                 DROP TRIGGER kept_file_is_not_updated; DROP TRIGGER kept_file_is_not_deleted;"
            }
        };
        self.by_hand(&format!("{rules} {sql}")).unwrap();
    }
}
