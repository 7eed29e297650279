//! Short pieces of another impedance: a dielectric recess, an off-centre pin.

use crate::{
    Answer, Finding, IntoUncertain, Line, LineError, Quantified, Uncertain,
    constants::SPEED_OF_LIGHT_M_PER_S,
    cutoff::check_te11,
    impedance::{impedance_ohm, off_centre_ohm, require_apart},
    loss::require_positive,
    monte_carlo::{DRAWS, FIRST_ORDER_RATIO, distance_from_zero, simulate},
    twoport::TwoPort,
    uncertain::propagate,
};
use matewell_quantity::{Frequency, Impedance, Length, greater};
use matewell_uncertainty::Estimate;
use num_complex::Complex64;
use std::f64::consts::PI;

/// A section is called short up to a twelfth of a wavelength.
const SHORT_DEG: f64 = 30.0;

/// `|Γ|` of a lossless section in a line, exact: `z = section/z0`, `phase = βl`.
pub(crate) fn section_magnitude(section: f64, z0: f64, phase: f64) -> f64 {
    let z = section / z0;
    let (sin, cos) = phase.sin_cos();
    ((z - 1.0 / z) * sin).abs() / (2.0 * cos).hypot((z + 1.0 / z) * sin)
}

pub(crate) fn phase(length: f64, permittivity: f64, frequency: f64) -> f64 {
    2.0 * PI * frequency * permittivity.sqrt() * greater(length, 0.0) / SPEED_OF_LIGHT_M_PER_S
}

/// `|Γ|` of a piece without dielectric in a filled line.
pub(crate) fn recess_magnitude(outer: f64, inner: f64, er: f64, recess: f64, frequency: f64) -> f64 {
    section_magnitude(
        impedance_ohm(outer, inner, 1.0),
        impedance_ohm(outer, inner, er),
        phase(recess, 1.0, frequency),
    )
}

/// A short piece of another impedance and what it reflects.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionReflection {
    /// Impedance of the piece.
    pub section_impedance: Uncertain<Impedance>,
    /// Impedance of the line on both sides.
    pub line_impedance: Uncertain<Impedance>,
    /// `|Γ|` of the piece.
    pub magnitude: Quantified,
    /// Its exact two-port in the line's impedance, at the best estimates.
    pub two_port: TwoPort,
}

/// Reflection where the dielectric of a filled interface lies back behind its
/// plane: an empty piece of the same diameters.
///
/// `|Γ|` of a lossless section `Z = (η₀/2π) ln(D/d)`, length `g`, in the filled
/// line `Z/√ε_r`: exact through the chain matrix, for there is no step.
///
/// - `filled`: the line with its permittivity; `recess`: `g`, below zero taken
///   as zero (dielectric that stands out is a mechanical matter).
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a frequency not above zero.
///
/// # Source
///
/// Closed form: chain matrix of a line section.
pub fn dielectric_recess(
    filled: &Line,
    recess: impl IntoUncertain<Length>,
    at: impl IntoUncertain<Frequency>,
    seed: u64,
) -> Result<Answer<SectionReflection>, LineError> {
    let (recess, at) = (recess.into_uncertain()?, at.into_uncertain()?);
    require_positive("frequency in Hz", at.value().hertz())?;
    let [outer, inner, er] = filled.inputs();
    let mut findings = check_te11(filled, at.value())?;
    let (o, i, e) = filled.numbers();
    let (length, f) = (recess.value().metres(), at.value().hertz());
    if length < 0.0 {
        findings.push(Finding::NegativeTakenAsZero { what: "recess of the dielectric in m", found: length });
    }
    let inputs = [outer, inner, er, recess.estimate(), at.estimate()];
    let magnitude = quantified(inputs, recess.estimate(), seed, &mut findings, |[o, i, e, g, f]| {
        recess_magnitude(*o, *i, *e, *g, *f)
    })?;
    let turn = phase(length, 1.0, f);
    note_length(turn, &mut findings);
    Ok(Answer {
        value: SectionReflection {
            section_impedance: Uncertain::from_estimate(propagate([outer, inner], |[o, i]| {
                impedance_ohm(*o, *i, 1.0)
            })?)?,
            line_impedance: crate::characteristic_impedance(filled)?,
            magnitude,
            two_port: two_port(impedance_ohm(o, i, 1.0) / impedance_ohm(o, i, e), turn),
        },
        findings,
    })
}

