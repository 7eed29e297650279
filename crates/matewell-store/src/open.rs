//! Opening a log: one file, its schema, and how SQLite is asked to treat it.

use crate::{StoreError, TouchedBy, chain::hash_text, schema};
use matewell_lab::{EndId, ItemId, MachineId};
use rusqlite::{Connection, OpenFlags, OptionalExtension as _};
use std::{cell::RefCell, collections::HashMap, path::Path, time::Duration};

/// A log in one SQLite file.
///
/// Not shared between threads: a program that serves several gives each its
/// own, one that writes and others opened with [`Store::open_read_only`].
#[derive(Debug)]
pub struct Store {
    pub(crate) connection: Connection,
    pub(crate) machine: MachineId,
    /// Short numbers of ends and items. They never change once written.
    pub(crate) ends: HashMap<EndId, i64>,
    pub(crate) items: HashMap<ItemId, i64>,
    /// The same for what questions met, most of them again and again.
    pub(crate) met: RefCell<HashMap<TouchedBy, i64>>,
}

/// Another process may hold the write lock for the length of a large import.
const BUSY: Duration = Duration::from_secs(10);
/// Statements kept prepared; this room has fewer than that.
const STATEMENTS: usize = 64;

impl Store {
    /// Makes a new log that `machine` will write.
    ///
    /// # Errors
    ///
    /// [`StoreError::FileExists`], [`StoreError::Database`].
    pub fn create_with_machine(path: &Path, machine: MachineId) -> Result<Self, StoreError> {
        if path.exists() {
            return Err(StoreError::FileExists { path: path.to_owned() });
        }
        Self::laid(Connection::open(path)?, machine)
    }

    /// A log that is gone when dropped, for trials and tests.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn in_memory(machine: MachineId) -> Result<Self, StoreError> {
        Self::laid(Connection::open_in_memory()?, machine)
    }

    /// Opens a log to read and to add to, bringing its schema up to date.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoFile`], [`StoreError::NotALog`],
    /// [`StoreError::SchemaTooNew`], [`StoreError::SchemaChanged`],
    /// [`StoreError::NoMachine`], [`StoreError::Database`].
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let mut connection = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        schema::check_mark(&connection)?;
        settle(&connection)?;
        schema::lay(&mut connection)?;
        Self::with_machine_on_record(connection)
    }

    /// Opens a log to read only.
    ///
    /// # Errors
    ///
    /// As [`Store::open`].
    pub fn open_read_only(path: &Path) -> Result<Self, StoreError> {
        let connection = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        schema::check_mark(&connection)?;
        connection.busy_timeout(BUSY)?;
        connection.set_prepared_statement_cache_capacity(STATEMENTS);
        schema::check(&connection)?;
        Self::with_machine_on_record(connection)
    }

    /// The machine that writes this log.
    #[must_use]
    pub fn machine(&self) -> MachineId {
        self.machine
    }

    fn laid(mut connection: Connection, machine: MachineId) -> Result<Self, StoreError> {
        connection.pragma_update(None, "application_id", schema::APPLICATION_ID)?;
        settle(&connection)?;
        schema::lay(&mut connection)?;
        connection.execute("INSERT INTO machine (id, own) VALUES (?1, 1)", [machine.bytes()])?;
        Self::with_machine_on_record(connection)
    }

    fn with_machine_on_record(connection: Connection) -> Result<Self, StoreError> {
        let id: Option<[u8; 16]> =
            connection.query_row("SELECT id FROM machine WHERE own = 1", [], |row| row.get(0)).optional()?;
        let machine = MachineId::from_bytes(id.ok_or(StoreError::NoMachine)?);
        Ok(Self { connection, machine, ends: HashMap::new(), items: HashMap::new(), met: RefCell::default() })
    }

    /// Asks several questions of one state of the log: what another process
    /// adds meanwhile is not seen, and the file is locked once.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`], and what the questions report.
    pub fn in_one_look<T, E: From<StoreError>>(&self, ask: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        if !self.connection.is_autocommit() {
            return ask();
        }
        let look = self.connection.unchecked_transaction().map_err(StoreError::from)?;
        let found = ask();
        // Nothing was written, so rolling back and committing are the same.
        drop(look);
        found
    }

    /// Number and hash of the last fact, or `None` in an empty log. Written
    /// down elsewhere, it shows later that nothing was cut off the end.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn head(&self) -> Result<Option<(u64, String)>, StoreError> {
        let head = self
            .connection
            .prepare_cached("SELECT seq, hash FROM fact ORDER BY seq DESC LIMIT 1")?
            .query_row([], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, [u8; 32]>(1)?)))
            .optional()?;
        Ok(head.map(|(seq, hash)| (crate::row::number(seq), hash_text(&hash))))
    }
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    if !path.is_file() {
        return Err(StoreError::NoFile { path: path.to_owned() });
    }
    Ok(Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?)
}

/// The same settings on every connection that writes. `synchronous = FULL`
/// because a fact that was answered as written must survive a power cut;
/// `recursive_triggers` because a REPLACE would otherwise delete a row without
/// asking the triggers.
fn settle(connection: &Connection) -> Result<(), StoreError> {
    connection.busy_timeout(BUSY)?;
    connection.set_prepared_statement_cache_capacity(STATEMENTS);
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", "ON")?;
    connection.pragma_update(None, "recursive_triggers", "ON")?;
    // 64 MiB of log between checkpoints: batches of an import dirty the same
    // pages of the index again and again, and each is then copied back once.
    connection.pragma_update(None, "wal_autocheckpoint", 16_384)?;
    // 64 MiB: the indexes of a million mates stay in memory during an import.
    connection.pragma_update(None, "cache_size", -65_536)?;
    Ok(())
}
