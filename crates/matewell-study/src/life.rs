//! How long do they last? Lifetimes with survivors, and the age at which to
//! replace.

use crate::{
    StudyError,
    numeric::{bisect, positive},
};

/// One item's lifetime so far, in mates, gaugings or days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lifetime {
    /// It failed at this age.
    Failed(f64),
    /// It was still good at this age.
    Survived(f64),
}

impl Lifetime {
    fn age(self) -> f64 {
        match self {
            Self::Failed(age) | Self::Survived(age) => age,
        }
    }

    fn failed(self) -> bool {
        matches!(self, Self::Failed(_))
    }
}

/// One step of the survival curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KaplanMeierStep {
    /// Age of the failures.
    pub age: f64,
    /// Items at risk just before.
    pub at_risk: usize,
    /// Failures at this age.
    pub failures: usize,
    /// Estimated share that survives beyond.
    pub survival: f64,
}

/// Survival without any assumed shape (product limit). Survivors of the same
/// age as a failure count as at risk then.
///
/// # Errors
///
/// No lifetime, or one not above zero.
///
/// # Source
///
/// `nist-ehandbook`, 8.2.1.5.
pub fn kaplan_meier(lifetimes: &[Lifetime]) -> Result<Vec<KaplanMeierStep>, StudyError> {
    check(lifetimes)?;
    let mut sorted = lifetimes.to_vec();
    sorted.sort_by(|a, b| a.age().total_cmp(&b.age()).then(b.failed().cmp(&a.failed())));
    let mut steps: Vec<KaplanMeierStep> = Vec::new();
    let mut survival = 1.0;
    for (index, life) in sorted.iter().enumerate().filter(|(_, l)| l.failed()) {
        let at_risk = sorted.len() - index;
        survival *= 1.0 - (at_risk as f64).recip();
        match steps.last_mut() {
            Some(last) if last.age.total_cmp(&life.age()).is_eq() => {
                last.failures += 1;
                last.survival = survival;
            }
            _ => steps.push(KaplanMeierStep { age: life.age(), at_risk, failures: 1, survival }),
        }
    }
    Ok(steps)
}

fn check(lifetimes: &[Lifetime]) -> Result<(), StudyError> {
    if lifetimes.is_empty() {
        return Err(StudyError::TooFew { what: "lifetimes", expected: 1, found: 0 });
    }
    lifetimes.iter().try_for_each(|l| positive("lifetime", l.age()).map(|_| ()))
}

/// Weibull distribution of lifetimes: `R(t) = exp(−(t/η)^β)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weibull {
    /// Shape `β`: below 1 early failures, 1 chance, above 1 wear.
    pub shape: f64,
    /// Scale `η`: the age by which 63 % have failed.
    pub scale: f64,
    /// Logarithm of the likelihood.
    pub log_likelihood: f64,
}

impl Weibull {
    /// Share that survives to an age.
    pub fn survival(&self, age: f64) -> f64 {
        if age <= 0.0 { 1.0 } else { (-(age / self.scale).powf(self.shape)).exp() }
    }

    /// Mean life. Of little use alone: half of the worn ones fail earlier.
    pub fn mean(&self) -> f64 {
        self.scale * gamma_function(1.0 + self.shape.recip())
    }
}

fn gamma_function(x: f64) -> f64 {
    statrs::function::gamma::gamma(x)
}

/// Maximum likelihood fit with survivors, by the profile equation in the
/// shape, which has one root.
///
/// # Errors
///
/// Fewer than two failures, failures all at one age, or a lifetime not above
/// zero.
///
/// # Source
///
/// `nist-ehandbook`, 8.4.1.3.
pub fn fit_weibull(lifetimes: &[Lifetime]) -> Result<Weibull, StudyError> {
    check(lifetimes)?;
    let failures: Vec<f64> = lifetimes.iter().filter(|l| l.failed()).map(|l| l.age()).collect();
    if failures.len() < 2 {
        return Err(StudyError::TooFew { what: "failures", expected: 2, found: failures.len() });
    }
    // Ages by the largest one, so that powers stay in range.
    let largest = lifetimes.iter().fold(0.0, |a, l| crate::numeric::greater(a, l.age()));
    let logs: Vec<f64> = lifetimes.iter().map(|l| (l.age() / largest).ln()).collect();
    let mean_log = failures.iter().map(|t| (t / largest).ln()).sum::<f64>() / failures.len() as f64;
    positive("spread of the lifetimes", logs.iter().map(|l| (l - mean_log).abs()).sum())?;
    let profile = |shape: f64| {
        let (mut sum, mut weighted) = (0.0, 0.0);
        for log in &logs {
            let power = (shape * log).exp();
            sum += power;
            weighted += power * log;
        }
        weighted / sum - shape.recip() - mean_log
    };
    let shape = bisect(profile, 1e-3, 1e3);
    let sum: f64 = logs.iter().map(|log| (shape * log).exp()).sum();
    let r = failures.len() as f64;
    let scale = largest * (sum / r).powf(shape.recip());
    let log_likelihood =
        failures.iter().map(|t| shape.ln() - shape * scale.ln() + (shape - 1.0) * t.ln()).sum::<f64>()
            - lifetimes.iter().map(|l| (l.age() / scale).powf(shape)).sum::<f64>();
    Ok(Weibull { shape, scale, log_likelihood })
}

