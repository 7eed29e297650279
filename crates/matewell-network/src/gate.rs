//! A gate over time that keeps its promise right to the band edges.

use num_complex::Complex64;

use crate::error::NetworkError;
use crate::sweep::uniform_step;
use crate::transform::{Fourier, FromDc, same_length, smooth_length};
use crate::turning::turning;
use crate::window::Window;

/// Which part of the response a gate keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    /// Centre, round trip, in seconds.
    pub centre: f64,
    /// Full width, in seconds.
    pub span: f64,
    /// Shape over time.
    pub shape: Window,
}

impl Gate {
    /// The usual gate: Kaiser 6 over time.
    pub fn new(centre: f64, span: f64) -> Self {
        Self { centre, span, shape: Window::Kaiser(6.0) }
    }

    fn check(self, step: f64) -> Result<Self, NetworkError> {
        self.shape.check()?;
        if !self.centre.is_finite() {
            return Err(NetworkError::NotFinite { what: "gate centre", found: self.centre, index: 0 });
        }
        if !(self.span > 0.0 && self.span * step <= 1.0) {
            return Err(NetworkError::OutOfRange {
                what: "gate span",
                expected: "above 0 and within the alias-free time",
                found: self.span,
            });
        }
        Ok(self)
    }

    fn at(self, time: f64, period: f64) -> f64 {
        let from_centre = time - self.centre;
        let nearest = from_centre - period * (from_centre / period).round();
        let u = 2.0 * nearest / self.span;
        if u.abs() > 1.0 { 0.0 } else { self.shape.at(u) }
    }
}

impl Fourier {
    /// Keeps the reflections inside the gate (low-pass: the trace starts at
    /// DC).
    ///
    /// The trace is tapered (Hann) so that what lies outside the gate does not
    /// leak into it, and the taper and the gate's own cut-off bend the outer
    /// parts of the band. A unit reflector at the gate's centre is bent alike,
    /// so the gated trace is divided by what the gate makes of that reflector.
    /// A reflector at the centre comes out exactly at every frequency; one off
    /// the centre keeps a phase error within about `1/span` of the band edges.
    ///
    /// # Errors
    ///
    /// A span of zero or beyond the alias-free time, values that are not
    /// finite.
    pub fn gate_low_pass(&mut self, trace: &FromDc, gate: Gate) -> Result<Vec<Complex64>, NetworkError> {
        let gate = gate.check(trace.step)?;
        let n = trace.values.len();
        let length = smooth_length(2 * n - 1);
        let period = 1.0 / trace.step;
        let unit = || turning(0.0, -trace.step * gate.centre);
        let mut data = match kept(gate, period, length) {
            Some(kept) if length.is_multiple_of(2) && 32 * kept.len() <= length => {
                self.narrow(trace, gate, length, &kept)
            }
            _ => self.wide(trace, gate, length),
        };
        self.forward(&mut data);
        let divided = |here: &Complex64, there: &Complex64, r: Complex64| {
            let there = there.conj();
            // Twice the trace, and twice the reflector: (here − there)/j.
            let (trace, both) = (here + there, here - there);
            let reflector = Complex64::new(both.im, -both.re);
            trace * reflector.conj() * r * reflector.norm_sqr().recip()
        };
        let mut gated = Vec::with_capacity(n);
        let mut reflector = unit();
        if let Some((first, rest)) = data.split_first() {
            // The mirror of the first value is the value itself.
            gated.extend(reflector.next().map(|r| divided(first, first, r)));
            let pairs = rest.iter().zip(rest.iter().rev()).take(n - 1);
            gated.extend(pairs.zip(reflector).map(|((here, there), r)| divided(here, there, r)));
        }
        self.keep(data);
        finite(gated)
    }

