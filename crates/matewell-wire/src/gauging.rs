//! A gauging session as asked, and its budget as answered.

use crate::{EndNameJson, FindingJson, PinJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A position as typed: a distance with its unit, and the word that gives it
/// meaning.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PositionAsked {
    /// `recessed` or `protruding`; may be left out for a distance of zero.
    #[serde(default)]
    pub word: String,
    /// Distance from the plane with its unit, for example `12um` or `0.5mil`.
    pub distance: String,
}

/// A gauging as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GaugingAsked {
    /// Tag of the end.
    pub end: String,
    /// Tag of the gauge.
    #[serde(default)]
    pub gauge: Option<String>,
    /// The readings, re-seated and turned between them.
    #[serde(default)]
    pub readings: Vec<PositionAsked>,
    /// Standard uncertainty stated with the readings, with its unit.
    #[serde(default)]
    pub standard_uncertainty: Option<String>,
    /// Tag of the gauge master.
    #[serde(default)]
    pub master: Option<String>,
    /// Where the pin of the master stands; by its certificate on record when
    /// left out, flush without one.
    #[serde(default)]
    pub master_position: Option<PositionAsked>,
    /// Standard uncertainty of that position, with its unit; by the certificate
    /// on record when the position is left out too.
    #[serde(default)]
    pub master_standard_uncertainty: Option<String>,
    /// What the gauge showed on the master before, re-seated between.
    #[serde(default)]
    pub zero_before: Vec<PositionAsked>,
    /// What the gauge showed on the master after.
    #[serde(default)]
    pub zero_after: Vec<PositionAsked>,
    /// How far the gauge was turned for each reading, in degrees.
    #[serde(default)]
    pub turned_deg: Vec<f64>,
    /// How the gauge met the end when not as registered: `screw-on`, `push-on`, `caliper`, `go-no-go`, `eye`.
    #[serde(default)]
    pub method: Option<String>,
    /// Air temperature with its unit, for example `23degC`.
    #[serde(default)]
    pub temperature: Option<String>,
    /// Relative humidity in percent.
    #[serde(default)]
    pub humidity_percent: Option<f64>,
    /// Positions of the dielectric's face: another quantity than the pin's.
    #[serde(default)]
    pub dielectric: Vec<PositionAsked>,
    /// Codes of questions answered with "it is so".
    #[serde(default)]
    pub sure: Vec<String>,
}

/// One line of a budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct BudgetLineJson {
    /// What it is.
    pub name: String,
    /// `A` from a series of readings, `B` from anything else.
    pub evaluation: String,
    /// Shape that the stated number belongs to.
    pub shape: String,
    /// Half-width, step, standard deviation of the mean or expanded uncertainty, in micrometres.
    pub stated_um: f64,
    /// What the stated number is divided by.
    pub divisor: f64,
    /// Sensitivity of the position to it.
    pub sensitivity: f64,
    /// Its share in the position, in micrometres.
    pub u_um: f64,
    /// Degrees of freedom; null when taken as known.
    pub degrees_of_freedom: Option<f64>,
    /// Share in the variance of the position, 0 to 1.
    pub share: f64,
    /// Where the number comes from.
    pub source: String,
    /// Whether it is a typical value that the lab has not replaced.
    pub typical: bool,
}

/// What the picture of a decision shows; positions in micrometres, above zero
/// protruding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GaugingPictureJson {
    /// Left edge.
    pub from_um: f64,
    /// Right edge.
    pub to_um: f64,
    /// The plane.
    pub plane_um: f64,
    /// Where the guard band begins; the mean must lie below it.
    pub guard_from_um: f64,
    /// Where each reading put the pin.
    pub readings_um: Vec<f64>,
    /// Most recessed positions by the sheets for this end.
    pub recession_limits_um: Vec<f64>,
    /// Density of where the pin may be: position, and density per micrometre.
    pub density: Vec<[f64; 2]>,
}

/// A question about an entry that looks like a slip. Answer with its code in
/// `sure`, or mend the entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EntryQuestionJson {
    /// Stable code.
    pub code: String,
    /// Field it is about.
    pub field: String,
    /// The question in words.
    pub text: String,
}

/// What a gauging says before it is written down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GaugingBudgetJson {
    /// The end.
    pub end: EndNameJson,
    /// The moment judged.
    pub at: String,
    /// Tag of the gauge.
    pub gauge: Option<String>,
    /// Tag of the gauge master.
    pub master: Option<String>,
    /// What is known of the pin by this gauging.
    pub pin: PinJson,
    /// Width of the guard band kept to the plane, micrometres.
    pub guard_band_um: Option<f64>,
    /// Accepted probability that a pin called safe protrudes.
    pub accepted_risk: f64,
    /// Combined standard uncertainty, micrometres.
    pub u_um: Option<f64>,
    /// Effective degrees of freedom; null when taken as known.
    pub degrees_of_freedom: Option<f64>,
    /// Expanded uncertainty, twice the standard one, micrometres.
    pub expanded_um: Option<f64>,
    /// The budget line by line.
    pub lines: Vec<BudgetLineJson>,
    /// How far the zero moved, micrometres.
    pub zero_moved_um: Option<f64>,
    /// How far it may, micrometres.
    pub zero_move_allowed_um: Option<f64>,
    /// Whether the session says nothing because the zero moved.
    pub void: bool,
    /// Mean position of the dielectric's face, if taken.
    pub dielectric: Option<PositionJson>,
    /// Upper frequency in hertz at which the recession alone is good enough.
    pub usable_up_to_hz: Option<f64>,
    /// What the session and the order of work show, worst first.
    pub findings: Vec<FindingJson>,
    /// Questions to be answered before it can be written down.
    pub questions: Vec<EntryQuestionJson>,
    /// What the picture of the decision shows; null without an uncertainty.
    pub picture: Option<GaugingPictureJson>,
}

/// A position: a magnitude with a word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PositionJson {
    /// `recessed` or `protruding`.
    pub word: String,
    /// Distance from the plane in micrometres, zero or more.
    pub distance_um: f64,
}

impl PositionJson {
    /// From micrometres behind the plane.
    pub fn recessed_by(um: f64) -> Self {
        Self { word: if um < 0.0 { "protruding" } else { "recessed" }.to_owned(), distance_um: um.abs() }
    }
}

/// One gauging in the chart of an end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PinPointJson {
    /// Id of the fact.
    pub fact: String,
    /// When.
    pub at: String,
    /// Contacts of the end before it, since the contact was new.
    pub contacts: u32,
    /// What it says about the pin.
    pub pin: PinJson,
    /// Whether the session says nothing because the zero moved.
    pub void: bool,
    /// Whether it was corrected for a gauge that was off.
    pub gauge_was_off: bool,
}

/// The pin of an end over its contacts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PinHistoryJson {
    /// The end.
    pub end: EndNameJson,
    /// The moment asked for.
    pub at: String,
    /// Its gaugings, oldest first.
    pub points: Vec<PinPointJson>,
    /// Contacts after which it was cleaned.
    pub cleaned_at_contacts: Vec<u32>,
}
