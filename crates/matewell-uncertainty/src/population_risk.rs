//! What a decision rule does to a whole population: consumer's and producer's
//! risk.

use crate::{
    Limits, UncertaintyError,
    coverage::{normal_below, normal_density},
    numeric::{finite, greater, integrate, lesser, positive},
};
use statrs::function::gamma::checked_gamma_lr;

/// What is known about the population before an item of it is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        standard_deviation: f64,
    },
    /// Gamma: a quantity that cannot be negative.
    Gamma {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        standard_deviation: f64,
    },
}

impl Prior {
    fn checked(self) -> Result<Self, UncertaintyError> {
        match self {
            Self::Normal { mean, standard_deviation } => {
                finite("mean", mean)?;
                positive("standard deviation", standard_deviation)?;
            }
            Self::Gamma { mean, standard_deviation } => {
                positive("mean", mean)?;
                positive("standard deviation", standard_deviation)?;
            }
        }
        Ok(self)
    }

    fn density(self, x: f64) -> f64 {
        match self {
            Self::Normal { mean, standard_deviation } => {
                normal_density((x - mean) / standard_deviation) / standard_deviation
            }
            Self::Gamma { mean, standard_deviation } => {
                if x <= 0.0 {
                    return 0.0;
                }
                let shape = (mean / standard_deviation).powi(2);
                let rate = shape / mean;
                (shape * rate.ln() + (shape - 1.0) * x.ln() - rate * x - libm::lgamma(shape)).exp()
            }
        }
    }

    /// Probability that an item of the population is below `x`.
    ///
    /// # Errors
    ///
    /// Parameters that make no distribution, or `x` not finite.
    pub fn below(self, x: f64) -> Result<f64, UncertaintyError> {
        finite("limit", x)?;
        match self.checked()? {
            Self::Normal { mean, standard_deviation } => Ok(normal_below((x - mean) / standard_deviation)),
            Self::Gamma { mean, standard_deviation } => {
                let shape = (mean / standard_deviation).powi(2);
                if x <= 0.0 {
                    return Ok(0.0);
                }
                checked_gamma_lr(shape, shape / mean * x).map_err(|_| UncertaintyError::OutOfRange {
                    what: "shape of a gamma distribution",
                    expected: "above zero",
                    found: shape,
                })
            }
        }
    }

    /// Probability that an item of the population conforms.
    ///
    /// # Errors
    ///
    /// As [`Prior::below`].
    pub fn conforming(self, limits: Limits) -> Result<f64, UncertaintyError> {
        let above = limits.upper().map_or(Ok(1.0), |u| self.below(u))?;
        Ok(above - limits.lower().map_or(Ok(0.0), |l| self.below(l))?)
    }

    // Where the density is worth integrating.
    fn support(self) -> (f64, f64) {
        match self {
            Self::Normal { mean, standard_deviation } => {
                (mean - 10.0 * standard_deviation, mean + 10.0 * standard_deviation)
            }
            // The upper tail of a gamma falls exponentially in x/sd·(mean/sd).
            Self::Gamma { mean, standard_deviation } => {
                (0.0, mean + standard_deviation * (10.0 + 40.0 * standard_deviation / mean))
            }
        }
    }
}

/// Risks before an item is measured, over the whole population.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PopulationRisk {
    /// Consumer's risk: bad and accepted.
    pub consumer: f64,
    /// Producer's risk: good and rejected.
    pub producer: f64,
}

/// Both risks of a decision rule, by integration over the population:
/// `R_C = ∫_bad g(η) P(accept|η) dη`, `R_P = ∫_good g(η) (1 − P(accept|η)) dη`,
/// the measurement being normal about the true value.
///
/// # Errors
///
/// Parameters that make no distribution.
///
/// # Source
///
/// `jcgm-106-2012`, 9.
pub fn population_risk(
    prior: Prior,
    measurement_uncertainty: f64,
    tolerance: Limits,
    acceptance: Limits,
) -> Result<PopulationRisk, UncertaintyError> {
    let prior = prior.checked()?;
    let u = positive("standard uncertainty of the measurement", measurement_uncertainty)?;
    let accepted = |x: f64| {
        let below = acceptance.upper().map_or(1.0, |limit| normal_below((limit - x) / u));
        below - acceptance.lower().map_or(0.0, |limit| normal_below((limit - x) / u))
    };
    let (from, to) = prior.support();
    // Panels end at every limit so that no step falls inside one.
    let mut edges = vec![from, to];
    edges.extend(
        [tolerance.lower(), tolerance.upper(), acceptance.lower(), acceptance.upper()]
            .into_iter()
            .flatten()
            .flat_map(|limit| [limit - 8.0 * u, limit, limit + 8.0 * u])
            .filter(|edge| from < *edge && *edge < to),
    );
    edges.sort_unstable_by(f64::total_cmp);
    let mut risk = PopulationRisk { consumer: 0.0, producer: 0.0 };
    for (a, b) in edges.iter().zip(edges.iter().skip(1)) {
        if tolerance.contain(0.5 * (a + b)) {
            risk.producer += integrate(|x| prior.density(x) * (1.0 - accepted(x)), *a, *b, 12);
        } else {
            risk.consumer += integrate(|x| prior.density(x) * accepted(x), *a, *b, 12);
        }
    }
    // Rounding of a difference can leave −1e-17.
    risk.consumer = lesser(greater(risk.consumer, 0.0), 1.0);
    risk.producer = lesser(greater(risk.producer, 0.0), 1.0);
    Ok(risk)
}

