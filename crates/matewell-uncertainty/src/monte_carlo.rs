//! Propagation of distributions by trials.

use crate::{Inputs, UncertaintyError, numeric::probability, random::GENERATOR};

/// Trials in one block. Each block has its own random stream, so that the
/// result depends on the seed and on nothing else.
pub const BLOCK: usize = 10_000;

/// How a simulation is run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    pub(crate) seed: u64,
    pub(crate) threads: usize,
}

impl Settings {
    /// A seed, and how many threads may work; the result depends on the seed
    /// only.
    ///
    /// # Errors
    ///
    /// No thread.
    pub fn new(seed: u64, threads: usize) -> Result<Self, UncertaintyError> {
        if threads == 0 {
            return Err(UncertaintyError::TooFew { what: "threads", expected: 1, found: 0 });
        }
        Ok(Self { seed, threads })
    }
}

/// A coverage interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// `high − low`.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// What a simulation found, and what is needed to run it again.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulation {
    /// Mean of the model values.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_uncertainty: f64,
    /// Coverage probability of the two intervals.
    pub coverage: f64,
    /// Interval with equal tails.
    pub symmetric: Interval,
    /// Shortest interval.
    pub shortest: Interval,
    /// Number of trials.
    pub trials: usize,
    /// Whether the adaptive stop was reached; `true` for a fixed number.
    pub converged: bool,
    /// Numerical tolerance asked of the adaptive stop.
    pub tolerance: Option<f64>,
    /// The seed.
    pub seed: u64,
    /// Name of the generator.
    pub generator: &'static str,
}

/// Runs a fixed number of trials.
///
/// # Errors
///
/// Fewer trials than `2/(1 − p)`, a coverage probability not between 0 and 1,
/// or a model value that is not finite.
///
/// # Source
///
/// `jcgm-101-2008`, 7.2 to 7.7.
pub fn simulate(
    inputs: &Inputs,
    model: impl Fn(&[f64]) -> f64 + Sync,
    trials: usize,
    coverage: f64,
    settings: Settings,
) -> Result<Simulation, UncertaintyError> {
    probability("a coverage probability", coverage)?;
    let needed = whole((2.0 / (1.0 - coverage)).ceil());
    if trials < needed {
        return Err(UncertaintyError::TooFew { what: "trials", expected: needed, found: trials });
    }
    let mut values = vec![0.0; trials];
    inputs.blocks(&model, settings, 0, &mut values)?;
    Ok(summarise(values, coverage, settings, None, true))
}

/// When the adaptive procedure may stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Adaptive {
    /// Significant digits of the standard uncertainty that must be stable: 1
    /// or 2.
    pub digits: u32,
    /// Blocks of [`BLOCK`] trials after which it gives up.
    pub most_blocks: usize,
}

