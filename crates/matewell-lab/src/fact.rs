//! Facts: what happened, by whom, when, and when it was entered.

use crate::{
    CaseChanged, CaseClosed, CaseOpened, EndDisposed, EndId, FaceMark, FactId, GaugeMethod, ItemId,
    KitChecked, KitMade, LabError, LookPhoto, MachineId, Moment, PinPosition, PolicyTakenUp, Registered,
    Reserved, Resolution, ResultDisposed,
};
use matewell_quantity::{Frequency, Length, Torque};

/// Where a fact came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FactSource {
    /// Typed or scanned by a person.
    Bench,
    /// From a file of the lab.
    Import,
    /// Sent by a program.
    Program,
}

impl FactSource {
    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bench => "bench",
            Self::Import => "import",
            Self::Program => "program",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        match word {
            "bench" => Ok(Self::Bench),
            "import" => Ok(Self::Import),
            "program" => Ok(Self::Program),
            other => Err(LabError::UnknownWord {
                what: "the source of a fact",
                expected: "bench, import, program".to_owned(),
                found: other.chars().take(64).collect(),
            }),
        }
    }
}

/// Something that happened. Added, never edited.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// For ever the same.
    pub id: FactId,
    /// Who wrote it down: the machine.
    pub machine: MachineId,
    /// When it happened.
    pub happened_at: Moment,
    /// How exactly that is known.
    pub resolution: Resolution,
    /// Order among facts of the same moment; 0 when there is none.
    pub sequence: u32,
    /// When it was entered.
    pub recorded_at: Moment,
    /// Who did it: a name or a pseudonym.
    pub person: String,
    /// Where it came in.
    pub source: FactSource,
    /// Free text.
    pub note: Option<String>,
    /// What happened.
    pub body: FactBody,
}

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub enum FactBody {
    /// An item and its ends were written down.
    Registered(Box<Registered>),
    /// Somebody looked.
    Inspected(Inspected),
    /// The pin position was gauged. Counts as one contact.
    Gauged(Gauged),
    /// An end was cleaned.
    Cleaned {
        /// The end.
        end: EndId,
        /// How, in the lab's words.
        method: Option<String>,
    },
    /// Two ends touched and were tightened.
    Mated(Mated),
    /// Two ends came apart.
    Parted(Parted),
    /// An item was put away.
    Stored(Stored),
    /// A gauge or a wrench was checked.
    ToolChecked(ToolChecked),
    /// An end may not be mated until released.
    Held(Held),
    /// A hold or a damage finding was lifted.
    Released(Released),
    /// An end or item will not be used again.
    Retired(Retired),
    /// The contact of an end was cut off and made anew: its history starts again.
    Replaced(Replaced),
    /// A mate was refused: a near miss.
    Refused(Refused),
    /// Somebody went ahead in spite of a refusal or an open question.
    Overridden(Overridden),
    /// A follow-up was done.
    FollowedUp(FollowedUp),
    /// An earlier fact was wrong.
    Corrected(Corrected),
    /// A result was made through a chain of ends.
    ResultNoted(ResultNoted),
    /// A chain of ends was swept; the file is kept.
    SweepNoted(Box<SweepNoted>),
    /// A sweep was compared with an earlier one of its chain.
    SweepJudged(SweepJudged),
    /// A case was opened over ends found bad.
    CaseOpened(Box<CaseOpened>),
    /// A case took in more, or set ends aside.
    CaseChanged(Box<CaseChanged>),
    /// An end of a case was decided about.
    EndDisposed(EndDisposed),
    /// A result of a case was decided about.
    ResultDisposed(ResultDisposed),
    /// A case was closed.
    CaseClosed(CaseClosed),
    /// Somebody said what belongs into a kit.
    KitMade(KitMade),
    /// A kit was looked through.
    KitChecked(KitChecked),
    /// An item or a kit is wanted for planned work.
    Reserved(Reserved),
    /// The lab judges by other data from then on.
    PolicyTakenUp(Box<PolicyTakenUp>),
}

