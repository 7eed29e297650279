use super::*;
use crate::{
    CaseChanged, CaseClosed, Corrected, Correction, EndDisposed, EndId, FactSource, GaugeZero, Held,
    Inspected, ItemId, MachineId, Mated, Released, Resolution, ResultDisposed, ResultNoted, Taint, ToolCheck,
    ToolChecked,
};
use matewell_quantity::Length;
use proptest::prelude::*;

const CASE: u8 = 20;
const HOLD: u8 = 19;
const SOURCE: EndId = EndId::from_bytes([7; 16]);
const REACHED: EndId = EndId::from_bytes([8; 16]);
const ELSEWHERE: EndId = EndId::from_bytes([9; 16]);

fn id(n: u8) -> FactId {
    FactId::from_bytes([n; 16])
}

fn at(t: i64) -> Moment {
    Moment::from_microseconds(t)
}

fn fact(n: u8, t: i64, body: FactBody) -> Fact {
    Fact {
        id: id(n),
        machine: MachineId::from_bytes([1; 16]),
        happened_at: at(t),
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: at(1000 + i64::from(n)),
        person: "p".to_owned(),
        source: FactSource::Bench,
        note: None,
        body,
    }
}

fn reach(end: EndId, t: i64) -> CaseReach {
    CaseReach { on: Subject::End(end), arrived_at: at(t), definite_at: None, hops: 1 }
}

/// Opened at 50 over SOURCE, which reached REACHED at 30; both are held.
fn opened() -> Vec<Fact> {
    let hold = |n, end| fact(n, 49, FactBody::Held(Held { end, because: "case".to_owned() }));
    let result = ResultNoted { uri: "lab://1".to_owned(), sha256: None, device: None, chain: vec![REACHED] };
    let body = CaseOpened {
        tools: Vec::new(),
        name: "CB-1A".to_owned(),
        because: "pin protrudes".to_owned(),
        sources: vec![CaseSource { end: SOURCE, last_known_good: at(10), first_evidence: at(40) }],
        taint: Taint::Deformation,
        reached: vec![reach(REACHED, 30)],
        results: vec![id(18)],
        holds: vec![id(HOLD), id(17)],
    };
    vec![
        fact(18, 35, FactBody::ResultNoted(result)),
        hold(17, SOURCE),
        hold(HOLD, REACHED),
        fact(CASE, 50, FactBody::CaseOpened(Box::new(body))),
    ]
}

fn disposed(n: u8, t: i64, end: EndId, disposition: EndDisposition) -> Fact {
    fact(
        n,
        t,
        FactBody::EndDisposed(EndDisposed {
            case: id(CASE),
            on: Subject::End(end),
            disposition,
            because: "b".to_owned(),
        }),
    )
}

fn looked(n: u8, t: i64, end: EndId, outcome: InspectionOutcome) -> Fact {
    fact(n, t, FactBody::Inspected(Inspected::plain(end, outcome, Vec::new(), None)))
}

fn void(n: u8, of: u8) -> Fact {
    let body = Corrected { fact: id(of), correction: Correction::Void, because: String::new() };
    fact(n, 500, FactBody::Corrected(body))
}

fn record(facts: &[Fact]) -> CaseRecord {
    case_record(id(CASE), facts, at(900)).unwrap()
}

fn state(facts: &[Fact], end: EndId) -> EndState {
    record(facts).end(Subject::End(end)).unwrap().state
}

#[test]
fn everything_is_open_at_first_and_named() {
    let record = record(&opened());
    assert_eq!(
        record.missing(),
        [Missing::End(Subject::End(SOURCE)), Missing::End(Subject::End(REACHED)), Missing::Result(id(18))]
    );
    assert!(record.ends.iter().all(|e| e.hold.is_some()));
    assert!(case_record(id(CASE), &opened(), at(45)).is_none());
}

