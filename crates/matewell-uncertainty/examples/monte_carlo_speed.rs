//! Prints how long one million trials of JCGM 101 9.3 take, beside the same in
//! numpy in the same run: `cargo run --release -p matewell-uncertainty
//! --example monte_carlo_speed`. The Python with numpy is `python3`, or what
//! `MATEWELL_PYTHON` names.
#![expect(clippy::disallowed_methods, reason = "a timing needs a clock, and this is no part of the library")]
#![expect(clippy::print_stdout, reason = "printing is all it does")]

use matewell_uncertainty::{Distribution, Inputs, Settings, Simulation, UncertaintyError, simulate};
use std::{hint::black_box, process::Command, time::Instant};

const TRIALS: usize = 1_000_000;

fn mass(inputs: &Inputs, seed: u64, threads: usize) -> Result<Simulation, UncertaintyError> {
    let model = |x: &[f64]| match x {
        [reference, added, air, weight, standard] => {
            (reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
        }
        _ => f64::NAN,
    };
    simulate(inputs, model, TRIALS, 0.95, Settings::new(seed, threads)?)
}

fn main() -> Result<(), UncertaintyError> {
    let inputs = Inputs::independent(vec![
        Distribution::Normal { mean: 100_000.0, standard_deviation: 0.050 },
        Distribution::Normal { mean: 1.234, standard_deviation: 0.020 },
        Distribution::Rectangular { low: 1.10, high: 1.30 },
        Distribution::Rectangular { low: 7000.0, high: 9000.0 },
        Distribution::Rectangular { low: 7950.0, high: 8050.0 },
    ])?;
    let best_of_five = |threads| -> Result<(f64, Simulation), UncertaintyError> {
        let mut best = f64::INFINITY;
        let mut last = mass(&inputs, 0, threads)?;
        for seed in 0..5 {
            let start = Instant::now();
            last = black_box(mass(&inputs, seed, threads)?);
            let seconds = start.elapsed().as_secs_f64();
            if seconds < best {
                best = seconds;
            }
        }
        Ok((best, last))
    };
    let (one, found) = best_of_five(1)?;
    let (two, same) = best_of_five(2)?;
    println!(
        "one million trials of JCGM 101 9.3: {:.1} ms on one thread, {:.1} ms on two",
        one * 1e3,
        two * 1e3
    );
    println!("  the same numbers on both: {}", found == same);
    beside_numpy(&found, one, two);
    Ok(())
}

/// The same by numpy: numbers that agree within the noise of a run first, then
/// how many times longer it takes.
fn beside_numpy(ours: &Simulation, one: f64, two: f64) {
    let python = std::env::var("MATEWELL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../crosscheck/uncertainty/time_mass.py");
    let text = match Command::new(&python).arg(script).output() {
        Ok(done) if done.status.success() => String::from_utf8_lossy(&done.stdout).into_owned(),
        _ => {
            println!("numpy: not timed; {python} has no numpy");
            return;
        }
    };
    let found = |key: &str| {
        text.lines()
            .find_map(|l| l.strip_prefix(key)?.strip_prefix(' ')?.trim().parse::<f64>().ok())
            .unwrap_or(f64::NAN)
    };
    let versions = text.lines().find_map(|l| l.strip_prefix("versions ")).unwrap_or("?");
    println!("numpy in the same run ({versions}):");
    for (name, theirs, ours) in [
        ("mean", found("mean"), ours.mean),
        ("deviation", found("deviation"), ours.standard_uncertainty),
        ("low", found("low"), ours.symmetric.low),
        ("high", found("high"), ours.symmetric.high),
        ("shortest width", found("width"), ours.shortest.width()),
    ] {
        println!("  {name:<15} {theirs:.4} and {ours:.4}");
    }
    let theirs = found("seconds");
    println!("  {:.1} ms: {:.1} and {:.1} times ours", theirs * 1e3, theirs / one, theirs / two);
}
