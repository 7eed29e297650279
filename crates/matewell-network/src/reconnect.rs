//! Does a joint scatter, or has it moved? The statistics of reconnections in
//! the complex plane.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use rand::RngExt as _;
use rand_pcg::Pcg64;
use statrs::distribution::{ContinuousCDF as _, FisherSnedecor};

use crate::error::NetworkError;

/// Below this many reconnections the 95 % region is more than √2 wider than
/// with infinitely many.
pub const FEW: usize = 8;

/// Mean and spread of repeated observations of a few quantities (the real and
/// imaginary part of a reflection, or fitted inductance and resistance).
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    count: usize,
    mean: DVector<f64>,
    covariance: DMatrix<f64>,
}

/// An ellipse of the plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipse {
    /// Centre.
    pub centre: Complex64,
    /// Half the long axis.
    pub major: f64,
    /// Half the short axis.
    pub minor: f64,
    /// Direction of the long axis from the real axis, in radians.
    pub angle: f64,
}

/// What an ellipse covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covers {
    /// The mean of all possible reconnections.
    Mean,
    /// The next single reconnection.
    Next,
}

impl Sample {
    /// Mean and covariance of observations, one slice each.
    ///
    /// `S = Σ (x − x̄)(x − x̄)ᵀ/(n − 1)`.
    ///
    /// # Errors
    ///
    /// Fewer than two observations more than quantities, unequal lengths, or a
    /// number that is not finite.
    pub fn new(observations: &[Vec<f64>]) -> Result<Self, NetworkError> {
        let count = observations.len();
        let width = observations.first().map_or(0, Vec::len);
        if width == 0 || count < width + 2 {
            return Err(NetworkError::WrongCount {
                what: "reconnections",
                expected: width + 2,
                found: count,
            });
        }
        for row in observations {
            if row.len() != width {
                return Err(NetworkError::WrongCount {
                    what: "quantities of a reconnection",
                    expected: width,
                    found: row.len(),
                });
            }
            for (index, &found) in row.iter().enumerate() {
                if !found.is_finite() {
                    return Err(NetworkError::NotFinite { what: "reconnection", found, index });
                }
            }
        }
        let n = count as f64;
        let mut mean = DVector::zeros(width);
        for row in observations {
            mean += DVector::from_column_slice(row);
        }
        mean /= n;
        let mut covariance = DMatrix::zeros(width, width);
        for row in observations {
            let d = DVector::from_column_slice(row) - &mean;
            covariance += &d * d.transpose();
        }
        covariance /= n - 1.0;
        Ok(Self { count, mean, covariance })
    }

    /// The same for complex values.
    ///
    /// # Errors
    ///
    /// As [`Self::new`].
    pub fn of_complex(values: &[Complex64]) -> Result<Self, NetworkError> {
        let rows: Vec<Vec<f64>> = values.iter().map(|v| vec![v.re, v.im]).collect();
        Self::new(&rows)
    }

    /// Number of observations.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The mean.
    pub fn mean(&self) -> &[f64] {
        self.mean.as_slice()
    }

    /// The covariance, row by row (it is symmetric).
    pub fn covariance(&self) -> &[f64] {
        self.covariance.as_slice()
    }

    /// Radial repeatability `√tr S`: one number for the spread, in the unit of
    /// the observations.
    pub fn radial(&self) -> f64 {
        self.covariance.trace().sqrt()
    }

    /// Says how little a small sample shows; nothing from eight on.
    pub fn caution(&self) -> Option<String> {
        (self.count < FEW).then(|| {
            let k = coverage_factor(self.count, 2).unwrap_or(f64::NAN);
            format!(
                "{} reconnections show little: the 95 % region is {:.1} times as wide as with very many; make \
                 at least {FEW}, better 16",
                self.count,
                k / 2.448
            )
        })
    }

