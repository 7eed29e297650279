//! Where the diameters change: step capacitance between interfaces that mate.

use crate::{
    Answer, Finding, IntoUncertain, Line, LineError, Uncertain,
    constants::EPSILON_0_F_PER_M,
    cutoff::{check_te11, te11_cutoff},
    impedance::impedance_ohm,
    loss::require_positive,
    uncertain::propagate,
};
use matewell_quantity::{Frequency, Length, greater, lesser};
use matewell_uncertainty::Estimate;
use num_complex::Complex64;
use std::f64::consts::PI;

/// Claimed error of both step formulas, in farads per metre of circumference.
/// From memory; against static mode matching the worst of seven steps was 0.23.
pub const STEP_CLAIM_F_PER_M: f64 = 0.3 * FEMTOFARAD_PER_CM;

/// The part both formulas share, in farads per metre of circumference; zero
/// for no step.
fn shared(alpha: f64) -> f64 {
    let a2 = alpha * alpha;
    // Both logarithms cancel as alpha tends to one.
    let term =
        (a2 + 1.0) / alpha * ((1.0 + alpha) / (1.0 - alpha)).ln() - 2.0 * (4.0 * alpha / (1.0 - a2)).ln();
    EPSILON_0_F_PER_M / PI * term
}

/// 1 fF/cm in farads per metre.
const FEMTOFARAD_PER_CM: f64 = 1e-13;

fn inner_step_f(small: f64, large: f64, outer: f64, er: f64) -> f64 {
    if large <= small {
        return 0.0;
    }
    let (alpha, tau) = ((outer - large) / (outer - small), outer / small);
    let correction = 1.11 * FEMTOFARAD_PER_CM * (1.0 - alpha) * (tau - 1.0);
    PI * outer * er * (shared(alpha) + correction)
}

fn outer_step_f(inner: f64, small: f64, large: f64, er: f64) -> f64 {
    if large <= small {
        return 0.0;
    }
    let (alpha, tau) = ((small - inner) / (large - inner), large / inner);
    let correction = 4.12 * FEMTOFARAD_PER_CM * (0.8 - alpha) * (tau - 1.4);
    PI * inner * er * (shared(alpha) + correction)
}

fn claimed_range(alpha: f64, tau: f64) -> Vec<Finding> {
    let mut findings = vec![Finding::FormulaFromMemory { what: "the step capacitance" }];
    if !(0.01..1.0).contains(&alpha) {
        findings.push(Finding::OutsideClaimedRange { what: "step ratio alpha", found: alpha });
    }
    if !(1.0..=6.0).contains(&tau) {
        findings.push(Finding::OutsideClaimedRange { what: "radius ratio tau", found: tau });
    }
    findings
}

/// Capacitance of a step of the centre conductor, in farads.
///
/// `C = 2πr₃ε_r {(ε₀/π)[(α² + 1)/α · ln((1 + α)/(1 − α)) − 2 ln(4α/(1 − α²))] +
/// 1.11·10⁻¹³ (1 − α)(τ − 1)}` with radii in metres, `α = (r₃ − r₂)/(r₃ − r₁)`,
/// `τ = r₃/r₁`.
///
/// - diameters: `small` `2r₁`, `large` `2r₂`, `outer` `2r₃`.
///
/// Claimed to 0.3 fF per cm of circumference for `0.01 ≤ α ≤ 1`, `1 ≤ τ ≤ 6`,
/// well below cut-off.
///
/// # Errors
///
/// [`LineError::DiametersCross`] unless `0 < small ≤ large < outer`.
///
/// # Source
///
/// `somlo-1967`; from memory, compared with mode matching.
pub fn inner_step_capacitance(
    small: Length,
    large: Length,
    outer: Length,
    relative_permittivity: f64,
) -> Result<Answer<f64>, LineError> {
    ordered([small, large, outer], large.metres() < outer.metres())?;
    let (s, l, o) = (small.metres(), large.metres(), outer.metres());
    Ok(Answer {
        value: inner_step_f(s, l, o, relative_permittivity),
        findings: claimed_range((o - l) / (o - s), o / s),
    })
}

