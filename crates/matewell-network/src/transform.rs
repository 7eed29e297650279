//! Reflections over time: low-pass and band-pass transforms, steps, zoom, and
//! what such a picture can and cannot show.

use num_complex::Complex64;
use rustfft::FftPlanner;

use crate::error::NetworkError;
use crate::sweep::uniform_step;
use crate::window::{Mode, Window, gain, half_height_width};

/// Speed of light in vacuum, in metres per second; exact.
///
/// Source: `codata-2022`.
pub const SPEED_OF_LIGHT: f64 = 299_792_458.0;

/// A trace whose first point is at 0 Hz.
#[derive(Debug, Clone, PartialEq)]
pub struct FromDc {
    /// Frequency step, in hertz.
    pub step: f64,
    /// Values at 0, 1, 2 … steps.
    pub values: Vec<Complex64>,
    /// Estimated error of the value at DC; nothing when it was measured.
    pub dc_doubt: Option<f64>,
}

/// Adds the missing point at DC to a harmonic trace, or refuses.
///
/// The real part is an even function of frequency, so an even polynomial
/// through the first four points gives its value at 0. The doubt is the
/// difference to the polynomial through three.
///
/// - `longest_delay`: round-trip time in seconds of the farthest reflection.
///
/// # Errors
///
/// [`NetworkError::DcRefused`] unless the trace starts at 0 or at one step on
/// a uniform grid, the first frequency is at most a tenth of a turn for the
/// farthest reflection, and both polynomials agree to 0.02. Extrapolating
/// magnitude and phase instead gave a reflection of −0.458 where the truth was
/// 0.190 for two reflections and a start at 300 MHz.
pub fn from_dc(
    frequencies: &[f64],
    values: &[Complex64],
    longest_delay: f64,
) -> Result<FromDc, NetworkError> {
    same_length(frequencies, values)?;
    let step = uniform_step(frequencies)?;
    let first = frequencies.first().copied().unwrap_or(f64::NAN);
    let refuse = |reason| Err(NetworkError::DcRefused { first, step, reason });
    if first.abs() <= 1e-6 * step {
        return Ok(FromDc { step, values: values.to_vec(), dc_doubt: None });
    }
    if (first - step).abs() > 1e-6 * step {
        return refuse("the sweep starts neither at 0 nor at one step");
    }
    // NaN must refuse too.
    let short_enough = first * longest_delay <= 0.1;
    if !short_enough {
        return refuse(
            "the farthest reflection turns by more than a tenth of a cycle below the first frequency",
        );
    }
    let &[a, b, c, d, ..] = values else {
        return refuse("fewer than four points");
    };
    // Lagrange weights at 0 of even polynomials through 1, 2, 3 (, 4) steps.
    let four = 1.6 * a.re - 0.8 * b.re + 8.0 / 35.0 * c.re - d.re / 35.0;
    let three = 1.5 * a.re - 0.6 * b.re + 0.1 * c.re;
    let doubt = (four - three).abs();
    if doubt > 0.02 {
        return refuse("the first points do not agree on one value at DC");
    }
    let mut all = Vec::with_capacity(values.len() + 1);
    all.push(Complex64::new(four, 0.0));
    all.extend_from_slice(values);
    Ok(FromDc { step, values: all, dc_doubt: Some(doubt) })
}

/// A response over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Response<T> {
    /// Time of the first value, in seconds.
    pub start: f64,
    /// Time between values, in seconds.
    pub step: f64,
    /// The values.
    pub values: Vec<T>,
}

impl<T> Response<T> {
    /// Time of a value, in seconds.
    pub fn time(&self, index: usize) -> f64 {
        self.start + self.step * index as f64
    }
}

/// Transforms, with the plans they share.
pub struct Fourier {
    planner: FftPlanner<f64>,
    /// Room for the transforms, kept from one to the next.
    scratch: Vec<Complex64>,
    data: Vec<Complex64>,
    /// The window of the last trace: the next one is mostly on the same grid.
    last_window: Option<(Window, usize, Vec<f64>)>,
    /// The chirp of the last low-pass transform.
    last_chirp: Option<HalfChirp>,
    /// The halves of the last real transform.
    pub(crate) last_halves: Option<crate::gate::Halves>,
}