    /// The 95 % ellipse of a sample of two quantities.
    ///
    /// Half axes `k √λ` of `S/n` (mean) or `S (n + 1)/n` (next), with
    /// [`coverage_factor`].
    ///
    /// # Errors
    ///
    /// Other than two quantities.
    ///
    /// # Source
    ///
    /// `jcgm-102-2011`, 6.5.2 (region for a bivariate quantity); circles are a
    /// poor choice: Hall, Metrologia 50 (2013) 490.
    pub fn ellipse(&self, covers: Covers) -> Result<Ellipse, NetworkError> {
        let (&[re, im], &[a, b, _, c]) = (self.mean.as_slice(), self.covariance.as_slice()) else {
            return Err(NetworkError::WrongCount {
                what: "quantities of an ellipse",
                expected: 2,
                found: self.mean.len(),
            });
        };
        let n = self.count as f64;
        let k = coverage_factor(self.count, 2)?;
        let scale = k
            * k
            * match covers {
                Covers::Mean => 1.0 / n,
                Covers::Next => (n + 1.0) / n,
            };
        let half = 0.5 * (a + c);
        let root = (0.5 * (a - c)).hypot(b);
        let least = if half > root { half - root } else { 0.0 };
        Ok(Ellipse {
            centre: Complex64::new(re, im),
            major: (scale * (half + root)).sqrt(),
            minor: (scale * least).sqrt(),
            angle: 0.5 * (2.0 * b).atan2(a - c),
        })
    }
}

/// `k` of the 95 % region of `p` quantities from `n` observations:
/// `k² = p (n − 1)/(n − p) F_{0.95; p, n−p}`.
///
/// # Errors
///
/// `n ≤ p`.
pub fn coverage_factor(count: usize, quantities: usize) -> Result<f64, NetworkError> {
    if quantities == 0 || count <= quantities {
        return Err(NetworkError::WrongCount {
            what: "reconnections",
            expected: quantities + 1,
            found: count,
        });
    }
    let (n, p) = (count as f64, quantities as f64);
    let f = fisher(p, n - p)?.inverse_cdf(0.95);
    Ok((p * (n - 1.0) / (n - p) * f).sqrt())
}

fn fisher(first: f64, second: f64) -> Result<FisherSnedecor, NetworkError> {
    FisherSnedecor::new(first, second).map_err(|_| NetworkError::OutOfRange {
        what: "degrees of freedom",
        expected: "above 0",
        found: second,
    })
}

/// Whether both samples are taken to spread alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// Alike: one pooled covariance.
    Equal,
    /// Not alike: cleaning, for one, usually shrinks it.
    Unequal,
}

/// The test of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoSample {
    /// Hotelling's `T²`.
    pub t_squared: f64,
    /// Second degrees of freedom of the `F` distribution.
    pub degrees_of_freedom: f64,
    /// Probability of as large a `T²` with equal means.
    pub p: f64,
}

