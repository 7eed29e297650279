//! Adding and finding facts.

use super::engine::{RANDOM_CASES, fresh};
use crate::bench::{
    MACHINE, at, corrected, damaged, end, fact, followed_up, gauged, held, id, item, mated, overridden,
    refused, registration, registrations, stored,
};
use matewell_lab::{
    Correction, EndId, Fact, FactBody, FactId, Inspected, InspectionOutcome, ItemId, ItemKind, MachineId,
    Mated, Moment, end_record,
};
use matewell_store::{KeyedWrite, LinkedFact, Store, StoreError, TouchedBy};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn filled() -> Store {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store
}

fn ids(facts: &[Fact]) -> Vec<FactId> {
    facts.iter().map(|fact| fact.id).collect()
}

const ALWAYS: (Moment, Moment) = (Moment::from_microseconds(0), Moment::from_microseconds(i64::MAX));

#[test]
fn an_end_finds_facts_about_itself_and_its_item() {
    let mut store = filled();
    let facts = [
        mated(10, end(0, 0), end(1, 1)),
        held(11, end(0, 1)),
        stored(12, item(0)),
        gauged(13, end(0, 0)),
        held(14, end(2, 0)),
    ];
    assert_eq!(store.append(&facts).unwrap(), [7, 8, 9, 10, 11]);
    let found = store.facts_of_end(end(0, 0)).unwrap();
    assert_eq!(ids(&found), [id(0), id(10), id(12), id(13)]);
    assert_eq!(found[1], facts[0]);
    assert_eq!(ids(&store.facts_of_item(item(5)).unwrap()), [id(5), id(10)], "uses of a wrench");
    assert_eq!(ids(&store.facts_of_item(item(4)).unwrap()), [id(4), id(13)], "uses of a gauge");
    assert_eq!(store.fact(id(12)).unwrap().map(|found| found.seq), Some(9));
    assert_eq!(store.fact(id(99)).unwrap(), None);
    assert_eq!(store.all_facts(9, 1).unwrap()[0].fact.id, id(13));
    let between = store.facts_between(&["held", "mated"], at(10), at(13), 10).unwrap();
    assert_eq!(between.iter().map(|f| f.seq).collect::<Vec<_>>(), [8, 7]);
    assert_eq!(store.facts_between(&[], at(0), at(99), 3).unwrap()[0].seq, 11);
    let counts = store.counts().unwrap();
    assert_eq!((counts.facts, counts.items, counts.ends, counts.machines), (11, 6, 8, 1));
    assert!(store.facts_of_end(end(7, 7)).unwrap().is_empty());
}

#[test]
fn what_is_not_on_record_is_refused_by_name_and_nothing_is_written() {
    let mut store = filled();
    let good = held(10, end(0, 0));
    let check = |store: &mut Store, bad: Fact, expected: &str| {
        let error = store.append(&[good.clone(), bad]).unwrap_err().to_string();
        assert!(error.contains(expected), "{error}");
        assert_eq!(store.counts().unwrap().facts, 6);
        assert_eq!(store.facts_of_end(end(0, 0)).unwrap().len(), 1);
    };
    check(&mut store, held(11, end(7, 7)), &end(7, 7).to_string());
    check(&mut store, stored(11, item(8)), &item(8).to_string());
    check(&mut store, corrected(11, 77, Correction::Void), &id(77).to_string());
    check(&mut store, corrected(11, 11, Correction::Void), &id(11).to_string());
    check(&mut store, followed_up(11, 78), &id(78).to_string());
    check(&mut store, overridden(11, 79, end(0, 0), end(1, 0)), &id(79).to_string());
    check(
        &mut store,
        fact(11, FactBody::Registered(Box::new(registration(0, ItemKind::Cable, 1)))),
        &item(0).to_string(),
    );
    let mut foreign_end = registration(9, ItemKind::Cable, 1);
    foreign_end.ends[0].id = end(0, 0);
    check(&mut store, fact(11, FactBody::Registered(Box::new(foreign_end))), &end(0, 0).to_string());
    let mut foreign = held(11, end(0, 0));
    foreign.machine = MachineId::from_bytes([0xbb; 16]);
    check(&mut store, foreign, "other machines");
    let mut nul = held(11, end(0, 0));
    nul.person = "W\0".to_owned();
    check(&mut store, nul, "U+0000");
    let mut late = held(11, end(0, 0));
    late.happened_at = Moment::from_microseconds(i64::MAX);
    check(&mut store, late, "years 0000 to 9999");
}

