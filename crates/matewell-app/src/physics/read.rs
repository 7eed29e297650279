//! Typed texts into quantities, with a record of what was used.

use crate::AppError;
use matewell_line::{BaseUnit, LineError, Uncertain, linear_frequencies};
use matewell_quantity::{Frequency, Length, QuantityError, parse_number, split_number_and_unit};
use matewell_sheets::{Sheets, Sourced};
use matewell_uncertainty::{Estimate, InputId};
use matewell_wire::{LineFindingJson, NumberJson, OriginJson};
use std::str::FromStr;

/// More points than a picture can show.
const MOST_POINTS: usize = 2001;
/// Points of a sweep that names none.
const USUAL_POINTS: usize = 101;

/// Names the field of an error.
pub(super) fn bad<E: std::fmt::Display>(field: &'static str) -> impl Fn(E) -> AppError {
    move |error| AppError::Field { field, message: error.to_string() }
}

/// An error of a formula, which names its quantity itself.
pub(super) fn line_error(error: LineError) -> AppError {
    bad("line")(error)
}

/// Twelve digits: what a person typed, without the dust of unit conversion.
fn swept(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// Where texts become quantities; remembers what was used.
pub(super) struct Reader<'a> {
    sheets: &'a Sheets,
    pub(super) inputs: Vec<NumberJson>,
    pub(super) findings: Vec<LineFindingJson>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(sheets: &'a Sheets) -> Self {
        Self { sheets, inputs: Vec::new(), findings: Vec::new() }
    }

    pub(super) fn sheets(&self) -> &'a Sheets {
        self.sheets
    }

    fn note(&mut self, name: &str, value: f64, u: Option<f64>, unit: &str, origin: OriginJson) {
        let because = match (u, origin.source.as_str()) {
            (Some(_), _) => None,
            (None, "asked") => Some("none was given, so the value counts as exact"),
            (None, "default") => Some("a default"),
            (None, _) => Some("the data sheet gives none, so the value counts as exact"),
        };
        self.inputs.push(NumberJson {
            name: name.replace('_', " "),
            value: swept(value),
            unit: unit.to_owned(),
            standard_uncertainty: u.map(swept),
            no_uncertainty_because: because.map(str::to_owned),
            origin,
        });
    }

    /// A quantity and its uncertainty. `show` gives the value in `unit`.
    fn quantity<Q: BaseUnit + FromStr<Err = QuantityError>>(
        &mut self,
        name: &'static str,
        (text, u): (&str, Option<&str>),
        unit: &str,
        show: impl Fn(Q) -> f64,
    ) -> Result<Uncertain<Q>, AppError> {
        let value: Q = text.parse().map_err(bad(name))?;
        let uncertainty: Option<Q> = u.map(str::parse).transpose().map_err(bad(name))?;
        self.note(name, show(value), uncertainty.map(&show), unit, asked(text));
        match uncertainty {
            None => Uncertain::exact(value),
            Some(u) => Uncertain::input(InputId::new(name), value, u, f64::INFINITY),
        }
        .map_err(bad(name))
    }

    pub(super) fn length(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
    ) -> Result<Uncertain<Length>, AppError> {
        self.quantity(name, (text, u), "um", Length::micrometres)
    }

    pub(super) fn diameter(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
    ) -> Result<Uncertain<Length>, AppError> {
        self.quantity(name, (text, u), "mm", Length::millimetres)
    }

    pub(super) fn frequency(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
    ) -> Result<Uncertain<Frequency>, AppError> {
        self.quantity(name, (text, u), "Hz", Frequency::hertz)
    }

    /// The frequency asked, or the upper end of the sweep.
    pub(super) fn at(
        &mut self,
        at: Option<&str>,
        u: Option<&str>,
        sweep: Option<&Sweep>,
    ) -> Result<Uncertain<Frequency>, AppError> {
        match (at, sweep) {
            (Some(at), _) => self.frequency("at", at, u),
            (None, Some(sweep)) => {
                self.note("at", sweep.to.hertz(), None, "Hz", default_of("upper end of the sweep"));
                Uncertain::exact(sweep.to).map_err(bad("at"))
            }
            (None, None) => Err(bad("at")("expected a frequency such as 18GHz or a sweep, found nothing")),
        }
    }

    /// A number with an optional unit of its own: `units` maps the unit as
    /// typed to a factor into `unit`.
    pub(super) fn number(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
        unit: &'static str,
        units: &[(&str, f64)],
    ) -> Result<Estimate, AppError> {
        let value = scaled(text, units).map_err(bad(name))?;
        let uncertainty = u.map(|u| scaled(u, units)).transpose().map_err(bad(name))?;
        self.note(name, value, uncertainty, unit, asked(text));
        match uncertainty {
            None => Estimate::exact(value),
            Some(u) => Estimate::input(InputId::new(name), value, u, f64::INFINITY),
        }
        .map_err(bad(name))
    }

    /// A ratio such as a reflection magnitude: no unit.
    pub(super) fn ratio(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
    ) -> Result<Estimate, AppError> {
        self.number(name, text, u, "1", &[("", 1.0)])
    }

    pub(super) fn decibels(
        &mut self,
        name: &'static str,
        text: &str,
        u: Option<&str>,
    ) -> Result<Estimate, AppError> {
        self.number(name, text, u, "dB", &[("dB", 1.0)])
    }

    /// A value nobody asked for, with the reason it is used.
    pub(super) fn default(&mut self, name: &str, value: f64, unit: &str, why: &str) {
        self.note(name, value, None, unit, default_of(why));
    }

    /// A number of the sheets that was used.
    pub(super) fn sheet_value(&mut self, name: &str, sourced: &Sourced) {
        self.note(name, sourced.value, None, &sourced.unit, of_sheet(sourced));
    }

    /// A diameter of the sheets, with an uncertainty where one was asked.
    pub(super) fn sheet_diameter(
        &mut self,
        name: &'static str,
        sourced: &Sourced,
        u: Option<&str>,
    ) -> Result<Uncertain<Length>, AppError> {
        let value: Length = in_unit(sourced).map_err(bad(name))?;
        let u: Option<Length> = u.map(str::parse).transpose().map_err(bad(name))?;
        self.note(name, value.millimetres(), u.map(Length::millimetres), "mm", of_sheet(sourced));
        match u {
            None => Uncertain::exact(value),
            Some(u) => Uncertain::input(InputId::new(name), value, u, f64::INFINITY),
        }
        .map_err(bad(name))
    }
}

