//! Small numerical tools that several modules share.

use crate::UncertaintyError;

/// The greater of two numbers; NaN wins.
pub(crate) fn greater(a: f64, b: f64) -> f64 {
    if a.is_nan() || a >= b { a } else { b }
}

/// The lesser of two numbers; NaN wins.
pub(crate) fn lesser(a: f64, b: f64) -> f64 {
    if a.is_nan() || a <= b { a } else { b }
}

/// The number, or the floor when it is below.
pub(crate) fn at_least(number: u32, floor: u32) -> u32 {
    if number < floor { floor } else { number }
}

pub(crate) fn finite(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    if found.is_finite() { Ok(found) } else { Err(UncertaintyError::NotFinite { what, found }) }
}

pub(crate) fn not_negative(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    finite(what, found)?;
    if found >= 0.0 {
        Ok(found)
    } else {
        Err(UncertaintyError::OutOfRange { what, expected: "of zero or more", found })
    }
}

pub(crate) fn positive(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    finite(what, found)?;
    if found > 0.0 {
        Ok(found)
    } else {
        Err(UncertaintyError::OutOfRange { what, expected: "above zero", found })
    }
}

pub(crate) fn probability(what: &'static str, found: f64) -> Result<f64, UncertaintyError> {
    if 0.0 < found && found < 1.0 {
        Ok(found)
    } else {
        Err(UncertaintyError::OutOfRange { what, expected: "between 0 and 1, both excluded", found })
    }
}

pub(crate) fn degrees_of_freedom(found: f64) -> Result<f64, UncertaintyError> {
    if found > 0.0 { Ok(found) } else { Err(UncertaintyError::DegreesOfFreedom { found }) }
}

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sum of squares about the mean, in two passes.
pub(crate) fn sum_of_squares(values: &[f64]) -> f64 {
    let centre = mean(values);
    values.iter().map(|x| (x - centre) * (x - centre)).sum()
}

// Nodes and weights of the 16-point Gauss–Legendre rule on [-1, 1], positive
// half (Abramowitz and Stegun, table 25.4).
const GAUSS_LEGENDRE_16: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_54),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_73),
    (0.755_404_408_355_003, 0.124_628_971_255_533_87),
    (0.865_631_202_387_831_7, 0.095_158_511_682_492_78),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_89),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_095),
];

/// Integral of a smooth function by `panels` equal panels of 16 points.
pub(crate) fn integrate(f: impl Fn(f64) -> f64, from: f64, to: f64, panels: u32) -> f64 {
    let half = (to - from) / (2.0 * f64::from(panels));
    (0..panels)
        .map(|k| {
            let centre = from + half * (2.0 * f64::from(k) + 1.0);
            GAUSS_LEGENDRE_16
                .iter()
                .map(|(node, weight)| weight * (f(centre - half * node) + f(centre + half * node)))
                .sum::<f64>()
        })
        .sum::<f64>()
        * half
}

/// Root of an increasing or decreasing function between two ends of opposite
/// sign, by bisection down to neighbouring floats or 200 halvings.
pub(crate) fn bisect(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let rising = f(high) > 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || high <= middle {
            break;
        }
        if (f(middle) > 0.0) == rising { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

/// Place of the minimum of a function with one valley, by golden section.
pub(crate) fn minimise(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64, steps: u32) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let mut left = high - GOLDEN * (high - low);
    let mut right = low + GOLDEN * (high - low);
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..steps {
        if at_left <= at_right {
            high = right;
            right = left;
            at_right = at_left;
            left = high - GOLDEN * (high - low);
            at_left = f(left);
        } else {
            low = left;
            left = right;
            at_left = at_right;
            right = low + GOLDEN * (high - low);
            at_right = f(right);
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rule_integrates_polynomials_and_the_bell() {
        assert!((integrate(|x| x.powi(30), 0.0, 1.0, 1) - 1.0 / 31.0).abs() < 1e-14);
        let bell = integrate(|x| (-0.5 * x * x).exp(), -9.0, 9.0, 8);
        assert!((bell - std::f64::consts::TAU.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn nan_is_not_swallowed() {
        assert!(greater(f64::NAN, 1.0).is_nan() && greater(1.0, f64::NAN).is_nan());
        assert!(lesser(f64::NAN, 1.0).is_nan() && lesser(1.0, f64::NAN).is_nan());
    }

    #[test]
    fn root_and_valley() {
        assert!((bisect(|x| x * x - 2.0, 0.0, 2.0) - 2f64.sqrt()).abs() < 1e-15);
        assert!((minimise(|x| (x - 0.3) * (x - 0.3), 0.0, 1.0, 60) - 0.3).abs() < 1e-7);
    }
}
