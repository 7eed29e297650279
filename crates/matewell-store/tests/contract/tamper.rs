//! Tampering: a changed, removed or inserted row is found and named.

use super::engine::Lab;
use crate::bench::{MACHINE, end, id, mated, registrations};
use matewell_lab::{Fact, FactId};
use matewell_store::{Broken, BrokenLink, Store};

fn filled(lab: &Lab) -> Store {
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let facts: Vec<Fact> = (10..30).map(|n| mated(n, end(n % 4, 0), end((n + 1) % 4, 1))).collect();
    store.append(&facts).unwrap();
    store
}

/// What `verify` says after somebody with the database went at it with SQL.
fn after(sql: &str) -> Option<Broken> {
    let lab = Lab::new();
    drop(filled(&lab));
    lab.tamper(sql);
    Store::open(&lab.place).unwrap().verify().unwrap().first_broken
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
    let lab = Lab::new();
    let head = filled(&lab).head().unwrap();
    lab.tamper("DELETE FROM fact WHERE seq = 26;");
    let store = Store::open(&lab.place).unwrap();
    assert_eq!(store.verify().unwrap().first_broken, None, "the chain alone cannot know");
    assert_ne!(store.head().unwrap(), head);
    assert!(store.integrity().unwrap().iter().any(|line| line.contains("fact_end")));
}

#[test]
fn the_database_itself_refuses_changes() {
    let lab = Lab::new();
    drop(filled(&lab));
    for sql in ["UPDATE fact SET person = 'x'", "DELETE FROM fact WHERE seq = 26"] {
        let error = lab.by_hand(sql).unwrap_err();
        assert!(error.contains("never"), "{error}");
    }
}
