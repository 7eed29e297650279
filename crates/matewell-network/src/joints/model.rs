//! The fit: what a chain's reflection may change by, and how well it is known.
//!
//! ```text
//! ΔS = Σ_k part_k (e^{−2jωΔ_k} − 1)                                      cables, exact
//!    + Σ_k T_k² e^{−2jω(Δ_k + p_k)} q_k + beyond_k ((1 − q_k)² − 1)      joints
//!    + Σ_n u^n (e_n + t_n Σ_k part_k)                                      calibration drift
//! q_k = z_k/(2 + z_k),  z_k = (jω L_k + R_k)/Z₀,
//! beyond_k = (½ part_k + Σ_{j>k} part_j) turned by the cables before each
//! ```
//!
//! `part_k` is what the baseline reflects near joint k, from a fit of the
//! baseline; `Δ_k` the sum of the delay changes of the cables before joint k;
//! `p_k` the error of its place, the sum of the errors of the lengths before it.
//! A joint also delays and weakens what lies behind it: without `beyond_k` a
//! 6 pH change at one joint looks like a change of 0.6 pH at the next. Half of a
//! joint's own part counts as behind it (its two beads are alike); at the port
//! plane all of it.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::parts::{baseline_parts, own_share, place_step, travel};
use super::{Chain, Settings};
use crate::sweep::uniform_step;
use crate::turning::turning;

pub(super) const PICO: f64 = 1e-12;
pub(super) const MILLI: f64 = 1e-3;
/// Wide prior of an inductance change, in henries: 200 µm of gap in a 3.5 mm
/// line.
const WIDE_INDUCTANCE: f64 = 20e-12;
/// Wide prior of a resistance change, in ohms.
const WIDE_RESISTANCE: f64 = 0.1;
const DRIFT_TERMS: usize = 3;
/// Times as far as expected that the calibration may have drifted: 20 dB; beyond
/// twice that there is no verdict. Our own choice, no source.
pub(super) const MOST_DRIFT: f64 = 10.0;
/// Rounds of searching places and solving, per start.
const ROUNDS: usize = 4;

const J: Complex64 = Complex64::new(0.0, 1.0);
pub(super) const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// The fitted parameters, in henries, ohms and seconds, with their covariance.
pub(super) struct Fit {
    /// Inductance and resistance of each joint.
    pub(super) joints: Vec<[f64; 2]>,
    /// Covariance of `L₁, R₁, L₂, R₂ …`.
    pub(super) covariance: DMatrix<f64>,
    /// Delay change of each section; 0 where it cannot change.
    pub(super) delays: Vec<f64>,
    /// χ² of the residual over its degrees of freedom.
    pub(super) reduced_chi_square: f64,
    /// What the baseline reflects at each joint at the last frequency, without
    /// the way to it.
    pub(super) local_reflection: Vec<Complex64>,
    /// How many times as far as expected the calibration drifted; 1 when no
    /// farther.
    pub(super) drift_ratio: f64,
}

/// The last step of a fit whose drift may be wider than expected.
struct Widened {
    drift_ratio: f64,
    /// Covariance of all parameters.
    inverse: DMatrix<f64>,
    chi_square: f64,
}

pub(super) struct Problem<'a> {
    pub(super) chain: &'a Chain,
    pub(super) impedance: f64,
    pub(super) sigma: f64,
    pub(super) omega: Vec<f64>,
    /// First frequency and step, where the grid is even.
    grid: Option<(f64, f64)>,
    /// Frequency over the highest one.
    relative: Vec<f64>,
    /// The baseline as its parts say, without its noise: with the noise in it,
    /// a tracking drift that takes noise off the difference fits too well.
    base: Vec<Complex64>,
    difference: Vec<Complex64>,
    pub(super) travel: Vec<Vec<Complex64>>,
    parts: Vec<Vec<Complex64>>,
    flexible: Vec<usize>,
    pub(super) prior: Vec<f64>,
}

/// Layout of the parameter vector: L, R (in pH, mΩ) per joint, place (in ps)
/// per joint, delay (in ps) per flexible section, drift (in 0.001).
pub(super) struct Index {
    joints: usize,
    flexible: usize,
}

