//! What the metal does: skin depth, series impedance, loss and dispersion.

use crate::{
    Answer, Finding, IntoUncertain, Line, LineError, Uncertain,
    constants::{DECIBELS_PER_NEPER, EPSILON_0_F_PER_M, MU_0_N_PER_A2},
    cutoff::check_te11,
    uncertain::propagate,
};
use matewell_quantity::{Frequency, Length};
use matewell_uncertainty::Estimate;
use num_complex::Complex64;
use std::f64::consts::PI;

/// Above this magnitude of the argument the two modified Bessel functions of
/// order 0 and 1 are taken from their asymptotic series: its smallest term is
/// then below 10⁻²⁰, and the neglected part `e^{−2 Re z}` below 10⁻¹⁵.
const ASYMPTOTIC_FROM: f64 = 25.0;

/// `√(2/(ωµ₀σ))` in metres.
pub(crate) fn skin_depth_m(frequency: f64, conductivity: f64) -> f64 {
    (1.0 / (PI * frequency * MU_0_N_PER_A2 * conductivity)).sqrt()
}

/// Depth at which the current in a flat conductor has fallen to 1/e.
///
/// `δ = √(2/(ωµ₀σ))`, `σ` the conductivity in siemens per metre.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a frequency or conductivity not above zero.
///
/// # Source
///
/// `pozar-2012`, section 1.4, equation for the skin depth; from memory.
pub fn skin_depth(
    at: impl IntoUncertain<Frequency>,
    conductivity_s_per_m: &Estimate,
) -> Result<Uncertain<Length>, LineError> {
    let at = at.into_uncertain()?;
    require_positive("frequency in Hz", at.value().hertz())?;
    require_positive("conductivity in S/m", conductivity_s_per_m.value())?;
    Uncertain::from_estimate(propagate([at.estimate(), conductivity_s_per_m], |[f, sigma]| {
        skin_depth_m(*f, *sigma)
    })?)
}

pub(crate) fn require_positive(what: &'static str, found: f64) -> Result<(), LineError> {
    if found > 0.0 { Ok(()) } else { Err(LineError::OutOfRange { what, expected: "above zero", found }) }
}

/// `I₀(z)/I₁(z)` for `Re z > 0`.
fn ratio_i(z: Complex64) -> Complex64 {
    if z.norm() >= ASYMPTOTIC_FROM {
        return asymptotic(-z, 0.0) / asymptotic(-z, 4.0);
    }
    // I₁/I₀ = 1/(2/z + 1/(4/z + …)), from the far end; |z| + 40 terms are past
    // the turning point.
    let mut tail = Complex64::new(0.0, 0.0);
    for n in (1..=65u32).rev() {
        tail = (Complex64::from(2.0 * f64::from(n)) / z + tail).inv();
    }
    tail.inv()
}

/// `K₀(z)/K₁(z)` for `Re z > 0`.
fn ratio_k(z: Complex64) -> Complex64 {
    if z.norm() >= ASYMPTOTIC_FROM {
        return asymptotic(z, 0.0) / asymptotic(z, 4.0);
    }
    // Steed's continued fraction: K₁/K₀ = (1/2 + z − h/4)/z.
    let mut b = 2.0 * (1.0 + z);
    let mut d = b.inv();
    let (mut h, mut step) = (d, d);
    let mut a = -0.25;
    for i in 2..=4000u32 {
        a -= 2.0 * f64::from(i - 1);
        b += 2.0;
        d = (b + a * d).inv();
        step *= b * d - 1.0;
        h += step;
        if step.norm() < 1e-16 * h.norm() {
            break;
        }
    }
    z / (0.5 + z - 0.25 * h)
}

/// `Σ aₖ(µ)/zᵏ` of the Hankel expansion, `µ = 4ν²`.
fn asymptotic(z: Complex64, mu: f64) -> Complex64 {
    let mut term = Complex64::new(1.0, 0.0);
    let mut sum = term;
    for k in 1..=24u32 {
        let odd = f64::from(2 * k - 1);
        term *= (mu - odd * odd) / (8.0 * f64::from(k)) / z;
        sum += term;
        if term.norm() < 1e-17 * sum.norm() {
            break;
        }
    }
    sum
}

