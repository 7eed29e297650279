//! Control charts: gross errors, slow wear, sudden steps.

use crate::{
    StudyError,
    numeric::{finite, greater, mean, positive, values},
};

/// Expected range of two standard normal values, `d₂` for two, as the tables
/// print it; exactly it is `2/√π` = 1.12838.
const D2_FOR_TWO: f64 = 1.128;
/// Tables print 3.267 for the upper limit of a range of two, `D₄`.
const D4_FOR_TWO: f64 = 3.267;

/// One point outside its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Signal {
    /// Index of the point.
    pub index: usize,
    /// Its value on the chart.
    pub value: f64,
}

/// Chart of individuals with moving ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct Individuals {
    /// Mean.
    pub centre: f64,
    /// Mean moving range of two.
    pub mean_moving_range: f64,
    /// Standard deviation from the moving range.
    pub sigma: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// Upper limit of the moving range.
    pub moving_range_upper: f64,
    /// Points outside the limits.
    pub signals: Vec<Signal>,
    /// Moving ranges above their limit; the index is that of the later point.
    pub range_signals: Vec<Signal>,
}

/// Limits `x̄ ± 3 MR̄/d₂`. The standard deviation comes from the moving range,
/// so that a drift or step does not widen its own limits.
///
/// # Errors
///
/// Fewer than two values, or one that is not finite.
///
/// # Source
///
/// `nist-ehandbook`, 6.3.2.2.
pub fn individuals(series: &[f64]) -> Result<Individuals, StudyError> {
    values("values of a chart", series, 2)?;
    let ranges: Vec<f64> = series.iter().zip(series.iter().skip(1)).map(|(a, b)| (b - a).abs()).collect();
    let centre = mean(series);
    let mean_moving_range = mean(&ranges);
    let sigma = mean_moving_range / D2_FOR_TWO;
    let reach = 3.0 * sigma;
    let (lower, upper) = (centre - reach, centre + reach);
    let moving_range_upper = D4_FOR_TWO * mean_moving_range;
    Ok(Individuals {
        centre,
        mean_moving_range,
        sigma,
        lower,
        upper,
        moving_range_upper,
        signals: outside(series, |_, x| x < lower || upper < x),
        range_signals: outside(&ranges, |_, r| r > moving_range_upper)
            .into_iter()
            .map(|s| Signal { index: s.index + 1, ..s })
            .collect(),
    })
}

fn outside(series: &[f64], is_outside: impl Fn(usize, f64) -> bool) -> Vec<Signal> {
    series
        .iter()
        .enumerate()
        .filter(|(i, x)| is_outside(*i, **x))
        .map(|(index, value)| Signal { index, value: *value })
        .collect()
}

/// One point of an exponentially weighted chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// The weighted mean.
    pub value: f64,
    /// Exact lower limit at this point.
    pub lower: f64,
    /// Exact upper limit at this point.
    pub upper: f64,
}

/// Exponentially weighted moving averages.
#[derive(Debug, Clone, PartialEq)]
pub struct Ewma {
    /// The points.
    pub points: Vec<EwmaPoint>,
    /// Limits after many points.
    pub asymptotic: (f64, f64),
    /// Points outside their exact limits.
    pub signals: Vec<Signal>,
}

