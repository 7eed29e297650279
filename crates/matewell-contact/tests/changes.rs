//! Looking back, asking what if, and telling two answers apart.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_contact::{
    Change, ContactError, DAY, EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, TaintSet,
    ToolIndex, ToolUse, backward, common_source, difference, forward, tool_uses, what_if,
};

const KIND: TaintKind = TaintKind::Deformation;
const BENT: TaintSet = TaintSet::NONE.with(TaintKind::Deformation);

fn event(at: i64, kind: EventKind) -> Event {
    Event { at, sequence: 0, resolution: Resolution::Instant, kind }
}

fn touch(at: i64, a: u32, b: u32) -> Event {
    event(at, EventKind::Touch { a: EndIndex(a), b: EndIndex(b) })
}

fn replace(at: i64, end: u32) -> Event {
    event(at, EventKind::Replace { end: EndIndex(end) })
}

fn history(events: Vec<Event>) -> History {
    History::new(8, events).unwrap()
}

fn bad(end: u32, last_known_good: i64, first_evidence: i64) -> Source {
    Source { end: EndIndex(end), last_known_good, first_evidence }
}

fn reached(events: Vec<Event>, changes: &[Change]) -> Vec<u32> {
    let found = what_if(&history(events), &[bad(0, 0, 0)], KIND, BENT, changes).unwrap();
    found.iter().map(|x| x.end.0).collect()
}

/// Worked by hand: 3 met 0 last, 2 came by way of 1, 4 too early, 5 too late.
#[test]
fn candidates_are_ranked_by_latest_departure() {
    let log = history(vec![touch(1, 4, 0), touch(3, 2, 1), touch(4, 1, 0), touch(5, 3, 0), touch(9, 5, 0)]);
    let found = backward(&log, &bad(0, 2, 8), i64::MIN, KIND, BENT).unwrap();
    let told: Vec<_> = found.iter().map(|c| (c.end.0, c.latest_departure, c.hops)).collect();
    assert_eq!(told, [(3, 5, 1), (1, 4, 1), (2, 3, 2)]);
    let path: Vec<_> = found.last().unwrap().via.iter().map(|s| (s.at, s.from.0, s.to.0)).collect();
    assert_eq!(path, [(3, 2, 1), (4, 1, 0)]);
}

#[test]
fn a_day_without_order_keeps_every_candidate_of_that_day_and_no_earlier_one() {
    let mut events = vec![touch(1, 1, 0), touch(DAY + 1, 2, 0), touch(DAY + 2, 3, 0)];
    for event in &mut events {
        event.resolution = Resolution::Day;
    }
    // Good in the middle of the second day: both of its touches may be later.
    let good = DAY + DAY / 2;
    let found = backward(&history(events), &bad(0, good, good + 1), i64::MIN, KIND, BENT).unwrap();
    let told: Vec<_> = found.iter().map(|c| (c.end.0, c.order_unknown)).collect();
    assert_eq!(told, [(2, true), (3, true)]);
}

#[test]
fn the_common_source_explains_most_with_one_onset() {
    // Gauge 7 touched 0, 1 and 2; end 6 touched 0 and 1 but was replaced between.
    let log = history(vec![
        touch(1, 6, 0),
        replace(2, 6),
        touch(3, 6, 1),
        touch(4, 7, 0),
        touch(5, 7, 1),
        touch(6, 7, 2),
    ]);
    let ends = [bad(0, 0, 10), bad(1, 0, 10), bad(2, 0, 10)];
    let found = common_source(&log, &ends, i64::MIN, KIND, BENT).unwrap();
    let told: Vec<_> = found.iter().map(|c| (c.end.0, c.explains.len(), c.together_until, c.hops)).collect();
    // End 0 itself could have made the gauge bad: two touches to 1 and to 2.
    // End 1 and end 6 by way of it come after.
    assert_eq!(told[..2], [(7, 3, Some(4), 3), (0, 3, Some(4), 4)]);
}

#[test]
fn two_onsets_rank_behind_one() {
    // End 6 met 0 before and 1 after it was replaced; end 7 met both, earlier.
    let log = history(vec![touch(1, 7, 0), touch(2, 7, 1), touch(3, 6, 0), replace(4, 6), touch(5, 6, 1)]);
    let ends = [bad(0, 0, 10), bad(1, 0, 10)];
    let found = common_source(&log, &ends, i64::MIN, KIND, BENT).unwrap();
    let place = |end| found.iter().position(|c| c.end == EndIndex(end)).unwrap();
    assert!(place(7) < place(6));
    assert_eq!(found[place(6)].together_until, None);
}

