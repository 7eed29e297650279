//! Published values beside ours.

mod charts;
mod data;
mod gauge_study;
mod independent;
mod life;
mod regression;
mod torque;

use crate::StudyError;
use matewell_published::{Check, Grade};

/// Every check of this room.
pub fn checks() -> Vec<Check> {
    let groups: [(&'static str, Group); 6] = [
        ("regression", regression::checks),
        ("gauge studies", gauge_study::checks),
        ("charts", charts::checks),
        ("torque tools", torque::checks),
        ("lifetimes", life::checks),
        ("independent implementations", independent::checks),
    ];
    groups
        .into_iter()
        .flat_map(|(name, group)| {
            // One check that fails, so that an error cannot shorten the list
            // unseen.
            group().unwrap_or_else(|_| {
                vec![Check::printed("matewell", name, "computation", "0", f64::NAN, Grade::Own)]
            })
        })
        .collect()
}

type Group = fn() -> Result<Vec<Check>, StudyError>;

/// One row: locator, quantity, printed, ours, grade.
type Row = (&'static str, &'static str, &'static str, f64, Grade);

fn rows(source: &'static str, list: impl IntoIterator<Item = Row>) -> Vec<Check> {
    list.into_iter()
        .map(|(locator, quantity, printed, ours, grade)| {
            Check::printed(source, locator, quantity, printed, ours, grade)
        })
        .collect()
}

/// The n-th number of a list; NaN, which fails every check, outside it.
fn nth(list: &[f64], n: usize) -> f64 {
    list.get(n).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_published_value_is_reproduced() {
        matewell_published::assert_all(&super::checks(), 200);
    }

    #[test]
    fn a_wider_tolerance_has_a_sentence() {
        for check in super::checks() {
            let narrow = matewell_published::half_last_digit(check.printed);
            assert!(check.allowed <= narrow || check.difference.is_some(), "{check:?}");
        }
    }
}
