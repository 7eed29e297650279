//! The distribution of a result where the first order fails.

use crate::LineError;
use matewell_uncertainty::{Estimate, InputId};
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::{collections::BTreeMap, f64::consts::PI};

/// Draws of one simulation. 20 000 give the ends of a 95 % interval to about
/// 2 % of a standard uncertainty, and take some ten milliseconds.
pub const DRAWS: usize = 20_000;

/// Below this many standard uncertainties from zero the first order of a
/// magnitude is not trusted.
pub const FIRST_ORDER_RATIO: f64 = 3.0;

/// What a Monte Carlo run found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean of the draws.
    pub mean: f64,
    /// Standard deviation of the draws.
    pub standard_uncertainty: f64,
    /// 2.5 % quantile.
    pub low_95: f64,
    /// 97.5 % quantile.
    pub high_95: f64,
    /// Number of draws.
    pub draws: usize,
    /// The seed: the same seed gives the same numbers, bit by bit.
    pub seed: u64,
}

/// A result by first order, and by Monte Carlo where that was needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantified {
    /// The value at the inputs' values, with components by input.
    pub first_order: Estimate,
    /// Present where the first order fails.
    pub spread: Option<Spread>,
}

impl Quantified {
    /// A result the first order is good enough for.
    pub fn first_order(estimate: Estimate) -> Self {
        Self { first_order: estimate, spread: None }
    }

    /// The value at the inputs' values.
    pub fn value(&self) -> f64 {
        self.first_order.value()
    }

    /// The standard uncertainty; of the Monte Carlo run where there is one.
    pub fn standard_uncertainty(&self) -> f64 {
        self.spread.map_or_else(|| self.first_order.standard_uncertainty(), |s| s.standard_uncertainty)
    }

    /// The 95 % coverage interval: quantiles of the Monte Carlo run, or
    /// `± 1.96 u`.
    pub fn interval_95(&self) -> (f64, f64) {
        self.spread.map_or_else(
            || {
                let half = 1.959_963_984_540_054 * self.first_order.standard_uncertainty();
                (self.value() - half, self.value() + half)
            },
            |s| (s.low_95, s.high_95),
        )
    }
}

/// Standard uncertainties between an estimate and zero; infinite without
/// uncertainty.
pub(crate) fn distance_from_zero(estimate: &Estimate) -> f64 {
    let u = estimate.standard_uncertainty();
    if u > 0.0 { estimate.value().abs() / u } else { f64::INFINITY }
}

/// Propagation of distributions: every input id is one standard normal draw,
/// shared by all arguments that contain it, so correlation is kept.
///
/// Every input is taken as normal, also those with few degrees of freedom:
/// their t-shaped tails are not drawn.
///
/// # Source
///
/// `jcgm-101-2008`, clauses 5.9 and 7.
pub(crate) fn simulate<const N: usize>(
    inputs: [&Estimate; N],
    draws: usize,
    seed: u64,
    f: impl Fn(&[f64; N]) -> f64,
) -> Result<Spread, LineError> {
    if draws < 100 {
        return Err(LineError::TooFew { what: "draws", at_least: 100, found: draws });
    }
    let mut ids: BTreeMap<&InputId, usize> = BTreeMap::new();
    for (id, _) in inputs.iter().flat_map(|e| e.components()) {
        let next = ids.len();
        ids.entry(id).or_insert(next);
    }
    let shares: [Vec<(usize, f64)>; N] = inputs
        .map(|e| e.components().filter_map(|(id, c)| ids.get(id).map(|at| (*at, c.contribution))).collect());
    let values = inputs.map(Estimate::value);
    let mut random = Pcg64::seed_from_u64(seed);
    let mut normal = vec![0.0; ids.len()];
    let mut results = Vec::with_capacity(draws);
    for _ in 0..draws {
        for pair in normal.chunks_mut(2) {
            let two = standard_normal_pair(&mut random);
            for (slot, draw) in pair.iter_mut().zip(two) {
                *slot = draw;
            }
        }
        let mut x = values;
        for (value, share) in x.iter_mut().zip(&shares) {
            for (at, contribution) in share {
                *value += contribution * normal.get(*at).copied().unwrap_or(0.0);
            }
        }
        results.push(f(&x));
    }
    let n = draws as f64;
    let mean = results.iter().sum::<f64>() / n;
    let variance = results.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (n - 1.0);
    // Refuses NaN before it meets the sort.
    let checked = Estimate::exact(mean)?;
    results.sort_by(f64::total_cmp);
    Ok(Spread {
        mean: checked.value(),
        standard_uncertainty: variance.sqrt(),
        low_95: quantile(&results, 0.025),
        high_95: quantile(&results, 0.975),
        draws,
        seed,
    })
}

/// Box–Muller: two independent standard normal numbers.
fn standard_normal_pair(random: &mut impl Rng) -> [f64; 2] {
    // 1 − u lies in (0, 1], so that the logarithm is finite.
    let radius = (-2.0 * (1.0 - random.random::<f64>()).ln()).sqrt();
    let (sin, cos) = (2.0 * PI * random.random::<f64>()).sin_cos();
    [radius * cos, radius * sin]
}

fn quantile(sorted: &[f64], p: f64) -> f64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "p lies in [0, 1], so the index lies inside the list"
    )]
    let at = (p * (sorted.len().saturating_sub(1)) as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn x(value: f64, u: f64) -> Estimate {
        Estimate::input(InputId::new("x"), value, u, f64::INFINITY).unwrap()
    }

    /// Closed form: |N(0, 1)| has mean √(2/π) and 97.5 % quantile 2.2414.
    #[test]
    fn the_folded_normal() {
        let spread = simulate([&x(0.0, 1.0)], DRAWS, 7, |[x]| x.abs()).unwrap();
        assert!((spread.mean - (2.0 / PI).sqrt()).abs() < 0.02, "{spread:?}");
        assert!((spread.high_95 - 2.2414).abs() < 0.06, "{spread:?}");
    }

    #[test]
    fn far_from_zero_it_agrees_with_the_first_order() {
        let spread = simulate([&x(100.0, 1.0)], DRAWS, 7, |[x]| x.abs()).unwrap();
        assert!((spread.standard_uncertainty - 1.0).abs() < 0.02, "{spread:?}");
        assert!((spread.high_95 - 101.96).abs() < 0.1, "{spread:?}");
    }

    #[test]
    fn the_same_seed_gives_the_same_numbers() {
        let run = |seed| simulate([&x(1.0, 1.0)], 1000, seed, |[x]| x * x).unwrap();
        assert_eq!(run(1), run(1));
        assert_ne!(run(1), run(2));
    }

    #[test]
    fn a_shared_input_cancels() {
        let a = x(1.0, 1.0);
        let spread = simulate([&a, &a], 1000, 3, |[a, b]| a - b).unwrap();
        assert!(spread.standard_uncertainty.abs() < 1e-12);
    }

    #[test]
    fn nan_is_refused() {
        assert!(simulate([&x(0.0, 1.0)], 1000, 3, |[x]| x.sqrt()).is_err());
    }
}
