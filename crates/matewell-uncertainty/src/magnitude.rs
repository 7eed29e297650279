//! Squares and magnitudes of a complex quantity near zero, where first order
//! fails.

use crate::{
    CovarianceMatrix, UncertaintyError,
    coverage::{normal_below, normal_density},
    monte_carlo::Interval,
    numeric::{bisect, finite, greater, integrate, lesser, minimise, not_negative, probability},
};

/// Below this ratio of a magnitude to its standard uncertainty the first-order
/// formula is not to be trusted for it, its square or its logarithm.
///
/// Common practice, no source: at 3 the first-order variance of the square is
/// 5 % low and the mean 11 % of `|x|²` off; at 1 they are 33 % and half.
pub const FIRST_ORDER_RATIO: f64 = 3.0;

/// Whether `|x|/u` is large enough for the first-order formula.
///
/// # Errors
///
/// A value that is not finite or a negative uncertainty.
pub fn first_order_is_enough(value: f64, standard_uncertainty: f64) -> Result<bool, UncertaintyError> {
    finite("value", value)?;
    not_negative("standard uncertainty", standard_uncertainty)?;
    Ok(value.abs() >= FIRST_ORDER_RATIO * standard_uncertainty)
}

/// `Y = X₁² + X₂²` for jointly normal real and imaginary parts.
///
/// # Source
///
/// `jcgm-101-2008`, 9.4 (the problem); mean and variance are the standard
/// moments of a quadratic form of normal variables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquaredMagnitude {
    means: [f64; 2],
    uncertainties: [f64; 2],
    correlation: f64,
    // The same in principal axes: independent parts.
    principal_means: [f64; 2],
    principal_uncertainties: [f64; 2],
}

impl SquaredMagnitude {
    /// From the parts' estimates, standard uncertainties and correlation.
    ///
    /// # Errors
    ///
    /// A value that is not finite, a negative uncertainty, `|r| > 1`.
    pub fn new(means: [f64; 2], uncertainties: [f64; 2], correlation: f64) -> Result<Self, UncertaintyError> {
        for mean in means {
            finite("part", mean)?;
        }
        // Checks the uncertainties and the coefficient.
        CovarianceMatrix::from_correlations(&uncertainties, &[(0, 1, correlation)])?;
        let [u1, u2] = uncertainties;
        let (a, b, c) = (u1 * u1, u2 * u2, correlation * u1 * u2);
        let angle = 0.5 * (2.0 * c).atan2(a - b);
        let (sin, cos) = angle.sin_cos();
        let root = (0.25 * (a - b) * (a - b) + c * c).sqrt();
        let clamp = |v: f64| if v > 0.0 { v.sqrt() } else { 0.0 };
        Ok(Self {
            means,
            uncertainties,
            correlation,
            principal_means: [cos * means[0] + sin * means[1], cos * means[1] - sin * means[0]],
            principal_uncertainties: [clamp(0.5 * (a + b) + root), clamp(0.5 * (a + b) - root)],
        })
    }

    /// First-order value and standard uncertainty, for comparison. At zero
    /// the uncertainty is zero, which is wrong.
    pub fn first_order(&self) -> (f64, f64) {
        let ([x1, x2], [u1, u2]) = (self.means, self.uncertainties);
        let (c1, c2) = (2.0 * x1 * u1, 2.0 * x2 * u2);
        let variance = c1 * c1 + c2 * c2 + 2.0 * self.correlation * c1 * c2;
        (x1 * x1 + x2 * x2, greater(variance, 0.0).sqrt())
    }

    /// Exact mean: `x₁² + x₂² + u₁² + u₂²`.
    pub fn mean(&self) -> f64 {
        let ([x1, x2], [u1, u2]) = (self.means, self.uncertainties);
        x1 * x1 + x2 * x2 + u1 * u1 + u2 * u2
    }

    /// Exact standard deviation: `Var = 4 xᵀVx + 2 tr V²`, which for equal
    /// uncertainties is `4u²(x₁² + x₂² + 2r x₁x₂) + 4u⁴(1 + r²)`.
    pub fn standard_deviation(&self) -> f64 {
        let [u1, u2] = self.uncertainties;
        let covariance = self.correlation * u1 * u2;
        let first = self.first_order().1.powi(2);
        (first + 2.0 * (u1.powi(4) + u2.powi(4) + 2.0 * covariance * covariance)).sqrt()
    }

    /// Probability that `Y` is at most `y`: one integral over the principal
    /// axis of larger uncertainty.
    pub fn below(&self, y: f64) -> f64 {
        let ([ma, mb], [ua, ub]) = (self.principal_means, self.principal_uncertainties);
        if y.is_nan() {
            return f64::NAN;
        }
        if ua <= 0.0 {
            return if y >= ma * ma + mb * mb { 1.0 } else { 0.0 };
        }
        if y <= 0.0 {
            return 0.0;
        }
        let radius = y.sqrt();
        // a = radius·sin θ removes the square-root ends of the circle. The
        // bell reaches 9 standard uncertainties.
        let edge = |a: f64| greater(lesser(a / radius, 1.0), -1.0).asin();
        let (from, to) = (edge(ma - 9.0 * ua), edge(ma + 9.0 * ua));
        if ub <= 1e-9 * ua {
            let half = greater(y - mb * mb, 0.0).sqrt();
            if y < mb * mb {
                return 0.0;
            }
            return normal_below((half - ma) / ua) - normal_below((-half - ma) / ua);
        }
        integrate(
            |theta| {
                let (sin, cos) = theta.sin_cos();
                let other = radius * cos;
                let inside = normal_below((other - mb) / ub) - normal_below((-other - mb) / ub);
                normal_density((radius * sin - ma) / ua) / ua * inside * other
            },
            from,
            to,
            12,
        )
    }

