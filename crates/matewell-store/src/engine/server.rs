//! A connection to PostgreSQL that is made again after it was lost.

use super::{Answer, Column, DatabaseError, Reached, Value, dialect::for_postgres};
use postgres::{Client, Row, Statement, error::SqlState, types::ToSql};
use std::{
    cell::{Cell, RefCell},
    collections::HashMap,
    fmt,
    time::Duration,
};

/// How long to wait between two attempts, and how often to try: ten seconds,
/// as long as a file of SQLite is waited for.
const PAUSE: Duration = Duration::from_millis(100);
const ATTEMPTS: u32 = 100;
/// How long a replica is waited for: the primary answers too.
const REPLICA: Duration = Duration::from_secs(3);

/// Of every session: as durable as SQLite with `synchronous = FULL` whatever
/// the server was set to, and a writer waits for its turn as long as there.
/// Questions are not compiled: on a large log that took 0.4 s for one that
/// reads four pages.
const SETTINGS: &str = "SELECT set_config('synchronous_commit', 'on', false) \
     WHERE current_setting('synchronous_commit') = 'off'; SET lock_timeout = '10s'; SET jit = off";

/// The lock that writers of one database take in turn: the letters "MTWL".
const WRITER: i64 = 0x4d54_574c;

/// A connection to PostgreSQL.
pub(crate) struct Server {
    reached: Reached,
    read_only: bool,
    /// A session that is lost stays lost.
    once: bool,
    session: RefCell<Option<Session>>,
    transaction: Cell<bool>,
    /// Whether anything was written, or may have been.
    written: Cell<bool>,
}

struct Session {
    client: Client,
    number: i32,
    /// By the text for SQLite. This room has few statements, so all are kept.
    statements: HashMap<String, Statement>,
}

impl fmt::Debug for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Server").field("transaction", &self.transaction).finish_non_exhaustive()
    }
}

impl Session {
    fn statement(&mut self, sql: &str) -> Result<Statement, postgres::Error> {
        if let Some(known) = self.statements.get(sql) {
            return Ok(known.clone());
        }
        let statement = self.client.prepare(&for_postgres(sql))?;
        self.statements.insert(sql.to_owned(), statement.clone());
        Ok(statement)
    }
}

impl Server {
    /// Connects to the database of a URL.
    pub(crate) fn connect(url: &str, read_only: bool) -> Answer<Self> {
        let mut reached = Reached::by(url)?;
        if reached.config.get_connect_timeout().is_none() {
            reached.config.connect_timeout(Duration::from_secs(10));
        }
        Self::reach(reached, read_only, false)
    }

    /// Connects to a replica: what is lost is not made again, and a host that
    /// says nothing is not waited for.
    pub(crate) fn connect_replica(url: &str) -> Answer<Self> {
        let mut reached = Reached::by(url)?;
        reached
            .config
            .connect_timeout(REPLICA)
            .tcp_user_timeout(REPLICA)
            .application_name("matewell replica");
        Self::reach(reached, true, true)
    }

    fn reach(reached: Reached, read_only: bool, once: bool) -> Answer<Self> {
        let session = RefCell::new(Some(reach(&reached, read_only, false)?));
        let (transaction, written) = (Cell::new(false), Cell::new(false));
        Ok(Self { reached, read_only, once, session, transaction, written })
    }

    /// Whether anything was written, or may have been, since the last time.
    pub(crate) fn take_written(&self) -> bool {
        self.written.take()
    }

    /// The number the server gave this session.
    pub(crate) fn session(&self) -> Option<i32> {
        self.session.borrow().as_ref().map(|session| session.number)
    }

    pub(crate) fn in_transaction(&self) -> bool {
        self.transaction.get()
    }

