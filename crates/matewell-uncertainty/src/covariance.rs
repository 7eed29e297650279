//! Covariance matrices: the multivariate law of propagation.

use crate::{
    Estimate, InputId, UncertaintyError,
    inputs::check_readings,
    numeric::{finite, mean, not_negative},
};
use nalgebra::{DMatrix, SymmetricEigen};

/// A symmetric matrix without negative eigenvalues.
#[derive(Debug, Clone, PartialEq)]
pub struct CovarianceMatrix {
    matrix: DMatrix<f64>,
}

impl CovarianceMatrix {
    /// From its rows.
    ///
    /// # Errors
    ///
    /// Not square, not finite, not symmetric to 1e-9 of the largest element,
    /// or an eigenvalue below −1e-9 of the largest.
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<Self, UncertaintyError> {
        let n = rows.len();
        for row in rows {
            if row.len() != n {
                return Err(UncertaintyError::Count {
                    what: "elements in a row of the covariance matrix",
                    expected: n,
                    found: row.len(),
                });
            }
            for element in row {
                finite("covariance", *element)?;
            }
        }
        let matrix =
            DMatrix::from_fn(n, n, |i, j| rows.get(i).and_then(|r| r.get(j)).copied().unwrap_or(f64::NAN));
        Self::checked(&matrix)
    }

    fn checked(matrix: &DMatrix<f64>) -> Result<Self, UncertaintyError> {
        let largest = matrix.iter().fold(0.0, |a, b| crate::numeric::greater(a, b.abs()));
        let n = matrix.nrows();
        for i in 0..n {
            for j in 0..i {
                let (above, below) = (matrix[(j, i)], matrix[(i, j)]);
                if (above - below).abs() > 1e-9 * largest {
                    return Err(UncertaintyError::NotSymmetric { above, below });
                }
            }
        }
        let matrix = (matrix + matrix.transpose()) * 0.5;
        // Scaled to unit diagonal first: inputs of very different units would
        // hide a negative eigenvalue below the rounding of the largest.
        let scale: Vec<f64> =
            (0..n).map(|i| if matrix[(i, i)] > 0.0 { matrix[(i, i)].sqrt() } else { 1.0 }).collect();
        let scaled = DMatrix::from_fn(n, n, |i, j| matrix[(i, j)] / (scale[i] * scale[j]));
        let smallest = SymmetricEigen::new(scaled)
            .eigenvalues
            .iter()
            .fold(f64::INFINITY, |a, b| crate::numeric::lesser(a, *b));
        if n > 0 && (smallest.is_nan() || smallest < -1e-9 * n as f64) {
            return Err(UncertaintyError::NotPositiveSemiDefinite { smallest });
        }
        Ok(Self { matrix })
    }

    /// From standard uncertainties and correlation coefficients `(i, j, r)`;
    /// pairs not named are uncorrelated.
    ///
    /// # Errors
    ///
    /// A negative uncertainty, `|r| > 1`, an index outside, or coefficients
    /// that contradict each other (no such joint distribution exists).
    pub fn from_correlations(
        standard_uncertainties: &[f64],
        correlations: &[(usize, usize, f64)],
    ) -> Result<Self, UncertaintyError> {
        let n = standard_uncertainties.len();
        let mut matrix = DMatrix::zeros(n, n);
        for (i, u) in standard_uncertainties.iter().enumerate() {
            matrix[(i, i)] = not_negative("standard uncertainty", *u)?.powi(2);
        }
        for (i, j, r) in correlations {
            let (Some(u_i), Some(u_j)) = (standard_uncertainties.get(*i), standard_uncertainties.get(*j))
            else {
                return Err(UncertaintyError::Count {
                    what: "standard uncertainties for the named pairs",
                    expected: (*i.max(j)).saturating_add(1),
                    found: n,
                });
            };
            if !(-1.0..=1.0).contains(r) || i == j {
                return Err(UncertaintyError::OutOfRange {
                    what: "correlation of two different inputs",
                    expected: "from -1 to 1",
                    found: *r,
                });
            }
            matrix[(*i, *j)] = r * u_i * u_j;
            matrix[(*j, *i)] = r * u_i * u_j;
        }
        Self::checked(&matrix)
    }

