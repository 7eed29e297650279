//! JCGM 100 (the GUM): annexes G and H, and Type B divisors.

use super::{number, rows};
use crate::{
    CalibrationLine, CovarianceMatrix, Estimate, InputId, SecondOrder, Shape, UncertaintyError,
    central_differences, coverage_factor, type_b_degrees_of_freedom, welch_satterthwaite,
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, FromMemory, Independent, Published},
};
use std::f64::consts::FRAC_PI_2;

const GUM: &str = "jcgm-100-2008";
const GTC: &str = "gtc-docs";

pub(super) fn checks() -> Vec<Check> {
    let mut all = type_b();
    all.extend(end_gauge().unwrap_or_else(|_| failed()));
    all.extend(impedance().unwrap_or_else(|_| failed()));
    all.extend(thermometer().unwrap_or_else(|_| failed()));
    all.extend(degrees_of_freedom());
    all
}

// One check that fails, so that an error cannot shorten the list unseen.
fn failed() -> Vec<Check> {
    vec![Check::printed(GUM, "annex H", "computation", "0", f64::NAN, ClosedForm)]
}

fn type_b() -> Vec<Check> {
    let u = |shape: Shape| number(shape.standard_uncertainty(1.0));
    rows(
        GUM,
        [
            ("4.3.7", "rectangular ±1, u", "0.577350", u(Shape::Rectangular), ClosedForm),
            ("4.3.9", "triangular ±1, u", "0.408248", u(Shape::Triangular), ClosedForm),
            ("H.1.3.4", "arcsine ±1, u", "0.707107", u(Shape::Arcsine), ClosedForm),
            ("F.2.2.1", "resolution of one step, u", "0.29", u(Shape::Resolution), FromMemory),
            (
                "4.3.9",
                "trapezoid ±1 with top 0.5, u",
                "0.456435",
                u(Shape::Trapezoid { top: 0.5 }),
                ClosedForm,
            ),
            (
                "G.4.2",
                "degrees of freedom of an uncertainty known to 25 %",
                "8",
                number(type_b_degrees_of_freedom(0.25)),
                FromMemory,
            ),
        ],
    )
}

/// H.1: end gauge by a comparator.
fn end_gauge() -> Result<Vec<Check>, UncertaintyError> {
    let input = |name: &str, value, u, dof| Estimate::input(InputId::new(name), value, u, dof);
    let root3 = 3f64.sqrt();
    let standard = input("standard", 50_000_623.0, 25.0, 18.0)?;
    let repeat = input("repeated observations", 215.0, 5.8, 24.0)?;
    let random = input("comparator, random", 0.0, 3.9, 5.0)?;
    let systematic = input("comparator, systematic", 0.0, 6.7, 8.0)?;
    let difference = repeat.plus(&random)?.plus(&systematic)?;
    let alpha = input("expansion coefficient", 11.5e-6, 2e-6 / root3, f64::INFINITY)?;
    let alpha_difference = input("difference of coefficients", 0.0, 1e-6 / root3, 50.0)?;
    let theta = input("mean temperature", -0.1, 0.2, f64::INFINITY)?.plus(&input(
        "cyclic variation",
        0.0,
        0.5 / 2f64.sqrt(),
        f64::INFINITY,
    )?)?;
    let theta_difference = input("temperature difference", 0.0, 0.05 / root3, 2.0)?;
    let model = |x: &[f64]| match x {
        [ls, d, a, da, t, dt] => ls + d - ls * (da * t + a * dt),
        _ => f64::NAN,
    };
    let arguments = [&standard, &difference, &alpha, &alpha_difference, &theta, &theta_difference];
    let length = Estimate::of_function(model, &arguments)?;
    let expanded = length.expanded(0.99)?;
    let values: Vec<f64> = arguments.iter().map(|a| a.value()).collect();
    let u: Vec<f64> = arguments.iter().map(|a| a.standard_uncertainty()).collect();
    let second = SecondOrder::new(&central_differences(model, &values, &u, 0.1)?, &u)?;
    let share = |name: &str| {
        length
            .components()
            .find(|(id, _)| id.as_str() == name)
            .map_or(f64::NAN, |(_, c)| c.contribution.abs())
    };
    let mut checks = rows(
        GUM,
        [
            ("H.1.3.2", "u(d) / nm", "9.7", difference.standard_uncertainty(), FromMemory),
            (
                "H.1.3.2",
                "u(d), asserted unrounded by GTC's tests / nm",
                "9.68194195",
                difference.standard_uncertainty(),
                Published,
            ),
            ("H.1.6", "effective dof of d", "25.44725", difference.degrees_of_freedom(), FromMemory),
            ("table H.1", "l / nm", "50000838", length.value(), Published),
            ("table H.1", "u(l) / nm", "32", length.standard_uncertainty(), Published),
            ("table H.1", "share of the standard / nm", "25", share("standard"), FromMemory),
            (
                "table H.1",
                "share of the coefficients' difference / nm",
                "2.9",
                share("difference of coefficients"),
                FromMemory,
            ),
            (
                "table H.1",
                "share of the temperature difference / nm",
                "16.6",
                share("temperature difference"),
                FromMemory,
            ),
            ("H.1.6", "effective dof, truncated", "16", expanded.truncated_degrees_of_freedom, FromMemory),
            ("H.1.6", "t at 99 % for 16", "2.92", expanded.truncated_factor, FromMemory),
            ("H.1.7", "u(l) with second order / nm", "34", second.standard_uncertainty(), Published),
        ],
    );
    checks.push(
        Check::printed(GUM, "H.1.6", "U99 / nm", "93", expanded.truncated_uncertainty, FromMemory)
            .within(0.6, "print multiplies the rounded 32 nm by 2.92; unrounded it is 92.5 nm"),
    );
    Ok(checks)
}

