//! What a pin gap reflects.

use crate::{
    Answer, Dimension, Finding, IntoUncertain, Line, LineError, Quantified, Uncertain,
    constants::{EPSILON_0_F_PER_M, ETA_0_OHM, K_OHM, SPEED_OF_LIGHT_M_PER_S},
    cutoff::check_te11,
    impedance::impedance_ohm,
    monte_carlo::{DRAWS, FIRST_ORDER_RATIO, distance_from_zero, simulate},
    section::{phase, section_magnitude},
    twoport::TwoPort,
    uncertain::propagate,
};
use matewell_quantity::{Frequency, Length, greater};
use matewell_uncertainty::{Estimate, InputId};
use num_complex::Complex64;
use std::f64::consts::PI;

/// Half-width of the rectangular distribution of the gap model, relative.
///
/// A judgement: chamfers, radii, slots and where the fingers really touch are
/// not in the model. Its standard uncertainty is 0.15/√3 = 8.7 %.
pub const GAP_MODEL_HALF_WIDTH: f64 = 0.15;

/// Input id of the model uncertainty. One id for all gaps: the model errs in
/// the same direction for all of them.
pub const GAP_MODEL_ID: &str = "line: gap model";

/// Below this, metrology laboratories report unpredictable, resonant contact.
/// The number is common practice, no source.
const VERY_TIGHT_M: f64 = 5e-6;

/// The cross-section of a mated joint: the line and the pin that bridges the
/// gap.
#[derive(Debug, Clone, PartialEq)]
pub struct JointGeometry {
    line: Line,
    pin: Uncertain<Length>,
}

impl JointGeometry {
    /// A line and the diameter of the pin.
    ///
    /// # Errors
    ///
    /// [`LineError::PinNotThinner`] unless `0 < pin < inner`.
    pub fn new(line: Line, pin: impl IntoUncertain<Length>) -> Result<Self, LineError> {
        let pin = pin.into_uncertain()?;
        let (_, inner, _) = line.numbers();
        if pin.value().metres() <= 0.0 || pin.value().metres() >= inner {
            return Err(LineError::PinNotThinner {
                pin_um: pin.value().micrometres(),
                inner_um: inner * 1e6,
            });
        }
        Ok(Self { line, pin })
    }

    /// From the dimensions of a data sheet, some of which may be unknown. The
    /// inner `Err` is a finding for the user: there is no prediction.
    ///
    /// # Errors
    ///
    /// As [`Line::new`] and [`JointGeometry::new`].
    pub fn from_sheet(
        outer: Option<Length>,
        inner: Option<Length>,
        pin: Option<Length>,
        relative_permittivity: Estimate,
    ) -> Result<Result<Self, Finding>, LineError> {
        let missing = |missing| Ok(Err(Finding::UnknownInterface { missing }));
        let Some(outer) = outer else { return missing(Dimension::Outer) };
        let Some(inner) = inner else { return missing(Dimension::Inner) };
        let Some(pin) = pin else { return missing(Dimension::Pin) };
        Self::new(Line::new(outer, inner)?.filled(relative_permittivity)?, pin).map(Ok)
    }

    /// The line on both sides of the gap.
    pub fn line(&self) -> &Line {
        &self.line
    }

    /// Diameter of the pin.
    pub fn pin(&self) -> &Uncertain<Length> {
        &self.pin
    }

    /// Height of the shoulder step, `(d − dp)/2`, in metres.
    pub fn step_height_m(&self) -> f64 {
        (self.line.inner().value().metres() - self.pin.value().metres()) / 2.0
    }

    /// Exact two-port of the gap in the line's own impedance, closed form with
    /// radial-line refinement, at values without uncertainty. A gap below zero
    /// counts as zero. For sweeps and tables; see [`gap_reflection`] for the
    /// number with its uncertainty and findings.
    pub fn two_port(&self, gap: Length, at: Frequency) -> TwoPort {
        let (outer, inner, er) = self.line.numbers();
        let lumped = lumped(outer, inner, self.pin.value().metres(), er, gap.metres(), at.hertz());
        lumped.two_port()
    }

