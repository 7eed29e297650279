//! Tools: checks, and what a tool that was off changes.

use crate::{EndNameJson, EventJson, PinJson, PositionAsked};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The check of a tool as typed: exactly one of zero, readings, certificate.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolCheckAsked {
    /// What a gauge showed on its master, compared with the master's value.
    #[serde(default)]
    pub zero: Option<PositionAsked>,
    /// Torque a wrench was set to, with its unit.
    #[serde(default)]
    pub set: Option<String>,
    /// What the reference said, with their units.
    #[serde(default)]
    pub reads: Vec<String>,
    /// Relative standard uncertainty of the reference, percent.
    #[serde(default)]
    pub device_percent: Option<f64>,
    /// Range of the means when the wrench was taken off and set on again, with its unit.
    #[serde(default)]
    pub reproducibility: Option<String>,
    /// Range of the means when the output drive was turned, with its unit.
    #[serde(default)]
    pub output_drive: Option<String>,
    /// Range of the means when the interface was turned, with its unit.
    #[serde(default)]
    pub interface: Option<String>,
    /// Range of the means when the loading point was moved, with its unit.
    #[serde(default)]
    pub loading_point: Option<String>,
    /// Number or name of a certificate.
    #[serde(default)]
    pub certificate: Option<String>,
    /// Until when it holds, RFC 3339.
    #[serde(default)]
    pub valid_until: Option<String>,
    /// With the certificate of a gauge master: where its pin stands.
    #[serde(default)]
    pub position: Option<PositionAsked>,
    /// Standard uncertainty of that position, with its unit.
    #[serde(default)]
    pub standard_uncertainty: Option<String>,
    /// Whether the lab takes the tool as in order.
    #[serde(default)]
    pub in_order: bool,
}

/// The last check of a tool.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LastCheckJson {
    /// The fact.
    pub fact: String,
    /// When, RFC 3339.
    pub at: String,
    /// What was found, as a sentence.
    pub text: String,
    /// Whether the tool was in order.
    pub in_order: bool,
}

/// The certificate of a tool in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CertificateInForceJson {
    /// The fact.
    pub fact: String,
    /// Number or name of the document.
    pub document: String,
    /// When it was issued, RFC 3339.
    pub at: String,
    /// Until when it holds, RFC 3339.
    pub valid_until: Option<String>,
    /// Of a gauge master: where its pin stands.
    pub position: Option<PositionAsked>,
    /// Standard uncertainty of that position.
    pub standard_uncertainty_um: Option<f64>,
}

/// A gauge, a master or a wrench with how it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolRowJson {
    /// Its id.
    pub id: String,
    /// Its label.
    pub tag: String,
    /// `gauge`, `gauge-master` or `torque-wrench`.
    pub kind: String,
    /// In the lab's words.
    pub description: String,
    /// Usual place.
    pub location: Option<String>,
    /// `in-date`, `due`, `unchecked`, `out-of-order` or `retired`.
    pub standing: String,
    /// Why, as a sentence.
    pub text: String,
    /// The last check.
    pub last_check: Option<LastCheckJson>,
    /// The certificate in force.
    pub certificate: Option<CertificateInForceJson>,
    /// Gaugings or tightenings since the last check.
    pub uses_since_check: u32,
    /// A gauge: the interface it gauges.
    pub interface: Option<String>,
    /// A gauge: how it meets the connector.
    pub method: Option<String>,
    /// A gauge: label of the master it is zeroed on.
    pub master: Option<String>,
    /// A gauge: registered standard uncertainty shared by its readings.
    pub standard_uncertainty_um: Option<f64>,
    /// A wrench: torque at which it breaks.
    pub set_point_n_m: Option<f64>,
    /// A wrench: permissible deviation, percent.
    pub permissible_percent: Option<f64>,
}

/// Gauges, masters and wrenches: what is not in order first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolListJson {
    /// The moment answered for.
    pub at: String,
    /// The tools.
    pub tools: Vec<ToolRowJson>,
}

/// One tool with its history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolJson {
    /// The moment answered for.
    pub at: String,
    /// The tool.
    pub tool: ToolRowJson,
    /// Label of the open case that is about it, if any.
    pub case: Option<String>,
    /// Its checks and certificates, latest first. What it was used on is a
    /// question of its own (`/api/v1/trace/tool`).
    pub history: Vec<EventJson>,
}

