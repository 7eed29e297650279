//! Files kept beside the facts.

use super::engine::{Lab, fresh};
use crate::bench::{MACHINE, at, corrected, end, fact, id, registrations};
use matewell_lab::{Correction, Fact, FactBody, MachineId, SweepJudged, SweepNoted};
use matewell_quantity::Frequency;
use matewell_store::{BrokenFile, KeyedWrite, Store, StoreError, sha256_of};

const FILE: &[u8] = b"# GHz S RI R 50\n1 0.1 0\n2 0.1 0.1\n";

fn sweep(count: u32, bytes: &[u8]) -> Fact {
    fact(
        count,
        FactBody::SweepNoted(Box::new(SweepNoted {
            chain: vec![end(0, 0), end(1, 1)],
            port: 1,
            cable_shape: Some("in the jig".to_owned()),
            instrument: None,
            layout: None,
            known_good: true,
            file_name: "a.s1p".to_owned(),
            sha256: sha256_of(bytes),
            bytes: bytes.len() as u64,
            ports: 1,
            points: 2,
            from: Frequency::from_hertz(1e9).unwrap(),
            to: Frequency::from_hertz(2e9).unwrap(),
        })),
    )
}

fn filled() -> Store {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store
}

#[test]
fn the_bytes_come_back_and_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = filled();
    store.append_with_files(&[FILE], &[sweep(10, FILE)]).unwrap();
    assert_eq!(store.kept_file(&sha256_of(FILE)).unwrap().as_deref(), Some(FILE));
    // The same file again is kept once.
    store.append_with_files(&[FILE], &[sweep(11, FILE)]).unwrap();
    let found = store.verify().unwrap();
    assert_eq!((found.facts, found.files, found.whole()), (8, 1, true));
    let copy = folder.path().join("copy.db");
    assert_eq!(store.back_up(&copy).unwrap(), found);
    let copy = Store::open_read_only(&copy).unwrap();
    assert_eq!(copy.kept_file(&sha256_of(FILE)).unwrap().as_deref(), Some(FILE));
    assert_eq!(store.facts_of_end(end(0, 0)).unwrap().len(), 3);
    assert_eq!(store.sweeps().unwrap().len(), 2);
    store.append(&[corrected(12, 10, Correction::Void)]).unwrap();
    assert_eq!(store.sweeps().unwrap().iter().map(|f| f.id).collect::<Vec<_>>(), [id(11)]);
}

#[test]
fn a_fact_without_its_file_is_refused_and_nothing_is_written() {
    let mut store = filled();
    assert!(matches!(store.append(&[sweep(10, FILE)]), Err(StoreError::NoKeptFile { .. })));
    let other: &[u8] = b"other";
    assert!(matches!(
        store.append_with_files(&[other], &[sweep(10, FILE)]),
        Err(StoreError::NoKeptFile { .. })
    ));
    assert!(matches!(store.append_with_files(&[b""], &[]), Err(StoreError::FileSize { .. })));
    assert_eq!(store.kept_files().unwrap(), Vec::<[u8; 32]>::new(), "a refused batch keeps no file");
    assert_eq!(store.counts().unwrap().facts, 6);
    // A judgement of a sweep that nobody entered.
    let judged = SweepJudged {
        sweep: id(10),
        baseline: id(11),
        finding: "nothing-seen".to_owned(),
        named: Vec::new(),
        text: String::new(),
    };
    let refused = store.append(&[fact(12, FactBody::SweepJudged(judged))]);
    assert!(matches!(refused, Err(StoreError::UnknownFact { .. })));
}

#[test]
fn a_keyed_request_keeps_its_file_once() {
    let mut store = filled();
    let mut write = |n| {
        store.append_with_key_and_files(("k", &[7; 32]), &[FILE], &[sweep(n, FILE)], "{}", at(50)).unwrap()
    };
    assert_eq!(write(10), KeyedWrite::Written(vec![7]));
    assert_eq!(write(11), KeyedWrite::AnsweredBefore("{}".to_owned()));
}

#[test]
fn a_changed_or_lost_file_is_named() {
    let lab = Lab::new();
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    store.append_with_files(&[FILE], &[sweep(10, FILE)]).unwrap();
    drop(store);
    for change in ["UPDATE kept_file SET bytes = x'00'", "DELETE FROM kept_file"] {
        assert!(lab.by_hand(change).unwrap_err().contains("never"));
    }
    lab.tamper("UPDATE kept_file SET bytes = CAST(bytes || x'0a' AS BLOB)");
    let broken = |store: &Store| store.verify().unwrap().first_broken_file;
    let store = Store::open(&lab.place).unwrap();
    assert_eq!(broken(&store), Some(BrokenFile::Bytes(sha256_of(FILE))));
    let folder = tempfile::tempdir().unwrap();
    assert!(store.back_up(&folder.path().join("b.db")).is_err());
    lab.tamper("DELETE FROM kept_file");
    assert_eq!(broken(&store), Some(BrokenFile::Missing(sha256_of(FILE))));
}

#[test]
fn facts_and_files_taken_over_are_the_same_log() {
    let mut store = filled();
    store.append_with_files(&[FILE], &[sweep(10, FILE)]).unwrap();
    let facts: Vec<_> = store.linked_facts(0, 100).unwrap().into_iter().map(|(_, fact)| fact).collect();
    let files: Vec<Vec<u8>> =
        store.kept_files().unwrap().iter().map(|h| store.kept_file(h).unwrap().unwrap()).collect();
    let files: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    let mut other = fresh(MachineId::from_bytes([0xbb; 16]));
    assert!(other.append_linked(&facts).is_err(), "without the file");
    other.append_linked_with_files(&files, &facts).unwrap();
    assert_eq!(other.linked_facts(0, 100).unwrap(), store.linked_facts(0, 100).unwrap());
    assert_eq!(other.kept_files().unwrap(), store.kept_files().unwrap());
    assert_eq!(other.verify().unwrap(), store.verify().unwrap());
}
