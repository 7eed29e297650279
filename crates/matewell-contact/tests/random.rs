//! The pass against its slow twin, every path of small random histories.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use std::collections::BTreeMap;

use matewell_contact::{
    DAY, EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, TaintSet, forward,
};

const SEED: u64 = 20_260_731;
const ENDS: u32 = 5;
const DIRT: TaintSet = TaintSet::NONE.with(TaintKind::Particles);

/// SplitMix64, written out so that the histories never change.
fn draw(state: &mut u64, below: u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (z ^ (z >> 31)) % below
}

fn history(state: &mut u64) -> Vec<Event> {
    (0..draw(state, 11))
        .map(|sequence| {
            let a = EndIndex(u32::try_from(draw(state, 5)).unwrap());
            let kind = if draw(state, 4) == 0 {
                EventKind::Clear { end: a, clears: DIRT }
            } else {
                let step = u32::try_from(1 + draw(state, 4)).unwrap();
                EventKind::Touch { a, b: EndIndex((a.0 + step) % ENDS) }
            };
            // Equal moments occur, so that the sequence matters.
            let at = i64::try_from(sequence / 2).unwrap();
            Event { at, sequence, resolution: Resolution::Instant, kind }
        })
        .collect()
}

type Answer = BTreeMap<u32, (i64, u32)>;

fn fast(events: Vec<Event>, since: i64) -> Answer {
    window(events, since, since)
}

fn window(events: Vec<Event>, last_known_good: i64, first_evidence: i64) -> Answer {
    let source = Source { end: EndIndex(0), last_known_good, first_evidence };
    let history = History::new(ENDS, events).unwrap();
    let found = forward(&history, &[source], TaintKind::Particles, DIRT).unwrap();
    found.iter().map(|x| (x.end.0, (x.arrived_at, x.hops))).collect()
}

fn walk(events: &[Event], at: i64, end: EndIndex, hops: u32, found: &mut Answer) {
    let best = found.entry(end.0).or_insert((at, hops));
    *best = (at.min(best.0), hops.min(best.1));
    for (index, event) in events.iter().enumerate() {
        match event.kind {
            EventKind::Touch { a, b } if a == end || b == end => {
                let other = if a == end { b } else { a };
                walk(&events[index + 1..], event.at, other, hops + 1, found);
            }
            EventKind::Clear { end: cleared, .. } if cleared == end => return,
            _ => {}
        }
    }
}

/// It may have gone bad after any event of the window.
fn slow(events: &[Event], good: i64, evidence: i64) -> Answer {
    let mut found = Answer::new();
    let first = events.partition_point(|event| event.at < good);
    walk(&events[first..], good, EndIndex(0), 0, &mut found);
    for (index, event) in events.iter().enumerate() {
        if (good..evidence).contains(&event.at) {
            walk(&events[index + 1..], event.at, EndIndex(0), 0, &mut found);
        }
    }
    found
}

#[test]
fn the_pass_equals_every_path() {
    let mut state = SEED;
    for trial in 0..4000 {
        let events = history(&mut state);
        for (good, evidence) in [(0, 0), (2, 2), (0, 3), (1, 4)] {
            let expected = slow(&events, good, evidence);
            let found = window(events.clone(), good, evidence);
            assert_eq!(found, expected, "seed {SEED}, trial {trial}");
        }
    }
}

#[test]
fn no_change_for_the_better_enlarges_a_trace() {
    let mut state = SEED;
    let mut later = 0;
    for trial in 0..4000 {
        let events = history(&mut state);
        let all = fast(events.clone(), 0);
        let mut cleared = events.clone();
        let index = usize::try_from(draw(&mut state, 11)).unwrap().min(events.len());
        let kind = EventKind::Clear { end: EndIndex(1), clears: DIRT };
        let at = events.get(index).map_or(9, |event| event.at);
        let sequence = 100;
        cleared.push(Event { at, sequence, resolution: Resolution::Instant, kind });
        let mut loose = events.clone();
        for event in &mut loose {
            event.resolution = Resolution::Day;
            event.at = DAY / 2;
        }
        let loose = fast(loose, 0);
        let wide = window(events.clone(), 0, 4);
        let mut rules = vec![
            ("a clear", fast(cleared.clone(), 0), &all),
            ("a clear, with a window", window(cleared, 0, 4), &wide),
            ("a later last good, the evidence being the same", window(events.clone(), 2, 4), &wide),
            ("an order within the day", all.clone(), &loose),
        ];
        // A later start is a subset only where the source was not cleared in
        // between: bad, cleared and bad again reaches what came after.
        let source_cleared = events.iter().any(|event| match event.kind {
            EventKind::Clear { end, .. } => end == EndIndex(0) && event.at < 3,
            _ => false,
        });
        if !source_cleared {
            rules.push(("a later start", fast(events, 3), &all));
            later += 1;
        }
        for (what, smaller, larger) in rules {
            let inside = smaller.keys().all(|end| larger.contains_key(end));
            assert!(inside, "{what}, seed {SEED}, trial {trial}");
        }
    }
    assert!(later > 2000, "expected most histories to keep the source uncleared, found {later}");
}
