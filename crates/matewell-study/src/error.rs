//! All message texts of this room.

use matewell_uncertainty::UncertaintyError;

/// Why a study says nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StudyError {
    /// NaN or infinity where a finite number is needed.
    #[error("expected a finite {what}, found {found}")]
    NotFinite {
        /// Which number.
        what: &'static str,
        /// The value.
        found: f64,
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
    /// A cell of a design that does not fit the others.
    #[error("{place}: expected {expected} {what}, found {found}")]
    Unbalanced {
        /// Which cell.
        place: String,
        /// What is counted.
        what: &'static str,
        /// How many the first cell has.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// Columns of a regression that depend on each other.
    #[error("expected independent columns, found column {column} to depend on those before it")]
    Dependent {
        /// Number of the column, from 0; the intercept counts.
        column: usize,
    },
    /// A constant of the average-and-range method that the tables do not give.
    #[error("expected {what} from {low} to {high}, found {found}")]
    NoConstant {
        /// What is counted.
        what: &'static str,
        /// Smallest number in the table.
        low: usize,
        /// Largest number in the table.
        high: usize,
        /// How many there are.
        found: usize,
    },
    /// From the uncertainty room.
    #[error(transparent)]
    Uncertainty(#[from] UncertaintyError),
}
