//! Small tools that several modules share.

use crate::StudyError;
use statrs::function::beta::checked_beta_reg;

pub(crate) fn finite(what: &'static str, found: f64) -> Result<f64, StudyError> {
    if found.is_finite() { Ok(found) } else { Err(StudyError::NotFinite { what, found }) }
}

pub(crate) fn positive(what: &'static str, found: f64) -> Result<f64, StudyError> {
    finite(what, found)?;
    if found > 0.0 { Ok(found) } else { Err(StudyError::OutOfRange { what, expected: "above zero", found }) }
}

pub(crate) fn not_negative(what: &'static str, found: f64) -> Result<f64, StudyError> {
    finite(what, found)?;
    if found >= 0.0 {
        Ok(found)
    } else {
        Err(StudyError::OutOfRange { what, expected: "of zero or more", found })
    }
}

pub(crate) fn probability(what: &'static str, found: f64) -> Result<f64, StudyError> {
    if 0.0 < found && found < 1.0 {
        Ok(found)
    } else {
        Err(StudyError::OutOfRange { what, expected: "between 0 and 1, both excluded", found })
    }
}

pub(crate) fn values(what: &'static str, list: &[f64], at_least: usize) -> Result<(), StudyError> {
    if list.len() < at_least {
        return Err(StudyError::TooFew { what, expected: at_least, found: list.len() });
    }
    list.iter().try_for_each(|x| finite(what, *x).map(|_| ()))
}

pub(crate) fn greater(a: f64, b: f64) -> f64 {
    if a.is_nan() || a >= b { a } else { b }
}

pub(crate) fn lesser(a: f64, b: f64) -> f64 {
    if a.is_nan() || a <= b { a } else { b }
}

pub(crate) fn mean(list: &[f64]) -> f64 {
    list.iter().sum::<f64>() / list.len() as f64
}

/// Largest less smallest.
pub(crate) fn range(list: &[f64]) -> f64 {
    list.iter().fold(f64::NEG_INFINITY, |a, b| greater(a, *b))
        - list.iter().fold(f64::INFINITY, |a, b| lesser(a, *b))
}

pub(crate) fn sum_of_squares(list: &[f64]) -> f64 {
    let centre = mean(list);
    list.iter().map(|x| (x - centre) * (x - centre)).sum()
}

/// Upper tail of F: `P(F > f)` with `d1` and `d2` degrees of freedom.
///
/// Source: `abramowitz-stegun-1964`, 26.6.2.
pub(crate) fn f_upper_tail(f: f64, d1: f64, d2: f64) -> Result<f64, StudyError> {
    if f.is_infinite() && f > 0.0 {
        return Ok(0.0);
    }
    not_negative("ratio of variances", f)?;
    checked_beta_reg(0.5 * d2, 0.5 * d1, d2 / (d2 + d1 * f)).map_err(|_| StudyError::OutOfRange {
        what: "degrees of freedom",
        expected: "above zero",
        found: d1,
    })
}

/// Root between two ends of opposite sign.
pub(crate) fn bisect(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let rising = f(high) > 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || high <= middle {
            break;
        }
        if (f(middle) > 0.0) == rising {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}