impl Index {
    pub(super) fn inductance(k: usize) -> usize {
        2 * k
    }
    pub(super) fn resistance(k: usize) -> usize {
        2 * k + 1
    }
    pub(super) fn place(&self, k: usize) -> usize {
        2 * self.joints + k
    }
    fn delay(&self, c: usize) -> usize {
        3 * self.joints + c
    }
    fn drift(&self) -> usize {
        3 * self.joints + self.flexible
    }
    fn count(&self) -> usize {
        self.drift() + 4 * DRIFT_TERMS
    }
}

/// Fits; nothing when the equations have no solution.
pub(super) fn fit(
    frequencies: &[f64],
    base: &[Complex64],
    now: &[Complex64],
    impedance: f64,
    chain: &Chain,
    settings: &Settings,
) -> Option<Fit> {
    let mut problem = Problem::new(frequencies, base, now, impedance, chain, settings)?;
    let index = problem.index();
    let mut theta = problem.solve()?;
    let Widened { drift_ratio, inverse, chi_square } = problem.widen_drift(&mut theta)?;
    let rows = 2 * problem.omega.len();
    let reduced = chi_square / (rows.saturating_sub(index.count()).max(1)) as f64;
    let inflation = if reduced > 1.0 { reduced } else { 1.0 };
    let joints = chain.joints().len();
    let unit = |i: usize| if i.is_multiple_of(2) { PICO } else { MILLI };
    let covariance = DMatrix::from_fn(2 * joints, 2 * joints, |i, j| {
        inverse.get((i, j)).copied().unwrap_or(f64::NAN) * unit(i) * unit(j) * inflation
    });
    let value = |i: usize| theta.get(i).copied().unwrap_or(f64::NAN);
    let mut delays = vec![0.0; chain.sections().len()];
    for (c, &section) in problem.flexible.iter().enumerate() {
        if let Some(slot) = delays.get_mut(section) {
            *slot = value(index.delay(c)) * PICO;
        }
    }
    let last = problem.omega.len().checked_sub(1)?;
    let local_reflection = problem
        .parts
        .iter()
        .zip(&problem.travel)
        .map(|(part, travel)| match (part.get(last), travel.get(last)) {
            (Some(p), Some(t)) => p / t,
            _ => ZERO,
        })
        .collect();
    Some(Fit {
        joints: (0..joints)
            .map(|k| [value(Index::inductance(k)) * PICO, value(Index::resistance(k)) * MILLI])
            .collect(),
        covariance,
        delays,
        reduced_chi_square: reduced,
        local_reflection,
        drift_ratio,
    })
}