/// `z_i = λ x_i + (1 − λ) z_{i−1}`, `z_0` the target, limits
/// `μ₀ ± L σ √(λ/(2 − λ) [1 − (1 − λ)^{2i}])`.
///
/// # Errors
///
/// `λ` outside 0 to 1, a standard deviation or `L` not above zero, a value
/// that is not finite.
///
/// # Source
///
/// `nist-ehandbook`, 6.3.2.4.
pub fn ewma(series: &[f64], target: f64, sigma: f64, lambda: f64, reach: f64) -> Result<Ewma, StudyError> {
    values("values of a chart", series, 1)?;
    finite("target", target)?;
    positive("standard deviation", sigma)?;
    positive("reach of the limits", reach)?;
    if !(0.0 < lambda && lambda <= 1.0) {
        return Err(StudyError::OutOfRange { what: "weight", expected: "above 0, at most 1", found: lambda });
    }
    let far = reach * sigma * (lambda / (2.0 - lambda)).sqrt();
    let (mut z, mut kept) = (target, 1.0);
    let mut points = Vec::with_capacity(series.len());
    for x in series {
        z = lambda * x + (1.0 - lambda) * z;
        kept *= (1.0 - lambda) * (1.0 - lambda);
        let half = far * (1.0 - kept).sqrt();
        points.push(EwmaPoint { value: z, lower: target - half, upper: target + half });
    }
    let signals = points
        .iter()
        .enumerate()
        .filter(|(_, p)| p.value < p.lower || p.upper < p.value)
        .map(|(index, p)| Signal { index, value: p.value })
        .collect();
    Ok(Ewma { points, asymptotic: (target - far, target + far), signals })
}

/// Cumulative sums of both directions.
#[derive(Debug, Clone, PartialEq)]
pub struct Cusum {
    /// Upward sums.
    pub up: Vec<f64>,
    /// Downward sums.
    pub down: Vec<f64>,
    /// First point where either sum exceeds the decision interval.
    pub first_signal: Option<usize>,
}

/// `S⁺ = max(0, S⁺ + x − μ₀ − K)`, `S⁻ = max(0, S⁻ + μ₀ − x − K)`, a signal
/// above `H`. `K` and `H` are in the unit of the values.
///
/// # Errors
///
/// A negative `K`, an `H` not above zero, a value that is not finite.
///
/// # Source
///
/// `nist-ehandbook`, 6.3.2.3.
pub fn cusum(series: &[f64], target: f64, allowance: f64, decision: f64) -> Result<Cusum, StudyError> {
    values("values of a chart", series, 1)?;
    finite("target", target)?;
    crate::numeric::not_negative("allowance", allowance)?;
    positive("decision interval", decision)?;
    let run = |sign: f64| {
        let mut sum = 0.0;
        series
            .iter()
            .map(|x| {
                sum = greater(sum + sign * (x - target) - allowance, 0.0);
                sum
            })
            .collect::<Vec<f64>>()
    };
    let (up, down) = (run(1.0), run(-1.0));
    let first_signal = up.iter().zip(&down).position(|(u, d)| *u > decision || *d > decision);
    Ok(Cusum { up, down, first_signal })
}

/// Average run length of a one-sided cumulative sum by Siegmund's
/// approximation: `(e^{−2Δb} + 2Δb − 1)/(2Δ²)`, `Δ = δ − k`, `b = h + 1.166`.
///
/// `shift`, `allowance` and `decision` are in standard deviations.
///
/// # Errors
///
/// A number that is not finite, a decision interval not above zero.
///
/// # Source
///
/// `siegmund-1985`; within 1 % of exact tables.
pub fn average_run_length(shift: f64, allowance: f64, decision: f64) -> Result<f64, StudyError> {
    finite("shift", shift)?;
    finite("allowance", allowance)?;
    let b = positive("decision interval", decision)? + 1.166;
    let delta = shift - allowance;
    // Below this the difference of nearly equal numbers is worse than its
    // limit b².
    if delta.abs() < 1e-5 {
        return Ok(b * b);
    }
    Ok(((-2.0 * delta * b).exp() + 2.0 * delta * b - 1.0) / (2.0 * delta * delta))
}

/// Average run length of both sums together: `1/ARL = 1/ARL⁺ + 1/ARL⁻`.
///
/// # Errors
///
/// As [`average_run_length`].
///
/// # Source
///
/// `siegmund-1985`.
pub fn average_run_length_two_sided(shift: f64, allowance: f64, decision: f64) -> Result<f64, StudyError> {
    let up = average_run_length(shift, allowance, decision)?;
    let down = average_run_length(-shift, allowance, decision)?;
    Ok((up.recip() + down.recip()).recip())
}

