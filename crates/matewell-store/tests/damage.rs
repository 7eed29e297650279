//! Crashes of a file: half a batch is never there.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

#[expect(dead_code, reason = "shared with the tests of the contract")]
#[path = "contract/bench/mod.rs"]
mod bench;

use bench::{MACHINE, end, held, mated, registrations};
use matewell_lab::Fact;
use matewell_store::{Store, StoreError};
use rusqlite::Connection;
use std::{fmt::Write as _, path::Path, process::Command};

fn filled(path: &Path) -> Store {
    let mut store = Store::create_with_machine(path, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let facts: Vec<Fact> = (10..30).map(|n| mated(n, end(n % 4, 0), end((n + 1) % 4, 1))).collect();
    store.append(&facts).unwrap();
    store
}

#[test]
fn a_batch_cut_short_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    let mut store = filled(&path);
    let expected = store.head().unwrap();
    // A connection that goes away in the middle of its transaction.
    let raw = Connection::open(&path).unwrap();
    raw.execute_batch(
        "BEGIN IMMEDIATE; INSERT INTO fact SELECT 27, zeroblob(16), machine_no, 27, kind, happened_at, resolution,
         sequence, recorded_at, person, source, note, payload, hash FROM fact WHERE seq = 26;",
    )
    .unwrap();
    drop(raw);
    assert_eq!(store.head().unwrap(), expected);
    // A batch whose last fact is refused.
    assert!(store.append(&[held(40, end(0, 0)), held(41, end(9, 9))]).is_err());
    assert_eq!(store.head().unwrap(), expected);
    drop(store);
    // The write-ahead log torn in the middle, as a power cut leaves it.
    let mut store = Store::open(&path).unwrap();
    store.append(&[held(40, end(0, 0))]).unwrap();
    let torn = folder.path().join("torn.sqlite");
    std::fs::copy(&path, &torn).unwrap();
    let wal = std::fs::read(folder.path().join("log.sqlite-wal")).unwrap();
    std::fs::write(folder.path().join("torn.sqlite-wal"), &wal[..wal.len() - 100]).unwrap();
    let torn = Store::open(&torn).unwrap();
    assert_eq!(torn.head().unwrap(), expected);
    assert_eq!(torn.verify().unwrap().first_broken, None);
    assert_eq!(torn.integrity().unwrap(), Vec::<String>::new());
    assert_eq!(store.head().unwrap().map(|(seq, _)| seq), Some(27));
}

#[test]
fn files_that_are_no_log_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    assert!(matches!(Store::open(&path), Err(StoreError::NoFile { .. })));
    drop(filled(&path));
    assert!(matches!(Store::create_with_machine(&path, MACHINE), Err(StoreError::FileExists { .. })));
    let other = folder.path().join("other.sqlite");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE t (a)").unwrap();
    assert!(matches!(Store::open(&other), Err(StoreError::NotALog { .. })));
    let raw = Connection::open(&path).unwrap();
    raw.execute("INSERT INTO schema_version VALUES (900, zeroblob(32))", []).unwrap();
    assert!(matches!(Store::open(&path), Err(StoreError::SchemaTooNew { found: 900, .. })));
    raw.execute_batch(
        "DELETE FROM schema_version WHERE version = 900; UPDATE schema_version SET sha256 = zeroblob(32) WHERE version = 1",
    )
    .unwrap();
    assert!(matches!(Store::open(&path), Err(StoreError::SchemaChanged { version: 1, .. })));
}

#[test]
fn a_copy_is_checked_and_readable_and_a_reader_cannot_write() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    let store = filled(&path);
    let copy = folder.path().join("copy.sqlite");
    assert_eq!(store.back_up(&copy).unwrap().facts, 26);
    assert!(matches!(store.back_up(&copy), Err(StoreError::FileExists { .. })));
    let mut reader = Store::open_read_only(&copy).unwrap();
    assert_eq!(reader.machine(), MACHINE);
    assert_eq!(reader.head().unwrap(), store.head().unwrap());
    assert!(matches!(reader.append(&[held(40, end(0, 0))]), Err(StoreError::Database(_))));
}

#[test]
fn a_reader_sees_what_a_writer_adds() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    let mut writer = filled(&path);
    let reader = Store::open_read_only(&path).unwrap();
    writer.append(&[held(40, end(0, 0))]).unwrap();
    assert_eq!(reader.counts().unwrap().facts, 27);
}

/// The hash is what the README says: a shell and `sha256sum` (GNU coreutils)
/// arrive at the same number from the stored columns.
#[test]
fn an_auditor_recomputes_a_hash_with_coreutils() {
    let folder = tempfile::tempdir().unwrap();
    let store = filled(&folder.path().join("log.sqlite"));
    let facts = store.linked_facts(0, 100).unwrap();
    let mut previous = "0".repeat(64);
    for (_, linked) in &facts {
        let json = linked.to_json().unwrap();
        let fact = &linked.fact;
        let mut text = format!("matewell-fact-1\nprevious {previous}\nmachine {}\n", fact.machine);
        writeln!(text, "machine-sequence {}\nid {}\nkind {}", linked.machine_sequence, fact.id, json.kind)
            .unwrap();
        writeln!(text, "happened-at {}\nresolution instant", fact.happened_at.microseconds()).unwrap();
        writeln!(text, "sequence 0\nrecorded-at {}", fact.recorded_at.microseconds()).unwrap();
        writeln!(text, "person {} {}\nsource bench", fact.person.len(), fact.person).unwrap();
        match &fact.note {
            Some(note) => writeln!(text, "note {} {note}", note.len()).unwrap(),
            None => text.push_str("note -\n"),
        }
        writeln!(text, "payload {} {}", json.payload.get().len(), json.payload.get()).unwrap();
        let file = folder.path().join("fact.txt");
        std::fs::write(&file, text).unwrap();
        let printed = Command::new("sha256sum").arg(&file).output().unwrap().stdout;
        previous = String::from_utf8_lossy(&printed).chars().take(64).collect();
        assert_eq!(json.link.unwrap().sha256, previous);
    }
    assert_eq!(store.head().unwrap(), Some((26, previous)));
}
