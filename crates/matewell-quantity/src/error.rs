//! All message texts of this room.

/// Why a text or a number is not a quantity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// The text does not start with a number.
    #[error("expected a number with a unit such as {example}, found \"{found}\"")]
    NotANumber {
        /// A text that would have been understood.
        example: &'static str,
        /// The text as typed.
        found: String,
    },
    /// A number without a unit.
    #[error("expected a unit after {number}: one of {units}")]
    NoUnit {
        /// The number as typed.
        number: String,
        /// The units that are understood.
        units: &'static str,
    },
    /// A unit of another kind, or none we know.
    #[error("expected one of the units {units}, found \"{found}\"")]
    UnknownUnit {
        /// The units that are understood.
        units: &'static str,
        /// The unit as typed.
        found: String,
    },
    /// `1,000` may be one or one thousand.
    #[error("\"{found}\" can be read in two ways: write {as_decimal} or {as_thousands}")]
    AmbiguousComma {
        /// The number as typed.
        found: String,
        /// The reading with a decimal comma.
        as_decimal: String,
        /// The reading with a thousands comma.
        as_thousands: String,
    },
    /// NaN or infinity.
    #[error("expected a finite {what}, found {found}")]
    NotFinite {
        /// Which quantity.
        what: &'static str,
        /// The value as printed.
        found: String,
    },
}