#[test]
fn an_item_registered_in_a_failed_batch_is_forgotten() {
    let mut store = fresh(MACHINE);
    let mut batch = registrations();
    batch.push(held(10, end(9, 9)));
    assert!(store.append(&batch).is_err());
    // Were its number still known, this would point at nothing.
    assert!(matches!(store.append(&[held(10, end(0, 0))]), Err(StoreError::UnknownEnd { .. })));
    store.append(&registrations()).unwrap();
    store.append(&[held(10, end(0, 0))]).unwrap();
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
}

#[test]
fn nan_is_refused() {
    let mut store = filled();
    let bad = fact(
        10,
        FactBody::Inspected(Inspected::plain(end(0, 0), InspectionOutcome::Good, Vec::new(), Some(f64::NAN))),
    );
    assert!(matches!(store.append(&[bad]), Err(StoreError::Unwritable { .. })));
    assert_eq!(store.counts().unwrap().facts, 6);
}

#[test]
fn the_same_fact_twice_is_one_and_other_content_is_refused() {
    let mut store = filled();
    let fact = held(10, end(0, 0));
    assert_eq!(store.append(&[fact.clone(), fact.clone()]).unwrap(), [7, 7]);
    assert_eq!(store.append(&registrations()).unwrap(), [1, 2, 3, 4, 5, 6]);
    assert_eq!(store.append(&[held(11, end(0, 0)), fact.clone()]).unwrap(), [8, 7]);
    let mut other = fact;
    other.note = Some("another".to_owned());
    assert!(matches!(store.append(&[other]), Err(StoreError::IdTaken { fact }) if fact == id(10)));
    assert_eq!(store.counts().unwrap().facts, 8);
    assert_eq!(store.verify().unwrap().first_broken, None);
}

#[test]
fn a_request_sent_twice_is_written_once() {
    let mut store = filled();
    let facts = [held(10, end(0, 0))];
    let first = store.append_with_key("k1", &[7; 32], &facts, "{\"ok\":1}", at(50)).unwrap();
    assert_eq!(first, KeyedWrite::Written(vec![7]));
    let again = store.append_with_key("k1", &[7; 32], &[held(11, end(0, 0))], "other", at(51)).unwrap();
    assert_eq!(again, KeyedWrite::AnsweredBefore("{\"ok\":1}".to_owned()));
    assert!(matches!(
        store.append_with_key("k1", &[8; 32], &facts, "", at(52)),
        Err(StoreError::KeyTaken { .. })
    ));
    assert_eq!(store.counts().unwrap().facts, 7);
    let kept = store.written_response("k1").unwrap().unwrap();
    assert_eq!((kept.request_sha256, kept.created_at), ([7; 32], at(50)));
    assert!(store.append_with_key("k2", &[7; 32], &[held(12, end(9, 9))], "", at(53)).is_err());
    assert_eq!(store.written_response("k2").unwrap(), None, "a failed write keeps no answer");
}

#[test]
fn a_mate_corrected_to_another_end_is_found_from_all_of_them() {
    let mut store = filled();
    let to = |other: EndId| {
        Correction::Body(Box::new(FactBody::Mated(Mated {
            a: end(0, 0),
            b: other,
            wrench: Some(item(5)),
            overridden: None,
        })))
    };
    let touched = |store: &Store, asked: EndId| {
        store.touches(asked, ALWAYS.0, ALWAYS.1).unwrap().iter().map(|touch| touch.b).collect::<Vec<_>>()
    };
    store.append(&[mated(10, end(0, 0), end(1, 1)), gauged(11, end(0, 0))]).unwrap();
    assert_eq!(touched(&store, end(1, 1)), [TouchedBy::End(end(0, 0))]);
    store.append(&[corrected(12, 10, to(end(2, 1)))]).unwrap();
    assert_eq!(touched(&store, end(1, 1)), []);
    assert_eq!(touched(&store, end(2, 1)), [TouchedBy::End(end(0, 0))]);
    store.append(&[corrected(13, 10, to(end(3, 1)))]).unwrap();
    assert_eq!(touched(&store, end(2, 1)), [], "the later correction counts here too");
    assert_eq!(touched(&store, end(3, 1)), [TouchedBy::End(end(0, 0))]);
    assert_eq!(touched(&store, end(0, 0)), [TouchedBy::End(end(3, 1)), TouchedBy::Gauge(item(4))]);
    // The second correction is void: the first counts again.
    store.append(&[corrected(14, 13, Correction::Void)]).unwrap();
    assert_eq!(touched(&store, end(2, 1)), [TouchedBy::End(end(0, 0))]);
    assert_eq!(touched(&store, end(3, 1)), []);
    store.append(&[corrected(15, 11, Correction::HappenedAt(at(5)))]).unwrap();
    assert_eq!(touched(&store, end(0, 0)), [TouchedBy::Gauge(item(4)), TouchedBy::End(end(2, 1))]);
    assert_eq!(store.touches(end(0, 0), at(4), at(6)).unwrap().len(), 1);
    assert_eq!(store.touches(end(0, 0), at(6), at(9)).unwrap().len(), 0);
    let of_gauge = store.touches_of_gauge(item(4), at(0), at(99)).unwrap();
    assert_eq!(of_gauge.iter().map(|t| (t.a, t.at)).collect::<Vec<_>>(), [(end(0, 0), at(5))]);
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
}