/// What a look showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum InspectionOutcome {
    /// Nothing to remark.
    Good,
    /// Marks of ordinary use.
    NormalWear,
    /// Particles or residue: clean and look again.
    Dirty,
    /// Damage: do not mate.
    Damaged,
}

impl InspectionOutcome {
    /// Every value.
    pub const ALL: &'static [Self] = &[Self::Good, Self::NormalWear, Self::Dirty, Self::Damaged];

    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::NormalWear => "normal-wear",
            Self::Dirty => "dirty",
            Self::Damaged => "damaged",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|o| o.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "what the look showed",
            expected: Self::ALL.iter().map(|o| o.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }
}

/// Somebody looked at an end.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspected {
    /// The end.
    pub end: EndId,
    /// What was seen.
    pub outcome: InspectionOutcome,
    /// Words for what was seen, for example `bent-finger`.
    pub seen: Vec<String>,
    /// Magnification used, if recorded.
    pub magnification: Option<f64>,
    /// Where on the face, if somebody marked it.
    pub marks: Vec<FaceMark>,
    /// A photo, if one was kept.
    pub photo: Option<LookPhoto>,
}

impl Inspected {
    /// A look without marks and photo.
    #[must_use]
    pub fn plain(
        end: EndId,
        outcome: InspectionOutcome,
        seen: Vec<String>,
        magnification: Option<f64>,
    ) -> Self {
        Self { end, outcome, seen, magnification, marks: Vec::new(), photo: None }
    }
}

/// A gauging of one end.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauged {
    /// The end.
    pub end: EndId,
    /// The gauge, if recorded.
    pub gauge: Option<ItemId>,
    /// The readings, re-seated and turned between them.
    pub readings: Vec<PinPosition>,
    /// Standard uncertainty stated with the readings, when the gauge's own is
    /// not on record.
    pub stated_standard_uncertainty: Option<Length>,
    /// What else was written down about the session; nothing for readings
    /// noted on their own.
    pub session: Option<Box<GaugingSession>>,
}

/// A gauging written down in full: zero on the gauge master before and after,
/// and the circumstances.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GaugingSession {
    /// The gauge master the gauge was zeroed on.
    pub master: Option<ItemId>,
    /// Where the pin of the master stands, by its certificate; flush when left
    /// out.
    pub master_position: Option<PinPosition>,
    /// Standard uncertainty of that position, by its certificate.
    pub master_standard_uncertainty: Option<Length>,
    /// What the gauge showed on the master before, re-seated between.
    pub zero_before: Vec<PinPosition>,
    /// What the gauge showed on the master after.
    pub zero_after: Vec<PinPosition>,
    /// How far the gauge was turned for each reading, in degrees.
    pub turned_deg: Vec<f64>,
    /// How the gauge met the end, when not as registered.
    pub method: Option<GaugeMethod>,
    /// Air temperature in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Relative humidity in percent.
    pub humidity_percent: Option<f64>,
    /// Position of the dielectric's face: another quantity than the pin's.
    pub dielectric: Vec<PinPosition>,
    /// Questions about the entry that a person answered with "it is so", by
    /// their code.
    pub sure: Vec<String>,
    /// An error of the gauge found later, to be taken out of the readings as
    /// read.
    pub gauge_off: Option<OffsetTakenOut>,
}

/// How far a gauge turned out to have been off during a session.
#[derive(Debug, Clone, PartialEq)]
pub struct OffsetTakenOut {
    /// How much too far recessed it read (negative: too far protruding).
    pub reads_more_recessed: Length,
    /// Standard uncertainty of that number, when stated.
    pub standard_uncertainty: Option<Length>,
    /// The check that found it, if it is on record.
    pub found_by: Option<FactId>,
}

/// Two ends touched.
#[derive(Debug, Clone, PartialEq)]
pub struct Mated {
    /// One end.
    pub a: EndId,
    /// The other end.
    pub b: EndId,
    /// The wrench used, if recorded.
    pub wrench: Option<ItemId>,
    /// The override under which it happened, if any.
    pub overridden: Option<FactId>,
}

/// Two ends came apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Parted {
    /// One end.
    pub a: EndId,
    /// The other end.
    pub b: EndId,
}