// H.2, table H.2: simultaneous readings of voltage (V), current (mA) and
// phase (rad).
const VOLTAGE: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const CURRENT: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

fn resistance_reactance_impedance(v: f64, milliamperes: f64, phi: f64) -> [f64; 3] {
    let z = v / (milliamperes * 1e-3);
    [z * phi.cos(), z * phi.sin(), z]
}

/// Approach 1: the law of propagation from the means.
pub(super) fn impedance_by_means() -> Result<([f64; 3], CovarianceMatrix), UncertaintyError> {
    let (means, inputs) = CovarianceMatrix::of_paired_means(&[&VOLTAGE, &CURRENT, &PHASE])?;
    let [v, i, phi] = <[f64; 3]>::try_from(means).unwrap_or([f64::NAN; 3]);
    let [r, x, z] = resistance_reactance_impedance(v, i, phi);
    let joint =
        inputs.propagate(&[vec![r / v, -r / i, -x], vec![x / v, -x / i, r], vec![z / v, -z / i, 0.0]])?;
    Ok(([r, x, z], joint))
}

/// H.2 by both approaches.
fn impedance() -> Result<Vec<Check>, UncertaintyError> {
    let (means, inputs) = CovarianceMatrix::of_paired_means(&[&VOLTAGE, &CURRENT, &PHASE])?;
    let [v, i, phi] = <[f64; 3]>::try_from(means).unwrap_or([f64::NAN; 3]);
    let ([r, x, z], joint) = impedance_by_means()?;
    // Approach 2: the results of each set, then their means.
    let sets: Vec<[f64; 3]> = VOLTAGE
        .iter()
        .zip(CURRENT)
        .zip(PHASE)
        .map(|((v, i), phi)| resistance_reactance_impedance(*v, i, phi))
        .collect();
    let column = |k: usize| sets.iter().filter_map(|s| s.get(k).copied()).collect::<Vec<f64>>();
    let (rs, xs, zs) = (column(0), column(1), column(2));
    let (second_means, second) = CovarianceMatrix::of_paired_means(&[&rs, &xs, &zs])?;
    let u = |m: &CovarianceMatrix, k| m.standard_uncertainty(k).unwrap_or(f64::NAN);
    let c = |m: &CovarianceMatrix, i, j| m.correlation(i, j).unwrap_or(f64::NAN);
    let second_mean = |k: usize| second_means.get(k).copied().unwrap_or(f64::NAN);
    let mut checks = rows(
        GUM,
        [
            ("table H.2", "mean voltage / V", "4.9990", v, FromMemory),
            ("table H.2", "u of it / V", "0.0032", u(&inputs, 0), FromMemory),
            ("table H.2", "mean current / mA", "19.6610", i, FromMemory),
            ("table H.2", "u of it / mA", "0.0095", u(&inputs, 1), FromMemory),
            ("table H.2", "mean phase / rad", "1.04446", phi, FromMemory),
            ("table H.2", "u of it / rad", "0.00075", u(&inputs, 2), FromMemory),
            ("table H.2", "r(V, I)", "-0.36", c(&inputs, 0, 1), FromMemory),
            ("table H.2", "r(V, phi)", "0.86", c(&inputs, 0, 2), FromMemory),
            ("table H.2", "r(I, phi)", "-0.65", c(&inputs, 1, 2), FromMemory),
            ("table H.3", "R / ohm", "127.732", r, Published),
            ("table H.3", "u(R) / ohm", "0.071", u(&joint, 0), FromMemory),
            ("table H.3", "X / ohm", "219.847", x, FromMemory),
            ("table H.3", "Z / ohm", "254.260", z, FromMemory),
            ("table H.3", "u(Z) / ohm", "0.236", u(&joint, 2), FromMemory),
            ("table H.3", "r(R, X)", "-0.588", c(&joint, 0, 1), FromMemory),
            ("table H.3", "r(R, Z)", "-0.485", c(&joint, 0, 2), FromMemory),
            ("table H.3", "r(X, Z)", "0.993", c(&joint, 1, 2), FromMemory),
            ("table H.4", "R by approach 2 / ohm", "127.732", second_mean(0), FromMemory),
            ("table H.4", "u(R) by approach 2 / ohm", "0.071", u(&second, 0), FromMemory),
            ("table H.4", "u(X) by approach 2 / ohm", "0.295", u(&second, 1), FromMemory),
            ("table H.4", "u(Z) by approach 2 / ohm", "0.236", u(&second, 2), FromMemory),
            ("table H.4", "r(R, X) by approach 2", "-0.588", c(&second, 0, 1), FromMemory),
        ],
    );
    checks.push(Check::printed(GUM, "table H.3", "u(X) / ohm", "0.295", u(&joint, 1), FromMemory).within(
        6e-4,
        "the unrounded readings give 0.2956 by approach 1 and 0.2955 by approach 2: the third decimal of \
         the print hangs on rounded intermediate results",
    ));
    Ok(checks)
}