/// Hotelling's two-sample `T²`.
///
/// Equal spread: `T² = n₁n₂/(n₁+n₂) Δᵀ S_p⁻¹ Δ`,
/// `F = (n₁+n₂−p−1)/(p (n₁+n₂−2)) T²` on `p` and `n₁+n₂−p−1`. Unequal spread
/// (Krishnamoorthy and Yu): `T² = Δᵀ (S₁/n₁ + S₂/n₂)⁻¹ Δ`,
/// `ν = (p + p²)/Σ [tr A_i² + (tr A_i)²]/(n_i − 1)`, `A_i = (S_i/n_i) S̃⁻¹`,
/// `F = T² (ν − p + 1)/(νp)` on `p` and `ν − p + 1`.
///
/// # Errors
///
/// Samples of different quantities, or a spread that is singular (the same
/// value again and again).
///
/// # Source
///
/// `krishnamoorthy-yu-2004` for unequal spread.
pub fn two_sample(first: &Sample, second: &Sample, spread: Spread) -> Result<TwoSample, NetworkError> {
    let p = first.mean.len();
    if second.mean.len() != p {
        return Err(NetworkError::WrongCount { what: "quantities", expected: p, found: second.mean.len() });
    }
    let singular = NetworkError::NotDefined {
        what: "the reconnections do not spread in every direction: T² is not defined",
    };
    let difference = &first.mean - &second.mean;
    let (n1, n2, width) = (first.count as f64, second.count as f64, p as f64);
    let (t_squared, f, degrees_of_freedom) = match spread {
        Spread::Equal => {
            let pooled = (&first.covariance * (n1 - 1.0) + &second.covariance * (n2 - 1.0)) / (n1 + n2 - 2.0);
            let solved = pooled.cholesky().ok_or(singular)?.solve(&difference);
            let t2 = n1 * n2 / (n1 + n2) * difference.dot(&solved);
            let second = n1 + n2 - width - 1.0;
            (t2, second / (width * (n1 + n2 - 2.0)) * t2, second)
        }
        Spread::Unequal => {
            let (a, b) = (&first.covariance / n1, &second.covariance / n2);
            let inverse = (&a + &b).cholesky().ok_or(singular)?.inverse();
            let t2 = difference.dot(&(&inverse * &difference));
            let share = |s: &DMatrix<f64>, n: f64| {
                let x = s * &inverse;
                ((&x * &x).trace() + x.trace() * x.trace()) / (n - 1.0)
            };
            let nu = (width + width * width) / (share(&a, n1) + share(&b, n2));
            let second = nu - width + 1.0;
            (t2, t2 * second / (nu * width), second)
        }
    };
    let p = fisher(width, degrees_of_freedom)?.sf(f);
    Ok(TwoSample { t_squared, degrees_of_freedom, p })
}

/// Inductance (pH) and resistance (mΩ) that explain the departure of one
/// reconnection from a reference trace, at a port plane.
///
/// Least squares of `ΔS(f) = (jωL + R)/(2 Z₀)`: the fitted parameters carry one
/// decision for all frequencies.
///
/// # Errors
///
/// Unequal lengths or no frequency above 0.
pub fn fitted_parameters(
    frequencies: &[f64],
    departure: &[Complex64],
    impedance: f64,
) -> Result<Vec<f64>, NetworkError> {
    crate::transform::same_length(frequencies, departure)?;
    let (mut sum_l, mut sum_r, mut norm) = (0.0, 0.0, 0.0);
    for (f, d) in frequencies.iter().zip(departure) {
        let w = std::f64::consts::TAU * f;
        sum_l += w * d.im;
        sum_r += d.re;
        norm += w * w;
    }
    let l = 2.0 * impedance * sum_l / norm * 1e12;
    let r = 2.0 * impedance * sum_r / frequencies.len() as f64 * 1e3;
    for (index, found) in [l, r].into_iter().enumerate() {
        if !found.is_finite() {
            return Err(NetworkError::NotFinite { what: "fitted parameter", found, index });
        }
    }
    Ok(vec![l, r])
}

/// Probability of as large a greatest `T²` over all frequencies when the labels
/// of the reconnections mean nothing.
///
/// The model-free check of a decision on fitted parameters. `traces` of both
/// groups are shuffled `rounds` times; `p = (1 + #{max T² ≥ observed})/(1 + rounds)`.
///
/// # Errors
///
/// Unequal lengths, fewer than four traces in a group, or no rounds.
pub fn permutation_over_frequency(
    first: &[Vec<Complex64>],
    second: &[Vec<Complex64>],
    rounds: usize,
    seed: u64,
) -> Result<f64, NetworkError> {
    let points = first.first().map_or(0, Vec::len);
    for (what, group) in [("first group", first), ("second group", second)] {
        if group.len() < 4 {
            return Err(NetworkError::WrongCount { what, expected: 4, found: group.len() });
        }
        for trace in group {
            if trace.len() != points || points == 0 {
                return Err(NetworkError::WrongCount { what, expected: points, found: trace.len() });
            }
            for (index, v) in trace.iter().enumerate() {
                if !v.re.is_finite() || !v.im.is_finite() {
                    return Err(NetworkError::NotFinite { what, found: v.re, index });
                }
            }
        }
    }
    if rounds == 0 {
        return Err(NetworkError::WrongCount { what: "rounds", expected: 199, found: 0 });
    }
    let all: Vec<&Vec<Complex64>> = first.iter().chain(second).collect();
    let mut order: Vec<usize> = (0..all.len()).collect();
    let observed = greatest(&all, &order, first.len(), points);
    let mut random = Pcg64::new(u128::from(seed), 0x5851_f42d_4c95_7f2d_1405_7b7e_f767_814f);
    let mut as_large = 0_usize;
    for _ in 0..rounds {
        for i in (1..order.len()).rev() {
            let j = random.random_range(0..=i);
            order.swap(i, j);
        }
        if greatest(&all, &order, first.len(), points) >= observed {
            as_large += 1;
        }
    }
    Ok((1 + as_large) as f64 / (1 + rounds) as f64)
}