fn asked(text: &str) -> OriginJson {
    OriginJson { source: "asked".to_owned(), locator: text.trim().to_owned(), evidence: "asked".to_owned() }
}

pub(super) fn of_sheet(sourced: &Sourced) -> OriginJson {
    OriginJson {
        source: sourced.source.clone(),
        locator: sourced.locator.clone(),
        evidence: sourced.evidence.word().to_owned(),
    }
}

/// Reads a number of a sheet with the unit the sheet names.
pub(super) fn in_unit<Q: FromStr>(sourced: &Sourced) -> Result<Q, Q::Err> {
    format!("{}{}", sourced.value, sourced.unit).parse()
}

fn default_of(why: &str) -> OriginJson {
    OriginJson { source: "default".to_owned(), locator: why.to_owned(), evidence: "default".to_owned() }
}

fn scaled(text: &str, units: &[(&str, f64)]) -> Result<f64, String> {
    let (number, unit) = split_number_and_unit(text);
    let found = units.iter().find(|(u, _)| *u == unit);
    let Some((_, factor)) = found else {
        let known: Vec<&str> = units.iter().map(|(u, _)| if u.is_empty() { "no unit" } else { *u }).collect();
        return Err(format!("expected a number with {}, found \"{}\"", known.join(" or "), text.trim()));
    };
    Ok(parse_number(number).map_err(|e| e.to_string())? * factor)
}

/// A band and its points.
pub(super) struct Sweep {
    pub(super) to: Frequency,
    pub(super) frequencies: Vec<Frequency>,
}

/// `1GHz:26.5GHz:200`.
pub(super) fn sweep(text: Option<&str>) -> Result<Option<Sweep>, AppError> {
    let Some(text) = text else { return Ok(None) };
    let form = || {
        bad("sweep")(format!("expected FROM:TO:POINTS such as 1GHz:26.5GHz:200, found \"{}\"", text.trim()))
    };
    let mut parts = text.split(':');
    let (Some(from), Some(to), points, None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(form());
    };
    let from: Frequency = from.parse().map_err(bad("sweep"))?;
    let to: Frequency = to.parse().map_err(bad("sweep"))?;
    let points = match points {
        None => USUAL_POINTS,
        Some(p) => p.trim().parse().map_err(|_| form())?,
    };
    if points > MOST_POINTS {
        return Err(bad("sweep")(format!("expected at most {MOST_POINTS} points, found {points}")));
    }
    let frequencies = linear_frequencies(from, to, points).map_err(bad("sweep"))?;
    Ok(Some(Sweep { to, frequencies }))
}
