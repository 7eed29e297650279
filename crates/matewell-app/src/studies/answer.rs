//! What the studies share: options as numbers, findings, inputs.

use crate::{AppError, error::field};
use matewell_quantity::{parse_number, split_number_and_unit};
use matewell_study::StudyError;
use matewell_wire::{NumberJson, OriginJson, StudyFindingJson};

/// An error of the computation, which names its quantity itself.
pub(crate) fn study_error(error: StudyError) -> AppError {
    field("file")(error)
}

pub(crate) fn finding(code: &str, weight: &str, text: impl Into<String>) -> StudyFindingJson {
    StudyFindingJson { code: code.to_owned(), weight: weight.to_owned(), text: text.into() }
}

pub(crate) fn origin(source: &str, locator: &str, evidence: &str) -> OriginJson {
    OriginJson { source: source.to_owned(), locator: locator.to_owned(), evidence: evidence.to_owned() }
}

/// A number that was used, without an uncertainty for the reason given.
pub(crate) fn input(name: &str, value: f64, unit: &str, origin: OriginJson) -> NumberJson {
    let why = match origin.source.as_str() {
        "asked" => "chosen by the person who asked",
        "default" => "a default",
        _ => "the source gives none",
    };
    NumberJson {
        name: name.to_owned(),
        value,
        unit: unit.to_owned(),
        standard_uncertainty: None,
        no_uncertainty_because: Some(why.to_owned()),
        origin,
    }
}

/// An option that is a plain number.
pub(crate) fn number(name: &'static str, text: Option<&str>) -> Result<Option<f64>, AppError> {
    text.map(|t| parse_number(t).map_err(field(name))).transpose()
}

/// An option with a default; both are told in the inputs.
pub(crate) fn number_or(
    name: &'static str,
    text: Option<&str>,
    default: (f64, &str),
    inputs: &mut Vec<NumberJson>,
) -> Result<f64, AppError> {
    let words = name.replace('_', " ");
    if let Some(value) = number(name, text)? {
        inputs.push(input(&words, value, "1", origin("asked", text.unwrap_or_default().trim(), "asked")));
        return Ok(value);
    }
    inputs.push(input(&words, default.0, "1", origin("default", default.1, "common practice")));
    Ok(default.0)
}

/// An option in percent, with or without the sign.
pub(crate) fn percent(name: &'static str, text: Option<&str>) -> Result<Option<f64>, AppError> {
    let Some(text) = text else { return Ok(None) };
    let (number, unit) = split_number_and_unit(text);
    if !matches!(unit, "" | "%") {
        return Err(field(name)(format!(
            "expected a number in percent such as 0.25%, found \"{}\"",
            text.trim()
        )));
    }
    parse_number(number).map(Some).map_err(field(name))
}

/// An option in the unit of the readings.
pub(crate) fn in_unit(name: &'static str, text: Option<&str>, unit: &str) -> Result<Option<f64>, AppError> {
    let Some(text) = text else { return Ok(None) };
    match unit {
        "um" => {
            let length: matewell_quantity::Length = text.parse().map_err(field(name))?;
            Ok(Some(length.micrometres()))
        }
        "N.m" => {
            let torque: matewell_quantity::Torque = text.parse().map_err(field(name))?;
            Ok(Some(torque.newton_metres()))
        }
        _ => {
            let (number, found) = split_number_and_unit(text);
            if found == unit || (unit == "1" && found.is_empty()) {
                return parse_number(number).map(Some).map_err(field(name));
            }
            let example = if unit == "1" { "12.5".to_owned() } else { format!("12.5{unit}") };
            Err(field(name)(format!("expected a number such as {example}, found \"{}\"", text.trim())))
        }
    }
}

/// A finite number; JSON has no other.
pub(crate) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// A few significant digits for sentences.
pub(crate) fn short(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 {
        return "0".to_owned();
    }
    if !(1e-4..1e6).contains(&size) {
        return format!("{value:.3e}");
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0..=8")]
    let decimals = (3.0 - size.log10().floor()).clamp(0.0, 8.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The unit as people write it, with a space before it; nothing for a plain number.
pub(crate) fn unit_text(unit: &str) -> String {
    match unit {
        "1" => String::new(),
        "um" => " µm".to_owned(),
        "N.m" => " N·m".to_owned(),
        "ohm" => " \u{3a9}".to_owned(),
        other => format!(" {other}"),
    }
}