    /// Magnitude of the reflection at values without uncertainty, the number
    /// of [`gap_reflection`]. Some hundred nanoseconds.
    pub fn reflection_magnitude(&self, gap: Length, at: Frequency) -> f64 {
        let (outer, inner, er) = self.line.numbers();
        shipped(outer, inner, self.pin.value().metres(), er, gap.metres(), at.hertz())
    }
}

/// The gap as circuit elements, normalised to the line.
#[derive(Debug, Clone, Copy)]
struct Lumped {
    /// Series reactance over `Z₀`.
    x: f64,
    /// Missing shunt susceptance times `Z₀`.
    b: f64,
}

impl Lumped {
    /// Half the reactance on each side of the missing capacitance: the gap is
    /// symmetric.
    fn two_port(self) -> TwoPort {
        let half = Complex64::new(0.0, self.x / 2.0);
        let shunt = Complex64::new(0.0, -self.b);
        let a = 1.0 + half * shunt;
        TwoPort::from_chain(a, 2.0 * half + half * half * shunt, shunt, a)
    }

    /// `|S11|` of [`Self::two_port`], in closed form.
    fn magnitude(self) -> f64 {
        let Self { x, b } = self;
        let common = x + x * x * b / 4.0;
        (common + b).abs() / (2.0 + x * b).hypot(common - b)
    }
}

/// Reactance in ohms of the shorted radial line that the groove is, from the
/// surface of the centre conductor down to the pin.
///
/// `X = (η₀g/2πa)·[J₀(ka')Y₀(ka) − J₀(ka)Y₀(ka')]/[J₁(ka)Y₀(ka') − J₀(ka')Y₁(ka)]`.
fn radial_reactance(inner: f64, pin: f64, gap: f64, frequency: f64) -> f64 {
    let k = 2.0 * PI * frequency / SPEED_OF_LIGHT_M_PER_S;
    let (ka, kp) = (k * inner / 2.0, k * pin / 2.0);
    let (j0p, y0p) = (libm::j0(kp), libm::y0(kp));
    let above = j0p * libm::y0(ka) - libm::j0(ka) * y0p;
    let below = libm::j1(ka) * y0p - j0p * libm::y1(ka);
    ETA_0_OHM * gap / (PI * inner) * above / below
}

/// Reactance of the plain series inductance `(µ₀g/2π) ln(d/dp)`, in ohms.
fn series_reactance(inner: f64, pin: f64, gap: f64, frequency: f64) -> f64 {
    2.0 * PI * frequency / SPEED_OF_LIGHT_M_PER_S * K_OHM * gap * (inner / pin).ln()
}

/// Capacitance that the groove takes away, `2ε g²/(d ln²(D/d))`, in farads.
fn missing_capacitance(outer: f64, inner: f64, permittivity: f64, gap: f64) -> f64 {
    2.0 * EPSILON_0_F_PER_M * permittivity * gap * gap / (inner * (outer / inner).ln().powi(2))
}

fn clamp(gap: f64) -> f64 {
    greater(gap, 0.0)
}

fn lumped(outer: f64, inner: f64, pin: f64, permittivity: f64, gap: f64, frequency: f64) -> Lumped {
    let gap = clamp(gap);
    let z0 = impedance_ohm(outer, inner, permittivity);
    Lumped {
        x: radial_reactance(inner, pin, gap, frequency) / z0,
        b: 2.0 * PI * frequency * missing_capacitance(outer, inner, permittivity, gap) * z0,
    }
}