impl<'a> Problem<'a> {
    fn new(
        frequencies: &[f64],
        base: &[Complex64],
        now: &[Complex64],
        impedance: f64,
        chain: &'a Chain,
        settings: &Settings,
    ) -> Option<Self> {
        let highest = frequencies.last().copied()?;
        let omega: Vec<f64> = frequencies.iter().map(|f| std::f64::consts::TAU * f).collect();
        let relative: Vec<f64> = frequencies.iter().map(|f| f / highest).collect();
        let difference: Vec<Complex64> = now.iter().zip(base).map(|(n, b)| n - b).collect();
        let travel = travel(chain, frequencies, &omega);
        let parts = baseline_parts(chain, &travel, &relative, base, highest)?;
        let mut smooth = vec![ZERO; base.len()];
        for part in &parts {
            for (sum, p) in smooth.iter_mut().zip(part) {
                *sum += p;
            }
        }
        let flexible: Vec<usize> =
            chain.sections().iter().enumerate().filter(|(_, s)| s.flexible).map(|(c, _)| c).collect();
        let index = Index { joints: chain.joints().len(), flexible: flexible.len() };
        let mut prior = vec![1.0; index.count()];
        let mut set = |i: usize, value: f64| {
            if let Some(slot) = prior.get_mut(i) {
                *slot = value;
            }
        };
        for k in 0..chain.joints().len() {
            set(Index::inductance(k), WIDE_INDUCTANCE / PICO);
            set(Index::resistance(k), WIDE_RESISTANCE / MILLI);
            set(index.place(k), place_step(chain, k));
        }
        let phase = if settings.cable_phase > settings.largest_cable_phase {
            settings.cable_phase
        } else {
            settings.largest_cable_phase
        };
        for c in 0..flexible.len() {
            set(index.delay(c), phase / 360.0 / highest / PICO);
        }
        for p in 0..DRIFT_TERMS {
            for part in 0..2 {
                // A slow change: each power of frequency half as likely as the
                // one before.
                let shrink = 0.5_f64.powi(i32::try_from(p.saturating_sub(1)).unwrap_or(0));
                set(index.drift() + 4 * p + part, settings.offset_drift / MILLI * shrink);
                set(index.drift() + 4 * p + 2 + part, settings.tracking_drift / MILLI * shrink);
            }
        }
        // The difference of two sweeps has the noise of both.
        let sigma =
            (2.0 * settings.noise * settings.noise + settings.model_floor * settings.model_floor).sqrt();
        Some(Self {
            chain,
            impedance,
            sigma,
            omega,
            grid: uniform_step(frequencies).ok().zip(frequencies.first()).map(|(step, first)| (*first, step)),
            relative,
            base: smooth,
            difference,
            travel,
            parts,
            flexible,
            prior,
        })
    }

    /// The best of two starts: cables free, and cables first held still. A large
    /// change at a place that is off by a millimetre looks like a cable that
    /// moved, and the other way round.
    fn solve(&self) -> Option<Vec<f64>> {
        let mut best: Option<(f64, Vec<f64>)> = None;
        for hold_cables in [true, false] {
            let mut theta = vec![0.0; self.index().count()];
            if !hold_cables {
                self.improve(&mut theta, f64::INFINITY)?;
            }
            let mut reached = f64::INFINITY;
            for _ in 0..ROUNDS {
                self.search_places(&mut theta);
                let cost = self.improve(&mut theta, f64::INFINITY)?;
                let gain = reached - cost;
                reached = cost;
                if best.as_ref().is_none_or(|(c, _)| cost < *c) {
                    best = Some((cost, theta.clone()));
                }
                if gain < 1.0 {
                    break;
                }
            }
        }
        let (mut cost, mut theta) = best?;
        for _ in 0..6 {
            let before = cost;
            cost = self.improve(&mut theta, cost)?;
            if before - cost < 0.01 {
                break;
            }
        }
        Some(theta)
    }

    /// Lets the calibration drift as far as the sweeps say it did, never less
    /// than expected nor more than [`MOST_DRIFT`] times as far, and solves
    /// again. Gives the ratio that the sweeps ask for, which may be larger.
    ///
    /// With `γ = Σ (1 − C_ii/P_i²)` drift terms that the sweeps determine, the
    /// scale that makes the evidence largest has `s² = Σ (θ_i/P_i)²/γ` (MacKay's
    /// fixed point; from memory). A change at the first joint is not taken for drift: its
    /// prior is twenty times as wide, so it goes there first.
    fn widen_drift(&mut self, theta: &mut [f64]) -> Option<Widened> {
        const STEPS: usize = 4;
        let terms = self.index().drift()..self.index().count();
        let mut total = 1.0;
        for step in 0.. {
            let (normal, _, chi_square) = self.equations(theta);
            let inverse = normal.cholesky()?.inverse();
            let (mut size, mut known) = (0.0, 0.0);
            for i in terms.clone() {
                let prior = self.prior.get(i)?;
                size += (theta.get(i)? / prior).powi(2);
                known += 1.0 - inverse.get((i, i))? / (prior * prior);
            }
            // Fewer than one determined term say nothing about their size.
            let ratio = if known < 1.0 { 1.0 } else { (size / known).sqrt() };
            let wanted = ratio * total;
            let ratio = wanted.clamp(1.0, MOST_DRIFT) / total;
            if step == STEPS || (ratio - 1.0).abs() < 0.05 {
                let drift_ratio = if wanted > 1.0 { wanted } else { 1.0 };
                return Some(Widened { drift_ratio, inverse, chi_square });
            }
            total *= ratio;
            for prior in self.prior.get_mut(terms.clone())? {
                *prior *= ratio;
            }
            let mut cost = self.cost(theta);
            for _ in 0..3 {
                let before = cost;
                cost = self.improve(theta, cost)?;
                if before - cost < 0.1 {
                    break;
                }
            }
        }
        None
    }

