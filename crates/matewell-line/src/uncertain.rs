//! Quantities that carry their uncertainty, and how it travels through a
//! formula.

use crate::LineError;
use matewell_quantity::{Frequency, Impedance, Length, QuantityError, TemperatureCelsius, Torque, greater};
use matewell_uncertainty::{Estimate, InputId};

/// A quantity with a base unit, so that an [`Estimate`] of it has a meaning.
pub trait BaseUnit: Copy {
    /// The value in the base unit.
    fn base(self) -> f64;
    /// From the base unit.
    ///
    /// # Errors
    ///
    /// NaN and infinity.
    fn from_base(value: f64) -> Result<Self, QuantityError>;
}

macro_rules! base_unit {
    ($($name:ident, $to:ident, $from:ident);+ $(;)?) => {
        $(impl BaseUnit for $name {
            fn base(self) -> f64 {
                self.$to()
            }
            fn from_base(value: f64) -> Result<Self, QuantityError> {
                Self::$from(value)
            }
        }

        impl IntoUncertain<$name> for $name {
            fn into_uncertain(self) -> Result<Uncertain<$name>, LineError> {
                Uncertain::exact(self)
            }
        })+
    };
}

base_unit! {
    Length, metres, from_metres;
    Frequency, hertz, from_hertz;
    Impedance, ohms, from_ohms;
    Torque, newton_metres, from_newton_metres;
    TemperatureCelsius, degrees, from_degrees;
}

/// A quantity with its standard uncertainty, split by input.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain<Q> {
    value: Q,
    standard_uncertainty: Q,
    estimate: Estimate,
}

impl<Q: BaseUnit> Uncertain<Q> {
    /// A value without uncertainty.
    ///
    /// # Errors
    ///
    /// None for a quantity that exists; the signature follows [`Estimate::exact`].
    pub fn exact(value: Q) -> Result<Self, LineError> {
        Self::from_estimate(Estimate::exact(value.base())?)
    }

    /// One measured or quoted input.
    ///
    /// # Errors
    ///
    /// A negative uncertainty, or degrees of freedom not above zero.
    pub fn input(
        id: InputId,
        value: Q,
        standard_uncertainty: Q,
        degrees_of_freedom: f64,
    ) -> Result<Self, LineError> {
        Self::from_estimate(Estimate::input(
            id,
            value.base(),
            standard_uncertainty.base(),
            degrees_of_freedom,
        )?)
    }

    /// From an estimate in the base unit (metres, hertz, ohms, newton metres,
    /// degrees Celsius).
    ///
    /// # Errors
    ///
    /// An uncertainty too large to be a number.
    pub fn from_estimate(estimate: Estimate) -> Result<Self, LineError> {
        Ok(Self {
            value: Q::from_base(estimate.value())?,
            standard_uncertainty: Q::from_base(estimate.standard_uncertainty())?,
            estimate,
        })
    }

    /// The best estimate.
    pub fn value(&self) -> Q {
        self.value
    }

    /// The combined standard uncertainty.
    pub fn standard_uncertainty(&self) -> Q {
        self.standard_uncertainty
    }

    /// The estimate in the base unit.
    pub fn estimate(&self) -> &Estimate {
        &self.estimate
    }

    /// The sum; correlated through shared inputs. The gap of a pair is the sum
    /// of its two recessions.
    ///
    /// # Errors
    ///
    /// Overflow.
    pub fn plus(&self, other: &Self) -> Result<Self, LineError> {
        Self::from_estimate(self.estimate.plus(&other.estimate)?)
    }
}

/// Anything that can stand for a quantity with uncertainty: the bare quantity
/// (exact), or one that carries it.
pub trait IntoUncertain<Q> {
    /// The quantity with its uncertainty.
    ///
    /// # Errors
    ///
    /// None for a quantity that exists.
    fn into_uncertain(self) -> Result<Uncertain<Q>, LineError>;
}

impl<Q> IntoUncertain<Q> for Uncertain<Q> {
    fn into_uncertain(self) -> Result<Self, LineError> {
        Ok(self)
    }
}

impl<Q: Clone> IntoUncertain<Q> for &Uncertain<Q> {
    fn into_uncertain(self) -> Result<Uncertain<Q>, LineError> {
        Ok(self.clone())
    }
}

/// First-order propagation through `f`, with derivatives by central
/// differences.
///
/// The step is 10⁻⁵ of the value, or 10⁻³ of the uncertainty where the value
/// is smaller than that: the error of the derivative is then near 10⁻¹⁰, far
/// below any uncertainty's own.
///
/// # Source
///
/// `jcgm-100-2008`, 5.1.2 and 5.1.3.
pub(crate) fn propagate<const N: usize>(
    inputs: [&Estimate; N],
    f: impl Fn(&[f64; N]) -> f64,
) -> Result<Estimate, LineError> {
    let at = inputs.map(Estimate::value);
    let mut derivatives = [0.0; N];
    for (i, input) in inputs.iter().enumerate() {
        let u = input.standard_uncertainty();
        if u > 0.0 {
            let step = greater(1e-5 * input.value().abs(), 1e-3 * u);
            let shifted = |by: f64| {
                let mut x = at;
                if let Some(value) = x.get_mut(i) {
                    *value += by;
                }
                f(&x)
            };
            if let Some(derivative) = derivatives.get_mut(i) {
                *derivative = (shifted(step) - shifted(-step)) / (2.0 * step);
            }
        }
    }
    let terms: Vec<(f64, &Estimate)> = derivatives.into_iter().zip(inputs).collect();
    Ok(Estimate::combine(f(&at), &terms)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: d(x²y)/dx = 2xy, d/dy = x².
    #[test]
    fn central_differences_reach_the_derivatives() {
        let x = Estimate::input(InputId::new("x"), 3.0, 0.1, 9.0).unwrap();
        let y = Estimate::input(InputId::new("y"), 5.0, 0.2, f64::INFINITY).unwrap();
        let z = propagate([&x, &y], |[x, y]| x * x * y).unwrap();
        let expected = (30.0f64 * 0.1).hypot(9.0 * 0.2);
        assert!((z.standard_uncertainty() - expected).abs() < 1e-8);
        assert!((z.value() - 45.0).abs() < 1e-12);
    }

    #[test]
    fn a_gap_is_the_sum_of_two_recessions_that_share_a_gauge() {
        let um = |v| Length::from_micrometres(v).unwrap();
        let side = |id: &str, v| {
            let own = Uncertain::input(InputId::new(id), um(v), um(1.0), 9.0).unwrap();
            let gauge = Uncertain::input(InputId::new("gauge"), um(0.0), um(1.0), 9.0).unwrap();
            own.plus(&gauge).unwrap()
        };
        let gap = side("male", 10.0).plus(&side("female", 20.0)).unwrap();
        assert!((gap.value().micrometres() - 30.0).abs() < 1e-9);
        assert!((gap.standard_uncertainty().micrometres() - 6f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn not_finite_results_are_refused() {
        let x = Estimate::exact(0.0).unwrap();
        assert!(propagate([&x], |[x]| 1.0 / x).is_err());
    }
}
