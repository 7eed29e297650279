//! All message texts of this room, and what each means at the doors.

use matewell_quantity::Length;
use matewell_wire::{CaseMissingJson, EntryQuestionJson, MateCheckJson};

/// Why a use case gave no answer.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AppError {
    /// Nothing carries this tag.
    #[error("expected the tag of {what}, found \"{found}\", which is not on record")]
    UnknownTag {
        /// What was looked for.
        what: &'static str,
        /// The text as typed.
        found: String,
    },
    /// A tag that fits several ends.
    #[error("\"{found}\" fits {}: which one?", candidates.join(", "))]
    WhichEnd {
        /// The text as typed.
        found: String,
        /// Tags of the ends it fits.
        candidates: Vec<String>,
    },
    /// A field that cannot be understood.
    #[error("{field}: {message}")]
    Field {
        /// Name of the field or option.
        field: &'static str,
        /// What was expected and found.
        message: String,
    },
    /// The mate check refuses; the refusal is on record.
    #[error("the mate check says {}: {}", check.answer, why(check))]
    Refused {
        /// The answer with all its reasons.
        check: Box<MateCheckJson>,
        /// Id of the fact that records the refusal.
        fact: String,
    },
    /// An entry that looks like a slip. Nothing was written; the entry can be
    /// mended, or sent again with the codes of the questions as answers.
    #[error("{}", asked(.0))]
    Questions(Vec<EntryQuestionJson>),
    /// The facts changed in a way that does not allow this.
    #[error("{0}")]
    Conflict(String),
    /// A case that still waits for decisions.
    #[error("the case {name} cannot be closed yet: {}", listed(missing))]
    NotYetClosed {
        /// What people call it.
        name: String,
        /// Everything that is missing.
        missing: Vec<CaseMissingJson>,
    },
    /// A file of the lab that cannot be imported as it is.
    #[error("{0}")]
    NotReady(String),
    /// A file that is no Touchstone text, with the place.
    #[error("{name}: {error}")]
    Touchstone {
        /// What the file is called.
        name: String,
        /// What was expected and found, with line and column.
        error: Box<matewell_network::error::ReadError>,
    },
    /// More bytes than are taken.
    #[error("expected at most {most} bytes, found {found}")]
    TooLarge {
        /// The most.
        most: u64,
        /// As given.
        found: u64,
    },
    /// Somebody who has not the right.
    #[error("{person} may not do this: it needs {needs}")]
    NoRight {
        /// Who asked.
        person: String,
        /// What it needs.
        needs: String,
    },
    /// A name and password, or a secret, that lets nobody in.
    #[error("{0}")]
    SignIn(&'static str),
    /// Too many tries.
    #[error("too many tries: the next is taken in {seconds} s")]
    TooMany {
        /// How long to wait.
        seconds: u64,
    },
    /// The store failed.
    #[error("the store: {0}")]
    Store(#[from] matewell_store::StoreError),
    /// The data sheets cannot be read.
    #[error("the data sheets: {0}")]
    Sheets(#[from] matewell_sheets::SheetError),
    /// A number that should have been refused earlier.
    #[error("a number is out of range: {0}")]
    Number(#[from] matewell_uncertainty::UncertaintyError),
    /// A file could not be read or written.
    #[error("{path}: {message}")]
    File {
        /// The file.
        path: String,
        /// What the system said.
        message: String,
    },
}

fn listed(missing: &[CaseMissingJson]) -> String {
    missing.iter().map(|m| m.text.as_str()).collect::<Vec<_>>().join(" ")
}

fn why(check: &MateCheckJson) -> String {
    check.findings.first().map_or_else(String::new, |f| f.text.clone())
}

fn asked(questions: &[EntryQuestionJson]) -> String {
    let each: Vec<String> =
        questions.iter().map(|q| format!("{}: {} (if so: sure {})", q.field, q.text, q.code)).collect();
    each.join("\n")
}

impl AppError {
    /// Stable code of the kind of error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::UnknownTag { .. } => "unknown-tag",
            Self::WhichEnd { .. } => "which-end",
            Self::Field { .. } => "bad-field",
            // What was asked cannot be written in any log.
            Self::Store(error) if no_log_can_hold(error) => "bad-field",
            Self::Refused { .. } => "mate-refused",
            Self::Questions(_) => "question",
            Self::Conflict(_) => "conflict",
            Self::NotYetClosed { .. } => "case-not-ready",
            Self::NotReady(_) => "not-ready",
            Self::Touchstone { .. } => "unreadable-file",
            Self::TooLarge { .. } => "too-large",
            Self::NoRight { .. } => "no-right",
            Self::SignIn(_) => "sign-in",
            Self::TooMany { .. } => "too-many-tries",
            Self::Store(_) => "store",
            Self::Sheets(_) => "sheets",
            Self::Number(_) => "number",
            Self::File { .. } => "file",
        }
    }

    /// The HTTP status it is answered with.
    pub fn status(&self) -> u16 {
        match self {
            Self::Store(error) if no_log_can_hold(error) => 422,
            Self::UnknownTag { .. } => 404,
            Self::WhichEnd { .. }
            | Self::Refused { .. }
            | Self::Conflict(_)
            | Self::NotYetClosed { .. }
            | Self::Store(matewell_store::StoreError::KeyTaken { .. }) => 409,
            Self::SignIn(_) => 401,
            Self::NoRight { .. } => 403,
            Self::TooMany { .. } => 429,
            Self::TooLarge { .. } => 413,
            Self::Field { .. }
            | Self::Questions(_)
            | Self::NotReady(_)
            | Self::Number(_)
            | Self::Touchstone { .. } => 422,
            Self::Store(_) | Self::Sheets(_) | Self::File { .. } => 500,
        }
    }
}

fn no_log_can_hold(error: &matewell_store::StoreError) -> bool {
    use matewell_store::StoreError::{NulCharacter, Unwritable};
    matches!(error, NulCharacter { .. } | Unwritable { .. })
}

/// Names the field of an error.
pub(crate) fn field<E: std::fmt::Display>(field: &'static str) -> impl Fn(E) -> AppError {
    move |error| AppError::Field { field, message: error.to_string() }
}

/// A field with what was expected and found.
#[expect(clippy::needless_pass_by_value, reason = "errors come by value out of map_err")]
pub(crate) fn bad(field: &'static str, message: impl ToString) -> AppError {
    AppError::Field { field, message: message.to_string() }
}

/// A length above zero with its unit; nothing when nothing was typed.
pub(crate) fn length_above_zero(name: &'static str, text: Option<&str>) -> Result<Option<Length>, AppError> {
    let Some(text) = text.map(str::trim).filter(|t| !t.is_empty()) else { return Ok(None) };
    let read: Length = text.parse().map_err(field(name))?;
    if read.metres() > 0.0 {
        Ok(Some(read))
    } else {
        Err(bad(name, format!("expected a length above zero, found {text}")))
    }
}
