//! Windows over frequency: what they cost in width and save in side lobes.

use crate::error::NetworkError;
use crate::turning::turning;

/// A window. The choice trades width for side lobes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Window {
    /// All ones: narrowest, side lobes of −13 dB.
    Rectangular,
    /// `0.54 + 0.46 cos`: side lobes near −43 dB.
    Hamming,
    /// Kaiser with `β`; 6 gives about −44 dB, 13 about −98 dB (from memory).
    Kaiser(
        /// Shape `β`, 0 to 30.
        f64,
    ),
}

/// Where a trace stands: from DC up, or in a band of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// The trace starts at 0 Hz; its mirror image completes it and the response
    /// is real and has a sign.
    LowPass,
    /// Any uniform band; the response is complex and its magnitude is read.
    BandPass,
}

impl Window {
    /// Refuses a shape outside the range in which the series below is good.
    pub(crate) fn check(self) -> Result<Self, NetworkError> {
        match self {
            Self::Kaiser(beta) if !(0.0..=30.0).contains(&beta) => {
                Err(NetworkError::OutOfRange { what: "Kaiser shape", expected: "0 to 30", found: beta })
            }
            _ => Ok(self),
        }
    }

    /// The window at `u`, from −1 (one edge) over 0 (centre) to 1.
    pub fn at(self, u: f64) -> f64 {
        match self {
            Self::Rectangular => 1.0,
            Self::Hamming => 0.54 + 0.46 * (std::f64::consts::PI * u).cos(),
            Self::Kaiser(beta) => {
                let inside = 1.0 - u * u;
                if inside <= 0.0 {
                    1.0 / bessel_i0(beta)
                } else {
                    bessel_i0(beta * inside.sqrt()) / bessel_i0(beta)
                }
            }
        }
    }

    /// Weights over the points of a trace.
    ///
    /// Low-pass: the upper half of a window centred on DC, `u = k/N`.
    /// Band-pass: the whole window, `u = 2k/N − 1`. Both are the periodic form
    /// (edge reached one step beyond the last point or before the first).
    pub fn weights(self, points: usize, mode: Mode) -> Vec<f64> {
        let n = points as f64;
        match self {
            Self::Rectangular => vec![1.0; points],
            Self::Hamming => {
                let (start, turn) = match mode {
                    Mode::LowPass => (0.0, 0.5 / n),
                    Mode::BandPass => (-0.5, 1.0 / n),
                };
                turning(start, turn).take(points).map(|c| 0.54 + 0.46 * c.re).collect()
            }
            Self::Kaiser(_) => (0..points)
                .map(|k| match mode {
                    Mode::LowPass => self.at(k as f64 / n),
                    Mode::BandPass => self.at(2.0 * k as f64 / n - 1.0),
                })
                .collect(),
        }
    }
}

/// What a window takes from the height of a single reflection.
///
/// Low-pass `G = (2 Σw − w₀)/(2N − 1)`, band-pass `G = Σw/N`. Divide a
/// transform by it to read reflection coefficients.
pub fn gain(weights: &[f64], mode: Mode) -> f64 {
    let sum: f64 = weights.iter().sum();
    let n = weights.len() as f64;
    match mode {
        Mode::LowPass => (2.0 * sum - weights.first().copied().unwrap_or(0.0)) / (2.0 * n - 1.0),
        Mode::BandPass => sum / n,
    }
}

/// Width at half height of a single reflection, in units of `1/F`, where `F` is
/// the highest frequency (low-pass) or the span (band-pass).
///
/// Found by bisection on the transform of 401 window weights.
///
/// # Errors
///
/// A Kaiser shape out of range.
pub fn half_height_width(window: Window, mode: Mode) -> Result<f64, NetworkError> {
    const POINTS: usize = 401;
    let weights = window.check()?.weights(POINTS, mode);
    let total = gain(&weights, mode);
    let height = |t: f64| -> f64 {
        // t in units of 1/F with F = N Δf.
        let angle = std::f64::consts::TAU * t / POINTS as f64;
        let (mut re, mut im) = (0.0, 0.0);
        for (k, w) in weights.iter().enumerate() {
            re += w * (angle * k as f64).cos();
            im += w * (angle * k as f64).sin();
        }
        let n = POINTS as f64;
        match mode {
            Mode::LowPass => (2.0 * re - weights.first().copied().unwrap_or(0.0)) / (2.0 * n - 1.0) / total,
            Mode::BandPass => re.hypot(im) / n / total,
        }
    };
    let (mut low, mut high) = (0.0, 2.5);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if height(middle) > 0.5 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(low + high)
}

/// Modified Bessel function of the first kind, order 0: `Σ (x²/4)^k/(k!)²`.
/// All terms are positive, so nothing cancels.
fn bessel_i0(x: f64) -> f64 {
    let quarter = 0.25 * x * x;
    let (mut sum, mut term, mut k) = (1.0, 1.0, 1.0);
    while term > 1e-17 * sum {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kaiser_shape_out_of_range_is_refused() {
        assert!(Window::Kaiser(f64::NAN).check().is_err());
        assert!(Window::Kaiser(-1.0).check().is_err());
        assert!(Window::Kaiser(31.0).check().is_err());
        assert!(half_height_width(Window::Kaiser(99.0), Mode::LowPass).is_err());
    }

    #[test]
    fn the_centre_weighs_one() {
        for window in [Window::Rectangular, Window::Hamming, Window::Kaiser(6.0)] {
            assert!((window.at(0.0) - 1.0).abs() < 1e-15);
            assert!((window.at(0.3) - window.at(-0.3)).abs() < 1e-15);
        }
    }
}
