//! A calibration line, its covariance, and an error common to all points.

use crate::{
    UncertaintyError, coverage,
    inputs::check_readings,
    numeric::{finite, mean, not_negative},
};

/// Line `y = y₁ + y₂ (t − t₀)` by unweighted least squares.
///
/// # Source
///
/// `jcgm-100-2008`, H.3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationLine {
    reference: f64,
    intercept: f64,
    slope: f64,
    residual: f64,
    sum_of_squared_residuals: f64,
    points: usize,
    // Mean of t − t₀ and the sum of squares about it.
    mean: f64,
    spread: f64,
    common: f64,
}

/// A value with its standard uncertainty and degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertain {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty.
    pub standard_uncertainty: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl CalibrationLine {
    /// Fits the line; `reference` is `t₀`, exact and free to choose.
    ///
    /// # Errors
    ///
    /// Fewer than three points, lists of different length, a value that is
    /// not finite, or all `t` equal.
    pub fn fit(t: &[f64], y: &[f64], reference: f64) -> Result<Self, UncertaintyError> {
        check_readings(t, 3)?;
        check_readings(y, 3)?;
        finite("reference", reference)?;
        if t.len() != y.len() {
            return Err(UncertaintyError::Count { what: "values y", expected: t.len(), found: y.len() });
        }
        let theta: Vec<f64> = t.iter().map(|t| t - reference).collect();
        let (mean_theta, mean_y) = (mean(&theta), mean(y));
        let spread: f64 = theta.iter().map(|x| (x - mean_theta).powi(2)).sum();
        crate::numeric::positive("spread of the abscissae", spread)?;
        let slope = theta.iter().zip(y).map(|(x, y)| (x - mean_theta) * (y - mean_y)).sum::<f64>() / spread;
        let intercept = mean_y - slope * mean_theta;
        let squares: f64 = theta.iter().zip(y).map(|(x, y)| (y - intercept - slope * x).powi(2)).sum();
        Ok(Self {
            reference,
            intercept,
            slope,
            residual: (squares / (t.len() as f64 - 2.0)).sqrt(),
            sum_of_squared_residuals: squares,
            points: t.len(),
            mean: mean_theta,
            spread,
            common: 0.0,
        })
    }

    /// The same line with a standard uncertainty that is common to every `y`,
    /// for example of the standard they were all compared with. It moves the
    /// whole line, so no number of points averages it out, and the slope does
    /// not feel it.
    ///
    /// # Errors
    ///
    /// A negative uncertainty.
    pub fn with_common(mut self, standard_uncertainty: f64) -> Result<Self, UncertaintyError> {
        self.common = not_negative("standard uncertainty", standard_uncertainty)?;
        Ok(self)
    }

    /// `y₁`, the value at `t₀`.
    pub fn intercept(&self) -> Uncertain {
        self.at(self.reference)
    }

    /// `y₂`.
    pub fn slope(&self) -> Uncertain {
        Uncertain {
            value: self.slope,
            standard_uncertainty: self.residual / self.spread.sqrt(),
            degrees_of_freedom: self.points as f64 - 2.0,
        }
    }

    /// Correlation coefficient of intercept and slope, without the common
    /// part.
    pub fn correlation(&self) -> f64 {
        let n = self.points as f64;
        -self.mean / (self.spread / n + self.mean * self.mean).sqrt()
    }

    /// Residual standard deviation `s`.
    pub fn residual_standard_deviation(&self) -> f64 {
        self.residual
    }

    /// Sum of squared residuals.
    pub fn sum_of_squared_residuals(&self) -> f64 {
        self.sum_of_squared_residuals
    }

    /// The line at `t`, with `u²` of the fit plus that of the common part, and
    /// the effective degrees of freedom of the two.
    pub fn at(&self, t: f64) -> Uncertain {
        let theta = t - self.reference;
        let fit_variance =
            self.residual.powi(2) * (1.0 / self.points as f64 + (theta - self.mean).powi(2) / self.spread);
        let variance = fit_variance + self.common * self.common;
        let fit_dof = self.points as f64 - 2.0;
        Uncertain {
            value: self.intercept + self.slope * theta,
            standard_uncertainty: variance.sqrt(),
            degrees_of_freedom: if fit_variance > 0.0 {
                fit_dof * (variance / fit_variance).powi(2)
            } else {
                f64::INFINITY
            },
        }
    }
}

impl Uncertain {
    /// Expanded uncertainty for a coverage probability, with t.
    ///
    /// # Errors
    ///
    /// A probability not between 0 and 1.
    pub fn expanded(&self, probability: f64) -> Result<f64, UncertaintyError> {
        Ok(self.standard_uncertainty * coverage::coverage_factor(probability, self.degrees_of_freedom)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::CovarianceMatrix;

    /// Slow twin: the value at t by the covariance of intercept and slope.
    #[test]
    fn prediction_agrees_with_the_propagated_covariance() {
        let t = [1.0, 2.0, 4.0, 7.0, 8.0];
        let y = [0.3, 0.8, 1.7, 3.9, 4.1];
        let line = CalibrationLine::fit(&t, &y, 2.0).unwrap();
        let u = [line.intercept().standard_uncertainty, line.slope().standard_uncertainty];
        let joint = CovarianceMatrix::from_correlations(&u, &[(0, 1, line.correlation())]).unwrap();
        let at_ten = joint.propagate(&[vec![1.0, 8.0]]).unwrap();
        let direct = line.at(10.0).standard_uncertainty;
        assert!((at_ten.standard_uncertainty(0).unwrap() / direct - 1.0).abs() < 1e-12);
    }

    #[test]
    fn degenerate_points_are_refused() {
        assert!(CalibrationLine::fit(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0], 0.0).is_err());
        assert!(CalibrationLine::fit(&[1.0, 2.0], &[1.0, 2.0], 0.0).is_err());
        assert!(CalibrationLine::fit(&[1.0, 2.0, 3.0], &[1.0, 2.0], 0.0).is_err());
    }
}
