//! The words of headers and cells: units, sides, kinds, sexes.
//! English, and the German of many a bench; common practice, no source.

use matewell_quantity::{Length, QuantityError, Torque};
use serde::{Deserialize, Serialize};

/// A text in lower case, split at everything that is neither letter nor digit.
pub(crate) fn tokens(text: &str) -> Vec<String> {
    let lower = text.to_lowercase().replace('\u{3bc}', "\u{b5}");
    lower.split(|c: char| !c.is_alphanumeric()).filter(|token| !token.is_empty()).map(str::to_owned).collect()
}

/// The unit of a pin depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LengthUnit {
    /// µm
    Micrometre,
    /// mm
    Millimetre,
    /// Thousandth of an inch.
    Mil,
    /// Inch.
    Inch,
}

impl LengthUnit {
    /// The unit as people write it: `µm`, `um`, `micron`, `mm`, `mil`, `thou`, `in`, `inch`, `"`.
    pub fn from_text(text: &str) -> Option<Self> {
        let text = text.trim().trim_end_matches('.').to_lowercase().replace('\u{3bc}', "\u{b5}");
        match text.as_str() {
            "um" | "\u{b5}m" | "micron" | "microns" | "micrometre" | "micrometer" | "micrometres"
            | "micrometers" => Some(Self::Micrometre),
            "mm" | "millimetre" | "millimeter" => Some(Self::Millimetre),
            "mil" | "mils" | "thou" => Some(Self::Mil),
            "in" | "inch" | "inches" | "\"" | "zoll" => Some(Self::Inch),
            _ => None,
        }
    }

    /// The symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Micrometre => "µm",
            Self::Millimetre => "mm",
            Self::Mil => "mil",
            Self::Inch => "in",
        }
    }

    /// A length of this many units.
    ///
    /// # Errors
    ///
    /// [`QuantityError::NotFinite`].
    pub fn length(self, number: f64) -> Result<Length, QuantityError> {
        match self {
            Self::Micrometre => Length::from_micrometres(number),
            Self::Millimetre => Length::from_millimetres(number),
            Self::Mil => Length::from_mils(number),
            Self::Inch => Length::from_inches(number),
        }
    }
}

/// Which way a pin stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DepthWord {
    /// Behind the reference plane.
    Recessed,
    /// In front of the reference plane.
    Protruding,
}

impl DepthWord {
    /// The word a text holds, if it holds one of the two kinds only.
    pub fn from_text(text: &str) -> Option<Self> {
        let found: Vec<Self> = tokens(text).iter().filter_map(|token| Self::from_token(token)).collect();
        let first = *found.first()?;
        found.iter().all(|word| *word == first).then_some(first)
    }

    /// A single word.
    pub(crate) fn from_token(token: &str) -> Option<Self> {
        match token {
            "recessed" | "recession" | "recess" | "rec" | "below" | "r\u{fc}ckstand"
            | "zur\u{fc}ckstehend" | "zur\u{fc}ckgesetzt" | "rueckstand" => Some(Self::Recessed),
            "protruding" | "protrusion" | "protrudes" | "protr" | "prot" | "proud" | "above"
            | "\u{fc}berstand" | "vorstehend" | "vorstand" | "ueberstand" => Some(Self::Protruding),
            _ => None,
        }
    }

    /// The word as shown.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Recessed => "recessed",
            Self::Protruding => "protruding",
        }
    }
}

/// The unit named in a header: in brackets, behind a comma or slash, or as a word of its own.
pub fn header_unit(header: &str) -> Option<LengthUnit> {
    let bracketed = header
        .split(['(', '['])
        .skip(1)
        .filter_map(|part| part.split([')', ']']).next())
        .find_map(LengthUnit::from_text);
    let last = || {
        header
            .rsplit([',', '/'])
            .next()
            .filter(|last| last.len() < header.len())
            .and_then(LengthUnit::from_text)
    };
    // "in" is an English word as well: outside brackets it needs to be spelt out.
    let word = || {
        tokens(header).iter().filter(|token| *token != "in").find_map(|token| LengthUnit::from_text(token))
    };
    bracketed.or_else(last).or_else(word)
}

/// The unit of torque in the brackets of a header, such as `N.m`, and where the brackets start.
fn bracketed_torque(header: &str) -> Option<(usize, &str)> {
    let start = header.find(['(', '['])?;
    let unit = header.get(start + 1..)?.split([')', ']']).next()?.trim();
    format!("1 {unit}").parse::<Torque>().ok().map(|_| (start, unit))
}

/// The unit of torque named in a header.
pub(crate) fn header_torque_unit(header: &str) -> Option<&str> {
    bracketed_torque(header).map(|(_, unit)| unit)
}

/// The header in front of a unit of torque, whose points and letters are no words.
pub(crate) fn without_torque_unit(header: &str) -> &str {
    bracketed_torque(header).and_then(|(start, _)| header.get(..start)).unwrap_or(header)
}

/// The end a header speaks of (`End 1`, `Port B`, `Sex 2`), and its other words.
pub(crate) fn end_number(words: &[String]) -> Option<(u8, Vec<String>)> {
    let number = |token: &str| match token {
        "1" | "a" | "i" | "one" | "first" | "left" => Some(1_u8),
        "2" | "b" | "ii" | "two" | "second" | "right" => Some(2),
        "3" | "c" => Some(3),
        "4" | "d" => Some(4),
        _ => None,
    };
    let is_end = |token: &str| {
        matches!(
            token,
            "end" | "port" | "side" | "connector" | "conn" | "ende" | "seite" | "anschluss" | "stecker"
        )
    };
    for (at, word) in words.iter().enumerate() {
        let pair = match words.get(at + 1) {
            Some(next) if is_end(word) => number(next),
            Some(next) if is_end(next) && !matches!(word.as_str(), "a" | "i") => number(word),
            _ => None,
        };
        if let Some(end) = pair {
            let rest = words.iter().enumerate().filter(|(i, _)| *i != at && *i != at + 1);
            return Some((end, rest.map(|(_, word)| word.clone()).collect()));
        }
        // "end1", "portB" run together
        for stem in ["end", "port", "conn", "connector", "side", "ende", "seite"] {
            if let Some(end) = word.strip_prefix(stem).and_then(number) {
                let rest = words.iter().enumerate().filter(|(i, _)| *i != at);
                return Some((end, rest.map(|(_, word)| word.clone()).collect()));
            }
        }
    }
    // "Interface 1", "Sex 2": a number of its own behind other words
    let (last, rest) = words.split_last()?;
    match last.as_str() {
        "1" | "2" | "3" | "4" | "a" | "b" if !rest.is_empty() => Some((number(last)?, rest.to_vec())),
        _ => None,
    }
}