    /// Trace (real part) and reflector (imaginary part) over time, gated: both
    /// responses are real, so one complex transform carries them.
    fn wide(&mut self, trace: &FromDc, gate: Gate, length: usize) -> Vec<Complex64> {
        let n = trace.values.len();
        let mut data = self.zeros(length);
        let taper = turning(0.0, 0.5 / n as f64);
        let at_dc = trace.values.first().map_or(0.0, |v| v.re);
        let (low, high) = data.split_at_mut(n);
        let mut slots = low.iter_mut();
        if let Some(slot) = slots.next() {
            *slot = Complex64::new(at_dc, 1.0);
        }
        let mirrored = slots.zip(high.iter_mut().rev());
        let unit = turning(0.0, -trace.step * gate.centre);
        let shapes = trace.values.iter().zip(unit).zip(taper).skip(1);
        for ((slot, mirror), ((v, r), w)) in mirrored.zip(shapes) {
            let w = 0.5 + 0.5 * w.re;
            *slot = Complex64::new((v.re - r.im) * w, (v.im + r.re) * w);
            *mirror = Complex64::new((v.re + r.im) * w, (r.re - v.im) * w);
        }
        self.inverse(&mut data);
        apply(&mut data, gate, 1.0 / trace.step);
        data
    }

    /// The same where little is kept: the trace by a real transform of half the
    /// length, the reflector in closed form at the times that are kept.
    fn narrow(&mut self, trace: &FromDc, gate: Gate, length: usize, kept: &[(usize, f64)]) -> Vec<Complex64> {
        let n = trace.values.len();
        let last = self.last_halves.take().filter(|h| h.taper.len() == n && 2 * h.turns.len() == length);
        let mut halves = last.unwrap_or_else(|| Halves::new(n, length));
        halves.fill(trace);
        let mut half = self.zeros(length / 2);
        let (Halves { tapered, turns, .. }, zero) = (&halves, Complex64::new(0.0, 0.0));
        let pairs = tapered.iter().zip(tapered.iter().skip(1).rev());
        for ((slot, turn), (here, there)) in half.iter_mut().zip(turns).zip(pairs) {
            // Even samples in the real, odd ones in the imaginary part.
            let there = there.conj();
            let odd = (here - there) * turn;
            *slot = here + there + Complex64::new(-odd.im, odd.re);
        }
        self.inverse(&mut half);
        let centre = gate.centre * trace.step;
        let values: Vec<(usize, Complex64)> = kept
            .iter()
            .filter_map(|&(t, weight)| {
                let pair = half.get(t / 2)?;
                let value = if t % 2 == 0 { pair.re } else { pair.im };
                // Signed, and one rounding: a phase of the last frequency is
                // tens of thousands of times as large.
                let signed = if 2 * t > length { -((length - t) as f64) } else { t as f64 };
                let turns = (-centre).mul_add(length as f64, signed) / length as f64;
                let reflector = reflector_at(n, turns);
                Some((t, Complex64::new(value, reflector) * weight))
            })
            .collect();
        self.last_halves = Some(halves);
        half.clear();
        half.resize(length, zero);
        for (t, value) in values {
            if let Some(slot) = half.get_mut(t) {
                *slot = value;
            }
        }
        half
    }

    /// Keeps the reflections inside the gate (band-pass: any uniform band).
    ///
    /// As [`Self::gate_low_pass`], without the mirrored half.
    ///
    /// # Errors
    ///
    /// A grid that is not uniform; as [`Self::gate_low_pass`].
    pub fn gate_band_pass(
        &mut self,
        frequencies: &[f64],
        values: &[Complex64],
        gate: Gate,
    ) -> Result<Vec<Complex64>, NetworkError> {
        same_length(frequencies, values)?;
        let step = uniform_step(frequencies)?;
        let gate = gate.check(step)?;
        let n = values.len();
        let length = smooth_length(2 * n - 1);
        let zero = Complex64::new(0.0, 0.0);
        let mut data = vec![zero; length];
        let mut unit = vec![zero; length];
        let reflector = turning(0.0, -step * gate.centre);
        // sin²(π(k + ½)/n) = ½ − ½ cos 2π(k + ½)/n.
        let taper = turning(0.5 / n as f64, 1.0 / n as f64);
        let slots = data.iter_mut().zip(&mut unit);
        for (((d, u), (value, r)), w) in slots.zip(values.iter().zip(reflector.clone())).zip(taper) {
            let w = 0.5 - 0.5 * w.re;
            *d = value * w;
            *u = r * w;
        }
        for side in [&mut data, &mut unit] {
            self.inverse(side);
            apply(side, gate, 1.0 / step);
            self.forward(side);
        }
        let gated = data.iter().zip(&unit).zip(reflector).take(n).map(|((d, u), r)| d / u * r).collect();
        finite(gated)
    }
}

