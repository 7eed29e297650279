//! People and rights on their way into a copy of the log.

use crate::{
    Store, StoreError,
    engine::{Answer, Column, Connection, Value},
};

use Column::{Bytes, Integer, Text};

/// Name of a table, its columns, and which of its rows are taken along.
type Table = (&'static str, &'static [(&'static str, Column)], &'static str);

/// What is referred to comes first. Sessions stay behind: whoever was signed in
/// signs in at the new place.
const TABLES: &[Table] = &[
    (
        "person",
        &[
            ("name_key", Text),
            ("name", Text),
            ("roles", Text),
            ("password", Text),
            ("has_left", Integer),
            ("failed", Integer),
            ("locked_until", Integer),
        ],
        "",
    ),
    ("authorisation", &[("name_key", Text), ("act", Text), ("interface", Text)], ""),
    ("authorisation_required", &[("act", Text), ("interface", Text)], ""),
    (
        "credential",
        &[
            ("sha256", Bytes),
            ("id", Text),
            ("kind", Text),
            ("name_key", Text),
            ("label", Text),
            ("scope", Text),
            ("created_at", Integer),
            ("expires_at", Integer),
            ("ended_at", Integer),
        ],
        "WHERE kind IN ('token', 'calendar')",
    ),
    (
        "right_change",
        &[
            ("seq", Integer),
            ("changed_at", Integer),
            ("changed_by", Text),
            ("what", Text),
            ("person", Text),
            ("detail", Text),
        ],
        "",
    ),
    (
        "webhook",
        &[
            ("id", Text),
            ("url", Text),
            ("secret", Text),
            ("created_at", Integer),
            ("ended_at", Integer),
            ("told_seq", Integer),
            ("told_at", Integer),
            ("failed", Integer),
            ("next_at", Integer),
            ("last_error", Text),
        ],
        "",
    ),
    ("signing_key", &[("one", Integer), ("seed", Bytes), ("created_at", Integer)], ""),
];

enum Cell {
    Integer(Option<i64>),
    Text(Option<String>),
    Bytes(Vec<u8>),
}

impl Cell {
    fn value(&self) -> Value<'_> {
        match self {
            Self::Integer(value) => value.map_or(Value::Null, Value::Integer),
            Self::Text(text) => text.as_deref().map_or(Value::Null, Value::Text),
            Self::Bytes(bytes) => Value::Bytes(bytes),
        }
    }
}

impl Store {
    /// Writes people, rights, tokens and addresses that are told into a copy
    /// that has none.
    pub(crate) fn copy_people(&self, copy: &Connection) -> Result<(), StoreError> {
        for (table, columns, which) in TABLES {
            let names: Vec<&str> = columns.iter().map(|(name, _)| *name).collect();
            let sql = format!("SELECT {} FROM {table} {which}", names.join(", "));
            let rows = self.connection.all(&sql, (), |row| {
                let cells = columns.iter().enumerate().map(|(at, (_, column))| {
                    Ok(match column {
                        Integer => Cell::Integer(row.get(at)?),
                        Text => Cell::Text(row.get(at)?),
                        Bytes => Cell::Bytes(row.get(at)?),
                    })
                });
                cells.collect::<Answer<Vec<_>>>()
            })?;
            let values: Vec<Value<'_>> = rows.iter().flatten().map(Cell::value).collect();
            copy.insert_rows(table, columns, &values, "")?;
        }
        Ok(())
    }
}