/// Risks of a symmetric tolerance ±1 whose population is centred and has the
/// given share inside, measured with `U = 2u = 1/ratio` and accepted within
/// ± `acceptance` (1 without a guard band).
///
/// # Errors
///
/// A ratio or acceptance not above zero, a share not between 0 and 1.
pub fn risk_by_accuracy_ratio(
    ratio: f64,
    share_in_tolerance: f64,
    acceptance: f64,
) -> Result<PopulationRisk, UncertaintyError> {
    positive("ratio of tolerance to expanded uncertainty", ratio)?;
    positive("acceptance limit", acceptance)?;
    let sigma = crate::coverage_factor(share_in_tolerance, f64::INFINITY)?.recip();
    population_risk(
        Prior::Normal { mean: 0.0, standard_deviation: sigma },
        0.5 / ratio,
        Limits::new(Some(-1.0), Some(1.0))?,
        Limits::new(Some(-acceptance), Some(acceptance))?,
    )
}

/// Knowledge after one normal measurement of an item of a normal population:
/// the weighted mean and its standard uncertainty.
///
/// Using a prior is a choice that must be stated: it can hide a bad item of a
/// good population.
///
/// # Errors
///
/// A value that is not finite, an uncertainty not above zero.
///
/// # Source
///
/// `jcgm-106-2012`, 6.2 and annex A.
pub fn posterior(
    prior_mean: f64,
    prior_standard_deviation: f64,
    measured: f64,
    standard_uncertainty: f64,
) -> Result<(f64, f64), UncertaintyError> {
    finite("prior mean", prior_mean)?;
    finite("measured value", measured)?;
    let a = positive("prior standard deviation", prior_standard_deviation)?.powi(-2);
    let b = positive("standard uncertainty", standard_uncertainty)?.powi(-2);
    Ok(((prior_mean * a + measured * b) / (a + b), (a + b).sqrt().recip()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        /// Closed form: the shares of the bivariate split add up. Bad accepted
        /// plus good accepted is what the sum distribution accepts.
        #[test]
        fn accepted_items_add_up(u in 0.02f64..1.0, guard in -0.5f64..0.8, mean in -0.5f64..0.5) {
            let prior = Prior::Normal { mean, standard_deviation: 0.6 };
            let tolerance = Limits::new(Some(-1.0), Some(1.0)).unwrap();
            let acceptance = tolerance.guarded(guard).unwrap();
            let risk = population_risk(prior, u, tolerance, acceptance).unwrap();
            let good = prior.conforming(tolerance).unwrap();
            let spread = (0.36 + u * u).sqrt();
            let measured = Prior::Normal { mean, standard_deviation: spread };
            let accepted = measured.conforming(acceptance).unwrap();
            prop_assert!((risk.consumer + good - risk.producer - accepted).abs() < 1e-9);
        }

        #[test]
        fn a_wider_guard_trades_one_risk_for_the_other(u in 0.05f64..0.5, guard in 0.0f64..0.5) {
            let prior = Prior::Gamma { mean: 1.0, standard_deviation: 0.5 };
            let tolerance = Limits::new(None, Some(2.0)).unwrap();
            let risk = |w: f64| population_risk(prior, u, tolerance, tolerance.guarded(w).unwrap()).unwrap();
            let (open, tight) = (risk(guard), risk(guard + 0.1));
            prop_assert!(tight.consumer <= open.consumer && tight.producer >= open.producer);
        }
    }

    #[test]
    fn a_gamma_population_integrates_to_its_distribution() {
        let prior = Prior::Gamma { mean: 1.0, standard_deviation: 0.5 };
        let by_integral = integrate(|x| prior.density(x), 0.0, 2.0, 40);
        assert!((by_integral - prior.below(2.0).unwrap()).abs() < 1e-10);
        assert!(Prior::Gamma { mean: -1.0, standard_deviation: 0.5 }.below(1.0).is_err());
    }
}
