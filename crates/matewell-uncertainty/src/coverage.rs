//! Quantiles and coverage factors.

use crate::{
    Estimate, UncertaintyError,
    numeric::{degrees_of_freedom, positive, probability},
};
use statrs::function::beta::checked_beta_reg;

/// What shape the knowledge about a result has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Belief {
    /// Normal: the standard uncertainty is taken as known.
    Normal,
    /// Scaled and shifted t with these degrees of freedom; infinity is normal.
    StudentT(f64),
}

impl Belief {
    /// Probability that the standardised variable is below `z`.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::DegreesOfFreedom`] and a NaN argument.
    pub fn below(self, z: f64) -> Result<f64, UncertaintyError> {
        match self {
            Self::Normal if z.is_nan() => Err(UncertaintyError::NotFinite { what: "argument", found: z }),
            Self::Normal => Ok(normal_below(z)),
            Self::StudentT(dof) => student_t_below(z, dof),
        }
    }

    /// Probability density of the standardised variable, for pictures.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::DegreesOfFreedom`].
    ///
    /// # Source
    ///
    /// `abramowitz-stegun-1964`, 26.7.1 (derivative of the t distribution function).
    pub fn density(self, z: f64) -> Result<f64, UncertaintyError> {
        use statrs::function::gamma::ln_gamma;
        match self {
            Self::Normal => Ok(normal_density(z)),
            Self::StudentT(dof) if dof == f64::INFINITY => Ok(normal_density(z)),
            Self::StudentT(dof) => {
                degrees_of_freedom(dof)?;
                let log = ln_gamma(0.5 * (dof + 1.0))
                    - ln_gamma(0.5 * dof)
                    - 0.5 * (dof * std::f64::consts::PI).ln()
                    - 0.5 * (dof + 1.0) * (z * z / dof).ln_1p();
                Ok(log.exp())
            }
        }
    }

    /// The standardised variable below which the probability is `p`.
    ///
    /// # Errors
    ///
    /// `p` not between 0 and 1, or bad degrees of freedom.
    pub fn quantile(self, p: f64) -> Result<f64, UncertaintyError> {
        match self {
            Self::Normal => normal_quantile(p),
            Self::StudentT(dof) => student_t_quantile(p, dof),
        }
    }
}

/// Standard normal distribution function `Φ(z)`.
///
/// # Source
///
/// `abramowitz-stegun-1964`, 26.2.29 (by the complementary error function).
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Standard normal density.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}

/// Standard normal quantile: the `z` with `Φ(z) = p`.
///
/// A rational start (relative error 1.15e-9, coefficients of Acklam's widely
/// used approximation, from memory) polished by two steps of Halley's method
/// on [`normal_below`]; the tests hold the result against `Φ`, so a wrong
/// coefficient would only cost speed.
///
/// # Errors
///
/// `p` not between 0 and 1, both excluded.
pub fn normal_quantile(p: f64) -> Result<f64, UncertaintyError> {
    const A: [f64; 6] = [
        -39.696_830_286_653_76,
        220.946_098_424_520_5,
        -275.928_510_446_968_7,
        138.357_751_867_269,
        -30.664_798_066_147_16,
        2.506_628_277_459_239,
    ];
    const B: [f64; 6] = [
        -54.476_098_798_224_06,
        161.585_836_858_040_9,
        -155.698_979_859_886_6,
        66.801_311_887_719_72,
        -13.280_681_552_885_72,
        1.0,
    ];
    const C: [f64; 6] = [
        -0.007_784_894_002_430_293,
        -0.322_396_458_041_136_5,
        -2.400_758_277_161_838,
        -2.549_732_539_343_734,
        4.374_664_141_464_968,
        2.938_163_982_698_783,
    ];
    const D: [f64; 5] = [
        0.007_784_695_709_041_462,
        0.322_467_129_070_039_8,
        2.445_134_137_142_996,
        3.754_408_661_907_416,
        1.0,
    ];
    probability("a probability", p)?;
    let horner = |c: &[f64], x: f64| c.iter().fold(0.0, |sum, k| sum * x + k);
    // In the lower tail the distribution function keeps its digits, and 1 − p
    // is exact there.
    let tail = if p < 0.5 { p } else { 1.0 - p };
    let mut z = if tail < 0.024_25 {
        let q = (-2.0 * tail.ln()).sqrt();
        horner(&C, q) / horner(&D, q)
    } else {
        let q = tail - 0.5;
        q * horner(&A, q * q) / horner(&B, q * q)
    };
    for _ in 0..2 {
        let error = (normal_below(z) - tail) / normal_density(z);
        if error.is_finite() {
            z -= error / (1.0 + 0.5 * z * error);
        }
    }
    Ok(if p < 0.5 { z } else { -z })
}

