//! Opening a log: its schema, and how the engine is asked to treat it.

use crate::{
    Place, StoreError, TouchedBy,
    chain::hash_text,
    engine::{Connection, DatabaseError, Server},
    schema,
};
use matewell_lab::{EndId, ItemId, MachineId};
use rusqlite::{OpenFlags, config::DbConfig};
use std::{cell::RefCell, collections::HashMap, time::Duration};

/// A log in one file of SQLite, or in one database of PostgreSQL.
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
    pub(crate) left_behind: Option<u64>,
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
    /// [`StoreError::FileExists`], [`StoreError::LogExists`],
    /// [`StoreError::OtherTables`], [`StoreError::Database`].
    pub fn create_with_machine(place: impl Into<Place>, machine: MachineId) -> Result<Self, StoreError> {
        match place.into() {
            Place::File(path) if path.exists() => Err(StoreError::FileExists { path }),
            Place::File(path) => Self::laid(
                Connection::Sqlite(rusqlite::Connection::open(path).map_err(DatabaseError::from)?),
                machine,
            ),
            Place::Server(url) => {
                Self::laid(Connection::Postgres(Box::new(Server::connect(&url, false)?)), machine)
            }
        }
    }

    /// A log that is gone when dropped, for trials and tests.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn in_memory(machine: MachineId) -> Result<Self, StoreError> {
        let connection = rusqlite::Connection::open_in_memory().map_err(DatabaseError::from)?;
        Self::laid(Connection::Sqlite(connection), machine)
    }

    /// Opens a log to read and to add to, bringing its schema up to date.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoFile`], [`StoreError::NotALog`],
    /// [`StoreError::NoLog`], [`StoreError::SchemaTooNew`],
    /// [`StoreError::SchemaChanged`], [`StoreError::NoMachine`],
    /// [`StoreError::Database`].
    pub fn open(place: impl Into<Place>) -> Result<Self, StoreError> {
        let place = place.into();
        let left_behind = left_behind(&place);
        let connection = connect(&place, false)?;
        let left_behind = left_behind.filter(|_| is_alone(&connection));
        settle(&connection)?;
        schema::bring_up_to_date(&connection)?;
        let mut store = Self::with_machine_on_record(connection)?;
        store.left_behind = left_behind;
        Ok(store)
    }

    /// Whether there is a log at a place, or something that is no log.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn exists(place: impl Into<Place>) -> Result<bool, StoreError> {
        match place.into() {
            Place::File(path) => Ok(path.exists()),
            Place::Server(url) => {
                schema::is_laid(&Connection::Postgres(Box::new(Server::connect(&url, true)?)))
            }
        }
    }

    /// Opens a log to read only.
    ///
    /// # Errors
    ///
    /// As [`Store::open`].
    pub fn open_read_only(place: impl Into<Place>) -> Result<Self, StoreError> {
        let place = place.into();
        let connection = connect(&place, true)?;
        if let Connection::Sqlite(file) = &connection {
            wait_for_others(file)?;
        }
        Self::read_only(connection, &place)
    }

    /// Opens a log for questions of every kind, which an older schema could not
    /// answer.
    ///
    /// # Errors
    ///
    /// [`StoreError::SchemaTooOld`], and as [`Store::open_read_only`].
    pub fn open_to_ask(place: impl Into<Place>) -> Result<Self, StoreError> {
        let store = Self::open_read_only(place)?;
        schema::check_newest(&store.connection)?;
        Ok(store)
    }

    pub(crate) fn read_only(connection: Connection, place: &Place) -> Result<Self, StoreError> {
        schema::check_mark(&connection, place)?;
        schema::check(&connection)?;
        Self::with_machine_on_record(connection)
    }

    /// The machine that writes this log.
    #[must_use]
    pub fn machine(&self) -> MachineId {
        self.machine
    }

    fn laid(connection: Connection, machine: MachineId) -> Result<Self, StoreError> {
        if let Connection::Sqlite(file) = &connection {
            file.pragma_update(None, "application_id", schema::APPLICATION_ID)
                .map_err(DatabaseError::from)?;
        }
        settle(&connection)?;
        schema::lay(&connection, Some(machine))?;
        Self::with_machine_on_record(connection)
    }

    pub(crate) fn with_machine_on_record(connection: Connection) -> Result<Self, StoreError> {
        let id = connection.one("SELECT id FROM machine WHERE own = 1", (), |row| row.get(0))?;
        let machine = MachineId::from_bytes(id.ok_or(StoreError::NoMachine)?);
        Ok(Self {
            connection,
            machine,
            ends: HashMap::new(),
            items: HashMap::new(),
            met: RefCell::default(),
            left_behind: None,
        })
    }

    /// Asks several questions of one state of the log: what another process
    /// adds meanwhile is not seen, and the file is locked once.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`], and what the questions report.
    pub fn in_one_look<T, E: From<StoreError>>(&self, ask: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        if self.connection.in_transaction() {
            return ask();
        }
        let look = self.connection.begin_look().map_err(StoreError::from)?;
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
        let head =
            self.connection.one("SELECT seq, hash FROM fact ORDER BY seq DESC LIMIT 1", (), |row| {
                Ok((row.get::<i64>(0)?, row.get::<[u8; 32]>(1)?))
            })?;
        Ok(head.map(|(seq, hash)| (crate::row::number(seq), hash_text(&hash))))
    }
}

