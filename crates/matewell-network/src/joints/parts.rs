//! The way to each joint, and what the baseline reflects near each.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::Chain;
use super::model::{PICO, ZERO};
use crate::transform::SPEED_OF_LIGHT;

/// How far from a joint its bead may lie, round trip, in seconds.
const BEAD_REACH: f64 = 40e-12;
/// The same for the load behind the last joint.
const LOAD_REACH: f64 = 40e-12;

/// Share of a joint's own reflections that lies behind it.
pub(super) fn own_share(k: usize) -> f64 {
    if k == 0 { 1.0 } else { 0.5 }
}

/// Standard uncertainty of the step from one joint's place to the next, in
/// picoseconds. A place known exactly still needs one the solver can hold.
pub(super) fn place_step(chain: &Chain, k: usize) -> f64 {
    let section = k.checked_sub(1).and_then(|c| chain.sections().get(c));
    1e-3 + section.map_or(0.0, |s| s.length_uncertainty / (s.velocity_factor * SPEED_OF_LIGHT) / PICO)
}

/// Two-way transmission to each joint, from lengths and losses.
pub(super) fn travel(chain: &Chain, frequencies: &[f64], omega: &[f64]) -> Vec<Vec<Complex64>> {
    // Decibels to nepers: 20/ln 10.
    const DECIBEL_PER_NEPER: f64 = 8.685_889_638_065_037;
    let (mut delay, mut loss) = (0.0, 0.0);
    let mut all = Vec::new();
    for k in 0..chain.joints().len() {
        if let Some(section) = k.checked_sub(1).and_then(|c| chain.sections().get(c)) {
            delay += section.length / (section.velocity_factor * SPEED_OF_LIGHT);
            loss += section.length * section.loss_at_1_ghz / DECIBEL_PER_NEPER;
        }
        all.push(
            frequencies
                .iter()
                .zip(omega)
                .map(|(f, w)| {
                    Complex64::from_polar((-2.0 * loss * (f * 1e-9).sqrt()).exp(), -2.0 * w * delay)
                })
                .collect(),
        );
    }
    all
}

/// Legendre orders for a reflection within a round-trip delay of a joint, given
/// as highest frequency times delay: `e^{jπxy}` on −1 to 1 needs about `πy`, and
/// three more to settle.
fn orders(turns: f64) -> usize {
    3 + (0..29_u8).take_while(|n| f64::from(*n) < std::f64::consts::PI * turns).count()
}

/// What the baseline reflects near each joint: `T_k² Σ a_kp P_p(x)`, Legendre
/// polynomials of as many orders as beads within reach of the joint, and the
/// load behind the last, need.
pub(super) fn baseline_parts(
    chain: &Chain,
    travel: &[Vec<Complex64>],
    relative: &[f64],
    base: &[Complex64],
    highest: f64,
) -> Option<Vec<Vec<Complex64>>> {
    let first = relative.first().copied()?;
    let mut basis: Vec<Vec<Complex64>> = Vec::new();
    let mut owner = Vec::new();
    let mut variance = 0.0;
    for (k, t) in travel.iter().enumerate() {
        variance += place_step(chain, k).powi(2);
        let place = 4.0 * variance.sqrt() * PICO;
        let reach = BEAD_REACH + place + if k + 1 == travel.len() { LOAD_REACH } else { 0.0 };
        let orders = orders(highest * reach);
        owner.extend(std::iter::repeat_n(k, orders));
        let mut columns: Vec<Vec<Complex64>> = vec![Vec::with_capacity(t.len()); orders];
        for (value, u) in t.iter().zip(relative) {
            let x = 2.0 * (u - first) / (1.0 - first) - 1.0;
            let (mut before, mut here) = (0.0, 1.0);
            for (n, column) in columns.iter_mut().enumerate() {
                column.push(value * here);
                let n = n as f64;
                let next = ((2.0 * n + 1.0) * x * here - n * before) / (n + 1.0);
                before = here;
                here = next;
            }
        }
        basis.append(&mut columns);
    }
    let count = basis.len();
    let mut normal = DMatrix::<Complex64>::zeros(count, count);
    let mut right = DVector::<Complex64>::zeros(count);
    for (i, a) in basis.iter().enumerate() {
        for (j, b) in basis.iter().enumerate().take(i + 1) {
            let value: Complex64 = dot_complex(a, b);
            if let Some(slot) = normal.get_mut((i, j)) {
                *slot = value;
            }
            if let Some(slot) = normal.get_mut((j, i)) {
                *slot = value.conj();
            }
        }
        // A little ridge: joints closer than the resolution share their part.
        if let Some(slot) = normal.get_mut((i, i)) {
            *slot += 1e-6 * base.len() as f64;
        }
        if let Some(slot) = right.get_mut(i) {
            *slot = dot_complex(a, base);
        }
    }
    let solution = normal.cholesky()?.solve(&right);
    let mut parts = vec![vec![ZERO; base.len()]; travel.len()];
    for ((i, column), a) in basis.iter().enumerate().zip(solution.iter()) {
        if let Some(part) = owner.get(i).and_then(|k| parts.get_mut(*k)) {
            for (slot, v) in part.iter_mut().zip(column) {
                *slot += v * a;
            }
        }
    }
    Some(parts)
}

/// `Σ conj(a) b`.
fn dot_complex(a: &[Complex64], b: &[Complex64]) -> Complex64 {
    let mut sums = [[0.0; 2]; 4];
    let (a4, a_rest) = a.as_chunks::<4>();
    let (b4, b_rest) = b.as_chunks::<4>();
    for (x, y) in a4.iter().zip(b4) {
        for ((sum, p), q) in sums.iter_mut().zip(x).zip(y) {
            sum[0] += p.re * q.re + p.im * q.im;
            sum[1] += p.re * q.im - p.im * q.re;
        }
    }
    let mut total = ZERO;
    for [re, im] in sums {
        total += Complex64::new(re, im);
    }
    for (p, q) in a_rest.iter().zip(b_rest) {
        total += p.conj() * q;
    }
    total
}