    pub(crate) fn query(&self, sql: &str, values: &[Value<'_>]) -> Answer<Vec<Row>> {
        self.ask(|session| {
            let statement = session.statement(sql)?;
            session.client.query(&statement, &given(values))
        })
    }

    pub(crate) fn execute(&self, sql: &str, values: &[Value<'_>]) -> Answer<u64> {
        self.written.set(true);
        self.ask(|session| {
            let statement = session.statement(sql)?;
            session.client.execute(&statement, &given(values))
        })
    }

    pub(crate) fn batch(&self, text: &str) -> Answer<()> {
        self.ask(|session| session.client.batch_execute(text))
    }

    /// One statement for any number of rows: each column is a list.
    pub(crate) fn insert_rows(
        &self,
        into: &str,
        columns: &[(&str, Column)],
        values: &[Value<'_>],
        conflict: &str,
    ) -> Answer<()> {
        let lists: Vec<String> = (1..)
            .zip(columns)
            .map(|(n, (_, column))| match column {
                Column::Integer => format!("?{n}::bigint[]"),
                Column::Text => format!("?{n}::text[]"),
                Column::Bytes => format!("?{n}::bytea[]"),
            })
            .collect();
        let sql = format!("INSERT INTO {into} SELECT * FROM unnest({}) {conflict}", lists.join(", "));
        let lists: Vec<Vec<Value<'_>>> = (0..columns.len())
            .map(|column| values.iter().skip(column).step_by(columns.len()).copied().collect())
            .collect();
        self.ask(|session| {
            let statement = session.statement(&sql)?;
            let lists: Vec<&(dyn ToSql + Sync)> = lists.iter().map(|l| l as &(dyn ToSql + Sync)).collect();
            session.client.execute(&statement, &lists).map(drop)
        })
    }

    /// Begins to write when it is this writer's turn.
    pub(crate) fn begin_write(&self) -> Answer<()> {
        self.written.set(true);
        self.begin(&format!("BEGIN; SELECT pg_advisory_xact_lock({WRITER})"))
    }

    pub(crate) fn begin(&self, text: &str) -> Answer<()> {
        let begun = self.batch(text);
        // A turn that did not come leaves a transaction in which nothing can be done.
        self.transaction.set(true);
        if begun.is_err() {
            let _rolled_back = self.end("ROLLBACK");
        }
        begun
    }

    pub(crate) fn end(&self, text: &str) -> Answer<()> {
        let ended = self.batch(text);
        self.transaction.set(false);
        ended
    }

    /// Asks, and when the connection was lost outside of a transaction
    /// connects and asks once more. Within one everything before is gone.
    fn ask<T>(&self, ask: impl Fn(&mut Session) -> Result<T, postgres::Error>) -> Answer<T> {
        let mut held = self.session.borrow_mut();
        if let Some(session) = held.as_mut().filter(|session| !session.client.is_closed()) {
            match ask(session) {
                Err(error) if is_lost(&error) || session.client.is_closed() => {}
                answer => return Ok(answer?),
            }
        }
        if let Some(lost) = held.take() {
            off_this_thread(lost);
        }
        if self.transaction.get() || self.once {
            return Err(DatabaseError::CutOff);
        }
        let session = held.insert(reach(&self.reached, self.read_only, true)?);
        Ok(ask(session)?)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let Some(session) = self.session.take() {
            off_this_thread(session);
        }
    }
}

/// Ends a session on a thread of its own: the client waits for its connection
/// to close, which it must not do on a thread of an async runtime.
fn off_this_thread(session: Session) {
    let _ended = std::thread::spawn(move || drop(session)).join();
}

/// Connects; `patient` waits for a server that is starting again.
fn reach(reached: &Reached, read_only: bool, patient: bool) -> Result<Session, postgres::Error> {
    let mut attempt = 0;
    let mut client = loop {
        attempt += 1;
        match reached.connect() {
            Ok(client) => break client,
            Err(error)
                if attempt < ATTEMPTS && (is_starting(&error) || patient && error.code().is_none()) =>
            {
                std::thread::sleep(PAUSE);
            }
            Err(error) => return Err(error),
        }
    };
    client.batch_execute(SETTINGS)?;
    if read_only {
        client.batch_execute("SET default_transaction_read_only = on")?;
    }
    let number = client.query_one("SELECT pg_backend_pid()", &[])?.get(0);
    Ok(Session { client, number, statements: HashMap::new() })
}

fn is_starting(error: &postgres::Error) -> bool {
    error.code() == Some(&SqlState::CANNOT_CONNECT_NOW)
}

fn is_lost(error: &postgres::Error) -> bool {
    let class = error.code().map_or("", |code| code.code().get(..3).unwrap_or_default());
    error.is_closed() || class == "57P" || class.starts_with("08")
}

fn given<'v>(values: &'v [Value<'v>]) -> Vec<&'v (dyn ToSql + Sync)> {
    values.iter().map(|value| value as &(dyn ToSql + Sync)).collect()
}

/// What PostgreSQL said, in one line and without the statement.
pub(super) fn told(error: &postgres::Error) -> String {
    let Some(said) = error.as_db_error() else {
        let cause = std::error::Error::source(error).map(|cause| format!(": {cause}")).unwrap_or_default();
        let said = error.to_string();
        return if said.contains("TLS handshake") {
            format!("expected TLS as sslmode asks for, found {}", cause.trim_start_matches(": "))
        } else {
            format!("{said}{cause}")
        };
    };
    let detail = said.detail().map(|detail| format!(" ({detail})")).unwrap_or_default();
    format!("{}{detail}", said.message())
}
