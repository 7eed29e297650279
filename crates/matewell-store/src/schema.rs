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
    (4, include_str!("../migrations/0004_sweeps.sql")),
    (5, include_str!("../migrations/0005_people.sql")),
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
    lay_up_to(connection, i64::MAX)
}

fn lay_up_to(connection: &mut Connection, last: i64) -> Result<(), StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    transaction.execute_batch(SCHEMA_VERSION)?;
    let laid = check(&transaction)?;
    let mut newest = laid;
    for (version, text) in MIGRATIONS.iter().filter(|(version, _)| (laid + 1..=last).contains(version)) {
        transaction.execute_batch(text)?;
        transaction.execute(
            "INSERT INTO schema_version (version, sha256) VALUES (?1, ?2)",
            (version, sha256(text)),
        )?;
        newest = *version;
    }
    if newest > laid && transaction.prepare("PRAGMA foreign_key_check")?.exists([])? {
        return Err(StoreError::MigrationBroken { version: newest });
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Store;
    use matewell_lab::{
        EndId, Fact, FactBody, FactId, FactSource, Held, Item, ItemId, ItemKind, MachineId, Moment,
        Registered, Resolution,
    };

    const MACHINE: MachineId = MachineId::from_bytes([7; 16]);

    fn fact(n: u8, body: FactBody) -> Fact {
        Fact {
            id: FactId::from_bytes([n; 16]),
            machine: MACHINE,
            happened_at: Moment::from_microseconds(i64::from(n)),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: Moment::from_microseconds(i64::from(n)),
            person: "Wren Ashdown".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        }
    }

    fn facts() -> Vec<Fact> {
        let item = Item {
            id: ItemId::from_bytes([5; 16]),
            tag: "CB-1".to_owned(),
            kind: ItemKind::Cable,
            description: String::new(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        };
        let end = matewell_lab::End {
            id: EndId::from_bytes([6; 16]),
            item: item.id,
            tag: "CB-1A".to_owned(),
            interface: "3.5mm".to_owned(),
            sex: matewell_lab::Sex::Pin,
            grade: matewell_lab::Grade::Instrument,
            body: matewell_lab::Body::Stainless,
            slots: matewell_lab::Slots::Unknown,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        };
        let held = Held { end: end.id, because: "looks odd".to_owned() };
        vec![
            fact(1, FactBody::Registered(Box::new(Registered { item, ends: vec![end] }))),
            fact(2, FactBody::Held(held)),
        ]
    }

    /// A log of the first version: its tables, with the rows a log of today
    /// writes into them.
    fn first_version(path: &std::path::Path) -> Store {
        let today = path.with_extension("today");
        let mut store = Store::create_with_machine(&today, MACHINE).unwrap();
        store.append(&facts()).unwrap();
        drop(store);
        let mut connection = Connection::open(path).unwrap();
        connection.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
        lay_up_to(&mut connection, 1).unwrap();
        connection.execute("ATTACH ?1 AS today", [today.to_str().unwrap()]).unwrap();
        for table in ["machine", "fact", "item", "connector_end", "fact_end", "fact_item", "fact_about"] {
            connection.execute(&format!("INSERT INTO main.{table} SELECT * FROM today.{table}"), []).unwrap();
        }
        connection.execute("DETACH today", []).unwrap();
        Store {
            connection,
            machine: MACHINE,
            ends: std::collections::HashMap::new(),
            items: std::collections::HashMap::new(),
            met: std::cell::RefCell::default(),
        }
    }

    #[test]
    fn a_log_of_the_first_version_keeps_every_byte() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old.db");
        let old = first_version(&path);
        let before = old.linked_facts(0, 10).unwrap();
        assert_eq!(check(&old.connection).unwrap(), 1);
        drop(old);
        let mut store = Store::open(&path).unwrap();
        assert_eq!(Some(check(&store.connection).unwrap()), MIGRATIONS.last().map(|(version, _)| *version));
        assert_eq!(store.linked_facts(0, 10).unwrap(), before);
        let found = store.verify().unwrap();
        assert_eq!((found.facts, found.first_broken), (2, None));
        assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
        for forbidden in ["UPDATE fact SET person = 'x'", "DELETE FROM fact"] {
            assert!(store.connection.execute(forbidden, []).is_err(), "{forbidden}");
        }
        store.append(&[fact(3, facts().remove(1).body)]).unwrap();
        drop(store);
        assert_eq!(Store::open(&path).unwrap().counts().unwrap().facts, 3);
    }

    #[test]
    fn a_migration_that_would_break_a_reference_leaves_the_file_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old.db");
        let old = first_version(&path);
        old.connection.pragma_update(None, "foreign_keys", "OFF").unwrap();
        old.connection
            .execute("INSERT INTO fact_end (end_no, happened_at, seq) VALUES (1, 0, 99)", [])
            .unwrap();
        drop(old);
        assert!(matches!(Store::open(&path), Err(StoreError::MigrationBroken { .. })));
        assert_eq!(check(&Connection::open(&path).unwrap()).unwrap(), 1);
    }
}
