//! Facts of a case in the log.

use super::engine::fresh;
use crate::bench::{MACHINE, at, end, fact, held, id, registrations};
use matewell_lab::{
    CaseClosed, CaseOpened, CaseReach, CaseSource, Corrected, Correction, EndDisposed, EndDisposition, Fact,
    FactBody, FactId, Subject, Taint, case_record,
};
use matewell_store::{Store, StoreError};

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
    let mut store = fresh(MACHINE);
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
    let mut store = fresh(MACHINE);
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
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store
        .append(&[
            held(20, end(1, 1)),
            opened(21, vec![id(20)], Vec::new()),
            disposed(22, 21, EndDisposition::Damaged),
        ])
        .unwrap();
    let linked: Vec<_> = store.linked_facts(0, 100).unwrap().into_iter().map(|(_, l)| l).collect();
    let mut other = fresh(MACHINE);
    other.append_linked(&linked).unwrap();
    assert_eq!(other.head().unwrap(), store.head().unwrap());
    let (here, there) = (store.facts_of_case(id(21)).unwrap(), other.facts_of_case(id(21)).unwrap());
    assert_eq!(case_record(id(21), &here, at(99)), case_record(id(21), &there, at(99)));
}
