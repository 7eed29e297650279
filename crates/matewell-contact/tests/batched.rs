//! Level by level over a store, and the whole history in memory: one answer.

mod common;

use common::{DIRT, SEED, Scan, draw, history, moment, source};
use matewell_contact::{
    EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, backward, backward_batched, forward,
    forward_batched,
};

const KIND: TaintKind = TaintKind::Particles;

#[test]
fn forward_level_by_level_equals_the_pass() {
    let mut state = SEED;
    let (mut most_rounds, mut windows, mut loose) = (0, 0, 0);
    for trial in 0..6000 {
        let ends = 3 + u32::try_from(draw(&mut state, 9)).unwrap();
        let day_in = [0, 0, 4, 20][usize::try_from(draw(&mut state, 4)).unwrap()];
        let history = history(&mut state, ends, 50, day_in);
        let sources: Vec<Source> = (0..=draw(&mut state, 3)).map(|_| source(&mut state, ends)).collect();
        let expected = forward(&history, &sources, KIND, DIRT).unwrap();
        let found = forward_batched(&mut Scan::new(&history), &sources, KIND, DIRT).unwrap();
        assert_eq!(found.answer, expected, "seed {SEED}, trial {trial}");
        most_rounds = most_rounds.max(found.rounds);
        windows += u32::from(sources.iter().any(|s| s.last_known_good < s.first_evidence));
        loose += u32::from(expected.iter().any(|x| x.order_unknown));
    }
    // The histories are not trivial.
    assert!(most_rounds > 4 && windows > 3000 && loose > 500, "{most_rounds} {windows} {loose}");
}

#[test]
fn backward_level_by_level_equals_the_pass() {
    let mut state = SEED;
    for trial in 0..4000 {
        let ends = 3 + u32::try_from(draw(&mut state, 9)).unwrap();
        let day_in = [0, 0, 4, 20][usize::try_from(draw(&mut state, 4)).unwrap()];
        let history = history(&mut state, ends, 50, day_in);
        let bad = source(&mut state, ends);
        let not_before = if draw(&mut state, 2) == 0 { 0 } else { moment(&mut state) };
        let expected = backward(&history, &bad, not_before, KIND, DIRT).unwrap();
        let found = backward_batched(&mut Scan::new(&history), &bad, not_before, KIND, DIRT).unwrap();
        assert_eq!(found.answer, expected, "seed {SEED}, trial {trial}");
    }
}

/// The slow twin of the reverse pass: the forward pass from every end at
/// every moment.
#[test]
fn backward_finds_what_forward_would_have_reached() {
    let mut state = SEED;
    let mut found_any = 0;
    for trial in 0..1500 {
        // Each event has a moment of its own: at a shared one, an end can go
        // bad between a clear and a touch, which no start of ours can say.
        let mut events: Vec<Event> = history(&mut state, 5, 14, 0).events().to_vec();
        for (at, event) in (1..).zip(&mut events) {
            (event.at, event.sequence) = (at, 1);
        }
        let (x, y) = (draw(&mut state, 16), draw(&mut state, 16));
        let (good, evidence) = (i64::try_from(x.min(y)).unwrap(), i64::try_from(x.max(y)).unwrap());
        let end = EndIndex(u32::try_from(draw(&mut state, 5)).unwrap());
        let bad = Source { end, last_known_good: good, first_evidence: evidence };
        let history = History::new(5, events.clone()).unwrap();
        // Known good: as if clear just before the touches of that moment.
        // A clear at the very moment of the evidence came after it.
        events.retain(|event| match event.kind {
            EventKind::Clear { end, .. } | EventKind::Replace { end } => {
                end != bad.end || event.at != bad.first_evidence
            }
            EventKind::Touch { .. } => event.at <= bad.first_evidence,
        });
        let good = EventKind::Replace { end: bad.end };
        let at = bad.last_known_good;
        events.push(Event { at, sequence: 0, resolution: Resolution::Instant, kind: good });
        let cut = History::new(5, events).unwrap();
        let candidates = backward(&history, &bad, i64::MIN, KIND, DIRT).unwrap();
        for end in (0..5).map(EndIndex).filter(|&end| end != bad.end) {
            let reaches = |at: i64| {
                let start = Source { end, last_known_good: at, first_evidence: at };
                let found = forward(&cut, &[start], KIND, DIRT).unwrap();
                found.iter().any(|x| {
                    x.end == bad.end
                        && x.intervals.iter().any(|i| {
                            i.since <= bad.first_evidence
                                && i.until.is_none_or(|until| until > bad.first_evidence)
                        })
                })
            };
            let latest = (0..=bad.first_evidence).rev().find(|&at| reaches(at));
            let told = candidates.iter().find(|c| c.end == end).map(|c| c.latest_departure);
            assert_eq!(told, latest, "seed {SEED}, trial {trial}, end {}", end.0);
            found_any += u32::from(told.is_some());
        }
    }
    assert!(found_any > 500, "{found_any}");
}

/// A hub that touched a thousand ends after it was cleared costs nothing.
#[test]
fn only_exposed_stretches_are_asked_for() {
    let event = |at, kind| Event { at, sequence: 0, resolution: Resolution::Instant, kind };
    let touch = |at, a, b| event(at, EventKind::Touch { a: EndIndex(a), b: EndIndex(b) });
    let mut events = vec![touch(1, 0, 1), event(2, EventKind::Clear { end: EndIndex(0), clears: DIRT })];
    events.extend((2..1002).map(|end| touch(i64::from(end) + 1, 0, end)));
    let history = History::new(1002, events).unwrap();
    let start = Source { end: EndIndex(0), last_known_good: 0, first_evidence: 0 };
    let mut scan = Scan::new(&history);
    let found = forward_batched(&mut scan, &[start], KIND, DIRT).unwrap();
    assert_eq!(found.answer, forward(&history, &[start], KIND, DIRT).unwrap());
    // The touch of ends 0 and 1, once for each; and two events in all.
    assert_eq!((scan.touches_given, found.events, found.rounds), (2, 2, 2));
}
