//! Published values beside ours.

mod conformity;
mod gauging;
mod gum;
mod independent;
mod monte_carlo;

use crate::UncertaintyError;
use matewell_published::{Check, Grade};

/// Every check of this room.
pub fn checks() -> Vec<Check> {
    let mut all = gum::checks();
    all.extend(monte_carlo::checks());
    all.extend(conformity::checks());
    all.extend(gauging::checks());
    all.extend(independent::checks());
    all
}

/// One row: locator, quantity, printed, ours, grade.
type Row = (&'static str, &'static str, &'static str, f64, Grade);

fn rows(source: &'static str, list: impl IntoIterator<Item = Row>) -> Vec<Check> {
    list.into_iter()
        .map(|(locator, quantity, printed, ours, grade)| {
            Check::printed(source, locator, quantity, printed, ours, grade)
        })
        .collect()
}

/// A result as a number; NaN, which fails every check, when there is none.
fn number(result: Result<f64, UncertaintyError>) -> f64 {
    result.unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_published_value_is_reproduced() {
        matewell_published::assert_all(&super::checks(), 250);
    }

    #[test]
    fn a_wider_tolerance_has_a_sentence() {
        for check in super::checks() {
            let narrow = matewell_published::half_last_digit(check.printed);
            assert!(check.allowed <= narrow || check.difference.is_some(), "{check:?}");
        }
    }
}
