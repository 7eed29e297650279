//! A pin depth cell: number, unit, word, sign.

use crate::{
    mapping::{DecimalSign, PositiveMeans},
    number::{NumberTrouble, read_number},
    words::{DepthWord, LengthUnit},
};
use matewell_quantity::{Length, split_number_and_unit};

/// Where a pin stands. The length is a magnitude, never negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PinPosition {
    /// Behind the reference plane by this much.
    Recessed(Length),
    /// In front of the reference plane by this much.
    Protruding(Length),
    /// At the reference plane: zero was written.
    Flush,
}

/// Why a cell is no pin position yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DepthTrouble {
    /// The unit must be asked.
    NeedsUnit,
    /// The sign convention must be asked.
    NeedsConvention,
    /// The decimal sign must be asked.
    NeedsDecimalSign,
    /// Not understood; the text says what was expected.
    Wrong(&'static str),
}

/// What is known about a column of pin depths besides its cells.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct DepthColumn {
    /// Unit from the header or the answers.
    pub unit: Option<LengthUnit>,
    /// Word from the header.
    pub word: Option<DepthWord>,
    /// The answer to whose sign convention.
    pub positive_means: Option<PositiveMeans>,
    /// The decimal sign, if known.
    pub decimal: Option<DecimalSign>,
}

/// Largest believable magnitude: 1 mm, some twenty times the recession limits of any interface.
const BELIEVABLE_MILLIMETRES: f64 = 1.0;

/// Reads one pin depth. The unit and the word of the cell go before those of
/// the column. A bare sign is never accepted without the convention, and never
/// together with a word.
///
/// # Errors
///
/// [`DepthTrouble`].
pub fn read_pin_position(text: &str, column: DepthColumn) -> Result<PinPosition, DepthTrouble> {
    let mut cell_word = None;
    let mut kept = Vec::new();
    for part in text.split_whitespace() {
        let bare = part.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
        match DepthWord::from_token(&bare) {
            Some(word) if cell_word.is_some_and(|known| known != word) => {
                return Err(DepthTrouble::Wrong("one of the words recessed and protruding, not both"));
            }
            Some(word) => cell_word = Some(word),
            None => kept.push(part),
        }
    }
    let kept = kept.join(" ").replace("- ", "-").replace("\u{2212} ", "-");
    let (number, unit) = split_number_and_unit(&kept);
    let unit = if unit.is_empty() {
        column.unit
    } else {
        Some(
            LengthUnit::from_text(unit)
                .ok_or(DepthTrouble::Wrong("a length in µm, mm, mil or in, with at most a word"))?,
        )
    };
    let value = read_number(number, column.decimal).map_err(|trouble| match trouble {
        NumberTrouble::NotANumber => DepthTrouble::Wrong("a length such as 12 µm recessed"),
        NumberTrouble::Ambiguous => DepthTrouble::NeedsDecimalSign,
    })?;
    if value == 0.0 {
        return Ok(PinPosition::Flush);
    }
    let unit = unit.ok_or(DepthTrouble::NeedsUnit)?;
    let word = match (cell_word.or(column.word), column.positive_means) {
        (Some(_), _) if value < 0.0 => {
            return Err(DepthTrouble::Wrong(
                "a magnitude without a sign beside the word recessed or protruding",
            ));
        }
        (Some(word), _) => word,
        (None, None) => return Err(DepthTrouble::NeedsConvention),
        (None, Some(PositiveMeans::Recessed)) if value > 0.0 => DepthWord::Recessed,
        (None, Some(PositiveMeans::Protruding)) if value < 0.0 => DepthWord::Recessed,
        (None, Some(_)) => DepthWord::Protruding,
    };
    let length = unit.length(value.abs()).map_err(|_| DepthTrouble::Wrong("a finite length"))?;
    if length.millimetres() > BELIEVABLE_MILLIMETRES {
        return Err(DepthTrouble::Wrong("a pin depth of at most 1 mm (is the unit right?)"));
    }
    Ok(match word {
        DepthWord::Recessed => PinPosition::Recessed(length),
        DepthWord::Protruding => PinPosition::Protruding(length),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(position: PinPosition) -> f64 {
        match position {
            PinPosition::Recessed(length) => length.micrometres(),
            PinPosition::Protruding(length) => -length.micrometres(),
            PinPosition::Flush => 0.0,
        }
    }

    #[test]
    fn a_sign_without_its_convention_is_asked_never_guessed() {
        let bare = DepthColumn { unit: Some(LengthUnit::Micrometre), ..DepthColumn::default() };
        assert_eq!(read_pin_position("-12", bare), Err(DepthTrouble::NeedsConvention));
        assert_eq!(read_pin_position("12", bare), Err(DepthTrouble::NeedsConvention));
        assert_eq!(read_pin_position("12", DepthColumn::default()), Err(DepthTrouble::NeedsUnit));
        let recessed = DepthColumn { positive_means: Some(PositiveMeans::Recessed), ..bare };
        let protruding = DepthColumn { positive_means: Some(PositiveMeans::Protruding), ..bare };
        assert!((um(read_pin_position("-12", recessed).unwrap()) + 12.0).abs() < 1e-9);
        assert!((um(read_pin_position("-12", protruding).unwrap()) - 12.0).abs() < 1e-9);
        assert_eq!(read_pin_position("0", bare), Ok(PinPosition::Flush));
    }

    #[test]
    fn words_and_units_of_the_cell_go_first() {
        let none = DepthColumn::default();
        assert!((um(read_pin_position("12 µm recessed", none).unwrap()) - 12.0).abs() < 1e-9);
        assert!((um(read_pin_position("0.5 mil proud", none).unwrap()) + 12.7).abs() < 1e-9);
        assert!((um(read_pin_position("rec. 12,5um", none).unwrap()) - 12.5).abs() < 1e-9);
        for wrong in
            ["-12 µm recessed", "3 mm recessed", "12 GHz recessed", "12 µm recessed proud", "recessed"]
        {
            assert!(matches!(read_pin_position(wrong, none), Err(DepthTrouble::Wrong(_))), "{wrong}");
        }
    }
}
