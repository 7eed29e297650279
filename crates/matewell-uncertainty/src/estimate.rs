//! A value, and where its uncertainty comes from.

use crate::UncertaintyError;
use std::{collections::BTreeMap, fmt, sync::Arc};

/// Names one source of uncertainty, for example one zero check of one gauge.
///
/// Two estimates are correlated through the ids that both contain.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct InputId(Arc<str>);

impl InputId {
    /// An id from a text that is unique in its context.
    pub fn new(text: impl AsRef<str>) -> Self {
        Self(Arc::from(text.as_ref()))
    }

    /// The text of the id.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for InputId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One input's share: sensitivity × standard uncertainty, with sign, in the
/// unit of the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// `c_i u(x_i)`, signed.
    pub contribution: f64,
    /// Degrees of freedom of `u(x_i)`; infinity for a certificate.
    pub degrees_of_freedom: f64,
}

/// A value with first-order uncertainty components by input id.
///
/// `u² = Σ (c_i u_i)²` over independent inputs; covariance between two
/// estimates is `Σ (c_i u_i)(d_i u_i)` over shared ids.
///
/// # Source
///
/// `jcgm-100-2008`, clauses 5.1.2, 5.2.2 and F.1.2.3.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    value: f64,
    components: BTreeMap<InputId, Component>,
}

impl Estimate {
    /// A number without uncertainty, for example an exact conversion factor.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`].
    pub fn exact(value: f64) -> Result<Self, UncertaintyError> {
        finite("value", value)?;
        Ok(Self { value, components: BTreeMap::new() })
    }

    /// One measured or quoted input.
    ///
    /// # Errors
    ///
    /// A non-finite value, a negative uncertainty, or degrees of freedom not
    /// above zero.
    pub fn input(
        id: InputId,
        value: f64,
        standard_uncertainty: f64,
        degrees_of_freedom: f64,
    ) -> Result<Self, UncertaintyError> {
        finite("value", value)?;
        finite("standard uncertainty", standard_uncertainty)?;
        if standard_uncertainty < 0.0 {
            return Err(UncertaintyError::NegativeUncertainty { found: standard_uncertainty });
        }
        if degrees_of_freedom.is_nan() || degrees_of_freedom <= 0.0 {
            return Err(UncertaintyError::DegreesOfFreedom { found: degrees_of_freedom });
        }
        let mut components = BTreeMap::new();
        if standard_uncertainty > 0.0 {
            components.insert(id, Component { contribution: standard_uncertainty, degrees_of_freedom });
        }
        Ok(Self { value, components })
    }

    /// The best estimate.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// The components by input id, in the order of the ids.
    pub fn components(&self) -> impl Iterator<Item = (&InputId, &Component)> {
        self.components.iter()
    }

    /// The combined standard uncertainty.
    pub fn standard_uncertainty(&self) -> f64 {
        self.variance().sqrt()
    }

    /// The square of the combined standard uncertainty.
    pub fn variance(&self) -> f64 {
        // A fold from +0: the sum of nothing is −0 in Rust, and would print so.
        self.components.values().fold(0.0, |sum, c| sum + c.contribution * c.contribution)
    }

    /// Covariance with another estimate through shared inputs.
    pub fn covariance(&self, other: &Self) -> f64 {
        self.components
            .iter()
            .filter_map(|(id, mine)| {
                other.components.get(id).map(|theirs| mine.contribution * theirs.contribution)
            })
            .sum()
    }

    /// Correlation coefficient with another estimate; 0 when either has no
    /// uncertainty.
    pub fn correlation(&self, other: &Self) -> f64 {
        let product = self.standard_uncertainty() * other.standard_uncertainty();
        if product > 0.0 { self.covariance(other) / product } else { 0.0 }
    }

    /// Effective degrees of freedom by the Welch–Satterthwaite formula, not
    /// truncated. Infinite when every component's are.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, G.4.1, equation G.2b.
    pub fn degrees_of_freedom(&self) -> f64 {
        let denominator: f64 = self
            .components
            .values()
            .filter(|c| c.degrees_of_freedom.is_finite())
            .map(|c| c.contribution.powi(4) / c.degrees_of_freedom)
            .sum();
        if denominator > 0.0 { self.variance().powi(2) / denominator } else { f64::INFINITY }
    }

