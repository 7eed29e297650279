//! Least squares by QR, with bands.

use crate::{
    StudyError,
    numeric::{finite, mean, probability, values},
};
use matewell_uncertainty::{coverage_factor, student_t_quantile};
use nalgebra::{DMatrix, DVector};

/// Whether the model has a constant term.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Intercept {
    /// A constant is fitted; its coefficient comes first.
    Fitted,
    /// The model passes through the origin.
    None,
}

/// A linear model fitted by unweighted least squares.
///
/// The columns are scaled to unit length, factored as QR by Householder
/// reflections, and the coefficients refined twice with residuals in doubled
/// precision.
///
/// # Source
///
/// `golub-van-loan-2013`, 5.3 (QR and refinement); the certified values of
/// `nist-strd` as the test.
#[derive(Debug, Clone, PartialEq)]
pub struct Regression {
    intercept: Intercept,
    coefficients: Vec<f64>,
    // (XᵀX)⁻¹.
    unscaled: DMatrix<f64>,
    residual_squares: f64,
    total_squares: f64,
    points: usize,
}

/// A predicted value with two standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The fitted value.
    pub value: f64,
    /// Standard uncertainty of the fitted value.
    pub fit_uncertainty: f64,
    /// Standard uncertainty of one more reading about it.
    pub reading_uncertainty: f64,
    /// Degrees of freedom of both.
    pub degrees_of_freedom: f64,
}

impl Band {
    /// Half-width of the two-sided confidence band.
    ///
    /// # Errors
    ///
    /// A coverage probability not between 0 and 1.
    pub fn confidence(&self, coverage: f64) -> Result<f64, StudyError> {
        Ok(self.fit_uncertainty * coverage_factor(coverage, self.degrees_of_freedom)?)
    }

    /// Half-width of the two-sided prediction band for one reading.
    ///
    /// # Errors
    ///
    /// A coverage probability not between 0 and 1.
    pub fn prediction(&self, coverage: f64) -> Result<f64, StudyError> {
        Ok(self.reading_uncertainty * coverage_factor(coverage, self.degrees_of_freedom)?)
    }

    /// Distance of the one-sided prediction bound from the value.
    ///
    /// # Errors
    ///
    /// A confidence not between 0 and 1.
    pub fn one_sided_prediction(&self, confidence: f64) -> Result<f64, StudyError> {
        Ok(self.reading_uncertainty * student_t_quantile(confidence, self.degrees_of_freedom)?)
    }

    /// Distance of the one-sided confidence bound from the value.
    ///
    /// # Errors
    ///
    /// A confidence not between 0 and 1.
    pub fn one_sided_confidence(&self, confidence: f64) -> Result<f64, StudyError> {
        Ok(self.fit_uncertainty * student_t_quantile(confidence, self.degrees_of_freedom)?)
    }
}

impl Regression {
    /// Fits `y` on rows of predictors.
    ///
    /// # Errors
    ///
    /// Rows of different length, a value that is not finite, no degree of
    /// freedom left, columns that depend on each other.
    pub fn fit(rows: &[Vec<f64>], y: &[f64], intercept: Intercept) -> Result<Self, StudyError> {
        let predictors = rows.first().map_or(0, Vec::len);
        let extra = usize::from(intercept == Intercept::Fitted);
        let columns = predictors + extra;
        values("responses", y, columns + 1)?;
        if rows.len() != y.len() {
            return Err(StudyError::Unbalanced {
                place: "design".to_owned(),
                what: "rows",
                expected: y.len(),
                found: rows.len(),
            });
        }
        for (number, row) in rows.iter().enumerate() {
            values("predictors", row, 0)?;
            if row.len() != predictors {
                return Err(StudyError::Unbalanced {
                    place: format!("row {number}"),
                    what: "predictors",
                    expected: predictors,
                    found: row.len(),
                });
            }
        }
        if columns == 0 {
            return Err(StudyError::TooFew { what: "columns", expected: 1, found: 0 });
        }
        let design = DMatrix::from_fn(y.len(), columns, |i, j| {
            if j < extra {
                1.0
            } else {
                rows.get(i).and_then(|r| r.get(j - extra)).copied().unwrap_or(f64::NAN)
            }
        });
        Self::solve(&design, y, intercept)
    }

