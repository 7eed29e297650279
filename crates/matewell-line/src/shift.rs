//! What moves: reference planes with a length, gaps with the temperature.

use crate::{IntoUncertain, LineError, Uncertain, constants::SPEED_OF_LIGHT_M_PER_S, uncertain::propagate};
use matewell_quantity::{Frequency, Length};
use matewell_uncertainty::Estimate;
use std::f64::consts::PI;

/// What a shifted reference plane does.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneShift {
    /// Change of the phase of a reflection, in degrees: there and back.
    pub reflection_deg: Estimate,
    /// Change of the phase of a transmission, in degrees.
    pub transmission_deg: Estimate,
    /// Change of the delay of a reflection, in picoseconds.
    pub reflection_delay_ps: Estimate,
    /// Change of the delay of a transmission, in picoseconds.
    pub transmission_delay_ps: Estimate,
    /// `|ΔS11|` for a device that reflects everything.
    pub total_reflection_change: Estimate,
}

/// Phase and delay of a reference plane that is off by a length.
///
/// `720° f Δl √ε_r/c` in reflection, half in transmission; `|ΔS11| = 2
/// |sin(2πf Δl √ε_r/c)|` at `|Γ| = 1`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a permittivity below one.
///
/// # Source
///
/// Closed form.
pub fn plane_shift(
    shift: impl IntoUncertain<Length>,
    at: impl IntoUncertain<Frequency>,
    relative_permittivity: &Estimate,
) -> Result<PlaneShift, LineError> {
    let (shift, at) = (shift.into_uncertain()?, at.into_uncertain()?);
    if relative_permittivity.value() < 1.0 {
        return Err(LineError::OutOfRange {
            what: "relative permittivity",
            expected: "of one or more",
            found: relative_permittivity.value(),
        });
    }
    let inputs = [shift.estimate(), at.estimate(), relative_permittivity];
    let turns = |[l, f, e]: &[f64; 3]| f * l * e.sqrt() / SPEED_OF_LIGHT_M_PER_S;
    let delay_ps = |[l, _, e]: &[f64; 3]| 1e12 * l * e.sqrt() / SPEED_OF_LIGHT_M_PER_S;
    Ok(PlaneShift {
        reflection_deg: propagate(inputs, |x| 720.0 * turns(x))?,
        transmission_deg: propagate(inputs, |x| 360.0 * turns(x))?,
        reflection_delay_ps: propagate(inputs, |x| 2.0 * delay_ps(x))?,
        transmission_delay_ps: propagate(inputs, delay_ps)?,
        total_reflection_change: propagate(inputs, |x| 2.0 * (2.0 * PI * turns(x)).sin().abs())?,
    })
}

/// A conductor between the point where it is held and the joint.
#[derive(Debug, Clone)]
pub struct Member {
    /// Free length.
    pub length: Uncertain<Length>,
    /// Coefficient of linear expansion, per kelvin.
    pub expansion_per_k: Estimate,
}

/// Change of length with temperature, `α L ΔT`.
///
/// # Errors
///
/// Overflow.
///
/// # Source
///
/// Definition of the coefficient of linear expansion.
pub fn thermal_growth(member: &Member, rise_k: &Estimate) -> Result<Uncertain<Length>, LineError> {
    Uncertain::from_estimate(propagate(
        [member.length.estimate(), &member.expansion_per_k, rise_k],
        |[l, a, t]| a * l * t,
    )?)
}

/// Change of a pin gap with temperature: the outer conductor's growth less the
/// centre conductor's, on one side of the joint. Positive opens the gap.
///
/// # Errors
///
/// Overflow.
///
/// # Source
///
/// Closed form from [`thermal_growth`].
pub fn thermal_gap_change(
    outer: &Member,
    inner: &Member,
    rise_k: &Estimate,
) -> Result<Uncertain<Length>, LineError> {
    let (grown_outer, grown_inner) = (thermal_growth(outer, rise_k)?, thermal_growth(inner, rise_k)?);
    Uncertain::from_estimate(grown_outer.estimate().minus(grown_inner.estimate())?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use matewell_uncertainty::InputId;

    /// Equal members held alike: no change, and no uncertainty from the
    /// temperature they share.
    #[test]
    fn equal_members_keep_their_gap() {
        let member = Member {
            length: Uncertain::exact(Length::from_millimetres(10.0).unwrap()).unwrap(),
            expansion_per_k: Estimate::exact(17e-6).unwrap(),
        };
        let rise = Estimate::input(InputId::new("t"), 5.0, 0.5, f64::INFINITY).unwrap();
        let change = thermal_gap_change(&member, &member, &rise).unwrap();
        assert!(change.value().metres() == 0.0);
        assert!(change.standard_uncertainty().metres() < 1e-18);
    }
}
