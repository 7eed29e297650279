//! Numbered migrations, each with the hash of its text.

use crate::{
    Place, StoreError,
    chain::{Hash, hash_text},
    engine::{Answer, Connection},
};
use matewell_lab::MachineId;
use sha2::{Digest, Sha256};

/// Marks a file as a log of this program: the letters "MTWL".
pub(crate) const APPLICATION_ID: i64 = 0x4d54_574c;

/// One step of the schema: the same number and name in both engines.
struct Migration {
    version: i64,
    sqlite: &'static str,
    postgres: &'static str,
}

macro_rules! migration {
    ($version:literal, $name:literal) => {
        Migration {
            version: $version,
            sqlite: include_str!(concat!("../migrations/", $name, ".sql")),
            postgres: include_str!(concat!("../migrations/postgres/", $name, ".sql")),
        }
    };
}

const MIGRATIONS: &[Migration] = &[
    migration!(1, "0001_log"),
    migration!(2, "0002_marks"),
    migration!(3, "0003_case_kinds"),
    migration!(4, "0004_sweeps"),
    migration!(5, "0005_other_marks"),
    migration!(6, "0006_kit_kinds"),
    migration!(7, "0007_back_ups"),
    migration!(8, "0008_people"),
    migration!(9, "0009_policy_kind"),
    migration!(10, "0010_item_marks"),
];

impl Migration {
    fn text(&self, connection: &Connection) -> &'static str {
        connection.either(self.sqlite, self.postgres)
    }
}

const SCHEMA_VERSION: &str = "CREATE TABLE IF NOT EXISTS schema_version (
    -- Number of the migration, from 1.
    version INTEGER PRIMARY KEY CHECK (version BETWEEN 1 AND 9999),
    -- SHA-256 of its text.
    sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT";

const SCHEMA_VERSION_OF_SERVER: &str = "CREATE TABLE IF NOT EXISTS schema_version (
    -- Number of the migration, from 1.
    version BIGINT PRIMARY KEY CHECK (version BETWEEN 1 AND 9999),
    -- SHA-256 of its text.
    sha256 BYTEA NOT NULL CHECK (octet_length(sha256) = 32)
)";

/// Refuses a database that is not a log of this program.
pub(crate) fn check_mark(connection: &Connection, place: &Place) -> Result<(), StoreError> {
    match connection {
        Connection::Sqlite(_) => {
            let found: i64 = connection.only("PRAGMA application_id", ())?;
            if found == APPLICATION_ID {
                Ok(())
            } else {
                Err(StoreError::NotALog { expected: APPLICATION_ID, found })
            }
        }
        Connection::Postgres(_) if is_laid(connection)? => Ok(()),
        Connection::Postgres(_) => Err(StoreError::NoLog { place: place.to_string() }),
    }
}

/// Whether a database of a server holds a log.
pub(crate) fn is_laid(connection: &Connection) -> Result<bool, StoreError> {
    let tables = tables_of_server(connection)?;
    Ok(["schema_version", "machine", "fact"].iter().all(|table| tables.iter().any(|found| found == table)))
}

fn tables_of_server(connection: &Connection) -> Answer<Vec<String>> {
    let sql = "SELECT CAST(tablename AS TEXT) FROM pg_tables WHERE schemaname = current_schema() ORDER BY 1";
    connection.all(sql, (), |row| row.get(0))
}

/// Lays what is missing, if anything is: a reader need not wait for writers,
/// and a replica is read as it is.
pub(crate) fn bring_up_to_date(connection: &Connection) -> Result<(), StoreError> {
    if Some(check(connection)?) == MIGRATIONS.last().map(|newest| newest.version) {
        return Ok(());
    }
    lay(connection, None)
}

/// Lays the migrations that are missing, all or none. A new log is given its
/// machine.
pub(crate) fn lay(connection: &Connection, new: Option<MachineId>) -> Result<(), StoreError> {
    lay_up_to(connection, new, i64::MAX)
}

fn lay_up_to(connection: &Connection, new: Option<MachineId>, last: i64) -> Result<(), StoreError> {
    let transaction = connection.begin_write()?;
    if new.is_some() && matches!(connection, Connection::Postgres(_)) {
        let tables = tables_of_server(connection)?;
        if is_laid(connection)? {
            return Err(StoreError::LogExists);
        }
        if let Some(found) = tables.into_iter().next() {
            return Err(StoreError::OtherTables { found });
        }
    }
    connection.batch(connection.either(SCHEMA_VERSION, SCHEMA_VERSION_OF_SERVER))?;
    let laid = check(connection)?;
    let mut newest = laid;
    for migration in MIGRATIONS.iter().filter(|m| (laid + 1..=last).contains(&m.version)) {
        let text = migration.text(connection);
        connection.batch(text)?;
        connection.run(
            "INSERT INTO schema_version (version, sha256) VALUES (?1, ?2)",
            (migration.version, sha256(text)),
        )?;
        newest = migration.version;
    }
    if newest > laid && !broken_references(connection)?.is_empty() {
        return Err(StoreError::MigrationBroken { version: newest });
    }
    if let Some(machine) = new {
        connection.run("INSERT INTO machine (id, own) VALUES (?1, 1)", [machine.bytes()])?;
    }
    transaction.commit()?;
    Ok(())
}