/// Bytes of a write-ahead log beside a file that nobody has opened yet.
fn left_behind(place: &Place) -> Option<u64> {
    let Place::File(path) = place else { return None };
    let mut beside = path.clone().into_os_string();
    beside.push("-wal");
    std::fs::metadata(beside).ok().map(|found| found.len()).filter(|bytes| *bytes > 0)
}

/// Whether nobody else has the file open: only then it can leave the mode with
/// a write-ahead log, for the moment until it is settled.
fn is_alone(connection: &Connection) -> bool {
    let mode = connection.one("PRAGMA journal_mode = DELETE", (), |row| row.get::<String>(0));
    matches!(mode, Ok(Some(mode)) if mode == "delete")
}

fn connect(place: &Place, read_only: bool) -> Result<Connection, StoreError> {
    let connection = match place {
        Place::File(path) if !path.is_file() => return Err(StoreError::NoFile { path: path.clone() }),
        Place::File(path) => {
            let flags =
                if read_only { OpenFlags::SQLITE_OPEN_READ_ONLY } else { OpenFlags::SQLITE_OPEN_READ_WRITE };
            let file = rusqlite::Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX);
            Connection::Sqlite(file.map_err(DatabaseError::from)?)
        }
        Place::Server(url) => Connection::Postgres(Box::new(Server::connect(url, read_only)?)),
    };
    schema::check_mark(&connection, place)?;
    Ok(connection)
}

fn wait_for_others(file: &rusqlite::Connection) -> Result<(), DatabaseError> {
    file.busy_timeout(BUSY)?;
    file.set_prepared_statement_cache_capacity(STATEMENTS);
    // A plan does not look at the values of parameters. Else SQLite prepares a
    // statement again whenever a value changes that a partial index, or a
    // LIKE, might make use of: a quarter of the time of a trace.
    file.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    Ok(())
}

/// The same settings on every connection to a file that writes.
/// `synchronous = FULL` because a fact that was answered as written must
/// survive a power cut; `recursive_triggers` because a REPLACE would otherwise
/// delete a row without asking the triggers.
fn settle(connection: &Connection) -> Result<(), DatabaseError> {
    let Connection::Sqlite(file) = connection else { return Ok(()) };
    wait_for_others(file)?;
    file.pragma_update(None, "journal_mode", "WAL")?;
    file.pragma_update(None, "synchronous", "FULL")?;
    file.pragma_update(None, "foreign_keys", "ON")?;
    file.pragma_update(None, "recursive_triggers", "ON")?;
    // 64 MiB of log between checkpoints: batches of an import dirty the same
    // pages of the index again and again, and each is then copied back once.
    file.pragma_update(None, "wal_autocheckpoint", 16_384)?;
    // 64 MiB: the indexes of a million mates stay in memory during an import.
    file.pragma_update(None, "cache_size", -65_536)?;
    Ok(())
}