pub(crate) fn short_line(
    outer: f64,
    inner: f64,
    pin: f64,
    permittivity: f64,
    gap: f64,
    frequency: f64,
) -> f64 {
    section_magnitude(
        impedance_ohm(outer, pin, permittivity),
        impedance_ohm(outer, inner, permittivity),
        phase(gap, permittivity, frequency),
    )
}

/// The estimate to ship: closed form with the radial line where the groove is
/// deep enough, the short line where it is not.
pub(crate) fn shipped(outer: f64, inner: f64, pin: f64, permittivity: f64, gap: f64, frequency: f64) -> f64 {
    if (inner - pin) / 2.0 < gap / 2.0 {
        short_line(outer, inner, pin, permittivity, gap, frequency)
    } else {
        lumped(outer, inner, pin, permittivity, gap, frequency).magnitude()
    }
}

/// The factor one with the model's uncertainty.
pub(crate) fn model_factor() -> Result<Estimate, LineError> {
    Ok(Estimate::input(InputId::new(GAP_MODEL_ID), 1.0, GAP_MODEL_HALF_WIDTH / 3f64.sqrt(), f64::INFINITY)?)
}

/// What a pin gap does, by every model, from best to crudest.
#[derive(Debug, Clone, PartialEq)]
pub struct GapReflection {
    /// `|Γ|` to use: closed form with radial-line refinement, exact through
    /// the chain matrix, with the model uncertainty included.
    pub magnitude: Quantified,
    /// `|Γ|` of the short-line model, an upper bound (1.2 to 1.7 times too
    /// high); without model uncertainty.
    pub upper: Estimate,
    /// `|Γ|` of the closed form without the radial line.
    pub closed_form: Estimate,
    /// `|Γ|` of the plain series inductance, the first-order limit.
    pub first_order: Estimate,
    /// Phase of `Γ` at the gap, in degrees; slightly below +90 (inductive).
    pub phase_deg: f64,
    /// Series inductance with the radial line, in henries.
    pub inductance_h: Estimate,
    /// Capacitance that the groove takes away, in farads.
    pub missing_capacitance_f: Estimate,
}

