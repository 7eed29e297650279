//! The log of one lab as another takes it over: one JSON document a line.
//!
//! First [`SentHeadJson`], then a [`SentFactJson`] for each fact, at the end
//! [`SentLastJson`]. An answer without its last line did not arrive whole.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The name of the format.
pub const SENT_FORMAT: &str = "matewell-facts-1";

/// Where the chain of a machine ends.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ChainEndJson {
    /// Id of the machine.
    pub machine: String,
    /// Place of its last fact, from 1.
    pub place: u64,
    /// The hash up to and including it.
    pub sha256: String,
}

/// What a lab has already, and how far it has read.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FactsAsked {
    /// Where the chains end at the lab that asks.
    #[serde(default)]
    pub known: Vec<ChainEndJson>,
    /// Number that the last answer ended with; 0 for the first.
    #[serde(default)]
    pub after: u64,
    /// Number that the first answer named; nothing in the first question.
    #[serde(default)]
    pub up_to: Option<u64>,
}

/// The first line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SentHeadJson {
    /// `matewell-facts-1`.
    pub format: String,
    /// Number of the last fact that is sent: what comes in meanwhile is not.
    pub up_to: u64,
    /// Where the chains end at that number.
    pub chains: Vec<ChainEndJson>,
}

/// A fact in the bytes that its hash covers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SentFactJson {
    /// Its id.
    pub id: String,
    /// Id of the machine that wrote it down.
    pub machine: String,
    /// Its place in the chain of that machine, from 1.
    pub place: u64,
    /// What kind of fact.
    pub kind: String,
    /// When it happened, in microseconds since 1970.
    pub happened_at_us: i64,
    /// `instant` or `day`.
    pub resolution: String,
    /// Order among facts of the same moment.
    pub sequence: u32,
    /// When it was entered, in microseconds since 1970.
    pub recorded_at_us: i64,
    /// Who did it.
    pub person: String,
    /// `bench`, `import` or `program`.
    pub source: String,
    /// Free text.
    pub note: Option<String>,
    /// JSON of what happened, as text: the hash covers these bytes.
    pub payload: String,
    /// The hash up to and including it.
    pub sha256: String,
}

/// The last line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SentLastJson {
    /// Facts in this answer.
    pub facts: u64,
    /// Number to ask on from.
    pub after: u64,
    /// Whether there may be more.
    pub more: bool,
}
