//! Use cases on whole labs.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod bench;
mod cases;
mod drift;
mod gauging;
mod import_export;
mod kits;
mod lab;
mod many_cases;
mod merge;
mod merge_far;
mod ninety_days;
mod old_files;
mod policies;
mod studies;
mod sweeps;
mod trace;
