//! A log copied whole to the other engine and to its own.

use super::engine::{Lab, fresh};
use crate::{
    bench::{MACHINE, at, corrected, end, fact, held, mated, registration, registrations},
    cluster::cluster,
};
use matewell_lab::{Correction, EndId, Fact, FactBody, ItemKind, MachineId, Mated};
use matewell_store::{KeyedWrite, Place, Store, StoreError};

/// Two machines, a correction, a mapping and an answered key.
fn filled() -> Store {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store.append(&[mated(10, end(0, 0), end(1, 1)), corrected(11, 10, Correction::Void)]).unwrap();
    let linked: Vec<_> = store.linked_facts(0, 100).unwrap().into_iter().map(|(_, fact)| fact).collect();
    let other = MachineId::from_bytes([0xbb; 16]);
    let mut all = fresh(other);
    all.append_linked(&linked).unwrap();
    let mut own = held(20, end(2, 0));
    own.machine = other;
    own.note = Some("\u{1f527} 'quoted' \"twice\" \\ µm\r\n\u{202e}".to_owned());
    let written = all.append_with_key("key-1", &[7; 32], &[own], "{\"facts\":1}", at(30)).unwrap();
    assert_eq!(written, KeyedWrite::Written(vec![9]));
    all.save_mapping("stores", "a = 1").unwrap();
    all
}

fn places() -> Vec<(Place, Option<Lab>)> {
    let folder = tempfile::tempdir().unwrap().keep();
    let mut places = vec![(Place::File(folder.join("moved.db")), None)];
    places.extend(cluster().map(|cluster| (Place::Server(cluster.new_database()), None)));
    places
}

#[test]
fn a_log_moves_with_its_chain_its_keys_and_its_mappings() {
    let store = filled();
    for (place, _lab) in places() {
        let found = store.copy_to(&place).unwrap();
        assert_eq!((found.facts, found.whole()), (9, true));
        let mut copy = Store::open(&place).unwrap();
        assert_eq!(copy.head().unwrap(), store.head().unwrap());
        assert_eq!(copy.machine(), store.machine());
        assert_eq!(copy.linked_facts(0, 100).unwrap(), store.linked_facts(0, 100).unwrap());
        assert_eq!(copy.mapping("stores").unwrap(), store.mapping("stores").unwrap());
        assert_eq!(copy.written_response("key-1").unwrap(), store.written_response("key-1").unwrap());
        assert_eq!(copy.list_ends("", None, 0, 99).unwrap(), store.list_ends("", None, 0, 99).unwrap());
        assert_eq!(copy.integrity().unwrap(), Vec::<String>::new());
        // It goes on where the other ended.
        let mut next = held(40, end(1, 0));
        next.machine = copy.machine();
        assert_eq!(copy.append(&[next]).unwrap(), [10]);
        assert!(copy.verify().unwrap().whole());
    }
}

#[test]
fn a_log_moves_only_to_an_empty_place() {
    let store = filled();
    for (place, _lab) in places() {
        store.copy_to(&place).unwrap();
        let again = store.copy_to(&place);
        assert!(matches!(again, Err(StoreError::FileExists { .. } | StoreError::LogExists)), "{again:?}");
        assert_eq!(Store::open(&place).unwrap().head().unwrap(), store.head().unwrap());
    }
}

#[test]
fn two_writers_take_turns_and_lose_nothing() {
    let lab = Lab::new();
    Store::create_with_machine(&lab.place, MACHINE).unwrap().append(&registrations()).unwrap();
    let writers: Vec<_> = (0..3_u32)
        .map(|writer| {
            let place = lab.place.clone();
            std::thread::spawn(move || {
                let mut store = Store::open(&place).unwrap();
                for n in 0..20 {
                    let count = 100 + writer * 100 + n;
                    store.append(&[held(count, end(n % 4, 0))]).unwrap();
                }
            })
        })
        .collect();
    for writer in writers {
        writer.join().unwrap();
    }
    let store = Store::open_read_only(&lab.place).unwrap();
    let found = store.verify().unwrap();
    assert_eq!((found.facts, found.whole()), (66, true));
}

#[test]
fn a_reader_cannot_write_and_sees_what_others_add() {
    let lab = Lab::new();
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let mut reader = Store::open_read_only(&lab.place).unwrap();
    assert!(matches!(reader.append(&[held(40, end(0, 0))]), Err(StoreError::Database(_))));
    reader
        .in_one_look(|| {
            assert_eq!(reader.counts()?.facts, 6);
            store.append(&[held(41, end(0, 0))]).unwrap();
            assert_eq!(reader.counts()?.facts, 6, "one look sees one state");
            Ok::<(), StoreError>(())
        })
        .unwrap();
    assert_eq!(reader.counts().unwrap().facts, 7);
}

#[test]
fn a_clock_that_went_back_changes_nothing_that_was_written() {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store.append(&[held(50, end(0, 0))]).unwrap();
    let head = store.head().unwrap();
    let mut early = held(60, end(0, 0));
    early.recorded_at = at(-1_000_000);
    early.happened_at = at(-1_000_000);
    store.append(&[early.clone()]).unwrap();
    let facts = store.all_facts(0, 99).unwrap();
    assert_eq!(facts.last().map(|f| &f.fact), Some(&early), "arrival is counted, not timed");
    assert_ne!(store.head().unwrap(), head);
    assert!(store.verify().unwrap().whole());
}

/// More than is sent to a server at once, items and uses mixed: one batch.
#[test]
fn a_long_batch_is_one_batch() {
    let mut facts = Vec::new();
    for n in 0..700 {
        let registered = registration(n, ItemKind::Cable, 2);
        facts.push(fact(2 * n, FactBody::Registered(Box::new(registered))));
        facts.push(mated_plain(2 * n + 1, end(n, 0), end(n.saturating_sub(1), 1)));
    }
    let mut store = fresh(MACHINE);
    let mut cut = facts.clone();
    cut.push(held(9_000, end(900, 0)));
    assert!(matches!(store.append(&cut), Err(StoreError::UnknownEnd { .. })));
    assert_eq!((store.counts().unwrap().facts, store.counts().unwrap().ends), (0, 0));
    let numbers: Vec<u64> = (1..=1_400).collect();
    assert_eq!(store.append(&facts).unwrap(), numbers);
    assert_eq!(store.append(&facts).unwrap(), numbers, "sent twice");
    let counts = store.counts().unwrap();
    assert_eq!((counts.facts, counts.items, counts.ends), (1_400, 700, 1_400));
    assert_eq!(store.facts_of_end(end(699, 0)).unwrap().len(), 2);
    assert_eq!(store.facts_of_end(end(350, 1)).unwrap().len(), 2);
    assert!(store.verify().unwrap().whole());
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
}

fn mated_plain(count: u32, a: EndId, b: EndId) -> Fact {
    let body = Mated { a, b, wrench: None, overridden: None };
    fact(count, FactBody::Mated(body))
}
