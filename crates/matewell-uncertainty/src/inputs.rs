//! Standard uncertainties of single inputs: Type A from readings, Type B from
//! what is known otherwise.

use crate::{
    UncertaintyError,
    numeric::{degrees_of_freedom, finite, mean, not_negative, positive, sum_of_squares},
};

/// The distribution that a stated half-width or uncertainty stands for.
///
/// # Source
///
/// `jcgm-100-2008`, 4.3 and F.2.2.1; `jcgm-101-2008`, 6.4.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Normal, stated as a standard uncertainty.
    Normal,
    /// An expanded uncertainty with its coverage factor `k`: divisor `k`.
    Expanded {
        /// Coverage factor.
        factor: f64,
    },
    /// Uniform within ± half-width: divisor √3.
    Rectangular,
    /// Symmetric triangle within ± half-width: divisor √6.
    Triangular,
    /// U-shaped (arcsine) within ± half-width: divisor √2. For a sinusoidal
    /// quantity of unknown phase.
    Arcsine,
    /// Resolution step `q`, one rounding: divisor √12.
    Resolution,
    /// Symmetric trapezoid within ± half-width whose top is `top` (0 to 1)
    /// times its base: `u = a √((1 + β²)/6)`.
    Trapezoid {
        /// Ratio of the top to the base.
        top: f64,
    },
    /// Rectangle whose ± half-width `a` is itself only known to ± `d`:
    /// `u = √(a²/3 + d²/9)`.
    CurvilinearTrapezoid {
        /// How inexactly the half-width is known, in the same unit.
        inexactness: f64,
    },
}

impl Shape {
    /// The standard uncertainty for a stated half-width (for
    /// [`Shape::Resolution`] the full step, for [`Shape::Normal`] and
    /// [`Shape::Expanded`] the stated uncertainty).
    ///
    /// # Errors
    ///
    /// A negative or non-finite number; a top outside 0 to 1; an inexactness
    /// above the half-width.
    pub fn standard_uncertainty(self, stated: f64) -> Result<f64, UncertaintyError> {
        let stated = not_negative("half-width or stated uncertainty", stated)?;
        match self {
            Self::CurvilinearTrapezoid { inexactness } => {
                not_negative("inexactness of a half-width", inexactness)?;
                if inexactness > stated {
                    return Err(UncertaintyError::OutOfRange {
                        what: "inexactness of a half-width",
                        expected: "not above the half-width",
                        found: inexactness,
                    });
                }
                Ok((stated * stated / 3.0 + inexactness * inexactness / 9.0).sqrt())
            }
            other => Ok(stated / other.divisor()?),
        }
    }

    /// What the stated number is divided by. For the curvilinear trapezoid,
    /// where the standard uncertainty is no fixed fraction, that of the
    /// rectangle.
    ///
    /// # Errors
    ///
    /// A coverage factor not above zero, a top outside 0 to 1.
    pub fn divisor(self) -> Result<f64, UncertaintyError> {
        Ok(match self {
            Self::Normal => 1.0,
            Self::Expanded { factor } => positive("coverage factor", factor)?,
            Self::Rectangular | Self::CurvilinearTrapezoid { .. } => 3f64.sqrt(),
            Self::Triangular => 6f64.sqrt(),
            Self::Arcsine => 2f64.sqrt(),
            Self::Resolution => 12f64.sqrt(),
            Self::Trapezoid { top } => {
                if !(0.0..=1.0).contains(&top) {
                    return Err(UncertaintyError::OutOfRange {
                        what: "top of a trapezoid",
                        expected: "from 0 to 1 of its base",
                        found: top,
                    });
                }
                (6.0 / (1.0 + top * top)).sqrt()
            }
        })
    }

    /// The word used in a printed budget.
    pub fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Expanded { .. } => "expanded",
            Self::Rectangular => "rectangular",
            Self::Triangular => "triangular",
            Self::Arcsine => "arcsine",
            Self::Resolution => "resolution",
            Self::Trapezoid { .. } => "trapezoid",
            Self::CurvilinearTrapezoid { .. } => "curvilinear trapezoid",
        }
    }
}

/// A standard deviation with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    standard_deviation: f64,
    degrees_of_freedom: f64,
}

impl Spread {
    /// A standard deviation known from elsewhere, for example pooled from a
    /// gauge study.
    ///
    /// # Errors
    ///
    /// A negative standard deviation or bad degrees of freedom.
    pub fn new(standard_deviation: f64, dof: f64) -> Result<Self, UncertaintyError> {
        not_negative("standard deviation", standard_deviation)?;
        degrees_of_freedom(dof)?;
        Ok(Self { standard_deviation, degrees_of_freedom: dof })
    }

