//! Up to which frequency is this good enough?

use crate::{
    Answer, Finding, IntoUncertain, JointGeometry, Line, LineError, Quantified, Uncertain,
    cutoff::{te11_cutoff, te11_hz},
    gap::{gap_findings, model_factor, shipped},
    monte_carlo::{FIRST_ORDER_RATIO, distance_from_zero, simulate},
    section::recess_magnitude,
    uncertain::propagate,
};
use matewell_quantity::{Frequency, Length, lesser};
use matewell_uncertainty::Estimate;

/// Fewer draws than elsewhere: each one solves for a frequency, and the answer
/// is read to a hundred megahertz.
const DRAWS: usize = 4_000;

/// What stops the band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum LimitedBy {
    /// The predicted reflection reaches the need.
    Need,
    /// The TE₁₁ cut-off of the line comes first.
    Te11,
    /// The rated frequency comes first.
    Rated,
}

/// The answer to "usable up to which frequency?".
#[derive(Debug, Clone, PartialEq)]
pub struct UsableUpTo {
    /// The frequency in hertz with its uncertainty.
    pub frequency_hz: Quantified,
    /// What stops the band there.
    pub limited_by: LimitedBy,
    /// Frequency with 97.5 % chance to be usable: the lower end of the 95 %
    /// interval, never below zero.
    pub prudent: Frequency,
    /// The predicted `|Γ|` at [`Self::frequency_hz`].
    pub reflection_there: f64,
}

/// What reflects.
#[derive(Debug, Clone)]
pub enum Defect<'a> {
    /// A gap between the centre conductors: one end's recess against a flush
    /// partner, or the sum of both recessions.
    PinGap {
        /// The cross-section of the joint.
        joint: &'a JointGeometry,
        /// The gap.
        gap: &'a Uncertain<Length>,
    },
    /// A short piece without dielectric in a filled interface.
    DielectricRecess {
        /// The filled line.
        line: &'a Line,
        /// The length of the empty piece.
        recess: &'a Uncertain<Length>,
    },
}

/// Limits from elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsableLimits {
    /// Largest `|Γ|` that the work allows.
    pub need: f64,
    /// Rated upper frequency of the interface, when it is known.
    pub rated: Option<Frequency>,
}

impl Defect<'_> {
    fn line(&self) -> &Line {
        match self {
            Self::PinGap { joint, .. } => joint.line(),
            Self::DielectricRecess { line, .. } => line,
        }
    }

    fn length(&self) -> &Estimate {
        match self {
            Self::PinGap { gap, .. } => gap.estimate(),
            Self::DielectricRecess { recess, .. } => recess.estimate(),
        }
    }
}

/// `|Γ|` of the defect from the list of its inputs: outer, inner, pin,
/// permittivity, length.
fn magnitude(defect: &Defect<'_>, [outer, inner, pin, er, length]: [f64; 5], frequency: f64) -> f64 {
    match defect {
        Defect::PinGap { .. } => shipped(outer, inner, pin, er, length, frequency),
        Defect::DielectricRecess { .. } => recess_magnitude(outer, inner, er, length, frequency),
    }
}

/// Frequency at which `|Γ|` reaches `need`, or `limit` when it does not before.
fn crossing(reflection: impl Fn(f64) -> f64, need: f64, limit: f64) -> f64 {
    let top = reflection(limit);
    // A NaN goes the same way and is refused by the caller's constructors.
    if top <= need || top.is_nan() {
        return if top.is_nan() { f64::NAN } else { limit };
    }
    // |Γ| is nearly proportional to f: the secant through the origin is close.
    let (mut low, mut high) = (0.0, limit);
    let mut x = limit * need / top;
    for _ in 0..100 {
        let y = reflection(x);
        if y < need {
            low = x;
        } else {
            high = x;
        }
        let next = if y > 0.0 { x * need / y } else { f64::NAN };
        let next = if next > low && next < high { next } else { low + (high - low) / 2.0 };
        if (next - x).abs() <= 1e-12 * limit {
            return next;
        }
        x = next;
    }
    x
}

