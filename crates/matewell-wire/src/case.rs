//! Cases as JSON: what follows when an end was found bad.

use crate::{EndNameJson, EndStandingJson, EventJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A case in a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseRowJson {
    /// Id of the fact that opened it; names it for ever.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// `open`, `ready-to-close` or `closed`.
    pub state: String,
    /// When it was opened.
    pub opened_at: String,
    /// Who opened it.
    pub opened_by: String,
    /// Why.
    pub because: String,
    /// `deformation`, `particles`, `residue` or `unknown`.
    pub taint: String,
    /// The ends found bad.
    pub sources: Vec<EndNameJson>,
    /// Labels of the tools that were off.
    pub tools: Vec<String>,
    /// Ends and gauges it has taken in.
    pub ends: usize,
    /// Those of them without a decision that counts.
    pub ends_open: usize,
    /// Results it has taken in.
    pub results: usize,
    /// Those of them without a decision.
    pub results_open: usize,
    /// Ends that were mated while held and not decided about since.
    pub alarms: usize,
    /// Waivers that ran out.
    pub waivers_ran_out: usize,
    /// Ends, gauges and results that the trace reaches now and the case has not taken in.
    pub also_reached: usize,
    /// How it stands, in one sentence.
    pub text: String,
}

/// Cases, open ones first, then the latest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseListJson {
    /// The moment asked about.
    pub at: String,
    /// The cases.
    pub cases: Vec<CaseRowJson>,
}

/// An end found bad, and since when it may have been.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseStartJson {
    /// The end.
    pub end: EndNameJson,
    /// Last known good.
    pub last_known_good: String,
    /// First evidence that it is bad.
    pub first_evidence: String,
}

/// A tool that was off, and since when it may have been.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseToolStartJson {
    /// Its id.
    pub id: String,
    /// Its label.
    pub tag: String,
    /// `gauge` or `torque-wrench`.
    pub kind: String,
    /// Last known good.
    pub last_known_good: String,
    /// First evidence that it is off.
    pub first_evidence: String,
}

/// A decision with its author.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseDecisionJson {
    /// The fact.
    pub fact: String,
    /// For an end `cleared`, `damaged` or `waived`; for a result `no-effect`,
    /// `re-measure` or `notify`; for a case `closed`.
    pub disposition: String,
    /// When.
    pub at: String,
    /// Who: a name or a pseudonym.
    pub person: String,
    /// Why.
    pub because: String,
    /// The verification, for `cleared`.
    pub evidence: Option<String>,
    /// Until when, for `waived`.
    pub until: Option<String>,
}

/// A mate of an end while the case held it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseAlarmJson {
    /// The mate.
    pub fact: String,
    /// When.
    pub at: String,
    /// With whom.
    pub partner: EndNameJson,
}

/// A look, gauging or zero check that would clear it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseEvidenceJson {
    /// The fact.
    pub fact: String,
    /// When.
    pub at: String,
    /// What it was, as a sentence.
    pub text: String,
}

/// One line of the work list. Exposed is not damaged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseEndJson {
    /// 1 is first; what is decided comes last.
    pub rank: usize,
    /// Id of the end, or of the gauge.
    pub id: String,
    /// What its label says.
    pub tag: String,
    /// `end` or `gauge`.
    pub what: String,
    /// Tag of its item.
    pub item_tag: String,
    /// What its item is.
    pub item_kind: String,
    /// Usual place of its item.
    pub location: Option<String>,
    /// Whether it is one of the ends found bad; else it is exposed.
    pub found_bad: bool,
    /// `open`, `cleared`, `damaged`, `waived`, `waiver-ran-out` or `set-aside`.
    pub state: String,
    /// `definite` or `possible`; null for one found bad.
    pub certainty: Option<String>,
    /// Earliest arrival; null for one found bad.
    pub arrived_at: Option<String>,
    /// Fewest contacts from an end found bad; 0 for one of those.
    pub hops: u32,
    /// One way it came, labels in order; null when the trace no longer shows one.
    pub way: Option<String>,
    /// Whether the case holds it now.
    pub held: bool,
    /// Standing now; null for a gauge.
    pub standing: Option<String>,
    /// What it costs anew, in hundredths; null: nobody entered it.
    pub cost_hundredths: Option<i64>,
    /// ISO 4217 code of the cost.
    pub currency: Option<String>,
    /// Cost at risk times urgency: ranks, and says nothing else.
    pub pressure: f64,
    /// What makes it urgent, in words.
    pub urgent_because: Vec<String>,
    /// What to do next, in a sentence.
    pub to_do: String,
    /// What would clear it and is on record already.
    pub evidence: Vec<CaseEvidenceJson>,
    /// Mates while held by this case.
    pub alarms: Vec<CaseAlarmJson>,
    /// The decision that counts, if one does.
    pub decision: Option<CaseDecisionJson>,
}

