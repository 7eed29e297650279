//! Phasors on an even grid, without a cosine for each.

use num_complex::Complex64;

/// Values between two exact ones: rounding adds up over one product only.
const BLOCK: usize = 64;

/// `e^{j2π·turns}`.
pub(crate) fn unit(turns: f64) -> Complex64 {
    Complex64::from_polar(1.0, std::f64::consts::TAU * turns.rem_euclid(1.0))
}

/// `e^{j2π(start + k·turn)}` for k = 0, 1, 2 …
///
/// Each value is the product of two exact ones, so that its error stays within
/// a few units of the last place at any length.
#[derive(Debug, Clone)]
pub(crate) struct Turning {
    within: [Complex64; BLOCK],
    base: Complex64,
    start: f64,
    turn: f64,
    index: usize,
}

/// See [`Turning`].
pub(crate) fn turning(start: f64, turn: f64) -> Turning {
    let within = std::array::from_fn(|k| unit(turn * k as f64));
    Turning { within, base: unit(start), start, turn, index: 0 }
}

impl Iterator for Turning {
    type Item = Complex64;

    #[inline]
    fn next(&mut self) -> Option<Complex64> {
        let place = self.index % BLOCK;
        if place == 0 {
            self.base = unit(self.start + self.turn * self.index as f64);
        }
        self.index += 1;
        self.within.get(place).map(|w| self.base * w)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_a_cosine_for_each() {
        for (start, turn) in [(0.0, 1e-3), (0.25, -0.377), (-3.1, 0.5 / 20_001.0), (0.0, 0.0)] {
            for (k, value) in turning(start, turn).take(1000).enumerate() {
                let exact = unit(start + turn * k as f64);
                assert!((value - exact).norm() < 4e-13, "{start} {turn} {k}: {value} {exact}");
            }
        }
    }
}
