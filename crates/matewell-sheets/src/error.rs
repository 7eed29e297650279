//! All message texts of this room.

/// Why sheets cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SheetError {
    /// The text is not what the sheet form says.
    #[error("{file}: {message}")]
    Form {
        /// The file.
        file: String,
        /// What was expected and found, with line and column.
        message: String,
    },
    /// A value that breaks a rule.
    #[error("{file}, {place}: expected {expected}, found {found}")]
    Rule {
        /// The file.
        file: String,
        /// The key inside it.
        place: String,
        /// What was expected.
        expected: String,
        /// What was found.
        found: String,
    },
}
