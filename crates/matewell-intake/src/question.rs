//! What the file does not say and a person must.

use crate::{
    error::IntakeError,
    mapping::{Answers, DayOrder, DecimalSign, DuplicateRule, PositiveMeans, TorqueUnit},
    place::Place,
    words::LengthUnit,
};
use std::fmt;

/// What a question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    /// Unit of pin depths.
    DepthUnit,
    /// What a positive pin depth means.
    PositiveMeans,
    /// Order of day and month.
    DayOrder,
    /// Zone of times.
    TimeZone,
    /// Decimal sign.
    Decimal,
    /// Unit of torques.
    TorqueUnit,
    /// Who did what has no name.
    Person,
    /// Currency of costs.
    Currency,
    /// What to do with rows of the same content.
    Duplicates,
}

impl Topic {
    /// All of them.
    pub const ALL: &[Self] = &[
        Self::DepthUnit,
        Self::PositiveMeans,
        Self::DayOrder,
        Self::TimeZone,
        Self::Decimal,
        Self::TorqueUnit,
        Self::Person,
        Self::Currency,
        Self::Duplicates,
    ];

    /// The name of the answer, as in a saved mapping.
    pub const fn key(self) -> &'static str {
        match self {
            Self::DepthUnit => "depth_unit",
            Self::PositiveMeans => "positive_means",
            Self::DayOrder => "day_order",
            Self::TimeZone => "time_zone",
            Self::Decimal => "decimal",
            Self::TorqueUnit => "torque_unit",
            Self::Person => "person",
            Self::Currency => "currency",
            Self::Duplicates => "duplicates",
        }
    }

    /// The question in words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::DepthUnit => "In which unit are the lengths without one?",
            Self::PositiveMeans => {
                "Whose sign convention: does a positive pin depth mean recessed or protruding?"
            }
            Self::DayOrder => "Which comes first in dates like this one, the day or the month?",
            Self::TimeZone => {
                "In which zone are the times of day: UTC, an offset such as +01:00, or a name such as Europe/Berlin?"
            }
            Self::Decimal => "Is the separator in numbers like this one a decimal point or a decimal comma?",
            Self::TorqueUnit => "In which unit are the torques without one?",
            Self::Person => "Who did what has no name beside it?",
            Self::Currency => "In which currency are the costs (three letters of ISO 4217)?",
            Self::Duplicates => {
                "Rows have the same content as earlier ones: refuse the file, skip them, or keep them as records of their own?"
            }
        }
    }

    /// The words an answer may be; none where any text is an answer.
    pub const fn choices(self) -> &'static [&'static str] {
        match self {
            Self::DepthUnit => &["micrometre", "millimetre", "mil", "inch"],
            Self::PositiveMeans => &["recessed", "protruding"],
            Self::DayOrder => &["day_first", "month_first"],
            Self::Decimal => &["point", "comma"],
            Self::TorqueUnit => &["newton_metre", "centinewton_metre", "inch_pound_force"],
            Self::Duplicates => &["refuse", "skip", "keep"],
            Self::TimeZone | Self::Person | Self::Currency => &[],
        }
    }
}

/// One open question, asked once however many cells need it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// What about.
    pub topic: Topic,
    /// The first cell that needs the answer.
    pub place: Place,
    /// What stands there.
    pub example: String,
    /// How many cells need the answer.
    pub cells: usize,
}

impl fmt::Display for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { topic, place, example, cells } = self;
        write!(f, "{place}: {} (found {example:?}; {cells} cells)", topic.text())
    }
}

impl Answers {
    /// Takes an answer in words.
    ///
    /// # Errors
    ///
    /// [`IntakeError::BadAnswer`] with the words that are answers.
    pub fn set(&mut self, topic: Topic, answer: &str) -> Result<(), IntakeError> {
        let answer = answer.trim();
        let bad = |expected: String| IntakeError::BadAnswer {
            topic: topic.key(),
            expected,
            found: answer.to_owned(),
        };
        let word = answer.to_lowercase().replace('-', "_");
        let at = topic.choices().iter().position(|choice| *choice == word);
        let at = match (at, topic.choices()) {
            (None, choices) if !choices.is_empty() => return Err(bad(choices.join(", "))),
            (at, _) => at.unwrap_or(0),
        };
        let first = at == 0;
        match topic {
            Topic::DepthUnit => {
                let units =
                    [LengthUnit::Micrometre, LengthUnit::Millimetre, LengthUnit::Mil, LengthUnit::Inch];
                self.depth_unit = units.get(at).copied();
            }
            Topic::PositiveMeans => {
                self.positive_means =
                    Some(if first { PositiveMeans::Recessed } else { PositiveMeans::Protruding });
            }
            Topic::DayOrder => {
                self.day_order = Some(if first { DayOrder::DayFirst } else { DayOrder::MonthFirst });
            }
            Topic::Decimal => {
                self.decimal = Some(if first { DecimalSign::Point } else { DecimalSign::Comma });
            }
            Topic::TorqueUnit => self.torque_unit = TorqueUnit::ALL.get(at).copied(),
            Topic::Duplicates => self.duplicates = DuplicateRule::ALL.get(at).copied(),
            Topic::TimeZone => {
                if crate::zone::read_zone(answer).is_none() {
                    return Err(bad(
                        "UTC, an offset such as +01:00 or an IANA name such as Europe/Berlin".to_owned()
                    ));
                }
                self.time_zone = Some(answer.to_owned());
            }
            Topic::Currency => {
                if !crate::register::is_currency(answer) {
                    return Err(bad("three capital letters of ISO 4217 such as EUR".to_owned()));
                }
                self.currency = Some(answer.to_owned());
            }
            Topic::Person => {
                if answer.is_empty() {
                    return Err(bad("a name".to_owned()));
                }
                self.person = Some(answer.to_owned());
            }
        }
        Ok(())
    }
}
