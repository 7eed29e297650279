//! The bracketed keywords of version 2 and what they fix.

use super::read::{Keywords, OptionLine, Place};
use super::{Header, MatrixFormat, Mode, TwoPortOrder, Version};
use crate::error::{ReadError, ReadReason};
use crate::sweep::MOST_PORTS;

/// Applies one keyword; true when a list of references follows.
pub(super) fn apply(
    name: &str,
    argument: &str,
    start: usize,
    place: &Place,
    keywords: &mut Keywords,
) -> Result<bool, ReadError> {
    let bad = |keyword, expected| {
        place.error(start, ReadReason::BadArgument { keyword, expected, found: argument.to_owned() })
    };
    let count = |keyword| match argument.parse::<usize>() {
        Ok(n) if n > 0 && argument.bytes().all(|b| b.is_ascii_digit()) => Ok(n),
        _ => Err(bad(keyword, "a whole number above 0")),
    };
    let twice = match name {
        "version" => {
            let version = match argument {
                "2.0" => Version::V2_0,
                "2.1" => Version::V2_1,
                _ => {
                    return Err(place.error(start, ReadReason::UnknownVersion { found: argument.to_owned() }));
                }
            };
            keywords.version.replace(version).is_some()
        }
        "number of ports" => {
            let ports = count("Number of Ports")?;
            if ports > MOST_PORTS {
                return Err(place.error(start, ReadReason::TooManyPorts { found: ports }));
            }
            keywords.ports.replace(ports).is_some()
        }
        "two-port data order" | "two-port order" => {
            let order = match argument {
                "12_21" => TwoPortOrder::RowByRow,
                "21_12" => TwoPortOrder::ColumnByColumn,
                _ => return Err(bad("Two-Port Data Order", "12_21 or 21_12")),
            };
            keywords.two_port_order.replace(order).is_some()
        }
        "number of frequencies" => keywords.frequencies.replace(count("Number of Frequencies")?).is_some(),
        "number of noise frequencies" => {
            keywords.noise_frequencies.replace(count("Number of Noise Frequencies")?).is_some()
        }
        "reference" => {
            if keywords.references.is_some() {
                return Err(second(place, start, name));
            }
            return Ok(true);
        }
        "matrix format" => {
            let format = match argument.to_ascii_lowercase().as_str() {
                "full" => MatrixFormat::Full,
                "lower" => MatrixFormat::Lower,
                "upper" => MatrixFormat::Upper,
                _ => return Err(bad("Matrix Format", "Full, Lower or Upper")),
            };
            keywords.matrix_format.replace(format).is_some()
        }
        "mixed-mode order" => {
            let order =
                modes(argument).ok_or_else(|| bad("Mixed-Mode Order", "entries such as D2,3 C2,3 S1"))?;
            keywords.mode_order.replace(order).is_some()
        }
        _ => {
            return Err(place.error(
                start,
                ReadReason::Keyword {
                    expected: "expected a keyword of version 2.0 or 2.1",
                    found: name.to_owned(),
                },
            ));
        }
    };
    if twice { Err(second(place, start, name)) } else { Ok(false) }
}

fn second(place: &Place, start: usize, name: &str) -> ReadError {
    place.error(start, ReadReason::Keyword { expected: "expected it once", found: name.to_owned() })
}

fn modes(argument: &str) -> Option<Vec<Mode>> {
    let mut order = Vec::new();
    for token in argument.split_whitespace() {
        let (letter, ports) = token.split_at_checked(1)?;
        let number = |text: &str| text.parse::<usize>().ok().filter(|p| (1..=MOST_PORTS).contains(p));
        let mode = match letter {
            "S" | "s" => Mode::Single(number(ports)?),
            _ => {
                let (p, q) = ports.split_once(',')?;
                let (p, q) = (number(p)?, number(q)?);
                match letter {
                    "D" | "d" => Mode::Differential(p, q),
                    "C" | "c" => Mode::Common(p, q),
                    _ => return None,
                }
            }
        };
        order.push(mode);
    }
    if order.is_empty() { None } else { Some(order) }
}

/// The header as far as it is known before the numbers; in version 1.0 the
/// references are repeated once the number of ports is known.
pub(super) fn header(
    keywords: &Keywords,
    option_line: &OptionLine,
    comments: &[String],
    position: usize,
    place: &Place,
) -> Result<Header, ReadError> {
    let missing = |keyword| Err(place.error(position, ReadReason::MissingKeyword { keyword }));
    let several = option_line.references.len() > 1;
    let version = match keywords.version {
        Some(version) => version,
        None if several => Version::V1_1,
        None => Version::V1_0,
    };
    let mut references = option_line.references.clone();
    if version.has_keywords() {
        let Some(ports) = keywords.ports else {
            return missing("Number of Ports");
        };
        if keywords.frequencies.is_none() {
            return missing("Number of Frequencies");
        }
        if ports == 2 && keywords.two_port_order.is_none() {
            return missing("Two-Port Data Order");
        }
        if several {
            return Err(place.error(
                position,
                ReadReason::Keyword {
                    expected: "expected per-port references here, not on the option line",
                    found: "reference".to_owned(),
                },
            ));
        }
        references = match &keywords.references {
            Some(list) if list.len() == ports => list.clone(),
            Some(list) => {
                return Err(
                    place.error(position, ReadReason::ReferenceCount { expected: ports, found: list.len() })
                );
            }
            None => references.repeat(ports),
        };
    }
    Ok(Header {
        version,
        unit: option_line.unit,
        parameter: option_line.parameter,
        format: option_line.format,
        references,
        two_port_order: keywords.two_port_order.unwrap_or(TwoPortOrder::ColumnByColumn),
        matrix_format: keywords.matrix_format.unwrap_or(MatrixFormat::Full),
        mode_order: keywords.mode_order.clone(),
        comments: comments.to_vec(),
    })
}
