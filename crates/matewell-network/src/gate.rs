//! A gate over time that keeps its promise right to the band edges.

use num_complex::Complex64;

use crate::error::NetworkError;
use crate::sweep::uniform_step;
use crate::transform::{Fourier, FromDc, same_length, set, smooth_length};
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
        let i = Complex64::new(0.0, 1.0);
        // Both responses over time are real, so one complex transform carries
        // the trace in its real and the reflector in its imaginary part.
        let mut data = vec![Complex64::new(0.0, 0.0); length];
        let taper = Reflector::new(0.5 / n as f64).map(|c| 0.5 + 0.5 * c.re);
        let unit = Reflector::new(trace.step * gate.centre);
        for (k, ((value, r), w)) in trace.values.iter().zip(unit).zip(taper).enumerate() {
            if k == 0 {
                set(&mut data, 0, Complex64::new(value.re, 1.0) * w);
            } else {
                set(&mut data, k, (value + i * r) * w);
                set(&mut data, length - k, (value.conj() + i * r.conj()) * w);
            }
        }
        self.inverse(&mut data);
        apply(&mut data, gate, period);
        self.forward(&mut data);
        let at = |k: usize| data.get(k).copied().unwrap_or_default();
        let gated = Reflector::new(trace.step * gate.centre)
            .take(n)
            .enumerate()
            .map(|(k, r)| {
                let (here, there) = (at(k), at((length - k) % length).conj());
                let trace = (here + there) * 0.5;
                let reflector = (here - there) * 0.5 / i;
                trace / reflector * r
            })
            .collect();
        finite(gated)
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
        for (k, (value, r)) in values.iter().zip(Reflector::new(step * gate.centre)).enumerate() {
            let w = (std::f64::consts::PI * (k as f64 + 0.5) / n as f64).sin().powi(2);
            set(&mut data, k, value * w);
            set(&mut unit, k, r * w);
        }
        for side in [&mut data, &mut unit] {
            self.inverse(side);
            apply(side, gate, 1.0 / step);
            self.forward(side);
        }
        let gated = data
            .iter()
            .zip(&unit)
            .zip(Reflector::new(step * gate.centre))
            .take(n)
            .map(|((d, u), r)| d / u * r)
            .collect();
        finite(gated)
    }
}

fn apply(data: &mut [Complex64], gate: Gate, period: f64) {
    // The padded spectrum still repeats after one period, on a finer grid.
    let length = data.len();
    let time_step = period / length as f64;
    let half = gate.span / 2.0 / time_step;
    let centre = (gate.centre / time_step).rem_euclid(length as f64);
    for (n, value) in data.iter_mut().enumerate() {
        let away = (n as f64 - centre).abs();
        let outside = away > half + 1.0 && away < length as f64 - half - 1.0;
        let weight = if outside { 0.0 } else { gate.at(n as f64 * time_step, period) };
        *value *= weight / length as f64;
    }
}

/// `e^{−j2πk·turn}` for k = 0, 1, 2 …, restarted from an exact value every 64
/// steps so that rounding does not add up.
struct Reflector {
    turn: f64,
    factor: Complex64,
    value: Complex64,
    index: usize,
}

impl Reflector {
    fn new(turn: f64) -> Self {
        Self { turn, factor: unit(-turn), value: Complex64::new(1.0, 0.0), index: 0 }
    }
}

impl Iterator for Reflector {
    type Item = Complex64;

    fn next(&mut self) -> Option<Complex64> {
        if self.index.is_multiple_of(64) {
            self.value = unit(-self.turn * self.index as f64);
        }
        let value = self.value;
        self.value *= self.factor;
        self.index += 1;
        Some(value)
    }
}

fn unit(turns: f64) -> Complex64 {
    Complex64::from_polar(1.0, std::f64::consts::TAU * turns.rem_euclid(1.0))
}

fn finite(values: Vec<Complex64>) -> Result<Vec<Complex64>, NetworkError> {
    for (index, v) in values.iter().enumerate() {
        if !v.re.is_finite() || !v.im.is_finite() {
            return Err(NetworkError::NotFinite { what: "gated trace", found: v.re, index });
        }
    }
    Ok(values)
}
