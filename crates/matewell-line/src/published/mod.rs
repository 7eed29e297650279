//! Do we reproduce it? Values of others beside ours.

mod closed;
mod remembered;
mod stored;

use crate::{Line, LineError};
use matewell_published::Check;
use matewell_quantity::{Frequency, Length};
use matewell_uncertainty::Estimate;

/// All checks of this room. A value that cannot be computed shows up as NaN,
/// and its check fails.
pub fn checks() -> Vec<Check> {
    let mut all = remembered::checks();
    all.extend(closed::checks());
    all.extend(stored::checks());
    all
}

/// NaN fails its check; nothing is hidden.
fn or_nan(value: Result<f64, LineError>) -> f64 {
    value.unwrap_or(f64::NAN)
}

fn mm(value: f64) -> Result<Length, LineError> {
    Ok(Length::from_millimetres(value)?)
}

fn um(value: f64) -> Result<Length, LineError> {
    Ok(Length::from_micrometres(value)?)
}

fn ghz(value: f64) -> Result<Frequency, LineError> {
    Ok(Frequency::from_gigahertz(value)?)
}

fn exact(value: f64) -> Result<Estimate, LineError> {
    Ok(Estimate::exact(value)?)
}

fn line(outer: f64, inner: f64, permittivity: f64) -> Result<Line, LineError> {
    Line::new(mm(outer)?, mm(inner)?)?.filled(exact(permittivity)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_printed_value_is_reproduced() {
        matewell_published::assert_all(&checks(), 110);
    }

    #[test]
    fn no_stored_row_is_left_out() {
        assert_eq!(stored::checks().len(), stored::VALUES.lines().count() - 1);
        assert!(stored::checks().iter().all(|c| c.ours.is_finite()));
    }
}