impl Default for Fourier {
    fn default() -> Self {
        Self::new()
    }
}

impl std::fmt::Debug for Fourier {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Fourier").finish_non_exhaustive()
    }
}

impl Fourier {
    /// Transforms with no plans yet.
    pub fn new() -> Self {
        Self {
            planner: FftPlanner::new(),
            scratch: Vec::new(),
            data: Vec::new(),
            last_window: None,
            last_chirp: None,
            last_halves: None,
        }
    }

    pub(crate) fn forward(&mut self, data: &mut [Complex64]) {
        let plan = self.planner.plan_fft_forward(data.len());
        plan.process_with_scratch(data, self.room(plan.get_inplace_scratch_len()));
    }

    pub(crate) fn inverse(&mut self, data: &mut [Complex64]) {
        let plan = self.planner.plan_fft_inverse(data.len());
        plan.process_with_scratch(data, self.room(plan.get_inplace_scratch_len()));
    }

    /// Zeros to transform, in the room of the last ones; see [`Self::keep`].
    pub(crate) fn zeros(&mut self, length: usize) -> Vec<Complex64> {
        let mut data = std::mem::take(&mut self.data);
        data.clear();
        data.resize(length, Complex64::new(0.0, 0.0));
        data
    }

    /// Keeps the room for the next transform.
    pub(crate) fn keep(&mut self, data: Vec<Complex64>) {
        self.data = data;
    }

    fn room(&mut self, least: usize) -> &mut [Complex64] {
        if self.scratch.len() < least {
            self.scratch.resize(least, Complex64::new(0.0, 0.0));
        }
        self.scratch.get_mut(..least).unwrap_or_default()
    }

    /// Low-pass impulse response, in reflection coefficients.
    ///
    /// `y(t_n) = (w₀ Re S₀ + 2 Re Σ w_k S_k e^{j2πkΔf t_n})/(2 Σw − w₀)` at
    /// `2N − 1` times from `−T/2`, `T = 1/Δf`. A single ideal reflection `Γ`
    /// on one of these times reads `Γ`, whatever the window.
    ///
    /// # Errors
    ///
    /// A Kaiser shape out of range, or an empty trace.
    pub fn impulse(&mut self, trace: &FromDc, window: Window) -> Result<Response<f64>, NetworkError> {
        let n = trace.values.len();
        let weights = match self.last_window.take() {
            Some((kept, points, weights)) if kept == window && points == n => weights,
            _ => window.check()?.weights(n, Mode::LowPass),
        };
        let scale = 1.0 / gain(&weights, Mode::LowPass);
        let response = self.low_pass(trace, &weights, scale);
        self.last_window = Some((window, n, weights));
        response
    }

    /// Low-pass step response, in reflection coefficients: the running integral
    /// (trapezoids) of the impulse response of the windowed trace.
    ///
    /// A window does not change the height of a step, so nothing is divided.
    /// A small series inductance `L` shows as a spike of area `L/(2 Z₀)`.
    ///
    /// # Errors
    ///
    /// As [`Self::impulse`].
    pub fn step(&mut self, trace: &FromDc, window: Window) -> Result<Response<f64>, NetworkError> {
        let weights = window.check()?.weights(trace.values.len(), Mode::LowPass);
        let raw = self.low_pass(trace, &weights, 1.0)?;
        let values = raw
            .values
            .iter()
            .scan((0.0, None), |(sum, before), v| {
                *sum += before.map_or(0.0, |b: f64| 0.5 * (b + v));
                *before = Some(*v);
                Some(*sum)
            })
            .collect();
        Ok(Response { values, ..raw })
    }