    /// First-order result of a function of several estimates: `value` is the
    /// function at the inputs' values, each term an input with its partial
    /// derivative there.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`] for a value or derivative that is not
    /// finite.
    pub fn combine(value: f64, terms: &[(f64, &Self)]) -> Result<Self, UncertaintyError> {
        finite("value", value)?;
        let mut components: BTreeMap<InputId, Component> = BTreeMap::new();
        for (derivative, estimate) in terms {
            finite("sensitivity", *derivative)?;
            for (id, component) in &estimate.components {
                let share = derivative * component.contribution;
                components.entry(id.clone()).and_modify(|c| c.contribution += share).or_insert(Component {
                    contribution: share,
                    degrees_of_freedom: component.degrees_of_freedom,
                });
            }
        }
        components.retain(|_, c| c.contribution != 0.0);
        Ok(Self { value, components })
    }

    /// `self + other`.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`] on overflow.
    pub fn plus(&self, other: &Self) -> Result<Self, UncertaintyError> {
        Self::combine(self.value + other.value, &[(1.0, self), (1.0, other)])
    }

    /// `self − other`.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`] on overflow.
    pub fn minus(&self, other: &Self) -> Result<Self, UncertaintyError> {
        Self::combine(self.value - other.value, &[(1.0, self), (-1.0, other)])
    }

    /// `factor × self`, the factor being exact.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`] on overflow.
    pub fn scaled(&self, factor: f64) -> Result<Self, UncertaintyError> {
        Self::combine(factor * self.value, &[(factor, self)])
    }

    /// `self × other`.
    ///
    /// # Errors
    ///
    /// [`UncertaintyError::NotFinite`] on overflow.
    pub fn times(&self, other: &Self) -> Result<Self, UncertaintyError> {
        Self::combine(self.value * other.value, &[(other.value, self), (self.value, other)])
    }
}

fn finite(what: &'static str, found: f64) -> Result<(), UncertaintyError> {
    if found.is_finite() { Ok(()) } else { Err(UncertaintyError::NotFinite { what, found }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input(id: &str, value: f64, u: f64, dof: f64) -> Estimate {
        Estimate::input(InputId::new(id), value, u, dof).unwrap()
    }

    /// Printed values u = 9.7 nm (JCGM 100 H.1.3.2) from 5.8(24), 3.9(5), 6.7(8);
    /// the unrounded 9.681 941 95 and ν = 25.447 25 are recomputed from the
    /// same inputs.
    #[test]
    fn gum_h1_difference_of_the_comparator() {
        let sum = Estimate::combine(
            215.0,
            &[
                (1.0, &input("s", 0.0, 5.8, 24.0)),
                (1.0, &input("d1", 0.0, 3.9, 5.0)),
                (1.0, &input("d2", 0.0, 6.7, 8.0)),
            ],
        )
        .unwrap();
        assert!((sum.standard_uncertainty() - 9.681_941_95).abs() < 1e-6);
        assert!((sum.degrees_of_freedom() - 25.447_25).abs() < 1e-5);
    }

    /// Closed form: two gaps' worth of the same gauge share its error.
    #[test]
    fn a_shared_gauge_correlates_two_readings() {
        let shared = input("gauge", 0.0, 0.9, f64::INFINITY);
        let own = (1.4_f64 * 1.4 - 0.9 * 0.9).sqrt();
        let a = input("a", -10.0, own, f64::INFINITY).plus(&shared).unwrap();
        let b = input("b", -12.0, own, f64::INFINITY).plus(&shared).unwrap();
        let sum = a.plus(&b).unwrap();
        assert!((sum.standard_uncertainty() - 2.354).abs() < 5e-4);
        assert!((a.correlation(&b) - 0.81 / 1.96).abs() < 1e-12);
        assert!(a.minus(&a).unwrap().standard_uncertainty() == 0.0);
    }

    #[test]
    fn an_exact_number_has_an_uncertainty_of_plus_zero() {
        let u = Estimate::exact(3.5).unwrap().standard_uncertainty();
        assert!(u == 0.0 && u.is_sign_positive());
    }

    #[test]
    fn bad_inputs_are_refused() {
        assert!(Estimate::input(InputId::new("x"), f64::NAN, 1.0, 1.0).is_err());
        assert!(Estimate::input(InputId::new("x"), 1.0, -1.0, 1.0).is_err());
        assert!(Estimate::input(InputId::new("x"), 1.0, 1.0, 0.0).is_err());
        assert!(Estimate::input(InputId::new("x"), 1.0, 1.0, f64::NAN).is_err());
    }
}
