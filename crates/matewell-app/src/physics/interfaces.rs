//! What the data sheets know of each interface.

use super::read::of_sheet;
use matewell_sheets::{InterfaceSheet, Sheets, Sourced};
use matewell_wire::{InterfaceJson, InterfaceListJson, NumberJson};

/// Which interfaces are there, and with which numbers?
pub fn interfaces(sheets: &Sheets) -> InterfaceListJson {
    InterfaceListJson {
        revision: sheets.revision(),
        interfaces: sheets.interfaces().map(interface).collect(),
    }
}

fn interface(sheet: &InterfaceSheet) -> InterfaceJson {
    let known = [
        ("impedance", Some(&sheet.impedance)),
        ("outer diameter", sheet.outer_diameter.as_ref()),
        ("inner diameter", sheet.inner_diameter.as_ref()),
        ("pin diameter", sheet.pin_diameter.as_ref()),
        ("permittivity", sheet.permittivity.as_ref()),
        ("rated upper frequency", sheet.upper_frequency.as_ref()),
        ("rated mates", sheet.rated_mates.as_ref()),
        ("magnification", Some(&sheet.magnification)),
        ("plane offset", sheet.plane_offset.as_ref()),
    ];
    let dimensions = [&sheet.outer_diameter, &sheet.inner_diameter, &sheet.pin_diameter];
    InterfaceJson {
        interface: sheet.key.clone(),
        name: sheet.name.clone(),
        dielectric: sheet.dielectric.clone(),
        reference_plane: sheet.reference_plane.clone(),
        neutral: sheet.neutral,
        numbers: known.into_iter().filter_map(|(name, sourced)| Some(number(name, sourced?))).collect(),
        has_gap_dimensions: dimensions.iter().all(|d| d.is_some()),
    }
}

fn number(name: &str, sourced: &Sourced) -> NumberJson {
    NumberJson {
        name: name.to_owned(),
        value: sourced.value,
        unit: sourced.unit.clone(),
        standard_uncertainty: None,
        no_uncertainty_because: Some("the data sheet gives none".to_owned()),
        origin: of_sheet(sourced),
    }
}