/// What a real transform of half the length needs again and again.
pub(crate) struct Halves {
    taper: Vec<f64>,
    /// `e^{j2πk/length}`, half the length of them.
    turns: Vec<Complex64>,
    /// The tapered trace and zeros, half the length and one.
    tapered: Vec<Complex64>,
}

impl Halves {
    fn new(points: usize, length: usize) -> Self {
        let taper = turning(0.0, 0.5 / points as f64).take(points).map(|w| 0.5 + 0.5 * w.re).collect();
        let turns = turning(0.0, 1.0 / length as f64).take(length / 2).collect();
        Self { taper, turns, tapered: vec![Complex64::new(0.0, 0.0); length / 2 + 1] }
    }

    fn fill(&mut self, trace: &FromDc) {
        for ((slot, v), w) in self.tapered.iter_mut().zip(&trace.values).zip(&self.taper) {
            *slot = v * w;
        }
        if let (Some(slot), Some(v)) = (self.tapered.first_mut(), trace.values.first()) {
            *slot = Complex64::new(v.re, 0.0);
        }
    }
}

/// The tapered unit reflector over time, `turns` of the period from its centre:
/// `½D(φ) + ¼D(φ + 1/2N) + ¼D(φ − 1/2N)`, `D(φ) = sin(π(2N−1)φ)/sin(πφ)`.
fn reflector_at(points: usize, turns: f64) -> f64 {
    let total = (2 * points - 1) as f64;
    let near = turns - turns.round();
    let sum = |phi: f64| {
        let below = (std::f64::consts::PI * phi).sin();
        if below == 0.0 { total } else { (std::f64::consts::PI * total * phi).sin() / below }
    };
    let off = 0.5 / points as f64;
    0.5 * sum(near) + 0.25 * (sum(near + off) + sum(near - off))
}

/// Places and weights of what a gate keeps, the transform's length divided out;
/// nothing when it keeps all.
fn kept(gate: Gate, period: f64, length: usize) -> Option<Vec<(usize, f64)>> {
    // The padded spectrum still repeats after one period, on a finer grid.
    let time_step = period / length as f64;
    let half = gate.span / 2.0 / time_step;
    let centre = (gate.centre / time_step).rem_euclid(length as f64);
    if 2.0 * half + 4.0 >= length as f64 {
        return None;
    }
    // Both ends lie within a few transform lengths of zero.
    let whole = i64::try_from(length).unwrap_or(i64::MAX);
    #[expect(clippy::cast_possible_truncation, reason = "far below 2^53: bounded by the transform's length")]
    let (first, last) = ((centre - half - 1.0).floor() as i64, (centre + half + 1.0).ceil() as i64);
    let places = (first..=last).filter_map(|n| usize::try_from(n.rem_euclid(whole)).ok());
    Some(places.map(|n| (n, gate.at(n as f64 * time_step, period) / length as f64)).collect())
}

fn apply(data: &mut [Complex64], gate: Gate, period: f64) {
    let length = data.len();
    let Some(kept) = kept(gate, period, length) else {
        let time_step = period / length as f64;
        for (n, value) in data.iter_mut().enumerate() {
            *value *= gate.at(n as f64 * time_step, period) / length as f64;
        }
        return;
    };
    let kept: Vec<(usize, Complex64)> =
        kept.iter().filter_map(|&(n, weight)| Some((n, data.get(n)? * weight))).collect();
    data.fill(Complex64::new(0.0, 0.0));
    for (n, value) in kept {
        if let Some(slot) = data.get_mut(n) {
            *slot = value;
        }
    }
}