/// Tables with rows that refer to nothing, and what they refer to.
pub(crate) fn broken_references(connection: &Connection) -> Answer<Vec<(String, String)>> {
    match connection {
        Connection::Sqlite(_) => {
            connection.all("PRAGMA foreign_key_check", (), |row| Ok((row.get(0)?, row.get(2)?)))
        }
        Connection::Postgres(_) => {
            let references = connection.all(REFERENCES, (), |row| {
                Ok((
                    row.get::<String>(0)?,
                    row.get::<String>(1)?,
                    row.get::<String>(2)?,
                    row.get::<String>(3)?,
                ))
            })?;
            let mut broken = Vec::new();
            for (table, column, parent, key) in references {
                let is_broken: bool = connection.only(
                    &format!(
                        "SELECT EXISTS (SELECT 1 FROM {table} x LEFT JOIN {parent} p ON p.{key} = x.{column} \
                         WHERE x.{column} IS NOT NULL AND p.{key} IS NULL)"
                    ),
                    (),
                )?;
                if is_broken {
                    broken.push((table, parent));
                }
            }
            Ok(broken)
        }
    }
}

/// Every reference of a database of PostgreSQL: from which column to which.
const REFERENCES: &str = "SELECT CAST(t.relname AS TEXT), CAST(a.attname AS TEXT), CAST(p.relname AS TEXT), \
     CAST(k.attname AS TEXT) FROM pg_constraint c \
     JOIN pg_class t ON t.oid = c.conrelid JOIN pg_class p ON p.oid = c.confrelid \
     JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1] \
     JOIN pg_attribute k ON k.attrelid = c.confrelid AND k.attnum = c.confkey[1] \
     WHERE c.contype = 'f' AND c.conparentid = 0 AND t.relnamespace = current_schema()::regnamespace ORDER BY 1, 2";

/// The version of the log, after comparing each laid migration with the text
/// of this program.
pub(crate) fn check(connection: &Connection) -> Result<i64, StoreError> {
    let laid: Vec<(i64, Hash)> =
        connection.all("SELECT version, sha256 FROM schema_version ORDER BY version", (), |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?;
    let mut last = 0;
    for (version, found) in laid {
        let known = MIGRATIONS.last().map_or(0, |migration| migration.version);
        let Some(migration) = MIGRATIONS.iter().find(|known| known.version == version) else {
            return Err(StoreError::SchemaTooNew { known, found: version });
        };
        let expected = sha256(migration.text(connection));
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

/// Refuses a log that was not brought up to date: what questions rely on may
/// be missing.
pub(crate) fn check_newest(connection: &Connection) -> Result<(), StoreError> {
    let found = check(connection)?;
    match MIGRATIONS.last().map(|newest| newest.version) {
        Some(expected) if expected != found => Err(StoreError::SchemaTooOld { expected, found }),
        _ => Ok(()),
    }
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
        let connection = Connection::Sqlite(rusqlite::Connection::open(path).unwrap());
        connection.batch(&format!("PRAGMA application_id = {APPLICATION_ID}")).unwrap();
        lay_up_to(&connection, None, 1).unwrap();
        connection.run("ATTACH ?1 AS today", [today.to_str().unwrap()]).unwrap();
        for table in ["machine", "fact", "item", "connector_end", "fact_end", "fact_item", "fact_about"] {
            connection.batch(&format!("INSERT INTO main.{table} SELECT * FROM today.{table}")).unwrap();
        }
        connection.batch("DETACH today").unwrap();
        Store::with_machine_on_record(connection).unwrap()
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
        assert_eq!(Some(check(&store.connection).unwrap()), MIGRATIONS.last().map(|m| m.version));
        assert_eq!(store.linked_facts(0, 10).unwrap(), before);
        let found = store.verify().unwrap();
        assert_eq!((found.facts, found.first_broken), (2, None));
        assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
        for forbidden in ["UPDATE fact SET person = 'x'", "DELETE FROM fact"] {
            assert!(store.connection.batch(forbidden).is_err(), "{forbidden}");
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
        old.connection.batch("PRAGMA foreign_keys = OFF").unwrap();
        old.connection.batch("INSERT INTO fact_end (end_no, happened_at, seq) VALUES (1, 0, 99)").unwrap();
        drop(old);
        assert!(matches!(Store::open(&path), Err(StoreError::MigrationBroken { .. })));
        assert_eq!(check(&Connection::Sqlite(rusqlite::Connection::open(&path).unwrap())).unwrap(), 1);
    }
}