    fn solve(design: &DMatrix<f64>, y: &[f64], intercept: Intercept) -> Result<Self, StudyError> {
        let lengths: Vec<f64> = design.column_iter().map(|c| c.norm()).collect();
        if let Some(column) = lengths.iter().position(|l| *l <= 0.0) {
            return Err(StudyError::Dependent { column });
        }
        let scale =
            DMatrix::from_diagonal(&DVector::from_iterator(lengths.len(), lengths.iter().map(|l| l.recip())));
        let scaled = design * &scale;
        let qr = scaled.clone().qr();
        let r = qr.r();
        // Unit columns: a diagonal element is the sine of the angle to the
        // columns before it.
        if let Some(column) = r.diagonal().iter().position(|d| d.abs() < 1e-12) {
            return Err(StudyError::Dependent { column });
        }
        let q = qr.q();
        let step = |rest: &DVector<f64>| r.solve_upper_triangular(&(q.transpose() * rest));
        let dependent = || StudyError::Dependent { column: lengths.len() - 1 };
        let mut coefficients = DVector::zeros(lengths.len());
        for _ in 0..3 {
            let rest = residuals(&scaled, &coefficients, y);
            coefficients += step(&rest).ok_or_else(dependent)?;
        }
        let residual_squares = residuals(&scaled, &coefficients, y).norm_squared();
        let inverse = r
            .solve_upper_triangular(&DMatrix::identity(lengths.len(), lengths.len()))
            .ok_or_else(dependent)?;
        let unscaled = &scale * &inverse * inverse.transpose() * &scale;
        let centre = if intercept == Intercept::Fitted { mean(y) } else { 0.0 };
        Ok(Self {
            intercept,
            coefficients: (&scale * coefficients).iter().copied().collect(),
            unscaled,
            residual_squares,
            total_squares: y.iter().map(|y| (y - centre) * (y - centre)).sum(),
            points: y.len(),
        })
    }

    /// Coefficients; the constant first when it is fitted.
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Degrees of freedom of the residuals.
    pub fn degrees_of_freedom(&self) -> f64 {
        (self.points - self.coefficients.len()) as f64
    }

    /// Residual standard deviation.
    pub fn residual_standard_deviation(&self) -> f64 {
        (self.residual_squares / self.degrees_of_freedom()).sqrt()
    }

    /// Sum of squared residuals.
    pub fn residual_squares(&self) -> f64 {
        self.residual_squares
    }

    /// Standard uncertainties of the coefficients.
    pub fn standard_errors(&self) -> Vec<f64> {
        let s = self.residual_standard_deviation();
        self.unscaled.diagonal().iter().map(|v| s * v.sqrt()).collect()
    }

    /// Share of the squares that the model explains: about the mean with a
    /// constant, about zero without.
    pub fn r_squared(&self) -> f64 {
        1.0 - self.residual_squares / self.total_squares
    }

    /// Ratio of the explained mean square to the residual one, with its upper
    /// tail probability.
    ///
    /// # Errors
    ///
    /// A model of the constant alone.
    pub fn f_test(&self) -> Result<(f64, f64), StudyError> {
        let explained = self.coefficients.len() - usize::from(self.intercept == Intercept::Fitted);
        if explained == 0 {
            return Err(StudyError::TooFew { what: "predictors", expected: 1, found: 0 });
        }
        let dof = self.degrees_of_freedom();
        let f =
            (self.total_squares - self.residual_squares) / explained as f64 / (self.residual_squares / dof);
        let p = crate::numeric::f_upper_tail(crate::numeric::greater(f, 0.0), explained as f64, dof)?;
        Ok((f, p))
    }