    fn low_pass(
        &mut self,
        trace: &FromDc,
        weights: &[f64],
        scale: f64,
    ) -> Result<Response<f64>, NetworkError> {
        let n = trace.values.len();
        if n < 2 {
            return Err(NetworkError::WrongCount { what: "points", expected: 2, found: n });
        }
        let total = 2 * n - 1;
        let scale = scale / total as f64;
        let step = 1.0 / (total as f64 * trace.step);
        let start = -((n - 1) as f64) * step;
        if total > 1000 && !quick(total) {
            let values = self.low_pass_by_chirp(trace, weights, scale);
            return Ok(Response { start, step, values });
        }
        let mut data = self.zeros(0);
        let weighted = trace.values.iter().zip(weights).map(|(v, w)| v * (w * scale));
        data.extend(weighted.clone());
        if let Some(at_dc) = data.first_mut() {
            at_dc.im = 0.0;
        }
        data.extend(weighted.skip(1).rev().map(|v| v.conj()));
        self.inverse(&mut data);
        // Negative times come first.
        let (positive, negative) = data.split_at(n);
        let values = negative.iter().chain(positive).map(|v| v.re).collect();
        self.keep(data);
        Ok(Response { start, step, values })
    }

    /// The same sum where `2N − 1` has large factors, from the half of the
    /// spectrum that is given: see [`HalfChirp`].
    fn low_pass_by_chirp(&mut self, trace: &FromDc, weights: &[f64], scale: f64) -> Vec<f64> {
        let n = trace.values.len();
        let kept = self.last_chirp.take().filter(|kept| kept.chirp.len() == n);
        let half = kept.unwrap_or_else(|| HalfChirp::new(self, n));
        let mut data = self.zeros(half.spectrum.len());
        let twice = 2.0 * scale;
        let inputs = trace.values.iter().zip(weights).zip(&half.chirp);
        for (slot, ((v, w), c)) in data.iter_mut().zip(inputs) {
            *slot = v * c * (w * twice);
        }
        if let (Some(slot), Some(v), Some(w)) = (data.first_mut(), trace.values.first(), weights.first()) {
            *slot = Complex64::new(v.re * w * scale, 0.0);
        }
        self.forward(&mut data);
        for (slot, kernel) in data.iter_mut().zip(&half.spectrum) {
            *slot *= kernel;
        }
        self.inverse(&mut data);
        let around = half.chirp.iter().skip(1).rev().chain(&half.chirp);
        let values = data.iter().zip(around).map(|(a, c)| a.re * c.re - a.im * c.im).collect();
        self.keep(data);
        self.last_chirp = Some(half);
        values
    }

    /// Band-pass response: read its magnitude. Needs no DC.
    ///
    /// `y(t_n) = Σ w_k S_k e^{j2πkΔf t_n}/Σw` at `N` times from `−T/2`; the
    /// factor `e^{j2πf₁t}` of the first frequency is left out.
    ///
    /// # Errors
    ///
    /// A grid that is not uniform, or a Kaiser shape out of range.
    pub fn band_pass(
        &mut self,
        frequencies: &[f64],
        values: &[Complex64],
        window: Window,
    ) -> Result<Response<Complex64>, NetworkError> {
        same_length(frequencies, values)?;
        let step = uniform_step(frequencies)?;
        let weights = window.check()?.weights(values.len(), Mode::BandPass);
        let scale = 1.0 / weights.iter().sum::<f64>();
        let mut data: Vec<Complex64> = values.iter().zip(&weights).map(|(v, w)| v * (w * scale)).collect();
        self.inverse(&mut data);
        let n = data.len();
        data.rotate_right(n / 2);
        let time_step = 1.0 / (n as f64 * step);
        Ok(Response { start: -((n / 2) as f64) * time_step, step: time_step, values: data })
    }

