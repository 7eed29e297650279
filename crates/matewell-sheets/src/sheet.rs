//! The shapes of sheets, as the rest of the program sees them.

use serde::Deserialize;

/// How much a number can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Evidence {
    /// The text of a standard, read.
    Normative,
    /// Published, read at the locator.
    Published,
    /// Open measurement data.
    OpenMeasurement,
    /// Done everywhere, no source.
    CommonPractice,
    /// From memory, to be verified.
    FromMemory,
    /// The lab's own, with a reason.
    Lab,
}

impl Evidence {
    /// The word shown.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Normative => "normative",
            Self::Published => "published",
            Self::OpenMeasurement => "open measurement",
            Self::CommonPractice => "common practice",
            Self::FromMemory => "from memory",
            Self::Lab => "lab",
        }
    }
}

/// A number with everything it needs to be defended.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sourced {
    /// The number, in `unit`.
    pub value: f64,
    /// Its unit in ASCII.
    pub unit: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes of the number.
    pub revision: u32,
    /// Anything else a reader should know.
    pub note: Option<String>,
    /// For a lab's own value: why.
    #[serde(skip)]
    pub because: Option<String>,
    /// For a lab's own value: what it replaces.
    #[serde(skip)]
    pub replaces: Option<f64>,
}

impl Sourced {
    /// The number as a count: rounded, zero below zero, saturating.
    #[must_use]
    pub fn count(&self) -> u32 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the sheet checker keeps a count positive; saturates"
        )]
        let count = self.value.round() as u32;
        count
    }
}

/// A fact in words (a thread, a wrench size) with its origin.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wording {
    /// The words.
    pub value: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
    /// Anything else a reader should know.
    pub note: Option<String>,
}

/// What another source gives for a quantity of a sheet. Shown beside the
/// sheet's value, never used in its place.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AlsoSaid {
    /// Which quantity: `upper_frequency`, `magnification`, `coupling_torque`...
    pub quantity: String,
    /// The number, in `unit`.
    pub value: f64,
    /// Its unit in ASCII.
    pub unit: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
    /// Anything else a reader should know.
    pub note: Option<String>,
}

/// A coupling torque for a body material.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TorqueRow {
    /// Torque in newton metres.
    pub value: f64,
    /// `N.m`.
    pub unit: String,
    /// `any`, `brass`, `stainless`, `beryllium-copper`, `circuit-board`.
    pub body: String,
    /// Half-width of the range the source allows, in newton metres.
    pub tolerance: Option<f64>,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
    /// Anything else.
    pub note: Option<String>,
}

/// One line of the budget of a gauge, from the lab's own file.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeLine {
    /// Name of the line, in the words of a printed budget.
    pub name: String,
    /// Standard uncertainty in micrometres; for `resolution` the step, for
    /// `zero drift` the half-width.
    pub value_um: f64,
    /// Why, in the lab's words.
    pub because: String,
}

/// A limit of position, as a recession from a plane named in words.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// `metrology`, `instrument` or `production`.
    pub grade: String,
    /// Least recession, zero or more.
    pub recessed_min: f64,
    /// Most recession.
    pub recessed_max: f64,
    /// `um`.
    pub unit: String,
    /// The plane it is measured from.
    pub plane: String,
    /// Whether the limit already contains gauge uncertainty and must not be
    /// guarded again.
    pub includes_gauge_uncertainty: bool,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
    /// Anything else.
    pub note: Option<String>,
}

/// One connector interface.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "facts of a sheet, each written out as true or false in its file"
)]
pub struct InterfaceSheet {
    /// Key, for example `3.5mm`.
    pub key: String,
    /// Name as written in standards.
    pub name: String,
    /// Other ways of writing it.
    pub aliases: Vec<String>,
    /// Whether both halves are alike.
    pub neutral: bool,
    /// What fills the line at the interface.
    pub dielectric: String,
    /// The plane pin positions refer to, in words.
    pub reference_plane: String,
    /// Coupling thread, or bayonet.
    pub thread: Wording,
    /// Wrench flats; `None` where unknown or without a wrench.
    pub wrench_flats: Option<Wording>,
    /// Whether sockets with slots exist.
    pub slotted_sockets: bool,
    /// Whether sockets without slots are known to exist.
    pub slotless_sockets: bool,
    /// Whether the coupling takes no torque wrench.
    pub no_torque: bool,
    /// Why there is no coupling torque, for all bodies or for one.
    pub torque_statement: Option<String>,
    /// Words of the damage list to look for first on this interface.
    pub look_for: Vec<String>,
    /// Nominal impedance.
    pub impedance: Sourced,
    /// Inner diameter of the outer conductor.
    pub outer_diameter: Option<Sourced>,
    /// Diameter of the centre conductor.
    pub inner_diameter: Option<Sourced>,
    /// Diameter of the pin.
    pub pin_diameter: Option<Sourced>,
    /// Relative permittivity of a filled interface.
    pub permittivity: Option<Sourced>,
    /// Rated upper frequency.
    pub upper_frequency: Option<Sourced>,
    /// Rated mates.
    pub rated_mates: Option<Sourced>,
    /// Magnification for inspection.
    pub magnification: Sourced,
    /// Distance of the datum of pin positions from the outer conductor mating
    /// plane, where the two planes are offset.
    pub plane_offset: Option<Sourced>,
    /// Coupling torques; several for one body are sources beside each other.
    #[serde(default)]
    pub torque: Vec<TorqueRow>,
    /// Torques never to be exceeded, where a source gives one.
    #[serde(default)]
    pub upper_torque: Vec<TorqueRow>,
    /// Pin position limits.
    #[serde(default)]
    pub pin_limit: Vec<Limit>,
    /// Dielectric position limits.
    #[serde(default)]
    pub dielectric_limit: Vec<Limit>,
    /// What other sources give.
    #[serde(default)]
    pub also: Vec<AlsoSaid>,
}