/// Runs blocks until mean, standard uncertainty and both ends of the
/// symmetric interval are stable: twice the standard deviation of their
/// averages below `δ = ½ 10^l`, with `u = c 10^l` and `c` of the asked digits.
///
/// # Errors
///
/// A coverage probability not between 0 and 0.99 (a block of 10 000 must
/// hold 100/(1 − p) trials), digits other than 1 or 2, fewer than two blocks,
/// or a model value that is not finite.
///
/// # Source
///
/// `jcgm-101-2008`, 7.9.
pub fn simulate_adaptively(
    inputs: &Inputs,
    model: impl Fn(&[f64]) -> f64 + Sync,
    stop: Adaptive,
    coverage: f64,
    settings: Settings,
) -> Result<Simulation, UncertaintyError> {
    probability("a coverage probability", coverage)?;
    if 100.0 / (1.0 - coverage) > BLOCK as f64 * (1.0 + 1e-12) {
        return Err(UncertaintyError::OutOfRange {
            what: "a coverage probability for the adaptive procedure",
            expected: "of 0.99 or less",
            found: coverage,
        });
    }
    if !(1..=2).contains(&stop.digits) {
        return Err(UncertaintyError::OutOfRange {
            what: "number of significant digits",
            expected: "of 1 or 2",
            found: f64::from(stop.digits),
        });
    }
    if stop.most_blocks < 2 {
        return Err(UncertaintyError::TooFew { what: "blocks", expected: 2, found: stop.most_blocks });
    }
    let mut values: Vec<f64> = Vec::new();
    let mut per_block: [Vec<f64>; 4] = Default::default();
    let mut scratch = vec![0.0; BLOCK];
    let mut done = 0;
    let mut tolerance = None;
    let mut converged = false;
    'waves: while done < stop.most_blocks {
        // A wave gives each thread one block; blocks after the stopping one
        // are thrown away so that the number of threads does not matter.
        let wave = settings.threads.min(stop.most_blocks - done);
        values.resize((done + wave) * BLOCK, 0.0);
        let (_, fresh) = values.split_at_mut(done * BLOCK);
        inputs.blocks(&model, settings, done, fresh)?;
        for _ in 0..wave {
            let Some(block) = values.get(done * BLOCK..(done + 1) * BLOCK) else { break };
            scratch.copy_from_slice(block);
            let (mean, deviation) = moments(&scratch);
            order_ends(&mut scratch, coverage);
            let interval = symmetric(&scratch, coverage);
            for (list, value) in per_block.iter_mut().zip([mean, deviation, interval.low, interval.high]) {
                list.push(value);
            }
            done += 1;
            if done >= 2 {
                let so_far = values.get(..done * BLOCK).unwrap_or_default();
                let delta = numerical_tolerance(moments(so_far).1, stop.digits);
                tolerance = Some(delta);
                let stable =
                    per_block.iter().all(|list| 2.0 * moments(list).1 / (done as f64).sqrt() < delta);
                if stable {
                    converged = true;
                    break 'waves;
                }
            }
        }
    }
    values.truncate(done * BLOCK);
    Ok(summarise(values, coverage, settings, tolerance, converged))
}

/// Numerical tolerance of a standard uncertainty printed with so many digits:
/// `δ = ½ 10^l` where `u ≈ c × 10^l`.
///
/// # Source
///
/// `jcgm-101-2008`, 7.9.2.
pub fn numerical_tolerance(standard_uncertainty: f64, digits: u32) -> f64 {
    if standard_uncertainty <= 0.0 {
        return 0.0;
    }
    let digits = f64::from(digits);
    let mut exponent = standard_uncertainty.log10().floor() - (digits - 1.0);
    // Rounding up may add a digit: 0.0997 to one digit is 1e-1.
    if (standard_uncertainty / 10f64.powf(exponent)).round() >= 10f64.powf(digits) {
        exponent += 1.0;
    }
    0.5 * 10f64.powf(exponent)
}

/// Whether first-order (or second-order) propagation is good enough beside a
/// simulation: both ends agree within the numerical tolerance.
///
/// Gives the two differences and the verdict.
///
/// # Source
///
/// `jcgm-101-2008`, 8.1.
pub fn compare_with_framework(
    simulation: &Simulation,
    value: f64,
    expanded_uncertainty: f64,
    digits: u32,
) -> (f64, f64, bool) {
    let delta = numerical_tolerance(simulation.standard_uncertainty, digits);
    let low = (value - expanded_uncertainty - simulation.symmetric.low).abs();
    let high = (value + expanded_uncertainty - simulation.symmetric.high).abs();
    (low, high, low <= delta && high <= delta)
}

// Mean and standard deviation in two passes.
fn moments(values: &[f64]) -> (f64, f64) {
    let mean = crate::numeric::mean(values);
    let squares = crate::numeric::sum_of_squares(values);
    (mean, (squares / (values.len() as f64 - 1.0)).sqrt())
}

// A whole number of at least zero; the cast saturates at the ends.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "callers pass whole numbers of zero or more"
)]
fn whole(number: f64) -> usize {
    number as usize
}

// Number of steps between the ends of an interval in a sorted sample.
fn steps(count: usize, coverage: f64) -> usize {
    whole((coverage * count as f64 + 0.5).floor()).clamp(1, count.saturating_sub(1))
}

fn symmetric(sorted: &[f64], coverage: f64) -> Interval {
    let span = steps(sorted.len(), coverage);
    let first = (sorted.len() - span) / 2;
    ends(sorted, first, span)
}

