//! Up to which frequency only one mode travels.

use crate::{Answer, Line, LineError, Uncertain, constants::SPEED_OF_LIGHT_M_PER_S, uncertain::propagate};
use matewell_quantity::Frequency;
use std::f64::consts::PI;

/// More steps than any ratio of diameters needs; the secant takes four to six.
const STEPS: usize = 60;

/// Derivatives of `J₁` and `Y₁` at `x`, by `C₁' = C₀ − C₁/x`.
fn derivatives(x: f64) -> (f64, f64) {
    (libm::j0(x) - libm::j1(x) / x, libm::y0(x) - libm::y1(x) / x)
}

/// `J₁'(kb)Y₁'(ka) − J₁'(ka)Y₁'(kb)`, zero at the TE₁ₙ cut-offs.
fn cross_product(ka: f64, kb: f64) -> f64 {
    let (ja, ya) = derivatives(ka);
    let (jb, yb) = derivatives(kb);
    jb * ya - ja * yb
}

/// `k_c·a` of the TE₁₁ mode for a ratio of diameters `D/d` above one; `None`
/// when the root is not found.
///
/// `a` is the radius of the centre conductor. The root lies between 0.90 and
/// 1.10 times `2/(1 + ratio)`, alone: it tends to 1 for thin rings and to
/// 1.8412/2 for a vanishing centre conductor.
pub(crate) fn te11_normalised(ratio: f64) -> Option<f64> {
    let start = 2.0 / (1.0 + ratio);
    let f = |x: f64| cross_product(x, x * ratio);
    let (mut low, mut high) = (0.90 * start, 1.10 * start);
    let (mut f_low, f_high) = (f(low), f(high));
    if f_low * f_high > 0.0 || f_low.is_nan() || f_high.is_nan() {
        return None;
    }
    // Two good guesses from the smooth behaviour of k(a + b); then the secant,
    // kept inside the bracket.
    let (mut x0, mut f0) = (low, f_low);
    let (mut x1, mut f1) = {
        let x = start * if ratio < 6.0 { 1.02 } else { 0.98 };
        (x, f(x))
    };
    for _ in 0..STEPS {
        if f1 == 0.0 {
            return Some(x1);
        }
        if f_low * f1 < 0.0 {
            high = x1;
        } else {
            (low, f_low) = (x1, f1);
        }
        let secant = x1 - f1 * (x1 - x0) / (f1 - f0);
        let next = if secant > low && secant < high { secant } else { low + (high - low) / 2.0 };
        if (next - x1).abs() <= 2e-14 * x1 || high - low <= 2e-15 * high {
            return Some(next);
        }
        (x0, f0) = (x1, f1);
        x1 = next;
        f1 = f(x1);
    }
    // The last steps can only rattle at the rounding of the Bessel functions,
    // which happens for rings thinner than one part in 10⁵.
    (high - low < 1e-9 * high).then_some(x1)
}

/// TE₁₁ cut-off in hertz from diameters in metres; NaN when there is none.
pub(crate) fn te11_hz(outer: f64, inner: f64, permittivity: f64) -> f64 {
    te11_normalised(outer / inner)
        .map_or(f64::NAN, |x| SPEED_OF_LIGHT_M_PER_S * x / (PI * inner * permittivity.sqrt()))
}

/// Cut-off frequency of the TE₁₁ mode: above it the line carries two modes.
///
/// `f_c = c k_c/(2π√ε_r)`, `k_c` the smallest root of
/// `J₁'(k b)Y₁'(k a) = J₁'(k a)Y₁'(k b)`, `a = d/2`, `b = D/2`.
///
/// Exact for the uniform line. A dielectric bead has its own, lower cut-off,
/// so this is an upper bound for a real interface.
///
/// # Errors
///
/// [`LineError::NoConvergence`] for a ring so thin that the Bessel functions
/// lose their digits (`D/d` below about 1.00001).
///
/// # Source
///
/// `marcuvitz-1951`, section 2.4, coaxial waveguides; from memory.
pub fn te11_cutoff(line: &Line) -> Result<Uncertain<Frequency>, LineError> {
    let (outer, inner, _) = line.numbers();
    if te11_normalised(outer / inner).is_none() {
        return Err(LineError::NoConvergence { what: "the TE11 root", steps: STEPS });
    }
    Uncertain::from_estimate(propagate(line.inputs(), |[outer, inner, er]| te11_hz(*outer, *inner, *er))?)
}

/// The textbook approximation `k_c ≈ 2/(a + b)`, about 2 % below
/// [`te11_cutoff`] for 50 Ω; for comparison only.
///
/// # Errors
///
/// None for a line that exists.
///
/// # Source
///
/// `pozar-2012`, section 3.5, coaxial line; from memory.
pub fn te11_cutoff_approximate(line: &Line) -> Result<Uncertain<Frequency>, LineError> {
    Uncertain::from_estimate(propagate(line.inputs(), |[outer, inner, er]| {
        2.0 * SPEED_OF_LIGHT_M_PER_S / (PI * (outer + inner) * er.sqrt())
    })?)
}

/// The finding for a frequency above the cut-off, if it is.
pub(crate) fn check_te11(line: &Line, at: Frequency) -> Result<Vec<crate::Finding>, LineError> {
    let cutoff = te11_cutoff(line)?.value();
    Ok(if at.hertz() >= cutoff.hertz() {
        vec![crate::Finding::AboveTe11 { frequency: at, cutoff }]
    } else {
        Vec::new()
    })
}

/// The impedance with the finding that it means nothing above the cut-off.
///
/// # Errors
///
/// As [`te11_cutoff`].
pub fn characteristic_impedance_at(
    line: &Line,
    at: Frequency,
) -> Result<Answer<Uncertain<matewell_quantity::Impedance>>, LineError> {
    Ok(Answer { value: crate::characteristic_impedance(line)?, findings: check_te11(line, at)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slow twin: 200 halvings of the whole bracket.
    fn by_bisection(ratio: f64) -> f64 {
        let start = 2.0 / (1.0 + ratio);
        let (mut low, mut high) = (0.9 * start, 1.1 * start);
        for _ in 0..200 {
            let middle = low + (high - low) / 2.0;
            if cross_product(low, low * ratio) * cross_product(middle, middle * ratio) <= 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        low
    }

    #[test]
    fn the_secant_agrees_with_bisection() {
        for i in 0..200 {
            let ratio = 1.01 * 1.035f64.powi(i);
            let fast = te11_normalised(ratio).unwrap();
            let slow = by_bisection(ratio);
            // Thin rings lose digits in proportion to 1/(ratio − 1).
            let allowed = 1e-13 + 1e-14 / (ratio - 1.0);
            assert!((fast / slow - 1.0).abs() < allowed, "{ratio}: {fast} {slow}");
        }
    }

    /// Limits in closed form: a thin ring gives k(a + b) = 2; a vanishing
    /// centre conductor gives the first zero of J₁', 1.841 183 78.
    #[test]
    fn both_limits_of_the_ratio() {
        let thin = te11_normalised(1.001).unwrap() * 2.001;
        assert!((thin - 2.0).abs() < 1e-6, "{thin}");
        let thick = te11_normalised(1e4).unwrap() * 1e4;
        assert!((thick - 1.841_183_78).abs() < 1e-6, "{thick}");
        assert!(te11_normalised(f64::NAN).is_none());
    }
}