    /// A part of the response on a grid as fine as asked for (chirp-z
    /// transform, Bluestein's algorithm).
    ///
    /// Low-pass values are real reflection coefficients (imaginary part 0);
    /// band-pass values carry their phase. In low-pass mode `frequencies` must
    /// start at 0.
    ///
    /// # Errors
    ///
    /// A grid that is not uniform, times that are not finite, more than 2²⁰
    /// times, or a low-pass trace that does not start at DC.
    pub fn zoom(
        &mut self,
        frequencies: &[f64],
        values: &[Complex64],
        window: Window,
        mode: Mode,
        times: Zoom,
    ) -> Result<Response<Complex64>, NetworkError> {
        same_length(frequencies, values)?;
        let step = uniform_step(frequencies)?;
        let first = frequencies.first().copied().unwrap_or(f64::NAN);
        if mode == Mode::LowPass && first.abs() > 1e-6 * step {
            return Err(NetworkError::DcRefused { first, step, reason: "low-pass zoom starts at 0" });
        }
        for (what, found) in [("start time", times.start), ("time step", times.step)] {
            if !found.is_finite() {
                return Err(NetworkError::NotFinite { what, found, index: 0 });
            }
        }
        if times.count == 0 || times.count > 1 << 20 {
            return Err(NetworkError::WrongCount { what: "times", expected: 1 << 20, found: times.count });
        }
        let weights = window.check()?.weights(values.len(), mode);
        let sum: f64 = weights.iter().sum();
        let weighted: Vec<Complex64> = values.iter().zip(&weights).map(|(v, w)| v * w).collect();
        let sums = self.chirp(&weighted, step, times);
        let at_dc = weighted.first().map_or(0.0, |v| v.re);
        let first_weight = weights.first().copied().unwrap_or(0.0);
        let values = sums
            .into_iter()
            .map(|z| match mode {
                Mode::LowPass => Complex64::new((2.0 * z.re - at_dc) / (2.0 * sum - first_weight), 0.0),
                Mode::BandPass => z / sum,
            })
            .collect();
        Ok(Response { start: times.start, step: times.step, values })
    }

    /// `X_m = Σ_k x_k e^{j2πkΔf(t₀ + mδ)}` by writing `km` as
    /// `(k² + m² − (m−k)²)/2`.
    fn chirp(&mut self, x: &[Complex64], step: f64, times: Zoom) -> Vec<Complex64> {
        let n = x.len();
        let m = times.count;
        let length = smooth_length(n + m - 1);
        // The square is reduced by whole turns first: k² grows beyond what a
        // cosine can take at full precision.
        let turn = step * times.step;
        let chirp = |k: usize| {
            let k = k as f64;
            Complex64::from_polar(1.0, std::f64::consts::PI * (turn * k * k).rem_euclid(2.0))
        };
        let start = |k: usize| {
            Complex64::from_polar(
                1.0,
                std::f64::consts::TAU * (step * times.start * k as f64).rem_euclid(1.0),
            )
        };
        let zero = Complex64::new(0.0, 0.0);
        let mut a = vec![zero; length];
        for (k, value) in x.iter().enumerate() {
            set(&mut a, k, value * start(k) * chirp(k));
        }
        let mut b = vec![zero; length];
        for k in 0..n.max(m) {
            let c = chirp(k).conj();
            if k < m {
                set(&mut b, k, c);
            }
            if k < n && k > 0 {
                set(&mut b, length - k, c);
            }
        }
        self.forward(&mut a);
        self.forward(&mut b);
        for (p, q) in a.iter_mut().zip(&b) {
            *p *= q;
        }
        self.inverse(&mut a);
        a.iter().take(m).enumerate().map(|(k, v)| v * chirp(k) / length as f64).collect()
    }
}

/// What turns the sum `Re Σ_k X_k e^{j2πkt/(2N−1)}` over the `N` values of one
/// half of a spectrum, at all `2N − 1` times, into one product of transforms of
/// a quick length: `kt = (k² + t² − (t−k)²)/2` (Bluestein's algorithm). A
/// general transform of that length would also carry the mirrored half.
struct HalfChirp {
    /// `e^{jπk²/(2N−1)}`.
    chirp: Vec<Complex64>,
    /// Transform of its conjugate from `k = −2(N−1)` to `N−1`, over the length.
    spectrum: Vec<Complex64>,
}

