//! Random choices in whole numbers.

use rand::Rng as _;
use rand_pcg::Pcg64;

/// Any odd number would do; this one keeps the demo's stream apart from others.
const STREAM: u128 = 0x6c61_726b_6d6f_6f72;

/// Draws from a Pcg64. No floating point, so that no platform's mathematics
/// library can change the lab; the ranges are our own, so that no release of a
/// library can either.
pub(crate) struct Draw(Pcg64);

impl Draw {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Pcg64::new(u128::from(seed), STREAM))
    }

    /// Sixteen random bytes.
    pub(crate) fn bytes(&mut self) -> [u8; 16] {
        let mut bytes = [0; 16];
        let (left, right) = bytes.split_at_mut(8);
        left.copy_from_slice(&self.0.next_u64().to_be_bytes());
        right.copy_from_slice(&self.0.next_u64().to_be_bytes());
        bytes
    }

    /// From `low` to `high`, both included. The bias of the multiplication is
    /// below 2⁻⁵⁰ for the ranges used here.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        let width = i128::from(high.saturating_sub(low)) + 1;
        let step = (i128::from(self.0.next_u64()) * width) >> 64;
        low.saturating_add(i64::try_from(step).unwrap_or(0))
    }

    /// Below `count`; zero when `count` is zero.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        let count = i64::try_from(count).unwrap_or(i64::MAX);
        usize::try_from(self.between(0, count.saturating_sub(1))).unwrap_or(0)
    }

    /// Below `count`, small numbers far more often: some things in a lab are
    /// used every day and some never.
    pub(crate) fn below_biased(&mut self, count: usize) -> usize {
        let first = self.below(count);
        self.below(first + 1)
    }

    /// True in `percent` of a hundred cases.
    pub(crate) fn percent(&mut self, percent: i64) -> bool {
        self.between(1, 100) <= percent
    }

    /// One of them.
    pub(crate) fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        let index = self.below(from.len());
        from.get(index).copied()
    }

    /// About normal around zero: the sum of twelve uniform draws, standard
    /// deviation `deviation`, never beyond six of them.
    pub(crate) fn bell(&mut self, deviation: i64) -> i64 {
        let sum: i64 = (0..12).map(|_| self.between(-500, 500)).sum();
        sum.saturating_mul(deviation) / 1000
    }

    /// In random order (Fisher and Yates).
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            list.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_stay_in_their_ranges() {
        let mut draw = Draw::new(1);
        let mut seen = [0_u32; 5];
        for _ in 0..5000 {
            seen[draw.below(5)] += 1;
            assert!((-3..=4).contains(&draw.between(-3, 4)));
            assert!(draw.bell(10).abs() <= 60);
        }
        assert_eq!(draw.below(0), 0);
        // Five standard deviations of a binomial count of 5000 × 1/5: 5 × 28.3.
        assert!(seen.iter().all(|n| (858..=1142).contains(n)), "{seen:?}");
    }

    #[test]
    fn the_bell_has_the_deviation_asked_for() {
        let mut draw = Draw::new(2);
        let values: Vec<i64> = (0..4000).map(|_| draw.bell(1000)).collect();
        let mean = values.iter().sum::<i64>() as f64 / 4000.0;
        let variance = values.iter().map(|v| (*v as f64 - mean).powi(2)).sum::<f64>() / 3999.0;
        // 5 % is more than four standard errors of a deviation from 4000 draws.
        assert!((variance.sqrt() / 1000.0 - 1.0).abs() < 0.05, "{}", variance.sqrt());
    }
}