#[test]
fn a_corrected_registration_changes_what_is_found() {
    let mut store = filled();
    let mut right = registration(0, ItemKind::Adapter, 3);
    " Q7 ".clone_into(&mut right.item.tag);
    let correct = |n, registered| {
        corrected(n, 0, Correction::Body(Box::new(FactBody::Registered(Box::new(registered)))))
    };
    store.append(&[correct(10, right.clone()), held(11, end(0, 2))]).unwrap();
    assert!(store.item_by_tag("L00").unwrap().is_none());
    let found = store.item_by_tag("q7").unwrap().unwrap();
    assert_eq!((found.item, found.kind, found.ends), (item(0), ItemKind::Adapter, 3));
    assert_eq!(ids(&store.facts_of_end(end(0, 2)).unwrap()), [id(0), id(10), id(11)]);
    right.ends.pop();
    store.append(&[correct(12, right)]).unwrap();
    assert_eq!(store.ends_of_item(item(0)).unwrap().len(), 2);
    let record = end_record(end(0, 0), &store.facts_of_end(end(0, 0)).unwrap(), at(99));
    assert!(record.is_some());
    store.append(&[corrected(13, 12, Correction::Void), corrected(14, 0, Correction::Void)]).unwrap();
    assert!(store.item_by_tag("q7").unwrap().is_none());
    assert_eq!(store.counts().unwrap().items, 5);
    let other = registration(8, ItemKind::Adapter, 1);
    assert!(store.append(&[correct(15, other)]).is_err());
}

#[test]
fn labels_are_found_whatever_their_case() {
    let store = filled();
    let tags =
        |text: &str| store.ends_by_tag(text).unwrap().into_iter().map(|hit| hit.end_tag).collect::<Vec<_>>();
    assert_eq!(tags(" l01-0\n"), ["L01-0"]);
    assert_eq!(tags("l01"), ["L01-0", "L01-1"]);
    assert!(tags("l0").is_empty());
    let page = store.list_ends("L0", None, 2, 3).unwrap();
    assert_eq!(page.iter().map(|h| h.end_tag.as_str()).collect::<Vec<_>>(), ["L01-0", "L01-1", "L02-0"]);
    assert_eq!(store.count_ends("").unwrap(), 8);
    assert_eq!(store.count_ends("3.5MM").unwrap(), 8);
    assert_eq!(store.list_items(Some(ItemKind::Gauge)).unwrap()[0].item, item(4));
    assert_eq!(store.list_items(None).unwrap().len(), 6);
    assert_eq!(store.item(item(3)).unwrap().map(|i| i.ends), Some(2));
    assert_eq!(store.end(end(3, 1)).unwrap().map(|e| e.item), Some(item(3)));
}

#[test]
fn a_walk_from_page_to_page_is_the_whole_list_and_sorts_nothing() {
    let mut store = filled();
    let tags = |hits: &[matewell_store::EndHit]| hits.iter().map(|h| h.end_tag.clone()).collect::<Vec<_>>();
    for filter in ["", "l0", "3.5MM", "L01"] {
        let whole = store.list_ends(filter, None, 0, 1000).unwrap();
        assert_eq!(whole.len(), usize::try_from(store.count_ends(filter).unwrap()).unwrap(), "{filter}");
        assert!(!whole.is_empty(), "{filter}");
        for size in 1..=3 {
            let (mut walked, mut after) = (Vec::new(), None);
            loop {
                let page = store.list_ends(filter, after, 0, size).unwrap();
                let Some(last) = page.last() else { break };
                after = Some(last.end);
                walked.extend(page);
            }
            assert_eq!(tags(&walked), tags(&whole), "{filter} by {size}");
        }
        let jumped = store.list_ends(filter, whole.first().map(|h| h.end), 1, 1).unwrap();
        assert_eq!(tags(&jumped), tags(&whole.iter().skip(2).take(1).cloned().collect::<Vec<_>>()));
    }
    assert!(store.list_ends("", Some(EndId::from_bytes([0xEE; 16])), 0, 10).unwrap().is_empty());
    // Struck meanwhile, the end still says where the walk was.
    let at = store.list_ends("", None, 0, 2).unwrap()[1].end;
    let rest = tags(&store.list_ends("", Some(at), 0, 100).unwrap());
    let fewer = registration(0, ItemKind::Adapter, 1);
    store
        .append(&[corrected(20, 0, Correction::Body(Box::new(FactBody::Registered(Box::new(fewer)))))])
        .unwrap();
    assert_eq!(tags(&store.list_ends("", Some(at), 0, 100).unwrap()), rest);
}

