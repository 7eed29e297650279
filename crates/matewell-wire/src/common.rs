//! Shapes that several answers share.

use matewell_lab::{EndId, ItemId};
use matewell_verdict::{Finding, Number, Origin, PinKnowledge};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Looks up what people call things.
pub trait Names {
    /// Tag of an end; its id when unknown.
    fn end_tag(&self, end: EndId) -> String;
    /// Tag of an item; its id when unknown.
    fn item_tag(&self, item: ItemId) -> String;
}

/// An end by id and label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EndNameJson {
    /// Id of the end.
    pub id: String,
    /// What its label says.
    pub tag: String,
}

impl EndNameJson {
    /// Looks the tag up.
    pub fn new(end: EndId, names: &dyn Names) -> Self {
        Self { id: end.to_string(), tag: names.end_tag(end) }
    }
}

/// Where a number or rule is from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OriginJson {
    /// Key of the work, `lab`, or `fact`.
    pub source: String,
    /// Clause, table, row; or the fact's id.
    pub locator: String,
    /// Evidence grade in words.
    pub evidence: String,
}

impl From<&Origin> for OriginJson {
    fn from(origin: &Origin) -> Self {
        Self {
            source: origin.source.clone(),
            locator: origin.locator.clone(),
            evidence: origin.evidence.clone(),
        }
    }
}

/// A number that decided something.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NumberJson {
    /// What it is.
    pub name: String,
    /// Value in `unit`.
    pub value: f64,
    /// Unit in ASCII; `1` for a ratio or probability.
    pub unit: String,
    /// Standard uncertainty in `unit`, or null with a reason.
    pub standard_uncertainty: Option<f64>,
    /// Why there is no uncertainty.
    pub no_uncertainty_because: Option<String>,
    /// Where it is from.
    pub origin: OriginJson,
}

impl From<&Number> for NumberJson {
    fn from(number: &Number) -> Self {
        Self {
            name: number.name.to_owned(),
            value: number.value,
            unit: number.unit.to_owned(),
            standard_uncertainty: number.standard_uncertainty,
            no_uncertainty_because: number.no_uncertainty_because.map(str::to_owned),
            origin: (&number.origin).into(),
        }
    }
}

/// One thing the judgement found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FindingJson {
    /// Stable code.
    pub code: String,
    /// `note`, `care`, `open` or `forbids`.
    pub weight: String,
    /// A sentence a person can act on.
    pub text: String,
    /// What would change it.
    pub remedy: Option<String>,
    /// The end it is about; null when it is about the pair.
    pub end: Option<EndNameJson>,
    /// Numbers that decided it.
    pub numbers: Vec<NumberJson>,
    /// Ids of the facts it rests on.
    pub facts: Vec<String>,
    /// Rules it rests on.
    pub origins: Vec<OriginJson>,
}

impl FindingJson {
    /// From the core's finding.
    pub fn new(finding: &Finding, names: &dyn Names) -> Self {
        Self {
            code: finding.code.to_owned(),
            weight: finding.weight.word().to_owned(),
            text: finding.text.clone(),
            remedy: finding.remedy.clone(),
            end: finding.end.map(|end| EndNameJson::new(end, names)),
            numbers: finding.numbers.iter().map(Into::into).collect(),
            facts: finding.facts.iter().map(ToString::to_string).collect(),
            origins: finding.origins.iter().map(Into::into).collect(),
        }
    }
}

/// What is known of a pin. The position is a magnitude with a word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PinJson {
    /// `out`, `shown-safe`, `not-shown-safe`, `gauge-cannot-decide`, `unknown`.
    pub decision: String,
    /// `recessed` or `protruding`; null when unknown.
    pub word: Option<String>,
    /// Distance from the plane in micrometres, zero or more.
    pub distance_um: Option<f64>,
    /// Standard uncertainty of the position in micrometres.
    pub u_distance_um: Option<f64>,
    /// Probability that the pin protrudes.
    pub protrusion_probability: Option<f64>,
    /// When gauged.
    pub gauged_at: Option<String>,
    /// Tag of the gauge.
    pub gauge: Option<String>,
    /// Readings needed in all to decide with this gauge.
    pub readings_needed: Option<u32>,
}

impl PinJson {
    /// From the core's knowledge.
    pub fn new(pin: &PinKnowledge, names: &dyn Names) -> Self {
        let recession = pin.recession_um.as_ref().map(matewell_uncertainty::Estimate::value);
        Self {
            decision: pin.decision.word().to_owned(),
            word: recession.map(|r| if r < 0.0 { "protruding" } else { "recessed" }.to_owned()),
            distance_um: recession.map(f64::abs),
            u_distance_um: pin
                .recession_um
                .as_ref()
                .map(matewell_uncertainty::Estimate::standard_uncertainty),
            protrusion_probability: pin.protrusion_probability,
            gauged_at: pin.gauged_at.map(crate::moment_text),
            gauge: pin.gauge.map(|g| names.item_tag(g)),
            readings_needed: pin.readings_needed,
        }
    }
}
