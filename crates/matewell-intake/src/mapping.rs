//! Which column stands for what: guessed, shown, corrected, saved.

use crate::{
    error::IntakeError,
    phrases::best_phrase,
    table::Table,
    words::{DepthWord, LengthUnit, header_unit},
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

macro_rules! words_enum {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$vdoc])* $variant),+ }
        impl $name {
            /// All of them, in the order they are offered.
            pub const ALL: &[Self] = &[$(Self::$variant),+];
        }
    };
}

words_enum! {
    /// What one row of a table records.
    Kind {
        /// Items and their ends.
        Register,
        /// Two ends were put together.
        Mates,
        /// A pin depth was read.
        Gaugings,
        /// An end was cleaned.
        Cleanings,
        /// An end was looked at.
        Inspections,
    }
}

words_enum! {
    /// Our fields.
    Field {
        /// Tag of the item.
        ItemTag,
        /// Cable, adapter, gauge and so on.
        ItemKind,
        /// Free text.
        Description,
        /// Type designation, free text.
        Model,
        /// Serial number.
        Serial,
        /// Where it is kept.
        Location,
        /// What it costs, as text.
        Cost,
        /// Currency of the cost.
        Currency,
        /// Tag of an end.
        EndTag,
        /// Name of an end within its item, such as `A` or `2`.
        EndName,
        /// Connector interface.
        Interface,
        /// Pin, socket or sexless.
        Sex,
        /// Grade of the connector.
        Grade,
        /// Slotted or slotless socket.
        Slotting,
        /// Material of the body or nut.
        BodyMaterial,
        /// Nominal impedance.
        Impedance,
        /// Number of mates it is rated for.
        RatedMates,
        /// Upper frequency.
        MaxFrequency,
        /// Date, or date and time.
        Date,
        /// Time of day.
        Time,
        /// Who did it.
        Person,
        /// Torque wrench.
        Wrench,
        /// Set torque.
        Torque,
        /// What for.
        Purpose,
        /// The gauge.
        Gauge,
        /// A reading of the pin depth; several columns may hold one each.
        PinDepth,
        /// Uncertainty of the readings as stated.
        Uncertainty,
        /// Standard uncertainty of a gauge.
        GaugeUncertainty,
        /// Repeatability of a gauge, as a standard deviation.
        Repeatability,
        /// Temperature.
        Temperature,
        /// How it was cleaned.
        Method,
        /// What was seen.
        Finding,
        /// Magnification used.
        Magnification,
        /// Remarks.
        Note,
    }
}

words_enum! {
    /// How sure a guess is.
    Confidence {
        /// A known phrase is among other words.
        Weak,
        /// The header is a known phrase.
        Good,
        /// A person said so.
        Confirmed,
    }
}

words_enum! {
    /// What a positive pin depth means in this table.
    PositiveMeans {
        /// Behind the reference plane.
        Recessed,
        /// In front of the reference plane.
        Protruding,
    }
}

words_enum! {
    /// The order of `03/04/2026`.
    DayOrder {
        /// Day, month, year.
        DayFirst,
        /// Month, day, year.
        MonthFirst,
    }
}

words_enum! {
    /// The sign between whole and fraction.
    DecimalSign {
        /// `12.5`
        Point,
        /// `12,5`
        Comma,
    }
}

words_enum! {
    /// The unit of torques without one.
    TorqueUnit {
        /// N·m
        NewtonMetre,
        /// cN·m
        CentinewtonMetre,
        /// in·lbf
        InchPoundForce,
    }
}

words_enum! {
    /// What to do with a row that is there already.
    DuplicateRule {
        /// An error: nothing is written.
        Refuse,
        /// The row is left out and listed.
        Skip,
        /// Both rows are records of their own.
        Keep,
    }
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ColumnMapping {
    /// The header; it finds the column again in another file.
    pub header: String,
    /// Our field, or none: the column is kept as extra text.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub field: Option<Field>,
    /// The end that the column speaks of, from 1, if the row has several.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub end: Option<u8>,
    /// How sure the guess is.
    pub confidence: Confidence,
    /// The words of the header that led to it.
    #[serde(default)]
    pub because: String,
    /// The unit named in the header.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub unit: Option<LengthUnit>,
    /// The word named in the header (`Recession`).
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub word: Option<DepthWord>,
}

/// What the file itself does not say.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Answers {
    /// Unit of pin depths without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth_unit: Option<LengthUnit>,
    /// Whose sign convention.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub positive_means: Option<PositiveMeans>,
    /// Order of day and month in dates with slashes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day_order: Option<DayOrder>,
    /// Zone of times without one: `UTC`, `+01:00`, `Europe/Berlin`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_zone: Option<String>,
    /// Decimal sign of numbers in text.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<DecimalSign>,
    /// Unit of torques without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub torque_unit: Option<TorqueUnit>,
    /// Who did what has no name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// Currency of costs without one, as three letters of ISO 4217.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// Rows with the same content as an earlier one; asked unless said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub duplicates: Option<DuplicateRule>,
}

