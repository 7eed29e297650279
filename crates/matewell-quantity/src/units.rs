//! The quantities and their units.

use crate::{QuantityError, number::parse_number};
use std::{fmt, str::FromStr};

/// Metres in one international inch, exact since 1959.
///
/// Source: `nist-sp811-2008`, appendix B.8, "inch".
pub const METRES_PER_INCH: f64 = 0.0254;

/// Newton metres in one inch pound-force, exact: 0.45359237 × 9.80665 × 0.0254.
///
/// Source: `nist-sp811-2008`, appendix B.8, pound-force inch (prints 1.129 848 E-01).
pub const NEWTON_METRES_PER_INCH_POUND_FORCE: f64 = 0.112_984_829_027_616_7;

/// Zero degrees Celsius in kelvin, exact by definition.
///
/// Source: SI Brochure, 9th edition, section 2.3.1.
pub const KELVIN_OFFSET_CELSIUS: f64 = 273.15;

/// Splits `18GHz` into `18` and `GHz`. Spaces between them are allowed.
///
/// An exponent belongs to the number when digits follow it, so `1e3Hz` is
/// 1000 Hz.
#[must_use]
pub fn split_number_and_unit(text: &str) -> (&str, &str) {
    let trimmed = text.trim();
    let mut end = 0;
    let mut chars = trimmed.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let continues = match c {
            '0'..='9' | '.' | ',' => true,
            '+' | '-' | '\u{2212}' => at == 0,
            'e' | 'E' => {
                let rest = &trimmed[at + 1..];
                let unsigned = rest.strip_prefix(['+', '-']).unwrap_or(rest);
                let is_exponent = unsigned.starts_with(|d: char| d.is_ascii_digit());
                if is_exponent && rest.len() != unsigned.len() {
                    chars.next();
                    end = at + 2;
                    continue;
                }
                is_exponent
            }
            _ => false,
        };
        if !continues {
            break;
        }
        end = at + c.len_utf8();
    }
    (trimmed[..end].trim(), trimmed[end..].trim())
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $what:literal, $example:literal, $units_text:literal,
     [$($(#[$unit_doc:meta])* $from:ident, $to:ident, $factor:expr, [$($spelling:literal),+]);+ $(;)?]) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$unit_doc])*
                ///
                /// # Errors
                ///
                /// [`QuantityError::NotFinite`] for NaN and infinity.
                pub fn $from(value: f64) -> Result<Self, QuantityError> {
                    let base = value * $factor;
                    if base.is_finite() {
                        Ok(Self(base))
                    } else {
                        Err(QuantityError::NotFinite { what: $what, found: value.to_string() })
                    }
                }

                /// The value in the unit of the name.
                #[must_use]
                pub fn $to(self) -> f64 {
                    self.0 / $factor
                }
            )+
        }

        impl FromStr for $name {
            type Err = QuantityError;

            fn from_str(text: &str) -> Result<Self, QuantityError> {
                let (number, unit) = split_number_and_unit(text);
                if number.is_empty() {
                    return Err(QuantityError::NotANumber { example: $example, found: text.trim().to_owned() });
                }
                let value = parse_number(number)?;
                match unit {
                    "" => Err(QuantityError::NoUnit { number: number.to_owned(), units: $units_text }),
                    $($($spelling)|+ => Self::$from(value),)+
                    other => Err(QuantityError::UnknownUnit { units: $units_text, found: other.to_owned() }),
                }
            }
        }
    };
}

quantity! {
    /// A length. Pin depths, gaps and diameters.
    Length, "length", "12um", "um, µm, mm, m, mil, in",
    [
        /// From metres.
        from_metres, metres, 1.0, ["m"];
        /// From millimetres.
        from_millimetres, millimetres, 1e-3, ["mm"];
        /// From micrometres.
        from_micrometres, micrometres, 1e-6, ["um", "µm", "\u{3bc}m"];
        /// From thousandths of an inch.
        from_mils, mils, METRES_PER_INCH * 1e-3, ["mil", "mils", "thou"];
        /// From inches.
        from_inches, inches, METRES_PER_INCH, ["in", "inch", "\""]
    ]
}

quantity! {
    /// A frequency.
    Frequency, "frequency", "18GHz", "Hz, kHz, MHz, GHz, THz",
    [
        /// From hertz.
        from_hertz, hertz, 1.0, ["Hz", "hz"];
        /// From kilohertz.
        from_kilohertz, kilohertz, 1e3, ["kHz", "khz", "KHz"];
        /// From megahertz.
        from_megahertz, megahertz, 1e6, ["MHz", "Mhz"];
        /// From gigahertz.
        from_gigahertz, gigahertz, 1e9, ["GHz", "ghz", "Ghz"];
        /// From terahertz.
        from_terahertz, terahertz, 1e12, ["THz"]
    ]
}

quantity! {
    /// A torque. The coupling nut of a connector.
    Torque, "torque", "0.9N.m", "N.m, N·m, Nm, cN.m, in.lbf, in.lb, lbf.in, ft.lbf, kgf.cm",
    [
        /// From newton metres.
        from_newton_metres, newton_metres, 1.0, ["N.m", "N\u{b7}m", "N\u{22c5}m", "Nm", "N m", "N*m"];
        /// From centinewton metres.
        from_centinewton_metres, centinewton_metres, 1e-2, ["cN.m", "cN\u{b7}m", "cNm"];
        /// From inch pounds-force.
        from_inch_pounds_force, inch_pounds_force, NEWTON_METRES_PER_INCH_POUND_FORCE,
            ["in.lbf", "in.lb", "in\u{b7}lbf", "in\u{b7}lb", "in-lb", "in-lbf", "lbf.in", "lb.in", "lbf\u{b7}in", "inlb"];
        /// From foot pounds-force.
        from_foot_pounds_force, foot_pounds_force, 12.0 * NEWTON_METRES_PER_INCH_POUND_FORCE,
            ["ft.lbf", "ft.lb", "ft\u{b7}lbf", "lbf.ft"];
        /// From kilogram-force centimetres.
        from_kilogram_force_centimetres, kilogram_force_centimetres, 0.098_066_5, ["kgf.cm", "kgf\u{b7}cm"]
    ]
}

