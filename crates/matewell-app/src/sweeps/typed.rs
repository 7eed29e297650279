//! What a person types about sweeps.

use crate::AppError;
use matewell_network::{NetworkError, Sweep, transform::SPEED_OF_LIGHT, window::Window};
use matewell_quantity::{Frequency, parse_number, split_number_and_unit};
use num_complex::Complex64;

/// Names the field of an error.
pub(super) fn bad<E: std::fmt::Display>(field: &'static str) -> impl Fn(E) -> AppError {
    move |error| AppError::Field { field, message: error.to_string() }
}

/// An error of the room `network`, which says what it expected.
pub(super) fn network(field: &'static str) -> impl Fn(NetworkError) -> AppError {
    move |error| AppError::Field { field, message: error.to_string() }
}

/// `S21` or `21`; above nine ports `S10,2`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Parameter {
    pub(super) to: usize,
    pub(super) from: usize,
}

impl Parameter {
    pub(super) fn typed(text: Option<&str>, usual: &str) -> Result<Self, AppError> {
        let text = text.map(str::trim).filter(|t| !t.is_empty()).unwrap_or(usual);
        let wrong =
            || bad("parameter")(format!("expected a parameter such as S11 or S10,2, found \"{text}\""));
        let ports = text.strip_prefix(['S', 's']).unwrap_or(text);
        let (to, from) = match ports.split_once(',') {
            Some((to, from)) => (to.trim(), from.trim()),
            None if ports.len() == 2 && ports.is_ascii() => ports.split_at(1),
            None => return Err(wrong()),
        };
        let port = |t: &str| t.parse::<usize>().ok().filter(|p| (1..=32).contains(p)).ok_or_else(wrong);
        Ok(Self { to: port(to)?, from: port(from)? })
    }

    pub(super) fn of(self, sweep: &Sweep) -> Result<Vec<Complex64>, AppError> {
        sweep.trace(self.to, self.from).map_err(network("parameter"))
    }
}

impl std::fmt::Display for Parameter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.to < 10 && self.from < 10 {
            write!(f, "S{}{}", self.to, self.from)
        } else {
            write!(f, "S{},{}", self.to, self.from)
        }
    }
}

/// A window and its name.
pub(super) fn window(text: Option<&str>) -> Result<(Window, String), AppError> {
    let text = text.map(str::trim).filter(|t| !t.is_empty()).unwrap_or("kaiser6");
    let beta = match text {
        "none" => return Ok((Window::Rectangular, text.to_owned())),
        "hamming" => return Ok((Window::Hamming, text.to_owned())),
        "kaiser6" => 6.0,
        "kaiser13" => 13.0,
        other => {
            let wrong = || {
                bad("window")(format!(
                    "expected none, hamming, kaiser6, kaiser13 or kaiser: and a number, found \"{other}\""
                ))
            };
            let number = other.strip_prefix("kaiser:").ok_or_else(wrong)?;
            parse_number(number.trim()).map_err(|_| wrong())?
        }
    };
    if !(0.0..=30.0).contains(&beta) {
        return Err(bad("window")(format!("expected a shape of 0 to 30, found {beta}")));
    }
    Ok((Window::Kaiser(beta), text.to_owned()))
}

/// A round-trip time: typed as one, or as a distance in a line.
pub(super) fn round_trip(field: &'static str, text: &str, velocity_factor: f64) -> Result<f64, AppError> {
    const SECONDS: [(&str, f64); 4] = [("s", 1.0), ("us", 1e-6), ("ns", 1e-9), ("ps", 1e-12)];
    const METRES: [(&str, f64); 3] = [("m", 1.0), ("cm", 1e-2), ("mm", 1e-3)];
    let (number, unit) = split_number_and_unit(text);
    let scale = |units: &[(&str, f64)]| units.iter().find(|(u, _)| *u == unit).map(|(_, scale)| *scale);
    let per_unit = scale(&SECONDS)
        .or_else(|| scale(&METRES).map(|m| m * 2.0 / (velocity_factor * SPEED_OF_LIGHT)))
        .ok_or_else(|| {
            bad(field)(format!(
                "expected a time such as 6.2ns or a distance such as 0.6m, found \"{}\"",
                text.trim()
            ))
        })?;
    Ok(parse_number(number).map_err(bad(field))? * per_unit)
}

/// A number without a unit.
pub(super) fn plain(field: &'static str, text: Option<&str>) -> Result<Option<f64>, AppError> {
    text.map(str::trim).filter(|t| !t.is_empty()).map(|t| parse_number(t).map_err(bad(field))).transpose()
}

pub(super) fn frequency(field: &'static str, text: &str) -> Result<f64, AppError> {
    text.parse::<Frequency>().map(Frequency::hertz).map_err(bad(field))
}

/// A port from 1 on.
pub(super) fn port(text: Option<&str>) -> Result<Option<u32>, AppError> {
    text.map(str::trim)
        .filter(|t| !t.is_empty())
        .map(|t| {
            t.parse::<u32>()
                .ok()
                .filter(|p| (1..=32).contains(p))
                .ok_or_else(|| bad("port")(format!("expected a port from 1 to 32, found \"{t}\"")))
        })
        .transpose()
}

/// Labels with commas between them.
pub(super) fn labels(text: &str) -> Vec<String> {
    text.split(',').map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned).collect()
}

/// A text that says something.
pub(super) fn said(text: Option<&String>) -> Option<String> {
    text.map(|t| t.trim().to_owned()).filter(|t| !t.is_empty())
}

/// `20 lg |S|`; a zero shows as −400 dB, which no instrument reaches and JSON
/// can write.
pub(super) fn decibels(value: Complex64) -> f64 {
    let magnitude = value.norm();
    if magnitude > 1e-20 { 20.0 * magnitude.log10() } else { -400.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parameters_windows_and_times_as_typed() {
        let typed = |t| Parameter::typed(Some(t), "S11");
        assert_eq!(typed("s21").unwrap().to_string(), "S21");
        assert_eq!(typed("S10,2").unwrap().to_string(), "S10,2");
        assert_eq!(typed(" ").unwrap().to_string(), "S11");
        for wrong in ["S0,1", "S1", "S111", "S33,1", "Z", "Sé"] {
            assert!(typed(wrong).is_err(), "{wrong}");
        }
        assert!(window(Some("kaiser:31")).is_err() && window(Some("kaiser:x")).is_err());
        assert!(window(Some("round")).is_err());
        let near = |text, expected: f64| (round_trip("from", text, 0.7).unwrap() - expected).abs() < 1e-15;
        assert!(near("6.2ns", 6.2e-9));
        // 2 · 0.62 m over 0.7 of the speed of light.
        assert!(near("0.62m", 2.0 * 0.62 / (0.7 * 299_792_458.0)));
        assert!(round_trip("from", "6", 1.0).is_err());
    }
}
