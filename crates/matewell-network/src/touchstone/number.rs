//! Decimal text to `f64` and back, scaled by powers of ten without rounding twice.

/// Why a token is not a usable number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fault {
    /// Not a decimal number.
    NotANumber,
    /// NaN, infinity, or beyond the range of `f64`.
    NotFinite,
    /// Exactly the text for minus infinity.
    MinusInfinity,
}

const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// The decimal number `token × 10^shift`, correctly rounded once.
///
/// Multiplying a parsed 0.045 by 1e9 rounds twice and can miss the hertz that
/// the text means; moving the decimal point in the text cannot.
pub(super) fn decimal(token: &[u8], shift: i32) -> Result<f64, Fault> {
    let (negative, digits) = match token {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] | rest => (false, rest),
    };
    let mut mantissa = 0_u64;
    let mut significant = 0_u32;
    let mut count = 0_u32;
    let mut fraction = 0_i32;
    let mut point = false;
    let mut used = 0_usize;
    for &b in digits {
        let d = b.wrapping_sub(b'0');
        if d <= 9 {
            count += 1;
            if significant < 19 {
                mantissa = mantissa * 10 + u64::from(d);
            }
            if significant > 0 || d != 0 {
                significant += 1;
            }
            fraction -= i32::from(point);
        } else if b == b'.' && !point {
            point = true;
        } else {
            break;
        }
        used += 1;
    }
    if count == 0 {
        return Err(not_a_number(token));
    }
    let exponent = match digits.get(used..) {
        None | Some([]) => 0,
        Some([b'e' | b'E', rest @ ..]) => small_integer(rest).ok_or(Fault::NotANumber)?,
        Some(_) => return Err(Fault::NotANumber),
    };
    let scale = exponent + fraction + shift;
    // Exact operands, one rounding: the product or quotient is correctly rounded.
    if significant <= 19 && mantissa <= 1 << 53 {
        let exact = mantissa as f64;
        let power = POWERS.get(scale.unsigned_abs() as usize);
        if let Some(&power) = power {
            let value = if scale < 0 { exact / power } else { exact * power };
            return Ok(if negative { -value } else { value });
        }
    }
    slow(token, digits.get(..used).unwrap_or_default(), negative, exponent, shift)
}

/// The number at the start of `text` and its length, when it is of the common
/// kind: at most 19 digits that fit an exact integer, a small exponent, and a
/// space, line end or comment behind it. Anything else is `None` and left to
/// [`decimal`], with which it agrees.
pub(super) fn leading(text: &[u8]) -> Option<(f64, usize)> {
    let (negative, start) = match text.first()? {
        b'-' => (true, 1),
        b'+' => (false, 1),
        _ => (false, 0),
    };
    let (mut mantissa, mut at) = run_of_digits(text, start, 0);
    let mut count = at - start;
    let mut scale = 0_i32;
    if text.get(at) == Some(&b'.') {
        let from = at + 1;
        (mantissa, at) = run_of_digits(text, from, mantissa);
        count += at - from;
        scale = i32::try_from(from).ok()? - i32::try_from(at).ok()?;
    }
    // More than 19 digits may have wrapped around.
    if !(1..=19).contains(&count) {
        return None;
    }
    // 26500000000.000000 is a common way to write a frequency.
    while mantissa > 1 << 53 && mantissa.is_multiple_of(10) {
        mantissa /= 10;
        scale += 1;
    }
    if mantissa > 1 << 53 {
        return None;
    }
    if let Some(b'e' | b'E') = text.get(at) {
        let (down, from) = match text.get(at + 1)? {
            b'-' => (true, at + 2),
            b'+' => (false, at + 2),
            _ => (false, at + 1),
        };
        let mut exponent = 0_i32;
        at = from;
        while let Some(b @ b'0'..=b'9') = text.get(at)
            && at < from + 4
        {
            exponent = exponent * 10 + i32::from(b - b'0');
            at += 1;
        }
        if at == from {
            return None;
        }
        scale += if down { -exponent } else { exponent };
    }
    if !matches!(text.get(at), None | Some(b' ' | b'\t' | b'\r' | b'\n' | b'!')) {
        return None;
    }
    // Exact operands, one rounding.
    let power = *POWERS.get(scale.unsigned_abs() as usize)?;
    let exact = mantissa as f64;
    let value = if scale < 0 { exact / power } else { exact * power };
    Some((if negative { -value } else { value }, at))
}

