//! Pin position: a magnitude with a word, never a bare sign.

use crate::LabError;
use matewell_quantity::Length;
use std::fmt;

/// Where the centre contact stands relative to its reference plane.
///
/// Makers and tables disagree about the meaning of plus, so the word is part
/// of the value. For type N the reference is the offset datum of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PinPosition {
    /// Behind the reference plane, by a distance of zero or more.
    Recessed(Length),
    /// In front of the reference plane, by more than zero.
    Protruding(Length),
}

impl PinPosition {
    /// Behind the plane.
    ///
    /// # Errors
    ///
    /// [`LabError::SignedPinPosition`] for a negative length.
    pub fn recessed(by: Length) -> Result<Self, LabError> {
        Self::positive(by).map(Self::Recessed)
    }

    /// In front of the plane. Zero becomes recessed by zero: flush.
    ///
    /// # Errors
    ///
    /// [`LabError::SignedPinPosition`] for a negative length.
    pub fn protruding(by: Length) -> Result<Self, LabError> {
        let by = Self::positive(by)?;
        Ok(if by.metres() > 0.0 { Self::Protruding(by) } else { Self::Recessed(by) })
    }

    fn positive(by: Length) -> Result<Length, LabError> {
        if by.metres() >= 0.0 {
            Ok(by)
        } else {
            Err(LabError::SignedPinPosition { found: by.micrometres().to_string() })
        }
    }

    /// Micrometres behind the plane: positive recessed, negative protruding.
    /// For arithmetic inside the core only; people see the word.
    #[must_use]
    pub fn recession_um(self) -> f64 {
        match self {
            Self::Recessed(by) => by.micrometres(),
            Self::Protruding(by) => -by.micrometres(),
        }
    }

    /// The word alone.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Recessed(_) => "recessed",
            Self::Protruding(_) => "protruding",
        }
    }

    /// The distance, zero or more.
    #[must_use]
    pub fn distance(self) -> Length {
        match self {
            Self::Recessed(by) | Self::Protruding(by) => by,
        }
    }
}

impl fmt::Display for PinPosition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} by {}", self.word(), self.distance())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_position_is_a_magnitude_with_a_word() {
        let um = |v| Length::from_micrometres(v).unwrap();
        assert_eq!(PinPosition::protruding(um(62.0)).unwrap().to_string(), "protruding by 62 µm");
        assert!((PinPosition::protruding(um(62.0)).unwrap().recession_um() + 62.0).abs() < 1e-9);
        assert_eq!(PinPosition::protruding(um(0.0)).unwrap().word(), "recessed");
        assert!(PinPosition::recessed(um(-3.0)).is_err());
    }
}
