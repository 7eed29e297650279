//! What is put on paper about an end or a case, as JSON.

use crate::{CaseJson, EndJson, EndKeptJson, ItemAsked, PinPointJson, PositionJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The last fact of a log: beside a paper it shows later that nothing was
/// changed or cut off before it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LogHeadJson {
    /// Its number in this log, from 1.
    pub number: u64,
    /// Its hash in the chain, SHA-256 in hexadecimal.
    pub hash: String,
}

/// A gauging with its readings as they were read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DossierGaugingJson {
    /// What it says about the pin.
    pub point: PinPointJson,
    /// Who gauged.
    pub person: String,
    /// Label of the gauge master.
    pub master: Option<String>,
    /// The readings.
    pub readings: Vec<PositionJson>,
    /// The zero before.
    pub zero_before: Vec<PositionJson>,
    /// The zero after.
    pub zero_after: Vec<PositionJson>,
}

/// A result measured through an end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DossierResultJson {
    /// The fact that noted it.
    pub fact: String,
    /// Where the result is.
    pub uri: String,
    /// SHA-256 of its bytes, if known.
    pub sha256: Option<String>,
    /// Device it is about.
    pub device: Option<String>,
    /// When it was made.
    pub at: String,
    /// Who made it.
    pub person: String,
    /// Labels of the ends it went through, in order.
    pub chain: Vec<String>,
}

/// Everything about an end, for paper.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndDossierJson {
    /// The moment asked about.
    pub at: String,
    /// The last fact of the log when it was made; none in an empty log.
    pub log: Option<LogHeadJson>,
    /// The end with its standing, its reasons and every fact.
    pub end: EndJson,
    /// Its item as registered.
    pub item: ItemAsked,
    /// Its gaugings, oldest first.
    pub gaugings: Vec<DossierGaugingJson>,
    /// Its cases, sweeps and looks.
    pub kept: EndKeptJson,
    /// Results measured through it, latest first.
    pub results: Vec<DossierResultJson>,
    /// Revision of the data sheets it was judged by.
    pub sheets: String,
}

/// Everything about a case, for paper.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseDossierJson {
    /// The moment asked about.
    pub at: String,
    /// The last fact of the log when it was made; none in an empty log.
    pub log: Option<LogHeadJson>,
    /// The case with its work list, results, record and steps.
    pub case: CaseJson,
    /// Revision of the data sheets it was judged by.
    pub sheets: String,
}
