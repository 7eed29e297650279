//! The lab's policy as JSON.

use matewell_lab::PolicyChange;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One value of the policy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PolicyRowJson {
    /// Its key in the lab's own file.
    pub key: String,
    /// The value in force.
    pub value: f64,
    /// Its unit in ASCII; `1` for a count or ratio, `flag` for 0 (no) or 1 (yes).
    pub unit: String,
    /// Whether it is the lab's own.
    pub own: bool,
    /// The value that comes with the program.
    pub default: f64,
    /// For the lab's own: why.
    pub because: Option<String>,
    /// Key of the work that the default is from.
    pub source: String,
    /// Its title.
    pub source_title: String,
    /// Clause, table, or why there is no source.
    pub locator: String,
    /// How far the default can be trusted.
    pub evidence: String,
    /// Counts changes of the default over revisions of the data.
    pub revision: u32,
    /// Anything else a reader should know.
    pub note: Option<String>,
}

/// A value of the lab's own file over an embedded one, of any sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OwnValueJson {
    /// The place, for example `policy.readings`.
    pub place: String,
    /// The lab's value with its unit.
    pub now: String,
    /// What it replaces.
    pub before: Vec<String>,
    /// Why.
    pub because: String,
}

/// The lab's policy with its sources.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PolicyJson {
    /// Names the data set in force.
    pub revision: String,
    /// Name of the lab's own file, and SHA-256 of its bytes, when there is one.
    pub own_file: Option<OwnFileJson>,
    /// Every value.
    pub rows: Vec<PolicyRowJson>,
    /// Every value of the lab's own file, of any sheet.
    pub own: Vec<OwnValueJson>,
    /// Which policies were taken up, newest first.
    pub history: Vec<PolicyTakenUpOnRecordJson>,
}

/// The lab's own file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OwnFileJson {
    /// Its name.
    pub name: String,
    /// SHA-256 of its bytes in hexadecimal, as it is now.
    pub sha256: String,
    /// Whether it is still what the program read when the lab was opened.
    pub in_force: bool,
}

/// A policy taken up: facts after it were judged by it when they were written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PolicyTakenUpOnRecordJson {
    /// The fact.
    pub fact: String,
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// Who started the program or wrote the first fact under it.
    pub person: String,
    /// Names the data, and the lab's own by the checksum of its text.
    pub revision: String,
    /// Whether the machine that writes here took it up, and not one whose
    /// facts were merged.
    pub on_this_machine: bool,
    /// Whether none before it is on record from the same machine.
    pub first: bool,
    /// What changed from the one before it.
    pub changes: Vec<PolicyChangeJson>,
}

/// One change of a policy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PolicyChangeJson {
    /// Key of the value, or its place in another sheet.
    pub place: String,
    /// What held before.
    pub before: Option<String>,
    /// What holds from then on.
    pub now: Option<String>,
    /// The lab's reason.
    pub because: Option<String>,
}

impl From<PolicyChange> for PolicyChangeJson {
    fn from(change: PolicyChange) -> Self {
        Self { place: change.place, before: change.before, now: change.now, because: change.because }
    }
}