/// Propagation constant per metre and characteristic impedance in ohms.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lossy {
    pub(crate) gamma: Complex64,
    pub(crate) impedance: Complex64,
    pub(crate) series: Complex64,
}

/// The line with metal of conductivity `sigma` and a filling of loss tangent
/// `tan_delta`.
pub(crate) fn lossy(
    outer: f64,
    inner: f64,
    permittivity: f64,
    frequency: f64,
    sigma: f64,
    tan_delta: f64,
) -> Lossy {
    let omega = 2.0 * PI * frequency;
    let log = (outer / inner).ln();
    let (a, b) = (inner / 2.0, outer / 2.0);
    let j = Complex64::i();
    let kappa = (j * omega * MU_0_N_PER_A2 * sigma).sqrt();
    let eta = (j * omega * MU_0_N_PER_A2 / sigma).sqrt();
    let surface = eta / (2.0 * PI * a) * ratio_i(kappa * a) + eta / (2.0 * PI * b) * ratio_k(kappa * b);
    let series = j * omega * MU_0_N_PER_A2 * log / (2.0 * PI) + surface;
    let shunt =
        j * omega * (2.0 * PI * EPSILON_0_F_PER_M * permittivity / log) * Complex64::new(1.0, -tan_delta);
    Lossy { gamma: (series * shunt).sqrt(), impedance: (series / shunt).sqrt(), series }
}

/// A line of real metal at one frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct LossyLine {
    /// Attenuation, in decibels per metre.
    pub attenuation_db_per_m: Estimate,
    /// Phase constant, in radians per metre.
    pub phase_rad_per_m: Estimate,
    /// Real part of the characteristic impedance, in ohms.
    pub impedance_real_ohm: Estimate,
    /// Imaginary part of the characteristic impedance, in ohms; negative.
    pub impedance_imaginary_ohm: Estimate,
    /// Series resistance, in ohms per metre.
    pub resistance_ohm_per_m: Estimate,
    /// Series inductance including the part inside the metal, in henries per
    /// metre.
    pub inductance_h_per_m: Estimate,
    /// Skin depth.
    pub skin_depth: Uncertain<Length>,
}

/// Loss, dispersion and complex impedance of a line of finite conductivity.
///
/// Surface impedances of a round wire and of a thick tube (modified Bessel
/// functions of complex argument), added to the external inductance:
/// `Z' = jωL₀ + (η/2πa) I₀(κa)/I₁(κa) + (η/2πb) K₀(κb)/K₁(κb)`,
/// `κ = √(jωµ₀σ)`, `η = √(jωµ₀/σ)`; `γ = √(Z'Y')`, `Z₀ = √(Z'/Y')`.
///
/// - `conductivity_s_per_m`: `σ` of both conductors, smooth and thick.
/// - `loss_tangent`: of the filling; zero for air.
///
/// Against the exact TM₀₀ equation the loss is within 6·10⁻⁴ at 110 GHz and
/// 5·10⁻⁵ at 26.5 GHz. Real plating and roughness change it by tens of per
/// cent: give the conductivity an uncertainty that says so.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a frequency or conductivity not above zero,
/// or a negative loss tangent.
///
/// # Source
///
/// `schelkunoff-1934`, surface impedances of solid and tubular conductors;
/// from memory, verified against scikit-rf.
pub fn lossy_line(
    line: &Line,
    at: impl IntoUncertain<Frequency>,
    conductivity_s_per_m: &Estimate,
    loss_tangent: &Estimate,
) -> Result<Answer<LossyLine>, LineError> {
    let at = at.into_uncertain()?;
    require_positive("frequency in Hz", at.value().hertz())?;
    require_positive("conductivity in S/m", conductivity_s_per_m.value())?;
    if loss_tangent.value() < 0.0 {
        return Err(LineError::OutOfRange {
            what: "loss tangent",
            expected: "of zero or more",
            found: loss_tangent.value(),
        });
    }
    let [outer, inner, er] = line.inputs();
    let inputs = [outer, inner, er, at.estimate(), conductivity_s_per_m, loss_tangent];
    let result = |pick: &dyn Fn(Lossy, f64) -> f64| {
        propagate(inputs, |[outer, inner, er, f, sigma, tan]| {
            pick(lossy(*outer, *inner, *er, *f, *sigma, *tan), 2.0 * PI * f)
        })
    };
    let depth = skin_depth(&at, conductivity_s_per_m)?;
    let mut findings = check_te11(line, at.value())?;
    let radius = line.inner().value().metres() / 2.0;
    if depth.value().metres() > 0.1 * radius {
        findings.push(Finding::SkinDepthNotSmall {
            skin_depth: depth.value(),
            radius: Length::from_metres(radius)?,
        });
    }
    Ok(Answer {
        value: LossyLine {
            attenuation_db_per_m: result(&|l, _| DECIBELS_PER_NEPER * l.gamma.re)?,
            phase_rad_per_m: result(&|l, _| l.gamma.im)?,
            impedance_real_ohm: result(&|l, _| l.impedance.re)?,
            impedance_imaginary_ohm: result(&|l, _| l.impedance.im)?,
            resistance_ohm_per_m: result(&|l, _| l.series.re)?,
            inductance_h_per_m: result(&|l, omega| l.series.im / omega)?,
            skin_depth: depth,
        },
        findings,
    })
}

