//! Rules that hold between the answers to two questions, on random histories
//! with windows, several sources, replacements and days without order.

mod common;

use std::collections::BTreeSet;

use common::{DIRT, SEED, draw, history, moment, source};
use matewell_contact::{
    Change, DAY, EndIndex, Event, EventKind, Exposure, History, Resolution, Source, TaintKind, difference,
    forward, what_if,
};

const KIND: TaintKind = TaintKind::Particles;
const ENDS: u32 = 6;

fn ends(found: &[Exposure]) -> BTreeSet<EndIndex> {
    found.iter().map(|x| x.end).collect()
}

fn sure(found: &[Exposure]) -> BTreeSet<EndIndex> {
    found.iter().filter(|x| x.definite_at.is_some()).map(|x| x.end).collect()
}

fn sources(state: &mut u64) -> Vec<Source> {
    (0..=draw(state, 3)).map(|_| source(state, ENDS)).collect()
}

#[test]
fn definite_lies_within_possible() {
    let mut state = SEED;
    let mut several = 0;
    for trial in 0..3000 {
        let day_in = 6 * draw(&mut state, 2);
        let history = history(&mut state, ENDS, 30, day_in);
        for x in forward(&history, &sources(&mut state), KIND, DIRT).unwrap() {
            let Some(at) = x.definite_at else { continue };
            let inside = x.intervals.iter().any(|i| i.since <= at && i.until.is_none_or(|until| at <= until));
            assert!(inside && x.arrived_at <= at, "seed {SEED}, trial {trial}: {x:?}");
            several += u32::from(x.hops > 1);
        }
    }
    assert!(several > 300, "{several}");
}

/// A day without order says at least what each order would have said, and is
/// certain of nothing that some order would not have reached.
#[test]
fn a_day_without_order_contains_every_order() {
    let mut state = SEED;
    let (mut wider, mut certain) = (0, 0);
    for trial in 0..3000 {
        let ordered = history(&mut state, ENDS, 25, 0);
        let day = i64::try_from(draw(&mut state, 5)).unwrap();
        let (today, others): (Vec<Event>, Vec<Event>) =
            ordered.events().iter().partition(|event| event.at.div_euclid(DAY) == day);
        let mut loose = today.clone();
        for event in &mut loose {
            event.resolution = Resolution::Day;
        }
        let sources = sources(&mut state);
        let ask = |today: &[Event]| {
            let history = History::new(ENDS, [today, &others].concat()).unwrap();
            forward(&history, &sources, KIND, DIRT).unwrap()
        };
        let any = ask(&loose);
        for _ in 0..4 {
            let mut order = today.clone();
            for index in (1..order.len()).rev() {
                let other = usize::try_from(draw(&mut state, index as u64 + 1)).unwrap();
                order.swap(index, other);
            }
            for (sequence, event) in (1000..).zip(&mut order) {
                event.at = day * DAY + i64::try_from(draw(&mut state, 24)).unwrap() * (DAY / 24);
                event.sequence = sequence;
            }
            let one = ask(&order);
            assert!(ends(&one).is_subset(&ends(&any)), "seed {SEED}, trial {trial}");
            assert!(sure(&any).is_subset(&sure(&one)), "seed {SEED}, trial {trial}");
            let reaches = |x: &Exposure| {
                let y = any.iter().find(|y| y.end == x.end).unwrap();
                y.arrived_at <= x.arrived_at && y.hops <= x.hops
            };
            assert!(one.iter().all(reaches), "seed {SEED}, trial {trial}");
            wider += u32::from(ends(&one) != ends(&any));
            certain += u32::from(sure(&any).len() > sources.len());
        }
    }
    assert!(wider > 300 && certain > 1000, "{wider} {certain}");
}

#[test]
fn a_clear_never_enlarges_and_a_waiver_never_adds() {
    let mut state = SEED;
    let mut smaller = 0;
    for trial in 0..3000 {
        let day_in = 8 * draw(&mut state, 2);
        let history = history(&mut state, ENDS, 30, day_in);
        let sources = sources(&mut state);
        let before = forward(&history, &sources, KIND, DIRT).unwrap();
        let end = EndIndex(u32::try_from(draw(&mut state, u64::from(ENDS))).unwrap());
        let clear = Change::Clear { end, at: moment(&mut state), sequence: 99, clears: DIRT };
        for change in [clear, Change::WaiveEnd { end }] {
            let after = what_if(&history, &sources, KIND, DIRT, &[change]).unwrap();
            let told = difference(&before, &after);
            assert!(told.added.is_empty(), "seed {SEED}, trial {trial}: {change:?}");
            smaller += u32::from(!told.removed.is_empty());
        }
    }
    assert!(smaller > 500, "{smaller}");
}

#[test]
fn other_names_change_nothing() {
    let mut state = SEED;
    for trial in 0..2000 {
        let day_in = 8 * draw(&mut state, 2);
        let plain = history(&mut state, ENDS, 30, day_in);
        let turn = u32::try_from(draw(&mut state, u64::from(ENDS))).unwrap();
        // Reversed and rotated: every order of two names is exchanged somewhere.
        let name = |end: EndIndex| EndIndex((ENDS - 1 - end.0 + turn) % ENDS);
        let events = plain.events().iter().map(|event| {
            let kind = match event.kind {
                EventKind::Touch { a, b } => EventKind::Touch { a: name(a), b: name(b) },
                EventKind::Clear { end, clears } => EventKind::Clear { end: name(end), clears },
                EventKind::Replace { end } => EventKind::Replace { end: name(end) },
            };
            Event { kind, ..*event }
        });
        let renamed = History::new(ENDS, events.collect()).unwrap();
        let sources = sources(&mut state);
        let other: Vec<Source> = sources.iter().map(|s| Source { end: name(s.end), ..*s }).collect();
        let told = |found: Vec<Exposure>, name: &dyn Fn(EndIndex) -> EndIndex| {
            let row = |x: Exposure| (name(x.end), x.arrived_at, x.definite_at, x.hops, x.intervals);
            let mut rows: Vec<_> = found.into_iter().map(row).collect();
            rows.sort_by_key(|row| row.0);
            rows
        };
        let expected = told(forward(&plain, &sources, KIND, DIRT).unwrap(), &name);
        let found = told(forward(&renamed, &other, KIND, DIRT).unwrap(), &|end| end);
        assert_eq!(found, expected, "seed {SEED}, trial {trial}");
    }
}
