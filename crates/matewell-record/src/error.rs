//! All message texts of this room.

use matewell_lab::LabError;
use matewell_quantity::QuantityError;

/// Why a fact cannot be written down or read back.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// The JSON is not what the kind of fact needs.
    #[error("expected the JSON of a fact of kind \"{kind}\": {source}")]
    Json {
        /// Kind of fact, or `fact` for a whole one.
        kind: String,
        /// What the reader found, with line and column.
        source: serde_json::Error,
    },
    /// A kind nobody knows.
    #[error("expected a kind of fact such as mated or gauged, found \"{found}\"")]
    UnknownKind {
        /// The word as given.
        found: String,
    },
    /// A written form of another version.
    #[error("expected the written form of version {expected}, found version {found}")]
    UnknownVersion {
        /// The version this program reads.
        expected: u32,
        /// The version given.
        found: u32,
    },
    /// NaN or infinity where a number is needed.
    #[error("expected a finite number in {field}, found {found}")]
    NotFinite {
        /// Name of the field.
        field: &'static str,
        /// The value as printed.
        found: String,
    },
    /// Not a point in time.
    #[error("expected a time such as 2026-03-01T09:30:00.000000Z, found \"{found}\": {because}")]
    NotAMoment {
        /// The text as given.
        found: String,
        /// What is wrong with it.
        because: &'static str,
    },
    /// A moment that four digits of a year cannot hold.
    #[error("expected a time in the years 0000 to 9999, found {microseconds} µs since 1970")]
    MomentOutOfRange {
        /// Microseconds since 1970 UTC.
        microseconds: i64,
    },
    /// Two ways of saying a length that disagree.
    #[error("expected um and metres to say the same length, found {um} µm and {metres} m")]
    LengthsDisagree {
        /// The number of micrometres.
        um: f64,
        /// The number of metres.
        metres: f64,
    },
    /// A subject that is neither an end nor an item, or both.
    #[error("expected exactly one of end and item, found {found}")]
    OneSubject {
        /// `both` or `neither`.
        found: &'static str,
    },
    /// Not a SHA-256.
    #[error("expected a SHA-256 of 64 hexadecimal digits in lower case, found \"{found}\"")]
    NotAHash {
        /// The text as given.
        found: String,
    },
    /// Corrections nested beyond any use.
    #[error("expected corrections nested at most {limit} deep")]
    NestedTooDeep {
        /// The limit.
        limit: usize,
    },
    /// A word or an id this lab does not know.
    #[error(transparent)]
    Lab(#[from] LabError),
    /// A number that is not a quantity.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}
