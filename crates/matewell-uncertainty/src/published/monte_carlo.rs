//! JCGM 101: the examples of clause 9.

use super::number;
use crate::{
    Distribution, Inputs, SecondOrder, Settings, Simulation, SquaredMagnitude, UncertaintyError,
    central_differences, simulate,
};
use matewell_published::{
    Check,
    Grade::{self, ClosedForm, FromMemory, Own, Published},
};

const S1: &str = "jcgm-101-2008";
const RUN: &str = "one simulation of 10⁶ trials against another of the source: both carry sampling noise, \
                   about u/400 at an end of a 95 % interval";
const ROUNDED: &str = "print multiplies the rounded u of 0.0750; unrounded it is 0.07496";
// Any fixed number; results for other seeds differ within the tolerance.
const SEED: u64 = 20_080_101;
const TRIALS: usize = 1_000_000;

pub(super) fn checks() -> Vec<Check> {
    let mut all = additive().unwrap_or_else(|_| failed());
    all.extend(mass().unwrap_or_else(|_| failed()));
    all.extend(comparison_loss().unwrap_or_else(|_| failed()));
    all
}

fn failed() -> Vec<Check> {
    vec![Check::printed(S1, "clause 9", "computation", "0", f64::NAN, ClosedForm)]
}

fn run(
    inputs: Vec<Distribution>,
    model: impl Fn(&[f64]) -> f64 + Sync,
) -> Result<Simulation, UncertaintyError> {
    simulate(&Inputs::independent(inputs)?, model, TRIALS, 0.95, Settings::new(SEED, 2)?)
}

fn sum(x: &[f64]) -> f64 {
    x.iter().sum()
}

/// 9.2: sum of four inputs.
fn additive() -> Result<Vec<Check>, UncertaintyError> {
    let normal = Distribution::Normal { mean: 0.0, standard_deviation: 1.0 };
    let half = |u: f64| Distribution::Rectangular { low: -u * 3f64.sqrt(), high: u * 3f64.sqrt() };
    let normals = run(vec![normal; 4], sum)?;
    let rectangles = run(vec![half(1.0); 4], sum)?;
    let dominant = run(vec![half(1.0), half(1.0), half(1.0), half(10.0)], sum)?;
    let check = |locator, quantity, printed, ours, allowed, grade: Grade| {
        Check::printed(S1, locator, quantity, printed, ours, grade).within(allowed, RUN)
    };
    let exact =
        "the exact value by the Irwin–Hall distribution against 10⁶ trials: sampling noise of about 0.005";
    Ok(vec![
        check("9.2.2", "four normals, u", "2.00", normals.standard_uncertainty, 0.01, Published),
        check("9.2.2", "four normals, low end", "-3.92", normals.symmetric.low, 0.015, Published),
        check("9.2.2", "four normals, high end", "3.92", normals.symmetric.high, 0.015, Published),
        check("9.2.3", "four rectangles, u", "2.00", rectangles.standard_uncertainty, 0.01, FromMemory),
        check("9.2.3", "four rectangles, low end", "-3.88", rectangles.symmetric.low, 0.015, FromMemory),
        Check::printed(
            S1,
            "9.2.3.4",
            "four rectangles, high end",
            "3.879406741",
            rectangles.symmetric.high,
            ClosedForm,
        )
        .within(0.015, exact),
        check("9.2.4", "one dominant rectangle, u", "10.15", dominant.standard_uncertainty, 0.03, FromMemory),
        check("9.2.4", "one dominant rectangle, high end", "17.0", dominant.symmetric.high, 0.05, FromMemory),
        Check::printed(
            S1,
            "9.2.4",
            "the same by first order, high end",
            "19.9",
            1.959_964 * 103f64.sqrt(),
            FromMemory,
        ),
    ])
}

