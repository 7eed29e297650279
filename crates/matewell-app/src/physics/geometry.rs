//! The cross-section: typed, or from the data sheet of an interface.

use super::read::{Reader, bad, in_unit};
use crate::AppError;
use matewell_line::{Dimension, Finding, JointGeometry, Line, STANDARD_AIR_PERMITTIVITY, Uncertain};
use matewell_quantity::{Frequency, Length};
use matewell_sheets::{Evidence, InterfaceSheet, Lookup, Sourced};
use matewell_uncertainty::Estimate;
use matewell_wire::{LineFindingJson, LineTexts};

/// Words of the fields, which differ for the second line of a step.
pub(super) struct Fields {
    interface: &'static str,
    outer: &'static str,
    inner: &'static str,
    pin: &'static str,
    permittivity: &'static str,
}

pub(super) const ONE: Fields = Fields {
    interface: "interface",
    outer: "outer",
    inner: "inner",
    pin: "pin",
    permittivity: "permittivity",
};
pub(super) const OTHER: Fields = Fields {
    interface: "other_interface",
    outer: "other_outer",
    inner: "other_inner",
    pin: "other_pin",
    permittivity: "other_permittivity",
};

/// A line, and what its interface is rated for.
pub(super) struct Section {
    pub(super) line: Line,
    pub(super) rated: Option<Frequency>,
}

type Pair<'t> = (Option<&'t str>, Option<&'t str>);

impl<'a> Reader<'a> {
    /// The line; a dimension that nobody knows is a finding.
    pub(super) fn line(
        &mut self,
        texts: &LineTexts<'_>,
        fields: &Fields,
    ) -> Result<Result<Section, Finding>, AppError> {
        let sheet = self.interface(texts.interface, fields.interface)?;
        let outer =
            self.dimension(fields.outer, texts.outer, sheet.and_then(|s| s.outer_diameter.as_ref()))?;
        let inner =
            self.dimension(fields.inner, texts.inner, sheet.and_then(|s| s.inner_diameter.as_ref()))?;
        let known = sheet.is_some();
        let Some(outer) = required(outer, fields.outer, "3.5mm", known)? else {
            return Ok(Err(Finding::UnknownInterface { missing: Dimension::Outer }));
        };
        let Some(inner) = required(inner, fields.inner, "1.52mm", known)? else {
            return Ok(Err(Finding::UnknownInterface { missing: Dimension::Inner }));
        };
        let filling = sheet.and_then(|s| s.permittivity.as_ref());
        let permittivity = self.permittivity(fields.permittivity, texts.permittivity, filling)?;
        let line = Line::new(&outer, &inner)
            .map_err(bad(fields.inner))?
            .filled(permittivity)
            .map_err(bad(fields.permittivity))?;
        let rated = match sheet.and_then(|s| s.upper_frequency.as_ref()) {
            None => None,
            Some(upper) => Some(in_unit(upper).map_err(bad(fields.interface))?),
        };
        Ok(Ok(Section { line, rated }))
    }

    /// The line and the pin that bridges the gap.
    pub(super) fn joint(
        &mut self,
        texts: &LineTexts<'_>,
    ) -> Result<Result<(JointGeometry, Option<Frequency>), Finding>, AppError> {
        let section = match self.line(texts, &ONE)? {
            Ok(section) => section,
            Err(finding) => return Ok(Err(finding)),
        };
        let sheet = self.sheet_of(texts.interface, ONE.interface)?;
        let pin = self.dimension(ONE.pin, texts.pin, sheet.and_then(|s| s.pin_diameter.as_ref()))?;
        let Some(pin) = required(pin, ONE.pin, "0.927mm", sheet.is_some())? else {
            return Ok(Err(Finding::UnknownInterface { missing: Dimension::Pin }));
        };
        let joint = JointGeometry::new(section.line, &pin).map_err(bad(ONE.pin))?;
        Ok(Ok((joint, section.rated)))
    }

    /// Finds the sheet and says when its dimensions are from memory.
    fn interface(
        &mut self,
        name: Option<&str>,
        field: &'static str,
    ) -> Result<Option<&'a InterfaceSheet>, AppError> {
        let sheet = self.sheet_of(name, field)?;
        if let Some(sheet) = sheet {
            let dimensions = [&sheet.outer_diameter, &sheet.inner_diameter, &sheet.pin_diameter];
            let remembered =
                dimensions.iter().filter_map(|d| d.as_ref()).any(|d| d.evidence == Evidence::FromMemory);
            if remembered {
                self.findings.push(LineFindingJson::note(
                    "dimensions-from-memory",
                    format!(
                        "the dimensions of {} are from memory: compare them with the standard",
                        sheet.name
                    ),
                ));
            }
        }
        Ok(sheet)
    }

    fn sheet_of(
        &self,
        name: Option<&str>,
        field: &'static str,
    ) -> Result<Option<&'a InterfaceSheet>, AppError> {
        let Some(name) = name else { return Ok(None) };
        let sheets = self.sheets();
        match sheets.find_interface(name) {
            Lookup::Found(key) => Ok(sheets.interface(&key)),
            Lookup::Ambiguous(keys) => {
                Err(bad(field)(format!("expected one of {}, found \"{}\"", keys.join(", "), name.trim())))
            }
            Lookup::Unknown => {
                let keys: Vec<&str> = sheets.interfaces().map(|i| i.key.as_str()).collect();
                Err(bad(field)(format!("expected one of {}, found \"{}\"", keys.join(", "), name.trim())))
            }
        }
    }

    /// As typed, or else as the sheet says.
    fn dimension(
        &mut self,
        field: &'static str,
        (text, u): Pair<'_>,
        sheet: Option<&Sourced>,
    ) -> Result<Option<Uncertain<Length>>, AppError> {
        if let Some(text) = text {
            return self.diameter(field, text, u).map(Some);
        }
        let Some(sourced) = sheet else { return Ok(None) };
        self.sheet_diameter(field, sourced, u).map(Some)
    }

    /// Relative permittivity: typed, the word `air`, the sheet's, or vacuum.
    pub(super) fn permittivity(
        &mut self,
        field: &'static str,
        (text, u): Pair<'_>,
        sheet: Option<&Sourced>,
    ) -> Result<Estimate, AppError> {
        match (text, sheet) {
            (Some(text), _) if text.trim().eq_ignore_ascii_case("air") => {
                self.default(
                    field,
                    STANDARD_AIR_PERMITTIVITY,
                    "1",
                    "air at 23 °C, 50 % and 1013.25 hPa, from memory",
                );
                Estimate::exact(STANDARD_AIR_PERMITTIVITY).map_err(bad(field))
            }
            (Some(text), _) => self.ratio(field, text, u),
            (None, Some(sourced)) => {
                self.sheet_value(field, sourced);
                Estimate::exact(sourced.value).map_err(bad(field))
            }
            (None, None) => {
                self.default(field, 1.0, "1", "vacuum; the word air gives 1.000649");
                Estimate::exact(1.0).map_err(bad(field))
            }
        }
    }
}

/// With an interface, a missing dimension is a finding; without one it is a
/// question left unasked.
fn required(
    found: Option<Uncertain<Length>>,
    field: &'static str,
    example: &str,
    has_sheet: bool,
) -> Result<Option<Uncertain<Length>>, AppError> {
    if found.is_none() && !has_sheet {
        return Err(bad(field)(format!(
            "expected a diameter such as {example}, or an interface, found nothing"
        )));
    }
    Ok(found)
}
