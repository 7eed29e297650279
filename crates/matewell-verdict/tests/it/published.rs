//! The few formulas the judgement itself uses.

use matewell_uncertainty::{Estimate, InputId, gauging::decide_pair};

#[track_caller]
fn check(recession: f64, u: f64, dof: f64, expected: f64, tolerance: f64) {
    // The call the mate check makes, against a partner that is exactly flush.
    let position = Estimate::input(InputId::new("x"), -recession, u, dof).unwrap();
    let flush = Estimate::exact(0.0).unwrap();
    let found = decide_pair(&position, &flush, 0.025).unwrap().probability_of_interference;
    assert!((found - expected).abs() <= tolerance, "{found} for {expected}");
}

/// JCGM 106:2012, table 1 prints z = 1.28, 1.64, 2.33, 3.09 for conformance
/// probabilities 0.90, 0.95, 0.99, 0.999 (values from memory). The tolerance is
/// what half a digit of the printed z does to the probability.
#[test]
fn conformance_probabilities_of_jcgm_106() {
    for (z, conforms) in [(1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)] {
        let slope = (-z * z / 2.0_f64).exp() / (2.0 * std::f64::consts::PI).sqrt();
        check(z, 1.0, f64::INFINITY, 1.0 - conforms, 0.005 * slope);
    }
}

/// ILAC-G8:09/2019: a guard band of one expanded uncertainty (k = 2) keeps the
/// specific risk below 2.5 %; Φ(−2) = 2.28 % (closed form).
#[test]
fn a_guard_band_of_one_expanded_uncertainty() {
    check(2.0, 1.0, f64::INFINITY, 0.022_750, 5e-7);
}

/// Student's t as in JCGM 100:2008, table G.2: t(95 %, ν = 10) = 2.23, two-sided
/// (from memory), so one tail beyond it is 2.5 %.
#[test]
fn few_degrees_of_freedom_widen_the_tail() {
    // Half a digit of t = 2.23 changes the tail by 0.005 × density(2.23) ≈ 0.0002.
    check(2.23, 1.0, 10.0, 0.025, 0.000_2);
}

/// Own vectors for a 1.4 µm gauge (recomputed with SciPy: norm.cdf, t.cdf).
#[test]
fn pin_depth_examples() {
    check(1.0, 1.4, f64::INFINITY, 0.237_53, 5e-6);
    check(2.744, 1.4, f64::INFINITY, 0.025_00, 5e-6);
    check(3.0, 1.4, f64::INFINITY, 0.016_06, 5e-6);
    check(1.0, 1.4, 10.0, 0.245_69, 5e-6);
    check(3.0, 1.4, 10.0, 0.028_88, 5e-6);
    check(-0.5, 1.4, f64::INFINITY, 0.639_51, 5e-6);
}
