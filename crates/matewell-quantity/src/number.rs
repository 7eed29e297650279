//! Numbers as people type them, and comparisons that do not lose NaN.

use crate::QuantityError;

/// The greater of two finite numbers.
///
/// `f64::max` returns the other operand when one is NaN, so a bad reading
/// would vanish. Here NaN wins and shows up at the next constructor.
#[must_use]
pub fn greater(a: f64, b: f64) -> f64 {
    if a.is_nan() || b.is_nan() {
        return f64::NAN;
    }
    if a >= b { a } else { b }
}

/// The lesser of two finite numbers; NaN wins, see [`greater`].
#[must_use]
pub fn lesser(a: f64, b: f64) -> f64 {
    if a.is_nan() || b.is_nan() {
        return f64::NAN;
    }
    if a <= b { a } else { b }
}

/// Reads a decimal number as a person or a gauge types it.
///
/// Accepts `.` and `,` as the decimal sign, `-` and `−` as minus, and a
/// leading `+`. A single comma with exactly three digits behind it and one to
/// three before it (`1,000`) can be read in two ways and is refused.
///
/// # Errors
///
/// [`QuantityError::NotANumber`] and [`QuantityError::AmbiguousComma`].
pub fn parse_number(text: &str) -> Result<f64, QuantityError> {
    let trimmed = text.trim();
    let plain: String = trimmed.replace('\u{2212}', "-");
    let not_a_number = || QuantityError::NotANumber { example: "12.5", found: trimmed.to_owned() };
    let commas = plain.matches(',').count();
    let has_point = plain.contains('.');
    if commas > 1 || (commas == 1 && has_point) {
        return Err(not_a_number());
    }
    if commas == 1
        && let Some((before, after)) = plain.split_once(',')
    {
        let digits_before = before.trim_start_matches(['-', '+']);
        if after.len() == 3 && (1..=3).contains(&digits_before.len()) && digits_before != "0" {
            return Err(QuantityError::AmbiguousComma {
                found: trimmed.to_owned(),
                as_decimal: format!("{before}.{after}"),
                as_thousands: format!("{before}{after}"),
            });
        }
    }
    let pointed = plain.replace(',', ".");
    let body = pointed.strip_prefix(['-', '+']).unwrap_or(&pointed);
    let (mantissa, exponent) = match body.split_once(['e', 'E']) {
        Some((m, e)) => (m, Some(e)),
        None => (body, None),
    };
    let mantissa_ok = mantissa.chars().any(|c| c.is_ascii_digit())
        && mantissa.chars().all(|c| c.is_ascii_digit() || c == '.')
        && mantissa.matches('.').count() <= 1;
    let exponent_ok = exponent.is_none_or(|e| {
        let digits = e.strip_prefix(['-', '+']).unwrap_or(e);
        !digits.is_empty() && digits.len() <= 3 && digits.chars().all(|c| c.is_ascii_digit())
    });
    if !mantissa_ok || !exponent_ok {
        return Err(not_a_number());
    }
    let value: f64 = pointed.parse().map_err(|_| not_a_number())?;
    if !value.is_finite() {
        return Err(QuantityError::NotFinite { what: "number", found: trimmed.to_owned() });
    }
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: f64) {
        let found = parse_number(text).unwrap();
        assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{text}: {found}");
    }

    #[test]
    fn numbers_as_people_type_them() {
        check("12", 12.0);
        check("12,5", 12.5);
        check("0,125", 0.125);
        check("\u{2212}3.5", -3.5);
        check("+4", 4.0);
        check("1e-3", 0.001);
        check(" 7 ", 7.0);
    }

    #[test]
    fn a_comma_with_three_digits_is_asked_not_guessed() {
        assert!(matches!(parse_number("1,000"), Err(QuantityError::AmbiguousComma { .. })));
        assert!(matches!(parse_number("-12,345"), Err(QuantityError::AmbiguousComma { .. })));
    }

    #[test]
    fn junk_is_refused() {
        for junk in
            ["", "-", ".", "1.2.3", "1,2,3", "1.000,5", "NaN", "inf", "1e", "1e9999", "twelve", "0x10"]
        {
            assert!(parse_number(junk).is_err(), "{junk}");
        }
    }

    #[test]
    fn nan_is_never_swallowed() {
        assert!(greater(f64::NAN, 1.0).is_nan());
        assert!(greater(1.0, f64::NAN).is_nan());
        assert!(lesser(f64::NAN, 1.0).is_nan());
        assert!((greater(1.0, 2.0) - 2.0).abs() < f64::EPSILON);
        assert!((lesser(1.0, 2.0) - 1.0).abs() < f64::EPSILON);
    }
}