impl InterfaceSheet {
    /// The sexes an end of this interface can have.
    pub const fn sexes(&self) -> &'static [&'static str] {
        if self.neutral { &["neutral"] } else { &["pin", "socket"] }
    }
}

/// What a pair rule says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// They mate.
    Allowed,
    /// They mate if both pins are shown safe.
    AllowedIfGauged,
    /// Only by waiver.
    ByWaiver,
    /// Never.
    Never,
}

impl Rule {
    /// The words of the rule.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Allowed => "allowed",
            Self::AllowedIfGauged => "allowed if gauged",
            Self::ByWaiver => "by waiver",
            Self::Never => "never",
        }
    }
}

/// The rule for two interfaces.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PairSheet {
    /// Key of one interface.
    pub a: String,
    /// `pin`, `socket` or `any`.
    pub a_sex: String,
    /// Key of the other.
    pub b: String,
    /// `pin`, `socket` or `any`.
    pub b_sex: String,
    /// The rule.
    pub rule: Rule,
    /// Why.
    pub text: String,
    /// What the wrong pair destroys.
    pub destroys: Option<String>,
    /// Upper frequency of the pair.
    pub upper_frequency: Option<Sourced>,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
}

/// A rule found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PairRule<'a> {
    /// A row of the pair sheet.
    Row(&'a PairSheet),
    /// The interface meets itself.
    SameInterface,
}

/// A caution.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Code, for example `static`.
    pub code: String,
    /// The activities it belongs to: `mating`, `parting`, `cleaning`,
    /// `gauging`, `inspection`, `damage`.
    pub during: Vec<String>,
    /// What to mind.
    pub text: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
}

/// Steps in order.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Procedure {
    /// Key, for example `cleaning`.
    pub key: String,
    /// The steps.
    pub steps: Vec<String>,
    /// Why so.
    pub because: String,
    /// Codes of the cautions shown with it.
    pub cautions: Vec<String>,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
}

/// Words for what a look shows.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Words {
    /// `damage`, `normal-wear` or `dirt`.
    pub key: String,
    /// The words.
    pub list: Vec<String>,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
}

/// A work.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Its key.
    pub key: String,
    /// Its title.
    pub title: String,
    /// `standard`, `guide`, `book`, `paper`, `web`, `dataset`, `summary`,
    /// `practice` or `own`.
    pub kind: String,
    /// Year of publication.
    pub year: Option<u16>,
    /// Edition in words.
    pub edition: String,
    /// `read`, `in part`, `secondary` or `memory`.
    pub seen: String,
    /// Anything else a reader should know.
    pub note: Option<String>,
}

/// A value of the lab's own file over an embedded one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Override {
    /// The place, for example `policy.readings`.
    pub place: String,
    /// The lab's value, with its unit.
    pub now: String,
    /// What it replaces, one entry for each row, with sources.
    pub before: Vec<String>,
    /// Why.
    pub because: String,
    /// The lab's file.
    pub file: String,
}

/// Coupling torques of one interface and body that no single torque satisfies.
#[derive(Debug, Clone, PartialEq)]
pub struct TorqueConflict<'a> {
    /// Key of the interface.
    pub interface: &'a str,
    /// The body material asked for.
    pub body: &'static str,
    /// All rows for it.
    pub rows: Vec<&'a TorqueRow>,
}

/// Permissible deviation of a type of hand torque tool.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TorqueTool {
    /// Type and class, for example `II-B`.
    pub tool_type: String,
    /// What it is, in words.
    pub text: String,
    /// Permissible relative deviation where the tool's largest torque is at
    /// most the border.
    pub up_to_border: f64,
    /// The same above the border.
    pub above_border: f64,
    /// `%`.
    pub unit: String,
    /// The border.
    pub border: f64,
    /// `N.m`.
    pub border_unit: String,
    /// Edition of the work.
    pub edition: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// How much it can be trusted.
    pub evidence: Evidence,
    /// Counts changes.
    pub revision: u32,
}

impl TorqueTool {
    /// Permissible deviation in percent for a tool with this largest torque
    /// in newton metres.
    pub fn permissible_percent(&self, largest_n_m: f64) -> f64 {
        if largest_n_m <= self.border { self.up_to_border } else { self.above_border }
    }
}