/// Capacitance of a step of the outer conductor, in farads.
///
/// As [`inner_step_capacitance`] with `2πr₁`, `α = (r₂ − r₁)/(r₃ − r₁)`, `τ =
/// r₃/r₁` and the correction `4.12·10⁻¹³ (0.8 − α)(τ − 1.4)`.
///
/// - diameters: `inner` `2r₁`, `small` `2r₂`, `large` `2r₃`.
///
/// # Errors
///
/// [`LineError::DiametersCross`] unless `0 < inner < small ≤ large`.
///
/// # Source
///
/// `somlo-1967`; from memory.
pub fn outer_step_capacitance(
    inner: Length,
    small: Length,
    large: Length,
    relative_permittivity: f64,
) -> Result<Answer<f64>, LineError> {
    ordered([inner, small, large], inner.metres() < small.metres())?;
    let (i, s, l) = (inner.metres(), small.metres(), large.metres());
    Ok(Answer {
        value: outer_step_f(i, s, l, relative_permittivity),
        findings: claimed_range((s - i) / (l - i), l / i),
    })
}

fn ordered([a, b, c]: [Length; 3], strict: bool) -> Result<(), LineError> {
    if a.metres() > 0.0 && a.metres() <= b.metres() && b.metres() <= c.metres() && strict {
        Ok(())
    } else {
        Err(LineError::DiametersCross { inner_um: a.micrometres(), outer_um: c.micrometres() })
    }
}

/// Two lines that meet at one plane.
#[derive(Debug, Clone, PartialEq)]
pub struct StepReflection {
    /// Shunt capacitance at the plane, in farads, with the claimed error of
    /// the formula as uncertainty.
    pub capacitance_f: Estimate,
    /// `|Γ|` seen from either side, capacitance and change of impedance
    /// together.
    pub magnitude: Estimate,
    /// `|Γ|` of the change of impedance alone.
    pub impedance_part: Estimate,
}

/// Relative half-width of the error of putting single steps together. From
/// mode matching of 20 pairs, the worst of which was 8 % off.
pub const PAIR_HALF_WIDTH: f64 = 0.10;

/// Capacitance on the wide side of the narrow ring, where one or both
/// conductors step.
///
/// With both, the surface of one potential that has the same radius `r` in
/// ring and wide line parts the field: inside it the centre conductor steps
/// below `r`, outside it the outer conductor above, each with its share of the
/// voltage, `C = C_i x² + C_o (1 − x)²`. Adding the single steps instead gives
/// up to twice too much, for they use the same field.
fn wide_side_f(outer: f64, inner: f64, er: f64, ring_outer: f64, ring_inner: f64) -> f64 {
    if inner >= ring_inner {
        return outer_step_f(ring_inner, ring_outer, outer, er);
    }
    if outer <= ring_outer {
        return inner_step_f(inner, ring_inner, ring_outer, er);
    }
    let (ring, wide) = ((ring_outer / ring_inner).ln(), (outer / inner).ln());
    let radius = ((ring_inner.ln() * wide - inner.ln() * ring) / (wide - ring)).exp();
    let share = (radius / ring_inner).ln() / ring;
    inner_step_f(inner, ring_inner, radius, er) * share * share
        + outer_step_f(radius, ring_outer, outer, er) * (1.0 - share).powi(2)
}

/// Capacitance of the plane where two lines meet: a ring of no length between
/// the larger of the centre conductors and the smaller of the outer ones, and
/// the wide side on both sides of it. The fringing field lies on the wide side
/// and takes the filling of that side.
fn pair_capacitance([o1, i1, e1, o2, i2, e2]: &[f64; 6]) -> f64 {
    let (ring_inner, ring_outer) = (greater(*i1, *i2), lesser(*o1, *o2));
    wide_side_f(*o1, *i1, *e1, ring_outer, ring_inner) + wide_side_f(*o2, *i2, *e2, ring_outer, ring_inner)
}

