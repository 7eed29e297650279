//! Logs of version 1 brought up to date.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

#[expect(dead_code, reason = "shared with the tests of the contract")]
#[path = "contract/bench/mod.rs"]
mod bench;

use bench::{MACHINE, at, end, fact, mated, registrations};
use matewell_lab::{CaseOpened, CaseReach, CaseSource, Fact, FactBody, FactId, Subject, Taint};
use matewell_store::Store;
use rusqlite::Connection;

fn opened(count: u32, holds: Vec<FactId>, results: Vec<FactId>) -> Fact {
    let body = CaseOpened {
        tools: Vec::new(),
        name: "L00-0".to_owned(),
        because: "pin protrudes".to_owned(),
        sources: vec![CaseSource { end: end(0, 0), last_known_good: at(1), first_evidence: at(2) }],
        taint: Taint::Deformation,
        reached: vec![CaseReach {
            on: Subject::End(end(1, 1)),
            arrived_at: at(2),
            definite_at: None,
            hops: 1,
        }],
        results,
        holds,
    };
    fact(count, FactBody::CaseOpened(Box::new(body)))
}

/// As the program of schema version 1 laid it.
fn version_1(path: &std::path::Path) {
    let text = include_str!("../migrations/0001_log.sql");
    let raw = Connection::open(path).unwrap();
    raw.pragma_update(None, "application_id", 0x4d54_574c).unwrap();
    raw.execute_batch(
        "CREATE TABLE schema_version (version INTEGER PRIMARY KEY, sha256 BLOB NOT NULL) STRICT;",
    )
    .unwrap();
    raw.execute_batch(text).unwrap();
    let sha: [u8; 32] = <sha2::Sha256 as sha2::Digest>::digest(text.as_bytes()).into();
    raw.execute("INSERT INTO schema_version (version, sha256) VALUES (1, ?1)", [sha]).unwrap();
    raw.execute("INSERT INTO machine (id, own) VALUES (?1, 1)", [MACHINE.bytes()]).unwrap();
}

#[test]
fn a_log_of_version_1_is_brought_up_to_date_and_keeps_its_facts() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    version_1(&path);
    // A reader that had the file open before sees the new schema too.
    let reader = Connection::open(&path).unwrap();
    let count =
        |c: &Connection| c.query_row("SELECT count(*) FROM fact", [], |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(count(&reader), 0);
    let mut store = Store::open(&path).unwrap();
    store.append(&registrations()).unwrap();
    store.append(&[mated(10, end(0, 0), end(1, 1)), opened(21, Vec::new(), Vec::new())]).unwrap();
    assert!(store.verify().unwrap().first_broken.is_none());
    assert!(count(&reader) > 2);
    let ok: String = reader.query_row("PRAGMA integrity_check", [], |r| r.get(0)).unwrap();
    assert_eq!(ok, "ok");
    let sql: String = reader
        .query_row("SELECT sql FROM sqlite_schema WHERE name = 'fact' AND type = 'table'", [], |r| r.get(0))
        .unwrap();
    assert!(sql.contains("'case-closed'") && sql.contains("'registered'"), "{sql}");
    assert!(sql.contains("json_valid(payload)"), "an older file refuses NaN too: {sql}");
    // The list is still a list: an invented kind is refused by the table.
    let raw = reader.execute(
        "INSERT INTO fact SELECT seq + 1000, zeroblob(16), machine_no, machine_seq + 1000, 'invented', happened_at, \
         resolution, sequence, recorded_at, person, source, note, payload, hash FROM fact LIMIT 1",
        [],
    );
    assert!(raw.unwrap_err().to_string().contains("CHECK"));
    drop(store);
    assert_eq!(Store::open(&path).unwrap().counts().unwrap().facts, u64::try_from(count(&reader)).unwrap());
}
