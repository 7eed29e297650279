//! Probabilities against worked values and every outcome of every touch.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod common;

use std::collections::BTreeMap;

use common::{DIRT, SEED, draw, history, source};
use matewell_contact::{
    Chance, ContactError, EndIndex, Event, EventKind, History, MOST_CASES, Method, Resolution, Source,
    TaintKind, chances, forward,
};

const KIND: TaintKind = TaintKind::Particles;
const A: u32 = 0;
const B: u32 = 1;
const C: u32 = 2;
const D: u32 = 3;

fn at(moment: i64, kind: EventKind) -> Event {
    let sequence = u64::try_from(moment).unwrap();
    Event { at: moment, sequence, resolution: Resolution::Instant, kind }
}

fn touches(pairs: &[(u32, u32)]) -> History {
    let touch = |(moment, &(a, b)): (i64, &(u32, u32))| {
        at(moment, EventKind::Touch { a: EndIndex(a), b: EndIndex(b) })
    };
    History::new(4, (1..).zip(pairs).map(touch).collect()).unwrap()
}

fn start(last_known_good: i64, first_evidence: i64) -> Source {
    Source { end: EndIndex(A), last_known_good, first_evidence }
}

fn ever(history: &History, method: Method) -> Vec<f64> {
    let found = chances(history, &[start(0, 0)], KIND, DIRT, 0.5, method).unwrap();
    let by_end: BTreeMap<u32, f64> = found.iter().map(|x| (x.end.0, x.ever)).collect();
    by_end.into_values().collect()
}

/// Enumerated by hand, probability ½ per contact, source A. Every value is a
/// small power of two, so it is exact in binary.
#[test]
fn exact_values_of_four_small_graphs() {
    let exact = |pairs: &[(u32, u32)]| ever(&touches(pairs), Method::Exact);
    assert_eq!(exact(&[(A, B), (B, C)]), [1.0, 0.5, 0.25], "chain");
    assert_eq!(
        exact(&[(A, B), (A, C), (B, D), (C, D)]),
        [1.0, 0.5, 9.0 / 16.0, 7.0 / 16.0],
        "diamond, touches undirected"
    );
    assert_eq!(
        exact(&[(A, B), (B, C), (B, D), (C, D)]),
        [1.0, 0.5, 5.0 / 16.0, 5.0 / 16.0],
        "triangle behind a bridge"
    );
    assert_eq!(exact(&[(A, B), (A, B), (B, C)]), [1.0, 0.75, 3.0 / 8.0], "echo");
}

#[test]
fn the_recursion_is_a_bound_and_not_the_value() {
    let bound = ever(&touches(&[(A, B), (B, C), (B, D), (C, D)]), Method::UpperBound);
    assert_eq!(bound, [1.0, 0.5, 11.0 / 32.0, 11.0 / 32.0]);
    // On a tree of touches it is exact.
    assert_eq!(ever(&touches(&[(A, B), (B, C)]), Method::UpperBound), [1.0, 0.5, 0.25]);
}

#[test]
fn onset_is_uniform_in_the_window() {
    // Day 30 of 100: P = 0.30 times the probability of the contact.
    let history = History::new(2, vec![at(30, EventKind::Touch { a: EndIndex(A), b: EndIndex(B) })]).unwrap();
    for method in [Method::Exact, Method::UpperBound, Method::MonteCarlo { seed: 3, trials: 40_000 }] {
        let found = chances(&history, &[start(0, 100)], KIND, DIRT, 0.5, method).unwrap();
        let b = found.iter().find(|x| x.end == EndIndex(B)).unwrap();
        // Four standard errors of the simulation, rounding otherwise.
        let allowed = b.ever_error.map_or(1e-15, |error| 4.0 * error);
        assert!((b.ever - 0.15).abs() <= allowed, "{method:?}: {}", b.ever);
        assert!((found.first().unwrap().ever - 1.0).abs() < 1e-12);
    }
}

/// Slow twin: each outcome is a history of its own, traced forward.
fn by_tracing(history: &History, sources: &[Source], per_contact: f64) -> BTreeMap<EndIndex, (f64, f64)> {
    let is_touch = |event: &&Event| matches!(event.kind, EventKind::Touch { .. });
    let coins = history.events().iter().filter(is_touch).count();
    let mut sums: BTreeMap<EndIndex, (f64, f64)> = BTreeMap::new();
    for bits in 0..1u32 << coins {
        let mut index = 0;
        let mut events = history.events().to_vec();
        events.retain(|event| {
            let touch = is_touch(&event);
            index += u32::from(touch);
            !touch || bits >> (index - 1) & 1 == 1
        });
        let passing = i32::try_from(bits.count_ones()).unwrap();
        let failing = i32::try_from(coins).unwrap() - passing;
        let weight = per_contact.powi(passing) * (1.0 - per_contact).powi(failing);
        let played = History::new(history.ends(), events).unwrap();
        for x in forward(&played, sources, KIND, DIRT).unwrap() {
            let sum = sums.entry(x.end).or_default();
            sum.0 += weight;
            sum.1 += if x.intervals.last().unwrap().until.is_none() { weight } else { 0.0 };
        }
    }
    sums
}