/// Reflection where two different interfaces mate, for example SMA with
/// 3.5 mm, or 2.4 mm with 1.85 mm.
///
/// `Γ = (1/Z₁ − 1/Z₂ − jωC)/(1/Z₁ + 1/Z₂ + jωC)`, `C` put together from single
/// steps of both conductors ([`inner_step_capacitance`],
/// [`outer_step_capacitance`]); with two or more steps
/// [`Finding::StepsTakenApart`] says so.
///
/// Against static mode matching: SMA with 3.5 mm 7 % high, SMA with 2.92 mm
/// 5 % high, 3.5 with 2.92 mm 7 % low, 2.4 with 1.85 mm 6 % low. Valid to about
/// half of the lower cut-off. The uncertainty of `C` is the claim of the single
/// formula per step and [`PAIR_HALF_WIDTH`], both rectangular.
///
/// # Errors
///
/// [`LineError::DiametersCross`] when the centre conductor of one is as thick
/// as the outer conductor of the other; [`LineError::OutOfRange`] for a
/// frequency not above zero.
///
/// # Source
///
/// `somlo-1967` for the single steps, from memory; own derivation for putting
/// them together.
pub fn interface_step(
    one: &Line,
    other: &Line,
    at: impl IntoUncertain<Frequency>,
) -> Result<Answer<StepReflection>, LineError> {
    let at = at.into_uncertain()?;
    require_positive("frequency in Hz", at.value().hertz())?;
    let ([o1, i1, e1], [o2, i2, e2]) = (one.inputs(), other.inputs());
    let ring_inner = greater(i1.value(), i2.value());
    let ring_outer = lesser(o1.value(), o2.value());
    if ring_inner >= ring_outer {
        return Err(LineError::DiametersCross { inner_um: ring_inner * 1e6, outer_um: ring_outer * 1e6 });
    }
    let bare = propagate([o1, i1, e1, o2, i2, e2], pair_capacitance)?;
    let steps = [(i1, i2), (o1, o2)].iter().filter(|(a, b)| (a.value() - b.value()).abs() > 0.0).count();
    let single = PI * ring_outer * STEP_CLAIM_F_PER_M * steps as f64;
    let together = if steps > 1 { PAIR_HALF_WIDTH * bare.value() } else { 0.0 };
    let claim = single.hypot(together) / 3f64.sqrt();
    let claim = Estimate::input(
        matewell_uncertainty::InputId::new("line: step capacitance"),
        0.0,
        claim,
        f64::INFINITY,
    )?;
    let capacitance_f = bare.plus(&claim)?;
    let magnitude = propagate([o1, i1, e1, o2, i2, e2, at.estimate(), &claim], |x| {
        let [o1, i1, e1, o2, i2, e2, f, extra] = *x;
        let c = pair_capacitance(&[o1, i1, e1, o2, i2, e2]) + extra;
        reflection(impedance_ohm(o1, i1, e1), impedance_ohm(o2, i2, e2), 2.0 * PI * f * c)
    })?;
    let impedance_part = propagate([o1, i1, e1, o2, i2, e2], |[o1, i1, e1, o2, i2, e2]| {
        reflection(impedance_ohm(*o1, *i1, *e1), impedance_ohm(*o2, *i2, *e2), 0.0)
    })?;
    let mut findings = check_te11(one, at.value())?;
    findings.extend(check_te11(other, at.value())?);
    let half = 0.5 * lesser(te11_cutoff(one)?.value().hertz(), te11_cutoff(other)?.value().hertz());
    if findings.is_empty() && at.value().hertz() > half {
        findings.push(Finding::OutsideClaimedRange {
            what: "frequency over half of the cut-off",
            found: at.value().hertz() / half,
        });
    }
    findings.push(Finding::FormulaFromMemory { what: "the step capacitance" });
    if steps > 1 {
        findings.push(Finding::StepsTakenApart);
    }
    Ok(Answer { value: StepReflection { capacitance_f, magnitude, impedance_part }, findings })
}

/// `|Γ|` of [`interface_step`] at the best estimates.
pub(crate) fn step_magnitude(one: &Line, other: &Line, frequency: f64) -> f64 {
    let ((o1, i1, e1), (o2, i2, e2)) = (one.numbers(), other.numbers());
    let c = pair_capacitance(&[o1, i1, e1, o2, i2, e2]);
    reflection(impedance_ohm(o1, i1, e1), impedance_ohm(o2, i2, e2), 2.0 * PI * frequency * c)
}

fn reflection(z1: f64, z2: f64, susceptance: f64) -> f64 {
    let (y1, y2) = (1.0 / z1, Complex64::new(1.0 / z2, susceptance));
    ((y1 - y2) / (y1 + y2)).norm()
}