fn ends(sorted: &[f64], first: usize, span: usize) -> Interval {
    let at = |i: usize| sorted.get(i).copied().unwrap_or(f64::NAN);
    Interval { low: at(first.min(sorted.len() - 1 - span)), high: at((first + span).min(sorted.len() - 1)) }
}

fn shortest(sorted: &[f64], coverage: f64) -> Interval {
    let span = steps(sorted.len(), coverage);
    let best = sorted
        .iter()
        .zip(sorted.iter().skip(span))
        .enumerate()
        .min_by(|(_, (a, b)), (_, (c, d))| (*b - *a).total_cmp(&(*d - *c)))
        .map_or(0, |(i, _)| i);
    ends(sorted, best, span)
}

fn summarise(
    mut values: Vec<f64>,
    coverage: f64,
    settings: Settings,
    tolerance: Option<f64>,
    converged: bool,
) -> Simulation {
    let (mean, standard_uncertainty) = moments(&values);
    let trials = values.len();
    order_ends(&mut values, coverage);
    Simulation {
        mean,
        standard_uncertainty,
        coverage,
        symmetric: symmetric(&values, coverage),
        shortest: shortest(&values, coverage),
        trials,
        converged,
        tolerance,
        seed: settings.seed,
        generator: GENERATOR,
    }
}

