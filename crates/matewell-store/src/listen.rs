//! Hearing of what others wrote into the same database.

use crate::{
    DatabaseError, Place, Store, StoreError,
    engine::{Connection, Reached},
};
use postgres::{Client, fallible_iterator::FallibleIterator as _};
use std::time::Duration;

/// The channel that writers announce on.
pub(crate) const CHANNEL: &str = "matewell";

/// Something was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// The session that wrote it: compare [`Store::session`].
    pub session: i32,
    /// Number of the last fact then.
    pub last_number: u64,
}

/// Hears of what others write into a database of PostgreSQL. Blocking: it
/// belongs on a thread of its own, and is dropped there.
pub struct Listener {
    reached: Reached,
    client: Option<Client>,
}

impl Listener {
    /// Listens at a place; nothing for a file, which announces nothing.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn open(place: impl Into<Place>) -> Result<Option<Self>, StoreError> {
        let Place::Server(url) = place.into() else { return Ok(None) };
        let mut listener = Self { reached: Reached::by(&url)?, client: None };
        listener.connected()?;
        Ok(Some(listener))
    }

    /// Waits for the next change, at most so long. A connection that was lost
    /// is made again by the next call; what was announced meanwhile is not
    /// heard, so ask for what came since the last number seen.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn wait(&mut self, at_most: Duration) -> Result<Option<Change>, StoreError> {
        let client = self.connected()?;
        let heard = client.notifications().timeout_iter(at_most).next();
        if client.is_closed() || heard.is_err() {
            self.client = None;
        }
        let heard = heard.map_err(DatabaseError::from)?;
        Ok(heard.map(|heard| Change {
            session: heard.process_id(),
            last_number: heard.payload().parse().unwrap_or(0),
        }))
    }

    fn connected(&mut self) -> Result<&mut Client, DatabaseError> {
        if self.client.is_none() {
            let mut client = self.reached.connect()?;
            client.batch_execute(&format!("LISTEN {CHANNEL}"))?;
            self.client = Some(client);
        }
        self.client.as_mut().ok_or(DatabaseError::CutOff)
    }
}

impl Store {
    /// The number of this session on its server, as [`Change::session`] has
    /// it; none for a file.
    #[must_use]
    pub fn session(&self) -> Option<i32> {
        match &self.connection {
            Connection::Sqlite(_) => None,
            Connection::Postgres(server) => server.session(),
        }
    }
}
