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
    /// Too few values for the question.
    #[error("expected at least {expected} {what}, found {found}")]
    TooFew {
        /// What is counted.
        what: &'static str,
        /// How many are needed.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// Two lists or a matrix do not go together.
    #[error("expected {expected} {what}, found {found}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many belong there.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// A number outside the range where the formula holds.
    #[error("expected {what} {expected}, found {found}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// The range in words.
        expected: &'static str,
        /// The value.
        found: f64,
    },
    /// Limits that cross.
    #[error("expected the lower limit below the upper, found {lower} and {upper}")]
    LimitsCross {
        /// Lower limit.
        lower: f64,
        /// Upper limit.
        upper: f64,
    },
    /// No limit at all.
    #[error("expected at least one limit, found none")]
    NoLimit,
    /// A matrix that cannot be a covariance.
    #[error("expected a covariance matrix without negative eigenvalues, found {smallest}")]
    NotPositiveSemiDefinite {
        /// The smallest eigenvalue.
        smallest: f64,
    },
    /// A matrix that is not symmetric.
    #[error("expected a symmetric matrix, found {above} above and {below} below the diagonal")]
    NotSymmetric {
        /// Element above the diagonal.
        above: f64,
        /// Its mirror.
        below: f64,
    },
    /// A model that gives no number for a trial.
    #[error("expected a finite model value in every trial, found {found} in trial {trial}")]
    ModelNotFinite {
        /// Number of the trial, from 0.
        trial: usize,
        /// The value.
        found: f64,
    },
}
