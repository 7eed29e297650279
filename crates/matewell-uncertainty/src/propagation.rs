//! First and second order propagation through a function.

use crate::{
    Estimate, UncertaintyError,
    numeric::{finite, not_negative},
};

/// Derivatives of a function of several inputs at one point, as far as the
/// second-order formula needs them.
#[derive(Debug, Clone, PartialEq)]
pub struct Derivatives {
    /// `∂f/∂xᵢ`.
    pub first: Vec<f64>,
    /// `∂²f/∂xᵢ∂xⱼ`, row `i`, column `j`.
    pub second: Vec<Vec<f64>>,
    /// `∂³f/∂xᵢ∂xⱼ²`, row `i`, column `j`.
    pub third: Vec<Vec<f64>>,
}

/// Combined variance of independent inputs, split by order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOrder {
    /// `Σ fᵢ² uᵢ²`.
    pub first_order_variance: f64,
    /// `Σᵢⱼ [½ fᵢⱼ² + fᵢ fᵢⱼⱼ] uᵢ² uⱼ²`; may be negative.
    pub second_order_variance: f64,
    /// `½ Σ fᵢᵢ uᵢ²`: how far the mean lies from `f` at the means.
    pub mean_shift: f64,
}

impl SecondOrder {
    /// The formula itself.
    ///
    /// Holds for independent inputs; the terms are those of normal inputs.
    ///
    /// # Errors
    ///
    /// Lists of different length, a negative uncertainty, a derivative that
    /// is not finite.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 5.1.2 NOTE.
    pub fn new(derivatives: &Derivatives, standard_uncertainties: &[f64]) -> Result<Self, UncertaintyError> {
        let n = standard_uncertainties.len();
        let same = |what, found| {
            if found == n { Ok(()) } else { Err(UncertaintyError::Count { what, expected: n, found }) }
        };
        same("first derivatives", derivatives.first.len())?;
        same("rows of second derivatives", derivatives.second.len())?;
        same("rows of third derivatives", derivatives.third.len())?;
        let mut sum = Self { first_order_variance: 0.0, second_order_variance: 0.0, mean_shift: 0.0 };
        let rows = derivatives.second.iter().zip(&derivatives.third);
        for (i, ((f_i, u_i), (second, third))) in
            derivatives.first.iter().zip(standard_uncertainties).zip(rows).enumerate()
        {
            same("second derivatives in a row", second.len())?;
            same("third derivatives in a row", third.len())?;
            not_negative("standard uncertainty", *u_i)?;
            sum.first_order_variance += f_i * f_i * u_i * u_i;
            for (j, ((f_ij, f_ijj), u_j)) in second.iter().zip(third).zip(standard_uncertainties).enumerate()
            {
                sum.second_order_variance += (0.5 * f_ij * f_ij + f_i * f_ijj) * u_i * u_i * u_j * u_j;
                if i == j {
                    sum.mean_shift += 0.5 * f_ij * u_i * u_i;
                }
            }
        }
        finite("variance", sum.first_order_variance + sum.second_order_variance)?;
        finite("shift of the mean", sum.mean_shift)?;
        Ok(sum)
    }

    /// Standard uncertainty to first order only.
    pub fn first_order_uncertainty(&self) -> f64 {
        self.first_order_variance.sqrt()
    }

    /// Standard uncertainty with both orders; 0 when the series gives a
    /// negative variance, which says that the series is of no use there.
    pub fn standard_uncertainty(&self) -> f64 {
        let variance = self.first_order_variance + self.second_order_variance;
        if variance > 0.0 { variance.sqrt() } else { 0.0 }
    }
}

/// Derivatives by central differences with steps of `fraction` standard
/// uncertainties, so that the steps have the size that matters.
///
/// Truncation error is of the order `fraction²`; a fraction of 0.1 suits
/// models that lose up to ten digits by cancellation. Inputs without
/// uncertainty get zeros.
///
/// # Errors
///
/// Lists of different length, a fraction not above zero, a model value that
/// is not finite.
pub fn central_differences(
    model: impl Fn(&[f64]) -> f64,
    values: &[f64],
    standard_uncertainties: &[f64],
    fraction: f64,
) -> Result<Derivatives, UncertaintyError> {
    let n = values.len();
    if standard_uncertainties.len() != n {
        return Err(UncertaintyError::Count {
            what: "standard uncertainties",
            expected: n,
            found: standard_uncertainties.len(),
        });
    }
    crate::numeric::positive("step", fraction)?;
    let steps: Vec<f64> = standard_uncertainties.iter().map(|u| fraction * u).collect();
    // The model with some inputs moved by whole steps.
    let at = |moves: &[(usize, f64)]| {
        let mut x = values.to_vec();
        for (index, count) in moves {
            if let (Some(x), Some(step)) = (x.get_mut(*index), steps.get(*index)) {
                *x += count * step;
            }
        }
        finite("model value", model(&x))
    };
    let centre = at(&[])?;
    let mut found =
        Derivatives { first: vec![0.0; n], second: vec![vec![0.0; n]; n], third: vec![vec![0.0; n]; n] };
    let rows = found.first.iter_mut().zip(found.second.iter_mut()).zip(found.third.iter_mut());
    for (i, ((first, second), third)) in rows.enumerate() {
        let Some(h) = steps.get(i).copied().filter(|h| *h > 0.0) else { continue };
        let (up, down) = (at(&[(i, 1.0)])?, at(&[(i, -1.0)])?);
        let (up2, down2) = (at(&[(i, 2.0)])?, at(&[(i, -2.0)])?);
        // Fourth-order first derivative: it dominates the result.
        *first = (8.0 * (up - down) - (up2 - down2)) / (12.0 * h);
        for (j, (f_ij, f_ijj)) in second.iter_mut().zip(third.iter_mut()).enumerate() {
            let Some(g) = steps.get(j).copied().filter(|g| *g > 0.0) else { continue };
            if i == j {
                *f_ij = (up - 2.0 * centre + down) / (h * h);
                *f_ijj = (up2 - 2.0 * up + 2.0 * down - down2) / (2.0 * h * h * h);
            } else {
                let (pp, pm) = (at(&[(i, 1.0), (j, 1.0)])?, at(&[(i, 1.0), (j, -1.0)])?);
                let (mp, mm) = (at(&[(i, -1.0), (j, 1.0)])?, at(&[(i, -1.0), (j, -1.0)])?);
                *f_ij = (pp - pm - mp + mm) / (4.0 * h * g);
                *f_ijj = ((pp - 2.0 * up + pm) - (mp - 2.0 * down + mm)) / (2.0 * h * g * g);
            }
        }
    }
    Ok(found)
}

