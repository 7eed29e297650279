//! The two engines under the log, asked in one way.
//!
//! Statements are written once, with `?1` for parameters, in what SQLite and
//! PostgreSQL both understand; [`dialect`] turns the few words that differ.
//! Everything is blocking: nothing here may run on a thread of an async
//! runtime that must not wait.

mod dialect;
mod secure;
mod server;
mod value;

pub(crate) use secure::{Reached, database_of};
pub(crate) use server::Server;
pub(crate) use value::{AsValue, FromCell, Params, Row, Value};

use std::borrow::Cow;

/// Why a database did not do as asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DatabaseError {
    /// SQLite said no.
    #[error("{0}")]
    Sqlite(#[from] rusqlite::Error),
    /// PostgreSQL said no, or could not be reached.
    #[error("{}", server::told(.0))]
    Postgres(#[from] postgres::Error),
    /// The connection was lost between the begin of a transaction and the
    /// answer to its end. What was not answered as written may be missing.
    #[error("expected the connection to the database to last, found it cut in the middle of a transaction")]
    CutOff,
    /// What a URL says about TLS cannot be done.
    #[error("{0}")]
    Tls(String),
    /// A stored value of another shape than the column promises.
    #[error("expected column {column} to hold {expected}, found something else")]
    Cell {
        /// Place in the answer, from 0.
        column: usize,
        /// What was expected.
        expected: &'static str,
    },
}

/// What the engines answer.
pub(crate) type Answer<T> = Result<T, DatabaseError>;

/// A connection to one of the two engines.
#[derive(Debug)]
pub(crate) enum Connection {
    Sqlite(rusqlite::Connection),
    Postgres(Box<Server>),
}

/// Type of a column of many rows written at once.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Column {
    Integer,
    Text,
    Bytes,
}

impl Connection {
    /// The text of a statement that has to be written twice.
    pub(crate) fn either<'a>(&self, sqlite: &'a str, postgres: &'a str) -> &'a str {
        match self {
            Self::Sqlite(_) => sqlite,
            Self::Postgres(_) => postgres,
        }
    }

