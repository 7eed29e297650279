//! What the surroundings do to a line: warmth, weather, slots, as JSON.

use matewell_line::Uncertain;
use matewell_quantity::{Impedance, Length};
use matewell_uncertainty::Estimate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A pin gap after a change of temperature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ThermalJson {
    /// Change of the gap; positive opens it.
    pub gap_change_um: f64,
    /// Its standard uncertainty.
    pub u_gap_change_um: f64,
    /// The gap afterwards, when one was given; below zero the pins touch.
    pub gap_after_um: Option<f64>,
    /// Its standard uncertainty.
    pub u_gap_after_um: Option<f64>,
}

impl ThermalJson {
    /// From the change and the gap after it.
    pub fn new(change: &Uncertain<Length>, after: Option<&Uncertain<Length>>) -> Self {
        Self {
            gap_change_um: change.value().micrometres(),
            u_gap_change_um: change.standard_uncertainty().micrometres(),
            gap_after_um: after.map(|a| a.value().micrometres()),
            u_gap_after_um: after.map(|a| a.standard_uncertainty().micrometres()),
        }
    }
}

/// What moist air does to an air line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AirJson {
    /// Relative permittivity, for `--permittivity`.
    pub relative_permittivity: f64,
    /// Its standard uncertainty.
    pub u_relative_permittivity: f64,
    /// Change of the impedance of a line of 50 Ω in vacuum.
    pub impedance_change_ohm: f64,
    /// Its standard uncertainty.
    pub u_impedance_change_ohm: f64,
}

impl AirJson {
    /// From the permittivity and the change of impedance.
    pub fn new(permittivity: &Estimate, change: &Estimate) -> Self {
        Self {
            relative_permittivity: permittivity.value(),
            u_relative_permittivity: permittivity.standard_uncertainty(),
            impedance_change_ohm: change.value(),
            u_impedance_change_ohm: change.standard_uncertainty(),
        }
    }
}

/// What the slots of a socket do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SlotsJson {
    /// Rise of the impedance along the slotted part.
    pub impedance_change_ohm: f64,
    /// Its standard uncertainty.
    pub u_impedance_change_ohm: f64,
    /// Impedance of the line without slots.
    pub impedance_ohm: f64,
    /// Reflection magnitude at each end of the slotted part.
    pub reflection_magnitude: f64,
    /// Its standard uncertainty.
    pub u_reflection_magnitude: f64,
}

impl SlotsJson {
    /// From the change, the impedance of the line and the reflection of one end.
    pub fn new(
        change: &Uncertain<Impedance>,
        impedance: &Uncertain<Impedance>,
        reflection: &Estimate,
    ) -> Self {
        Self {
            impedance_change_ohm: change.value().ohms(),
            u_impedance_change_ohm: change.standard_uncertainty().ohms(),
            impedance_ohm: impedance.value().ohms(),
            reflection_magnitude: reflection.value(),
            u_reflection_magnitude: reflection.standard_uncertainty(),
        }
    }
}