/// How a table is read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// What one row records.
    pub kind: Kind,
    /// Number of the header row.
    pub header_row: u32,
    /// What the file does not say.
    #[serde(default)]
    pub answers: Answers,
    /// All columns.
    #[serde(default)]
    pub columns: Vec<ColumnMapping>,
}

impl Mapping {
    /// As text that a person can read and edit.
    ///
    /// # Errors
    ///
    /// [`IntakeError::BrokenMapping`] when a text cannot be written.
    pub fn to_toml(&self) -> Result<String, IntakeError> {
        toml::to_string(self).map_err(|error| IntakeError::BrokenMapping { found: error.to_string() })
    }

    /// From such a text.
    ///
    /// # Errors
    ///
    /// [`IntakeError::BrokenMapping`].
    pub fn from_toml(text: &str) -> Result<Self, IntakeError> {
        toml::from_str(text).map_err(|error| IntakeError::BrokenMapping { found: error.to_string() })
    }

    /// Says which field a column is; a later person overrides an earlier guess.
    /// Returns whether there is a column with this header.
    pub fn set(&mut self, header: &str, field: Option<Field>, end: Option<u8>) -> bool {
        let Some(column) = self.columns.iter_mut().find(|column| column.header == header) else {
            return false;
        };
        column.field = field;
        column.end = end;
        column.confidence = Confidence::Confirmed;
        true
    }
}

/// The most likely mapping of a table for one kind of record.
///
/// Of several columns for one field the surest and then the first is taken;
/// the others stay extra text. Readings of the pin depth may take several.
pub fn guess_mapping(table: &Table, kind: Kind) -> Mapping {
    let header_row = table.header_row.or_else(|| table.rows.first().map(|row| row.number)).unwrap_or(1);
    let headers = table.headers(header_row);
    let guesses: Vec<_> = headers.iter().map(|header| best_phrase(header, kind)).collect();
    let mut order: Vec<usize> = (0..headers.len()).collect();
    order.sort_by_key(|at| {
        std::cmp::Reverse(guesses.get(*at).and_then(Option::as_ref).map(|guess| guess.confidence))
    });
    let mut taken = BTreeSet::new();
    let mut wins = BTreeSet::new();
    for at in order {
        if let Some(Some(guess)) = guesses.get(at)
            && (guess.field == Field::PinDepth || taken.insert((guess.field, guess.end)))
        {
            wins.insert(at);
        }
    }
    let columns = headers
        .into_iter()
        .zip(guesses)
        .enumerate()
        .map(|(at, (header, guess))| {
            let guess = guess.filter(|_| wins.contains(&at));
            let is_depth = guess.as_ref().is_some_and(|g| {
                matches!(
                    g.field,
                    Field::PinDepth | Field::Uncertainty | Field::GaugeUncertainty | Field::Repeatability
                )
            });
            ColumnMapping {
                field: guess.as_ref().map(|guess| guess.field),
                end: guess.as_ref().and_then(|guess| guess.end),
                confidence: guess.as_ref().map_or(Confidence::Weak, |guess| guess.confidence),
                because: guess.map(|guess| guess.words).unwrap_or_default(),
                unit: if is_depth { header_unit(&header) } else { None },
                word: if is_depth { DepthWord::from_text(&header) } else { None },
                header,
            }
        })
        .collect();
    Mapping { kind, header_row, answers: Answers::default(), columns }
}

/// The kind of record that most columns of the table speak of, if two or more do.
pub fn guess_kind(table: &Table) -> Option<Kind> {
    let score = |kind: Kind| {
        let mapping = guess_mapping(table, kind);
        let telling = |column: &&ColumnMapping| match kind {
            Kind::Register => {
                matches!(column.field, Some(Field::Interface | Field::Sex | Field::Location | Field::Serial))
            }
            Kind::Mates => {
                column.field == Some(Field::EndTag) && column.end == Some(2)
                    || column.field == Some(Field::Wrench)
            }
            Kind::Gaugings => matches!(column.field, Some(Field::PinDepth | Field::Gauge)),
            Kind::Cleanings => column.field == Some(Field::Method),
            Kind::Inspections => matches!(column.field, Some(Field::Finding | Field::Magnification)),
        };
        // "End A | End B" beside a date is a log, not a register.
        let is_dated = |column: &ColumnMapping| {
            best_phrase(&column.header, Kind::Mates)
                .is_some_and(|found| found.field == Field::Date && found.confidence == Confidence::Good)
        };
        if kind == Kind::Register && mapping.columns.iter().any(is_dated) {
            return None;
        }
        let known = mapping.columns.iter().filter(|column| column.field.is_some()).count();
        let telling = mapping.columns.iter().filter(telling).count();
        (telling > 0 && known >= 2).then_some(known + 3 * telling)
    };
    let mut best: Option<(usize, Kind)> = None;
    for kind in Kind::ALL {
        if let Some(score) = score(*kind)
            && best.is_none_or(|(known, _)| score > known)
        {
            best = Some((score, *kind));
        }
    }
    best.map(|(_, kind)| kind)
}