    /// The first row of an answer.
    pub(crate) fn one<T>(
        &self,
        sql: &str,
        parameters: impl Params,
        read: impl FnOnce(&Row<'_>) -> Answer<T>,
    ) -> Answer<Option<T>> {
        match self {
            Self::Sqlite(connection) => {
                let mut statement = connection.prepare_cached(sql)?;
                parameters.give(|values| {
                    let mut rows = statement.query(rusqlite::params_from_iter(values))?;
                    rows.next()?.map(|row| read(&Row::Sqlite(row))).transpose()
                })
            }
            Self::Postgres(server) => parameters
                .give(|values| server.query(sql, values))?
                .first()
                .map(|row| read(&Row::Postgres(row)))
                .transpose(),
        }
    }

    /// The only row of an answer that always has one.
    pub(crate) fn only<T: FromCell>(&self, sql: &str, parameters: impl Params) -> Answer<T> {
        self.one(sql, parameters, |row| row.get(0))?
            .ok_or(DatabaseError::Cell { column: 0, expected: "one row" })
    }

    /// All rows of an answer.
    pub(crate) fn all<T>(
        &self,
        sql: &str,
        parameters: impl Params,
        mut read: impl FnMut(&Row<'_>) -> Answer<T>,
    ) -> Answer<Vec<T>> {
        match self {
            Self::Sqlite(connection) => {
                let mut statement = connection.prepare_cached(sql)?;
                parameters.give(|values| {
                    let mut rows = statement.query(rusqlite::params_from_iter(values))?;
                    let mut found = Vec::new();
                    while let Some(row) = rows.next()? {
                        found.push(read(&Row::Sqlite(row))?);
                    }
                    Ok(found)
                })
            }
            Self::Postgres(server) => parameters
                .give(|values| server.query(sql, values))?
                .iter()
                .map(|row| read(&Row::Postgres(row)))
                .collect(),
        }
    }

    /// Reads the rows of an answer one after the other, as long as they are
    /// wanted. Nothing else may be asked meanwhile.
    pub(crate) fn visit(
        &self,
        sql: &str,
        parameters: impl Params,
        mut read: impl FnMut(&Row<'_>) -> Answer<bool>,
    ) -> Answer<()> {
        match self {
            Self::Sqlite(connection) => {
                let mut statement = connection.prepare_cached(sql)?;
                parameters.give(|values| {
                    let mut rows = statement.query(rusqlite::params_from_iter(values))?;
                    while let Some(row) = rows.next()? {
                        if !read(&Row::Sqlite(row))? {
                            break;
                        }
                    }
                    Ok(())
                })
            }
            Self::Postgres(server) => {
                for row in parameters.give(|values| server.query(sql, values))? {
                    if !read(&Row::Postgres(&row))? {
                        break;
                    }
                }
                Ok(())
            }
        }
    }

    /// Does something and says how many rows it changed.
    pub(crate) fn run(&self, sql: &str, parameters: impl Params) -> Answer<u64> {
        self.prepared(sql)?.run(parameters)
    }

    /// A statement to be run again and again.
    pub(crate) fn prepared(&self, sql: &str) -> Answer<Prepared<'_>> {
        Ok(match self {
            Self::Sqlite(connection) => Prepared::Sqlite(connection.prepare_cached(sql)?),
            Self::Postgres(server) => Prepared::Postgres(server, sql.to_owned()),
        })
    }

    /// Writes many rows, given one after the other in `values`. `conflict`
    /// says what becomes of a row that is there already.
    pub(crate) fn insert_rows(
        &self,
        table: &str,
        columns: &[(&str, Column)],
        values: &[Value<'_>],
        conflict: &str,
    ) -> Answer<()> {
        if values.is_empty() {
            return Ok(());
        }
        let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
        let names = names.join(", ");
        match self {
            Self::Sqlite(connection) => {
                let marks: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
                let mut insert = connection.prepare_cached(&format!(
                    "INSERT INTO {table} ({names}) VALUES ({}) {conflict}",
                    marks.join(", ")
                ))?;
                for row in values.chunks_exact(columns.len()) {
                    insert.execute(rusqlite::params_from_iter(row))?;
                }
                Ok(())
            }
            Self::Postgres(server) => {
                server.insert_rows(&format!("{table} ({names})"), columns, values, conflict)
            }
        }
    }

    /// Several statements of one engine, without parameters.
    pub(crate) fn batch(&self, text: &str) -> Answer<()> {
        match self {
            Self::Sqlite(connection) => Ok(connection.execute_batch(text)?),
            Self::Postgres(server) => server.batch(text),
        }
    }

    /// Whether a transaction is open.
    pub(crate) fn in_transaction(&self) -> bool {
        match self {
            Self::Sqlite(connection) => !connection.is_autocommit(),
            Self::Postgres(server) => server.in_transaction(),
        }
    }

    /// Begins to write. Writers take turns: the next one waits here.
    pub(crate) fn begin_write(&self) -> Answer<Transaction<'_>> {
        match self {
            Self::Sqlite(connection) => connection.execute_batch("BEGIN IMMEDIATE")?,
            Self::Postgres(server) => server.begin_write()?,
        }
        Ok(Transaction { connection: self, open: true })
    }

    /// Begins to ask several questions of one state.
    pub(crate) fn begin_look(&self) -> Answer<Transaction<'_>> {
        match self {
            Self::Sqlite(connection) => connection.execute_batch("BEGIN")?,
            Self::Postgres(server) => server.begin("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")?,
        }
        Ok(Transaction { connection: self, open: true })
    }

    /// Rows asked about, as a table `ask` with the columns `ask.no`,
    /// `ask.first` and `ask.past`, out of a parameter that is a JSON list of
    /// lists of three numbers.
    pub(crate) fn asks<'s>(&self, sql: &'s str) -> Cow<'s, str> {
        match self {
            Self::Sqlite(_) => Cow::Owned(
                sql.replace("{asks}", "json_each(?1) ask")
                    .replace("ask.no", "ask.value ->> 0")
                    .replace("ask.first", "ask.value ->> 1")
                    .replace("ask.past", "ask.value ->> 2"),
            ),
            Self::Postgres(_) => Cow::Owned(sql.replace(
                "{asks}",
                "(SELECT (value ->> 0)::bigint AS no, (value ->> 1)::bigint AS first, \
                 (value ->> 2)::bigint AS past FROM json_array_elements(?1::text::json)) ask",
            )),
        }
    }
}

/// A statement to be run again and again.
pub(crate) enum Prepared<'c> {
    Sqlite(rusqlite::CachedStatement<'c>),
    Postgres(&'c Server, String),
}

impl Prepared<'_> {
    /// Does it and says how many rows it changed.
    pub(crate) fn run(&mut self, parameters: impl Params) -> Answer<u64> {
        match self {
            Self::Sqlite(statement) => parameters
                .give(|values| statement.execute(rusqlite::params_from_iter(values)))
                .map(|changed| changed as u64)
                .map_err(DatabaseError::from),
            Self::Postgres(server, sql) => parameters.give(|values| server.execute(sql, values)),
        }
    }
}

/// An open transaction; dropped without [`Transaction::commit`] it leaves
/// nothing behind.
#[derive(Debug)]
pub(crate) struct Transaction<'c> {
    connection: &'c Connection,
    open: bool,
}

impl Transaction<'_> {
    /// Keeps what was written.
    pub(crate) fn commit(mut self) -> Answer<()> {
        match self.connection {
            Connection::Sqlite(connection) => connection.execute_batch("COMMIT")?,
            Connection::Postgres(server) => server.end("COMMIT")?,
        }
        self.open = false;
        Ok(())
    }
}

impl Drop for Transaction<'_> {
    fn drop(&mut self) {
        if self.open && self.connection.in_transaction() {
            // The connection may be gone; then the server rolls back by itself.
            let _rolled_back = match self.connection {
                Connection::Sqlite(connection) => connection.execute_batch("ROLLBACK").map_err(Into::into),
                Connection::Postgres(server) => server.end("ROLLBACK"),
            };
        }
    }
}