#[test]
fn an_inspection_in_time_would_have_stopped_it() {
    let log = || vec![touch(1, 0, 1), touch(3, 1, 2), touch(5, 2, 3)];
    let look = |at| Change::Clear { end: EndIndex(1), at, sequence: 0, clears: BENT };
    assert_eq!(reached(log(), &[]), [0, 1, 2, 3]);
    assert_eq!(reached(log(), &[look(2)]), [0, 1]);
    assert_eq!(reached(log(), &[look(4)]), [0, 1, 2, 3]);
    assert_eq!(reached(log(), &[Change::WaiveEnd { end: EndIndex(2) }]), [0, 1]);
    assert_eq!(reached(log(), &[Change::WaiveTouch { at: 5, sequence: 0 }]), [0, 1, 2]);
    assert_eq!(reached(log(), &[Change::WaiveEnd { end: EndIndex(0) }]), [0; 0]);
}

#[test]
fn a_change_that_names_nothing_is_refused() {
    let ask = |change| what_if(&history(vec![touch(1, 0, 1)]), &[bad(0, 0, 0)], KIND, BENT, &[change]);
    let refused = ask(Change::WaiveTouch { at: 2, sequence: 0 }).unwrap_err();
    assert_eq!(refused, ContactError::UnknownTouch { at: 2, sequence: 0 });
    let refused = ask(Change::WaiveEnd { end: EndIndex(8) }).unwrap_err();
    assert_eq!(refused, ContactError::UnknownEnd { ends: 8, found: 8, place: "a change" });
}

/// The event that made a day unordered is gone; the others are no better known.
#[test]
fn waiving_the_day_touch_gives_the_day_no_order() {
    let mut events = vec![touch(1, 1, 2), touch(2, 0, 1), touch(3, 4, 5)];
    events[2].resolution = Resolution::Day;
    assert_eq!(reached(events, &[Change::WaiveTouch { at: 3, sequence: 0 }]), [0, 1, 2]);
}

#[test]
fn a_late_touch_shows_as_a_difference() {
    let ask = |events| forward(&history(events), &[bad(0, 0, 0)], KIND, BENT).unwrap();
    let before = ask(vec![touch(3, 0, 1), touch(4, 1, 2)]);
    let after = ask(vec![touch(2, 0, 3), touch(3, 0, 1), touch(4, 1, 2), touch(1, 0, 2)]);
    let told = difference(&before, &after);
    assert_eq!(told.added.iter().map(|x| x.end.0).collect::<Vec<_>>(), [3]);
    assert!(told.removed.is_empty());
    let changed: Vec<_> = told.changed.iter().map(|(x, y)| (x.end.0, x.arrived_at, y.arrived_at)).collect();
    // End 1 is reached at the same moment, and end 2 now reaches nothing earlier.
    assert_eq!(changed, [(2, 4, 1)]);
    assert_eq!(difference(&after, &before).removed, told.added);
    assert_eq!(difference(&after, &after), matewell_contact::Difference::default());
}

/// Closed form: uniform onset, day 30 of 100.
#[test]
fn tool_uses_in_the_window_carry_the_part_that_had_passed() {
    let used = |tool, at, resolution| ToolUse { tool: ToolIndex(tool), at, sequence: 0, resolution };
    let wrench = |day: i64| used(1, day * DAY, Resolution::Instant);
    let uses = [
        wrench(130),
        wrench(-1),
        wrench(30),
        used(2, 40 * DAY, Resolution::Instant),
        used(1, 99 * DAY + 5, Resolution::Day),
        wrench(100),
    ];
    let found = tool_uses(&uses, ToolIndex(1), 0, 100 * DAY).unwrap();
    let told: Vec<_> = found.iter().map(|x| (x.used.at / DAY, format!("{:.4}", x.off_by_then))).collect();
    let expected = [(30, "0.3000"), (99, "1.0000"), (100, "1.0000")];
    assert_eq!(told, expected.map(|(day, part)| (day, part.to_owned())));
    let refused = tool_uses(&uses, ToolIndex(1), 5, 4).unwrap_err();
    assert_eq!(refused, ContactError::WindowBackwards { good: 5, evidence: 4 });
}
