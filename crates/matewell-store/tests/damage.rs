//! Crashes and tampering: half a batch is never there, and a changed, removed
//! or inserted row is found and named.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

#[expect(dead_code, reason = "shared with the tests in log.rs")]
mod bench;

use bench::{MACHINE, end, held, id, mated, registrations};
use matewell_lab::{Fact, FactId};
use matewell_store::{Broken, BrokenLink, Store, StoreError};
use rusqlite::Connection;
use std::{fmt::Write as _, path::Path, process::Command};

fn filled(path: &Path) -> Store {
    let mut store = Store::create_with_machine(path, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let facts: Vec<Fact> = (10..30).map(|n| mated(n, end(n % 4, 0), end((n + 1) % 4, 1))).collect();
    store.append(&facts).unwrap();
    store
}

const DROP_TRIGGERS: &str = "DROP TRIGGER fact_is_not_updated; DROP TRIGGER fact_is_not_deleted;";

/// What `verify` says after somebody with the file went at it with SQL.
fn after(sql: &str) -> Option<Broken> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    drop(filled(&path));
    let raw = Connection::open(&path).unwrap();
    raw.execute_batch(&format!("PRAGMA foreign_keys = OFF; {DROP_TRIGGERS} {sql}")).unwrap();
    drop(raw);
    Store::open(&path).unwrap().verify().unwrap().first_broken
}

fn broken(seq: u64, count: u32, what: BrokenLink) -> Broken {
    Broken { seq, id: id(count), what }
}

#[test]
fn an_untouched_log_verifies() {
    assert_eq!(after(""), None);
}

#[test]
fn every_changed_column_is_found() {
    for change in [
        "kind = 'parted'",
        "happened_at = happened_at + 1",
        "resolution = 'day'",
        "sequence = 1",
        "recorded_at = recorded_at + 1",
        "person = person || ' '",
        "source = 'import'",
        "note = ''",
        "payload = payload || ' '",
        "id = zeroblob(16)",
        "hash = zeroblob(32)",
    ] {
        let found = after(&format!("UPDATE fact SET {change} WHERE seq = 9;")).map(|b| (b.seq, b.what));
        assert_eq!(found, Some((9, BrokenLink::Hash)), "{change}");
    }
    assert_eq!(after("UPDATE machine SET id = zeroblob(16);").map(|b| b.seq), Some(1));
}

#[test]
fn a_change_with_its_own_hash_mended_breaks_at_the_next() {
    // Whoever mends the hash of one fact must mend all that follow.
    let sql = "UPDATE fact SET hash = (SELECT hash FROM fact WHERE seq = 20) WHERE seq = 9;";
    assert_eq!(after(sql), Some(broken(9, 12, BrokenLink::Hash)));
}

#[test]
fn a_removed_fact_is_found_at_the_next() {
    assert_eq!(after("DELETE FROM fact WHERE seq = 9;"), Some(broken(10, 13, BrokenLink::Hole)));
    let closed = "DELETE FROM fact WHERE seq = 9;
        UPDATE fact SET seq = seq - 1 WHERE seq = 10;
        UPDATE fact SET seq = seq - 1 WHERE seq = 11;";
    assert_eq!(after(closed), Some(broken(9, 13, BrokenLink::Place)));
    let renumbered = "DELETE FROM fact WHERE seq = 9;
        UPDATE fact SET seq = 9, machine_seq = 9 WHERE seq = 10;";
    assert_eq!(after(renumbered), Some(broken(9, 13, BrokenLink::Hash)));
}

#[test]
fn an_inserted_fact_is_found() {
    let sql =
        "INSERT INTO fact SELECT 27, zeroblob(16), machine_no, 27, kind, happened_at, resolution, sequence,
        recorded_at, person, source, note, payload, hash FROM fact WHERE seq = 26;";
    let found = after(sql).unwrap();
    assert_eq!((found.seq, found.id, found.what), (27, FactId::from_bytes([0; 16]), BrokenLink::Hash));
}

#[test]
fn two_facts_that_changed_places_are_found() {
    let sql = "UPDATE fact SET seq = 1000 WHERE seq = 9; UPDATE fact SET seq = 9 WHERE seq = 10;
        UPDATE fact SET seq = 10 WHERE seq = 1000;";
    assert_eq!(after(sql), Some(broken(9, 13, BrokenLink::Place)));
}

#[test]
fn facts_cut_off_the_end_show_in_the_references_and_the_head() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    let head = filled(&path).head().unwrap();
    let raw = Connection::open(&path).unwrap();
    raw.execute_batch(&format!(
        "PRAGMA foreign_keys = OFF; {DROP_TRIGGERS} DELETE FROM fact WHERE seq = 26;"
    ))
    .unwrap();
    drop(raw);
    let store = Store::open(&path).unwrap();
    assert_eq!(store.verify().unwrap().first_broken, None, "the chain alone cannot know");
    assert_ne!(store.head().unwrap(), head);
    assert!(store.integrity().unwrap().iter().any(|line| line.contains("fact_end")));
}

#[test]
fn the_file_itself_refuses_changes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    drop(filled(&path));
    let raw = Connection::open(&path).unwrap();
    for sql in ["UPDATE fact SET person = 'x'", "DELETE FROM fact WHERE seq = 26"] {
        let error = raw.execute(sql, []).unwrap_err().to_string();
        assert!(error.contains("never"), "{error}");
    }
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