// H.3, table H.6: thermometer readings and corrections, degrees Celsius.
pub(super) const READING: [f64; 11] =
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
pub(super) const CORRECTION: [f64; 11] =
    [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];

fn thermometer() -> Result<Vec<Check>, UncertaintyError> {
    let line = CalibrationLine::fit(&READING, &CORRECTION, 20.0)?;
    let common = line.with_common(0.005)?;
    let at30 = line.at(30.0);
    let (y1, y2) = (line.intercept(), line.slope());
    let mut checks = rows(
        GUM,
        [
            ("H.3.3", "y1 / degC", "-0.1712", y1.value, Published),
            ("H.3.3", "u(y1) / degC", "0.0029", y1.standard_uncertainty, Published),
            ("H.3.3", "y2", "0.00218", y2.value, Published),
            ("H.3.3", "u(y2)", "0.00067", y2.standard_uncertainty, Published),
            ("H.3.3", "r(y1, y2)", "-0.930", line.correlation(), FromMemory),
            ("H.3.3", "s / degC", "0.0035", line.residual_standard_deviation(), FromMemory),
            ("H.3.4", "correction at 30 degC / degC", "-0.1494", at30.value, Published),
            ("H.3.4", "u of it / degC", "0.0041", at30.standard_uncertainty, Published),
        ],
    );
    checks.extend(rows(
        GTC,
        [
            (
                "line fit with a common error of u = 0.005",
                "u(y1) / degC",
                "0.005768931",
                common.intercept().standard_uncertainty,
                Published,
            ),
            (
                "line fit with a common error of u = 0.005",
                "u(y2)",
                "0.000667939",
                common.slope().standard_uncertainty,
                Published,
            ),
            (
                "line fit with a common error of u = 0.005",
                "dof of y1",
                "145.4",
                common.intercept().degrees_of_freedom,
                Published,
            ),
        ],
    ));
    checks.push(Check::printed(
        "GTC 1.5.1",
        "type_a.line_fit on table H.6, crosscheck/uncertainty",
        "sum of squared residuals / degC²",
        "1.10096583e-4",
        line.sum_of_squared_residuals(),
        Independent,
    ));
    Ok(checks)
}

fn degrees_of_freedom() -> Vec<Check> {
    let components = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)];
    let u = (components.iter().map(|(u, _): &(f64, f64)| u * u).sum::<f64>()).sqrt();
    let dof = number(welch_satterthwaite(&components));
    let factor = number(coverage_factor(0.95, dof));
    let k = |dof| number(coverage_factor(0.9545, dof));
    rows(
        GUM,
        [
            ("G.4.1", "relative u of a product / %", "1.03", u, FromMemory),
            ("G.4.1", "effective dof", "19.0", dof, FromMemory),
            ("G.4.1", "t at 95 %", "2.09", factor, FromMemory),
            ("G.4.1", "U at 95 % / %", "2.2", factor * u, FromMemory),
            ("table G.2", "k at 95.45 %, dof 1", "13.97", k(1.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 2", "4.53", k(2.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 3", "3.31", k(3.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 5", "2.65", k(5.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 8", "2.37", k(8.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 10", "2.28", k(10.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 20", "2.13", k(20.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof 50", "2.05", k(50.0), FromMemory),
            ("table G.2", "k at 95.45 %, dof infinite", "2.00", k(f64::INFINITY), FromMemory),
            // Closed form for one degree of freedom: tan(π p / 2).
            (
                "G.3.2",
                "k at 50 %, dof 1",
                "1",
                number(coverage_factor(0.5, 1.0)) * (FRAC_PI_2 / 2.0).tan(),
                ClosedForm,
            ),
        ],
    )
}