/// Greatest pooled `T²` over frequency, written out for two quantities.
fn greatest(all: &[&Vec<Complex64>], order: &[usize], size: usize, points: usize) -> f64 {
    let total = order.len();
    let (n1, n2) = (size as f64, (total - size) as f64);
    let mut best = 0.0;
    for f in 0..points {
        let value = |i: usize| all.get(i).and_then(|t| t.get(f)).copied().unwrap_or_default();
        let mut means = [Complex64::default(); 2];
        for (place, &i) in order.iter().enumerate() {
            let (group, n) = if place < size { (0, n1) } else { (1, n2) };
            if let Some(m) = means.get_mut(group) {
                *m += value(i) / n;
            }
        }
        let [m1, m2] = means;
        let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
        for (place, &i) in order.iter().enumerate() {
            let d = value(i) - if place < size { m1 } else { m2 };
            a += d.re * d.re;
            b += d.re * d.im;
            c += d.im * d.im;
        }
        let determinant = a * c - b * b;
        if determinant > 0.0 {
            let d = m1 - m2;
            let quadratic = (c * d.re * d.re - 2.0 * b * d.re * d.im + a * d.im * d.im) / determinant;
            let t2 = n1 * n2 / (n1 + n2) * quadratic * (total as f64 - 2.0);
            if t2 > best {
                best = t2;
            }
        }
    }
    best
}

/// Is it the saver or the device? What two reconnect studies say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Wide scatter stays with the saver when the device is exchanged for a
    /// known good one.
    Saver,
    /// Wide scatter is there only with the device.
    Device,
    /// Both scatter no more than the joint's history.
    Neither,
    /// The samples are too small or too alike to tell.
    Undecided,
}

/// Judges scatter against a joint's history: the saver with the device, and the
/// saver with a known good partner.
///
/// Compares radial variances by an F test with `2(n − 1)` degrees of freedom
/// each (the variance of two parts), at 1 % one-sided.
///
/// # Errors
///
/// A history that is not positive and finite.
pub fn saver_or_device(
    with_device: &Sample,
    with_known_good: &Sample,
    history: &Sample,
) -> Result<Source, NetworkError> {
    if with_device.count < FEW || with_known_good.count < FEW || history.count < FEW {
        return Ok(Source::Undecided);
    }
    let base = history.radial();
    if !(base.is_finite() && base > 0.0) {
        return Err(NetworkError::OutOfRange {
            what: "history of scatter",
            expected: "above 0",
            found: base,
        });
    }
    let worse = |s: &Sample| -> Result<f64, NetworkError> {
        let ratio = (s.radial() / base).powi(2);
        let (n1, n2) = (2.0 * (s.count as f64 - 1.0), 2.0 * (history.count as f64 - 1.0));
        Ok(fisher(n1, n2)?.sf(ratio))
    };
    let (device, good) = (worse(with_device)?, worse(with_known_good)?);
    Ok(match (device < 0.01, good < 0.01) {
        (true, true) => Source::Saver,
        (true, false) if good > 0.05 => Source::Device,
        (false, false) if device > 0.05 && good > 0.05 => Source::Neither,
        _ => Source::Undecided,
    })
}
