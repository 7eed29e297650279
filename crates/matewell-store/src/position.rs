//! How far a server's own log has come, so that an answer of a replica is
//! never older than what was written before.

use crate::{
    Store, StoreError,
    engine::{Connection, Server},
};
use std::path::Path;

/// A place in the write-ahead log of PostgreSQL, in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LogPosition(pub u64);

/// How far a replica has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Replayed {
    /// Everything up to here is seen by questions.
    pub position: LogPosition,
    /// Milliseconds since the last transaction that it took over was written;
    /// no lag by itself, when nothing has been written since.
    pub last_write_ms: Option<u64>,
}

impl Store {
    /// Opens the log on a replica, for questions only. A connection that is
    /// lost is not made again by itself: another server may answer then.
    ///
    /// # Errors
    ///
    /// As [`Store::open_to_ask`]; [`StoreError::NotAReplica`] for a file, or
    /// a server that may be written to.
    pub fn open_replica(url: &Path) -> Result<Self, StoreError> {
        let place = crate::Place::from(url);
        let crate::Place::Server(url) = &place else {
            return Err(StoreError::NotAReplica { place: place.to_string() });
        };
        let connection = Connection::Postgres(Box::new(Server::connect_replica(url)?));
        let store = Self::read_only(connection, &place)?;
        crate::schema::check_newest(&store.connection)?;
        if store.replayed()?.is_none() {
            return Err(StoreError::NotAReplica { place: place.to_string() });
        }
        Ok(store)
    }

    /// The end of the server's log: whoever has replayed it to here has seen
    /// everything that was answered as written. None for a file.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`]; on a replica, which has no end of its own.
    pub fn position(&self) -> Result<Option<LogPosition>, StoreError> {
        if matches!(self.connection, Connection::Sqlite(_)) {
            return Ok(None);
        }
        let sql = "SELECT CAST(pg_current_wal_flush_lsn() - '0/0'::pg_lsn AS BIGINT)";
        Ok(Some(LogPosition(self.count(sql, ())?)))
    }

    /// How far a replica has come; none for a file, or for a server that may be
    /// written to.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn replayed(&self) -> Result<Option<Replayed>, StoreError> {
        if matches!(self.connection, Connection::Sqlite(_)) {
            return Ok(None);
        }
        let sql = "SELECT CAST(pg_last_wal_replay_lsn() - '0/0'::pg_lsn AS BIGINT), \
             CAST(1000 * extract(epoch FROM now() - pg_last_xact_replay_timestamp()) AS BIGINT) \
             WHERE pg_is_in_recovery()";
        let found = self
            .connection
            .one(sql, (), |row| Ok((row.get::<Option<i64>>(0)?, row.get::<Option<i64>>(1)?)))?;
        Ok(found.and_then(|(position, since)| {
            Some(Replayed {
                position: LogPosition(crate::row::number(position?)),
                last_write_ms: since.map(crate::row::number),
            })
        }))
    }

    /// Which cluster of servers this is: the primary and its replicas say the
    /// same. None for a file.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn cluster(&self) -> Result<Option<String>, StoreError> {
        if matches!(self.connection, Connection::Sqlite(_)) {
            return Ok(None);
        }
        let sql = "SELECT CAST(system_identifier AS TEXT) FROM pg_control_system()";
        Ok(Some(self.connection.only(sql, ())?))
    }

    /// Whether anything was written, or may have been, since this was last
    /// asked; always no for a file.
    pub fn take_written(&self) -> bool {
        match &self.connection {
            Connection::Sqlite(_) => false,
            Connection::Postgres(server) => server.take_written(),
        }
    }
}