/// Appends the digits from `at` to `mantissa` and gives the place behind them.
fn run_of_digits(text: &[u8], mut at: usize, mut mantissa: u64) -> (u64, usize) {
    while let Some(eight) = text.get(at..).and_then(|rest| rest.first_chunk::<8>())
        && let Some(value) = eight_digits(*eight)
    {
        mantissa = mantissa.wrapping_mul(100_000_000).wrapping_add(value);
        at += 8;
    }
    while let Some(b @ b'0'..=b'9') = text.get(at) {
        mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(b - b'0'));
        at += 1;
    }
    (mantissa, at)
}

/// Eight ASCII digits as a number, all at once: pairs, then fours, then eight.
fn eight_digits(bytes: [u8; 8]) -> Option<u64> {
    let word = u64::from_le_bytes(bytes);
    let low = word.wrapping_sub(0x3030_3030_3030_3030);
    let high = word.wrapping_add(0x4646_4646_4646_4646);
    if (low | high) & 0x8080_8080_8080_8080 != 0 {
        return None;
    }
    let pairs = (low * 10 + (low >> 8)) & 0x00ff_00ff_00ff_00ff;
    let fours = (pairs * 100 + (pairs >> 16)) & 0x0000_ffff_0000_ffff;
    Some((fours * 10_000 + (fours >> 32)) & 0xffff_ffff)
}

fn slow(token: &[u8], digits: &[u8], negative: bool, exponent: i32, shift: i32) -> Result<f64, Fault> {
    let value = if shift == 0 {
        std::str::from_utf8(token).ok().and_then(|t| t.parse::<f64>().ok())
    } else {
        let sign = if negative { "-" } else { "" };
        std::str::from_utf8(digits)
            .ok()
            .and_then(|d| format!("{sign}{d}e{}", exponent + shift).parse::<f64>().ok())
    };
    match value {
        None => Err(Fault::NotANumber),
        Some(v) if v.is_finite() => Ok(v),
        Some(_) => Err(Fault::NotFinite),
    }
}

fn not_a_number(token: &[u8]) -> Fault {
    let lower = token.to_ascii_lowercase();
    match lower.as_slice() {
        b"-inf" | b"-infinity" => Fault::MinusInfinity,
        b"inf" | b"+inf" | b"infinity" | b"+infinity" | b"nan" | b"+nan" | b"-nan" => Fault::NotFinite,
        _ => Fault::NotANumber,
    }
}

/// An exponent; saturates far beyond what `f64` can hold.
fn small_integer(text: &[u8]) -> Option<i32> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] | rest => (false, rest),
    };
    if digits.is_empty() {
        return None;
    }
    let mut value = 0_i32;
    for &b in digits {
        if !b.is_ascii_digit() {
            return None;
        }
        value = (value * 10 + i32::from(b - b'0')).min(100_000);
    }
    Some(if negative { -value } else { value })
}