#[test]
fn follow_ups_stay_open_until_done() {
    let mut store = filled();
    let open = |store: &Store| ids(&store.open_follow_ups().unwrap());
    store.append(&[refused(10, end(0, 0), end(1, 1)), refused(11, end(0, 0), end(2, 1))]).unwrap();
    assert_eq!(open(&store), [id(10), id(11)]);
    store.append(&[overridden(12, 10, end(0, 0), end(1, 1))]).unwrap();
    assert_eq!(open(&store), [id(11), id(12)]);
    store.append(&[followed_up(13, 12)]).unwrap();
    assert_eq!(open(&store), [id(11)]);
    assert_eq!(ids(&store.facts_of_end(end(1, 1)).unwrap()), [id(1), id(10), id(12), id(13)]);
    store.append(&[corrected(14, 13, Correction::Void)]).unwrap();
    assert_eq!(open(&store), [id(11), id(12)], "a follow-up that did not happen");
    store.append(&[corrected(15, 12, Correction::Void)]).unwrap();
    assert_eq!(open(&store), [id(10), id(11)], "an override that did not happen");
    store.append(&[corrected(16, 11, Correction::Void)]).unwrap();
    assert_eq!(open(&store), [id(10)]);
}

#[test]
fn an_export_goes_into_a_fresh_log_with_its_chain() {
    let mut store = filled();
    store.append(&[mated(10, end(0, 0), end(1, 1)), corrected(11, 10, Correction::Void)]).unwrap();
    let lines: Vec<String> = store
        .linked_facts(0, 1000)
        .unwrap()
        .into_iter()
        .map(|(_, linked)| linked.to_json().unwrap().to_line().unwrap())
        .collect();
    let read = |lines: &[String]| -> Vec<LinkedFact> {
        lines
            .iter()
            .map(|line| LinkedFact::from_json(&matewell_record::FactJson::from_line(line).unwrap()).unwrap())
            .collect()
    };
    // Another machine takes it over, adds its own and gives all of it back.
    let other_machine = MachineId::from_bytes([0xbb; 16]);
    let mut other = fresh(other_machine);
    other.append_linked(&read(&lines)).unwrap();
    assert_eq!(other.append_linked(&read(&lines)).unwrap(), [1, 2, 3, 4, 5, 6, 7, 8]);
    assert_eq!(other.head().unwrap(), store.head().unwrap());
    let mut own = held(20, end(2, 0));
    own.machine = other_machine;
    other.append(&[own]).unwrap();
    let all: Vec<LinkedFact> = other.linked_facts(0, 1000).unwrap().into_iter().map(|(_, f)| f).collect();
    assert_eq!(store.append_linked(&all).unwrap(), [1, 2, 3, 4, 5, 6, 7, 8, 9]);
    for log in [&store, &other] {
        let verified = log.verify().unwrap();
        assert_eq!((verified.facts, verified.first_broken), (9, None));
        assert_eq!(log.facts_of_end(end(2, 0)).unwrap().len(), 2);
    }
    assert_eq!(store.counts().unwrap().machines, 2);
    // A chain with a gap or with a changed fact is not taken over.
    let mut third = fresh(MachineId::from_bytes([0xcc; 16]));
    assert!(matches!(
        third.append_linked(&all[1..]),
        Err(StoreError::ChainGap { expected: 1, found: 2, .. })
    ));
    let mut changed = all;
    changed[3].fact.person.push('x');
    assert!(
        matches!(third.append_linked(&changed), Err(StoreError::HashDiffers { fact, .. }) if fact == id(3))
    );
    assert_eq!(third.counts().unwrap().facts, 0);
}

