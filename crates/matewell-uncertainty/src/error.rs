//! All message texts of this room.

/// Why no number can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum UncertaintyError {
    /// NaN or infinity where a finite number is needed.
    #[error("expected a finite {what}, found {found}")]
    NotFinite {
        /// Which number.
        what: &'static str,
        /// The value.
        found: f64,
    },
    /// A negative standard uncertainty.
    #[error("expected a standard uncertainty of zero or more, found {found}")]
    NegativeUncertainty {
        /// The value.
        found: f64,
    },
    /// Degrees of freedom must be above zero; infinity is allowed.
    #[error("expected degrees of freedom above zero, found {found}")]
    DegreesOfFreedom {
        /// The value.
        found: f64,
    },
}