#[test]
fn a_verification_before_the_hold_clears_nothing_and_one_after_it_does() {
    let mut facts = opened();
    facts.push(looked(30, 48, REACHED, InspectionOutcome::Good));
    facts.push(disposed(31, 60, REACHED, EndDisposition::Cleared { evidence: id(30) }));
    assert_eq!(state(&facts, REACHED), EndState::Open);
    facts.push(looked(32, 61, REACHED, InspectionOutcome::Good));
    facts.push(disposed(33, 62, REACHED, EndDisposition::Cleared { evidence: id(32) }));
    assert_eq!(state(&facts, REACHED), EndState::Cleared);
    // Evidence that is taken back is no evidence.
    facts.push(void(34, 32));
    assert_eq!(state(&facts, REACHED), EndState::Open);
}

#[test]
fn a_look_at_another_end_or_one_that_found_dirt_is_no_evidence() {
    for (end, outcome) in [(SOURCE, InspectionOutcome::Good), (REACHED, InspectionOutcome::Dirty)] {
        let mut facts = opened();
        facts.push(looked(30, 60, end, outcome));
        facts.push(disposed(31, 61, REACHED, EndDisposition::Cleared { evidence: id(30) }));
        assert_eq!(state(&facts, REACHED), EndState::Open);
    }
}

#[test]
fn a_gauge_is_cleared_by_a_zero_check_in_order() {
    let gauge = ItemId::from_bytes([6; 16]);
    let on = Subject::Item(gauge);
    let zero = |n, t, in_order| {
        let check = GaugeZero { reads_more_recessed: Length::from_metres(0.0).unwrap(), in_order };
        let body = ToolChecked { tool: gauge, check: ToolCheck::GaugeZero(check) };
        fact(n, t, FactBody::ToolChecked(body))
    };
    let change = CaseChanged {
        case: id(CASE),
        reached: vec![CaseReach { on, arrived_at: at(40), definite_at: Some(at(40)), hops: 1 }],
        results: Vec::new(),
        set_aside: Vec::new(),
        holds: Vec::new(),
        because: String::new(),
    };
    let clear = |n, t, evidence| {
        let disposition = EndDisposition::Cleared { evidence: id(evidence) };
        fact(
            n,
            t,
            FactBody::EndDisposed(EndDisposed { case: id(CASE), on, disposition, because: String::new() }),
        )
    };
    let mut facts = opened();
    facts.push(fact(30, 55, FactBody::CaseChanged(Box::new(change))));
    facts.extend([zero(31, 60, false), clear(32, 61, 31)]);
    assert_eq!(record(&facts).end(on).unwrap().state, EndState::Open);
    facts.extend([zero(33, 62, true), clear(34, 63, 33)]);
    assert_eq!(record(&facts).end(on).unwrap().state, EndState::Cleared);
}

#[test]
fn a_waiver_runs_out() {
    let mut facts = opened();
    facts.push(disposed(30, 60, REACHED, EndDisposition::Waived { until: at(100) }));
    let on = |t| case_record(id(CASE), &facts, at(t)).unwrap();
    assert_eq!(on(100).end(Subject::End(REACHED)).unwrap().state, EndState::Waived { until: at(100) });
    assert_eq!(on(101).end(Subject::End(REACHED)).unwrap().state, EndState::WaiverRanOut { until: at(100) });
    assert!(on(101).missing().contains(&Missing::WaiverRanOut(Subject::End(REACHED), at(100))));
    assert!(on(101).end(Subject::End(REACHED)).unwrap().hold.is_some(), "a waiver lifts no hold");
}

#[test]
fn a_held_end_mated_again_is_an_alarm_and_must_be_decided_anew() {
    let mut facts = opened();
    facts.push(disposed(30, 60, REACHED, EndDisposition::Damaged));
    assert_eq!(state(&facts, REACHED), EndState::Damaged);
    let mate = Mated { a: ELSEWHERE, b: REACHED, wrench: None, overridden: None };
    facts.push(fact(31, 70, FactBody::Mated(mate)));
    let after = record(&facts);
    let alarm = MatedWhileHeld { fact: id(31), at: at(70), partner: ELSEWHERE };
    assert_eq!(after.end(Subject::End(REACHED)).unwrap().mated_while_held, [alarm]);
    assert!(after.missing().contains(&Missing::MatedWhileHeld(Subject::End(REACHED), alarm)));
    facts.push(disposed(32, 71, REACHED, EndDisposition::Damaged));
    assert_eq!(state(&facts, REACHED), EndState::Damaged);
}