/// When to replace before failure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AgeReplacement {
    /// At this age, at this cost per unit of age.
    At {
        /// Age.
        age: f64,
        /// Long-run cost rate.
        cost_rate: f64,
    },
    /// Never: there is no wear, or a failure costs no more than a planned
    /// replacement.
    Never,
}

/// Age replacement of Weibull lifetimes at least cost: the root of
/// `h(t) ∫₀ᵗ R − F(t) = c_p/(c_f − c_p)`.
///
/// # Errors
///
/// A parameter or cost not above zero.
///
/// # Source
///
/// `barlow-proschan-1965`, chapter 4 (from memory).
pub fn age_replacement(
    life: &Weibull,
    planned_cost: f64,
    failure_cost: f64,
) -> Result<AgeReplacement, StudyError> {
    let shape = positive("shape", life.shape)?;
    let scale = positive("scale", life.scale)?;
    positive("cost of a planned replacement", planned_cost)?;
    positive("cost of a failure", failure_cost)?;
    if shape <= 1.0 || failure_cost <= planned_cost {
        return Ok(AgeReplacement::Never);
    }
    // In units of the scale. ∫₀ᵗ R by Simpson on a fine grid in u = t^β would
    // lose the start; the incomplete gamma function is exact:
    // ∫₀ᵗ R = Γ(1/β) P(1/β, t^β)/β.
    let inverse = shape.recip();
    let lived = |t: f64| {
        inverse * gamma_function(inverse) * statrs::function::gamma::gamma_lr(inverse, t.powf(shape))
    };
    let hazard = |t: f64| shape * t.powf(shape - 1.0);
    let target = planned_cost / (failure_cost - planned_cost);
    let excess = |t: f64| hazard(t) * lived(t) - (1.0 - (-t.powf(shape)).exp()) - target;
    // The left side rises without bound for a shape above one.
    let mut high = 1.0;
    while excess(high) < 0.0 {
        high *= 2.0;
        if high > 1e12 {
            return Ok(AgeReplacement::Never);
        }
    }
    let t = bisect(excess, 1e-9, high);
    Ok(AgeReplacement::At { age: scale * t, cost_rate: (failure_cost - planned_cost) * hazard(t) / scale })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        /// Slow twin: the cost rate itself, stepped around the optimum.
        #[test]
        fn no_other_age_is_cheaper(shape in 1.2f64..5.0, ratio in 1.5f64..30.0) {
            let life = Weibull { shape, scale: 1.0, log_likelihood: 0.0 };
            let AgeReplacement::At { age, cost_rate } = age_replacement(&life, 1.0, ratio).unwrap() else {
                return Err(TestCaseError::fail("expected an age"));
            };
            let rate = |t: f64| {
                let steps = 4000;
                let h = t / f64::from(steps);
                let lived: f64 = (0..steps).map(|i| life.survival((f64::from(i) + 0.5) * h) * h).sum();
                (ratio * (1.0 - life.survival(t)) + life.survival(t)) / lived
            };
            prop_assert!((rate(age) / cost_rate - 1.0).abs() < 1e-4);
            for other in [0.8, 0.95, 1.05, 1.3] {
                prop_assert!(rate(age * other) >= rate(age) * (1.0 - 1e-6));
            }
        }
    }

    #[test]
    fn without_wear_nothing_is_replaced_early() {
        let chance = Weibull { shape: 1.0, scale: 1.0, log_likelihood: 0.0 };
        assert_eq!(age_replacement(&chance, 1.0, 10.0).unwrap(), AgeReplacement::Never);
        let wear = Weibull { shape: 3.0, ..chance };
        assert_eq!(age_replacement(&wear, 1.0, 1.0).unwrap(), AgeReplacement::Never);
    }

    #[test]
    fn too_few_failures_are_refused() {
        assert!(fit_weibull(&[Lifetime::Failed(3.0), Lifetime::Survived(4.0)]).is_err());
        assert!(fit_weibull(&[Lifetime::Failed(3.0), Lifetime::Failed(3.0)]).is_err());
        assert!(kaplan_meier(&[]).is_err() && kaplan_meier(&[Lifetime::Failed(0.0)]).is_err());
        let ties =
            [Lifetime::Failed(1.0), Lifetime::Failed(1.0), Lifetime::Survived(1.0), Lifetime::Failed(2.0)];
        let steps = kaplan_meier(&ties).unwrap();
        assert!(steps.len() == 2 && steps[0].failures == 2 && steps[0].at_risk == 4);
        assert!((steps[0].survival - 0.5).abs() < 1e-15 && steps[1].survival == 0.0);
    }
}
