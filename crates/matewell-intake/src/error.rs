//! All message texts of this room.

use crate::place::Place;

/// Why a file cannot be read as tables, or a mapping as text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum IntakeError {
    /// More bytes than the limit.
    #[error("{file}: expected at most {limit} bytes, found {found}")]
    FileTooLarge {
        /// Name as given.
        file: String,
        /// The limit.
        limit: u64,
        /// The size.
        found: u64,
    },
    /// The packed parts of a workbook unpack to more than the limit.
    #[error("{file}: expected at most {limit} bytes after unpacking, found more in \"{part}\"")]
    UnpacksTooLarge {
        /// Name as given.
        file: String,
        /// The limit.
        limit: u64,
        /// The part at which the limit was passed.
        part: String,
    },
    /// Too many sheets, rows, columns or cells.
    #[error("{file}, sheet \"{sheet}\": expected at most {limit} {what}, found more")]
    TooMany {
        /// Name as given.
        file: String,
        /// The sheet.
        sheet: String,
        /// `rows`, `columns`, `cells`, `sheets`.
        what: &'static str,
        /// The limit.
        limit: u64,
    },
    /// The bytes are of a kind that this room does not read.
    #[error("{file}: expected text (CSV), an XLSX, XLSM or ODS workbook, found {found}")]
    UnknownFormat {
        /// Name as given.
        file: String,
        /// What the first bytes look like.
        found: String,
    },
    /// A workbook that cannot be opened or is cut short.
    #[error("{file}: expected a whole workbook, found: {found}")]
    BrokenWorkbook {
        /// Name as given.
        file: String,
        /// The reader's words.
        found: String,
    },
    /// A text that is not a saved mapping.
    #[error("expected a saved column mapping, found: {found}")]
    BrokenMapping {
        /// The reader's words.
        found: String,
    },
    /// An answer that its question does not take.
    #[error("expected {expected} as answer to {topic}, found \"{found}\"")]
    BadAnswer {
        /// The question.
        topic: &'static str,
        /// What would be an answer.
        expected: String,
        /// The answer.
        found: String,
    },
    /// A character without a value in a check character system.
    #[error("expected {expected} only, found \"{found}\" in \"{text}\"")]
    NoCheckValue {
        /// The characters that have a value.
        expected: &'static str,
        /// The first character without one.
        found: char,
        /// The whole text.
        text: String,
    },
    /// A text without any character that counts.
    #[error("expected at least one letter or digit, found \"{text}\"")]
    NothingToCheck {
        /// The whole text.
        text: String,
    },
}

/// Why a draft must not be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected a draft without errors and open questions, found {errors} errors and {questions} open questions{first}"
)]
pub struct NotReady {
    /// Number of blocking problems.
    pub errors: usize,
    /// Number of questions without an answer.
    pub questions: usize,
    /// The first of them in words, with its place; starts with `; first: `.
    pub first: String,
}

/// How much a problem weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Shown, but the row can be written.
    Warning,
    /// Nothing of the file is written while it stands.
    Error,
}

/// One thing that is wrong with one place of a table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: expected {expected}, found {found}")]
pub struct Problem {
    /// How much it weighs.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What would have been understood.
    pub expected: String,
    /// What stands there.
    pub found: String,
}
