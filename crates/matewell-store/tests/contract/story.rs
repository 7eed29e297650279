//! An end read without its many mates gives the record of all its facts.

use super::engine::{RANDOM_CASES, fresh};
use crate::bench::{
    self, MACHINE, at, corrected, damaged, end, fact, gauged, held, mated, registrations, stored,
};
use matewell_lab::{
    Correction, Fact, FactBody, FactId, Parted, Released, Replaced, Resolution, end_record, end_record_with,
};

const SEED: u64 = 20_261_127;

/// SplitMix64.
struct Draw(u64);

impl Draw {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % below
    }
}

/// A mate seven times in ten; few moments, so that many are shared.
fn drawn(draw: &mut Draw, count: u32) -> Fact {
    let a = end(u32::try_from(draw.below(4)).unwrap(), u32::try_from(draw.below(2)).unwrap());
    let mut b = a;
    while b == a {
        b = end(u32::try_from(draw.below(4)).unwrap(), u32::try_from(draw.below(2)).unwrap());
    }
    let mut fact = match draw.below(60) {
        0 => fact(count, FactBody::Replaced(Replaced { end: a, because: "cut off".to_owned() })),
        1 => {
            let released =
                Released { end: a, because: "looked at".to_owned(), evidence: None, lifts: Vec::new() };
            fact(count, FactBody::Released(released))
        }
        2 => held(count, a),
        3 => damaged(count, a),
        4..=7 => gauged(count, a),
        8..=12 => fact(count, FactBody::Cleaned { end: a, method: None }),
        13..=15 => fact(count, FactBody::Parted(Parted { a, b })),
        16 => stored(count, bench::item(0)),
        17 if count > 10 => {
            let earlier = 6 + u32::try_from(draw.below(u64::from(count) - 6)).unwrap();
            let correction =
                if draw.below(2) == 0 { Correction::Void } else { Correction::HappenedAt(at(50)) };
            corrected(count, earlier, correction)
        }
        _ => mated(count, a, b),
    };
    fact.happened_at = at(10 + i64::try_from(draw.below(400)).unwrap());
    fact.sequence = u32::try_from(draw.below(3)).unwrap();
    if draw.below(15) == 0 {
        fact.resolution = Resolution::Day;
    }
    fact
}

#[test]
fn an_end_read_with_few_of_its_mates_has_the_record_of_all_facts() {
    let mut draw = Draw(SEED);
    let (mut left_out, mut whole, mut trials) = (0, 0, 0);
    for number in 0..RANDOM_CASES {
        let mut store = fresh(MACHINE);
        store.append(&registrations()).unwrap();
        let length = 20 + u32::try_from(draw.below(150)).unwrap();
        for count in 6..6 + length {
            store.append(&[drawn(&mut draw, count)]).unwrap();
        }
        for moment in [at(5), at(120), at(410)] {
            for item in 0..4 {
                let of = end(item, u32::from(number % 2 == 0));
                let all = store.facts_of_end(of).unwrap();
                let story = store.story_of_end(of, moment).unwrap();
                assert_eq!(
                    end_record_with(of, &story.facts, &story.mates, moment),
                    end_record(of, &all, moment),
                    "seed {SEED}, trial {number}, end {of}"
                );
                trials += 1;
                left_out += story.mates.len();
                whole += usize::from(story.facts.len() == all.len());
                // Each fact once, and none that is not the end's.
                let mut ids: Vec<FactId> = story.facts.iter().map(|fact| fact.id).collect();
                ids.sort_unstable();
                ids.dedup();
                assert_eq!(ids.len(), story.facts.len());
            }
        }
    }
    // Both ways were walked.
    assert!(
        left_out > 2 * trials && whole > trials / 10 && whole < trials / 2,
        "{left_out} {whole} {trials}"
    );
}
