//! A coaxial line, and its impedance with the axes together or apart.

use crate::{IntoUncertain, LineError, Uncertain, constants::K_OHM, uncertain::propagate};
use matewell_quantity::{Impedance, Length};
use matewell_uncertainty::Estimate;

/// The cross-section of a uniform coaxial line and what fills it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    outer: Uncertain<Length>,
    inner: Uncertain<Length>,
    relative_permittivity: Estimate,
}

impl Line {
    /// A line in vacuum: inside diameter of the outer conductor, and diameter
    /// of the centre conductor.
    ///
    /// # Errors
    ///
    /// [`LineError::DiametersCross`] unless `0 < inner < outer`.
    pub fn new(
        outer: impl IntoUncertain<Length>,
        inner: impl IntoUncertain<Length>,
    ) -> Result<Self, LineError> {
        let (outer, inner) = (outer.into_uncertain()?, inner.into_uncertain()?);
        let (big, small) = (outer.value().metres(), inner.value().metres());
        // At 1 + 10⁻⁹ the logarithm of the ratio still carries seven digits.
        if small <= 0.0 || big <= small * (1.0 + 1e-9) {
            return Err(LineError::DiametersCross {
                inner_um: inner.value().micrometres(),
                outer_um: outer.value().micrometres(),
            });
        }
        Ok(Self { outer, inner, relative_permittivity: Estimate::exact(1.0)? })
    }

    /// The same line filled with air or a dielectric.
    ///
    /// # Errors
    ///
    /// [`LineError::OutOfRange`] for a relative permittivity below one.
    pub fn filled(mut self, relative_permittivity: Estimate) -> Result<Self, LineError> {
        if relative_permittivity.value() < 1.0 {
            return Err(LineError::OutOfRange {
                what: "relative permittivity",
                expected: "of one or more",
                found: relative_permittivity.value(),
            });
        }
        self.relative_permittivity = relative_permittivity;
        Ok(self)
    }

    /// Inside diameter of the outer conductor.
    pub fn outer(&self) -> &Uncertain<Length> {
        &self.outer
    }

    /// Diameter of the centre conductor.
    pub fn inner(&self) -> &Uncertain<Length> {
        &self.inner
    }

    /// Relative permittivity of the filling.
    pub fn relative_permittivity(&self) -> &Estimate {
        &self.relative_permittivity
    }

    /// Diameters in metres and permittivity, the arguments of the formulas.
    pub(crate) fn numbers(&self) -> (f64, f64, f64) {
        (self.outer.value().metres(), self.inner.value().metres(), self.relative_permittivity.value())
    }

    /// The three inputs in the order outer, inner, permittivity.
    pub(crate) fn inputs(&self) -> [&Estimate; 3] {
        [self.outer.estimate(), self.inner.estimate(), &self.relative_permittivity]
    }
}

/// `K ln(D/d)/√ε_r` in ohms.
pub(crate) fn impedance_ohm(outer: f64, inner: f64, permittivity: f64) -> f64 {
    K_OHM * (outer / inner).ln() / permittivity.sqrt()
}

/// Characteristic impedance of a lossless coaxial line.
///
/// `Z₀ = (η₀/2π) ln(D/d)/√ε_r`.
///
/// - `D`: inside diameter of the outer conductor; `d`: diameter of the centre
///   conductor; `ε_r`: relative permittivity of the filling.
///
/// Holds for the TEM mode of perfect conductors: nothing about frequencies
/// above the TE₁₁ cut-off, nothing about conductor loss.
///
/// # Errors
///
/// None for a line that exists.
///
/// # Source
///
/// `pozar-2012`, table 2.1, coaxial line; from memory. `codata-2022` for `η₀`.
pub fn characteristic_impedance(line: &Line) -> Result<Uncertain<Impedance>, LineError> {
    Uncertain::from_estimate(propagate(line.inputs(), |[outer, inner, er]| {
        impedance_ohm(*outer, *inner, *er)
    })?)
}

/// Impedance of a line whose centre conductor lies off the axis, in ohms.
pub(crate) fn off_centre_ohm(outer: f64, inner: f64, permittivity: f64, offset: f64) -> f64 {
    // arcosh(x) = 2 arsinh √((x − 1)/2): x − 1 without cancellation, which
    // matters for thin rings.
    let half_over = ((outer - inner).powi(2) - 4.0 * offset * offset) / (4.0 * outer * inner);
    K_OHM * 2.0 * half_over.sqrt().asinh() / permittivity.sqrt()
}

/// Characteristic impedance with the centre conductor off the axis.
///
/// `Z = (η₀/2π√ε_r) arcosh[(D² + d² − 4e²)/(2Dd)]`, `e` the distance of the
/// axes.
///
/// The change is of second order in `e`, `ΔZ ≈ −4K e²/(D² − d²)`, so that an
/// offset of zero with an uncertainty has no first-order uncertainty: see
/// [`crate::off_centre_reflection`] for the distribution.
///
/// # Errors
///
/// [`LineError::ConductorsTouch`] when `e ≥ (D − d)/2`; a negative offset
/// counts by its magnitude.
///
/// # Source
///
/// `smythe-1950`, capacitance of eccentric cylinders; from memory.
pub fn off_centre_impedance(
    line: &Line,
    offset: impl IntoUncertain<Length>,
) -> Result<Uncertain<Impedance>, LineError> {
    let offset = offset.into_uncertain()?;
    require_apart(line, offset.value())?;
    let [outer, inner, er] = line.inputs();
    Uncertain::from_estimate(propagate([outer, inner, er, offset.estimate()], |[outer, inner, er, e]| {
        off_centre_ohm(*outer, *inner, *er, *e)
    })?)
}

pub(crate) fn require_apart(line: &Line, offset: Length) -> Result<(), LineError> {
    let (outer, inner, _) = line.numbers();
    let limit = (outer - inner) / 2.0;
    if offset.metres().abs() < limit {
        Ok(())
    } else {
        Err(LineError::ConductorsTouch { limit_um: limit * 1e6, found_um: offset.micrometres() })
    }
}

/// What one diameter does to the impedance: `∂Z/∂D` and `∂Z/∂d` in ohms per
/// metre.
///
/// # Errors
///
/// None for a line that exists.
pub fn impedance_sensitivities_ohm_per_m(line: &Line) -> (f64, f64) {
    let (outer, inner, er) = line.numbers();
    let k = K_OHM / er.sqrt();
    (k / outer, -k / inner)
}