    /// The model at one row of predictors.
    ///
    /// # Errors
    ///
    /// A row of another length or a value that is not finite.
    pub fn at(&self, row: &[f64]) -> Result<Band, StudyError> {
        values("predictors", row, 0)?;
        let extra = usize::from(self.intercept == Intercept::Fitted);
        if row.len() + extra != self.coefficients.len() {
            return Err(StudyError::Unbalanced {
                place: "prediction".to_owned(),
                what: "predictors",
                expected: self.coefficients.len() - extra,
                found: row.len(),
            });
        }
        let full = DVector::from_iterator(
            self.coefficients.len(),
            std::iter::repeat_n(1.0, extra).chain(row.iter().copied()),
        );
        let s2 = self.residual_squares / self.degrees_of_freedom();
        let leverage = (full.transpose() * &self.unscaled * &full).sum();
        Ok(Band {
            value: finite("prediction", full.iter().zip(&self.coefficients).map(|(x, b)| x * b).sum())?,
            fit_uncertainty: (s2 * leverage).sqrt(),
            reading_uncertainty: (s2 * (1.0 + leverage)).sqrt(),
            degrees_of_freedom: self.degrees_of_freedom(),
        })
    }
}

/// `y − X b` with products and sums in doubled precision (two-product by fused
/// multiply-add, two-sum by Knuth).
fn residuals(x: &DMatrix<f64>, b: &DVector<f64>, y: &[f64]) -> DVector<f64> {
    DVector::from_iterator(
        y.len(),
        x.row_iter().zip(y).map(|(row, y)| {
            let (mut high, mut low) = (*y, 0.0);
            for (x, b) in row.iter().zip(b.iter()) {
                let product = -x * b;
                let product_low = (-x).mul_add(*b, -product);
                let sum = high + product;
                let back = sum - high;
                low += (high - (sum - back)) + (product - back) + product_low;
                high = sum;
            }
            high + low
        }),
    )
}

/// A polynomial in one variable, fitted in the variable divided by its largest
/// magnitude.
#[derive(Debug, Clone, PartialEq)]
pub struct Polynomial {
    regression: Regression,
    scale: f64,
    lowest: f64,
    highest: f64,
}

impl Polynomial {
    /// Fits a polynomial of the given degree; without a constant it passes
    /// through the origin.
    ///
    /// # Errors
    ///
    /// As [`Regression::fit`]; a degree of zero or above 10.
    pub fn fit(x: &[f64], y: &[f64], degree: i32, intercept: Intercept) -> Result<Self, StudyError> {
        values("abscissae", x, 2)?;
        if !(1..=10).contains(&degree) {
            return Err(StudyError::OutOfRange {
                what: "degree of a polynomial",
                expected: "from 1 to 10",
                found: f64::from(degree),
            });
        }
        let highest = x.iter().fold(f64::NEG_INFINITY, |a, b| crate::numeric::greater(a, *b));
        let lowest = x.iter().fold(f64::INFINITY, |a, b| crate::numeric::lesser(a, *b));
        // A power of two: the division is exact.
        let largest = crate::numeric::greater(highest.abs(), lowest.abs());
        let scale = if largest > 0.0 { largest.log2().ceil().exp2() } else { 1.0 };
        let rows: Vec<Vec<f64>> = x.iter().map(|x| powers(x / scale, degree)).collect();
        Ok(Self { regression: Regression::fit(&rows, y, intercept)?, scale, lowest, highest })
    }

    /// Coefficients of `1, x, x², …` (or from `x` on through the origin).
    pub fn coefficients(&self) -> Vec<f64> {
        self.unscale(self.regression.coefficients())
    }

    /// Their standard uncertainties.
    pub fn standard_errors(&self) -> Vec<f64> {
        self.unscale(&self.regression.standard_errors())
    }

    fn unscale(&self, list: &[f64]) -> Vec<f64> {
        let first = i32::from(self.regression.intercept == Intercept::None);
        (first..).zip(list).map(|(power, b)| b / self.scale.powi(power)).collect()
    }

    /// The fit in the scaled variable: residuals, degrees of freedom, F.
    pub fn regression(&self) -> &Regression {
        &self.regression
    }

    /// Smallest and largest abscissa that was fitted.
    pub fn span(&self) -> (f64, f64) {
        (self.lowest, self.highest)
    }

    /// The polynomial at `x` with its bands.
    ///
    /// # Errors
    ///
    /// `x` not finite.
    pub fn at(&self, x: f64) -> Result<Band, StudyError> {
        finite("abscissa", x)?;
        let degree =
            self.regression.coefficients.len() - usize::from(self.regression.intercept == Intercept::Fitted);
        self.regression.at(&powers(x / self.scale, i32::try_from(degree).unwrap_or(0)))
    }

