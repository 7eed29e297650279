//! Check characters for tags: a mistyped character or two swapped neighbours are found.

use crate::error::IntakeError;

/// A hybrid check character system of ISO/IEC 7064.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckSystem {
    /// Letters and digits, one check character out of 36.
    Mod37_36,
    /// Digits only, one check digit.
    Mod11_10,
}

impl CheckSystem {
    const fn modulus(self) -> u32 {
        match self {
            Self::Mod37_36 => 36,
            Self::Mod11_10 => 10,
        }
    }

    const fn expected(self) -> &'static str {
        match self {
            Self::Mod37_36 => "letters A to Z and digits (separators - _ . / : and space do not count)",
            Self::Mod11_10 => "digits (separators - _ . / : and space do not count)",
        }
    }

    fn value(self, c: char) -> Option<u32> {
        c.to_digit(self.modulus()).filter(|_| c.is_ascii_alphanumeric())
    }
}

/// Characters that people put between the parts of a tag; they carry no value.
const SEPARATORS: [char; 6] = ['-', '_', '.', '/', ':', ' '];

/// The running product `P` after all characters of the text.
fn product(text: &str, system: CheckSystem) -> Result<u32, IntakeError> {
    let modulus = system.modulus();
    let mut product = modulus;
    let mut counted = 0_usize;
    for c in text.chars().filter(|c| !SEPARATORS.contains(c)) {
        let value = system.value(c).ok_or_else(|| IntakeError::NoCheckValue {
            expected: system.expected(),
            found: c,
            text: text.to_owned(),
        })?;
        let sum = match (product + value) % modulus {
            0 => modulus,
            sum => sum,
        };
        product = (sum * 2) % (modulus + 1);
        counted += 1;
    }
    if counted == 0 {
        return Err(IntakeError::NothingToCheck { text: text.to_owned() });
    }
    Ok(product)
}

/// The check character that belongs behind `text`.
///
/// `P₀ = M`; for each character value `a`: `S = (P + a) mod M`, 0 counting as
/// `M`, and `P = 2 S mod (M + 1)`. The check character is the one with
/// `(P + c) mod M = 1`, `M` being 36 or 10. Upper and lower case are the same.
///
/// # Errors
///
/// [`IntakeError::NoCheckValue`] for a character outside the system,
/// [`IntakeError::NothingToCheck`] for a text of separators only.
///
/// # Source
///
/// `iso-iec-7064-2003`, hybrid systems MOD 37,36 and MOD 11,10 (algorithm from memory).
pub fn check_character(text: &str, system: CheckSystem) -> Result<char, IntakeError> {
    let modulus = system.modulus();
    let value = (modulus + 1 - product(text, system)? % modulus) % modulus;
    let lower = char::from_digit(value, modulus).unwrap_or('0');
    Ok(lower.to_ascii_uppercase())
}

/// Whether the last character of `text` is the check character of the rest.
///
/// # Errors
///
/// As [`check_character`].
pub fn verify_check_character(text: &str, system: CheckSystem) -> Result<bool, IntakeError> {
    let bare = text.trim_end_matches(SEPARATORS);
    let Some((at, last)) = bare.char_indices().next_back() else {
        return Err(IntakeError::NothingToCheck { text: text.to_owned() });
    };
    let (rest, _) = bare.split_at(at);
    Ok(check_character(rest, system)? == last.to_ascii_uppercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swapped_neighbours_and_single_errors_are_found() {
        let check = check_character("CB-17A", CheckSystem::Mod37_36).unwrap();
        let good = format!("CB-17A{check}");
        assert!(verify_check_character(&good, CheckSystem::Mod37_36).unwrap());
        assert!(verify_check_character(&good.to_lowercase(), CheckSystem::Mod37_36).unwrap());
        for wrong in ["CB-71A", "BC-17A", "CB-18A", "CB-1A7"] {
            assert!(
                !verify_check_character(&format!("{wrong}{check}"), CheckSystem::Mod37_36).unwrap(),
                "{wrong}"
            );
        }
    }

    #[test]
    fn what_has_no_value_is_refused() {
        assert!(check_character("CB_17\u{e4}", CheckSystem::Mod37_36).is_err());
        assert!(check_character("--", CheckSystem::Mod37_36).is_err());
        assert!(check_character("12A", CheckSystem::Mod11_10).is_err());
        assert!(verify_check_character("", CheckSystem::Mod11_10).is_err());
    }
}