/// Puts the values that can be an end of an interval into their sorted places:
/// the lowest and the highest `n − span`. The rest need no order, which saves
/// most of the sorting for a high coverage.
fn order_ends(values: &mut [f64], coverage: f64) {
    let span = steps(values.len(), coverage);
    let ends = values.len() - span;
    if ends > span {
        values.sort_unstable_by(f64::total_cmp);
        return;
    }
    values.select_nth_unstable_by(span, f64::total_cmp);
    let (low, high) = values.split_at_mut(span);
    high.sort_unstable_by(f64::total_cmp);
    if ends < low.len() {
        low.select_nth_unstable_by(ends, f64::total_cmp);
    }
    low.split_at_mut(ends).0.sort_unstable_by(f64::total_cmp);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{CovarianceMatrix, Distribution, Estimate, InputId, Shape};
    use proptest::prelude::*;

    fn one(seed: u64) -> Settings {
        Settings::new(seed, 1).unwrap()
    }

    #[test]
    fn the_number_of_threads_does_not_change_the_result() {
        let inputs = Inputs::independent(vec![
            Distribution::Normal { mean: 1.0, standard_deviation: 0.2 },
            Distribution::Rectangular { low: 0.0, high: 1.0 },
        ])
        .unwrap();
        let run = |threads| {
            let settings = Settings::new(11, threads).unwrap();
            let fixed = simulate(&inputs, |x| x[0] * x[1], 63_000, 0.95, settings).unwrap();
            let stop = Adaptive { digits: 1, most_blocks: 40 };
            (fixed, simulate_adaptively(&inputs, |x| x[0] * x[1], stop, 0.95, settings).unwrap())
        };
        let single = run(1);
        assert!(single.1.converged);
        assert_eq!(single, run(2));
        assert_eq!(single, run(3));
    }

    #[test]
    fn every_shape_has_its_standard_uncertainty() {
        let shapes = [
            (Distribution::Shaped { centre: 0.0, stated: 1.0, shape: Shape::Arcsine }, 0.5f64.sqrt()),
            (
                Distribution::Shaped { centre: 0.0, stated: 1.0, shape: Shape::Triangular },
                6f64.sqrt().recip(),
            ),
            (
                Distribution::Shaped { centre: 0.0, stated: 1.0, shape: Shape::Resolution },
                12f64.sqrt().recip(),
            ),
            (
                Distribution::Shaped { centre: 0.0, stated: 1.0, shape: Shape::Trapezoid { top: 0.4 } },
                (1.16f64 / 6.0).sqrt(),
            ),
            (
                Distribution::Shaped {
                    centre: 0.0,
                    stated: 1.0,
                    shape: Shape::CurvilinearTrapezoid { inexactness: 0.3 },
                },
                (1.0f64 / 3.0 + 0.01).sqrt(),
            ),
            (
                Distribution::StudentT { value: 0.0, scale: 1.0, degrees_of_freedom: 10.0 },
                (10f64 / 8.0).sqrt(),
            ),
            (Distribution::Gamma { mean: 1.0, standard_deviation: 0.5 }, 0.5),
            (Distribution::Rectangular { low: -1.0, high: 1.0 }, 3f64.sqrt().recip()),
        ];
        for (shape, expected) in shapes {
            let inputs = Inputs::independent(vec![shape]).unwrap();
            let found = simulate(&inputs, |x| x[0], 200_000, 0.95, one(3)).unwrap().standard_uncertainty;
            // Relative standard error of s is at most 0.25 %; four of them.
            assert!((found / expected - 1.0).abs() < 0.01, "{shape:?}: {found} {expected}");
        }
    }

    #[test]
    fn bad_questions_are_refused() {
        let inputs = Inputs::independent(vec![Distribution::Exact(1.0)]).unwrap();
        assert!(simulate(&inputs, |x| x[0], 10, 0.95, one(1)).is_err());
        assert!(simulate(&inputs, |x| x[0], 1000, 1.0, one(1)).is_err());
        assert!(matches!(
            simulate(&inputs, |x| (-x[0]).ln(), 1000, 0.95, one(1)),
            Err(UncertaintyError::ModelNotFinite { trial: 0, .. })
        ));
        let stop = Adaptive { digits: 3, most_blocks: 9 };
        assert!(simulate_adaptively(&inputs, |x| x[0], stop, 0.95, one(1)).is_err());
        assert!(Inputs::independent(vec![Distribution::Rectangular { low: 1.0, high: 0.0 }]).is_err());
        assert!(Settings::new(1, 0).is_err());
        assert!(simulate(&Inputs::default(), |_| 1.0, 1000, 0.95, one(1)).is_err());
    }

    #[test]
    fn tolerance_of_the_printed_digits() {
        for (u, digits, expected) in [(0.0754, 2, 5e-4), (0.0754, 1, 5e-3), (32.0, 2, 0.5), (0.0997, 1, 0.05)]
        {
            assert!((numerical_tolerance(u, digits) / expected - 1.0).abs() < 1e-9, "{u} {digits}");
        }
    }

    proptest! {
        /// Slow twin: the whole sample sorted.
        #[test]
        fn ordered_ends_give_the_intervals_of_the_sorted_sample(
            sample in prop::collection::vec(-9i32..9, 2..200), coverage in 0.05f64..0.99,
        ) {
            let mut quick: Vec<f64> = sample.iter().map(|x| f64::from(*x)).collect();
            let mut sorted = quick.clone();
            order_ends(&mut quick, coverage);
            sorted.sort_unstable_by(f64::total_cmp);
            prop_assert_eq!(symmetric(&quick, coverage), symmetric(&sorted, coverage));
            prop_assert_eq!(shortest(&quick, coverage), shortest(&sorted, coverage));
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]
        /// Linear model: trials against the law of propagation, correlated
        /// inputs included.
        #[test]
        fn linear_models_agree_with_propagation(
            a in -2.0f64..2.0, b in 0.5f64..2.0, r in -0.9f64..0.9, seed in 0u64..1000,
        ) {
            let covariance = CovarianceMatrix::from_correlations(&[1.0, 0.5], &[(0, 1, r)]).unwrap();
            let parts =
                Estimate::correlated_inputs(&InputId::new("p"), &[1.0, 2.0], &covariance, f64::INFINITY).unwrap();
            let law = Estimate::combine(a + 2.0 * b, &[(a, &parts[0]), (b, &parts[1])]).unwrap();
            let inputs =
                Inputs::default().with_joint_normal(vec![1.0, 2.0], &covariance).unwrap();
            let found = simulate(&inputs, |x| a * x[0] + b * x[1], 100_000, 0.95, one(seed)).unwrap();
            let u = law.standard_uncertainty();
            // Standard errors: u/316 for the mean, u/447 for u, about u/130
            // for an end; five of each.
            prop_assert!((found.mean - law.value()).abs() < 0.016 * u);
            prop_assert!((found.standard_uncertainty / u - 1.0).abs() < 0.012);
            prop_assert!((found.symmetric.high - law.value() - 1.96 * u).abs() < 0.04 * u);
            prop_assert!(found.shortest.width() <= found.symmetric.width());
        }
    }
}
