//! Can this sweep be believed? Passivity, reciprocity, causality, grid, noise.

use nalgebra::DMatrix;
use num_complex::Complex64;

use crate::error::NetworkError;
use crate::sweep::{Sweep, uniform_step};
use crate::transform::{Fourier, FromDc};
use crate::window::{Mode, Window, half_height_width};

/// The smallest tolerance on a singular value: six printed digits.
pub const LEAST_TOLERANCE: f64 = 1e-6;

/// Does the network give out more than it takes?
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passivity {
    /// Largest singular value of all frequencies.
    pub worst: f64,
    /// Its frequency, in hertz.
    pub at: f64,
    /// Accepted excess over 1.
    pub tolerance: f64,
    /// Frequencies beyond it.
    pub points_beyond: usize,
}

impl Passivity {
    /// Whether every singular value stays within 1 plus the tolerance.
    pub fn holds(self) -> bool {
        self.points_beyond == 0
    }
}

/// Passivity by the largest singular value of each matrix.
///
/// `σ_max(S) ≤ 1 + tolerance`. Column powers are not enough:
/// `[[0.6, 0.6], [0.6, 0.6]]` has column powers 0.72 and `σ_max = 1.2`.
///
/// - `rounding`, `uncertainty`: half the last printed digit, and the sweep's
///   expanded uncertainty; the tolerance is the largest of both and 1e-6.
///
/// # Errors
///
/// A tolerance that is negative or not finite.
pub fn passivity(sweep: &Sweep, rounding: f64, uncertainty: f64) -> Result<Passivity, NetworkError> {
    let mut tolerance = LEAST_TOLERANCE;
    for (what, found) in [("rounding", rounding), ("uncertainty", uncertainty)] {
        if !(found.is_finite() && found >= 0.0) {
            return Err(NetworkError::OutOfRange { what, expected: "0 or more", found });
        }
        if found > tolerance {
            tolerance = found;
        }
    }
    let mut report = Passivity { worst: 0.0, at: f64::NAN, tolerance, points_beyond: 0 };
    for (sigma, &at) in largest_singular_values(sweep).into_iter().zip(sweep.frequencies()) {
        if sigma > 1.0 + tolerance {
            report.points_beyond += 1;
        }
        if sigma >= report.worst {
            report.worst = sigma;
            report.at = at;
        }
    }
    Ok(report)
}

/// Largest singular value of each matrix.
pub fn largest_singular_values(sweep: &Sweep) -> Vec<f64> {
    let ports = sweep.ports();
    sweep
        .matrices()
        .map(|m| match *m {
            [s] => s.norm(),
            [a, b, c, d] => two_by_two(a, b, c, d),
            _ => DMatrix::from_row_slice(ports, ports, m)
                .singular_values()
                .iter()
                .fold(0.0, |w, &s| if s > w { s } else { w }),
        })
        .collect()
}

/// From the eigenvalues of `SᴴS`, written so that nothing cancels when both
/// singular values are equal (a lossless two-port).
fn two_by_two(a: Complex64, b: Complex64, c: Complex64, d: Complex64) -> f64 {
    let p = a.norm_sqr() + c.norm_sqr();
    let q = b.norm_sqr() + d.norm_sqr();
    let mixed = a.conj() * b + c.conj() * d;
    let root = (p - q).hypot(2.0 * mixed.norm());
    (0.5 * (p + q + root)).sqrt()
}

/// Largest `|S_ij − S_ji|` and its frequency in hertz; nothing for one port.
pub fn reciprocity(sweep: &Sweep) -> Option<(f64, f64)> {
    let ports = sweep.ports();
    let mut worst: Option<(f64, f64)> = None;
    for (m, &at) in sweep.matrices().zip(sweep.frequencies()) {
        for row in 0..ports {
            for column in 0..row {
                let (Some(x), Some(y)) = (m.get(row * ports + column), m.get(column * ports + row)) else {
                    continue;
                };
                let difference = (x - y).norm();
                if worst.is_none_or(|(w, _)| difference > w) {
                    worst = Some((difference, at));
                }
            }
        }
    }
    worst
}

/// The initial quality metrics of IEEE 370, in percent: information, not a
/// verdict. The causality metric is fragile against noise where reflections
/// are small.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InitialMetrics {
    /// `100/N · max(0, N − ΣPW)`, `PW = (σ_max − 1.00001)/0.1` beyond 1.00001.
    pub passivity: f64,
    /// The same with the mean of `|S_ij − S_ji|`, threshold 1e-6.
    pub reciprocity: f64,
    /// `100 Σ⁺R/Σ|R|` of clockwise rotation between points, least of all entries.
    pub causality: f64,
}