#[test]
fn mappings_are_kept() {
    let mut store = filled();
    store.save_mapping("stores", "a = 1").unwrap();
    store.save_mapping("stores", "a = 2").unwrap();
    assert_eq!(store.mapping("stores").unwrap().as_deref(), Some("a = 2"));
    assert_eq!(store.mapping("x").unwrap(), None);
    assert_eq!(store.mappings().unwrap(), ["stores"]);
}

/// A slow twin of the indexes: go through all facts and look.
fn facts_of_end_by_looking(facts: &[Fact], asked: EndId, owner: ItemId) -> Vec<FactId> {
    use matewell_lab::Subject;
    let by_id: BTreeMap<FactId, &Fact> = facts.iter().map(|fact| (fact.id, fact)).collect();
    let root = |fact: &Fact| {
        let mut at = fact.id;
        while let Some(earlier) = by_id.get(&at).and_then(|fact| fact.body.earlier_fact()) {
            at = earlier;
        }
        at
    };
    let mut found: Vec<FactId> = facts
        .iter()
        .filter(|fact| {
            let story = root(fact);
            facts.iter().filter(|other| root(other) == story).any(|other| {
                other.body.subjects().iter().any(|s| *s == Subject::End(asked) || *s == Subject::Item(owner))
            })
        })
        .map(|fact| fact.id)
        .collect();
    found.sort();
    found
}

fn random_fact(count: u32, pick: (u8, u32, u32, u32)) -> Fact {
    let (what, x, y, earlier) = pick;
    let (a, b) = (end(x % 4, x / 4 % 2), end((x + 1 + y % 3) % 4, y / 3 % 2));
    let earlier = earlier % count;
    match what % 9 {
        0 | 1 => mated(count, a, b),
        2 => gauged(count, a),
        3 => damaged(count, a),
        4 => stored(count, item(x % 4)),
        5 => refused(count, a, b),
        6 if earlier >= 6 => corrected(count, earlier, Correction::Void),
        7 if earlier >= 6 => corrected(
            count,
            earlier,
            Correction::Body(Box::new(FactBody::Mated(Mated { a, b, wrench: None, overridden: None }))),
        ),
        8 if earlier >= 6 => followed_up(count, earlier),
        _ => held(count, b),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(RANDOM_CASES))]

    /// Whatever the order of arrival and the size of the batches, each end
    /// finds the same facts with the same content, and the chain holds.
    #[test]
    fn order_and_batches_do_not_matter(
        picks in prop::collection::vec((any::<u8>(), 0..8_u32, 0..6_u32, any::<u32>()), 1..40),
        keys in prop::collection::vec(any::<u32>(), 40),
        chunk in 1..15_usize,
    ) {
        let mut facts = registrations();
        for (count, pick) in (6..).zip(picks) {
            facts.push(random_fact(count, pick));
        }
        // Any order in which a fact comes after the one it speaks about.
        let mut waiting: Vec<(u32, Fact)> = keys.iter().copied().zip(facts[6..].to_vec()).collect();
        waiting.sort_by_key(|(key, _)| *key);
        let mut shuffled = registrations();
        while let Some(next) = waiting.iter().position(|(_, fact)| {
            fact.body.earlier_fact().is_none_or(|earlier| shuffled.iter().any(|f| f.id == earlier))
        }) {
            shuffled.push(waiting.remove(next).1);
        }
        prop_assert_eq!(shuffled.len(), facts.len());
        let mut in_order = fresh(MACHINE);
        in_order.append(&facts).unwrap();
        let mut any_order = fresh(MACHINE);
        for batch in shuffled.chunks(chunk) {
            any_order.append(batch).unwrap();
        }
        let by_id: BTreeMap<FactId, &Fact> = facts.iter().map(|fact| (fact.id, fact)).collect();
        for (owner, n) in (0..4).flat_map(|owner| [(owner, 0), (owner, 1)]) {
            let expected = facts_of_end_by_looking(&facts, end(owner, n), item(owner));
            for store in [&in_order, &any_order] {
                let found = store.facts_of_end(end(owner, n)).unwrap();
                let mut found_ids = ids(&found);
                found_ids.sort();
                prop_assert_eq!(&found_ids, &expected);
                for fact in &found {
                    prop_assert_eq!(Some(fact), by_id.get(&fact.id).copied());
                }
            }
            prop_assert_eq!(
                in_order.touches(end(owner, n), ALWAYS.0, ALWAYS.1).unwrap(),
                any_order.touches(end(owner, n), ALWAYS.0, ALWAYS.1).unwrap()
            );
        }
        for store in [&in_order, &any_order] {
            prop_assert_eq!(store.verify().unwrap().first_broken, None);
            prop_assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
        }
    }
}