impl Estimate {
    /// First-order result of any function of estimates, with the derivatives
    /// by central differences. Inputs that share sources are handled: the
    /// derivative is taken per argument and the shares add.
    ///
    /// # Errors
    ///
    /// A model value that is not finite.
    ///
    /// # Source
    ///
    /// `jcgm-100-2008`, 5.1.3 NOTE 2 and 5.2.2.
    pub fn of_function(model: impl Fn(&[f64]) -> f64, arguments: &[&Self]) -> Result<Self, UncertaintyError> {
        let values: Vec<f64> = arguments.iter().map(|a| a.value()).collect();
        let u: Vec<f64> = arguments.iter().map(|a| a.standard_uncertainty()).collect();
        let terms = arguments
            .iter()
            .enumerate()
            .map(|(i, argument)| {
                let mut one = vec![0.0; u.len()];
                if let (Some(slot), Some(u)) = (one.get_mut(i), u.get(i)) {
                    *slot = *u;
                }
                let derivatives = central_differences(&model, &values, &one, 0.01)?;
                Ok((derivatives.first.get(i).copied().unwrap_or(0.0), *argument))
            })
            .collect::<Result<Vec<_>, UncertaintyError>>()?;
        Self::combine(finite("model value", model(&values))?, &terms)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::InputId;
    use proptest::prelude::*;

    fn input(id: &str, value: f64, u: f64) -> Estimate {
        Estimate::input(InputId::new(id), value, u, f64::INFINITY).unwrap()
    }

    proptest! {
        /// Slow twin: the operators against central differences.
        #[test]
        fn operators_agree_with_central_differences(
            x in 0.5f64..3.0, y in 0.5f64..3.0, u in 1e-3f64..0.1, v in 1e-3f64..0.1,
        ) {
            let (a, b) = (input("a", x, u), input("b", y, v));
            let shared = a.plus(&b).unwrap();
            let by_operators = shared.times(&a).unwrap().minus(&b.scaled(2.0).unwrap()).unwrap();
            let by_function = Estimate::of_function(|p| (p[0] + p[1]) * p[0] - 2.0 * p[1], &[&a, &b]).unwrap();
            let through_shared = Estimate::of_function(|p| p[0] * p[1] - 2.0 * p[2], &[&shared, &a, &b]).unwrap();
            for other in [by_function, through_shared] {
                prop_assert!((by_operators.value() - other.value()).abs() < 1e-12);
                prop_assert!(
                    (by_operators.standard_uncertainty() / other.standard_uncertainty() - 1.0).abs() < 1e-8
                );
                prop_assert!((by_operators.covariance(&a) - other.covariance(&a)).abs() < 1e-9);
            }
        }

        /// Closed form: for a product of independent inputs the second-order
        /// variance is exact, `x²v² + y²u² + u²v²`.
        #[test]
        fn a_product_is_exact_in_second_order(
            x in -3.0f64..3.0, y in -3.0f64..3.0, u in 0.01f64..1.0, v in 0.01f64..1.0,
        ) {
            let derivatives = central_differences(|p| p[0] * p[1], &[x, y], &[u, v], 0.1).unwrap();
            let second = SecondOrder::new(&derivatives, &[u, v]).unwrap();
            let exact = x * x * v * v + y * y * u * u + u * u * v * v;
            prop_assert!((second.standard_uncertainty().powi(2) - exact).abs() < 1e-9);
        }
    }

    #[test]
    fn a_model_without_a_value_is_refused() {
        assert!(Estimate::of_function(|p| p[0].ln(), &[&input("a", -1.0, 0.1)]).is_err());
        assert!(central_differences(|p| p[0], &[1.0], &[], 0.1).is_err());
        assert!(central_differences(|p| p[0], &[1.0], &[1.0], 0.0).is_err());
        let d = Derivatives { first: vec![1.0], second: vec![], third: vec![] };
        assert!(SecondOrder::new(&d, &[1.0]).is_err());
    }
}