/// Initial quality metrics of IEEE 370-2020.
///
/// # Errors
///
/// Fewer than three frequencies.
///
/// # Source
///
/// `ieee-370-2020`, initial metrics, as implemented by scikit-rf 2.2.0 (the
/// standard's text was not read).
pub fn initial_metrics(sweep: &Sweep) -> Result<InitialMetrics, NetworkError> {
    let points = sweep.points();
    if points < 3 {
        return Err(NetworkError::WrongCount { what: "frequencies", expected: 3, found: points });
    }
    let ports = sweep.ports();
    let n = points as f64;
    let quality = |excess: f64| if excess > n { 0.0 } else { 100.0 / n * (n - excess) };
    let beyond: f64 =
        largest_singular_values(sweep).iter().filter(|s| **s > 1.000_01).map(|s| (s - 1.000_01) / 0.1).sum();
    let pairs = (ports * ports - ports) as f64;
    let mut unequal = 0.0;
    if ports > 1 {
        for m in sweep.matrices() {
            let mut sum = 0.0;
            for row in 0..ports {
                for column in 0..ports {
                    if let (Some(x), Some(y)) = (m.get(row * ports + column), m.get(column * ports + row)) {
                        sum += (x - y).norm();
                    }
                }
            }
            let mean = sum / pairs;
            if mean > 1e-6 {
                unequal += (mean - 1e-6) / 0.1;
            }
        }
    }
    let mut causality = 100.0;
    for to in 1..=ports {
        for from in 1..=ports {
            let trace = sweep.trace(to, from)?;
            let (mut clockwise, mut all) = (0.0, 0.0);
            for w in trace.windows(3) {
                if let &[a, b, c] = w {
                    let (v, next) = (b - a, c - b);
                    let turn = next.re * v.im - next.im * v.re;
                    all += turn.abs();
                    if turn > 0.0 {
                        clockwise += turn;
                    }
                }
            }
            let share = if all > 0.0 { 100.0 * clockwise / all } else { 100.0 };
            if share < causality {
                causality = share;
            }
        }
    }
    Ok(InitialMetrics { passivity: quality(beyond), reciprocity: quality(unequal), causality })
}

/// The frequency grid, in words a person can check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Number of frequencies.
    pub points: usize,
    /// First frequency, in hertz.
    pub first: f64,
    /// Last frequency, in hertz.
    pub last: f64,
    /// Step when it is constant, in hertz.
    pub step: Option<f64>,
    /// Whether the first frequency is 0 or one step, as a low-pass transform
    /// needs.
    pub harmonic: bool,
}

/// Describes the frequency grid.
pub fn grid(sweep: &Sweep) -> Grid {
    let f = sweep.frequencies();
    let first = f.first().copied().unwrap_or(f64::NAN);
    let last = f.last().copied().unwrap_or(f64::NAN);
    let step = uniform_step(f).ok();
    let harmonic = step.is_some_and(|s| first.abs() <= 1e-6 * s || (first - s).abs() <= 1e-6 * s);
    Grid { points: f.len(), first, last, step, harmonic }
}

/// An upper bound of the trace noise: standard deviation of the real (or
/// imaginary) part of one point.
///
/// From second differences `d = S_{k+1} − 2S_k + S_{k−1}`, whose variance is
/// `6σ²` per part; with the median, `σ² = median|d|²/(12 ln 2)`. What a coarse
/// grid makes of the signal itself is counted as noise, hence an upper bound.
///
/// # Errors
///
/// Fewer than five points.
pub fn noise_floor(trace: &[Complex64]) -> Result<f64, NetworkError> {
    if trace.len() < 5 {
        return Err(NetworkError::WrongCount { what: "points", expected: 5, found: trace.len() });
    }
    let mut squares: Vec<f64> = trace
        .windows(3)
        .filter_map(|w| match w {
            &[a, b, c] => Some((c - b * 2.0 + a).norm_sqr()),
            _ => None,
        })
        .collect();
    squares.sort_by(f64::total_cmp);
    let median = squares.get(squares.len() / 2).copied().unwrap_or(f64::NAN);
    Ok((median / (12.0 * std::f64::consts::LN_2)).sqrt())
}

/// Share of a difference's energy that arrives before it can.
///
/// Low-pass response of the difference of two sweeps: energy before
/// `t = −width` over the energy of all. More than about 0.05 points to a
/// misaligned baseline, a wrong grid or drift (a rule of this project, from
/// simulation).
///
/// # Errors
///
/// As [`Fourier::impulse`].
pub fn energy_before_zero(fourier: &mut Fourier, difference: &FromDc) -> Result<f64, NetworkError> {
    let window = Window::Kaiser(6.0);
    let response = fourier.impulse(difference, window)?;
    let highest = difference.step * difference.values.len() as f64;
    let width = half_height_width(window, Mode::LowPass)? / highest;
    let (mut early, mut all) = (0.0, 0.0);
    for (index, value) in response.values.iter().enumerate() {
        let energy = value * value;
        all += energy;
        if response.time(index) < -width {
            early += energy;
        }
    }
    Ok(if all > 0.0 { early / all } else { 0.0 })
}
