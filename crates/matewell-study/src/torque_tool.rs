//! Arithmetic of a torque tool check: deviations, uncertainty, and what torque
//! a tool really applied.
//!
//! Which deviation is permissible, how many readings and at which values is
//! the lab's table; this module only computes. The form of the interval `W'`
//! is from memory.

use crate::{
    StudyError,
    numeric::{greater, mean, not_negative, positive, range, values},
};
use matewell_uncertainty::Spread;

/// Relative deviation in percent: `a_s = (X_a − X_r)/X_r · 100`.
///
/// - `set`: indicated or set torque `X_a`; `reference`: torque by the
///   calibration device `X_r`. Same unit.
///
/// # Errors
///
/// A torque not above zero.
///
/// # Source
///
/// `iso-6789-1-2017`; clause 5.1 of `iso-6789-2-2017`.
pub fn deviation_percent(set: f64, reference: f64) -> Result<f64, StudyError> {
    positive("set torque", set)?;
    positive("reference torque", reference)?;
    Ok(100.0 * (set - reference) / reference)
}

/// One calibration at one torque. Ranges `b` are in the unit of the torque:
/// largest less smallest mean of the series taken for that influence; zero
/// where the influence does not exist.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolCheck {
    /// Indicated or set torque.
    pub set: f64,
    /// Reference torques of the readings.
    pub references: Vec<f64>,
    /// Resolution of the tool's own indication; 0 for a fixed setting.
    pub resolution: f64,
    /// Range by re-seating the tool (reproducibility).
    pub reproducibility: f64,
    /// Range by turning the output drive.
    pub output_drive: f64,
    /// Range by turning the interface.
    pub interface: f64,
    /// Range by moving the loading point; 0 for a screwdriver.
    pub loading_point: f64,
    /// Relative standard uncertainty of the calibration device, percent.
    pub device_percent: f64,
    /// Relative error of the calibration device left uncorrected, percent.
    pub device_error_percent: f64,
}

/// The relative standard uncertainties in percent, and what follows.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolUncertainty {
    /// Deviation of every reading, percent.
    pub deviations: Vec<f64>,
    /// Deviation from the mean reference, percent.
    pub mean_deviation: f64,
    /// Resolution: `r/2/√3`.
    pub resolution: f64,
    /// Reproducibility: `b/(2√3)`.
    pub reproducibility: f64,
    /// Output drive.
    pub output_drive: f64,
    /// Interface.
    pub interface: f64,
    /// Loading point.
    pub loading_point: f64,
    /// Repeatability of the mean: `s/√n`.
    pub repeatability: f64,
    /// Calibration device.
    pub device: f64,
    /// `w = √Σw²`.
    pub combined: f64,
    /// `W = 2 w`.
    pub expanded: f64,
    /// `W' = |ā_s| + |b_e| + W`.
    pub interval: f64,
}

impl ToolUncertainty {
    /// Largest magnitude of the single deviations, percent.
    pub fn largest_deviation(&self) -> f64 {
        self.deviations.iter().fold(0.0, |a, b| greater(a, b.abs()))
    }

    /// Whether every single reading keeps the permissible deviation. The
    /// conformance part of the standard judges deviations as they are,
    /// without uncertainty.
    ///
    /// # Errors
    ///
    /// A permissible deviation not above zero.
    pub fn conforms(&self, permissible_percent: f64) -> Result<bool, StudyError> {
        positive("permissible deviation", permissible_percent)?;
        Ok(self.largest_deviation() <= permissible_percent)
    }
}

/// Evaluates one torque of a tool check.
///
/// # Errors
///
/// Fewer than two readings, a torque not above zero, a negative range.
///
/// # Source
///
/// `iso-6789-2-2017`, clause 6 (components as in the headings seen; the form
/// of the interval from memory); `roeske-2014` for an open derivation.
pub fn evaluate(check: &ToolCheck) -> Result<ToolUncertainty, StudyError> {
    values("reference readings", &check.references, 2)?;
    let deviations = check
        .references
        .iter()
        .map(|reference| deviation_percent(check.set, *reference))
        .collect::<Result<Vec<_>, _>>()?;
    let reference = mean(&check.references);
    let root_12 = 12f64.sqrt();
    let relative = |what, b: f64| Ok::<_, StudyError>(100.0 * not_negative(what, b)? / root_12 / reference);
    let spread = Spread::of_readings(&check.references)?;
    let mut found = ToolUncertainty {
        deviations,
        mean_deviation: deviation_percent(check.set, reference)?,
        resolution: relative("resolution", check.resolution)?,
        reproducibility: relative("range by re-seating", check.reproducibility)?,
        output_drive: relative("range by the output drive", check.output_drive)?,
        interface: relative("range by the interface", check.interface)?,
        loading_point: relative("range by the loading point", check.loading_point)?,
        repeatability: 100.0 * spread.of_mean(check.references.len())? / reference,
        device: not_negative("uncertainty of the device", check.device_percent)?,
        combined: 0.0,
        expanded: 0.0,
        interval: 0.0,
    };
    let device_error = not_negative("error of the device", check.device_error_percent.abs())?;
    found.combined = [
        found.resolution,
        found.reproducibility,
        found.output_drive,
        found.interface,
        found.loading_point,
        found.repeatability,
        found.device,
    ]
    .iter()
    .map(|w| w * w)
    .sum::<f64>()
    .sqrt();
    found.expanded = 2.0 * found.combined;
    found.interval = found.mean_deviation.abs() + device_error + found.expanded;
    Ok(found)
}