/// Distribution function of Student's t, also for non-integer degrees of
/// freedom; infinity gives the normal.
///
/// # Errors
///
/// Degrees of freedom not above zero, a NaN argument.
///
/// # Source
///
/// `abramowitz-stegun-1964`, 26.7.1 (by the incomplete beta function).
pub fn student_t_below(t: f64, dof: f64) -> Result<f64, UncertaintyError> {
    degrees_of_freedom(dof)?;
    if t.is_nan() {
        return Err(UncertaintyError::NotFinite { what: "argument", found: t });
    }
    // Beyond 1e9 degrees of freedom t and normal differ by less than 1e-9.
    if dof > 1e9 {
        return Ok(normal_below(t));
    }
    let beta = |a, b, x| {
        checked_beta_reg(a, b, x).map_err(|_| UncertaintyError::NotFinite { what: "argument", found: t })
    };
    // Near the middle the complement keeps its digits, in the tails the tail.
    if t * t < 1.0 {
        let inside = beta(0.5, 0.5 * dof, t * t / (dof + t * t))?;
        return Ok(0.5 + 0.5 * inside.copysign(t));
    }
    let two_tails = beta(0.5 * dof, 0.5, dof / (dof + t * t))?;
    Ok(if t > 0.0 { 1.0 - 0.5 * two_tails } else { 0.5 * two_tails })
}

/// Quantile of Student's t by Newton steps on [`student_t_below`] kept inside
/// a bracket.
///
/// # Errors
///
/// `p` not between 0 and 1, or bad degrees of freedom.
pub fn student_t_quantile(p: f64, dof: f64) -> Result<f64, UncertaintyError> {
    probability("a probability", p)?;
    degrees_of_freedom(dof)?;
    if dof > 1e9 {
        return normal_quantile(p);
    }
    // Work in the lower tail, where the function value keeps its digits.
    let tail = if p < 0.5 { p } else { 1.0 - p };
    let z = normal_quantile(tail)?;
    let ln_scale =
        libm::lgamma(0.5 * (dof + 1.0)) - libm::lgamma(0.5 * dof) - 0.5 * (dof * std::f64::consts::PI).ln();
    let density = |t: f64| (ln_scale - 0.5 * (dof + 1.0) * (t * t / dof).ln_1p()).exp();
    let mut low = z - 1.0;
    while student_t_below(low, dof)? > tail {
        low *= 2.0;
        if !low.is_finite() {
            return Err(UncertaintyError::OutOfRange {
                what: "the tail",
                expected: "within f64",
                found: tail,
            });
        }
    }
    let mut high = 0.0;
    // First terms of the Cornish–Fisher expansion as the start.
    let mut t = z + z * (z * z + 1.0) / (4.0 * dof);
    for _ in 0..100 {
        if !(low < t && t < high) {
            t = 0.5 * (low + high);
        }
        let error = student_t_below(t, dof)? - tail;
        if error > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let next = t - error / density(t);
        if (next - t).abs() <= 1e-14 * t.abs() || high - low <= 1e-15 * low.abs() {
            t = next;
            break;
        }
        t = next;
    }
    Ok(if p < 0.5 { t } else { -t })
}

/// Coverage factor `k` of a symmetric interval with coverage probability `p`:
/// the t quantile at `(1 + p)/2`.
///
/// # Errors
///
/// As [`student_t_quantile`].
///
/// # Source
///
/// `jcgm-100-2008`, G.3.4 and table G.2.
pub fn coverage_factor(p: f64, dof: f64) -> Result<f64, UncertaintyError> {
    probability("a coverage probability", p)?;
    student_t_quantile(0.5 * (1.0 + p), dof)
}

/// Degrees of freedom that stand for a Type B standard uncertainty which is
/// itself known to the fraction `relative` of its value: `ν ≈ ½ (Δu/u)⁻²`.
///
/// # Errors
///
/// A fraction not above zero.
///
/// # Source
///
/// `jcgm-100-2008`, G.4.2, equation G.3.
pub fn type_b_degrees_of_freedom(relative: f64) -> Result<f64, UncertaintyError> {
    Ok(0.5 / positive("relative uncertainty of an uncertainty", relative)?.powi(2))
}

