//! Where an axis is divided.

/// Round values between two ends, both covered: steps of 1, 2 or 5 times a
/// power of ten, about `wanted` of them. Ends that are not finite or do not
/// differ give the range 0 to 1.
pub fn round_ticks(low: f64, high: f64, wanted: u32) -> Vec<f64> {
    let span = high - low;
    if !(span.is_finite() && span > 0.0) {
        return vec![0.0, 1.0];
    }
    let rough = span / f64::from(wanted.clamp(1, 50));
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0].iter().map(|m| m * power).find(|s| *s >= rough * (1.0 - 1e-9));
    let step = step.unwrap_or(10.0 * power);
    let first = (low / step + 1e-9).floor();
    let last = (high / step - 1e-9).ceil();
    // Counted, not added up: 0.1 + 0.1 + 0.1 is not 0.3.
    let mut ticks = Vec::new();
    let mut at = first;
    while at <= last {
        ticks.push(at * step);
        at += 1.0;
    }
    ticks
}

/// The number of decimals that tell the ticks apart.
pub(crate) fn decimals(ticks: &[f64]) -> usize {
    let step = ticks.windows(2).find_map(|w| if let [a, b] = w { Some(b - a) } else { None }).unwrap_or(1.0);
    let mut decimals = 0;
    let mut scaled = step;
    while scaled < 1.0 - 1e-9 && decimals < 12 {
        scaled *= 10.0;
        decimals += 1;
    }
    decimals
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(low: f64, high: f64, expected: &[f64]) {
        let found = round_ticks(low, high, 5);
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (f, e) in found.iter().zip(expected) {
            assert!((f - e).abs() < 1e-12, "{found:?}");
        }
    }

    #[test]
    fn ticks_are_round_and_cover_both_ends() {
        check(0.0, 10.0, &[0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        check(1.0, 26.5, &[0.0, 10.0, 20.0, 30.0]);
        check(0.0, 0.0101, &[0.0, 0.005, 0.01, 0.015]);
        check(-3.0, 3.0, &[-4.0, -2.0, 0.0, 2.0, 4.0]);
    }

    #[test]
    fn no_range_is_a_range_of_one() {
        check(2.0, 2.0, &[0.0, 1.0]);
        check(f64::NAN, 1.0, &[0.0, 1.0]);
    }

    #[test]
    fn decimals_tell_ticks_apart() {
        assert_eq!(decimals(&[0.0, 2.0]), 0);
        assert_eq!(decimals(&[0.0, 0.005]), 3);
        assert_eq!(decimals(&[0.0, 0.1]), 1);
    }
}
