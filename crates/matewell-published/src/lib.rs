//! Do we reproduce it?
//!
//! One published value beside ours, compared to the digits that are printed.
//! Each numeric room has a `published` module that returns its checks; the
//! room's tests assert that all pass, `VALIDATION.md` is generated from them,
//! and `matewell validation` re-runs them for a lab's own file.

/// How strong a check is, and how its printed value was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Grade {
    /// The printed value was read in a stored copy of the source.
    Published,
    /// The printed value is from memory; the recomputation from the published
    /// inputs reproduces it to its printed digits.
    FromMemory,
    /// A closed form, a limit, a symmetry or a definition.
    ClosedForm,
    /// Another implementation computed it (stored script and versions): the
    /// weaker proof.
    Independent,
    /// Computed by this project and kept so that a change is noticed.
    Own,
}

impl Grade {
    /// The word used in tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::FromMemory => "from memory",
            Self::ClosedForm => "closed form",
            Self::Independent => "independent implementation",
            Self::Own => "own",
        }
    }
}

/// One value of a source beside ours.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Key of the work in `data/sources.toml`, or name and version of the
    /// independent implementation.
    pub source: &'static str,
    /// Clause, table, row or equation.
    pub locator: &'static str,
    /// What is compared, with its unit.
    pub quantity: &'static str,
    /// The value exactly as printed.
    pub printed: &'static str,
    /// The value this project computes.
    pub ours: f64,
    /// Largest accepted difference.
    pub allowed: f64,
    /// Why `allowed` is wider than half a unit of the last printed digit.
    pub difference: Option<&'static str>,
    /// How strong the check is.
    pub grade: Grade,
}

impl Check {
    /// A check to half a unit of the last printed digit.
    pub fn printed(
        source: &'static str,
        locator: &'static str,
        quantity: &'static str,
        printed: &'static str,
        ours: f64,
        grade: Grade,
    ) -> Self {
        Self {
            source,
            locator,
            quantity,
            printed,
            ours,
            allowed: half_last_digit(printed),
            difference: None,
            grade,
        }
    }

    /// The same check with a wider tolerance, which needs a sentence.
    #[must_use]
    pub fn within(mut self, allowed: f64, difference: &'static str) -> Self {
        self.allowed = allowed;
        self.difference = Some(difference);
        self
    }

    /// The printed value as a number; NaN when the text is not one.
    pub fn printed_value(&self) -> f64 {
        number(self.printed)
    }

    /// Whether ours is within the allowed difference. False for NaN.
    pub fn passes(&self) -> bool {
        // A hair above half a digit, for the binary representation of the
        // printed decimal: 1e-12 relative.
        let slack = 1e-12 * self.printed_value().abs();
        (self.ours - self.printed_value()).abs() <= self.allowed + slack
    }
}

fn number(text: &str) -> f64 {
    let plain: String =
        text.replace('\u{2212}', "-").chars().filter(|c| !c.is_whitespace() && *c != '\u{202f}').collect();
    plain.parse().unwrap_or(f64::NAN)
}

/// Half a unit in the last printed digit: `0.0754` gives 0.000 05, `32` gives
/// 0.5, `1.5e-4` gives 0.05e-4. NaN when the text is not a number, so that a
/// check on it fails.
pub fn half_last_digit(printed: &str) -> f64 {
    if number(printed).is_nan() {
        return f64::NAN;
    }
    let (mantissa, exponent) = match printed.split_once(['e', 'E']) {
        Some((m, e)) => (m, number(e)),
        None => (printed, 0.0),
    };
    let decimals =
        mantissa.split_once('.').map_or(0, |(_, d)| d.chars().filter(char::is_ascii_digit).count());
    0.5 * 10f64.powf(exponent - decimals as f64)
}

/// Fails with a table of every check that does not pass. For the tests of the
/// rooms.
///
/// # Panics
///
/// When a check fails, or when there are fewer than `at_least` checks: an
/// empty list proves nothing.
pub fn assert_all(checks: &[Check], at_least: usize) {
    let failed: Vec<String> = checks
        .iter()
        .filter(|c| !c.passes())
        .map(|c| {
            format!(
                "{} {} {}: printed {}, ours {:.9e}, allowed {:.1e}",
                c.source, c.locator, c.quantity, c.printed, c.ours, c.allowed
            )
        })
        .collect();
    assert!(failed.is_empty(), "{} of {} checks failed:\n{}", failed.len(), checks.len(), failed.join("\n"));
    assert!(checks.len() >= at_least, "expected at least {at_least} checks, found {}", checks.len());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_last_printed_digit() {
        for (text, expected) in [("0.0754", 0.000_05), ("32", 0.5), ("1.5e-4", 0.000_005), ("-3.92", 0.005)] {
            assert!((half_last_digit(text) - expected).abs() < 1e-12, "{text}");
        }
        assert!(half_last_digit("about two").is_nan());
    }

    #[test]
    fn a_wrong_value_and_a_nan_fail() {
        let check = |ours| Check::printed("x", "y", "z", "0.0754", ours, Grade::Own);
        assert!(check(0.075_44).passes());
        assert!(!check(0.075_46).passes());
        assert!(!check(f64::NAN).passes());
        assert!(!Check::printed("x", "y", "z", "n/a", 1.0, Grade::Own).passes());
    }
}
