//! Traces as JSON: what an end touched, what could have made it bad.

use crate::{EndNameJson, OriginJson, WaitJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An end or a gauge: gaugings touch too.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CarrierJson {
    /// Id of the end, or of the gauge.
    pub id: String,
    /// What its label says.
    pub tag: String,
    /// `end` or `gauge`.
    pub what: String,
}

/// A moment with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KnownMomentJson {
    /// When.
    pub at: String,
    /// Why, as a word: `registered`, `contact-made-anew`, `looked-good`,
    /// `gauged-safe`, `cleaned`, `released`, `pin-protrudes`, `damaged`,
    /// `dirty`, `held`, `nothing-found`, `as-asked`.
    pub because: String,
    /// The fact, if it is one.
    pub fact: Option<String>,
}

/// An end the trace starts from: it went bad somewhere after the one moment
/// and not after the other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TraceSourceJson {
    /// The end.
    pub end: CarrierJson,
    /// Last known good, or where its history begins.
    pub last_known_good: KnownMomentJson,
    /// First evidence that it is bad; `nothing-found`: the moment asked about.
    pub first_evidence: KnownMomentJson,
}

/// One step of a witness path.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TraceStepJson {
    /// When the touch was logged.
    pub at: String,
    /// Exposed already.
    pub from: CarrierJson,
    /// What it touched.
    pub to: CarrierJson,
    /// The mate or gauging.
    pub fact: Option<String>,
}

/// A stretch of time, `since` included, `until` not.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StretchJson {
    /// First moment.
    pub since: String,
    /// The clearing moment; null while it lasts.
    pub until: Option<String>,
}

/// The probability that an end was exposed under the stated model. A model,
/// not a finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ProbabilityJson {
    /// That it was exposed at any time: at least.
    pub ever_lower: f64,
    /// That it was exposed at any time: at most.
    pub ever_upper: f64,
    /// That it is exposed at the moment asked: at least.
    pub now_lower: f64,
    /// That it is exposed at the moment asked: at most.
    pub now_upper: f64,
}

/// How the probabilities were found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TraceModelJson {
    /// Probability that one touch passes it on.
    pub contact_passes: f64,
    /// Where that number is from.
    pub contact_passes_origin: OriginJson,
    /// `exact`: every outcome listed; `monte-carlo`: random outcomes of a
    /// fixed seed, two standard errors each way; `bounds`: the witness path
    /// from below, ends taken as independent from above.
    pub method: String,
    /// Histories played, for `monte-carlo`.
    pub trials: Option<u32>,
    /// The model in words.
    pub text: String,
}

/// What an item would cost anew, as the lab entered it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CostOfItemJson {
    /// Amount in hundredths of the currency.
    pub hundredths: i64,
    /// ISO 4217 code.
    pub currency: String,
}

/// One exposed end or gauge. Exposed is not damaged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ExposedJson {
    /// The end or gauge.
    pub end: CarrierJson,
    /// Earliest arrival, counted from last known good.
    pub arrived_at: String,
    /// Earliest arrival counted from first evidence; null: only possible.
    pub definite_at: Option<String>,
    /// `definite` or `possible`.
    pub certainty: String,
    /// Fewest touches from the source among the paths in time order.
    pub hops: u32,
    /// One path that arrives at `arrived_at`, source first.
    pub via: Vec<TraceStepJson>,
    /// When it was exposed, in time order.
    pub intervals: Vec<StretchJson>,
    /// Whether it is exposed at the moment asked, that is, not cleared since.
    pub exposed_now: bool,
    /// A day known only as a day had a part in this.
    pub order_unknown: bool,
    /// Probability under the model.
    pub probability: ProbabilityJson,
    /// Standing at the moment asked; null for gauges.
    pub standing: Option<String>,
    /// Tag of its item.
    pub item_tag: String,
    /// What its item is.
    pub item_kind: String,
    /// Usual place of its item.
    pub location: Option<String>,
    /// What its item would cost anew; null: not on record.
    pub cost: Option<CostOfItemJson>,
    /// What it is mated with now, and therefore holds up.
    pub mated_with: Option<EndNameJson>,
    /// What waits for it: the end it is mated with, planned work, a kit.
    pub waiting: Vec<WaitJson>,
}

/// An end a result went through while it was exposed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ThroughJson {
    /// The end.
    pub end: CarrierJson,
    /// Exposed since.
    pub since: String,
    /// `definite` or `possible`.
    pub certainty: String,
}

/// A result that is in doubt. Nothing says that it is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ResultInDoubtJson {
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
    /// The ends it went through, in order.
    pub chain: Vec<EndNameJson>,
    /// Those of them that were exposed then.
    pub through: Vec<ThroughJson>,
}

/// What a change of the past would have changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhatIfJson {
    /// The changes asked about, in words.
    pub changes: Vec<String>,
    /// How many would be exposed.
    pub exposed: usize,
    /// How many would be exposed at the moment asked.
    pub exposed_now: usize,
    /// Would not have been exposed.
    pub spared: Vec<CarrierJson>,
    /// Would have been exposed later or shorter: with the time it would have been.
    pub changed: Vec<WhatIfChangedJson>,
}

