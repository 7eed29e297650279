//! Return loss, VSWR, |Γ| and mismatch loss: four words for one number.

use crate::{
    Answer, Finding, LineError, Quantified,
    monte_carlo::{DRAWS, FIRST_ORDER_RATIO, distance_from_zero, simulate},
    uncertain::propagate,
};
use matewell_uncertainty::Estimate;

/// `|Γ|` from a return loss in decibels.
///
/// `|Γ| = 10^(−RL/20)`; a return loss is positive for a passive device.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative return loss: a gain, or a sign
/// taken from `S11` in decibels.
pub fn magnitude_from_return_loss(return_loss_db: &Estimate) -> Result<Estimate, LineError> {
    if return_loss_db.value() < 0.0 {
        return Err(LineError::OutOfRange {
            what: "return loss in dB",
            expected: "of zero or more (the loss, not S11 in dB)",
            found: return_loss_db.value(),
        });
    }
    propagate([return_loss_db], |[rl]| 10f64.powf(-rl / 20.0))
}

/// `|Γ|` from a voltage standing wave ratio, `(S − 1)/(S + 1)`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] below one.
pub fn magnitude_from_vswr(vswr: &Estimate) -> Result<Estimate, LineError> {
    if vswr.value() < 1.0 {
        return Err(LineError::OutOfRange { what: "VSWR", expected: "of one or more", found: vswr.value() });
    }
    propagate([vswr], |[s]| (s - 1.0) / (s + 1.0))
}

/// `|Γ|` from a mismatch loss in decibels, `√(1 − 10^(−ML/10))`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] below zero. At exactly zero the derivative is
/// infinite, so that an uncertain zero is refused as not finite.
pub fn magnitude_from_mismatch_loss(mismatch_loss_db: &Estimate) -> Result<Estimate, LineError> {
    if mismatch_loss_db.value() < 0.0 {
        return Err(LineError::OutOfRange {
            what: "mismatch loss in dB",
            expected: "of zero or more",
            found: mismatch_loss_db.value(),
        });
    }
    propagate([mismatch_loss_db], |[ml]| (1.0 - 10f64.powf(-ml / 10.0)).sqrt())
}

/// `|Γ|` of one impedance in a line of another, `|Z − Z₀|/(Z + Z₀)`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for an impedance not above zero.
pub fn magnitude_from_impedances(
    impedance_ohm: &Estimate,
    line_ohm: &Estimate,
) -> Result<Estimate, LineError> {
    crate::loss::require_positive("impedance in ohms", impedance_ohm.value())?;
    crate::loss::require_positive("impedance in ohms", line_ohm.value())?;
    propagate([impedance_ohm, line_ohm], |[z, z0]| ((z - z0) / (z + z0)).abs())
}

/// One match in all its words. What has no number is `None`, never infinity.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchForms {
    /// `|Γ|`.
    pub magnitude: Estimate,
    /// `−20 lg |Γ|`, in decibels; `None` without reflection.
    pub return_loss_db: Option<Quantified>,
    /// `(1 + |Γ|)/(1 − |Γ|)`; `None` from total reflection on.
    pub vswr: Option<Quantified>,
    /// `−10 lg (1 − |Γ|²)`, in decibels; `None` from total reflection on.
    pub mismatch_loss_db: Option<Quantified>,
}

fn return_loss(magnitude: f64) -> f64 {
    -20.0 * magnitude.abs().log10()
}

fn vswr(magnitude: f64) -> f64 {
    (1.0 + magnitude.abs()) / (1.0 - magnitude.abs())
}

fn mismatch_loss(magnitude: f64) -> f64 {
    // ln_1p keeps the digits of a small reflection.
    -10.0 / std::f64::consts::LN_10 * (-magnitude * magnitude).ln_1p()
}

/// All forms of a reflection magnitude.
///
/// - `seed`: for the Monte Carlo run that is made when `|Γ|` is less than three
///   standard uncertainties from zero, where the return loss has no useful
///   first order.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative magnitude.
///
/// # Source
///
/// Definitions; `iec-60050-726` for the words, from memory.
pub fn match_forms(magnitude: &Estimate, seed: u64) -> Result<Answer<MatchForms>, LineError> {
    let gamma = magnitude.value();
    if gamma < 0.0 {
        return Err(LineError::OutOfRange {
            what: "reflection magnitude",
            expected: "of zero or more",
            found: gamma,
        });
    }
    let mut findings = Vec::new();
    let ratio = distance_from_zero(magnitude);
    let near_zero = gamma > 0.0 && ratio < FIRST_ORDER_RATIO;
    if near_zero {
        findings.push(Finding::FirstOrderFails { ratio });
    }
    let form = |f: fn(f64) -> f64| -> Result<Quantified, LineError> {
        let first_order = propagate([magnitude], |[g]| f(*g))?;
        let spread = if near_zero { Some(simulate([magnitude], DRAWS, seed, |[g]| f(*g))?) } else { None };
        Ok(Quantified { first_order, spread })
    };
    let return_loss_db = if gamma > 0.0 {
        Some(form(return_loss)?)
    } else {
        findings.push(Finding::NoReflection);
        None
    };
    let (vswr, mismatch_loss_db) = if gamma < 1.0 {
        (Some(form(vswr)?), Some(form(mismatch_loss)?))
    } else {
        findings.push(Finding::TotalReflection { magnitude: gamma });
        (None, None)
    };
    Ok(Answer {
        value: MatchForms { magnitude: magnitude.clone(), return_loss_db, vswr, mismatch_loss_db },
        findings,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use matewell_uncertainty::InputId;

    fn exact(v: f64) -> Estimate {
        Estimate::exact(v).unwrap()
    }

    #[test]
    fn the_ends_of_the_scale_have_no_number() {
        let none = match_forms(&exact(0.0), 1).unwrap();
        assert!(none.value.return_loss_db.is_none());
        assert_eq!(none.findings, [Finding::NoReflection]);
        assert!((none.value.vswr.unwrap().value() - 1.0).abs() < 1e-15);
        for total in [1.0, 1.2] {
            let all = match_forms(&exact(total), 1).unwrap();
            assert!(all.value.vswr.is_none() && all.value.mismatch_loss_db.is_none());
            assert_eq!(all.findings, [Finding::TotalReflection { magnitude: total }]);
        }
        assert!(match_forms(&exact(-0.1), 1).is_err());
        assert!(magnitude_from_return_loss(&exact(-20.0)).is_err());
        assert!(magnitude_from_vswr(&exact(0.9)).is_err());
        assert!(magnitude_from_mismatch_loss(&exact(-0.1)).is_err());
    }

    #[test]
    fn a_magnitude_near_zero_gets_an_interval_and_not_a_slope() {
        let gamma = Estimate::input(InputId::new("g"), 0.002, 0.002, f64::INFINITY).unwrap();
        let forms = match_forms(&gamma, 9).unwrap();
        let rl = forms.value.return_loss_db.unwrap();
        let (low, high) = rl.interval_95();
        // |Γ| below 0.002 + 1.96·0.002 means a return loss above 44.5 dB.
        assert!((low - 44.5).abs() < 0.4 && high > 60.0, "{low} {high}");
    }
}