    /// Joint covariance of several estimates through their shared inputs.
    ///
    /// # Errors
    ///
    /// Only on overflow.
    pub fn of_estimates(estimates: &[&Estimate]) -> Result<Self, UncertaintyError> {
        let rows: Vec<Vec<f64>> =
            estimates.iter().map(|a| estimates.iter().map(|b| a.covariance(b)).collect()).collect();
        Self::from_rows(&rows)
    }

    /// Means of quantities read together, and the covariance of those means:
    /// `u(x̄ᵢ, x̄ⱼ) = Σ_k (x_ik − x̄ᵢ)(x_jk − x̄ⱼ) / (n(n − 1))`.
    ///
    /// # Errors
    ///
    /// Fewer than two sets, lists of different length, a reading that is not
    /// finite.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 5.2.3, equation 17.
    pub fn of_paired_means(quantities: &[&[f64]]) -> Result<(Vec<f64>, Self), UncertaintyError> {
        let n = quantities.first().map_or(0, |q| q.len());
        for quantity in quantities {
            check_readings(quantity, 2)?;
            if quantity.len() != n {
                return Err(UncertaintyError::Count {
                    what: "readings of each quantity",
                    expected: n,
                    found: quantity.len(),
                });
            }
        }
        let means: Vec<f64> = quantities.iter().map(|q| mean(q)).collect();
        let divisor = (n * n.saturating_sub(1)) as f64;
        let rows: Vec<Vec<f64>> = quantities
            .iter()
            .zip(&means)
            .map(|(a, mean_a)| {
                quantities
                    .iter()
                    .zip(&means)
                    .map(|(b, mean_b)| {
                        a.iter().zip(b.iter()).map(|(x, y)| (x - mean_a) * (y - mean_b)).sum::<f64>()
                            / divisor
                    })
                    .collect()
            })
            .collect();
        Ok((means, Self::from_rows(&rows)?))
    }

    /// Number of quantities.
    pub fn size(&self) -> usize {
        self.matrix.nrows()
    }

    /// One element; `None` outside the matrix.
    pub fn covariance(&self, i: usize, j: usize) -> Option<f64> {
        self.matrix.get((i, j)).copied()
    }

    /// Standard uncertainty of one quantity; `None` outside the matrix.
    pub fn standard_uncertainty(&self, i: usize) -> Option<f64> {
        self.covariance(i, i).map(f64::sqrt)
    }

    /// Correlation coefficient; 0 when either has no uncertainty, `None`
    /// outside the matrix.
    pub fn correlation(&self, i: usize, j: usize) -> Option<f64> {
        let product = self.standard_uncertainty(i)? * self.standard_uncertainty(j)?;
        Some(if product > 0.0 { self.covariance(i, j)? / product } else { 0.0 })
    }

    /// Covariance of several results of the same inputs: `J V Jᵀ`, with the
    /// rows of `jacobian` the partial derivatives of one result each.
    ///
    /// # Errors
    ///
    /// A row of the wrong length or a derivative that is not finite.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, H.2.3, equation H.9; `jcgm-102-2011`, 6.2.
    pub fn propagate(&self, jacobian: &[Vec<f64>]) -> Result<Self, UncertaintyError> {
        let n = self.size();
        let mut j = DMatrix::zeros(jacobian.len(), n);
        for (i, row) in jacobian.iter().enumerate() {
            if row.len() != n {
                return Err(UncertaintyError::Count {
                    what: "partial derivatives in a row",
                    expected: n,
                    found: row.len(),
                });
            }
            for (k, derivative) in row.iter().enumerate() {
                j[(i, k)] = finite("sensitivity", *derivative)?;
            }
        }
        Self::checked(&(&j * &self.matrix * j.transpose()))
    }

    /// A factor `L` with `L Lᵀ = V`, by eigenvalues, so that singular
    /// matrices work too. Rows belong to quantities.
    pub(crate) fn factor(&self) -> DMatrix<f64> {
        let eigen = SymmetricEigen::new(self.matrix.clone());
        let roots = DMatrix::from_diagonal(&eigen.eigenvalues.map(|v| if v > 0.0 { v.sqrt() } else { 0.0 }));
        eigen.eigenvectors * roots
    }
}