/// The arithmetic of a wrench check, percent of the mean reference torque.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueCheckJson {
    /// Set torque in newton metres.
    pub set_n_m: f64,
    /// Mean reference torque in newton metres.
    pub mean_reference_n_m: f64,
    /// Deviation of each reading: set less reference, over reference.
    pub deviations_percent: Vec<f64>,
    /// Largest of their magnitudes.
    pub largest_deviation_percent: f64,
    /// Deviation from the mean reference.
    pub mean_deviation_percent: f64,
    /// Permissible deviation of this wrench.
    pub permissible_percent: f64,
    /// Whether every single reading keeps it.
    pub conforms: bool,
    /// Relative expanded uncertainty `W`; null with fewer than two readings.
    pub expanded_percent: Option<f64>,
    /// Relative interval `W'`; its form is from memory.
    pub interval_percent: Option<f64>,
    /// Parts of the uncertainty that nobody measured and that count as zero.
    pub not_measured: Vec<String>,
}

/// A tool that was off, as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WasOffAsked {
    /// From when, RFC 3339.
    pub since: String,
    /// Until when, RFC 3339.
    pub until: String,
    /// A gauge: by how much, with its unit. A wrench: the torque it really
    /// applied. From the check on record when left out.
    #[serde(default)]
    pub by: Option<String>,
    /// A gauge read too far `recessed` or `protruding`; from the check on
    /// record when left out.
    #[serde(default)]
    pub too: Option<String>,
    /// Standard uncertainty of that number, with its unit.
    #[serde(default)]
    pub standard_uncertainty: Option<String>,
    /// It crept from zero at `since` to the whole at `until`; else a step at
    /// `since`.
    #[serde(default)]
    pub drift: bool,
    /// Also sessions that were zeroed on a gauge master on their own: the
    /// master or the contact face was off, not the zero.
    #[serde(default)]
    pub even_if_zeroed: bool,
    /// Write the corrections. Without it nothing is written.
    #[serde(default)]
    pub write: bool,
    /// Why, kept with each correction.
    #[serde(default)]
    pub because: Option<String>,
}

/// A mate of an end between a gauging and the one after it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MateMeanwhileJson {
    /// The other end.
    pub end: EndNameJson,
    /// When.
    pub at: String,
    /// Id of the fact.
    pub fact: String,
}

/// A gauging before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RecomputedJson {
    /// Id of the gauging.
    pub fact: String,
    /// The end.
    pub end: EndNameJson,
    /// When.
    pub at: String,
    /// What is taken out, micrometres.
    pub offset_um: f64,
    /// As it was decided.
    pub before: PinJson,
    /// As it is with the offset taken out.
    pub after: PinJson,
    /// As it would be had the gauge been off the other way of the two, step or
    /// drift.
    pub after_other_way: PinJson,
    /// Whether the decision is another one.
    pub flips: bool,
    /// When a flipped end was gauged again, if it was.
    pub gauged_again_at: Option<String>,
    /// What a flipped end was mated with until then.
    pub mated_meanwhile: Vec<MateMeanwhileJson>,
}

/// A gauging in the window that stays as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UntouchedJson {
    /// Id of the gauging.
    pub fact: String,
    /// The end.
    pub end: EndNameJson,
    /// When.
    pub at: String,
    /// Why.
    pub because: String,
}

/// A joint tightened with a wrench that was off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JointInDoubtJson {
    /// Place in the order of gauging again, from 1.
    pub rank: u32,
    /// Id of the mate.
    pub fact: String,
    /// When.
    pub at: String,
    /// One end.
    pub a: EndNameJson,
    /// The other end.
    pub b: EndNameJson,
    /// Body material of the end that limits the torque.
    pub body: String,
    /// Torque it was most likely tightened to, newton metres.
    pub applied_n_m: f64,
    /// The most it should have seen; null when no sheet says.
    pub limit_n_m: Option<f64>,
    /// Applied over the limit.
    pub over: Option<f64>,
    /// Ends of it that were gauged since.
    pub gauged_since: Vec<EndNameJson>,
    /// In words.
    pub text: String,
}

/// What a tool that was off changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WasOffJson {
    /// Tag of the tool.
    pub tool: String,
    /// `gauge` or `torque-wrench`.
    pub kind: String,
    /// From when.
    pub since: String,
    /// Until when.
    pub until: String,
    /// `step` or `drift`.
    pub way: String,
    /// A gauge: by how much, micrometres.
    pub by_um: Option<f64>,
    /// A gauge: it read too far `recessed` or `protruding`.
    pub too: Option<String>,
    /// A wrench: the torque it applied at `until`, newton metres.
    pub applied_n_m: Option<f64>,
    /// Id of the check that found it, if on record.
    pub found_by: Option<String>,
    /// Gaugings recomputed, flips first, then by time.
    pub gaugings: Vec<RecomputedJson>,
    /// How many of them flip.
    pub flips: u32,
    /// Gaugings in the window that stay as they are.
    pub untouched: Vec<UntouchedJson>,
    /// Joints in doubt, most pressing first.
    pub joints: Vec<JointInDoubtJson>,
    /// Whether the corrections were written.
    pub written: bool,
    /// Ids of the corrections written.
    pub facts: Vec<String>,
}