/// The shortest text that reads back as `value` after a shift by
/// `10^power`: prints hertz in another unit without rounding.
pub(super) fn print(value: f64, power: i32) -> String {
    if value == f64::NEG_INFINITY {
        return "-inf".to_owned();
    }
    // `{:e}` prints the shortest digits that read back, as d.ddde±x.
    let scientific = format!("{value:e}");
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        return scientific;
    };
    let exponent = exponent.parse::<i32>().unwrap_or(0) - power;
    let (sign, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |m| ("-", m));
    let digits: String = mantissa.chars().filter(|c| *c != '.').collect();
    if value == 0.0 {
        return format!("{sign}0");
    }
    match usize::try_from(exponent) {
        Ok(e) if e < 16 => {
            let whole = e + 1;
            match digits.split_at_checked(whole) {
                Some((left, "")) => format!("{sign}{left}"),
                Some((left, right)) => format!("{sign}{left}.{right}"),
                None => format!("{sign}{digits:0<whole$}"),
            }
        }
        Err(_) if exponent >= -5 => {
            let zeros = (-exponent - 1).unsigned_abs() as usize;
            format!("{sign}0.{:0<zeros$}{digits}", "")
        }
        _ => format!("{sign}{mantissa}e{exponent}"),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_frequency_is_rounded_once() {
        // 0.045 and 16.25 read as text; 17 digits take the slow way.
        for (text, shift, hertz) in [
            ("0.045", 9, 45e6),
            ("16.25", 9, 16.25e9),
            ("0.1", 9, 1e8),
            ("4.4999999999999999e-2", 9, 45e6),
            ("2651", 6, 2.651e9),
        ] {
            assert_eq!(decimal(text.as_bytes(), shift).ok(), Some(hertz), "{text}");
        }
    }

    #[test]
    fn what_is_no_decimal_number_is_refused() {
        for text in ["", "-", ".", "1,5", "1.5D-3", "0x10", "1e", "1e+", "1.2.3", "--1", "1_000", "50ohm"] {
            assert!(matches!(decimal(text.as_bytes(), 0), Err(Fault::NotANumber)), "{text}");
        }
        for text in ["nan", "NaN", "inf", "+Infinity", "1e999"] {
            assert!(matches!(decimal(text.as_bytes(), 0), Err(Fault::NotFinite)), "{text}");
        }
    }

    proptest! {
        #[test]
        fn print_and_read_is_the_identity(bits in any::<u64>(), power in prop::sample::select(vec![0, 3, 6, 9])) {
            let value = f64::from_bits(bits);
            prop_assume!(value.is_finite());
            let text = print(value, power);
            prop_assert_eq!(decimal(text.as_bytes(), power).ok().map(f64::to_bits), Some(value.to_bits()), "{}", text);
        }

        #[test]
        fn the_quick_way_agrees_with_the_careful_one(text in "[-+]?[0-9]{0,12}(\\.[0-9]{0,12})?([eE][-+]?[0-9]{0,4})?[ x!]?") {
            if let Some((value, length)) = leading(text.as_bytes()) {
                let token = text.trim_end_matches([' ', '!']);
                prop_assert_eq!(length, token.len());
                prop_assert_eq!(decimal(token.as_bytes(), 0).ok().map(f64::to_bits), Some(value.to_bits()), "{}", text);
            }
        }

        #[test]
        fn eight_digits_are_a_number(number in 0_u64..100_000_000, byte in any::<u8>(), place in 0_usize..8) {
            let mut text = format!("{number:08}").into_bytes();
            let eight = |text: &[u8]| eight_digits(*text.first_chunk().unwrap());
            prop_assert_eq!(eight(&text), Some(number));
            text[place] = byte;
            prop_assert_eq!(eight(&text).is_some(), byte.is_ascii_digit());
        }

        #[test]
        fn agrees_with_the_standard_library(value in -1e6..1e6_f64, digits in 0_usize..20) {
            let text = format!("{value:.digits$}");
            let expected: f64 = text.parse().unwrap();
            prop_assert_eq!(decimal(text.as_bytes(), 0).ok(), Some(expected));
            let quick = leading(text.as_bytes()).map(|(value, _)| value);
            prop_assert!(quick.is_none_or(|v| v.to_bits() == expected.to_bits()), "{:?}", quick);
        }
    }
}
