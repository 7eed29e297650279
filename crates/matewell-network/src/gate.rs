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
        // Both responses over time are real, so one complex transform carries
        // the trace in its real and the reflector in its imaginary part.
        let mut data = self.zeros(length);
        let unit = || turning(0.0, -trace.step * gate.centre);
        let taper = turning(0.0, 0.5 / n as f64);
        let at_dc = trace.values.first().map_or(0.0, |v| v.re);
        let (low, high) = data.split_at_mut(n);
        let mut slots = low.iter_mut();
        if let Some(slot) = slots.next() {
            *slot = Complex64::new(at_dc, 1.0);
        }
        let mirrored = slots.zip(high.iter_mut().rev());
        let shapes = trace.values.iter().zip(unit()).zip(taper).skip(1);
        for ((slot, mirror), ((v, r), w)) in mirrored.zip(shapes) {
            let w = 0.5 + 0.5 * w.re;
            *slot = Complex64::new((v.re - r.im) * w, (v.im + r.re) * w);
            *mirror = Complex64::new((v.re + r.im) * w, (r.re - v.im) * w);
        }
        self.inverse(&mut data);
        apply(&mut data, gate, period);
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

fn apply(data: &mut [Complex64], gate: Gate, period: f64) {
    // The padded spectrum still repeats after one period, on a finer grid.
    let length = data.len();
    let time_step = period / length as f64;
    let half = gate.span / 2.0 / time_step;
    let centre = (gate.centre / time_step).rem_euclid(length as f64);
    let weighted =
        |n: usize, value: Complex64| value * (gate.at(n as f64 * time_step, period) / length as f64);
    if 2.0 * half + 4.0 >= length as f64 {
        for (n, value) in data.iter_mut().enumerate() {
            *value = weighted(n, *value);
        }
        return;
    }
    // Most of a response lies outside: only what is kept is weighted. Both ends
    // lie within a few transform lengths of zero.
    let whole = i64::try_from(length).unwrap_or(i64::MAX);
    #[expect(clippy::cast_possible_truncation, reason = "far below 2^53: bounded by the transform's length")]
    let (first, last) = ((centre - half - 1.0).floor() as i64, (centre + half + 1.0).ceil() as i64);
    let kept: Vec<(usize, Complex64)> = (first..=last)
        .filter_map(|n| usize::try_from(n.rem_euclid(whole)).ok())
        .filter_map(|n| Some((n, weighted(n, *data.get(n)?))))
        .collect();
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