/// An item was put away.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// The item.
    pub item: ItemId,
    /// Where.
    pub place: String,
    /// Whether clean caps were on, if recorded.
    pub capped: Option<bool>,
}

/// A gauge zero check on its master.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeZero {
    /// How far the shown value was from the master's value: a pin of the
    /// master's depth read as this much more recessed (positive) or less.
    pub reads_more_recessed: Length,
    /// Whether the lab took it as in order.
    pub in_order: bool,
}

/// A check of a wrench against a reference.
#[derive(Debug, Clone, PartialEq)]
pub struct WrenchCheck {
    /// Torque it was set to.
    pub set_point: Torque,
    /// Reference readings.
    pub readings: Vec<Torque>,
    /// How far the means of series moved with what was varied.
    pub ranges: TorqueRanges,
    /// Whether the lab took it as in order.
    pub in_order: bool,
}

/// Largest less smallest mean of the series taken for each influence; nothing
/// where nobody measured.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TorqueRanges {
    /// The tool was taken off and set on again.
    pub reproducibility: Option<Torque>,
    /// The output drive was turned.
    pub output_drive: Option<Torque>,
    /// The interface was turned.
    pub interface: Option<Torque>,
    /// The loading point was moved.
    pub loading_point: Option<Torque>,
}

/// A certificate or a plain check with an outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct Certificate {
    /// Number or name of the document.
    pub document: String,
    /// Whether the tool was in order.
    pub in_order: bool,
    /// Date until which it holds, if stated.
    pub valid_until: Option<Moment>,
    /// Of a gauge master: where its pin stands.
    pub position: Option<PinPosition>,
    /// Standard uncertainty of that position, if stated.
    pub standard_uncertainty: Option<Length>,
}

impl Certificate {
    /// One that states no value.
    #[must_use]
    pub fn without_value(document: String, in_order: bool, valid_until: Option<Moment>) -> Self {
        Self { document, in_order, valid_until, position: None, standard_uncertainty: None }
    }
}

/// What was checked about a tool.
#[derive(Debug, Clone, PartialEq)]
pub enum ToolCheck {
    /// Zero of a gauge.
    GaugeZero(GaugeZero),
    /// Torque of a wrench.
    Wrench(WrenchCheck),
    /// A document.
    Certificate(Certificate),
}

impl ToolCheck {
    /// Whether the tool was found in order.
    #[must_use]
    pub fn in_order(&self) -> bool {
        match self {
            Self::GaugeZero(z) => z.in_order,
            Self::Wrench(w) => w.in_order,
            Self::Certificate(c) => c.in_order,
        }
    }
}

/// A gauge or a wrench was checked.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolChecked {
    /// The tool.
    pub tool: ItemId,
    /// What was found.
    pub check: ToolCheck,
}

/// An end may not be mated.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The end.
    pub end: EndId,
    /// Why.
    pub because: String,
}

/// A hold or finding was lifted.
#[derive(Debug, Clone, PartialEq)]
pub struct Released {
    /// The end.
    pub end: EndId,
    /// Why.
    pub because: String,
    /// The fact that verified it, if any.
    pub evidence: Option<FactId>,
    /// The holds and findings of damage it lifts: those the person knew of.
    /// Empty in releases of old logs, which lift whatever came before.
    pub lifts: Vec<FactId>,
}

/// Will not be used again.
#[derive(Debug, Clone, PartialEq)]
pub struct Retired {
    /// What.
    pub subject: Subject,
    /// Why.
    pub because: String,
}

/// The contact of an end was made anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Replaced {
    /// The end.
    pub end: EndId,
    /// What was done and why.
    pub because: String,
}

/// A mate was refused.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// One end.
    pub a: EndId,
    /// The other end.
    pub b: EndId,
    /// The answer given, a word of the mate check.
    pub answer: String,
    /// Codes of the findings that refused it.
    pub findings: Vec<String>,
    /// Frequency asked, if any.
    pub frequency: Option<Frequency>,
}

