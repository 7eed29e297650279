//! Random numbers that are the same on every machine and for every number of
//! threads.

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64;
use std::sync::OnceLock;

/// Name of the generator, stored with every Monte Carlo result.
pub const GENERATOR: &str =
    "PCG XSL RR 128/64 (LCG), one stream per block keyed by SplitMix64 of seed and block";

// 2^-53
const CELL: f64 = 1.110_223_024_625_156_5e-16;

/// The stream of one block of trials.
///
/// State and increment of each block come from a hash of seed and block
/// number: neighbouring stream numbers alone can be correlated.
pub(crate) struct Stream {
    generator: Pcg64,
    layers: &'static [[f64; 4]; 256],
}

impl Stream {
    pub(crate) fn new(seed: u64, block: u64) -> Self {
        let mut state = seed;
        let mut key = split_mix(&mut state) ^ block;
        let mut bytes = [0; 32];
        for chunk in bytes.chunks_exact_mut(8) {
            chunk.copy_from_slice(&split_mix(&mut key).to_le_bytes());
        }
        Self { generator: Pcg64::from_seed(bytes), layers: ziggurat() }
    }

    /// Uniform in (0, 1): the middle of one of 2⁵³ cells, never an end.
    pub(crate) fn uniform(&mut self) -> f64 {
        // Signed: the conversion is one instruction.
        ((self.generator.next_u64() >> 11).cast_signed() as f64 + 0.5) * CELL
    }

    /// Standard normal by the ziggurat with 256 layers (Marsaglia and Tsang
    /// 2000), with more bits for the place than for the layer.
    pub(crate) fn normal(&mut self) -> f64 {
        loop {
            let bits = self.generator.next_u64();
            let layer = (bits & 0xff) as usize;
            // Signed, uniform in (-1, 1), from the upper 54 bits.
            let place = ((bits.cast_signed() >> 10) as f64 + 0.5) * CELL;
            let Some([outer, inner, height, lower]) = self.layers.get(layer) else { continue };
            let x = place * outer;
            if x.abs() < *inner {
                return x;
            }
            if layer == 0 {
                return self.normal_tail(place < 0.0);
            }
            let y = height + self.uniform() * (lower - height);
            if y < (-0.5 * x * x).exp() {
                return x;
            }
        }
    }

    // Beyond the last layer: exponential proposals (Marsaglia 1964).
    fn normal_tail(&mut self, left: bool) -> f64 {
        loop {
            let x = -self.uniform().ln() / ZIGGURAT_EDGE;
            let y = -self.uniform().ln();
            if y + y >= x * x {
                return if left { -ZIGGURAT_EDGE - x } else { ZIGGURAT_EDGE + x };
            }
        }
    }

    /// Gamma with unit scale (Marsaglia and Tsang, squeeze left out); for a
    /// shape below one by the power of a uniform.
    pub(crate) fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let power = self.uniform().powf(1.0 / shape);
            return self.gamma(shape + 1.0) * power;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && self.uniform().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }
}

fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

// Right edge of the base layer for 256 layers; `equal_areas` tests it.
const ZIGGURAT_EDGE: f64 = 3.654_152_885_361_009;

/// Per layer: outer edge, inner edge (sure acceptance), density at the outer
/// and at the inner edge.
fn ziggurat() -> &'static [[f64; 4]; 256] {
    static TABLES: OnceLock<[[f64; 4]; 256]> = OnceLock::new();
    TABLES.get_or_init(|| {
        let density = |x: f64| (-0.5 * x * x).exp();
        let area = layer_area();
        let mut tables = [[0.0; 4]; 256];
        let (mut outer, mut height) = (area / density(ZIGGURAT_EDGE), density(ZIGGURAT_EDGE));
        let mut next = ZIGGURAT_EDGE;
        for (layer, row) in tables.iter_mut().enumerate() {
            if layer == 0 {
                *row = [outer, next, 0.0, height];
                outer = next;
                continue;
            }
            // This layer lies between `height` and the density at `next`.
            let top = height + area / outer;
            next = if layer == 255 || top >= 1.0 { 0.0 } else { (-2.0 * top.ln()).sqrt() };
            *row = [outer, next, height, top];
            outer = next;
            height = top;
        }
        tables
    })
}

// Rectangle of the base layer plus the tail beyond it.
fn layer_area() -> f64 {
    let tail =
        std::f64::consts::TAU.sqrt() * 0.5 * libm::erfc(ZIGGURAT_EDGE * std::f64::consts::FRAC_1_SQRT_2);
    ZIGGURAT_EDGE * (-0.5 * ZIGGURAT_EDGE * ZIGGURAT_EDGE).exp() + tail
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coverage::normal_below;

    /// Slow twin of the ziggurat: the polar method.
    fn normal_polar(stream: &mut Stream) -> f64 {
        loop {
            let (x, y) = (2.0 * stream.uniform() - 1.0, 2.0 * stream.uniform() - 1.0);
            let square = x * x + y * y;
            if 0.0 < square && square < 1.0 {
                return x * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }

    #[test]
    fn equal_areas() {
        let last = ziggurat()[255];
        // The topmost layer closes at the density's peak.
        assert!((last[3] - 1.0).abs() < 1e-9, "{last:?}");
        assert!((layer_area() - 0.004_928_673_233_992).abs() < 1e-12, "{}", layer_area());
    }

    fn worst_distance(mut draw: impl FnMut() -> f64, below: impl Fn(f64) -> f64) -> f64 {
        let n = 400_000;
        let mut sample: Vec<f64> = (0..n).map(|_| draw()).collect();
        sample.sort_unstable_by(f64::total_cmp);
        sample.iter().enumerate().fold(0.0, |worst, (i, x)| {
            let distance = (below(*x) - (i as f64 + 0.5) / f64::from(n)).abs();
            if distance > worst { distance } else { worst }
        }) * f64::from(n).sqrt()
    }

    /// Kolmogorov–Smirnov: 1.95 is the 0.1 % point; the seed is fixed.
    #[test]
    fn samples_follow_their_distributions() {
        let mut stream = Stream::new(7, 0);
        assert!(worst_distance(|| stream.normal(), normal_below) < 1.95);
        let mut stream = Stream::new(7, 1);
        assert!(worst_distance(|| normal_polar(&mut stream), normal_below) < 1.95);
        let mut stream = Stream::new(7, 2);
        assert!(worst_distance(|| stream.uniform(), |x| x) < 1.95);
        let mut stream = Stream::new(7, 3);
        assert!(worst_distance(|| stream.gamma(1.0), |x| 1.0 - (-x).exp()) < 1.95);
        let mut stream = Stream::new(7, 4);
        let half = worst_distance(|| stream.gamma(0.5), |x| 2.0 * normal_below((2.0 * x).sqrt()) - 1.0);
        assert!(half < 1.95);
    }

    #[test]
    fn the_tail_is_drawn_too() {
        let mut stream = Stream::new(1, 9);
        let beyond = (0..2_000_000).filter(|_| stream.normal().abs() > ZIGGURAT_EDGE).count();
        // Expected 2e6 × 2.58e-4 = 516, standard deviation 23.
        assert!((420..620).contains(&beyond), "{beyond}");
    }

    #[test]
    fn streams_differ_by_block_and_seed() {
        let first = |seed, block| Stream::new(seed, block).uniform().to_bits();
        assert!(first(1, 0) != first(1, 1) && first(1, 0) != first(2, 0));
        assert_eq!(first(5, 3), first(5, 3));
    }
}