/// Change of impedance that the slots of a socket make, in ohms.
///
/// `ΔZ = (K/π²) N (w/d)²`, `N` slots of width `w` in a contact of diameter
/// `d`, deep against their width; `Γ = ΔZ/(2Z₀)` at each end of the slotted
/// part. A slotless socket has none.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a width that is not positive, or slots that
/// leave no metal.
///
/// # Source
///
/// Own derivation (conformal map of a groove); the coefficient 6.075 agrees
/// with one remembered from `mackenzie-sanderson-1966`.
pub fn slotted_contact_impedance_change(
    slots: u32,
    width: impl IntoUncertain<Length>,
    contact: impl IntoUncertain<Length>,
) -> Result<Uncertain<matewell_quantity::Impedance>, LineError> {
    let (width, contact) = (width.into_uncertain()?, contact.into_uncertain()?);
    require_positive("slot width in m", width.value().metres())?;
    require_positive("contact diameter in m", contact.value().metres())?;
    let taken = f64::from(slots) * width.value().metres() / (PI * contact.value().metres());
    if taken >= 1.0 {
        return Err(LineError::OutOfRange {
            what: "share of the circumference taken by slots",
            expected: "below one",
            found: taken,
        });
    }
    Uncertain::from_estimate(propagate([width.estimate(), contact.estimate()], |[w, d]| {
        crate::constants::K_OHM / (PI * PI) * f64::from(slots) * (w / d).powi(2)
    })?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(v: f64) -> Length {
        Length::from_millimetres(v).unwrap()
    }

    #[test]
    fn no_step_no_capacitance() {
        assert!(inner_step_capacitance(mm(1.0), mm(1.0), mm(3.0), 1.0).unwrap().value == 0.0);
        let nearly = inner_step_capacitance(mm(1.0), mm(1.000_001), mm(3.0), 1.0).unwrap().value;
        assert!(nearly.abs() < 1e-19, "{nearly}");
        assert!(inner_step_capacitance(mm(2.0), mm(1.0), mm(3.0), 1.0).is_err());
        assert!(outer_step_capacitance(mm(1.0), mm(1.0), mm(3.0), 1.0).is_err());
    }

    #[test]
    fn a_pair_is_the_same_from_both_sides_and_a_line_with_itself_reflects_nothing() {
        let a = Line::new(mm(2.4), mm(1.042)).unwrap();
        let b = Line::new(mm(1.85), mm(0.8036)).unwrap();
        let f = Frequency::from_gigahertz(18.0).unwrap();
        let ab = interface_step(&a, &b, f).unwrap();
        let ba = interface_step(&b, &a, f).unwrap();
        assert!((ab.value.magnitude.value() - ba.value.magnitude.value()).abs() < 1e-12);
        assert!(ab.findings.contains(&Finding::StepsTakenApart));
        let aa = interface_step(&a, &a, f).unwrap();
        assert!(aa.value.magnitude.value() < 1e-15);
        assert!(aa.value.magnitude.standard_uncertainty() < 1e-12);
    }

    /// A step of one conductor alone is the single formula, and a vanishing
    /// second step changes nothing.
    #[test]
    fn one_step_is_the_limit_of_two() {
        let narrow = Line::new(mm(3.5), mm(1.52)).unwrap();
        let f = Frequency::from_gigahertz(10.0).unwrap();
        let c = |outer, inner| {
            let wide = Line::new(mm(outer), mm(inner)).unwrap();
            interface_step(&wide, &narrow, f).unwrap().value.capacitance_f.value()
        };
        let inner = inner_step_capacitance(mm(1.27), mm(1.52), mm(3.5), 1.0).unwrap().value;
        let outer = outer_step_capacitance(mm(1.52), mm(3.5), mm(4.13), 1.0).unwrap().value;
        assert!((c(3.5, 1.27) / inner - 1.0).abs() < 1e-12);
        assert!((c(4.13, 1.52) / outer - 1.0).abs() < 1e-12);
        assert!((c(3.500_000_1, 1.27) / inner - 1.0).abs() < 1e-5);
        assert!((c(4.13, 1.519_999_9) / outer - 1.0).abs() < 1e-5);
        assert!(c(4.13, 1.27) < inner + outer);
    }

    #[test]
    fn slots_that_leave_no_metal_are_refused() {
        assert!(slotted_contact_impedance_change(40, mm(0.2), mm(1.52)).is_err());
    }
}
