//! Do two gauges, or two labs, agree?

use crate::{
    StudyError,
    numeric::{f_upper_tail, finite, positive, probability},
};
use matewell_uncertainty::{Estimate, Spread};

/// Two results beside each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// First less second.
    pub difference: f64,
    /// Expanded uncertainty of the difference.
    pub expanded_uncertainty: f64,
    /// `E_n`, their ratio.
    pub normalised: f64,
}

impl Comparison {
    /// Whether the difference is explained by the uncertainties: `|E_n| ≤ 1`.
    pub fn agrees(&self) -> bool {
        self.normalised.abs() <= 1.0
    }
}

/// `E_n = (x₁ − x₂)/√(U₁² + U₂²)` for independent results with expanded
/// uncertainties of the same coverage.
///
/// # Errors
///
/// A number that is not finite, no uncertainty at all.
///
/// # Source
///
/// `iso-13528-2022`, 9.7 (from memory).
pub fn compare(first: (f64, f64), second: (f64, f64)) -> Result<Comparison, StudyError> {
    let difference = finite("difference", first.0 - second.0)?;
    let expanded = positive("expanded uncertainty", first.1.hypot(second.1))?;
    Ok(Comparison { difference, expanded_uncertainty: expanded, normalised: difference / expanded })
}

/// The same for estimates that may share inputs, for example one master:
/// what is shared cancels in the difference.
///
/// # Errors
///
/// A coverage probability not between 0 and 1, no uncertainty of the
/// difference.
pub fn compare_estimates(
    first: &Estimate,
    second: &Estimate,
    coverage: f64,
) -> Result<Comparison, StudyError> {
    let difference = first.minus(second)?;
    let expanded = positive("expanded uncertainty", difference.expanded(coverage)?.uncertainty)?;
    Ok(Comparison {
        difference: difference.value(),
        expanded_uncertainty: expanded,
        normalised: difference.value() / expanded,
    })
}

/// Whether a new standard deviation is larger than an accepted one at the
/// given risk; with the probability by chance.
///
/// # Errors
///
/// A risk not between 0 and 1, an accepted standard deviation of zero or with
/// infinite degrees of freedom.
///
/// # Source
///
/// `nist-ehandbook`, 2.6.2 and 7.3.2.
pub fn spread_changed(new: Spread, accepted: Spread, risk: f64) -> Result<(bool, f64), StudyError> {
    probability("risk", risk)?;
    positive("accepted standard deviation", accepted.standard_deviation())?;
    finite("degrees of freedom", new.degrees_of_freedom())?;
    finite("degrees of freedom", accepted.degrees_of_freedom())?;
    let ratio = (new.standard_deviation() / accepted.standard_deviation()).powi(2);
    let p = f_upper_tail(ratio, new.degrees_of_freedom(), accepted.degrees_of_freedom())?;
    Ok((p < risk, p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use matewell_uncertainty::InputId;

    #[test]
    fn a_shared_master_does_not_excuse_a_difference() {
        let input = |id: &str, value, u| Estimate::input(InputId::new(id), value, u, f64::INFINITY).unwrap();
        let master = input("master", 0.0, 2.0);
        let one = input("one", 10.0, 0.5).plus(&master).unwrap();
        let other = input("other", 12.0, 0.5).plus(&master).unwrap();
        let shared = compare_estimates(&one, &other, 0.95).unwrap();
        let u = 1.96 * one.standard_uncertainty();
        let independent = compare((10.0, u), (12.0, u)).unwrap();
        assert!(independent.agrees() && !shared.agrees());
        assert!(compare((1.0, 0.0), (2.0, 0.0)).is_err());
    }

    #[test]
    fn a_larger_spread_is_noticed() {
        let accepted = Spread::new(1.0, 30.0).unwrap();
        let (changed, p) = spread_changed(Spread::new(3.0, 2.0).unwrap(), accepted, 0.01).unwrap();
        assert!(changed && p < 0.001);
        assert!(!spread_changed(Spread::new(1.2, 2.0).unwrap(), accepted, 0.01).unwrap().0);
    }
}
