//! Values by SciPy and GTC, stored by `crosscheck/uncertainty/make.py`.

use super::gum;
use crate::{
    CalibrationLine, Estimate, InputId, Limits, Prior, SquaredMagnitude, UncertaintyError, normal_quantile,
    population_risk, student_t_below, student_t_quantile,
};
use matewell_published::{Check, Grade::Independent};

const VALUES: &str = include_str!("../../../../crosscheck/uncertainty/values.csv");
const SENTENCE: &str = "16 digits are stored; two implementations agree to this";

pub(super) fn checks() -> Vec<Check> {
    VALUES.lines().filter_map(check).collect()
}

fn check(line: &'static str) -> Option<Check> {
    let mut fields = line.split(',');
    let (source, kind) = (fields.next()?, fields.next()?);
    let (arguments, printed) = (fields.next()?, fields.next()?);
    let numbers: Vec<f64> = arguments.split_whitespace().filter_map(|a| a.parse().ok()).collect();
    let (ours, relative) = compute(kind, &numbers).unwrap_or((f64::NAN, 0.0));
    let locator = line.get(source.len() + 1..line.len() - printed.len() - 1)?;
    let check = Check::printed(source, "crosscheck/uncertainty", locator, printed, ours, Independent);
    let allowed = relative * check.printed_value().abs();
    Some(check.within(allowed, SENTENCE))
}

/// Our value and the relative difference that is allowed.
fn compute(kind: &str, numbers: &[f64]) -> Result<(f64, f64), UncertaintyError> {
    Ok(match (kind, numbers) {
        ("normal_quantile", [p]) => (normal_quantile(*p)?, 1e-13),
        ("t_quantile", [p, dof]) => (student_t_quantile(*p, *dof)?, 1e-10),
        ("t_below", [t, dof]) => (student_t_below(*t, *dof)?, 1e-11),
        ("square_quantile", [x1, x2, u1, u2, r, p]) => {
            (SquaredMagnitude::new([*x1, *x2], [*u1, *u2], *r)?.quantile(*p)?, 1e-8)
        }
        ("square_below", [x1, x2, u1, u2, r, y]) => {
            (SquaredMagnitude::new([*x1, *x2], [*u1, *u2], *r)?.below(*y), 1e-8)
        }
        ("square_shortest_width", [x1, x2, u1, u2, r]) => {
            (SquaredMagnitude::new([*x1, *x2], [*u1, *u2], *r)?.shortest_interval(0.95)?.width(), 1e-7)
        }
        (_, [mean, sd, u, low, high, accept_low, accept_high]) => {
            let prior = Prior::Normal { mean: *mean, standard_deviation: *sd };
            let limits = Limits::new(Some(*low), Some(*high))?;
            let risk =
                population_risk(prior, *u, limits, Limits::new(Some(*accept_low), Some(*accept_high))?)?;
            // Four corners of a bivariate normal lose digits by cancellation.
            (if kind == "normal_consumer" { risk.consumer } else { risk.producer }, 1e-6)
        }
        ("gamma_consumer" | "gamma_producer", [mean, sd, u, limit, accept]) => {
            let prior = Prior::Gamma { mean: *mean, standard_deviation: *sd };
            let risk = population_risk(
                prior,
                *u,
                Limits::new(None, Some(*limit))?,
                Limits::new(None, Some(*accept))?,
            )?;
            (if kind == "gamma_consumer" { risk.consumer } else { risk.producer }, 1e-8)
        }
        ("impedance_value" | "impedance_u" | "impedance_r", _) => (impedance(kind, numbers)?, 1e-9),
        ("line_ssr" | "line_value" | "line_u", _) => (line(kind, numbers)?, 1e-9),
        _ => (shared(kind)?, 1e-10),
    })
}

fn impedance(kind: &str, numbers: &[f64]) -> Result<f64, UncertaintyError> {
    let (values, joint) = gum::impedance_by_means()?;
    // Indices are stored as 0.0, 1.0, 2.0.
    let index =
        |n: usize| numbers.get(n).and_then(|x| (0..3).find(|i| (*i as f64 - x).abs() < 0.5)).unwrap_or(9);
    let found = match kind {
        "impedance_value" => values.get(index(0)).copied(),
        "impedance_u" => joint.standard_uncertainty(index(0)),
        _ => joint.correlation(index(0), index(1)),
    };
    Ok(found.unwrap_or(f64::NAN))
}

fn line(kind: &str, numbers: &[f64]) -> Result<f64, UncertaintyError> {
    let line = CalibrationLine::fit(&gum::READING, &gum::CORRECTION, 20.0)?;
    let at = numbers.first().map(|t| line.at(*t));
    Ok(match (kind, at) {
        ("line_ssr", _) => line.sum_of_squared_residuals(),
        ("line_value", Some(at)) => at.value,
        ("line_u", Some(at)) => at.standard_uncertainty,
        _ => f64::NAN,
    })
}

// (a b + c)/a, and that less b.
fn shared(kind: &str) -> Result<f64, UncertaintyError> {
    let input = |name: &str, value, u, dof| Estimate::input(InputId::new(name), value, u, dof);
    let (a, b, c) = (input("a", 2.0, 0.1, 5.0)?, input("b", 3.0, 0.2, 9.0)?, input("c", 1.0, 0.3, 4.0)?);
    let sum = a.times(&b)?.plus(&c)?;
    let (value, divisor) = (sum.value(), a.value());
    let quotient =
        Estimate::combine(value / divisor, &[(1.0 / divisor, &sum), (-value / divisor.powi(2), &a)])?;
    let less = quotient.minus(&b)?;
    Ok(match kind {
        "shared_u" => quotient.standard_uncertainty(),
        "shared_dof" => quotient.degrees_of_freedom(),
        "shared_difference_u" => less.standard_uncertainty(),
        "shared_difference_dof" => less.degrees_of_freedom(),
        "shared_r" => quotient.correlation(&less),
        _ => f64::NAN,
    })
}