quantity! {
    /// An impedance magnitude or resistance.
    Impedance, "impedance", "50ohm", "ohm, Ω, mohm, mΩ",
    [
        /// From ohms.
        from_ohms, ohms, 1.0, ["ohm", "ohms", "Ohm", "\u{3a9}", "\u{2126}"];
        /// From milliohms.
        from_milliohms, milliohms, 1e-3, ["mohm", "m\u{3a9}", "m\u{2126}"]
    ]
}

quantity! {
    /// A temperature on the Celsius scale.
    TemperatureCelsius, "temperature", "23degC", "degC, °C, C",
    [
        /// From degrees Celsius.
        from_degrees, degrees, 1.0, ["degC", "\u{b0}C", "C"]
    ]
}

impl Length {
    /// No length: flush.
    pub const ZERO: Self = Self(0.0);
}

/// Writes a number with just enough digits to be read back the same at six
/// significant digits, without trailing zeros.
fn plain(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    #[expect(clippy::cast_possible_truncation, reason = "log10 of a finite f64 is within ±309")]
    let decimals = usize::try_from(5 - magnitude as i32).unwrap_or(0).clamp(0, 12);
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.replace('-', "\u{2212}")
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.metres().abs() >= 1e-3 {
            write!(f, "{} mm", plain(self.millimetres()))
        } else {
            write!(f, "{} µm", plain(self.micrometres()))
        }
    }
}

impl fmt::Display for Frequency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hertz = self.hertz().abs();
        if hertz >= 1e9 {
            write!(f, "{} GHz", plain(self.gigahertz()))
        } else if hertz >= 1e6 {
            write!(f, "{} MHz", plain(self.megahertz()))
        } else if hertz >= 1e3 {
            write!(f, "{} kHz", plain(self.kilohertz()))
        } else {
            write!(f, "{} Hz", plain(self.hertz()))
        }
    }
}

impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} N·m", plain(self.newton_metres()))
    }
}

impl fmt::Display for Impedance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} Ω", plain(self.ohms()))
    }
}

impl fmt::Display for TemperatureCelsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °C", plain(self.degrees()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_typed_with_units() {
        assert!(("18GHz".parse::<Frequency>().unwrap().hertz() - 18e9).abs() < 1.0);
        assert!(("0.9N.m".parse::<Torque>().unwrap().newton_metres() - 0.9).abs() < 1e-12);
        assert!(("12 µm".parse::<Length>().unwrap().metres() - 12e-6).abs() < 1e-15);
        assert!(("0.5mil".parse::<Length>().unwrap().micrometres() - 12.7).abs() < 1e-9);
        assert!(("1e3Hz".parse::<Frequency>().unwrap().hertz() - 1000.0).abs() < 1e-9);
        assert!(("1e-6m".parse::<Length>().unwrap().micrometres() - 1.0).abs() < 1e-12);
        assert!(("12,5um".parse::<Length>().unwrap().micrometres() - 12.5).abs() < 1e-12);
        assert!(("23 °C".parse::<TemperatureCelsius>().unwrap().degrees() - 23.0).abs() < 1e-12);
    }

    /// The factor 0.112 984 829 027 616 7 N·m per in·lbf is exact by
    /// definition (closed form, NIST SP 811 appendix B.8).
    #[test]
    fn eight_inch_pounds_in_newton_metres() {
        let eight: Torque = "8in.lbf".parse().unwrap();
        assert!((eight.newton_metres() - 0.903_878_632_2).abs() < 5e-11);
        assert!((0.453_592_37 * 9.806_65 * 0.0254 - NEWTON_METRES_PER_INCH_POUND_FORCE).abs() < 1e-16);
    }

    #[test]
    fn a_number_without_unit_is_an_error_that_lists_the_units() {
        let error = "18".parse::<Frequency>().unwrap_err();
        assert_eq!(error.to_string(), "expected a unit after 18: one of Hz, kHz, MHz, GHz, THz");
        let error = "12GHz".parse::<Length>().unwrap_err();
        assert_eq!(error.to_string(), "expected one of the units um, µm, mm, m, mil, in, found \"GHz\"");
        assert!("um".parse::<Length>().is_err());
        assert!("".parse::<Length>().is_err());
    }

    #[test]
    fn nothing_infinite_exists() {
        assert!(Length::from_micrometres(f64::NAN).is_err());
        assert!(Frequency::from_gigahertz(f64::INFINITY).is_err());
        assert!("1e999Hz".parse::<Frequency>().is_err());
    }

    #[test]
    fn printing_uses_a_true_minus_and_no_trailing_zeros() {
        assert_eq!(Length::from_micrometres(-38.0).unwrap().to_string(), "\u{2212}38 µm");
        assert_eq!(Frequency::from_gigahertz(26.5).unwrap().to_string(), "26.5 GHz");
        assert_eq!(Torque::from_newton_metres(0.9).unwrap().to_string(), "0.9 N·m");
        assert_eq!(Length::from_millimetres(3.5).unwrap().to_string(), "3.5 mm");
    }
}
