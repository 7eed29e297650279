//! Values on their way into a statement and out of a row.

use super::{Answer, DatabaseError};
use bytes::BytesMut;
use postgres::types::{IsNull, ToSql, Type, to_sql_checked};
use rusqlite::types::{ToSqlOutput, ValueRef};
use std::error::Error;

/// A value of a statement.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Value<'a> {
    Null,
    Integer(i64),
    Text(&'a str),
    Bytes(&'a [u8]),
}

impl rusqlite::ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self {
            Self::Null => ValueRef::Null,
            Self::Integer(value) => ValueRef::Integer(*value),
            Self::Text(text) => ValueRef::Text(text.as_bytes()),
            Self::Bytes(bytes) => ValueRef::Blob(bytes),
        }))
    }
}

impl ToSql for Value<'_> {
    fn to_sql(&self, ty: &Type, out: &mut BytesMut) -> Result<IsNull, Box<dyn Error + Sync + Send>> {
        match self {
            Self::Null => Ok(IsNull::Yes),
            Self::Integer(value) => match *ty {
                Type::INT4 => i32::try_from(*value)?.to_sql(ty, out),
                Type::INT2 => i16::try_from(*value)?.to_sql(ty, out),
                _ => value.to_sql(ty, out),
            },
            // No stored text has U+0000, so one that is looked for is not found.
            Self::Text(text) if text.contains('\0') => text.replace('\0', "\u{fffd}").to_sql(ty, out),
            Self::Text(text) => text.to_sql(ty, out),
            Self::Bytes(bytes) => bytes.to_sql(ty, out),
        }
    }

    fn accepts(ty: &Type) -> bool {
        matches!(*ty, Type::INT8 | Type::INT4 | Type::INT2 | Type::TEXT | Type::VARCHAR | Type::BYTEA)
    }

    to_sql_checked!();
}

/// What can be a value.
pub(crate) trait AsValue {
    fn value(&self) -> Value<'_>;
}

impl AsValue for i64 {
    fn value(&self) -> Value<'_> {
        Value::Integer(*self)
    }
}

impl AsValue for str {
    fn value(&self) -> Value<'_> {
        Value::Text(self)
    }
}

impl AsValue for String {
    fn value(&self) -> Value<'_> {
        Value::Text(self)
    }
}

impl AsValue for [u8] {
    fn value(&self) -> Value<'_> {
        Value::Bytes(self)
    }
}

impl<const N: usize> AsValue for [u8; N] {
    fn value(&self) -> Value<'_> {
        Value::Bytes(self)
    }
}

impl<T: AsValue> AsValue for Option<T> {
    fn value(&self) -> Value<'_> {
        self.as_ref().map_or(Value::Null, AsValue::value)
    }
}

impl<T: AsValue + ?Sized> AsValue for &T {
    fn value(&self) -> Value<'_> {
        (**self).value()
    }
}

/// Values of a statement in the order of its parameters.
pub(crate) trait Params {
    fn give<R>(self, to: impl FnOnce(&[Value<'_>]) -> R) -> R;
}

impl Params for () {
    fn give<R>(self, to: impl FnOnce(&[Value<'_>]) -> R) -> R {
        to(&[])
    }
}

impl<T: AsValue, const N: usize> Params for [T; N] {
    fn give<R>(self, to: impl FnOnce(&[Value<'_>]) -> R) -> R {
        to(&self.each_ref().map(AsValue::value))
    }
}

macro_rules! params_of_tuples {
    ($($($name:ident . $place:tt),+;)+) => {$(
        impl<$($name: AsValue),+> Params for ($($name,)+) {
            fn give<R>(self, to: impl FnOnce(&[Value<'_>]) -> R) -> R {
                to(&[$(self.$place.value()),+])
            }
        }
    )+};
}

params_of_tuples! {
    A.0, B.1;
    A.0, B.1, C.2;
    A.0, B.1, C.2, D.3;
    A.0, B.1, C.2, D.3, E.4;
    A.0, B.1, C.2, D.3, E.4, F.5;
    A.0, B.1, C.2, D.3, E.4, F.5, G.6;
    A.0, B.1, C.2, D.3, E.4, F.5, G.6, H.7, I.8, J.9, K.10, L.11, M.12, N.13;
}

/// A row of an answer.
pub(crate) enum Row<'r> {
    Sqlite(&'r rusqlite::Row<'r>),
    Postgres(&'r postgres::Row),
}

impl Row<'_> {
    /// The value in a column, counted from 0.
    pub(crate) fn get<T: FromCell>(&self, column: usize) -> Answer<T> {
        T::from_cell(self, column)
    }
}

/// What can be read from a column.
pub(crate) trait FromCell: Sized {
    fn from_cell(row: &Row<'_>, column: usize) -> Answer<Self>;
}

macro_rules! cells {
    ($($kind:ty),+) => {$(
        impl FromCell for $kind {
            fn from_cell(row: &Row<'_>, column: usize) -> Answer<Self> {
                match row {
                    Row::Sqlite(row) => Ok(row.get(column)?),
                    Row::Postgres(row) => Ok(row.try_get(column)?),
                }
            }
        }
    )+};
}

cells!(i64, bool, String, Vec<u8>, Option<i64>, Option<String>);

impl<const N: usize> FromCell for [u8; N] {
    fn from_cell(row: &Row<'_>, column: usize) -> Answer<Self> {
        match row {
            Row::Sqlite(row) => Ok(row.get(column)?),
            Row::Postgres(row) => row
                .try_get::<_, &[u8]>(column)?
                .try_into()
                .map_err(|_| DatabaseError::Cell { column, expected: "bytes of a fixed number" }),
        }
    }
}