/// A result in doubt. Nothing says that it is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseResultJson {
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
    /// Free text kept with it.
    pub note: Option<String>,
    /// Labels of the ends it went through that belong to the case.
    pub through: Vec<String>,
    /// Whether the case has taken it in; else it is only offered.
    pub taken_in: bool,
    /// The decision, if any.
    pub decision: Option<CaseDecisionJson>,
}

/// An end or gauge whose exposure is another now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseReachedJson {
    /// Id of the end, or of the gauge.
    pub id: String,
    /// What its label says.
    pub tag: String,
    /// `end` or `gauge`.
    pub what: String,
    /// Earliest arrival now; null: not reached any more.
    pub arrived_at: Option<String>,
    /// Earliest arrival as the case took it in; null: not taken in.
    pub was: Option<String>,
    /// Fewest contacts from an end found bad, now.
    pub hops: Option<u32>,
    /// One way it came, labels in order.
    pub way: Option<String>,
    /// In words.
    pub text: String,
}

/// What the facts say now that the case does not know. Nothing changes until
/// somebody takes it in.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseChangesJson {
    /// Now also reached.
    pub also_reached: Vec<CaseReachedJson>,
    /// Not reached any more.
    pub no_longer_reached: Vec<CaseReachedJson>,
    /// Reached at another time than the case knows.
    pub reached_otherwise: Vec<CaseReachedJson>,
    /// Results now in doubt as well.
    pub also_in_doubt: Vec<CaseResultJson>,
}

/// One thing that keeps a case from being closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseMissingJson {
    /// `end`, `mated-while-held`, `waiver-ran-out`, `result`, `also-reached`
    /// or `also-in-doubt`.
    pub what: String,
    /// Label of the end or gauge, or URI of the result.
    pub about: String,
    /// What is missing, in a sentence.
    pub text: String,
}

/// One line of the record that an audit of nonconforming work asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseRecordLineJson {
    /// Clause of ISO/IEC 17025:2017 whose question it answers.
    pub clause: String,
    /// What is recorded, in our words.
    pub heading: String,
    /// The record, one sentence a line.
    pub lines: Vec<String>,
    /// Whether something is on record.
    pub complete: bool,
}

/// A case with its work list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseJson {
    /// The moment asked about.
    pub at: String,
    /// How it stands.
    pub case: CaseRowJson,
    /// The ends found bad, with their windows.
    pub starts: Vec<CaseStartJson>,
    /// The tools that were off.
    pub tools: Vec<CaseToolStartJson>,
    /// The work list: what is open first, by cost at risk and urgency.
    pub work: Vec<CaseEndJson>,
    /// Results in doubt, oldest first.
    pub results: Vec<CaseResultJson>,
    /// What the facts say now that the case does not know; empty once closed.
    pub changes: CaseChangesJson,
    /// What keeps it from being closed; empty when nothing does.
    pub missing: Vec<CaseMissingJson>,
    /// The record by the clauses that ask for it.
    pub record: Vec<CaseRecordLineJson>,
    /// Closed, by whom and why.
    pub closed: Option<CaseDecisionJson>,
    /// Its own facts, oldest first.
    pub history: Vec<EventJson>,
}

/// What was written to a case, and how it stands now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CaseWrittenJson {
    /// Ids of the facts written, in order.
    pub facts: Vec<String>,
    /// Standing now of ends the facts are about.
    pub ends: Vec<EndStandingJson>,
    /// The case now.
    pub case: CaseJson,
}

/// An open case that a write concerns.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CaseTouchedJson {
    /// Id of the case.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// Labels of ends and gauges that the trace of the case now also reaches.
    pub also_reached: Vec<String>,
    /// In a sentence.
    pub text: String,
}
