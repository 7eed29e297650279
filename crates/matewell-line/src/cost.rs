//! What does this joint cost me? A line for an uncertainty budget.

use crate::{Answer, Finding, LineError, loss::require_positive, mismatch::require_magnitude};
use matewell_uncertainty::Estimate;

/// How the values of a budget line are spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Distribution {
    /// U-shaped: a wave of known size and unknown phase. Divisor √2.
    Arcsine,
    /// Rectangular. Divisor √3.
    Rectangular,
    /// Normal. Divisor 1.
    Normal,
}

impl Distribution {
    /// Half-width over standard uncertainty; 1 for normal, whose "half-width"
    /// is its standard uncertainty.
    pub fn divisor(self) -> f64 {
        match self {
            Self::Arcsine => std::f64::consts::SQRT_2,
            Self::Rectangular => 3f64.sqrt(),
            Self::Normal => 1.0,
        }
    }

    /// The word used in tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Arcsine => "arcsine",
            Self::Rectangular => "rectangular",
            Self::Normal => "normal",
        }
    }
}

/// What the budget is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measurand {
    /// `|S11|` of the device behind the joint.
    ReflectionMagnitude,
    /// `|S21|` of the device behind the joint, in decibels.
    TransmissionDb,
}

/// One line of a budget: `u = sensitivity · half-width / divisor`.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// What the budget is for.
    pub measurand: Measurand,
    /// Best estimate of the correction: zero, for the phase is unknown.
    pub value: f64,
    /// Half-width of the input: `|Γ|` of the joint, its own uncertainty added
    /// in quadrature.
    pub half_width: f64,
    /// How it is spread.
    pub distribution: Distribution,
    /// Degrees of freedom of the standard uncertainty.
    pub degrees_of_freedom: f64,
    /// Change of the measurand per `|Γ|` of the joint.
    pub sensitivity: f64,
    /// Standard uncertainty in the unit of the measurand.
    pub standard_uncertainty: f64,
    /// Share of this line in the variance that is wanted, when one is.
    pub share_of_wanted: Option<f64>,
    /// Largest `|Γ|` of the joint that alone uses up the wanted uncertainty.
    pub largest_reflection: Option<f64>,
}

/// The budget line of one joint between the reference plane and a device.
///
/// Reflection: `Γ_in ≈ Γ_d + Γ_j (1 ± |Γ_d|)²` for a small lossless joint, so
/// the sensitivity is `(1 + |Γ_d|)²`. Transmission: the wave between joint and
/// device, `20/ln 10 · |Γ_j||Γ_d|` decibels.
///
/// - `joint`: `|Γ_j|`, for example of [`crate::gap_reflection`]; `device`:
///   `|Γ_d|`.
/// - `wanted`: the standard uncertainty that is wanted for the measurand.
///
/// Holds for a joint that was not there when the analyser was calibrated. Its
/// degrees of freedom follow from how well `|Γ_j|` is known, `ν = ½
/// (Γ_j/u(Γ_j))²`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative magnitude, a device that reflects
/// more than everything, or a wanted uncertainty not above zero.
///
/// # Source
///
/// `jcgm-100-2008`, 4.3 and equation G.3; the sensitivities are closed forms
/// of the flow graph.
pub fn budget_line(
    measurand: Measurand,
    joint: &Estimate,
    device: &Estimate,
    wanted: Option<f64>,
) -> Result<Answer<BudgetLine>, LineError> {
    require_magnitude(joint.value())?;
    require_magnitude(device.value())?;
    if device.value() > 1.0 {
        return Err(LineError::OutOfRange {
            what: "reflection magnitude of the device",
            expected: "of at most one",
            found: device.value(),
        });
    }
    if let Some(wanted) = wanted {
        require_positive("wanted standard uncertainty", wanted)?;
    }
    let mut findings = Vec::new();
    // The device's own uncertainty widens the sensitivity, not the wave.
    let reach = device.value().hypot(device.standard_uncertainty());
    let sensitivity = match measurand {
        Measurand::ReflectionMagnitude => (1.0 + reach).powi(2),
        Measurand::TransmissionDb => crate::constants::DECIBELS_PER_NEPER * reach,
    };
    let u_joint = joint.standard_uncertainty();
    let half_width = joint.value().hypot(u_joint);
    let divisor = Distribution::Arcsine.divisor();
    let standard_uncertainty = sensitivity * half_width / divisor;
    let degrees_of_freedom = if u_joint > 0.0 { 0.5 * (half_width / u_joint).powi(2) } else { f64::INFINITY };
    if joint.value() == 0.0 {
        findings.push(Finding::NoReflection);
    }
    if joint.value() >= 1.0 {
        findings.push(Finding::TotalReflection { magnitude: joint.value() });
    }
    Ok(Answer {
        value: BudgetLine {
            measurand,
            value: 0.0,
            half_width,
            distribution: Distribution::Arcsine,
            degrees_of_freedom,
            sensitivity,
            standard_uncertainty,
            share_of_wanted: wanted.map(|w| (standard_uncertainty / w).powi(2)),
            largest_reflection: wanted.and_then(|w| (sensitivity > 0.0).then(|| w * divisor / sensitivity)),
        },
        findings,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::TwoPort;
    use matewell_uncertainty::InputId;
    use num_complex::Complex64;
    use std::f64::consts::PI;

    fn exact(v: f64) -> Estimate {
        Estimate::exact(v).unwrap()
    }

    /// The sensitivity is the largest change over all phases, found by trying
    /// them on the exact two-port.
    #[test]
    fn sensitivity_of_reflection_by_trying_all_phases() {
        let joint = TwoPort::series(Complex64::new(0.0, 0.002));
        for device in [0.0, 0.1, 0.5, 0.9] {
            let largest = (0..720)
                .map(|i| {
                    let load = Complex64::from_polar(device, f64::from(i) * PI / 360.0);
                    (joint.input_reflection(load) - load).norm() / joint.s11.norm()
                })
                .fold(0.0, matewell_quantity::greater);
            let line =
                budget_line(Measurand::ReflectionMagnitude, &exact(0.001), &exact(device), None).unwrap();
            assert!((largest / line.value.sensitivity - 1.0).abs() < 0.002, "{device}: {largest}");
        }
    }

    #[test]
    fn the_largest_joint_uses_up_what_is_wanted() {
        let device = exact(0.2);
        let first = budget_line(Measurand::TransmissionDb, &exact(0.01), &device, Some(0.005)).unwrap().value;
        let largest = first.largest_reflection.unwrap();
        let again = budget_line(Measurand::TransmissionDb, &exact(largest), &device, Some(0.005)).unwrap();
        assert!((again.value.share_of_wanted.unwrap() - 1.0).abs() < 1e-12);
        assert!(budget_line(Measurand::TransmissionDb, &exact(0.01), &device, Some(0.0)).is_err());
        assert!(budget_line(Measurand::TransmissionDb, &exact(-0.01), &device, None).is_err());
    }

    #[test]
    fn a_poorly_known_joint_has_few_degrees_of_freedom() {
        let joint = Estimate::input(InputId::new("j"), 0.01, 0.0025, f64::INFINITY).unwrap();
        let line = budget_line(Measurand::ReflectionMagnitude, &joint, &exact(0.0), None).unwrap().value;
        assert!((line.degrees_of_freedom - 8.5).abs() < 1e-9, "{}", line.degrees_of_freedom);
    }
}