/// The frequency at which the predicted reflection of a defect reaches what
/// the work allows, bounded by the TE₁₁ cut-off and the rated frequency.
///
/// - `limits.need`: largest `|Γ|` allowed, above zero.
/// - `seed`: for the Monte Carlo run that is made when the first order fails:
///   the gap less than three standard uncertainties from zero, or the need
///   reached so close to the limit that the two mix.
///
/// Contains the model uncertainty of the gap. The first-order uncertainty of a
/// frequency that a limit sets is the limit's own.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a need or a rated frequency not above zero.
///
/// # Source
///
/// Root of [`crate::gap_reflection`] or [`crate::dielectric_recess`].
pub fn usable_up_to(
    defect: &Defect<'_>,
    limits: UsableLimits,
    seed: u64,
) -> Result<Answer<UsableUpTo>, LineError> {
    crate::loss::require_positive("largest allowed reflection", limits.need)?;
    if let Some(rated) = limits.rated {
        crate::loss::require_positive("rated frequency in Hz", rated.hertz())?;
    }
    let line = defect.line();
    let te11 = te11_cutoff(line)?;
    let rated_hz = limits.rated.map_or(f64::INFINITY, Frequency::hertz);
    let [outer, inner, er] = line.inputs();
    let none = Estimate::exact(0.0)?;
    let one = Estimate::exact(1.0)?;
    let model = model_factor()?;
    let (pin, factor) = match defect {
        Defect::PinGap { joint, .. } => (joint.pin().estimate(), &model),
        Defect::DielectricRecess { .. } => (&none, &one),
    };
    let inputs = [outer, inner, pin, er, defect.length(), factor];
    let solve = |[o, i, p, e, l, m]: &[f64; 6], limit: f64| {
        crossing(|f| m * magnitude(defect, [*o, *i, *p, *e, *l], f), limits.need, limit)
    };
    let te11_hz_value = te11.value().hertz();
    let limit = lesser(te11_hz_value, rated_hz);
    let at_values = inputs.map(Estimate::value);
    let reaches = {
        let [o, i, p, e, l, _] = at_values;
        magnitude(defect, [o, i, p, e, l], limit)
    };
    let mut findings = Vec::new();
    let limited_by = if reaches > limits.need {
        LimitedBy::Need
    } else {
        findings.push(Finding::NeedNotReached);
        if rated_hz <= te11_hz_value { LimitedBy::Rated } else { LimitedBy::Te11 }
    };
    let first_order = match limited_by {
        LimitedBy::Need => propagate(inputs, |x| solve(x, limit * 1.5))?,
        LimitedBy::Te11 => te11.estimate().clone(),
        LimitedBy::Rated => Estimate::exact(rated_hz)?,
    };
    if let Defect::PinGap { joint, gap } = defect {
        let at = Frequency::from_hertz(lesser(first_order.value(), te11_hz_value * (1.0 - 1e-9)))?;
        findings.extend(gap_findings(joint, gap.value(), at)?);
    }
    let ratio = distance_from_zero(defect.length());
    let near_zero = ratio < FIRST_ORDER_RATIO;
    if near_zero {
        findings.push(Finding::FirstOrderFails { ratio });
    }
    // |Γ| at the limit against the need, in standard uncertainties of the need's
    // frequency: closer than three, the two ends of the band mix.
    let length_u = if ratio.is_finite() { 1.0 / ratio } else { 0.0 };
    let relative_u = length_u.hypot(factor.standard_uncertainty());
    let mixes = (reaches / limits.need - 1.0).abs() < FIRST_ORDER_RATIO * relative_u;
    let spread = if near_zero || mixes {
        Some(simulate(inputs, DRAWS, seed, |x| {
            let [o, i, _, e, ..] = x;
            let limit = if rated_hz <= te11_hz_value { rated_hz } else { te11_hz(*o, *i, *e) };
            solve(x, limit)
        })?)
    } else {
        None
    };
    let frequency_hz = Quantified { first_order, spread };
    let low = matewell_quantity::greater(frequency_hz.interval_95().0, 0.0);
    let there = {
        let [o, i, p, e, l, _] = at_values;
        magnitude(defect, [o, i, p, e, l], frequency_hz.value())
    };
    Ok(Answer {
        value: UsableUpTo {
            prudent: Frequency::from_hertz(lesser(low, frequency_hz.value()))?,
            frequency_hz,
            limited_by,
            reflection_there: there,
        },
        findings,
    })
}