/// Somebody went ahead all the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Overridden {
    /// One end.
    pub a: EndId,
    /// The other end.
    pub b: EndId,
    /// The refusal that was overridden.
    pub refused: FactId,
    /// The reason given.
    pub because: String,
    /// What must be done afterwards.
    pub follow_up: String,
}

/// A follow-up was done.
#[derive(Debug, Clone, PartialEq)]
pub struct FollowedUp {
    /// The refusal or override it answers.
    pub fact: FactId,
    /// What was done.
    pub done: String,
}

/// How an earlier fact was wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum Correction {
    /// It did not happen.
    Void,
    /// It happened at another time.
    HappenedAt(Moment),
    /// It was something else.
    Body(Box<FactBody>),
}

/// An earlier fact was wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// The earlier fact.
    pub fact: FactId,
    /// What is right.
    pub correction: Correction,
    /// Why.
    pub because: String,
}

/// A result made through a chain of ends. The result itself lives elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultNoted {
    /// Where the result is.
    pub uri: String,
    /// SHA-256 of its bytes in hexadecimal, if known.
    pub sha256: Option<String>,
    /// Device it is about, in the lab's words.
    pub device: Option<String>,
    /// The ends it went through, in order.
    pub chain: Vec<EndId>,
}

/// A sweep of a chain of ends. The bytes of its file are kept beside the facts
/// under their SHA-256.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepNoted {
    /// The ends it went through, in order from the measuring port outward.
    pub chain: Vec<EndId>,
    /// Port of the file that looks into the first end, from 1: the direction.
    pub port: u32,
    /// How the cables were held, in the lab's words.
    pub cable_shape: Option<String>,
    /// What measured it and under which calibration, in the lab's words.
    pub instrument: Option<String>,
    /// What lies between the joints, as the lab wrote it (TOML).
    pub layout: Option<String>,
    /// Whether the lab took the chain as good at that time.
    pub known_good: bool,
    /// Name of the file as it came.
    pub file_name: String,
    /// SHA-256 of its bytes.
    pub sha256: [u8; 32],
    /// How many bytes it has.
    pub bytes: u64,
    /// Ports of the network in it.
    pub ports: u32,
    /// Number of its frequencies.
    pub points: u32,
    /// Its first frequency.
    pub from: Frequency,
    /// Its last frequency.
    pub to: Frequency,
}

/// What a comparison of two sweeps of one chain said. Information: it changes
/// no standing.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepJudged {
    /// The later sweep.
    pub sweep: FactId,
    /// The sweep it was compared with.
    pub baseline: FactId,
    /// The word of the finding.
    pub finding: String,
    /// Ends of the joints it named.
    pub named: Vec<EndId>,
    /// What it said, in words.
    pub text: String,
}

/// What a fact is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// One end.
    End(EndId),
    /// A whole item.
    Item(ItemId),
}

/// The word of a kind of fact, used in files, JSON and SQL.
#[must_use]
pub fn kind_word(body: &FactBody) -> &'static str {
    match body {
        FactBody::Registered(_) => "registered",
        FactBody::Inspected(_) => "inspected",
        FactBody::Gauged(_) => "gauged",
        FactBody::Cleaned { .. } => "cleaned",
        FactBody::Mated(_) => "mated",
        FactBody::Parted(_) => "parted",
        FactBody::Stored(_) => "stored",
        FactBody::ToolChecked(_) => "tool-checked",
        FactBody::Held(_) => "held",
        FactBody::Released(_) => "released",
        FactBody::Retired(_) => "retired",
        FactBody::Replaced(_) => "replaced",
        FactBody::Refused(_) => "refused",
        FactBody::Overridden(_) => "overridden",
        FactBody::FollowedUp(_) => "followed-up",
        FactBody::Corrected(_) => "corrected",
        FactBody::ResultNoted(_) => "result-noted",
        FactBody::SweepNoted(_) => "sweep-noted",
        FactBody::SweepJudged(_) => "sweep-judged",
        FactBody::CaseOpened(_) => "case-opened",
        FactBody::CaseChanged(_) => "case-changed",
        FactBody::EndDisposed(_) => "end-disposed",
        FactBody::ResultDisposed(_) => "result-disposed",
        FactBody::CaseClosed(_) => "case-closed",
        FactBody::KitMade(_) => "kit-made",
        FactBody::KitChecked(_) => "kit-checked",
        FactBody::Reserved(_) => "reserved",
        FactBody::PolicyTakenUp(_) => "policy-taken-up",
    }
}