/// Splits a series where its history breaks: cleaning, repair, change of the
/// gauge. Each break is the index of the first point after it. A new zero is
/// no break.
///
/// Breaks may come in any order; those at the ends or beyond make no empty
/// phase.
pub fn phases<'a>(series: &'a [f64], breaks: &[usize]) -> Vec<&'a [f64]> {
    let mut cuts: Vec<usize> = breaks.iter().copied().filter(|b| 0 < *b && *b < series.len()).collect();
    cuts.sort_unstable();
    cuts.dedup();
    let mut found = Vec::with_capacity(cuts.len() + 1);
    let (mut rest, mut start) = (series, 0);
    for cut in cuts {
        let (phase, after) = rest.split_at(cut - start);
        found.push(phase);
        (rest, start) = (after, cut);
    }
    if !rest.is_empty() {
        found.push(rest);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Slow twin: the weighted mean written out.
        #[test]
        fn ewma_is_the_weighted_sum(series in prop::collection::vec(-3.0f64..3.0, 1..20), lambda in 0.05f64..1.0) {
            let chart = ewma(&series, 0.5, 1.0, lambda, 3.0).unwrap();
            let n = series.len();
            let mut sum = 0.5 * (1.0 - lambda).powi(i32::try_from(n).unwrap());
            for (i, x) in series.iter().enumerate() {
                sum += lambda * (1.0 - lambda).powi(i32::try_from(n - 1 - i).unwrap()) * x;
            }
            prop_assert!((chart.points[n - 1].value - sum).abs() < 1e-12);
        }

        /// Slow twin: the largest sum of any stretch that ends here.
        #[test]
        fn cusum_is_the_largest_stretch(series in prop::collection::vec(-3.0f64..3.0, 1..25)) {
            let chart = cusum(&series, 0.2, 0.5, 4.0).unwrap();
            for end in 0..series.len() {
                let best = (0..=end).map(|start| series[start..=end].iter().map(|x| x - 0.7).sum::<f64>())
                    .fold(0.0, |a: f64, b| if b > a { b } else { a });
                prop_assert!((chart.up[end] - best).abs() < 1e-9);
            }
        }

        #[test]
        fn phases_lose_nothing(series in prop::collection::vec(-3.0f64..3.0, 0..20), breaks in prop::collection::vec(0usize..25, 0..5)) {
            let found = phases(&series, &breaks);
            prop_assert_eq!(&found.concat(), &series);
            prop_assert!(found.iter().all(|p| !p.is_empty()));
        }
    }

    #[test]
    fn a_step_is_signalled_by_the_sum_before_the_individuals() {
        let mut series = vec![0.3, -0.2, 0.1, -0.4, 0.2, 0.0, -0.1, 0.3, -0.3, 0.1];
        let sigma = individuals(&series).unwrap().sigma;
        series.extend([0.6, 0.5, 0.7, 0.6, 0.5, 0.6]);
        let chart = cusum(&series, 0.0, 0.5 * sigma, 4.0 * sigma).unwrap();
        assert!(chart.first_signal.is_some_and(|i| i > 10));
        assert!(individuals(&series).unwrap().signals.is_empty());
    }

    #[test]
    fn bad_charts_are_refused() {
        assert!(individuals(&[1.0]).is_err() && individuals(&[1.0, f64::NAN]).is_err());
        assert!(ewma(&[1.0], 0.0, 1.0, 0.0, 3.0).is_err() && ewma(&[1.0], 0.0, 0.0, 0.2, 3.0).is_err());
        assert!(cusum(&[1.0], 0.0, 0.5, 0.0).is_err());
        // The removable singularity at delta = 0.
        let near = average_run_length(0.5 + 2e-5, 0.5, 4.0).unwrap();
        assert!((near / average_run_length(0.5, 0.5, 4.0).unwrap() - 1.0).abs() < 1e-3);
    }
}
