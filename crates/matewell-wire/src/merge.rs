//! Logs joined, as JSON.

use serde::{Deserialize, Serialize};

/// What one machine wrote that was not here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MergeMachineJson {
    /// Id of the machine.
    pub machine: String,
    /// How many facts.
    pub facts: u64,
    /// What is wrong with its clock, if anything shows.
    pub clock: Option<String>,
}

/// What a person must decide.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MergeQuestionJson {
    /// `label-given-twice` or `held-and-released`.
    pub what: String,
    /// The label.
    pub tag: String,
    /// In words.
    pub text: String,
}

/// What came of a merge.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MergeJson {
    /// Facts taken over.
    pub taken: u64,
    /// Facts that were here already.
    pub known: u64,
    /// By machine.
    pub machines: Vec<MergeMachineJson>,
    /// What is left to a person.
    pub questions: Vec<MergeQuestionJson>,
    /// In words.
    pub text: String,
}
