//! Use cases on whole labs.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod bench;
mod import_export;
mod lab;
mod ninety_days;
mod sweeps;
