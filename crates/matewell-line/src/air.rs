//! What fills the line: air by temperature, pressure and humidity.

use crate::{Answer, Finding, IntoUncertain, LineError, uncertain::propagate};
use matewell_quantity::{KELVIN_OFFSET_CELSIUS, TemperatureCelsius};
use matewell_uncertainty::Estimate;

/// Handbook permittivity of air at 23 °C, 50 % relative humidity and
/// 1013.25 hPa. Value from memory; [`air_permittivity`] gives 1.000 651.
pub const STANDARD_AIR_PERMITTIVITY: f64 = 1.000_649;

/// Saturation vapour pressure over water, in hectopascals.
///
/// # Source
///
/// `itu-r-p453`, equation for `e_s` over water with enhancement factor; from
/// memory.
fn saturation_pressure_hpa(t_celsius: f64, pressure_hpa: f64) -> f64 {
    let enhancement = 1.0 + 1e-4 * (7.2 + pressure_hpa * (0.0320 + 5.9e-6 * t_celsius * t_celsius));
    enhancement * 6.1121 * ((18.678 - t_celsius / 234.5) * t_celsius / (t_celsius + 257.14)).exp()
}

/// Radio refractivity in units of 10⁻⁶.
fn refractivity(t_celsius: f64, pressure_hpa: f64, relative_humidity: f64) -> f64 {
    let kelvin = t_celsius + KELVIN_OFFSET_CELSIUS;
    let vapour = relative_humidity * saturation_pressure_hpa(t_celsius, pressure_hpa);
    77.6 * (pressure_hpa - vapour) / kelvin + 72.0 * vapour / kelvin + 3.75e5 * vapour / (kelvin * kelvin)
}

/// Relative permittivity of moist air at radio frequencies.
///
/// `ε_r = (1 + N·10⁻⁶)²`, `N = 77.6 (P − e)/T + 72 e/T + 3.75·10⁵ e/T²`.
///
/// - `temperature`: `T`, in kelvin inside the formula.
/// - `pressure_hpa`: `P`, in hectopascals.
/// - `relative_humidity`: 0 to 1, from which the vapour pressure `e` follows.
///
/// Claimed for 0 to 40 °C and 500 to 1100 hPa here; the effect on a 50 Ω line
/// is about 16 mΩ.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a pressure not above zero or a humidity
/// outside 0 to 1.
///
/// # Source
///
/// `itu-r-p453`, refractivity formula; from memory.
pub fn air_permittivity(
    temperature: impl IntoUncertain<TemperatureCelsius>,
    pressure_hpa: &Estimate,
    relative_humidity: &Estimate,
) -> Result<Answer<Estimate>, LineError> {
    let temperature = temperature.into_uncertain()?;
    let (pressure, humidity) = (pressure_hpa.value(), relative_humidity.value());
    if pressure <= 0.0 {
        return Err(LineError::OutOfRange {
            what: "air pressure in hPa",
            expected: "above zero",
            found: pressure,
        });
    }
    if !(0.0..=1.0).contains(&humidity) {
        return Err(LineError::OutOfRange {
            what: "relative humidity",
            expected: "between 0 and 1",
            found: humidity,
        });
    }
    let value = propagate([temperature.estimate(), pressure_hpa, relative_humidity], |[t, p, h]| {
        (1.0 + 1e-6 * refractivity(*t, *p, *h)).powi(2)
    })?;
    let mut findings = Vec::new();
    let degrees = temperature.value().degrees();
    if !(0.0..=40.0).contains(&degrees) {
        findings.push(Finding::OutsideClaimedRange {
            what: "air temperature in degrees Celsius",
            found: degrees,
        });
    }
    if !(500.0..=1100.0).contains(&pressure) {
        findings.push(Finding::OutsideClaimedRange { what: "air pressure in hPa", found: pressure });
    }
    Ok(Answer { value, findings })
}