impl Estimate {
    /// Several inputs that are correlated for a reason no shared id explains,
    /// for example read together. They are split into independent parts named
    /// `name/1`, `name/2` and so on.
    ///
    /// All parts carry the same degrees of freedom. The Welch–Satterthwaite
    /// formula holds for independent components only, so effective degrees of
    /// freedom from such parts lie between `ν` and `n ν`, too high for a
    /// result that uses several; state the smaller number when it matters.
    ///
    /// # Errors
    ///
    /// Lists of different length, a value that is not finite, bad degrees of
    /// freedom.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 5.2.2 and F.1.2.3.
    pub fn correlated_inputs(
        name: &InputId,
        values: &[f64],
        covariance: &CovarianceMatrix,
        degrees_of_freedom: f64,
    ) -> Result<Vec<Self>, UncertaintyError> {
        if values.len() != covariance.size() {
            return Err(UncertaintyError::Count {
                what: "values for the covariance matrix",
                expected: covariance.size(),
                found: values.len(),
            });
        }
        let parts = (1..=values.len())
            .map(|k| Self::input(InputId::new(format!("{name}/{k}")), 0.0, 1.0, degrees_of_freedom))
            .collect::<Result<Vec<_>, _>>()?;
        let factor = covariance.factor();
        values
            .iter()
            .enumerate()
            .map(|(i, value)| {
                let terms: Vec<(f64, &Self)> =
                    parts.iter().enumerate().map(|(k, part)| (factor[(i, k)], part)).collect();
                Self::combine(*value, &terms)
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn impossible_correlations_are_refused() {
        let contradiction = [(0, 1, 0.9), (1, 2, 0.9), (0, 2, -0.9)];
        assert!(matches!(
            CovarianceMatrix::from_correlations(&[1.0, 1.0, 1.0], &contradiction),
            Err(UncertaintyError::NotPositiveSemiDefinite { .. })
        ));
        assert!(CovarianceMatrix::from_correlations(&[1.0, 1.0], &[(0, 1, 1.1)]).is_err());
        assert!(CovarianceMatrix::from_correlations(&[1.0, 1.0], &[(0, 2, 0.1)]).is_err());
        assert!(CovarianceMatrix::from_rows(&[vec![1.0, 0.5], vec![0.2, 1.0]]).is_err());
        assert!(CovarianceMatrix::from_rows(&[vec![1.0, 0.5]]).is_err());
        assert!(CovarianceMatrix::from_rows(&[vec![f64::NAN]]).is_err());
    }

    proptest! {
        /// Splitting into parts gives the covariance back, and any joint
        /// covariance of estimates has no negative eigenvalue.
        #[test]
        fn parts_carry_the_whole_covariance(
            rows in prop::collection::vec(prop::collection::vec(-2.0f64..2.0, 3), 3),
            values in prop::collection::vec(-5.0f64..5.0, 3),
        ) {
            let unit = CovarianceMatrix::from_correlations(&[1.0, 1.0, 1.0], &[]).unwrap();
            let covariance = unit.propagate(&rows).unwrap();
            let inputs = Estimate::correlated_inputs(&InputId::new("v"), &values, &covariance, 5.0).unwrap();
            let borrowed: Vec<&Estimate> = inputs.iter().collect();
            let again = CovarianceMatrix::of_estimates(&borrowed).unwrap();
            for i in 0..3 {
                for j in 0..3 {
                    let (a, b) = (covariance.covariance(i, j).unwrap(), again.covariance(i, j).unwrap());
                    prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
                }
            }
        }

        #[test]
        fn covariance_is_bilinear(a in -3.0f64..3.0, b in -3.0f64..3.0, u in 0.1f64..2.0, v in 0.1f64..2.0) {
            let x = Estimate::input(InputId::new("x"), 1.0, u, f64::INFINITY).unwrap();
            let y = Estimate::input(InputId::new("y"), 2.0, v, f64::INFINITY).unwrap();
            let left = Estimate::combine(0.0, &[(a, &x), (b, &y)]).unwrap();
            let expected = a * x.covariance(&x) + b * y.covariance(&x);
            prop_assert!((left.covariance(&x) - expected).abs() < 1e-12);
            let sum = x.plus(&left).unwrap();
            let expected = x.variance() + left.variance() + 2.0 * x.covariance(&left);
            prop_assert!((sum.variance() - expected).abs() < 1e-9);
        }
    }
}