/// As [`usable_up_to`] for a pin gap, from a bare or an uncertain length.
///
/// # Errors
///
/// As [`usable_up_to`].
pub fn gap_usable_up_to(
    joint: &JointGeometry,
    gap: impl IntoUncertain<Length>,
    limits: UsableLimits,
    seed: u64,
) -> Result<Answer<UsableUpTo>, LineError> {
    let gap = gap.into_uncertain()?;
    usable_up_to(&Defect::PinGap { joint, gap: &gap }, limits, seed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gap_reflection;
    use matewell_uncertainty::InputId;

    fn mm(v: f64) -> Length {
        Length::from_millimetres(v).unwrap()
    }
    fn um(v: f64) -> Length {
        Length::from_micrometres(v).unwrap()
    }
    fn ghz(v: f64) -> Frequency {
        Frequency::from_gigahertz(v).unwrap()
    }
    fn joint() -> JointGeometry {
        JointGeometry::new(Line::new(mm(3.5), mm(1.52)).unwrap(), mm(0.927)).unwrap()
    }

    /// The answer put back into the question gives the need.
    #[test]
    fn the_reflection_there_is_the_need() {
        let limits = UsableLimits { need: 0.01, rated: Some(ghz(34.0)) };
        let answer = gap_usable_up_to(&joint(), um(100.0), limits, 1).unwrap().value;
        assert_eq!(answer.limited_by, LimitedBy::Need);
        let back = gap_reflection(
            &joint(),
            um(100.0),
            Frequency::from_hertz(answer.frequency_hz.value()).unwrap(),
            1,
        )
        .unwrap();
        assert!((back.value.magnitude.value() - 0.01).abs() < 1e-10);
        assert!((answer.reflection_there - 0.01).abs() < 1e-10);
        // The model alone: 8.7 % of the frequency, for |Γ| grows with it.
        let relative = answer.frequency_hz.standard_uncertainty() / answer.frequency_hz.value();
        assert!((relative - 0.086).abs() < 0.004, "{relative}");
        assert!(answer.prudent.hertz() < answer.frequency_hz.value());
    }

    #[test]
    fn a_flush_joint_is_limited_by_its_line_or_its_rating() {
        let rated = UsableLimits { need: 0.05, rated: Some(ghz(26.5)) };
        let answer = gap_usable_up_to(&joint(), um(10.0), rated, 1).unwrap();
        assert_eq!(answer.value.limited_by, LimitedBy::Rated);
        assert!(answer.findings.contains(&Finding::NeedNotReached));
        let free = UsableLimits { need: 0.05, rated: None };
        let answer = gap_usable_up_to(&joint(), um(10.0), free, 1).unwrap().value;
        assert_eq!(answer.limited_by, LimitedBy::Te11);
        assert!((answer.frequency_hz.value() - 38.808_702_3e9).abs() < 1e3);
    }

    /// The need would be reached at 16 GHz; the rating stops the band before.
    #[test]
    fn the_rating_comes_first_where_it_is_lower() {
        let limits = UsableLimits { need: 0.01, rated: Some(ghz(10.0)) };
        let answer = gap_usable_up_to(&joint(), um(100.0), limits, 1).unwrap().value;
        assert_eq!(answer.limited_by, LimitedBy::Rated);
        assert!((answer.frequency_hz.value() - 10e9).abs() < 1.0);
        assert!(answer.reflection_there < 0.01);
    }

    #[test]
    fn an_uncertain_small_gap_gets_a_prudent_frequency_below_the_rated() {
        let gap = Uncertain::input(InputId::new("gap"), um(20.0), um(15.0), f64::INFINITY).unwrap();
        let limits = UsableLimits { need: 0.006, rated: Some(ghz(26.5)) };
        let answer = gap_usable_up_to(&joint(), &gap, limits, 3).unwrap();
        assert!(answer.findings.iter().any(|f| matches!(f, Finding::FirstOrderFails { .. })));
        assert_eq!(answer.value.limited_by, LimitedBy::Rated);
        let prudent = answer.value.prudent.gigahertz();
        // 20 + 1.96·15 = 49 µm reaches 0.006 near 19 GHz.
        assert!((17.0..21.5).contains(&prudent), "{prudent}");
        assert_eq!(gap_usable_up_to(&joint(), &gap, limits, 3).unwrap(), answer);
    }

    #[test]
    fn a_protruding_pin_is_named_whatever_the_number() {
        let limits = UsableLimits { need: 0.01, rated: Some(ghz(26.5)) };
        let answer = gap_usable_up_to(&joint(), um(-5.0), limits, 1).unwrap();
        assert!(answer.is_outside_validity());
    }

    #[test]
    fn bad_limits_are_refused() {
        let bad = UsableLimits { need: 0.0, rated: None };
        assert!(gap_usable_up_to(&joint(), um(10.0), bad, 1).is_err());
        let bad = UsableLimits { need: f64::NAN, rated: None };
        assert!(gap_usable_up_to(&joint(), um(10.0), bad, 1).is_err());
    }
}
