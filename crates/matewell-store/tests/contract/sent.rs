//! What a log lacks is found by where its chains end, and taken over as it is.

use super::engine::fresh;
use crate::bench::{MACHINE, end, held, mated, registrations};
use matewell_lab::MachineId;
use matewell_store::{Arrival, ChainEnds, SentFact, Store, StoreError};

const OTHER: MachineId = MachineId::from_bytes([0xbb; 16]);

/// Seven facts of one machine, the last after two of another.
fn filled() -> Store {
    let mut first = fresh(MACHINE);
    first.append(&registrations()).unwrap();
    let linked: Vec<_> = first.linked_facts(0, 100).unwrap().into_iter().map(|(_, fact)| fact).collect();
    let mut store = fresh(OTHER);
    let mut own = [held(20, end(2, 0)), held(21, end(1, 0))];
    for fact in &mut own {
        fact.machine = OTHER;
    }
    store.append_linked(&linked).unwrap();
    store.append(&own).unwrap();
    first.append(&[mated(30, end(0, 0), end(1, 1))]).unwrap();
    let last: Vec<_> = first.linked_facts(6, 100).unwrap().into_iter().map(|(_, fact)| fact).collect();
    store.append_linked(&last).unwrap();
    store
}

fn all(store: &Store) -> Vec<SentFact> {
    store.missing(&ChainEnds::default(), 0, u64::MAX).unwrap().facts
}

fn take(into: &mut Store, facts: Vec<SentFact>) -> Result<(u64, u64), StoreError> {
    let mut facts = facts.into_iter();
    let merged = into.take_over(|| Ok(facts.next().map(|fact| Arrival::Fact(Box::new(fact)))))?;
    Ok((merged.taken.values().sum(), merged.known))
}

#[test]
fn only_what_is_behind_the_ends_of_the_chains_is_sent() {
    let store = filled();
    let ends = store.chain_ends().unwrap();
    assert_eq!((ends.place(MACHINE), ends.place(OTHER)), (7, 2));
    let facts = all(&store);
    assert_eq!(facts.len(), 9);
    for (machine, place, known) in [(MACHINE, 7, 7), (OTHER, 2, 2), (MACHINE, 3, 3), (MACHINE, 9, 7)] {
        let known_there: ChainEnds = [(machine, place, [0; 32])].into_iter().collect();
        let page = store.missing(&known_there, 0, u64::MAX).unwrap();
        let expected: Vec<_> =
            facts.iter().filter(|f| f.machine != machine || f.place > known).cloned().collect();
        assert_eq!((page.facts, page.more), (expected, false), "{machine} {place}");
    }
    let page = store.missing(&ChainEnds::default(), 2, 5).unwrap();
    assert_eq!(page.facts, facts[2..5]);
    assert!(store.missing(&ends, 0, u64::MAX).unwrap().facts.is_empty());
    for fact in &facts {
        let (_, hash) = store.fact_at(fact.machine, fact.place).unwrap().unwrap();
        assert_eq!(hash, fact.hash);
    }
    assert_eq!(store.fact_at(MACHINE, 8).unwrap(), None);
}

#[test]
fn what_is_sent_is_taken_over_as_it_is_any_number_of_times() {
    let store = filled();
    let mut into = fresh(MachineId::from_bytes([0xcc; 16]));
    let facts = all(&store);
    assert_eq!(take(&mut into, facts.clone()).unwrap(), (9, 0));
    assert_eq!(all(&into), facts);
    assert_eq!(take(&mut into, facts.clone()).unwrap(), (0, 9));
    assert_eq!(into.chain_ends().unwrap(), store.chain_ends().unwrap());
    assert!(into.verify().unwrap().whole());
    assert_eq!(into.head().unwrap(), store.head().unwrap());
}

#[test]
fn a_chain_is_followed_before_anything_is_written_and_again_while_writing() {
    let facts = all(&filled());
    let follow = |facts: &[SentFact]| {
        let mut ends = ChainEnds::default();
        facts.iter().position(|fact| ends.follow(fact).is_err())
    };
    assert_eq!(follow(&facts), None);
    let changes: [fn(&mut SentFact); 11] = [
        |f| f.kind = "parted".to_owned(),
        |f| f.happened_at += 1,
        |f| f.resolution = "day".to_owned(),
        |f| f.sequence += 1,
        |f| f.recorded_at += 1,
        |f| f.person.push(' '),
        |f| f.source = "import".to_owned(),
        |f| f.note = Some("other".to_owned()),
        |f| f.payload.insert(1, ' '),
        |f| f.place += 1,
        |f| f.hash[31] ^= 1,
    ];
    for (n, change) in changes.iter().enumerate() {
        let mut changed = facts.clone();
        change(&mut changed[7]);
        assert_eq!(follow(&changed), Some(7), "change {n}");
        let mut into = fresh(MachineId::from_bytes([0xcc; 16]));
        assert!(take(&mut into, changed).is_err(), "change {n}");
        assert_eq!(into.counts().unwrap().facts, 0, "change {n}");
    }
    let mut cut = facts.into_iter();
    let mut into = fresh(MachineId::from_bytes([0xcc; 16]));
    let result = into.take_over(|| match cut.next() {
        Some(fact) if fact.machine == MACHINE => Ok(Some(Arrival::Fact(Box::new(fact)))),
        _ => Err(StoreError::PutAside { message: "gone".to_owned() }),
    });
    assert!(matches!(result, Err(StoreError::PutAside { .. })), "{result:?}");
    assert_eq!(into.counts().unwrap().facts, 0);
}
