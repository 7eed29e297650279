//! Ends, items, the due list and events as JSON.

use crate::{EndNameJson, FindingJson, Names, PinJson, moment_text};
use matewell_verdict::EndJudgement;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The judgement of one end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndStandingJson {
    /// The end.
    pub end: EndNameJson,
    /// The moment judged.
    pub at: String,
    /// `usable`, `usable-with-limits`, `undecided`, `do-not-mate`, `retired`.
    pub standing: String,
    /// All findings, worst first.
    pub findings: Vec<FindingJson>,
    /// Upper frequency in hertz, when one can be said.
    pub usable_up_to_hz: Option<f64>,
    /// What is known of the pin.
    pub pin: PinJson,
}

impl EndStandingJson {
    /// From the core's judgement.
    pub fn new(judgement: &EndJudgement, names: &dyn Names) -> Self {
        Self {
            end: EndNameJson::new(judgement.end, names),
            at: moment_text(judgement.at),
            standing: judgement.standing.word().to_owned(),
            findings: judgement.findings.iter().map(|f| FindingJson::new(f, names)).collect(),
            usable_up_to_hz: judgement.usable_up_to.map(matewell_quantity::Frequency::hertz),
            pin: PinJson::new(&judgement.pin, names),
        }
    }
}

/// An item as registered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ItemJson {
    /// Id of the item.
    pub id: String,
    /// Its tag.
    pub tag: String,
    /// What it is.
    pub kind: String,
    /// In the lab's words.
    pub description: String,
    /// Usual place.
    pub location: Option<String>,
    /// Tags and ids of its ends.
    pub ends: Vec<EndNameJson>,
}

/// One line of an end's history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EventJson {
    /// Id of the fact.
    pub fact: String,
    /// Kind of the fact.
    pub kind: String,
    /// When it happened.
    pub happened_at: String,
    /// `instant` or `day`.
    pub resolution: String,
    /// When it was entered.
    pub recorded_at: String,
    /// Who did it.
    pub person: String,
    /// What happened, as a sentence.
    pub text: String,
    /// Free text.
    pub note: Option<String>,
    /// Whether a later fact corrected it away.
    pub corrected: bool,
}

/// Everything about one end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndJson {
    /// The judgement.
    pub standing: EndStandingJson,
    /// Its item.
    pub item: ItemJson,
    /// Sheet key of the interface.
    pub interface: String,
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// Grade.
    pub grade: String,
    /// Body material.
    pub body: String,
    /// Slots of a socket.
    pub slots: String,
    /// Contacts since registration or replacement, gaugings included.
    pub contacts: u32,
    /// Contacts since the last gauging.
    pub contacts_since_gauging: u32,
    /// The partner it is mated with now.
    pub mated_with: Option<EndNameJson>,
    /// History, newest first.
    pub history: Vec<EventJson>,
}

/// One row of a list of ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndRowJson {
    /// The end.
    pub end: EndNameJson,
    /// Tag of its item.
    pub item_tag: String,
    /// Sheet key of the interface.
    pub interface: String,
    /// Which half.
    pub sex: String,
}

/// A page of ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndListJson {
    /// The rows.
    pub ends: Vec<EndRowJson>,
    /// How many match in all.
    pub total: u64,
    /// Offset of the first row.
    pub offset: u64,
}

/// One thing that is due.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DueJson {
    /// Tag of the end or tool.
    pub tag: String,
    /// Id of the end, when it is one.
    pub end: Option<String>,
    /// Usual place of the item.
    pub location: Option<String>,
    /// `gauge`, `look`, `clean`, `check-tool`, `follow-up`, `decide-hold`.
    pub task: String,
    /// Why it is due, in a sentence.
    pub text: String,
    /// 1 is most pressing.
    pub rank: u32,
    /// Since when it is due, if that can be said.
    pub since: Option<String>,
}

/// What is due, most pressing first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DueListJson {
    /// The moment asked about.
    pub at: String,
    /// The place asked about; none for all of the lab.
    pub location: Option<String>,
    /// Usual places of items that something is due on, in order.
    pub locations: Vec<String>,
    /// The list; ranks are those of the whole lab.
    pub due: Vec<DueJson>,
}

/// A refusal or override that waits for its follow-up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FollowUpJson {
    /// Id of the fact.
    pub fact: String,
    /// What must be done.
    pub text: String,
    /// Since when.
    pub since: String,
    /// Who.
    pub person: String,
}
