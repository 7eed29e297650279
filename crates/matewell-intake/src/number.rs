//! Numbers in text, with either decimal sign.

use crate::mapping::DecimalSign;

/// Why a text is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NumberTrouble {
    NotANumber,
    /// `1,250` without knowing the decimal sign.
    Ambiguous,
}

/// How the separators of a text can be read.
enum Shape {
    Plain,
    /// One separator that can only be a decimal sign.
    Decimal(DecimalSign),
    /// One separator with three digits behind it.
    Either(DecimalSign),
    /// Thousands separated by the first, decimals by the second.
    Both(DecimalSign),
    /// The same separator several times, in threes.
    Grouped(DecimalSign),
    Junk,
}

fn clean(text: &str) -> String {
    let text = text.trim().trim_start_matches('\'');
    let gaps = ['\u{a0}', '\u{202f}', '\u{2009}'];
    text.replace('\u{2212}', "-").chars().filter(|c| !gaps.contains(c)).collect()
}

fn in_threes(text: &str, separator: char) -> bool {
    let mut parts = text.split(separator);
    let first = parts.next().is_some_and(|part| (1..=3).contains(&part.len()));
    first && parts.all(|part| part.len() == 3)
}

fn shape(body: &str) -> Shape {
    let points = body.matches('.').count();
    let commas = body.matches(',').count();
    match (points, commas) {
        (0, 0) => Shape::Plain,
        (p, c) if p > 0 && c > 0 => {
            let (group, sign) = if body.rfind(',') > body.rfind('.') {
                ('.', DecimalSign::Comma)
            } else {
                (',', DecimalSign::Point)
            };
            let decimal = if sign == DecimalSign::Comma { ',' } else { '.' };
            match body.split_once(decimal) {
                Some((whole, fraction)) if !fraction.contains(['.', ',']) && in_threes(whole, group) => {
                    Shape::Both(sign)
                }
                _ => Shape::Junk,
            }
        }
        (p, c) => {
            let (separator, sign) = if p > 0 { ('.', DecimalSign::Point) } else { (',', DecimalSign::Comma) };
            if p + c > 1 {
                return if in_threes(body, separator) { Shape::Grouped(sign) } else { Shape::Junk };
            }
            if in_threes(body, separator) && !body.starts_with('0') {
                Shape::Either(sign)
            } else {
                Shape::Decimal(sign)
            }
        }
    }
}

/// The decimal sign that a number proves, if it can be read in one way only.
pub fn decimal_evidence(text: &str) -> Option<DecimalSign> {
    let text = clean(text);
    match shape(text.trim_start_matches(['+', '-'])) {
        Shape::Decimal(sign) | Shape::Both(sign) => Some(sign),
        Shape::Grouped(DecimalSign::Point) => Some(DecimalSign::Comma),
        Shape::Grouped(DecimalSign::Comma) => Some(DecimalSign::Point),
        Shape::Plain | Shape::Either(_) | Shape::Junk => None,
    }
}

/// Reads a number. A separator with three digits behind it (`1,250`) needs a known decimal sign.
pub(crate) fn read_number(text: &str, sign: Option<DecimalSign>) -> Result<f64, NumberTrouble> {
    let text = clean(text);
    let body = text.trim_start_matches(['+', '-']);
    if text.len() > body.len() + 1 {
        return Err(NumberTrouble::NotANumber);
    }
    let (mantissa, exponent) = body.split_once(['e', 'E']).map_or((body, ""), |(m, _)| (m, &body[m.len()..]));
    let drop = |c: char| mantissa.replace(c, "");
    let plain = match shape(mantissa) {
        Shape::Plain | Shape::Decimal(_) => mantissa.replace(',', "."),
        Shape::Both(DecimalSign::Comma) => drop('.').replace(',', "."),
        Shape::Both(DecimalSign::Point) | Shape::Grouped(DecimalSign::Comma) => drop(','),
        Shape::Grouped(DecimalSign::Point) => drop('.'),
        Shape::Either(found) => match sign {
            Some(known) if known == found => mantissa.replace(',', "."),
            Some(_) => drop(if found == DecimalSign::Comma { ',' } else { '.' }),
            None => return Err(NumberTrouble::Ambiguous),
        },
        Shape::Junk => return Err(NumberTrouble::NotANumber),
    };
    let ok = plain.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        && plain.chars().any(|c| c.is_ascii_digit());
    let minus = if text.starts_with('-') { "-" } else { "" };
    match format!("{minus}{plain}{exponent}").parse::<f64>() {
        Ok(number) if ok && number.is_finite() => Ok(number),
        _ => Err(NumberTrouble::NotANumber),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn either_decimal_sign_is_read_and_three_digits_are_asked() {
        for (text, number) in [
            ("12,5", 12.5),
            ("12.5", 12.5),
            ("0,125", 0.125),
            ("1.250,5", 1250.5),
            ("1,250.5", 1250.5),
            ("\u{2212}3", -3.0),
            ("1e-3", 0.001),
        ] {
            assert_eq!(read_number(text, None).map(f64::to_bits), Ok(f64::to_bits(number)), "{text}");
        }
        assert_eq!(read_number("1,250", None), Err(NumberTrouble::Ambiguous));
        assert_eq!(read_number("1,250", Some(DecimalSign::Comma)), Ok(1.25));
        assert_eq!(read_number("1,250", Some(DecimalSign::Point)), Ok(1250.0));
        for junk in ["", "-", "--1", "NaN", "inf", "1.2.3", "1,2.3,4", ".", "12x", "1e999"] {
            assert_eq!(read_number(junk, None), Err(NumberTrouble::NotANumber), "{junk}");
        }
    }
}