/// Welch–Satterthwaite: effective degrees of freedom of independent
/// components `(uᵢ, νᵢ)` in the unit of the result, not truncated.
///
/// # Errors
///
/// A negative component or bad degrees of freedom.
///
/// # Source
///
/// `jcgm-100-2008`, G.4.1, equation G.2b.
pub fn welch_satterthwaite(components: &[(f64, f64)]) -> Result<f64, UncertaintyError> {
    let (mut variance, mut denominator) = (0.0, 0.0);
    for (u, dof) in components {
        crate::numeric::not_negative("standard uncertainty", *u)?;
        degrees_of_freedom(*dof)?;
        variance += u * u;
        denominator += u.powi(4) / dof;
    }
    Ok(if denominator > 0.0 { variance * variance / denominator } else { f64::INFINITY })
}

/// An expanded uncertainty, with the truncated version beside it, because
/// budgets in print use either.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expanded {
    /// Coverage probability.
    pub probability: f64,
    /// Effective degrees of freedom, not truncated.
    pub degrees_of_freedom: f64,
    /// Coverage factor for them.
    pub factor: f64,
    /// `U = k u`.
    pub uncertainty: f64,
    /// Degrees of freedom truncated to the next lower integer, at least 1.
    pub truncated_degrees_of_freedom: f64,
    /// Coverage factor for the truncated ones: never smaller.
    pub truncated_factor: f64,
    /// `U` with the truncated ones.
    pub truncated_uncertainty: f64,
}

impl Estimate {
    /// Expanded uncertainty for a coverage probability.
    ///
    /// # Errors
    ///
    /// A coverage probability not between 0 and 1.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, G.4.1 and G.6.4.
    pub fn expanded(&self, probability: f64) -> Result<Expanded, UncertaintyError> {
        let dof = self.degrees_of_freedom();
        let truncated = crate::numeric::greater(dof.floor(), 1.0);
        let factor = coverage_factor(probability, dof)?;
        let truncated_factor = coverage_factor(probability, truncated)?;
        let u = self.standard_uncertainty();
        Ok(Expanded {
            probability,
            degrees_of_freedom: dof,
            factor,
            uncertainty: factor * u,
            truncated_degrees_of_freedom: truncated,
            truncated_factor,
            truncated_uncertainty: truncated_factor * u,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn quantiles_invert_their_distribution(p in 1e-6f64..0.999_999, dof in 1.0f64..500.0) {
            let z = normal_quantile(p).unwrap();
            prop_assert!((normal_below(z) - p).abs() < 1e-14);
            let t = student_t_quantile(p, dof).unwrap();
            prop_assert!((student_t_below(t, dof).unwrap() - p).abs() < 1e-11, "{p} {dof} {t}");
        }

        #[test]
        fn few_degrees_of_freedom_never_narrow_an_interval(p in 0.5f64..0.999, dof in 1.0f64..200.0) {
            prop_assert!(coverage_factor(p, dof).unwrap() >= coverage_factor(p, dof * 1.5).unwrap());
        }
    }

    #[test]
    fn refused_arguments() {
        assert!(
            normal_quantile(0.0).is_err()
                && normal_quantile(1.0).is_err()
                && normal_quantile(f64::NAN).is_err()
        );
        assert!(student_t_quantile(0.5, 0.0).is_err() && student_t_below(f64::NAN, 3.0).is_err());
        assert!(Belief::Normal.below(f64::NAN).is_err());
        assert!(welch_satterthwaite(&[(1.0, -1.0)]).is_err());
    }

    #[test]
    fn closed_forms_for_one_and_two_degrees_of_freedom() {
        for p in [0.500_13, 0.6, 0.9, 0.975, 0.999] {
            let one = (std::f64::consts::PI * (p - 0.5)).tan();
            assert!((student_t_quantile(p, 1.0).unwrap() / one - 1.0).abs() < 1e-11);
            let a = 2.0 * p - 1.0;
            let two = a * (2.0 / (1.0 - a * a)).sqrt();
            assert!((student_t_quantile(p, 2.0).unwrap() / two - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn the_density_is_the_slope_of_the_distribution() {
        for belief in
            [Belief::Normal, Belief::StudentT(f64::INFINITY), Belief::StudentT(3.0), Belief::StudentT(57.5)]
        {
            for z in [-4.0, -1.3, 0.0, 0.4, 2.7] {
                let h = 1e-5;
                let slope = (belief.below(z + h).unwrap() - belief.below(z - h).unwrap()) / (2.0 * h);
                assert!((belief.density(z).unwrap() - slope).abs() < 1e-8, "{belief:?} {z}");
            }
        }
        assert!(Belief::StudentT(0.0).density(0.0).is_err());
    }
}