/// Reflection of a gap between the shoulders of two mated centre conductors.
///
/// Series inductance of the groove, `L = (µ₀g/2π) ln(d/dp)`, refined by the
/// shorted radial line, and the capacitance that the groove takes away,
/// `C = 2εg²/(d ln²(D/d))`; to first order
/// `|Γ| = [πfg/(c ln(D/d))]·[ln(d/dp) + g/(πd)]`.
///
/// - `gap`: `g`, the sum of both recessions; `D`, `d`, `dp`: diameters of
///   outer conductor, centre conductor and pin.
/// - `seed`: for the Monte Carlo run that is made when the gap is less than
///   three standard uncertainties from zero.
///
/// Holds in air, below the TE₁₁ cut-off, for `g ≤ 1.5 h`, `h = (d − dp)/2`.
/// The groove itself is taken as filled with air. Chamfers, slots and the
/// depth at which the fingers touch are not in it, hence
/// [`GAP_MODEL_HALF_WIDTH`].
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a frequency not above zero.
///
/// # Source
///
/// Own derivation, checked against full-wave mode matching to 1.5 %.
pub fn gap_reflection(
    joint: &JointGeometry,
    gap: impl IntoUncertain<Length>,
    at: impl IntoUncertain<Frequency>,
    seed: u64,
) -> Result<Answer<GapReflection>, LineError> {
    let (gap, at) = (gap.into_uncertain()?, at.into_uncertain()?);
    crate::loss::require_positive("frequency in Hz", at.value().hertz())?;
    let factor = model_factor()?;
    let [outer, inner, er] = joint.line.inputs();
    let inputs = [outer, inner, joint.pin.estimate(), er, gap.estimate(), at.estimate()];
    let with_model = {
        let bare = propagate(inputs, |[o, i, p, e, g, f]| shipped(*o, *i, *p, *e, *g, *f))?;
        bare.times(&factor)?
    };
    let mut findings = gap_findings(joint, gap.value(), at.value())?;
    let ratio = distance_from_zero(gap.estimate());
    let spread = if ratio < FIRST_ORDER_RATIO {
        findings.push(Finding::FirstOrderFails { ratio });
        let [outer, inner, pin, er, g, f] = inputs;
        Some(simulate([outer, inner, pin, er, g, f, &factor], DRAWS, seed, |[o, i, p, e, g, f, m]| {
            m * shipped(*o, *i, *p, *e, *g, *f)
        })?)
    } else {
        None
    };
    let two_port = joint.two_port(gap.value(), at.value());
    let omega = |f: f64| 2.0 * PI * f;
    Ok(Answer {
        value: GapReflection {
            magnitude: Quantified { first_order: with_model, spread },
            upper: propagate(inputs, |[o, i, p, e, g, f]| short_line(*o, *i, *p, *e, *g, *f))?,
            closed_form: propagate(inputs, |[o, i, p, e, g, f]| {
                let z0 = impedance_ohm(*o, *i, *e);
                let g = clamp(*g);
                let x = series_reactance(*i, *p, g, *f) / z0;
                Lumped { x, b: omega(*f) * missing_capacitance(*o, *i, *e, g) * z0 }.magnitude()
            })?,
            first_order: propagate(inputs, |[o, i, p, e, g, f]| {
                series_reactance(*i, *p, clamp(*g), *f) / (2.0 * impedance_ohm(*o, *i, *e))
            })?,
            phase_deg: two_port.s11.arg().to_degrees(),
            inductance_h: propagate(inputs, |[_, i, p, _, g, f]| {
                radial_reactance(*i, *p, clamp(*g), *f) / omega(*f)
            })?,
            missing_capacitance_f: propagate(inputs, |[o, i, _, e, g, _]| {
                missing_capacitance(*o, *i, *e, clamp(*g))
            })?,
        },
        findings,
    })
}

