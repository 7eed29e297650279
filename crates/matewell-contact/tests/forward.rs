//! Forward traces against worked graphs.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_contact::{
    DAY, EndIndex, Event, EventKind, Exposure, History, Resolution, Source, TaintKind, TaintSet, forward,
};

const DIRT: TaintSet = TaintSet::NONE.with(TaintKind::Particles);

fn event(at: i64, kind: EventKind) -> Event {
    Event { at, sequence: 0, resolution: Resolution::Instant, kind }
}

fn touch(at: i64, a: u32, b: u32) -> Event {
    event(at, EventKind::Touch { a: EndIndex(a), b: EndIndex(b) })
}

fn clear(at: i64, end: u32, clears: TaintSet) -> Event {
    event(at, EventKind::Clear { end: EndIndex(end), clears })
}

fn trace(events: Vec<Event>, end: u32, good: i64, evidence: i64) -> Vec<Exposure> {
    let source = Source { end: EndIndex(end), last_known_good: good, first_evidence: evidence };
    forward(&History::new(8, events).unwrap(), &[source], TaintKind::Particles, DIRT).unwrap()
}

type Row = (u32, u32, Vec<(i64, Option<i64>)>);

fn rows(found: &[Exposure]) -> Vec<Row> {
    found
        .iter()
        .map(|x| {
            let spans = x.intervals.iter().map(|i| (i.since, i.until)).collect();
            (x.end.0, x.hops, spans)
        })
        .collect()
}

fn hub() -> Vec<Event> {
    // A 0, GAUGE 1, P1 2, P2 3, B 4, C 5, D 6, E 7.
    vec![
        touch(0, 0, 6),
        touch(1, 1, 0),
        touch(2, 0, 2),
        clear(3, 0, DIRT),
        touch(4, 0, 3),
        touch(5, 2, 4),
        touch(6, 4, 3),
        touch(7, 3, 5),
        clear(8, 4, DIRT),
        touch(9, 4, 7),
    ]
}

/// Worked by hand (closed form): a cleared hub passes nothing on.
#[test]
fn a_cleared_hub_exposes_only_what_it_touched_while_bad() {
    assert_eq!(
        rows(&trace(hub(), 0, 1, 1)),
        [
            (0, 0, vec![(1, Some(3))]),
            (1, 1, vec![(1, None)]),
            (2, 1, vec![(2, None)]),
            (4, 2, vec![(5, Some(8))]),
            (3, 3, vec![(6, None)]),
            (5, 4, vec![(7, None)]),
        ]
    );
}

#[test]
fn the_witness_path_is_in_time_order() {
    let found = trace(hub(), 0, 1, 1);
    let last = found.iter().find(|x| x.end == EndIndex(5)).unwrap();
    let steps: Vec<_> = last.via.iter().map(|s| (s.at, s.from.0, s.to.0)).collect();
    assert_eq!(steps, [(2, 0, 2), (5, 2, 4), (6, 4, 3), (7, 3, 5)]);
}

/// Worked by hand: the order of two touches decides.
#[test]
fn an_earlier_touch_is_not_reached() {
    let found = trace(vec![touch(1, 1, 2), touch(2, 0, 1)], 0, 0, 0);
    assert_eq!(found.iter().map(|x| x.end.0).collect::<Vec<_>>(), [0, 1]);
}

#[test]
fn possible_and_definite_are_told_apart() {
    let found = trace(vec![touch(2, 0, 1), touch(4, 0, 2)], 0, 1, 3);
    let told: Vec<_> = found.iter().map(|x| (x.end.0, x.definite_at)).collect();
    assert_eq!(told, [(0, Some(3)), (1, None), (2, Some(4))]);
}

#[test]
fn a_clear_of_another_kind_changes_nothing() {
    let residue = TaintSet::NONE.with(TaintKind::Residue);
    let found = trace(vec![clear(1, 0, residue), touch(2, 0, 1)], 0, 0, 0);
    assert_eq!(found.len(), 2);
}

#[test]
fn a_day_without_order_is_closed_over_and_flagged() {
    let mut events = vec![touch(1, 1, 2), touch(2, 0, 1)];
    events[0].resolution = Resolution::Day;
    let found = trace(events, 0, 0, 0);
    let told: Vec<_> = found.iter().map(|x| (x.end.0, x.hops, x.order_unknown)).collect();
    assert_eq!(told, [(0, 0, false), (1, 1, true), (2, 2, true)]);
}

/// A cleaning inside the window proves nothing: it was bad at the evidence,
/// so it may have gone bad right after the cleaning.
#[test]
fn a_clear_of_the_source_inside_its_window_does_not_lose_it() {
    let events = vec![touch(1, 0, 1), clear(2, 0, DIRT), touch(3, 0, 2), touch(5, 0, 3)];
    let told: Vec<_> =
        trace(events, 0, 0, 4).iter().map(|x| (x.end.0, x.arrived_at, x.definite_at)).collect();
    assert_eq!(told, [(0, 0, Some(4)), (1, 1, None), (2, 3, None), (3, 5, Some(5))]);
}

#[test]
fn definite_does_not_go_through_an_unordered_day() {
    let mut events = vec![touch(1, 0, 1), touch(2, 1, 3), touch(DAY, 0, 2), touch(2 * DAY, 0, 1)];
    events[0].resolution = Resolution::Day;
    let told: Vec<_> =
        trace(events, 0, 0, 0).iter().map(|x| (x.end.0, x.arrived_at, x.definite_at)).collect();
    // End 1 is possible from the first day, and certain from the third.
    assert_eq!(told, [(0, 0, Some(0)), (1, 0, Some(2 * DAY)), (3, 0, None), (2, DAY, Some(DAY))]);
}
