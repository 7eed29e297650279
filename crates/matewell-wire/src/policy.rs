//! The lab's policy as JSON.

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
