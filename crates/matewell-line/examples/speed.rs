//! Prints how fast the two hot formulas are, beside the same in SciPy in the
//! same run: `cargo run --release -p matewell-line --example speed`. The Python
//! with numpy, SciPy, mpmath and scikit-rf is `python3`, or what
//! `MATEWELL_PYTHON` names.
#![expect(clippy::disallowed_methods, reason = "a timing needs a clock, and this is no part of the library")]
#![expect(clippy::print_stdout, reason = "printing is all it does")]

use matewell_line::{
    JointGeometry, Line, LineError, Uncertain, UsableLimits, gap_reflection, gap_usable_up_to, te11_cutoff,
};
use matewell_quantity::{Frequency, Length};
use matewell_uncertainty::InputId;
use std::{hint::black_box, process::Command, time::Instant};

/// Goals of the room: 1 µs per gap, 5 µs per cut-off.
const GAP_GOAL_S: f64 = 1e-6;
const CUTOFF_GOAL_S: f64 = 5e-6;

fn seconds_each(runs: u32, mut run: impl FnMut(u32) -> Result<f64, LineError>) -> Result<f64, LineError> {
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        for i in 0..runs {
            black_box(run(i)?);
        }
        best = matewell_quantity::lesser(best, start.elapsed().as_secs_f64() / f64::from(runs));
    }
    Ok(best)
}

fn main() -> Result<(), LineError> {
    let line = Line::new(Length::from_millimetres(3.5)?, Length::from_millimetres(1.52)?)?;
    let joint = JointGeometry::new(line, Length::from_millimetres(0.927)?)?;
    let gap = Length::from_micrometres(25.0)?;

    let each = seconds_each(200_000, |i| {
        let at = Frequency::from_hertz(1e9 + 1e5 * f64::from(i))?;
        Ok(joint.reflection_magnitude(gap, at))
    })?;
    let gap_each = each;
    println!(
        "gap, value only:        {:8.0} ns, {:.2} million/s, goal/actual {:.1}",
        each * 1e9,
        1e-6 / each,
        GAP_GOAL_S / each
    );

    let each = seconds_each(20_000, |i| {
        let inner = Length::from_micrometres(1500.0 + 1e-3 * f64::from(i))?;
        Ok(te11_cutoff(&Line::new(Length::from_millimetres(3.5)?, inner)?)?.value().hertz())
    })?;
    let cutoff_each = each;
    println!("TE11 cut-off, two roots: {:7.2} us, goal/actual {:.1}", each * 1e6, CUTOFF_GOAL_S / each);

    let each = seconds_each(2_000, |i| {
        let at = Frequency::from_hertz(1e9 + 1e6 * f64::from(i))?;
        Ok(gap_reflection(&joint, gap, at, 1)?.value.magnitude.value())
    })?;
    println!("gap with all findings:  {:8.2} us", each * 1e6);

    let limits = UsableLimits { need: 0.003, rated: Some(Frequency::from_gigahertz(34.0)?) };
    let each = seconds_each(500, |i| {
        let gap = Length::from_micrometres(40.0 + 0.01 * f64::from(i))?;
        Ok(gap_usable_up_to(&joint, gap, limits, 1)?.value.frequency_hz.value())
    })?;
    println!("usable up to:           {:8.2} us", each * 1e6);

    let unsure = Uncertain::input(
        InputId::new("gap"),
        Length::from_micrometres(5.0)?,
        Length::from_micrometres(3.0)?,
        f64::INFINITY,
    )?;
    let at = Frequency::from_gigahertz(18.0)?;
    let each = seconds_each(5, |i| {
        Ok(gap_reflection(&joint, &unsure, at, u64::from(i))?.value.magnitude.standard_uncertainty())
    })?;
    println!("gap by Monte Carlo:     {:8.2} ms", each * 1e3);
    let each = seconds_each(5, |i| {
        Ok(gap_usable_up_to(&joint, &unsure, limits, u64::from(i))?.value.prudent.hertz())
    })?;
    println!("usable by Monte Carlo:  {:8.2} ms", each * 1e3);

    let ours = (
        joint.reflection_magnitude(gap, Frequency::from_gigahertz(26.0)?),
        te11_cutoff(&Line::new(Length::from_millimetres(3.5)?, Length::from_millimetres(1.52)?)?)?
            .value()
            .hertz(),
    );
    beside_scipy(ours, gap_each, cutoff_each);
    Ok(())
}

/// The same gap and the same root by SciPy: equal numbers first, then how many
/// times longer it takes.
fn beside_scipy((gap, cutoff): (f64, f64), gap_each: f64, cutoff_each: f64) {
    let python = std::env::var("MATEWELL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../crosscheck/line/make.py");
    let text = match Command::new(&python).arg(script).arg("--time").output() {
        Ok(done) if done.status.success() => String::from_utf8_lossy(&done.stdout).into_owned(),
        _ => {
            println!("SciPy: not timed; {python} has no numpy, SciPy, mpmath and scikit-rf");
            return;
        }
    };
    let found = |key: &str| {
        text.lines()
            .find_map(|l| l.strip_prefix(key)?.strip_prefix(' ')?.trim().parse::<f64>().ok())
            .unwrap_or(f64::NAN)
    };
    let versions = text.lines().find_map(|l| l.strip_prefix("versions ")).unwrap_or("?");
    println!("SciPy in the same run ({versions}):");
    println!(
        "  equal numbers: gap differs by {:.1e}, TE11 by {:.1e}",
        gap / found("gap") - 1.0,
        cutoff / found("te11_hz") - 1.0
    );
    for (name, theirs, ours) in [
        ("gap, one at a time", found("gap_each_s"), gap_each),
        ("gap, in an array", found("gap_in_an_array_s"), gap_each),
        ("TE11 root", found("te11_s"), cutoff_each),
    ] {
        println!("  {name:<20} {:8.3} us, {:.1} times ours", theirs * 1e6, theirs / ours);
    }
}