impl FactBody {
    /// Ends and items the fact is about. A correction is about what the fact
    /// it corrects is about; the store knows that fact and adds its subjects.
    #[must_use]
    pub fn subjects(&self) -> Vec<Subject> {
        use Subject::{End, Item};
        match self {
            Self::Registered(r) => {
                let mut subjects = vec![Item(r.item.id)];
                subjects.extend(r.ends.iter().map(|e| End(e.id)));
                subjects
            }
            Self::Inspected(i) => vec![End(i.end)],
            Self::Gauged(g) => {
                let mut subjects = vec![End(g.end)];
                subjects.extend(g.gauge.map(Item));
                subjects.extend(g.session.as_ref().and_then(|s| s.master).map(Item));
                subjects
            }
            Self::Cleaned { end, .. } => vec![End(*end)],
            Self::Mated(m) => {
                let mut subjects = vec![End(m.a), End(m.b)];
                subjects.extend(m.wrench.map(Item));
                subjects
            }
            Self::Parted(p) => vec![End(p.a), End(p.b)],
            Self::Stored(s) => vec![Item(s.item)],
            Self::ToolChecked(t) => vec![Item(t.tool)],
            Self::Held(h) => vec![End(h.end)],
            Self::Released(r) => vec![End(r.end)],
            Self::Retired(r) => vec![r.subject],
            Self::Replaced(r) => vec![End(r.end)],
            Self::Refused(r) => vec![End(r.a), End(r.b)],
            Self::Overridden(o) => vec![End(o.a), End(o.b)],
            Self::FollowedUp(_) | Self::ResultDisposed(_) | Self::CaseClosed(_) | Self::PolicyTakenUp(_) => {
                Vec::new()
            }
            Self::Corrected(c) => match &c.correction {
                Correction::Body(body) => body.subjects(),
                Correction::Void | Correction::HappenedAt(_) => Vec::new(),
            },
            Self::ResultNoted(r) => r.chain.iter().copied().map(End).collect(),
            Self::SweepNoted(s) => s.chain.iter().copied().map(End).collect(),
            Self::SweepJudged(s) => s.named.iter().copied().map(End).collect(),
            Self::CaseOpened(c) => {
                let tools = c.tools.iter().map(|t| Item(t.tool));
                c.sources
                    .iter()
                    .map(|s| End(s.end))
                    .chain(tools)
                    .chain(c.reached.iter().map(|r| r.on))
                    .collect()
            }
            Self::CaseChanged(c) => {
                c.reached.iter().map(|r| r.on).chain(c.set_aside.iter().copied()).collect()
            }
            Self::EndDisposed(d) => vec![d.on],
            Self::KitMade(k) => std::iter::once(k.kit).chain(k.pieces.iter().copied()).map(Item).collect(),
            Self::KitChecked(k) => {
                std::iter::once(k.kit).chain(k.found.iter().map(|f| f.piece)).map(Item).collect()
            }
            Self::Reserved(r) => vec![Item(r.item)],
        }
    }

    /// The earlier fact this one speaks about, if any.
    #[must_use]
    pub fn earlier_fact(&self) -> Option<FactId> {
        match self {
            Self::Corrected(c) => Some(c.fact),
            Self::FollowedUp(f) => Some(f.fact),
            _ => None,
        }
    }

    /// The case this fact belongs to, when it is not the one that opened it.
    #[must_use]
    pub fn of_case(&self) -> Option<FactId> {
        match self {
            Self::CaseChanged(c) => Some(c.case),
            Self::EndDisposed(d) => Some(d.case),
            Self::ResultDisposed(d) => Some(d.case),
            Self::CaseClosed(c) => Some(c.case),
            _ => None,
        }
    }
}
