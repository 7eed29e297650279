//! Does a chosen quantity of a chain drift over time?

use statrs::distribution::{ContinuousCDF as _, StudentsT};

use crate::error::NetworkError;

/// A straight line through a quantity over time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Change per day, in the quantity's unit.
    pub slope_per_day: f64,
    /// Its standard uncertainty.
    pub slope_uncertainty: f64,
    /// Probability of so steep a slope, either way, without a trend.
    pub p: f64,
    /// Value of the line at the last time.
    pub latest: f64,
    /// Standard deviation about the line.
    pub scatter: f64,
}

/// Least-squares line through at least four values over days.
///
/// # Errors
///
/// Fewer than four values, unequal lengths, numbers that are not finite, or all
/// at one time.
pub fn trend(days: &[f64], values: &[f64]) -> Result<Trend, NetworkError> {
    let n = days.len();
    if n < 4 || values.len() != n {
        return Err(NetworkError::WrongCount { what: "values of a trend", expected: 4, found: values.len() });
    }
    for (index, &found) in days.iter().chain(values).enumerate() {
        if !found.is_finite() {
            return Err(NetworkError::NotFinite { what: "value of a trend", found, index });
        }
    }
    let count = n as f64;
    let (mean_t, mean_v) = (days.iter().sum::<f64>() / count, values.iter().sum::<f64>() / count);
    let (mut tt, mut tv) = (0.0, 0.0);
    for (t, v) in days.iter().zip(values) {
        tt += (t - mean_t).powi(2);
        tv += (t - mean_t) * (v - mean_v);
    }
    if tt <= 0.0 {
        return Err(NetworkError::NotDefined { what: "trend: expected values at different times" });
    }
    let slope = tv / tt;
    let line = |t: f64| mean_v + slope * (t - mean_t);
    let rest: f64 = days.iter().zip(values).map(|(t, v)| (v - line(*t)).powi(2)).sum();
    let scatter = (rest / (count - 2.0)).sqrt();
    let slope_uncertainty = scatter / tt.sqrt();
    let p = if slope_uncertainty > 0.0 {
        let student = StudentsT::new(0.0, 1.0, count - 2.0).map_err(|_| NetworkError::OutOfRange {
            what: "degrees of freedom",
            expected: "above 0",
            found: count - 2.0,
        })?;
        2.0 * student.sf((slope / slope_uncertainty).abs())
    } else if slope == 0.0 {
        1.0
    } else {
        0.0
    };
    let latest = line(days.iter().fold(f64::NEG_INFINITY, |a, &t| if t > a { t } else { a }));
    Ok(Trend { slope_per_day: slope, slope_uncertainty, p, latest, scatter })
}
