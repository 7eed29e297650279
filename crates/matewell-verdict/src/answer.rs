//! The words of the judgement: standing, answer, finding, number.

use matewell_lab::{EndId, FactId, ItemId, Moment};
use matewell_quantity::{Frequency, Torque};

/// What an end is good for at a moment, worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Nothing speaks against it.
    Usable,
    /// Up to a frequency, or with some partners.
    UsableWithLimits,
    /// Not shown to be safe; the findings say what would decide it.
    Undecided,
    /// It may damage what it touches, or is held.
    DoNotMate,
    /// It will not be used again.
    Retired,
}

impl Standing {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Usable => "usable",
            Self::UsableWithLimits => "usable-with-limits",
            Self::Undecided => "undecided",
            Self::DoNotMate => "do-not-mate",
            Self::Retired => "retired",
        }
    }
}

/// The answer of a mate check, worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// Mate.
    Go,
    /// Mate, minding the findings.
    GoWithCare,
    /// Not shown to be safe: decide first.
    Undecided,
    /// Do not mate.
    Stop,
}

impl Answer {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::GoWithCare => "go-with-care",
            Self::Undecided => "undecided",
            Self::Stop => "stop",
        }
    }
}

/// How much a finding weighs, worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Good to know; changes nothing.
    Note,
    /// Mind it.
    Care,
    /// Leaves the question open.
    Open,
    /// Forbids.
    Forbids,
}

impl Weight {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Care => "care",
            Self::Open => "open",
            Self::Forbids => "forbids",
        }
    }
}

/// Where a number or rule is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Key in `data/sources.toml`, or `lab` or `fact`.
    pub source: String,
    /// Clause, table, row; or the fact's id.
    pub locator: String,
    /// Evidence grade in words.
    pub evidence: String,
}

/// A number that decided something.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// What it is, for example `recession`.
    pub name: &'static str,
    /// Its value in `unit`.
    pub value: f64,
    /// Unit, ASCII: `um`, `Hz`, `N.m`, `1`.
    pub unit: &'static str,
    /// Standard uncertainty in `unit`; `None` with a reason in
    /// [`Self::no_uncertainty_because`].
    pub standard_uncertainty: Option<f64>,
    /// Why there is no uncertainty.
    pub no_uncertainty_because: Option<&'static str>,
    /// Where it is from.
    pub origin: Origin,
}

/// One thing the judgement found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Stable code, for example `pin-protrudes`.
    pub code: &'static str,
    /// How much it weighs.
    pub weight: Weight,
    /// A sentence a person can act on.
    pub text: String,
    /// What would change it, if anything would.
    pub remedy: Option<String>,
    /// The end it is about; `None` when it is about the pair.
    pub end: Option<EndId>,
    /// Numbers that decided it.
    pub numbers: Vec<Number>,
    /// Facts it rests on.
    pub facts: Vec<FactId>,
    /// Rules it rests on.
    pub origins: Vec<Origin>,
}

/// What the gauging says about the pin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PinDecision {
    /// The mean protrudes beyond the plane or datum.
    Out,
    /// Shown not to protrude at the policy's risk.
    ShownSafe,
    /// Neither shown; more readings, a better gauge, or a partner whose joint
    /// gap is shown positive.
    NotShownSafe,
    /// With this gauge no number of readings decides.
    GaugeCannotDecide,
    /// Nobody knows: never gauged, or no uncertainty on record.
    Unknown,
}

impl PinDecision {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Out => "out",
            Self::ShownSafe => "shown-safe",
            Self::NotShownSafe => "not-shown-safe",
            Self::GaugeCannotDecide => "gauge-cannot-decide",
            Self::Unknown => "unknown",
        }
    }
}

/// The pin of one end, as known.
#[derive(Debug, Clone, PartialEq)]
pub struct PinKnowledge {
    /// The decision.
    pub decision: PinDecision,
    /// Recession behind the plane in micrometres with its uncertainty, when
    /// gauged with one.
    pub recession_um: Option<matewell_uncertainty::Estimate>,
    /// Probability that the pin protrudes, when it can be said.
    pub protrusion_probability: Option<f64>,
    /// When gauged.
    pub gauged_at: Option<Moment>,
    /// The gauge, if recorded.
    pub gauge: Option<ItemId>,
    /// Readings needed in all to decide with this gauge, when more would.
    pub readings_needed: Option<u32>,
    /// Width of the guard band that was kept to the plane, when one was.
    pub guard_band_um: Option<f64>,
    /// What else the gauging itself showed.
    pub noticed: Vec<matewell_uncertainty::gauging::Finding>,
}

/// The judgement of one end.
#[derive(Debug, Clone, PartialEq)]
pub struct EndJudgement {
    /// The end.
    pub end: EndId,
    /// The moment judged.
    pub at: Moment,
    /// The standing.
    pub standing: Standing,
    /// All findings, worst first.
    pub findings: Vec<Finding>,
    /// Upper frequency at which the end is good for the lab's need, when one
    /// can be said.
    pub usable_up_to: Option<Frequency>,
    /// What is known of the pin.
    pub pin: PinKnowledge,
    /// Revision of the data sheets used.
    pub sheets_revision: String,
}

/// The gap of a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct JointGap {
    /// Gap between the centre contacts' shoulders in micrometres; negative
    /// means they press on each other.
    pub gap_um: matewell_uncertainty::Estimate,
    /// Probability that the gap is below zero.
    pub interference_probability: f64,
    /// Predicted |Γ| at the frequency asked, with its standard uncertainty.
    pub reflection: Option<(f64, f64)>,
}

/// How tight.
#[derive(Debug, Clone, PartialEq)]
pub struct TorqueAdvice {
    /// Torque of the weaker partner; `None` when the sheets give none or
    /// disagree.
    pub torque: Option<Torque>,
    /// The partner that limits it.
    pub limited_by: Option<EndId>,
    /// Why this number, or why none.
    pub text: String,
    /// Where it is from.
    pub origins: Vec<Origin>,
    /// Wrenches in date and set to it, by tag.
    pub wrenches: Vec<(ItemId, String)>,
}

/// A caution shown with an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Stable code, for example `static`.
    pub code: String,
    /// What to mind; local rules win.
    pub text: String,
}

/// May this be put on that?
#[derive(Debug, Clone, PartialEq)]
pub struct MateCheck {
    /// The answer.
    pub answer: Answer,
    /// The moment judged.
    pub at: Moment,
    /// Frequency asked, if any.
    pub frequency: Option<Frequency>,
    /// One end.
    pub a: EndJudgement,
    /// The other end.
    pub b: EndJudgement,
    /// All findings of both ends and of the pair, worst first.
    pub findings: Vec<Finding>,
    /// The joint gap, when both pins are known.
    pub gap: Option<JointGap>,
    /// Upper frequency of the pair, when one can be said.
    pub usable_up_to: Option<Frequency>,
    /// How tight, with what.
    pub torque: TorqueAdvice,
    /// What to hold still while turning what.
    pub hold_still: String,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// Puts findings worst first, pair findings before those of ends, then by
/// code, so that the same findings always read the same.
pub(crate) fn worst_first(findings: &mut [Finding]) {
    findings.sort_by(|x, y| (y.weight, x.end, x.code, &x.text).cmp(&(x.weight, y.end, y.code, &y.text)));
}
