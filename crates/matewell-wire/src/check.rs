//! The mate check as JSON.

use crate::{EndNameJson, EndStandingJson, FindingJson, Names, OriginJson, moment_text};
use matewell_verdict::{JointGap, MateCheck, TorqueAdvice};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The gap of a joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JointGapJson {
    /// Gap between the centre contacts in micrometres; below zero they press.
    pub gap_um: f64,
    /// Its standard uncertainty, shared gauges counted.
    pub u_gap_um: f64,
    /// Probability that the gap is below zero.
    pub interference_probability: f64,
    /// Predicted reflection magnitude at the frequency asked.
    pub reflection_magnitude: Option<f64>,
    /// Its standard uncertainty.
    pub u_reflection_magnitude: Option<f64>,
}

impl From<&JointGap> for JointGapJson {
    fn from(gap: &JointGap) -> Self {
        Self {
            gap_um: gap.gap_um.value(),
            u_gap_um: gap.gap_um.standard_uncertainty(),
            interference_probability: gap.interference_probability,
            reflection_magnitude: gap.reflection.map(|r| r.0),
            u_reflection_magnitude: gap.reflection.map(|r| r.1),
        }
    }
}

/// A wrench that is in date and set to the torque.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WrenchJson {
    /// Id of the wrench.
    pub id: String,
    /// Its tag.
    pub tag: String,
}

/// How tight, with what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueAdviceJson {
    /// Torque in newton metres; null when the sheets give none or disagree.
    pub torque_n_m: Option<f64>,
    /// The same in inch pounds-force.
    pub torque_in_lbf: Option<f64>,
    /// The partner that limits it.
    pub limited_by: Option<EndNameJson>,
    /// Why this number, or why none.
    pub text: String,
    /// Where it is from.
    pub origins: Vec<OriginJson>,
    /// Wrenches in date and set to it.
    pub wrenches: Vec<WrenchJson>,
}

impl TorqueAdviceJson {
    fn new(advice: &TorqueAdvice, names: &dyn Names) -> Self {
        Self {
            torque_n_m: advice.torque.map(matewell_quantity::Torque::newton_metres),
            torque_in_lbf: advice.torque.map(matewell_quantity::Torque::inch_pounds_force),
            limited_by: advice.limited_by.map(|end| EndNameJson::new(end, names)),
            text: advice.text.clone(),
            origins: advice.origins.iter().map(Into::into).collect(),
            wrenches: advice
                .wrenches
                .iter()
                .map(|(id, tag)| WrenchJson { id: id.to_string(), tag: tag.clone() })
                .collect(),
        }
    }
}

/// A caution shown with an answer. Local rules win.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CautionJson {
    /// Stable code.
    pub code: String,
    /// What to mind.
    pub text: String,
}

/// May this be put on that?
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MateCheckJson {
    /// `go`, `go-with-care`, `undecided` or `stop`.
    pub answer: String,
    /// The moment judged.
    pub at: String,
    /// Frequency asked, in hertz.
    pub frequency_hz: Option<f64>,
    /// One end.
    pub a: EndStandingJson,
    /// The other end.
    pub b: EndStandingJson,
    /// All findings, worst first.
    pub findings: Vec<FindingJson>,
    /// The joint gap, when both pins are known.
    pub gap: Option<JointGapJson>,
    /// Upper frequency of the pair in hertz, when one can be said.
    pub usable_up_to_hz: Option<f64>,
    /// How tight, with what.
    pub torque: TorqueAdviceJson,
    /// What to hold still while turning what.
    pub hold_still: String,
    /// Cautions.
    pub cautions: Vec<CautionJson>,
    /// Revision of the data sheets used.
    pub sheets_revision: String,
}

impl MateCheckJson {
    /// From the core's answer.
    pub fn new(check: &MateCheck, names: &dyn Names) -> Self {
        Self {
            answer: check.answer.word().to_owned(),
            at: moment_text(check.at),
            frequency_hz: check.frequency.map(matewell_quantity::Frequency::hertz),
            a: EndStandingJson::new(&check.a, names),
            b: EndStandingJson::new(&check.b, names),
            findings: check.findings.iter().map(|f| FindingJson::new(f, names)).collect(),
            gap: check.gap.as_ref().map(Into::into),
            usable_up_to_hz: check.usable_up_to.map(matewell_quantity::Frequency::hertz),
            torque: TorqueAdviceJson::new(&check.torque, names),
            hold_still: check.hold_still.clone(),
            cautions: check
                .cautions
                .iter()
                .map(|c| CautionJson { code: c.code.clone(), text: c.text.clone() })
                .collect(),
            sheets_revision: check.a.sheets_revision.clone(),
        }
    }
}
