//! How long one pass takes: 10 million touches over 100 000 ends.
//!
//! Wall time, and where the system tells it, time on the processor: on a busy
//! machine only the second says what the pass costs.
//!
//! `cargo run --release -p matewell-contact --example trace_speed`

use std::time::Instant;

use matewell_contact::{
    ContactError, EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, TaintSet, backward,
    forward,
};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

const ENDS: u32 = 100_000;
const TOUCHES: u32 = 10_000_000;
const DIRT: TaintSet = TaintSet::NONE.with(TaintKind::Particles);

/// Seconds on the processor so far, on Linux.
fn on_processor() -> Option<f64> {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok()?;
    Some(told.split_whitespace().next()?.parse::<f64>().ok()? * 1e-9)
}

#[expect(clippy::disallowed_methods, reason = "measuring time is what this example is for")]
fn timed<T>(what: &str, work: impl Fn() -> Result<Vec<T>, ContactError>) -> Result<(), ContactError> {
    for _ in 0..3 {
        let (start, before) = (Instant::now(), on_processor());
        let found = work()?.len();
        let wall = start.elapsed().as_secs_f64();
        let cpu = on_processor().zip(before).map_or(f64::NAN, |(after, before)| after - before);
        println!("{what}: {found} ends in {wall:.3} s, {cpu:.3} s on the processor");
    }
    Ok(())
}

fn main() -> Result<(), ContactError> {
    let mut random = Pcg64::seed_from_u64(1);
    let mut history = |clear_one_in: u32| {
        let events = (0..TOUCHES)
            .map(|index| {
                let a = random.random_range(0..ENDS);
                let b = (a + random.random_range(1..ENDS)) % ENDS;
                let touch = EventKind::Touch { a: EndIndex(a), b: EndIndex(b) };
                let clear = EventKind::Clear { end: EndIndex(a), clears: DIRT };
                let cleared = clear_one_in > 0 && random.random_range(0..clear_one_in) == 0;
                let kind = if cleared { clear } else { touch };
                let (at, sequence) = (i64::from(index) * 1_000_000, u64::from(index));
                Event { at, sequence, resolution: Resolution::Instant, kind }
            })
            .collect();
        History::new(ENDS, events)
    };
    let window =
        |last_known_good, first_evidence| [Source { end: EndIndex(0), last_known_good, first_evidence }];
    let last = i64::from(TOUCHES) * 1_000_000;
    let kind = TaintKind::Particles;
    let all = history(0)?;
    timed("everything reached, one pass", || forward(&all, &window(0, 0), kind, DIRT))?;
    timed("everything reached, possible and definite", || forward(&all, &window(0, last / 2), kind, DIRT))?;
    let bad = Source { end: EndIndex(0), last_known_good: 0, first_evidence: last };
    timed("backward", || backward(&all, &bad, 0, kind, DIRT))?;
    drop(all);
    let cleared = history(2)?;
    timed("every second event a clear", || forward(&cleared, &window(0, 0), kind, DIRT))
}
