//! All message texts of this room.

/// Why a text or value is not what this room needs.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LabError {
    /// Not a UUID.
    #[error("expected an id of 32 hexadecimal digits, found \"{found}\"")]
    NotAnId {
        /// The text as given.
        found: String,
    },
    /// A word outside a closed list.
    #[error("expected {what}: one of {expected}, found \"{found}\"")]
    UnknownWord {
        /// What the word describes.
        what: &'static str,
        /// The words that are understood.
        expected: String,
        /// The word as given.
        found: String,
    },
    /// A pin position without the word that gives it meaning.
    #[error("expected a pin position of zero or more with the word recessed or protruding, found {found} µm")]
    SignedPinPosition {
        /// The number as given.
        found: String,
    },
}