    pub(super) fn index(&self) -> Index {
        Index { joints: self.chain.joints().len(), flexible: self.flexible.len() }
    }

    /// Sum of the delay changes before each joint, in seconds.
    pub(super) fn delay_before(&self, theta: &[f64]) -> Vec<f64> {
        let index = self.index();
        (0..self.chain.joints().len())
            .map(|k| {
                self.flexible
                    .iter()
                    .enumerate()
                    .filter(|(_, section)| **section < k)
                    .map(|(c, _)| theta.get(index.delay(c)).copied().unwrap_or(0.0) * PICO)
                    .sum()
            })
            .collect()
    }

    /// Rotated parts and what lies beyond each joint, its own half included.
    pub(super) fn rotated(&self, theta: &[f64]) -> (Vec<Vec<Complex64>>, Vec<Vec<Complex64>>) {
        let delays = self.delay_before(theta);
        let rotated: Vec<Vec<Complex64>> =
            self.parts.iter().zip(&delays).map(|(part, d)| self.delayed(part, *d)).collect();
        let points = self.omega.len();
        let mut beyond = vec![vec![ZERO; points]; rotated.len()];
        let mut sum = vec![ZERO; points];
        for (k, (slot, part)) in beyond.iter_mut().zip(&rotated).enumerate().rev() {
            let own = own_share(k);
            for ((b, s), p) in slot.iter_mut().zip(&mut sum).zip(part) {
                *b = *s + p * own;
                *s += p;
            }
        }
        (rotated, beyond)
    }

    /// The way to joint k at its present place.
    fn way(&self, k: usize, theta: &[f64], delays: &[f64]) -> Vec<Complex64> {
        let place = theta.get(self.index().place(k)).copied().unwrap_or(0.0) * PICO;
        let delay = delays.get(k).copied().unwrap_or(0.0) + place;
        self.travel.get(k).map_or_else(Vec::new, |travel| self.delayed(travel, delay))
    }

    /// The values after a one-way delay more, in seconds: `e^{−2jωd}` on each.
    fn delayed(&self, values: &[Complex64], delay: f64) -> Vec<Complex64> {
        if delay == 0.0 {
            return values.to_vec();
        }
        match self.grid {
            Some((first, step)) => values
                .iter()
                .zip(turning(-2.0 * delay * first, -2.0 * delay * step))
                .map(|(v, turn)| v * turn)
                .collect(),
            None => values
                .iter()
                .zip(&self.omega)
                .map(|(v, w)| v * Complex64::from_polar(1.0, -2.0 * w * delay))
                .collect(),
        }
    }

    /// `z/(2 + z)` of joint k, as a function of the radian frequency.
    fn reflection(&self, k: usize, theta: &[f64]) -> impl Fn(f64) -> Complex64 + use<> {
        let at = |i: usize| theta.get(i).copied().unwrap_or(0.0);
        let r = at(Index::resistance(k)) * MILLI / self.impedance;
        let l = at(Index::inductance(k)) * PICO / self.impedance;
        move |omega| {
            let (x, a) = (omega * l, r + 2.0);
            let share = (a * a + x * x).recip();
            Complex64::new((r * a + x * x) * share, 2.0 * x * share)
        }
    }

