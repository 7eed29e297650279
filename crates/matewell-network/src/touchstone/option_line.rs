//! The option line: `# unit parameter format R n`, in any order.

use super::number;
use super::read::{OptionLine, Place, readable};
use super::warning::WarningKind;
use super::{Format, FrequencyUnit, Parameter};
use crate::error::{ReadError, ReadReason};
use crate::sweep::MOST_PORTS;

/// Reads the line from its `#` on.
///
/// One number after `R` is version 1.0 and may be followed by other options;
/// several are version 1.1 and must end the line.
pub(super) fn parse(text: &[u8], start: usize, place: &mut Place) -> Result<OptionLine, ReadError> {
    let mut unit = None;
    let mut parameter = None;
    let mut format = None;
    let mut references: Vec<f64> = Vec::new();
    let mut tokens = Tokens { text, position: 1 };
    while let Some((at, token)) = tokens.next() {
        let found = readable(token);
        let repeated =
            |what| place.error(start + at, ReadReason::RepeatedOption { what, found: found.clone() });
        let word = found.to_ascii_uppercase();
        match word.as_str() {
            "HZ" | "KHZ" | "MHZ" | "GHZ" => {
                let value = match word.as_str() {
                    "HZ" => FrequencyUnit::Hz,
                    "KHZ" => FrequencyUnit::Khz,
                    "MHZ" => FrequencyUnit::Mhz,
                    _ => FrequencyUnit::Ghz,
                };
                if unit.replace(value).is_some() {
                    return Err(repeated("unit"));
                }
            }
            "S" | "Y" | "Z" | "H" | "G" => {
                let value = match word.as_str() {
                    "S" => Parameter::S,
                    "Y" => Parameter::Y,
                    "Z" => Parameter::Z,
                    "H" => Parameter::H,
                    _ => Parameter::G,
                };
                if parameter.replace(value).is_some() {
                    return Err(repeated("parameter"));
                }
            }
            "RI" | "MA" | "DB" => {
                let value = match word.as_str() {
                    "RI" => Format::RealImaginary,
                    "MA" => Format::MagnitudeAngle,
                    _ => Format::DecibelAngle,
                };
                if format.replace(value).is_some() {
                    return Err(repeated("format"));
                }
            }
            "R" => {
                if !references.is_empty() {
                    return Err(repeated("R"));
                }
                references = impedances(&mut tokens, start, place)?;
            }
            _ => return Err(place.error(start + at, ReadReason::UnknownOption { found })),
        }
    }
    for (missing, what, value) in [
        (unit.is_none(), "unit", "GHz"),
        (parameter.is_none(), "parameter", "S"),
        (format.is_none(), "format", "MA"),
        (references.is_empty(), "reference", "R 50"),
    ] {
        if missing {
            place.doubt(start, WarningKind::DefaultUsed { what, value })?;
        }
    }
    if references.is_empty() {
        references.push(50.0);
    }
    Ok(OptionLine {
        unit: unit.unwrap_or(FrequencyUnit::Ghz),
        parameter: parameter.unwrap_or(Parameter::S),
        format: format.unwrap_or(Format::MagnitudeAngle),
        references,
    })
}

fn impedances(tokens: &mut Tokens<'_>, start: usize, place: &Place) -> Result<Vec<f64>, ReadError> {
    let mut references = Vec::new();
    while let Some((at, token)) = tokens.peek() {
        let bad = || place.error(start + at, ReadReason::BadReference { found: readable(token) });
        match number::decimal(token, 0) {
            Ok(z) if z > 0.0 => references.push(z),
            // Other options may follow a single impedance.
            Err(_) if references.len() == 1 && token.first().is_some_and(u8::is_ascii_alphabetic) => break,
            _ => return Err(bad()),
        }
        if references.len() > MOST_PORTS {
            return Err(place.error(start + at, ReadReason::TooManyPorts { found: references.len() }));
        }
        tokens.next();
    }
    if references.is_empty() {
        return Err(place.error(start, ReadReason::BadReference { found: "nothing after R".to_owned() }));
    }
    Ok(references)
}

struct Tokens<'a> {
    text: &'a [u8],
    position: usize,
}

impl<'a> Tokens<'a> {
    fn peek(&self) -> Option<(usize, &'a [u8])> {
        let rest = self.text.get(self.position..)?;
        let skip = rest.iter().position(|b| !b.is_ascii_whitespace())?;
        let token = rest.get(skip..)?.split(u8::is_ascii_whitespace).next()?;
        Some((self.position + skip, token))
    }

    fn next(&mut self) -> Option<(usize, &'a [u8])> {
        let (at, token) = self.peek()?;
        self.position = at + token.len();
        Some((at, token))
    }
}
