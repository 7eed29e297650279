//! A back-up made while others write: whole, of one state, and restored by
//! opening it.

use super::engine::{Lab, fresh};
use crate::bench::{MACHINE, end, held, mated, registrations};
use matewell_lab::{Fact, FactId, MachineId};
use matewell_store::{LinkedFact, Store, StoreError};
use std::{
    collections::BTreeMap,
    path::Path,
    sync::{
        Mutex,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};

const OTHER: MachineId = MachineId::from_bytes([0xbb; 16]);

fn linked(store: &Store) -> Vec<LinkedFact> {
    store.linked_facts(0, 1_000_000).unwrap().into_iter().map(|(_, fact)| fact).collect()
}

/// Facts of a laptop, to be taken over while the lab goes on.
fn of_a_laptop(registered: &[LinkedFact]) -> Vec<LinkedFact> {
    let mut laptop = fresh(OTHER);
    laptop.append_linked(registered).unwrap();
    let mut own: Vec<Fact> = (500_000..504_000).map(|n| held(n, end(n % 4, 0))).collect();
    for fact in &mut own {
        fact.machine = OTHER;
    }
    laptop.append(&own).unwrap();
    linked(&laptop).into_iter().filter(|fact| fact.fact.machine == OTHER).collect()
}

fn by_machine(store: &Store) -> BTreeMap<MachineId, Vec<LinkedFact>> {
    let mut chains: BTreeMap<_, Vec<_>> = BTreeMap::new();
    for fact in linked(store) {
        chains.entry(fact.fact.machine).or_default().push(fact);
    }
    chains
}

fn is_prefix(copy: &Store, lab: &Store) {
    let whole = by_machine(lab);
    for (machine, chain) in by_machine(copy) {
        assert_eq!(chain[..], whole[&machine][..chain.len()], "{machine}");
    }
}

/// Writers stop also when the test fails.
struct Stop<'a>(&'a AtomicBool);

impl Drop for Stop<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

#[test]
fn a_back_up_while_two_write_is_whole_and_has_all_that_was_answered_before() {
    let lab = Lab::new();
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    // Enough that a copy takes a while.
    for batch in 0..4_u32 {
        let from = 1_000 + batch * 1_000;
        store
            .append(
                &(from..from + 1_000)
                    .map(|n| mated(n, end(n % 4, 0), end((n + 1) % 4, 1)))
                    .collect::<Vec<_>>(),
            )
            .unwrap();
    }
    let mut from_the_laptop = of_a_laptop(&linked(&store)[..6]).into_iter();
    let answered = Mutex::new(Vec::<FactId>::new());
    let stop = AtomicBool::new(false);
    let mut grew = 0;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut writer = Store::open(&lab.place).unwrap();
            for n in 100_000.. {
                if stop.load(Ordering::Relaxed) {
                    break;
                }
                let fact = held(n, end(n % 4, 0));
                writer.append(std::slice::from_ref(&fact)).unwrap();
                answered.lock().unwrap().push(fact.id);
            }
        });
        scope.spawn(|| {
            let mut writer = Store::open(&lab.place).unwrap();
            while let Some(fact) = from_the_laptop.next().filter(|_| !stop.load(Ordering::Relaxed)) {
                writer.append_linked(std::slice::from_ref(&fact)).unwrap();
                answered.lock().unwrap().push(fact.fact.id);
            }
        });
        let at_the_end = Stop(&stop);
        for round in 0..3 {
            let mut waits = 0;
            while answered.lock().unwrap().len() < 10 * (round + 1) {
                waits += 1;
                assert!(waits < 30_000, "the writers write");
                std::thread::sleep(Duration::from_millis(2));
            }
            let before = answered.lock().unwrap().clone();
            let path = folder.path().join(format!("copy{round}.db"));
            let found = store.back_up(&path).unwrap();
            grew += answered.lock().unwrap().len() - before.len();
            let copy = Store::open_read_only(&path).unwrap();
            assert_eq!((found.whole(), copy.verify().unwrap()), (true, found));
            for id in before {
                assert!(copy.fact(id).unwrap().is_some(), "{id} was answered before round {round}");
            }
            is_prefix(&copy, &store);
        }
        drop(at_the_end);
    });
    assert!(grew > 0, "nobody wrote while a copy was made");
    // Restored by opening it: it is a lab that goes on where it ended.
    let path = folder.path().join("copy2.db");
    let head = Store::open_read_only(&path).unwrap().head().unwrap();
    let mut restored = Store::open(path.as_path()).unwrap();
    assert_eq!(restored.head().unwrap(), head);
    assert_eq!(restored.integrity().unwrap(), Vec::<String>::new());
    assert_eq!(restored.list_ends("", None, 0, 99).unwrap(), store.list_ends("", None, 0, 99).unwrap());
    restored.append(&[held(900_000, end(0, 0))]).unwrap();
    assert!(restored.verify().unwrap().whole());
    let mut names: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.retain(|name| !name.starts_with("copy2.db"));
    names.sort();
    assert_eq!(names, ["copy0.db", "copy1.db"], "nothing else is left in the folder");
}

#[test]
fn a_copy_that_was_cut_short_is_none() {
    let lab = Lab::new();
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let path = folder.path().join("copy.db");
    // As a program killed in the middle leaves it.
    std::fs::write(folder.path().join("copy.db.part"), "half").unwrap();
    let said = store.back_up(&path);
    assert!(
        matches!(&said, Err(StoreError::FileExists { path }) if path.ends_with("copy.db.part")),
        "{said:?}"
    );
    assert!(!path.exists());
    let nowhere = store.back_up(Path::new("/nowhere/at/all/copy.db"));
    assert!(nowhere.is_err(), "{nowhere:?}");
    // A log that is broken gives no copy, and leaves nothing behind.
    drop(store);
    lab.tamper("UPDATE fact SET person = 'x' WHERE seq = 3;");
    let store = Store::open(&lab.place).unwrap();
    let path = folder.path().join("other.db");
    assert!(store.back_up(&path).is_err());
    assert!(!path.exists() && !folder.path().join("other.db.part").exists());
}