    /// Normal matrix with priors, right-hand side, and χ² of the residual.
    fn equations(&self, theta: &[f64]) -> (DMatrix<f64>, DVector<f64>, f64) {
        let index = self.index();
        let points = self.omega.len();
        let count = index.count();
        let at = |i: usize| theta.get(i).copied().unwrap_or(0.0);
        let delays = self.delay_before(theta);
        let (rotated, beyond) = self.rotated(theta);
        let residual = self.residual(theta, &rotated, &beyond, &delays);
        let mut columns: Vec<Vec<f64>> = vec![Vec::new(); count];
        let scale = 1.0 / self.sigma;
        let mut put = |i: usize, column: &mut dyn Iterator<Item = Complex64>| {
            if let Some(slot) = columns.get_mut(i) {
                slot.reserve(2 * points);
                for v in column {
                    slot.push(v.re * scale);
                    slot.push(v.im * scale);
                }
            }
        };
        for (k, behind) in beyond.iter().enumerate() {
            let way = self.way(k, theta, &delays);
            let half = 1.0 / (2.0 * self.impedance);
            // To first order q = z/2: enough for the direction of a step.
            let shape: Vec<Complex64> = way.iter().zip(behind).map(|(t, b)| (t - b * 2.0) * half).collect();
            put(Index::inductance(k), &mut shape.iter().zip(&self.omega).map(|(s, w)| s * J * (w * PICO)));
            put(Index::resistance(k), &mut shape.iter().map(|s| s * MILLI));
            let reflection = self.reflection(k, theta);
            put(
                index.place(k),
                &mut way.iter().zip(&self.omega).map(|(t, w)| t * reflection(*w) * (J * (-2.0 * w * PICO))),
            );
        }
        for (c, &section) in self.flexible.iter().enumerate() {
            // Everything behind the section turns: the parts of later joints.
            let own = own_share(section);
            if let (Some(behind), Some(part)) = (beyond.get(section), rotated.get(section)) {
                put(
                    index.delay(c),
                    &mut behind
                        .iter()
                        .zip(part)
                        .zip(&self.omega)
                        .map(|((b, p), w)| (b - p * own) * J * (-2.0 * w * PICO)),
                );
            }
        }
        for p in 0..DRIFT_TERMS {
            let power = i32::try_from(p).unwrap_or(0);
            let first = index.drift() + 4 * p;
            let shapes = |u: &f64| MILLI * u.powi(power);
            put(first, &mut self.relative.iter().map(|u| Complex64::new(shapes(u), 0.0)));
            put(first + 1, &mut self.relative.iter().map(|u| J * shapes(u)));
            put(first + 2, &mut self.relative.iter().zip(&self.base).map(|(u, s)| s * shapes(u)));
            put(first + 3, &mut self.relative.iter().zip(&self.base).map(|(u, s)| s * J * shapes(u)));
        }
        let flat: Vec<f64> = residual.iter().flat_map(|v| [v.re * scale, v.im * scale]).collect();
        let mut normal = DMatrix::zeros(count, count);
        let mut right = DVector::zeros(count);
        for (i, a) in columns.iter().enumerate() {
            for (j, b) in columns.iter().enumerate().take(i + 1) {
                let value = dot(a, b);
                for cell in [(i, j), (j, i)] {
                    if let Some(slot) = normal.get_mut(cell) {
                        *slot = value;
                    }
                }
            }
            if let Some(target) = right.get_mut(i) {
                *target = dot(a, &flat);
            }
        }
        for i in 0..count {
            for (j, precision) in self.precision(i) {
                if let Some(slot) = normal.get_mut((i, j)) {
                    *slot += precision;
                }
                if let Some(slot) = right.get_mut(i) {
                    *slot -= precision * at(j);
                }
            }
        }
        (normal, right, dot(&flat, &flat))
    }

    /// One row of the prior's inverse covariance. Places are chained: what is
    /// uncertain is the step from one joint to the next.
    fn precision(&self, i: usize) -> Vec<(usize, f64)> {
        let index = self.index();
        let one = |i: usize| self.prior.get(i).map_or(0.0, |p| 1.0 / (p * p));
        let first = index.place(0);
        let end = first + index.joints;
        if i < first || i >= end {
            return vec![(i, one(i))];
        }
        let mut row = vec![(i, one(i))];
        if i > first {
            row.push((i - 1, -one(i)));
        }
        if i + 1 < end {
            row.push((i, one(i + 1)));
            row.push((i + 1, -one(i + 1)));
        }
        row
    }

