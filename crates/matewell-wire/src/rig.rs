//! Mates that a program reports, checked before they are posted.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One reason, for a program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RigReasonJson {
    /// Stable code: of a finding of the mate check, or of a problem that keeps
    /// the mate from being written.
    pub code: String,
    /// `note`, `care`, `open` or `forbids`; `problem` when it cannot be written.
    pub weight: String,
    /// In words.
    pub text: String,
    /// Label of the end it is about; nothing when it is about the pair.
    pub end: Option<String>,
}

/// One mate of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RigMateJson {
    /// Its place in the list, from 1.
    pub number: u32,
    /// Label of one end.
    pub a: String,
    /// Label of the other end.
    pub b: String,
    /// Whether it would be written.
    pub ready: bool,
    /// What a mate check says at its time: `go`, `go-with-care`, `undecided`, `stop`; nothing with a problem.
    pub answer: Option<String>,
    /// Why, worst first.
    pub reasons: Vec<RigReasonJson>,
}

/// What posting the list would do. Nothing was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RigCheckJson {
    /// Whether all would be written: the list is taken whole or not at all.
    pub ready: bool,
    /// Each mate, in the order of the list.
    pub mates: Vec<RigMateJson>,
}
