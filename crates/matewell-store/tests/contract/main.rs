//! The promises of the log, one test each, on both engines.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]
#![expect(clippy::duplicate_mod, reason = "the same promises are asked of two engines")]

mod bench;
mod cluster;
mod old;
mod on_postgres;
mod on_sqlite;
mod schema;
mod tls;
