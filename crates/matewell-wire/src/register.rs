//! Items as they are entered and shown, and what is kept about an end.

use crate::{CertificateInForceJson, EndLookJson, EndNameJson, EndStandingJson, EventJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An end as a person writes it down.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(default)]
pub struct EndAsked {
    /// Id of the end that is changed; found by its label when left out.
    pub id: Option<String>,
    /// What its label says.
    pub tag: String,
    /// Name of the interface, for example `3.5mm`.
    pub interface: String,
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// `metrology`, `instrument`, `production`; unknown when left out.
    pub grade: Option<String>,
    /// `brass`, `stainless`, `beryllium-copper`, `circuit-board`; unknown when left out.
    pub body: Option<String>,
    /// `slotted`, `slotless`; unknown when left out.
    pub slots: Option<String>,
    /// The device behind it is destroyed by electrostatic discharge.
    pub static_sensitive: bool,
    /// It can carry radio-frequency power.
    pub rf_live: bool,
    /// It can carry a bias voltage.
    pub biased: bool,
}

/// An item as a person writes it down.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(default)]
pub struct ItemAsked {
    /// What people call it.
    pub tag: String,
    /// What it is, for example `cable`.
    pub kind: String,
    /// In the lab's words.
    pub description: Option<String>,
    /// Type designation.
    pub model: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Usual place.
    pub location: Option<String>,
    /// What a new one would cost, for example `240.00`.
    pub cost: Option<String>,
    /// Three letters of ISO 4217, with the cost.
    pub currency: Option<String>,
    /// Of a gauge: the interface it gauges.
    pub gauges: Option<String>,
    /// Of a gauge: how it meets the connector, for example `screw-on`.
    pub method: Option<String>,
    /// Of a gauge: standard uncertainty by its certificate, with unit.
    pub standard_uncertainty: Option<String>,
    /// Of a gauge: standard deviation of one re-seated reading, with unit.
    pub repeatability: Option<String>,
    /// Of a gauge: label of the master it is zeroed on.
    pub master: Option<String>,
    /// Of a wrench: torque at which it breaks, with unit.
    pub set_point: Option<String>,
    /// Of a wrench: permissible deviation in percent.
    pub permissible_percent: Option<String>,
    /// Its ends.
    pub ends: Vec<EndAsked>,
}

/// One end of an item, and how it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ItemEndJson {
    /// As registered.
    pub registered: EndAsked,
    /// How it stands.
    pub standing: EndStandingJson,
    /// Contacts since registration or replacement.
    pub contacts: u32,
    /// Contacts since the last gauging.
    pub contacts_since_gauging: u32,
    /// When it was gauged last.
    pub gauged_at: Option<String>,
    /// The partner it is mated with now.
    pub mated_with: Option<EndNameJson>,
}

/// Where an item was put away.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PutAwayJson {
    /// The fact.
    pub fact: String,
    /// Where.
    pub place: String,
    /// Whether clean caps were on, if somebody said.
    pub capped: Option<bool>,
    /// When.
    pub at: String,
    /// By whom.
    pub person: String,
    /// Whether an end of it was mated since.
    pub used_since: bool,
}

/// Everything about one item.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ItemPageJson {
    /// The moment asked about.
    pub at: String,
    /// Id of the item.
    pub id: String,
    /// As registered, as it stands after corrections.
    pub registered: ItemAsked,
    /// The fact that registered it.
    pub registered_by: String,
    /// Its ends.
    pub ends: Vec<ItemEndJson>,
    /// Where it was put away last.
    pub put_away: Option<PutAwayJson>,
    /// The document in force, if any.
    pub certificate: Option<CertificateInForceJson>,
    /// Retired, and why.
    pub retired_because: Option<String>,
    /// Columns of an import without a field here.
    pub extra: Vec<Vec<String>>,
    /// History of the item itself, newest first.
    pub history: Vec<EventJson>,
}

/// A case that an end belongs to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EndCaseJson {
    /// Id of the case.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Why it was opened.
    pub because: String,
    /// When it was opened.
    pub opened_at: String,
    /// When it was closed, if it was.
    pub closed_at: Option<String>,
    /// Whether the end was found bad, and not only reached.
    pub source: bool,
}

/// A sweep that went through an end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EndSweepJson {
    /// The fact.
    pub fact: String,
    /// When.
    pub at: String,
    /// Name of the file.
    pub file_name: String,
    /// Labels of the chain, from the port outward.
    pub chain: Vec<String>,
    /// Port of the file that looks into the chain.
    pub port: u32,
    /// Whether the lab took the chain as good.
    pub known_good: bool,
}

/// What else is kept about an end: cases and sweeps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndKeptJson {
    /// The end.
    pub end: EndNameJson,
    /// Cases it belongs to, open ones first.
    pub cases: Vec<EndCaseJson>,
    /// Sweeps through it, latest first.
    pub sweeps: Vec<EndSweepJson>,
    /// Looks with marks or a photo, latest first.
    pub looks: Vec<EndLookJson>,
}

/// A look at an end of an item.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ItemLookJson {
    /// The end.
    pub end: EndNameJson,
    /// The look.
    #[serde(flatten)]
    pub look: EndLookJson,
}

/// What else is kept about an item, over all its ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ItemKeptJson {
    /// Label of the item.
    pub item: String,
    /// Cases that an end of it belongs to, open ones first.
    pub cases: Vec<EndCaseJson>,
    /// Sweeps through an end of it, each once, latest first.
    pub sweeps: Vec<EndSweepJson>,
    /// Looks at an end of it with marks or a photo, latest first.
    pub looks: Vec<ItemLookJson>,
}
