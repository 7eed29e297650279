//! Two-ports: the exact way through a chain.

use crate::LineError;
use num_complex::Complex64;

/// Scattering parameters of a two-port, both ports in the same real reference
/// impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoPort {
    /// Reflection at port 1.
    pub s11: Complex64,
    /// Transmission from port 2 to port 1.
    pub s12: Complex64,
    /// Transmission from port 1 to port 2.
    pub s21: Complex64,
    /// Reflection at port 2.
    pub s22: Complex64,
}

const ONE: Complex64 = Complex64::new(1.0, 0.0);
const ZERO: Complex64 = Complex64::new(0.0, 0.0);

impl TwoPort {
    /// Nothing between the ports.
    pub const THROUGH: Self = Self { s11: ZERO, s12: ONE, s21: ONE, s22: ZERO };

    /// From a normalised chain matrix `[[a, b], [c, d]]`; `b` divided by, `c`
    /// multiplied with the reference impedance.
    pub(crate) fn from_chain(a: Complex64, b: Complex64, c: Complex64, d: Complex64) -> Self {
        let sum = a + b + c + d;
        Self {
            s11: (a + b - c - d) / sum,
            s12: 2.0 * (a * d - b * c) / sum,
            s21: 2.0 / sum,
            s22: (d + b - a - c) / sum,
        }
    }

    /// A series impedance, normalised to the reference impedance.
    pub fn series(impedance: Complex64) -> Self {
        Self::from_chain(ONE, impedance, ZERO, ONE)
    }

    /// A shunt admittance, normalised to the reference admittance.
    pub fn shunt(admittance: Complex64) -> Self {
        Self::from_chain(ONE, ZERO, admittance, ONE)
    }

    /// A length of line: `impedance` normalised, `electrical_length` is `γl`.
    pub fn section(impedance: Complex64, electrical_length: Complex64) -> Self {
        let (cosh, sinh) = (electrical_length.cosh(), electrical_length.sinh());
        Self::from_chain(cosh, impedance * sinh, sinh / impedance, cosh)
    }

    /// This two-port followed by another.
    ///
    /// # Source
    ///
    /// Closed form: the wave between the two bounces with `S22·S11'`.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        let bounce = 1.0 / (1.0 - self.s22 * next.s11);
        Self {
            s11: self.s11 + self.s12 * next.s11 * self.s21 * bounce,
            s12: self.s12 * next.s12 * bounce,
            s21: self.s21 * next.s21 * bounce,
            s22: next.s22 + next.s21 * self.s22 * next.s12 * bounce,
        }
    }

    /// All of them in order.
    ///
    /// # Errors
    ///
    /// [`LineError::TooFew`] for an empty list.
    pub fn cascade(parts: &[Self]) -> Result<Self, LineError> {
        let (first, rest) =
            parts.split_first().ok_or(LineError::TooFew { what: "two-ports", at_least: 1, found: 0 })?;
        Ok(rest.iter().fold(*first, |chain, next| chain.then(next)))
    }

    /// The same two-port seen from the other side.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self { s11: self.s22, s12: self.s21, s21: self.s12, s22: self.s11 }
    }

    /// Reflection at port 1 with `load` at port 2.
    pub fn input_reflection(&self, load: Complex64) -> Complex64 {
        self.s11 + self.s12 * self.s21 * load / (1.0 - self.s22 * load)
    }

    /// Whether both directions transmit alike, to `tolerance`.
    pub fn is_reciprocal(&self, tolerance: f64) -> bool {
        (self.s21 - self.s12).norm() <= tolerance
    }

    /// Largest power the two-port can give back for one watt put in, in any
    /// combination of its ports: the square of the largest singular value.
    /// Above one it is active.
    pub fn largest_power_gain(&self) -> f64 {
        // Eigenvalues of SᴴS, a 2×2 Hermitian matrix.
        let p = self.s11.norm_sqr() + self.s21.norm_sqr();
        let q = self.s12.norm_sqr() + self.s22.norm_sqr();
        let r = self.s11.conj() * self.s12 + self.s21.conj() * self.s22;
        f64::midpoint(p, q) + ((p - q) / 2.0).hypot(r.norm())
    }

    /// Whether no more power leaves than enters, to `tolerance`.
    pub fn is_passive(&self, tolerance: f64) -> bool {
        self.largest_power_gain() <= 1.0 + tolerance
    }

    /// Power that enters port 1 and leaves nowhere, with port 2 matched;
    /// zero for a lossless two-port.
    pub fn dissipated(&self) -> f64 {
        1.0 - self.s11.norm_sqr() - self.s21.norm_sqr()
    }
}
