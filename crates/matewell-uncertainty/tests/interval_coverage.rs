//! How often do the intervals contain the truth?

#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_uncertainty::{
    Belief, Distribution, Estimate, GuardRule, InputId, Inputs, Measured, Settings, Spread, mean_of, simulate,
};

const TRIALS: usize = 100_000;

/// Share of trials, on five readings of a standard normal, for which the
/// question is answered with yes.
fn share(question: impl Fn(&[f64]) -> bool + Sync) -> f64 {
    let readings = vec![Distribution::Normal { mean: 0.0, standard_deviation: 1.0 }; 5];
    let inputs = Inputs::independent(readings).unwrap();
    let settings = Settings::new(99, 2).unwrap();
    simulate(&inputs, |x| f64::from(u8::from(question(x))), TRIALS, 0.95, settings).unwrap().mean
}

fn mean_and_u(x: &[f64]) -> (f64, f64) {
    (mean_of(x).unwrap(), Spread::of_readings(x).unwrap().of_mean(x.len()).unwrap())
}

/// Standard error of a share near 0.95 is 0.0007; four of them.
#[test]
fn an_expanded_uncertainty_from_few_readings_covers_with_t() {
    let covered = share(|x| {
        let (mean, u) = mean_and_u(x);
        let estimate = Estimate::input(InputId::new("x"), mean, u, 4.0).unwrap();
        mean.abs() <= estimate.expanded(0.95).unwrap().uncertainty
    });
    assert!((covered - 0.95).abs() < 0.003, "{covered}");
}

/// The same with the factor of the normal: 88 %, closed form by t with four
/// degrees of freedom at 1.96.
#[test]
fn a_normal_factor_covers_too_little() {
    let covered = share(|x| {
        let (mean, u) = mean_and_u(x);
        mean.abs() <= 1.959_964 * u
    });
    let exact = 2.0 * Belief::StudentT(4.0).below(1.959_964).unwrap() - 1.0;
    assert!((covered - exact).abs() < 0.005, "{covered} {exact}");
    assert!(covered < 0.9);
}

/// An item exactly at its limit is accepted with the accepted risk.
#[test]
fn a_guarded_decision_keeps_its_risk() {
    let accepted = share(|x| {
        let (mean, u) = mean_and_u(x);
        let measured = Measured::new(mean, u, Belief::StudentT(4.0)).unwrap();
        mean <= -GuardRule::SpecificRisk(0.05).width(measured).unwrap()
    });
    assert!((accepted - 0.05).abs() < 0.003, "{accepted}");
}