    /// Experimental standard deviation of readings, `ν = n − 1`.
    ///
    /// # Errors
    ///
    /// Fewer than two readings, or one that is not finite.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 4.2.2.
    pub fn of_readings(readings: &[f64]) -> Result<Self, UncertaintyError> {
        check_readings(readings, 2)?;
        let dof = readings.len() as f64 - 1.0;
        Self::new((sum_of_squares(readings) / dof).sqrt(), dof)
    }

    /// Pooled: `s_p² = Σ νᵢ sᵢ² / Σ νᵢ`.
    ///
    /// # Errors
    ///
    /// An empty list, or one with infinite degrees of freedom.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 4.2.4 and H.3.6; `nist-ehandbook`, 2.4.4.4.
    pub fn pooled(spreads: &[Self]) -> Result<Self, UncertaintyError> {
        if spreads.is_empty() {
            return Err(UncertaintyError::TooFew {
                what: "standard deviations to pool",
                expected: 1,
                found: 0,
            });
        }
        let dof: f64 = spreads.iter().map(|s| s.degrees_of_freedom).sum();
        finite("sum of the degrees of freedom", dof)?;
        let squares: f64 =
            spreads.iter().map(|s| s.degrees_of_freedom * s.standard_deviation * s.standard_deviation).sum();
        Self::new((squares / dof).sqrt(), dof)
    }

    /// The standard deviation of one reading.
    pub fn standard_deviation(&self) -> f64 {
        self.standard_deviation
    }

    /// Its degrees of freedom.
    pub fn degrees_of_freedom(&self) -> f64 {
        self.degrees_of_freedom
    }

    /// Standard uncertainty of the mean of `n` readings: `s/√n`.
    ///
    /// # Errors
    ///
    /// `n` of zero.
    pub fn of_mean(&self, n: usize) -> Result<f64, UncertaintyError> {
        if n == 0 {
            return Err(UncertaintyError::TooFew { what: "readings", expected: 1, found: 0 });
        }
        Ok(self.standard_deviation / (n as f64).sqrt())
    }
}

/// Arithmetic mean of readings.
///
/// # Errors
///
/// No reading, or one that is not finite.
pub fn mean_of(readings: &[f64]) -> Result<f64, UncertaintyError> {
    check_readings(readings, 1)?;
    finite("mean", mean(readings))
}

pub(crate) fn check_readings(readings: &[f64], at_least: usize) -> Result<(), UncertaintyError> {
    if readings.len() < at_least {
        return Err(UncertaintyError::TooFew { what: "readings", expected: at_least, found: readings.len() });
    }
    readings.iter().try_for_each(|r| finite("reading", *r).map(|_| ()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trapezoid_lies_between_triangle_and_rectangle() {
        let u = |shape: Shape| shape.standard_uncertainty(2.0).unwrap();
        assert!((u(Shape::Trapezoid { top: 0.0 }) - u(Shape::Triangular)).abs() < 1e-15);
        assert!((u(Shape::Trapezoid { top: 1.0 }) - u(Shape::Rectangular)).abs() < 1e-15);
        assert!(u(Shape::CurvilinearTrapezoid { inexactness: 0.5 }) > u(Shape::Rectangular));
        assert!((u(Shape::Resolution) - 0.5 * u(Shape::Rectangular)).abs() < 1e-15);
    }

    #[test]
    fn bad_input_is_refused() {
        assert!(Shape::Rectangular.standard_uncertainty(-1.0).is_err());
        assert!(Shape::Rectangular.standard_uncertainty(f64::NAN).is_err());
        assert!(Shape::Trapezoid { top: 1.1 }.standard_uncertainty(1.0).is_err());
        assert!(Shape::Expanded { factor: 0.0 }.standard_uncertainty(1.0).is_err());
        assert!(Shape::CurvilinearTrapezoid { inexactness: 2.0 }.standard_uncertainty(1.0).is_err());
        assert!(Spread::of_readings(&[1.0]).is_err());
        assert!(Spread::of_readings(&[1.0, f64::INFINITY]).is_err());
        assert!(mean_of(&[]).is_err());
    }

    #[test]
    fn pooling_equal_spreads_only_adds_degrees_of_freedom() {
        let one = Spread::of_readings(&[1.0, 2.0, 4.0]).unwrap();
        let pooled = Spread::pooled(&[one, one, one]).unwrap();
        assert!((pooled.standard_deviation() - one.standard_deviation()).abs() < 1e-15);
        assert!((pooled.degrees_of_freedom() - 6.0).abs() < 1e-15);
    }
}