impl HalfChirp {
    fn new(fourier: &mut Fourier, points: usize) -> Self {
        let total = 2 * points - 1;
        // The square is reduced by whole turns as an integer, so it stays exact.
        let chirp = |k: usize| {
            let turns = (k as u128 * k as u128 % (2 * total as u128)) as f64 / total as f64;
            Complex64::from_polar(1.0, std::f64::consts::PI * turns)
        };
        // At these lengths 27 and 64 as factors are quicker than many twos
        // (31 104 points in 97 µs, 30 720 in 149 µs).
        let length = smooth_multiple(total + points - 1, 27 * 64);
        let scale = 1.0 / length as f64;
        let mut spectrum = vec![Complex64::new(0.0, 0.0); length];
        // Output t + N − 1 takes input k with the chirp at t − k.
        for j in 0..total {
            set(&mut spectrum, j, chirp(j.abs_diff(points - 1)).conj() * scale);
        }
        for j in 1..points {
            set(&mut spectrum, length - j, chirp(j + points - 1).conj() * scale);
        }
        fourier.forward(&mut spectrum);
        Self { chirp: (0..points).map(chirp).collect(), spectrum }
    }
}

/// Whether a length has small factors only.
fn quick(mut length: usize) -> bool {
    for factor in [2, 3, 5, 7, 11, 13] {
        while length.is_multiple_of(factor) {
            length /= factor;
        }
    }
    length == 1
}

/// The times of a zoom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zoom {
    /// First time, in seconds.
    pub start: f64,
    /// Time between values, in seconds.
    pub step: f64,
    /// Number of values.
    pub count: usize,
}

/// How far and how fine a time-domain picture of reflections sees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Round-trip time after which the picture repeats, in seconds.
    pub alias_free_time: f64,
    /// One-way distance after which it repeats, in metres.
    pub alias_free_distance: f64,
    /// Half-height width of a reflection, round trip, in seconds.
    pub width: f64,
    /// One-way distance below which two reflections merge, in metres.
    pub resolution: f64,
}

/// Range `v/(2Δf)` and resolution `v·width/2` of reflections.
///
/// - `velocity_factor`: speed in the line over that in vacuum, 0 to 1.
///
/// # Errors
///
/// A grid that is not uniform, a velocity factor outside 0 to 1, a Kaiser shape
/// out of range.
pub fn reach(
    frequencies: &[f64],
    window: Window,
    mode: Mode,
    velocity_factor: f64,
) -> Result<Reach, NetworkError> {
    let step = uniform_step(frequencies)?;
    if !(velocity_factor > 0.0 && velocity_factor <= 1.0) {
        return Err(NetworkError::OutOfRange {
            what: "velocity factor",
            expected: "above 0, at most 1",
            found: velocity_factor,
        });
    }
    let last = frequencies.last().copied().unwrap_or(f64::NAN);
    let span = match mode {
        Mode::LowPass => last,
        Mode::BandPass => last - frequencies.first().copied().unwrap_or(f64::NAN),
    };
    let velocity = velocity_factor * SPEED_OF_LIGHT;
    let width = half_height_width(window, mode)? / span;
    Ok(Reach {
        alias_free_time: 1.0 / step,
        alias_free_distance: velocity / (2.0 * step),
        width,
        resolution: velocity * width / 2.0,
    })
}

/// The next length with only factors 2, 3 and 5, many of them twos: quick to
/// transform (20 480 points in 65 µs, 20 250 in 73 µs, 20 001 in 274 µs).
pub(crate) fn smooth_length(least: usize) -> usize {
    smooth_multiple(least, if least > 1024 { 64 } else { 1 })
}

/// The next multiple with only factors 2, 3 and 5.
fn smooth_multiple(least: usize, of: usize) -> usize {
    let smooth = |mut n: usize| {
        for factor in [2, 3, 5] {
            while n.is_multiple_of(factor) {
                n /= factor;
            }
        }
        n == 1
    };
    // The multiple by a power of two is smooth, so the search ends.
    let first = least.div_ceil(of);
    (first..=first.next_power_of_two()).map(|n| n * of).find(|&n| smooth(n)).unwrap_or(least)
}

pub(crate) fn same_length(frequencies: &[f64], values: &[Complex64]) -> Result<(), NetworkError> {
    if frequencies.len() == values.len() {
        Ok(())
    } else {
        Err(NetworkError::WrongCount { what: "values", expected: frequencies.len(), found: values.len() })
    }
}

pub(crate) fn set(data: &mut [Complex64], index: usize, value: Complex64) {
    if let Some(slot) = data.get_mut(index) {
        *slot = value;
    }
}
