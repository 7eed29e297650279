//! All message texts of this room.

use matewell_quantity::QuantityError;
use matewell_uncertainty::UncertaintyError;

/// Why no number can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LineError {
    /// The conductors do not lie inside each other.
    #[error("expected 0 < inner < outer diameter, found inner {inner_um} µm and outer {outer_um} µm")]
    DiametersCross {
        /// Inner diameter in micrometres.
        inner_um: f64,
        /// Outer diameter in micrometres.
        outer_um: f64,
    },
    /// The pin is not thinner than the centre conductor.
    #[error("expected 0 < pin < inner diameter, found pin {pin_um} µm and inner {inner_um} µm")]
    PinNotThinner {
        /// Pin diameter in micrometres.
        pin_um: f64,
        /// Centre conductor diameter in micrometres.
        inner_um: f64,
    },
    /// The axes are so far apart that the conductors touch.
    #[error("expected an offset below {limit_um} µm, where the conductors touch, found {found_um} µm")]
    ConductorsTouch {
        /// Largest offset in micrometres.
        limit_um: f64,
        /// Offset given, in micrometres.
        found_um: f64,
    },
    /// A number outside the range in which the formula means something.
    #[error("expected {what} {expected}, found {found}")]
    OutOfRange {
        /// Which quantity.
        what: &'static str,
        /// The range in words.
        expected: &'static str,
        /// The value.
        found: f64,
    },
    /// No answer was found within the allowed steps.
    #[error("expected {what} to converge within {steps} steps")]
    NoConvergence {
        /// What was sought.
        what: &'static str,
        /// How many steps were tried.
        steps: usize,
    },
    /// An empty list where at least one entry is needed.
    #[error("expected at least {at_least} {what}, found {found}")]
    TooFew {
        /// Which list.
        what: &'static str,
        /// The least length.
        at_least: usize,
        /// The length found.
        found: usize,
    },
    /// A value that is not a quantity.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// A value or sensitivity that is not finite.
    #[error(transparent)]
    Uncertainty(#[from] UncertaintyError),
}
