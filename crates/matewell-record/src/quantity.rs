//! Lengths and pin positions with their units in the names of the fields.

use crate::RecordError;
use matewell_lab::PinPosition;
use matewell_quantity::Length;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LengthJson {
    /// Micrometres.
    pub um: f64,
    /// The same in metres. Written only when the micrometres do not carry
    /// the last bit, as for some lengths typed in inches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metres: Option<f64>,
}

impl LengthJson {
    /// The written form of a length.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotFinite`] when the micrometres exceed what a number
    /// can hold.
    pub fn of(length: Length) -> Result<Self, RecordError> {
        let um = finite("um", length.micrometres())?;
        let carries = |candidate: &f64| {
            Length::from_micrometres(*candidate)
                .is_ok_and(|read| read.metres().to_bits() == length.metres().to_bits())
        };
        Ok(match [um, um.next_down(), um.next_up()].into_iter().find(carries) {
            Some(um) => Self { um, metres: None },
            None => Self { um, metres: Some(length.metres()) },
        })
    }

    /// The length.
    ///
    /// # Errors
    ///
    /// [`RecordError::LengthsDisagree`] when both units are given and differ
    /// by more than a part in 10¹², and [`RecordError::Quantity`].
    pub fn length(self) -> Result<Length, RecordError> {
        let from_um = Length::from_micrometres(self.um)?;
        let Some(metres) = self.metres else { return Ok(from_um) };
        let length = Length::from_metres(metres)?;
        // Far above the rounding of one multiplication, far below any reading.
        if (from_um.metres() - metres).abs() <= 1e-12 * metres.abs() {
            Ok(length)
        } else {
            Err(RecordError::LengthsDisagree { um: self.um, metres })
        }
    }

    pub(crate) fn of_option(length: Option<Length>) -> Result<Option<Self>, RecordError> {
        length.map(Self::of).transpose()
    }

    pub(crate) fn length_option(length: Option<Self>) -> Result<Option<Length>, RecordError> {
        length.map(Self::length).transpose()
    }
}

/// A pin position: a distance of zero or more and the word that gives it
/// meaning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PinPositionJson {
    /// `recessed` or `protruding`.
    pub word: PinWord,
    /// Micrometres, zero or more.
    pub um: f64,
    /// The same in metres, see [`LengthJson`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metres: Option<f64>,
}

/// On which side of its reference plane a pin stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum PinWord {
    /// Behind the plane.
    Recessed,
    /// In front of the plane.
    Protruding,
}

impl PinPositionJson {
    /// The written form of a pin position.
    ///
    /// # Errors
    ///
    /// As [`LengthJson::of`], and [`RecordError::Lab`] for a position that
    /// its constructors would have refused.
    pub fn of(position: PinPosition) -> Result<Self, RecordError> {
        let LengthJson { um, metres } = LengthJson::of(position.distance())?;
        let word = match position {
            PinPosition::Recessed(_) => PinWord::Recessed,
            PinPosition::Protruding(_) => PinWord::Protruding,
        };
        let written = Self { word, um, metres };
        written.position()?;
        Ok(written)
    }

    /// The pin position. Protruding by zero is read as recessed by zero.
    ///
    /// # Errors
    ///
    /// As [`LengthJson::length`], and [`RecordError::Lab`] for a negative
    /// distance.
    pub fn position(&self) -> Result<PinPosition, RecordError> {
        let distance = LengthJson { um: self.um, metres: self.metres }.length()?;
        Ok(match self.word {
            PinWord::Recessed => PinPosition::recessed(distance)?,
            PinWord::Protruding => PinPosition::protruding(distance)?,
        })
    }
}

/// The number, unless it is NaN or infinite, which JSON cannot write.
pub(crate) fn finite(field: &'static str, value: f64) -> Result<f64, RecordError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(RecordError::NotFinite { field, found: value.to_string() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_round_number_of_micrometres_stays_round() {
        for tenths in 0..20_000 {
            let um = f64::from(tenths) / 10.0;
            let written = LengthJson::of(Length::from_micrometres(um).unwrap()).unwrap();
            assert!(written.metres.is_none() && (written.um - um).abs() <= um * f64::EPSILON, "{written:?}");
        }
    }

    #[test]
    fn two_units_that_disagree_are_refused() {
        let both = LengthJson { um: 12.0, metres: Some(12.1e-6) };
        assert!(matches!(both.length(), Err(RecordError::LengthsDisagree { .. })));
    }

    #[test]
    fn a_pin_position_needs_a_word_and_no_sign() {
        let read = |text| serde_json::from_str::<PinPositionJson>(text).map(|json| json.position());
        assert!(matches!(read(r#"{"word":"recessed","um":12.0}"#), Ok(Ok(PinPosition::Recessed(_)))));
        assert!(matches!(read(r#"{"word":"recessed","um":-12.0}"#), Ok(Err(RecordError::Lab(_)))));
        assert!(read(r#"{"um":12.0}"#).is_err());
        assert!(read(r#"{"word":"recessed","um":12.0,"mil":0.5}"#).is_err());
        let built_by_hand = PinPosition::Recessed(Length::from_micrometres(-1.0).unwrap());
        assert!(PinPositionJson::of(built_by_hand).is_err());
    }

    proptest! {
        #[test]
        fn every_bit_of_a_length_survives(metres in -1e3..1e3_f64) {
            let length = Length::from_metres(metres).unwrap();
            let text = serde_json::to_string(&LengthJson::of(length).unwrap()).unwrap();
            let read = serde_json::from_str::<LengthJson>(&text).unwrap().length().unwrap();
            prop_assert_eq!(read.metres().to_bits(), metres.to_bits());
        }
    }
}
