//! The records of each kind of table.

use crate::{
    depth::PinPosition,
    mapping::Kind,
    place::Place,
    rows::{BodyMaterial, Cost, Extra, Grade, ItemKind, OutcomeWord, Sex, Slots, When},
};
use matewell_quantity::Torque;

/// One end of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct EndRow {
    /// Its tag.
    pub tag: String,
    /// Key of the interface, as the data sheets call it.
    pub interface: String,
    /// Pin, socket or neutral.
    pub sex: Sex,
    /// Grade.
    pub grade: Grade,
    /// Material of body and nut.
    pub body: BodyMaterial,
    /// Slots of a socket.
    pub slots: Slots,
    /// Where it stands in the file.
    pub place: Place,
}

/// One item with its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterRow {
    /// Tag of the item.
    pub item_tag: String,
    /// What it is.
    pub item_kind: ItemKind,
    /// Free text; empty if nothing stands there, as the four below.
    pub description: String,
    /// Type designation.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// Where it is kept.
    pub location: String,
    /// Remarks.
    pub note: String,
    /// What it costs.
    pub cost: Option<Cost>,
    /// Its ends, in the order of the file.
    pub ends: Vec<EndRow>,
    /// Standard uncertainty of a gauge, in micrometres.
    pub gauge_standard_uncertainty_um: Option<f64>,
    /// Repeatability of a gauge (standard deviation), in micrometres.
    pub repeatability_um: Option<f64>,
    /// Set point of a torque wrench.
    pub wrench_set_point: Option<Torque>,
    /// Columns without a field.
    pub extra: Extra,
    /// Where it stands in the file.
    pub place: Place,
}

/// Two ends were put together.
#[derive(Debug, Clone, PartialEq)]
pub struct MateRow {
    /// When.
    pub when: When,
    /// Tag of one end.
    pub end_a: String,
    /// Tag of the other.
    pub end_b: String,
    /// Who.
    pub person: String,
    /// Tag of the wrench.
    pub wrench: Option<String>,
    /// Remarks.
    pub note: String,
    /// Columns without a field.
    pub extra: Extra,
    /// Where it stands in the file.
    pub place: Place,
}

/// The pin depth of an end was read.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugingRow {
    /// When.
    pub when: When,
    /// Tag of the end.
    pub end: String,
    /// Tag of the gauge.
    pub gauge: Option<String>,
    /// Who.
    pub person: String,
    /// The readings in the order of the columns; at least one.
    pub readings: Vec<PinPosition>,
    /// Uncertainty as stated, in micrometres; the coverage is not said.
    pub stated_uncertainty_um: Option<f64>,
    /// Remarks.
    pub note: String,
    /// Columns without a field.
    pub extra: Extra,
    /// Where it stands in the file.
    pub place: Place,
}

/// An end was cleaned.
#[derive(Debug, Clone, PartialEq)]
pub struct CleaningRow {
    /// When.
    pub when: When,
    /// Tag of the end.
    pub end: String,
    /// Who.
    pub person: String,
    /// How, in the words of the file.
    pub method: String,
    /// Remarks.
    pub note: String,
    /// Columns without a field.
    pub extra: Extra,
    /// Where it stands in the file.
    pub place: Place,
}

/// An end was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct InspectionRow {
    /// When.
    pub when: When,
    /// Tag of the end.
    pub end: String,
    /// Who.
    pub person: String,
    /// The worst of what was seen.
    pub outcome: OutcomeWord,
    /// What was seen, in the words of the file.
    pub seen: Vec<String>,
    /// Magnification of the view.
    pub magnification: Option<f64>,
    /// Remarks.
    pub note: String,
    /// Columns without a field.
    pub extra: Extra,
    /// Where it stands in the file.
    pub place: Place,
}

/// All records of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Rows {
    /// Items and their ends.
    Register(Vec<RegisterRow>),
    /// Mates.
    Mates(Vec<MateRow>),
    /// Gaugings.
    Gaugings(Vec<GaugingRow>),
    /// Cleanings.
    Cleanings(Vec<CleaningRow>),
    /// Inspections.
    Inspections(Vec<InspectionRow>),
}

impl Rows {
    /// The kind of record.
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Register(_) => Kind::Register,
            Self::Mates(_) => Kind::Mates,
            Self::Gaugings(_) => Kind::Gaugings,
            Self::Cleanings(_) => Kind::Cleanings,
            Self::Inspections(_) => Kind::Inspections,
        }
    }

    /// Number of records.
    pub const fn len(&self) -> usize {
        match self {
            Self::Register(rows) => rows.len(),
            Self::Mates(rows) => rows.len(),
            Self::Gaugings(rows) => rows.len(),
            Self::Cleanings(rows) => rows.len(),
            Self::Inspections(rows) => rows.len(),
        }
    }

    /// Whether there is none.
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }
}