fn mass_model(x: &[f64]) -> f64 {
    match x {
        [reference, added, air, weight, standard] => {
            (reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
        }
        _ => f64::NAN,
    }
}

/// 9.3: mass calibration, milligrams and kilograms per cubic metre.
fn mass() -> Result<Vec<Check>, UncertaintyError> {
    let found = run(
        vec![
            Distribution::Normal { mean: 100_000.0, standard_deviation: 0.050 },
            Distribution::Normal { mean: 1.234, standard_deviation: 0.020 },
            Distribution::Rectangular { low: 1.10, high: 1.30 },
            Distribution::Rectangular { low: 7000.0, high: 9000.0 },
            Distribution::Rectangular { low: 7950.0, high: 8050.0 },
        ],
        mass_model,
    )?;
    let root3 = 3f64.sqrt();
    let u = [0.050, 0.020, 0.1 / root3, 1000.0 / root3, 50.0 / root3];
    let values = [100_000.0, 1.234, 1.2, 8000.0, 8000.0];
    let second = SecondOrder::new(&central_differences(mass_model, &values, &u, 0.1)?, &u)?;
    let k = 1.959_964;
    let value = mass_model(&values);
    let row = |quantity, printed, ours| Check::printed(S1, "table 6", quantity, printed, ours, FromMemory);
    let first = second.first_order_uncertainty();
    let both = second.standard_uncertainty();
    Ok(vec![
        row("mass correction by first order / mg", "1.2340", value),
        row("u by first order / mg", "0.0539", first),
        row("low end by first order / mg", "1.1285", value - k * first),
        row("high end by first order / mg", "1.3395", value + k * first),
        row("u with second order / mg", "0.0750", both),
        row("low end with second order / mg", "1.0870", value - k * both).within(1e-4, ROUNDED),
        row("high end with second order / mg", "1.3810", value + k * both).within(1e-4, ROUNDED),
        row("mean by trials / mg", "1.2341", found.mean).within(3e-4, RUN),
        row("u by trials / mg", "0.0754", found.standard_uncertainty).within(2e-4, RUN),
        row("width of the 95 % interval by trials / mg", "0.2991", found.shortest.width()).within(
            2e-3,
            "the flat top of the density lets the ends of the shortest interval wander together; \
             the width is stable",
        ),
        Check::printed(
            S1,
            "9.3, density symmetric about 1.234",
            "low end with equal tails / mg",
            "1.0845",
            found.symmetric.low,
            Own,
        )
        .within(2e-3, RUN),
    ])
}

/// 9.4: comparison loss `X1² + X2²` near zero, in units of 1e-6.
fn comparison_loss() -> Result<Vec<Check>, UncertaintyError> {
    let case = |x1: f64, r| SquaredMagnitude::new([x1, 0.0], [0.005, 0.005], r);
    let millionth = 1e6;
    let (zero, small, large) = (case(0.0, 0.0)?, case(0.010, 0.0)?, case(0.050, 0.0)?);
    let (zero_r, small_r, large_r) = (case(0.0, 0.9)?, case(0.010, 0.9)?, case(0.050, 0.9)?);
    let row = |locator, quantity, printed, ours: f64| {
        Check::printed(S1, locator, quantity, printed, millionth * ours, FromMemory)
    };
    let noise = "print is one simulation, ours is exact: ends of a skew density wander by some 6e-6";
    let own = |locator, quantity, printed, ours: f64| {
        Check::printed(S1, locator, quantity, printed, millionth * ours, ClosedForm)
    };
    let shortest = |s: &SquaredMagnitude| s.shortest_interval(0.95);
    let equal = small.symmetric_interval(0.95)?;
    let (end_small, end_large, end_large_r) = (shortest(&small)?, shortest(&large)?, shortest(&large_r)?);
    let end_small_r = shortest(&small_r)?;
    Ok(vec![
        row("table 7", "x1 = 0: u by first order, which fails", "0", zero.first_order().1),
        row("table 7", "x1 = 0: mean", "50", zero.mean()),
        row("table 7", "x1 = 0: u", "50", zero.standard_deviation()),
        row("table 7", "x1 = 0: high end, shortest", "150", shortest(&zero)?.high),
        row("table 7", "x1 = 0: low end, shortest", "0", shortest(&zero)?.low),
        row("table 7", "x1 = 0.010: mean", "150", small.mean()),
        row("table 7", "x1 = 0.010: u", "112", small.standard_deviation()),
        row("table 7", "x1 = 0.010: high end, shortest", "367", end_small.high).within(8.0, noise),
        row("table 7", "x1 = 0.050: mean", "2551", large.mean())
            .within(1.0, "print is one simulation; exact is 2550"),
        row("table 7", "x1 = 0.050: u", "502", large.standard_deviation()),
        row("table 7", "x1 = 0.050: low end, shortest", "1590", end_large.low).within(8.0, noise),
        row("table 7", "x1 = 0.050: high end, shortest", "3543", end_large.high).within(8.0, noise),
        row("table 9", "x1 = 0, r = 0.9: u", "67", zero_r.standard_deviation()),
        row("table 9", "x1 = 0.010, r = 0.9: u", "121", small_r.standard_deviation()),
        row("table 9", "x1 = 0.050, r = 0.9: u", "505", large_r.standard_deviation())
            .within(0.6, "print is one simulation; exact is 504.5"),
        row("table 9", "x1 = 0, r = 0.9: high end, shortest", "185", shortest(&zero_r)?.high),
        row("table 9", "x1 = 0.010, r = 0.9: low end, shortest", "13", end_small_r.low).within(3.0, noise),
        row("table 9", "x1 = 0.010, r = 0.9: high end, shortest", "398", end_small_r.high).within(3.0, noise),
        row("table 9", "x1 = 0.050, r = 0.9: low end, shortest", "1628", end_large_r.low).within(4.0, noise),
        row("table 9", "x1 = 0.050, r = 0.9: high end, shortest", "3555", end_large_r.high)
            .within(3.0, noise),
        own("noncentral chi-squared", "x1 = 0.010: high end, shortest", "366.01", end_small.high),
        own("noncentral chi-squared", "x1 = 0.010: low end, equal tails", "8.547", equal.low),
        own("noncentral chi-squared", "x1 = 0.010: high end, equal tails", "427.12", equal.high),
        own("noncentral chi-squared", "x1 = 0.050: low end, shortest", "1593.57", end_large.low)
            .within(0.05, "the width is flat at its minimum, so the place is known less well than the width"),
        own("chi-squared", "x1 = 0: high end, shortest", "149.79", number(zero.quantile(0.95))),
        own("moments", "x1 = 0, r = 0.9: u", "67.268", zero_r.standard_deviation()),
        own("moments", "x1 = 0.010, r = 0.9: u", "120.520", small_r.standard_deviation()),
    ])
}