#[test]
fn exact_equals_tracing_every_outcome_and_the_bound_is_above() {
    let mut state = SEED;
    let mut strictly = 0;
    for trial in 0..600 {
        let history = history(&mut state, 5, 12, 0);
        let mut sources: Vec<Source> = (0..=draw(&mut state, 2)).map(|_| source(&mut state, 5)).collect();
        for source in &mut sources {
            source.last_known_good = source.first_evidence;
        }
        let expected = by_tracing(&history, &sources, 0.3);
        let ask = |method| chances(&history, &sources, KIND, DIRT, 0.3, method).unwrap();
        let found = ask(Method::Exact);
        assert_eq!(found.len(), expected.len());
        for (x, bound) in found.iter().zip(ask(Method::UpperBound)) {
            let (ever, now) = expected[&x.end];
            let same = (x.ever - ever).abs() < 1e-12 && (x.now - now).abs() < 1e-12;
            assert!(same, "seed {SEED}, trial {trial}: {x:?}, expected {ever} {now}");
            let above = bound.ever >= x.ever - 1e-12 && bound.now >= x.now - 1e-12;
            assert!(above, "seed {SEED}, trial {trial}: {x:?} above {bound:?}");
            strictly += u32::from(bound.ever > x.ever + 1e-12);
        }
    }
    assert!(strictly > 10, "{strictly}");
}

/// Windows, replacements and days without order: the three methods agree as
/// far as each claims.
#[test]
fn simulation_agrees_with_enumeration() {
    let mut state = SEED;
    let (mut compared, mut outside) = (0, 0);
    for trial in 0..150 {
        let day_in = 5 * draw(&mut state, 2);
        let history = history(&mut state, 5, 14, day_in);
        let sources: Vec<Source> = (0..=draw(&mut state, 2)).map(|_| source(&mut state, 5)).collect();
        let ask = |method| chances(&history, &sources, KIND, DIRT, 0.4, method).unwrap();
        let exact = ask(Method::Exact);
        let played = ask(Method::MonteCarlo { seed: trial, trials: 2000 });
        for ((x, y), bound) in exact.iter().zip(&played).zip(ask(Method::UpperBound)) {
            assert!(
                bound.ever >= x.ever - 1e-12 && bound.now >= x.now - 1e-12,
                "trial {trial}: {x:?} {bound:?}"
            );
            for (p, q, error) in [(x.ever, y.ever, y.ever_error), (x.now, y.now, y.now_error)] {
                let z = (p - q).abs() / error.unwrap();
                compared += 1;
                outside += u32::from(z > 2.0);
                assert!(z < 5.0, "trial {trial}: exact {x:?}, played {y:?}");
            }
        }
    }
    // About 5 % are outside two standard errors; twice that would be a wrong error.
    assert!(compared > 500 && outside * 10 < compared, "{outside} of {compared}");
}

#[test]
fn the_same_seed_gives_the_same_answer() {
    let play = |seed| {
        let method = Method::MonteCarlo { seed, trials: 500 };
        let found = chances(&touches(&[(A, B), (B, C)]), &[start(0, 0)], KIND, DIRT, 0.5, method).unwrap();
        found.iter().map(|x: &Chance| x.ever.to_bits()).collect::<Vec<_>>()
    };
    assert_eq!(play(7), play(7));
    assert_ne!(play(7), play(8));
}

#[test]
fn bad_questions_are_refused() {
    let few = touches(&[(A, B)]);
    let many = touches(&[(A, B); 23]);
    let ask = |history: &History, p, method| chances(history, &[start(0, 0)], KIND, DIRT, p, method);
    for p in [f64::NAN, -0.1, 1.1] {
        let refused = ask(&few, p, Method::Exact).unwrap_err();
        assert!(matches!(refused, ContactError::NotAProbability { .. }), "{refused}");
    }
    let none = ask(&few, 0.5, Method::MonteCarlo { seed: 1, trials: 0 });
    assert_eq!(none.unwrap_err(), ContactError::NoTrials);
    let limit = MOST_CASES;
    let refused = ask(&many, 0.5, Method::Exact).unwrap_err();
    assert_eq!(refused, ContactError::TooManyCases { limit, coins: 23, onsets: 1 });
}
