//! Cells that a spreadsheet would run as a formula.

/// First characters after which a spreadsheet may run the cell.
const STARTS: [char; 11] = [
    '=', '+', '-', '@', '\t', '\r', '\n', // and their full-width forms, which some programs fold
    '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
];

/// Whether the text is a plain signed number such as `-12` or `+3,5`; those stay numbers.
fn is_plain_number(text: &str) -> bool {
    let Some(body) = text.strip_prefix(['+', '-']) else { return false };
    let (mantissa, exponent) = match body.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (body, None),
    };
    let separators = mantissa.matches(['.', ',']).count();
    mantissa.starts_with(|c: char| c.is_ascii_digit())
        && mantissa.ends_with(|c: char| c.is_ascii_digit())
        && mantissa.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',')
        && separators <= 1
        && exponent.is_none_or(|e| {
            let digits = e.strip_prefix(['+', '-']).unwrap_or(e);
            !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit())
        })
}

fn needs_apostrophe(text: &str) -> bool {
    // A text that already starts with an apostrophe gets one more, so that reading back is exact.
    text.starts_with('\'') || (text.starts_with(STARTS) && !is_plain_number(text))
}

/// A cell for a CSV export: text that a spreadsheet would run as a formula
/// gets an apostrophe in front. [`plain_cell`] takes it off again.
///
/// Plain signed numbers (`-12`, `+3.5`) stay as they are.
pub fn harmless_cell(text: &str) -> String {
    if needs_apostrophe(text) { format!("'{text}") } else { text.to_owned() }
}

/// The inverse of [`harmless_cell`], for reading back: `plain_cell(&harmless_cell(x)) == x`.
pub fn plain_cell(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if needs_apostrophe(rest) => rest,
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn formulas_are_made_harmless_and_numbers_survive() {
        for (text, safe) in [
            ("=1+1", "'=1+1"),
            ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
            ("-2+3", "'-2+3"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "'\t=1"),
            ("\r=1", "'\r=1"),
            ("\u{ff1d}1", "'\u{ff1d}1"),
            ("-", "'-"),
            ("-12", "-12"),
            ("+3,5", "+3,5"),
            ("-1e-6", "-1e-6"),
            ("\u{2212}12", "\u{2212}12"),
            ("'quoted'", "''quoted'"),
            ("CB-17A", "CB-17A"),
            ("", ""),
        ] {
            assert_eq!(harmless_cell(text), safe);
            assert_eq!(plain_cell(safe), text);
        }
        assert_eq!(plain_cell("'tis"), "'tis", "an apostrophe of the author's own stays");
    }

    proptest! {
        #[test]
        fn reading_back_is_exact(text in "['=+\\-@\t\r\n0-9.,eA-Z\u{ff1d} ]{0,8}|\\PC{0,12}") {
            let safe = harmless_cell(&text);
            prop_assert_eq!(plain_cell(&safe), text.as_str());
            prop_assert!(!safe.starts_with(STARTS) || is_plain_number(&safe));
        }
    }
}