/// Everything that limits the gap model at this gap and frequency.
pub(crate) fn gap_findings(
    joint: &JointGeometry,
    gap: Length,
    at: Frequency,
) -> Result<Vec<Finding>, LineError> {
    let mut findings = check_te11(&joint.line, at)?;
    let step = Length::from_metres(joint.step_height_m())?;
    let limit = Length::from_metres(VERY_TIGHT_M)?;
    if gap.metres() < 0.0 {
        findings.push(Finding::PinsInterfere { gap });
    } else if gap.metres() < VERY_TIGHT_M {
        findings.push(Finding::GapVeryTight { gap, limit });
    }
    if step.metres() < gap.metres() / 2.0 {
        findings.push(Finding::GrooveTooShallow { gap, step });
    } else if gap.metres() > 1.5 * step.metres() {
        findings.push(Finding::GapNotSmallAgainstStep { gap, step });
    }
    let (_, _, er) = joint.line.numbers();
    if er > 1.01 {
        findings.push(Finding::FilledLineNotChecked { relative_permittivity: er });
    }
    Ok(findings)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joint() -> JointGeometry {
        let mm = |v| Length::from_millimetres(v).unwrap();
        JointGeometry::new(Line::new(mm(3.5), mm(1.52)).unwrap(), mm(0.927)).unwrap()
    }
    fn um(v: f64) -> Length {
        Length::from_micrometres(v).unwrap()
    }
    fn ghz(v: f64) -> Frequency {
        Frequency::from_gigahertz(v).unwrap()
    }

    /// The closed form of the magnitude and the chain matrix are twins.
    #[test]
    fn magnitude_is_that_of_the_two_port() {
        for gap in [1.0, 25.0, 200.0, 500.0] {
            for f in [0.01, 1.0, 26.5, 38.0] {
                let fast = joint().reflection_magnitude(um(gap), ghz(f));
                let slow = joint().two_port(um(gap), ghz(f)).s11.norm();
                assert!((fast - slow).abs() < 1e-15 + 1e-12 * slow, "{gap} {f}: {fast} {slow}");
            }
        }
    }

    #[test]
    fn validity_findings() {
        let found = |gap: f64, f: f64| gap_reflection(&joint(), um(gap), ghz(f), 1).unwrap().findings;
        assert!(found(25.0, 18.0).is_empty());
        assert!(matches!(found(25.0, 40.0).as_slice(), [Finding::AboveTe11 { .. }]));
        assert!(matches!(found(500.0, 18.0).as_slice(), [Finding::GapNotSmallAgainstStep { .. }]));
        assert!(matches!(found(700.0, 18.0).as_slice(), [Finding::GrooveTooShallow { .. }]));
        assert!(matches!(found(-3.0, 18.0).as_slice(), [Finding::PinsInterfere { .. }]));
        assert!(matches!(found(2.0, 18.0).as_slice(), [Finding::GapVeryTight { .. }]));
        assert!(Answer { value: (), findings: found(-3.0, 18.0) }.is_outside_validity());
        assert!(Answer { value: (), findings: found(25.0, 40.0) }.is_outside_validity());
    }

    #[test]
    fn a_shallow_groove_gets_the_short_line_value_and_says_so() {
        let answer = gap_reflection(&joint(), um(700.0), ghz(10.0), 1).unwrap();
        assert!(matches!(answer.findings.as_slice(), [Finding::GrooveTooShallow { .. }]));
        assert!((answer.value.magnitude.value() - answer.value.upper.value()).abs() < 1e-15);
        let deep = gap_reflection(&joint(), um(500.0), ghz(10.0), 1).unwrap().value;
        assert!(deep.magnitude.value() < deep.upper.value());
    }

    #[test]
    fn an_unknown_pin_is_a_finding_and_never_a_number() {
        let mm = |v| Some(Length::from_millimetres(v).unwrap());
        let one = Estimate::exact(1.0).unwrap();
        let found = JointGeometry::from_sheet(mm(7.0), mm(3.04), None, one).unwrap();
        assert_eq!(found, Err(Finding::UnknownInterface { missing: Dimension::Pin }));
    }

    /// Near zero the first order would give an interval below zero; the
    /// magnitude's distribution does not go there.
    #[test]
    fn monte_carlo_where_the_gap_is_not_clear_of_zero() {
        let gap = Uncertain::input(InputId::new("gap"), um(2.0), um(3.0), f64::INFINITY).unwrap();
        let run = |seed| gap_reflection(&joint(), &gap, ghz(18.0), seed).unwrap();
        let answer = run(5);
        assert!(answer.findings.iter().any(|f| matches!(f, Finding::FirstOrderFails { .. })));
        let (low, high) = answer.value.magnitude.interval_95();
        assert!(low >= 0.0 && high > answer.value.magnitude.value());
        assert_eq!(answer, run(5));
        let clear = Uncertain::input(InputId::new("gap"), um(60.0), um(3.0), f64::INFINITY).unwrap();
        let answer = gap_reflection(&joint(), &clear, ghz(18.0), 5).unwrap();
        assert!(answer.value.magnitude.spread.is_none());
        // 5 % of the gap and 8.66 % of the model: 10 %.
        let relative = answer.value.magnitude.standard_uncertainty() / answer.value.magnitude.value();
        assert!((relative - 0.1).abs() < 0.002, "{relative}");
    }

    #[test]
    fn a_pin_as_thick_as_the_conductor_is_refused() {
        let mm = |v| Length::from_millimetres(v).unwrap();
        assert!(JointGeometry::new(Line::new(mm(3.5), mm(1.52)).unwrap(), mm(1.52)).is_err());
        assert!(Line::new(mm(1.52), mm(3.5)).is_err());
        assert!(Line::new(mm(1.52), mm(0.0)).is_err());
    }
}