/// Largest less smallest mean of several series: the range `b` of one
/// influence.
///
/// # Errors
///
/// Fewer than two series, an empty one, a value that is not finite.
pub fn range_of_means(series: &[Vec<f64>]) -> Result<f64, StudyError> {
    if series.len() < 2 {
        return Err(StudyError::TooFew { what: "series", expected: 2, found: series.len() });
    }
    for one in series {
        values("readings in a series", one, 1)?;
    }
    Ok(range(&series.iter().map(|s| mean(s)).collect::<Vec<_>>()))
}

/// Torques a tool may have applied at a set point while its deviation kept
/// within ± the given percent: `X_r = X_a/(1 ± a)`. Not symmetric, because the
/// deviation divides by the reference.
///
/// # Errors
///
/// A torque not above zero; a deviation outside 0 to below 100 %.
///
/// # Source
///
/// The definition of the deviation solved for the reference.
pub fn applied_window(set: f64, deviation_percent: f64) -> Result<(f64, f64), StudyError> {
    positive("set torque", set)?;
    if !(0.0..100.0).contains(&deviation_percent) {
        return Err(StudyError::OutOfRange {
            what: "deviation in percent",
            expected: "from 0 to below 100",
            found: deviation_percent,
        });
    }
    let a = deviation_percent / 100.0;
    Ok((set / (1.0 + a), set / (1.0 - a)))
}

/// Torque applied by a tool found to deviate by `a_s` percent.
///
/// # Errors
///
/// A torque not above zero, a deviation of −100 % or less.
pub fn applied_torque(set: f64, deviation_percent: f64) -> Result<f64, StudyError> {
    positive("set torque", set)?;
    Ok(set / positive("one plus the deviation", 1.0 + deviation_percent / 100.0)?)
}

/// Probability that a joint got a torque within a window, from the applied
/// mean and the standard uncertainties (percent) of tool and technique.
///
/// # Errors
///
/// A torque not above zero, limits that cross, no uncertainty at all.
pub fn probability_in_window(
    applied: f64,
    window: (f64, f64),
    tool_percent: f64,
    technique_percent: f64,
) -> Result<f64, StudyError> {
    positive("applied torque", applied)?;
    let tool = not_negative("uncertainty of the tool", tool_percent)?;
    let technique = not_negative("uncertainty of the technique", technique_percent)?;
    let u = applied * tool.hypot(technique) / 100.0;
    let measured = matewell_uncertainty::Measured::new(applied, u, matewell_uncertainty::Belief::Normal)?;
    let limits = matewell_uncertainty::Limits::new(Some(window.0), Some(window.1))?;
    Ok(measured.conformance_probability(limits)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The ends of the window deviate by exactly the permissible percent.
        #[test]
        fn the_window_inverts_the_deviation(set in 0.1f64..5.0, percent in 0.1f64..50.0) {
            let (low, high) = applied_window(set, percent).unwrap();
            prop_assert!((deviation_percent(set, low).unwrap() - percent).abs() < 1e-9);
            prop_assert!((deviation_percent(set, high).unwrap() + percent).abs() < 1e-9);
            prop_assert!(high - set > set - low);
            prop_assert!((applied_torque(set, percent).unwrap() - low).abs() < 1e-12);
        }
    }

    #[test]
    fn bad_checks_are_refused() {
        assert!(deviation_percent(0.9, 0.0).is_err() && deviation_percent(f64::NAN, 0.9).is_err());
        assert!(applied_window(0.9, 100.0).is_err() && applied_torque(0.9, -100.0).is_err());
        assert!(range_of_means(&[vec![1.0]]).is_err());
        assert!((range_of_means(&[vec![1.0, 2.0], vec![2.0, 2.0]]).unwrap() - 0.5).abs() < 1e-15);
    }

    #[test]
    fn the_technique_widens_what_the_tool_promises() {
        let sure = probability_in_window(0.9, (0.85, 0.957), 1.0, 0.0).unwrap();
        let loose = probability_in_window(0.9, (0.85, 0.957), 1.0, 5.0).unwrap();
        assert!(sure > 0.999 && loose < 0.8);
    }
}