fn finite(values: Vec<Complex64>) -> Result<Vec<Complex64>, NetworkError> {
    for (index, v) in values.iter().enumerate() {
        if !v.re.is_finite() || !v.im.is_finite() {
            return Err(NetworkError::NotFinite { what: "gated trace", found: v.re, index });
        }
    }
    Ok(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two reflectors off the grid and a little of everything else.
    fn trace(points: usize, step: f64) -> FromDc {
        let wobble = |k: f64| 0.01 * (0.7 * k + (0.013 * k).sin()).sin();
        let values = (0..points)
            .map(|k| {
                let f = step * k as f64;
                let turned = |g: f64, t: f64| Complex64::from_polar(g, -std::f64::consts::TAU * f * t);
                turned(0.05, 2e-9)
                    + turned(0.1, 6.2345e-9)
                    + Complex64::new(wobble(k as f64), -wobble(k as f64 + 9.0))
            })
            .collect();
        FromDc { step, values, dc_doubt: None }
    }

    #[test]
    fn a_narrow_gate_takes_the_short_way_to_the_same_numbers() {
        for (points, step, gate) in [
            (531, 18e6, Gate::new(6.2e-9, 0.9e-9)),
            (531, 18e6, Gate { centre: -3.3e-9, span: 1.5e-9, shape: Window::Rectangular }),
            (10_001, 1e6, Gate::new(6.2e-9, 2e-9)),
            (10_001, 1e6, Gate::new(0.0, 20e-9)),
        ] {
            let trace = trace(points, step);
            let length = smooth_length(2 * points - 1);
            let places = kept(gate, 1.0 / step, length).unwrap();
            assert!(32 * places.len() <= length, "{points}: the short way is not taken");
            let mut fourier = Fourier::new();
            let long = fourier.wide(&trace, gate, length);
            // Twice, so that the tables are used again.
            for _ in 0..2 {
                let short = fourier.narrow(&trace, gate, length, &places);
                for (a, b) in short.iter().zip(&long) {
                    assert!((a - b).norm() < 1e-13, "{points} {gate:?}: {a} {b}");
                }
            }
        }
    }

    /// Transforms written out as sums, nothing packed and nothing left out.
    fn slow_twin(trace: &FromDc, gate: Gate) -> Vec<Complex64> {
        let n = trace.values.len();
        let length = smooth_length(2 * n - 1);
        let turn = |k: usize, t: usize| {
            Complex64::from_polar(1.0, std::f64::consts::TAU * ((k * t) % length) as f64 / length as f64)
        };
        let taper = |k: usize| 0.5 + 0.5 * (std::f64::consts::PI * k as f64 / n as f64).cos();
        let reflector: Vec<Complex64> = (0..n)
            .map(|k| Complex64::from_polar(1.0, -std::f64::consts::TAU * trace.step * gate.centre * k as f64))
            .collect();
        let gated = |values: &[Complex64]| -> Vec<Complex64> {
            let over_time: Vec<f64> = (0..length)
                .map(|t| {
                    let sum: f64 = (1..n).map(|k| 2.0 * taper(k) * (values[k] * turn(k, t)).re).sum();
                    let time = t as f64 / length as f64 / trace.step;
                    (sum + values[0].re) * gate.at(time, 1.0 / trace.step)
                })
                .collect();
            (0..n)
                .map(|k| over_time.iter().enumerate().map(|(t, v)| turn(k, t).conj() * *v).sum::<Complex64>())
                .collect()
        };
        let (trace, unit) = (gated(&trace.values), gated(&reflector));
        trace.iter().zip(&unit).zip(&reflector).map(|((t, u), r)| t / u * r).collect()
    }

    #[test]
    fn a_gate_is_what_the_sums_written_out_say() {
        let trace = trace(531, 18e6);
        let wide = Gate { centre: 7e-9, span: 30e-9, shape: Window::Hamming };
        for gate in [Gate::new(6.2e-9, 0.9e-9), wide] {
            let quick = Fourier::new().gate_low_pass(&trace, gate).unwrap();
            for (k, (a, b)) in quick.iter().zip(slow_twin(&trace, gate)).enumerate() {
                // The taper leaves 1e-5 of the last frequencies to divide by.
                let allowed = if k < 500 { 1e-12 } else { 1e-11 };
                assert!((a - b).norm() < allowed, "{gate:?} {k}: {a} {b}");
            }
        }
    }
}