    /// What the fit makes small: χ² and the prior.
    fn cost(&self, theta: &[f64]) -> f64 {
        let at = |i: usize| theta.get(i).copied().unwrap_or(0.0);
        let delays = self.delay_before(theta);
        let (rotated, beyond) = self.rotated(theta);
        let residual = self.residual(theta, &rotated, &beyond, &delays);
        let chi: f64 = residual.iter().map(Complex64::norm_sqr).sum::<f64>() / (self.sigma * self.sigma);
        let prior: f64 = (0..theta.len())
            .flat_map(|i| self.precision(i).into_iter().map(move |(j, p)| at(i) * p * at(j)))
            .sum();
        chi + prior
    }

    /// One Gauss–Newton step, halved until the cost falls. Gives the new cost.
    fn improve(&self, theta: &mut [f64], cost: f64) -> Option<f64> {
        let (normal, right, _) = self.equations(theta);
        let step = normal.cholesky()?.solve(&right);
        let mut share = 1.0;
        for _ in 0..4 {
            let trial: Vec<f64> = theta.iter().zip(step.iter()).map(|(t, s)| t + share * s).collect();
            let found = self.cost(&trial);
            if found <= cost {
                theta.copy_from_slice(&trial);
                return Some(found);
            }
            share *= 0.3;
        }
        Some(cost)
    }

    pub(super) fn add_joint(
        &self,
        residual: &mut [Complex64],
        k: usize,
        theta: &[f64],
        delays: &[f64],
        behind: &[Complex64],
        sign: f64,
    ) {
        let at = |i: usize| theta.get(i).copied().unwrap_or(0.0);
        if at(Index::inductance(k)) == 0.0 && at(Index::resistance(k)) == 0.0 {
            return;
        }
        let way = self.way(k, theta, delays);
        let reflection = self.reflection(k, theta);
        for (((slot, t), b), w) in residual.iter_mut().zip(&way).zip(behind).zip(&self.omega) {
            let q = reflection(*w);
            *slot += (t * q + b * (q * q - q * 2.0)) * sign;
        }
    }

    pub(super) fn residual(
        &self,
        theta: &[f64],
        rotated: &[Vec<Complex64>],
        beyond: &[Vec<Complex64>],
        delays: &[f64],
    ) -> Vec<Complex64> {
        let index = self.index();
        let at = |i: usize| theta.get(i).copied().unwrap_or(0.0);
        let mut residual = self.difference.clone();
        for (part, turned) in self.parts.iter().zip(rotated) {
            for ((r, p), t) in residual.iter_mut().zip(part).zip(turned) {
                *r -= t - p;
            }
        }
        for (k, behind) in beyond.iter().enumerate() {
            self.add_joint(&mut residual, k, theta, delays, behind, -1.0);
        }
        let mut drift = Vec::with_capacity(DRIFT_TERMS);
        for p in 0..DRIFT_TERMS {
            let first = index.drift() + 4 * p;
            let e = Complex64::new(at(first), at(first + 1)) * MILLI;
            let t = Complex64::new(at(first + 2), at(first + 3)) * MILLI;
            drift.push((e, t));
        }
        if drift.iter().any(|(e, t)| *e != ZERO || *t != ZERO) {
            for ((slot, u), s) in residual.iter_mut().zip(&self.relative).zip(&self.base) {
                // Horner: the highest power first.
                let sum = drift.iter().rev().fold(ZERO, |sum, (e, t)| sum * *u + (e + t * s));
                *slot -= sum;
            }
        }
        residual
    }
}

/// A dot product in eight lanes, so that the machine adds in parallel.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a8, a_rest) = a.as_chunks::<8>();
    let (b8, b_rest) = b.as_chunks::<8>();
    for (x, y) in a8.iter().zip(b8) {
        for ((sum, p), q) in sums.iter_mut().zip(x).zip(y) {
            *sum += p * q;
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(p, q)| p * q).sum();
    sums.iter().sum::<f64>() + rest
}