#[test]
fn a_mate_after_the_release_is_no_alarm() {
    let mut facts = opened();
    let released = Released { end: REACHED, because: String::new(), evidence: None, lifts: Vec::new() };
    facts.push(fact(30, 60, FactBody::Released(released)));
    let mate = Mated { a: ELSEWHERE, b: REACHED, wrench: None, overridden: None };
    facts.push(fact(31, 70, FactBody::Mated(mate)));
    assert!(record(&facts).end(Subject::End(REACHED)).unwrap().mated_while_held.is_empty());
}

#[test]
fn ends_are_set_aside_and_taken_in_anew() {
    let change = |n, t, reached: Vec<CaseReach>, set_aside: Vec<EndId>| {
        let body = CaseChanged {
            case: id(CASE),
            reached,
            results: Vec::new(),
            set_aside: set_aside.into_iter().map(Subject::End).collect(),
            holds: Vec::new(),
            because: String::new(),
        };
        fact(n, t, FactBody::CaseChanged(Box::new(body)))
    };
    let mut facts = opened();
    facts.push(disposed(29, 55, REACHED, EndDisposition::Damaged));
    facts.push(change(30, 60, vec![reach(ELSEWHERE, 33)], vec![REACHED]));
    assert_eq!(state(&facts, REACHED), EndState::SetAside);
    assert_eq!(state(&facts, ELSEWHERE), EndState::Open);
    facts.push(change(31, 70, vec![reach(REACHED, 31)], Vec::new()));
    assert_eq!(state(&facts, REACHED), EndState::Open, "taken in anew, so decided anew");
}

#[test]
fn a_result_taken_back_needs_no_decision_and_a_close_can_be_taken_back() {
    let mut facts = opened();
    facts.push(void(30, 18));
    assert!(record(&facts).results.is_empty());
    let closed = CaseClosed { case: id(CASE), because: "done".to_owned() };
    facts.push(fact(31, 80, FactBody::CaseClosed(closed)));
    assert!(record(&facts).closed.is_some());
    facts.push(void(32, 31));
    assert!(record(&facts).closed.is_none());
}

proptest! {
    /// Invariant: the order of entry never changes the record of a case.
    #[test]
    fn order_of_entry_never_changes_a_case(
        kinds in proptest::collection::vec((0u8..11, 48i64..54, any::<bool>()), 1..16),
        keys in proptest::collection::vec(any::<u32>(), 24),
    ) {
        let mut facts = opened();
        for (n, (kind, t, first)) in (30u8..).zip(&kinds) {
            let end = if *first { SOURCE } else { REACHED };
            let earlier = n.saturating_sub(2).max(30);
            facts.push(match kind {
                0 => looked(n, *t, end, InspectionOutcome::Good),
                1 => looked(n, *t, end, InspectionOutcome::Damaged),
                2 | 3 => disposed(n, *t, end, EndDisposition::Cleared { evidence: id(earlier) }),
                4 => disposed(n, *t, end, EndDisposition::Waived { until: at(53) }),
                5 => disposed(n, *t, end, EndDisposition::Damaged),
                6 => fact(n, *t, FactBody::Released(Released { end, because: String::new(), evidence: None, lifts: Vec::new() })),
                7 => fact(n, *t, FactBody::Mated(Mated { a: end, b: ELSEWHERE, wrench: None, overridden: None })),
                8 => void(n, earlier),
                9 => fact(n, *t, FactBody::ResultDisposed(ResultDisposed {
                    case: id(CASE),
                    result: id(18),
                    disposition: ResultDisposition::ReMeasure,
                    because: String::new(),
                })),
                _ => fact(n, *t, FactBody::CaseClosed(CaseClosed { case: id(CASE), because: String::new() })),
            });
        }
        let expected = case_record(id(CASE), &facts, at(52));
        let mut shuffled: Vec<(u32, Fact)> =
            facts.iter().cloned().enumerate().map(|(i, f)| (keys[i], f)).collect();
        shuffled.sort_by_key(|(key, _)| *key);
        let shuffled: Vec<Fact> = shuffled.into_iter().map(|(_, fact)| fact).collect();
        prop_assert_eq!(case_record(id(CASE), &shuffled, at(52)), expected);
    }
}