/// Reflection of a piece of line whose centre conductor lies off the axis,
/// for example a bent pin.
///
/// `|Γ|` of a section of [`crate::off_centre_impedance`] and length `l`. A
/// constant offset over the length is assumed.
///
/// The offset acts in second order, so that an offset not clear of zero is
/// always given by Monte Carlo.
///
/// # Errors
///
/// [`LineError::ConductorsTouch`] and [`LineError::OutOfRange`] for a length or
/// frequency not above zero.
///
/// # Source
///
/// Closed form: chain matrix of a line section.
pub fn off_centre_reflection(
    line: &Line,
    offset: impl IntoUncertain<Length>,
    length: impl IntoUncertain<Length>,
    at: impl IntoUncertain<Frequency>,
    seed: u64,
) -> Result<Answer<SectionReflection>, LineError> {
    let (offset, length, at) = (offset.into_uncertain()?, length.into_uncertain()?, at.into_uncertain()?);
    require_positive("frequency in Hz", at.value().hertz())?;
    require_positive("length in m", length.value().metres())?;
    require_apart(line, offset.value())?;
    let [outer, inner, er] = line.inputs();
    let (o, i, e) = line.numbers();
    let mut findings = check_te11(line, at.value())?;
    let inputs = [outer, inner, er, offset.estimate(), length.estimate(), at.estimate()];
    let magnitude = quantified(inputs, offset.estimate(), seed, &mut findings, |[o, i, e, x, l, f]| {
        // A draw beyond the wall would have no number; at the wall |Γ| is one.
        let wall = 0.999_999 * (o - i) / 2.0;
        let x = matewell_quantity::lesser(x.abs(), wall);
        section_magnitude(off_centre_ohm(*o, *i, *e, x), impedance_ohm(*o, *i, *e), phase(*l, *e, *f))
    })?;
    let section_impedance = crate::off_centre_impedance(line, &offset)?;
    let turn = phase(length.value().metres(), e, at.value().hertz());
    note_length(turn, &mut findings);
    let z = section_impedance.value().ohms() / impedance_ohm(o, i, e);
    Ok(Answer {
        value: SectionReflection {
            section_impedance,
            line_impedance: crate::characteristic_impedance(line)?,
            magnitude,
            two_port: two_port(z, turn),
        },
        findings,
    })
}

fn two_port(z: f64, turn: f64) -> TwoPort {
    TwoPort::section(Complex64::from(z), Complex64::new(0.0, turn))
}

fn note_length(turn: f64, findings: &mut Vec<Finding>) {
    let degrees = turn.to_degrees();
    if degrees > SHORT_DEG {
        findings.push(Finding::NotShort { degrees });
    }
}

/// First order, and Monte Carlo where `critical` is not clear of zero.
fn quantified<const N: usize>(
    inputs: [&Estimate; N],
    critical: &Estimate,
    seed: u64,
    findings: &mut Vec<Finding>,
    f: impl Fn(&[f64; N]) -> f64,
) -> Result<Quantified, LineError> {
    let first_order = propagate(inputs, &f)?;
    let ratio = distance_from_zero(critical);
    let spread = if ratio < FIRST_ORDER_RATIO {
        findings.push(Finding::FirstOrderFails { ratio });
        Some(simulate(inputs, DRAWS, seed, &f)?)
    } else {
        None
    };
    Ok(Quantified { first_order, spread })
}

#[cfg(test)]
mod tests {
    use super::*;
    use matewell_uncertainty::InputId;

    fn mm(v: f64) -> Length {
        Length::from_millimetres(v).unwrap()
    }
    fn ghz(v: f64) -> Frequency {
        Frequency::from_gigahertz(v).unwrap()
    }

    #[test]
    fn magnitude_is_that_of_the_two_port() {
        let line = Line::new(mm(4.13), mm(1.27)).unwrap().filled(Estimate::exact(2.02).unwrap()).unwrap();
        for recess in [0.05, 0.1, 0.254, 2.0] {
            let answer = dielectric_recess(&line, mm(recess), ghz(18.0), 1).unwrap().value;
            assert!((answer.magnitude.value() - answer.two_port.s11.norm()).abs() < 1e-14);
            assert!(answer.two_port.dissipated().abs() < 1e-14);
        }
    }

    /// An offset of 0 ± 20 µm has no slope at zero, and still an effect.
    #[test]
    fn an_offset_around_zero_is_simulated() {
        let line = Line::new(mm(3.5), mm(1.52)).unwrap();
        let um = |v| Length::from_micrometres(v).unwrap();
        let offset = Uncertain::input(InputId::new("offset"), um(0.0), um(20.0), f64::INFINITY).unwrap();
        let answer = off_centre_reflection(&line, &offset, mm(2.0), ghz(18.0), 4).unwrap();
        assert!(answer.value.magnitude.first_order.standard_uncertainty() < 1e-9);
        assert!(answer.value.magnitude.standard_uncertainty() > 1e-6);
        assert!(answer.findings.iter().any(|f| matches!(f, Finding::NotShort { .. })));
        assert!(off_centre_reflection(&line, mm(1.0), mm(2.0), ghz(18.0), 4).is_err());
    }

    #[test]
    fn dielectric_that_stands_out_is_named() {
        let line = Line::new(mm(4.13), mm(1.27)).unwrap().filled(Estimate::exact(2.02).unwrap()).unwrap();
        let answer = dielectric_recess(&line, mm(-0.05), ghz(18.0), 1).unwrap();
        assert!(matches!(answer.findings.as_slice(), [Finding::NegativeTakenAsZero { .. }]));
    }
}
