//! Numbered migrations, each with the hash of its text.

use crate::{StoreError, chain::Hash, chain::hash_text};
use rusqlite::{Connection, TransactionBehavior};
use sha2::{Digest, Sha256};

/// Marks a file as a log of this program: the letters "MTWL".
pub(crate) const APPLICATION_ID: i64 = 0x4d54_574c;

const MIGRATIONS: &[(i64, &str)] = &[
    (1, include_str!("../migrations/0001_log.sql")),
    (2, include_str!("../migrations/0002_marks.sql")),
    (3, include_str!("../migrations/0003_case_kinds.sql")),
];

const SCHEMA_VERSION: &str = "CREATE TABLE IF NOT EXISTS schema_version (
    -- Number of the migration, from 1.
    version INTEGER PRIMARY KEY CHECK (version BETWEEN 1 AND 9999),
    -- SHA-256 of its text.
    sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT";

/// Refuses a file that is some other database.
pub(crate) fn check_mark(connection: &Connection) -> Result<(), StoreError> {
    let found: i64 = connection.query_row("PRAGMA application_id", [], |row| row.get(0))?;
    if found == APPLICATION_ID {
        Ok(())
    } else {
        Err(StoreError::NotALog { expected: APPLICATION_ID, found })
    }
}

/// Lays the migrations that are missing, all or none.
pub(crate) fn lay(connection: &mut Connection) -> Result<(), StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    transaction.execute_batch(SCHEMA_VERSION)?;
    let laid = check(&transaction)?;
    for (version, text) in MIGRATIONS.iter().filter(|(version, _)| *version > laid) {
        transaction.execute_batch(text)?;
        transaction.execute(
            "INSERT INTO schema_version (version, sha256) VALUES (?1, ?2)",
            (version, sha256(text)),
        )?;
    }
    transaction.commit()?;
    Ok(())
}

/// The version of the file, after comparing each laid migration with the text
/// of this program.
pub(crate) fn check(connection: &Connection) -> Result<i64, StoreError> {
    let mut statement = connection.prepare("SELECT version, sha256 FROM schema_version ORDER BY version")?;
    let mut rows = statement.query([])?;
    let mut last = 0;
    while let Some(row) = rows.next()? {
        let (version, found): (i64, Hash) = (row.get(0)?, row.get(1)?);
        let known = MIGRATIONS.last().map_or(0, |(version, _)| *version);
        let Some((_, text)) = MIGRATIONS.iter().find(|(known, _)| *known == version) else {
            return Err(StoreError::SchemaTooNew { known, found: version });
        };
        let expected = sha256(text);
        if expected != found {
            return Err(StoreError::SchemaChanged {
                version,
                expected: hash_text(&expected),
                found: hash_text(&found),
            });
        }
        last = version;
    }
    Ok(last)
}

fn sha256(text: &str) -> Hash {
    Sha256::digest(text.as_bytes()).into()
}