/// An end whose exposure would have been another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhatIfChangedJson {
    /// The end or gauge.
    pub end: CarrierJson,
    /// Earliest arrival as it is.
    pub arrived_at: String,
    /// Earliest arrival as it would have been.
    pub would_arrive_at: String,
    /// Whether it would be exposed at the moment asked.
    pub would_be_exposed_now: bool,
}

/// What bad ends touched, in time order, and what those touched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TraceJson {
    /// The moment asked about.
    pub at: String,
    /// `deformation`, `particles`, `residue` or `unknown`.
    pub kind: String,
    /// The ends the trace starts from.
    pub sources: Vec<TraceSourceJson>,
    /// Everything exposed, sources included (with no hops), by arrival, then
    /// hops, then tag.
    pub exposed: Vec<ExposedJson>,
    /// How many of them are exposed at the moment asked.
    pub exposed_now: usize,
    /// Results made through an end while it was exposed, oldest first.
    pub results: Vec<ResultInDoubtJson>,
    /// Days without order that lie within the trace.
    pub unordered_days: Vec<String>,
    /// How probabilities were found.
    pub model: TraceModelJson,
    /// What other facts would have changed, where asked.
    pub what_if: Option<WhatIfJson>,
    /// In one sentence.
    pub text: String,
}

/// A stretch in which being bad could have led on: after `after`, up to and
/// with `until`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BackStretchJson {
    /// It was cleared here; null: not since the beginning.
    pub after: Option<String>,
    /// The touch that leads on.
    pub until: String,
}

/// An end that could have made another bad. Nothing says that it did.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CandidateJson {
    /// The end or gauge.
    pub end: CarrierJson,
    /// Latest touch that leads to the bad end.
    pub latest_departure: String,
    /// Fewest touches from it to the bad end.
    pub hops: u32,
    /// One path that leaves at `latest_departure`, the candidate first.
    pub via: Vec<TraceStepJson>,
    /// When it must have been bad, latest first.
    pub stretches: Vec<BackStretchJson>,
    /// A day known only as a day had a part in this.
    pub order_unknown: bool,
    /// Evidence that it was bad itself, if there is any.
    pub evidence: Option<KnownMomentJson>,
}

/// What could have made an end bad.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BackTraceJson {
    /// The moment asked about.
    pub at: String,
    /// Kind of taint.
    pub kind: String,
    /// The bad end and its window.
    pub bad: TraceSourceJson,
    /// Nothing before this moment was looked at.
    pub not_before: String,
    /// Ends with evidence of their own first, then the latest departure, then
    /// fewest touches.
    pub candidates: Vec<CandidateJson>,
    /// In one sentence.
    pub text: String,
}

/// An end that several bad ends lead back to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CommonJson {
    /// The end or gauge; it may be one of the bad ends itself.
    pub end: CarrierJson,
    /// The bad ends it could explain.
    pub explains: Vec<CarrierJson>,
    /// Latest moment at which being bad explains all of them at once; null:
    /// it would have had to go bad more than once.
    pub together_until: Option<String>,
    /// Fewest touches to each, summed.
    pub hops: u32,
    /// A day known only as a day had a part in this.
    pub order_unknown: bool,
    /// Evidence that it was bad itself, if there is any.
    pub evidence: Option<KnownMomentJson>,
}

/// What several bad ends have in common.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CommonTraceJson {
    /// The moment asked about.
    pub at: String,
    /// Kind of taint.
    pub kind: String,
    /// The bad ends and their windows.
    pub bad: Vec<TraceSourceJson>,
    /// Nothing before this moment was looked at.
    pub not_before: String,
    /// Most explained first, then by one onset, then the latest such moment,
    /// then fewest touches.
    pub common: Vec<CommonJson>,
    /// In one sentence.
    pub text: String,
}

/// A use of a tool within the time in which it may have been off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolUseJson {
    /// The gauging or mate.
    pub fact: String,
    /// When.
    pub at: String,
    /// Who.
    pub person: String,
    /// The end gauged, or the two ends tightened.
    pub ends: Vec<EndNameJson>,
    /// Probability that the tool was off by then, if it went off at a moment
    /// uniform in the window. A model, not a finding.
    pub off_by_then: f64,
    /// The same as a sentence.
    pub text: String,
    /// Results made through the joint while it was together, for a wrench.
    pub results: Vec<String>,
}

/// What was gauged or tightened while a tool may have been off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolTraceJson {
    /// The moment asked about.
    pub at: String,
    /// Id of the tool.
    pub id: String,
    /// Its tag.
    pub tag: String,
    /// `gauge`, `gauge-master` or `torque-wrench`.
    pub tool_kind: String,
    /// Its last check in order before it was found off.
    pub last_known_good: KnownMomentJson,
    /// The check that found it off; `nothing-found`: the moment asked about.
    pub first_evidence: KnownMomentJson,
    /// Its uses in between, in time order.
    pub uses: Vec<ToolUseJson>,
    /// Results made through joints it tightened, oldest first.
    pub results: Vec<ResultInDoubtJson>,
    /// In one sentence.
    pub text: String,
}