    /// The `y` below which the probability is `p`.
    ///
    /// # Errors
    ///
    /// `p` not between 0 and 1.
    pub fn quantile(&self, p: f64) -> Result<f64, UncertaintyError> {
        probability("a probability", p)?;
        Ok(self.quantile_inside(p))
    }

    fn quantile_inside(&self, p: f64) -> f64 {
        let ([ma, mb], [ua, ub]) = (self.principal_means, self.principal_uncertainties);
        let far = (ma.abs() + 9.0 * ua).powi(2) + (mb.abs() + 9.0 * ub).powi(2);
        // The square root is the natural scale near zero.
        let root = bisect(|root| self.below(root * root) - p, 0.0, far.sqrt());
        root * root
    }

    /// Interval with equal tails.
    ///
    /// # Errors
    ///
    /// A coverage probability not between 0 and 1.
    pub fn symmetric_interval(&self, coverage: f64) -> Result<Interval, UncertaintyError> {
        probability("a coverage probability", coverage)?;
        let tail = 0.5 * (1.0 - coverage);
        Ok(Interval { low: self.quantile_inside(tail), high: self.quantile_inside(1.0 - tail) })
    }

    /// Shortest interval of that coverage. It starts at zero when the density
    /// falls from there.
    ///
    /// # Errors
    ///
    /// A coverage probability not between 0 and 1.
    pub fn shortest_interval(&self, coverage: f64) -> Result<Interval, UncertaintyError> {
        probability("a coverage probability", coverage)?;
        let low = |tail: f64| if tail <= 0.0 { 0.0 } else { self.quantile_inside(tail) };
        let width = |tail: f64| self.quantile_inside(tail + coverage) - low(tail);
        let inside = minimise(width, 0.0, (1.0 - coverage) * (1.0 - 1e-9), 22);
        let tail = if width(0.0) <= width(inside) { 0.0 } else { inside };
        Ok(Interval { low: low(tail), high: self.quantile_inside(tail + coverage) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // Slow twin: noncentral chi-squared with two degrees of freedom as a
    // Poisson mixture of Erlang distributions.
    fn noncentral_below(x: f64, noncentrality: f64) -> f64 {
        let (half, y) = (0.5 * noncentrality, 0.5 * x);
        let (mut weight, mut sum) = ((-half).exp(), 0.0);
        let (mut term, mut tail) = ((-y).exp(), (-y).exp());
        for k in 0..400 {
            sum += weight * (1.0 - tail);
            weight *= half / f64::from(k + 1);
            term *= y / f64::from(k + 1);
            tail += term;
        }
        sum
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn agrees_with_the_noncentral_chi_squared(x in 0.0f64..5.0, angle in 0.0f64..6.0, y in 0.01f64..60.0) {
            let (s, c) = angle.sin_cos();
            let square = SquaredMagnitude::new([x * c, x * s], [1.0, 1.0], 0.0).unwrap();
            prop_assert!((square.below(y) - noncentral_below(y, x * x)).abs() < 1e-9);
        }

        #[test]
        fn the_shortest_interval_covers_and_is_shortest(x in 0.0f64..4.0, r in -0.95f64..0.95) {
            let square = SquaredMagnitude::new([x, 0.3], [1.0, 0.7], r).unwrap();
            let short = square.shortest_interval(0.95).unwrap();
            let equal = square.symmetric_interval(0.95).unwrap();
            prop_assert!((square.below(short.high) - square.below(short.low) - 0.95).abs() < 1e-6);
            prop_assert!(short.high - short.low <= (equal.high - equal.low) * (1.0 + 1e-6));
        }
    }

    #[test]
    fn one_certain_part_leaves_a_squared_normal() {
        let square = SquaredMagnitude::new([0.0, 0.0], [1.0, 0.0], 0.0).unwrap();
        assert!((square.quantile(0.95).unwrap() - 3.841_458_820_694_124).abs() < 1e-9);
        assert!(SquaredMagnitude::new([f64::NAN, 0.0], [1.0, 1.0], 0.0).is_err());
        assert!(SquaredMagnitude::new([0.0, 0.0], [1.0, 1.0], 1.5).is_err());
    }

    #[test]
    fn the_rule_of_three() {
        assert!(first_order_is_enough(-3.0, 1.0).unwrap());
        assert!(!first_order_is_enough(2.9, 1.0).unwrap());
        assert!(first_order_is_enough(f64::NAN, 0.1).is_err());
    }
}