/// The planar-skin loss `R/2Z₀` in decibels per metre, `R = (1/2πσδ)(1/a +
/// 1/b)`: the handbook formula, 0.03 to 0.7 % low; for comparison.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a frequency or conductivity not above zero.
///
/// # Source
///
/// `pozar-2012`, table 2.1, coaxial line; from memory.
pub fn planar_attenuation_db_per_m(
    line: &Line,
    at: impl IntoUncertain<Frequency>,
    conductivity_s_per_m: &Estimate,
) -> Result<Estimate, LineError> {
    let at = at.into_uncertain()?;
    require_positive("frequency in Hz", at.value().hertz())?;
    require_positive("conductivity in S/m", conductivity_s_per_m.value())?;
    let [outer, inner, er] = line.inputs();
    propagate([outer, inner, er, at.estimate(), conductivity_s_per_m], |[outer, inner, er, f, sigma]| {
        let resistance = (2.0 / outer + 2.0 / inner) / (2.0 * PI * sigma * skin_depth_m(*f, *sigma));
        DECIBELS_PER_NEPER * resistance / (2.0 * crate::impedance::impedance_ohm(*outer, *inner, *er))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The asymptotic series and the continued fractions overlap: each is the
    /// twin of the other.
    #[test]
    fn both_ways_to_the_bessel_ratios_agree() {
        for magnitude in [25.01f64, 26.0, 30.0] {
            let z = Complex64::from_polar(magnitude, PI / 4.0);
            let series_i = ratio_i(z);
            let mut tail = Complex64::new(0.0, 0.0);
            for n in (1..=200u32).rev() {
                tail = (Complex64::from(2.0 * f64::from(n)) / z + tail).inv();
            }
            assert!((series_i - tail.inv()).norm() < 1e-13, "{magnitude}");
            let below = z * (24.9 / magnitude);
            let slope = (ratio_k(z) - ratio_k(below)).norm();
            assert!(slope < 0.02 * (magnitude - 24.9) / 24.9 + 1e-12, "{magnitude}: {slope}");
        }
    }

    /// Closed form at low frequency: a solid wire has its direct-current
    /// resistance 1/(πa²σ).
    #[test]
    fn the_inner_conductor_reaches_its_direct_current_resistance() {
        let (a, sigma, f) = (0.76e-3, 1.3e7, 10.0);
        let omega = 2.0 * PI * f;
        let kappa = (Complex64::i() * omega * MU_0_N_PER_A2 * sigma).sqrt();
        let eta = (Complex64::i() * omega * MU_0_N_PER_A2 / sigma).sqrt();
        let z = eta / (2.0 * PI * a) * ratio_i(kappa * a);
        assert!((z.re * PI * a * a * sigma - 1.0).abs() < 1e-6);
    }
}
