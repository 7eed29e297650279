//! Facts of a case in the log, and logs of version 1 brought up to date.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

#[expect(dead_code, reason = "shared with the tests in log.rs")]
mod bench;

use bench::{MACHINE, at, end, fact, held, id, mated, registrations};
use matewell_lab::{
    CaseClosed, CaseOpened, CaseReach, CaseSource, Corrected, Correction, EndDisposed, EndDisposition, Fact,
    FactBody, FactId, Subject, Taint, case_record,
};
use matewell_store::{Store, StoreError};
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

fn disposed(count: u32, case: u32, disposition: EndDisposition) -> Fact {
    let body =
        EndDisposed { case: id(case), on: Subject::End(end(1, 1)), disposition, because: "b".to_owned() };
    fact(count, FactBody::EndDisposed(body))
}

fn closed(count: u32, case: u32) -> Fact {
    fact(count, FactBody::CaseClosed(CaseClosed { case: id(case), because: "b".to_owned() }))
}

fn ids(facts: &[Fact]) -> Vec<FactId> {
    facts.iter().map(|f| f.id).collect()
}

#[test]
fn a_case_finds_its_facts_and_their_corrections_and_its_ends_find_it() {
    let mut store = Store::in_memory(MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let void = Corrected { fact: id(22), correction: Correction::Void, because: String::new() };
    let facts = [
        held(20, end(1, 1)),
        opened(21, vec![id(20)], Vec::new()),
        disposed(22, 21, EndDisposition::Damaged),
        fact(23, FactBody::Corrected(void)),
        closed(24, 21),
        opened(30, Vec::new(), Vec::new()),
    ];
    store.append(&facts).unwrap();
    assert_eq!(ids(&store.facts_of_case(id(21)).unwrap()), [id(21), id(22), id(23), id(24)]);
    assert_eq!(ids(&store.case_openings().unwrap()), [id(21), id(30)]);
    for asked in [end(0, 0), end(1, 1)] {
        assert!(ids(&store.facts_of_end(asked).unwrap()).contains(&id(21)));
    }
    assert!(store.verify().unwrap().first_broken.is_none());
}

#[test]
fn what_a_case_names_must_be_on_record() {
    let mut store = Store::in_memory(MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let unknown = |facts: &[Fact], store: &mut Store| {
        assert!(matches!(store.append(facts), Err(StoreError::UnknownFact { .. })), "{facts:?}");
    };
    unknown(&[opened(21, vec![id(99)], Vec::new())], &mut store);
    unknown(&[opened(21, Vec::new(), vec![id(99)])], &mut store);
    unknown(&[closed(22, 21)], &mut store);
    store.append(&[opened(21, Vec::new(), Vec::new())]).unwrap();
    unknown(&[disposed(22, 21, EndDisposition::Cleared { evidence: id(99) })], &mut store);
    assert_eq!(store.facts_of_case(id(21)).unwrap().len(), 1);
}

#[test]
fn a_case_is_exported_and_taken_over_with_its_chain() {
    let mut store = Store::in_memory(MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    store
        .append(&[
            held(20, end(1, 1)),
            opened(21, vec![id(20)], Vec::new()),
            disposed(22, 21, EndDisposition::Damaged),
        ])
        .unwrap();
    let linked: Vec<_> = store.linked_facts(0, 100).unwrap().into_iter().map(|(_, l)| l).collect();
    let mut other = Store::in_memory(MACHINE).unwrap();
    other.append_linked(&linked).unwrap();
    assert_eq!(other.head().unwrap(), store.head().unwrap());
    let (here, there) = (store.facts_of_case(id(21)).unwrap(), other.facts_of_case(id(21)).unwrap());
    assert_eq!(case_record(id(21), &here, at(99)), case_record(id(21), &there, at(99)));
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