    /// Inverse prediction within the fitted span: the `x` at which the
    /// polynomial is `y`, and the interval where the prediction band contains
    /// `y`. `None` where the polynomial or a band does not cross `y` there.
    ///
    /// # Errors
    ///
    /// `y` not finite, a coverage probability not between 0 and 1.
    ///
    /// # Source
    ///
    /// `nist-ehandbook`, 4.5.2.1.
    pub fn inverse(&self, y: f64, coverage: f64) -> Result<Option<[f64; 3]>, StudyError> {
        finite("response", y)?;
        probability("a coverage probability", coverage)?;
        let (low, high) = (self.lowest, self.highest);
        let factor = coverage_factor(coverage, self.regression.degrees_of_freedom())?;
        let cross = |sign: f64| {
            let f =
                |x: f64| self.at(x).map_or(f64::NAN, |b| b.value + sign * factor * b.reading_uncertainty - y);
            (f(low) * f(high) < 0.0).then(|| crate::numeric::bisect(f, low, high))
        };
        let (Some(a), Some(x), Some(b)) = (cross(1.0), cross(0.0), cross(-1.0)) else { return Ok(None) };
        Ok(Some([crate::numeric::lesser(a, b), x, crate::numeric::greater(a, b)]))
    }
}

fn powers(x: f64, degree: i32) -> Vec<f64> {
    (1..=degree).map(|p| x.powi(p)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Slow twin: textbook sums for a straight line.
        #[test]
        fn a_line_agrees_with_the_textbook_sums(y in prop::collection::vec(-5.0f64..5.0, 4..20), at in -3.0f64..30.0) {
            let x: Vec<f64> = (0..y.len()).map(|i| (i * i) as f64 * 0.1 + 1.0).collect();
            let fit = Polynomial::fit(&x, &y, 1, Intercept::Fitted).unwrap();
            let n = x.len() as f64;
            let (mx, my) = (mean(&x), mean(&y));
            let sxx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
            let slope = x.iter().zip(&y).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>() / sxx;
            let squares: f64 = x.iter().zip(&y).map(|(x, y)| (y - my - slope * (x - mx)).powi(2)).sum();
            let s2 = squares / (n - 2.0);
            let band = fit.at(at).unwrap();
            prop_assert!((band.value - my - slope * (at - mx)).abs() < 1e-9);
            prop_assert!((band.fit_uncertainty.powi(2) - s2 * (1.0 / n + (at - mx).powi(2) / sxx)).abs() < 1e-9 * (1.0 + s2));
            prop_assert!((fit.standard_errors()[1] - (s2 / sxx).sqrt()).abs() < 1e-9);
        }

        /// Points on a polynomial are given back, and adding a multiple of a
        /// column moves only its coefficient.
        #[test]
        fn exact_points_are_recovered(a in -5.0f64..5.0, b in -5.0f64..5.0, c in -5.0f64..5.0) {
            let x: Vec<f64> = (0..9).map(|i| f64::from(i) * 0.7 - 2.0).collect();
            let y: Vec<f64> = x.iter().map(|x| a + b * x + c * x * x).collect();
            let found = Polynomial::fit(&x, &y, 2, Intercept::Fitted).unwrap().coefficients();
            for (found, expected) in found.iter().zip([a, b, c]) {
                prop_assert!((found - expected).abs() < 1e-11);
            }
        }
    }

    #[test]
    fn impossible_fits_are_refused() {
        let rows = vec![vec![1.0, 2.0], vec![2.0, 4.0], vec![3.0, 6.0], vec![4.0, 8.0]];
        assert!(matches!(
            Regression::fit(&rows, &[1.0, 2.0, 3.0, 5.0], Intercept::None),
            Err(StudyError::Dependent { column: 1 })
        ));
        assert!(Polynomial::fit(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0], 1, Intercept::Fitted).is_err());
        assert!(Polynomial::fit(&[1.0, 2.0], &[1.0, 2.0], 1, Intercept::Fitted).is_err());
        assert!(Polynomial::fit(&[1.0, 2.0, f64::NAN], &[1.0, 2.0, 3.0], 1, Intercept::Fitted).is_err());
        assert!(Regression::fit(&[vec![1.0]], &[1.0, 2.0, 3.0], Intercept::None).is_err());
    }
}
