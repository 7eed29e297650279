//! The joint verdict on simulated chains, masks, cables and trends.

#![expect(
    clippy::unwrap_used,
    clippy::useless_vec,
    clippy::field_reassign_with_default,
    reason = "tests build their inputs in plain functions and compare stored bits"
)]

use std::f64::consts::TAU;

use matewell_network::cable::{Passage, loss_change, phase_change, ripple_spacing};
use matewell_network::joints::{Chain, Finding, Joint, Refusal, Section, Settings, Verdict, judge};
use matewell_network::mask::{Between, Kept, Mask, Side};
use matewell_network::trend::trend;
use matewell_network::{NetworkError, Sweep};
use num_complex::Complex64;
use rand::RngExt as _;
use rand_pcg::Pcg64;

const J: Complex64 = Complex64::new(0.0, 1.0);
const LIGHT: f64 = 299_792_458.0;
const PER_GAP: f64 = 0.0989e-6;
const LENGTHS: [f64; 3] = [0.62, 0.035, 0.90];
const VELOCITY: [f64; 3] = [0.70, 1.0, 0.70];

#[derive(Clone, Copy, Default)]
struct Change {
    /// Extra inductance per joint, in henries.
    inductance: [f64; 4],
    /// Extra resistance per joint, in ohms.
    resistance: [f64; 4],
    /// Degrees one way at the highest frequency, per section.
    degrees: [f64; 3],
    /// A term of the sweep that no joint can make.
    strange: f64,
    /// Drift of the calibration, linear: a seed for its direction and its size.
    drift: Option<(u64, f64)>,
}

/// A chain with a bead beside every joint, cascaded exactly.
fn sweep(f: &[f64], change: Change, seed: u64) -> Sweep {
    let mut random = Pcg64::new(u128::from(seed), 77);
    let highest = f[f.len() - 1];
    let drift = drift(change);
    let s = f
        .iter()
        .map(|&f| {
            let w = TAU * f;
            let mut gamma = Complex64::new(0.02, 0.0);
            for k in (0..4).rev() {
                let y = (1.0 - gamma) / (1.0 + gamma) + J * (w * 12e-15 * 50.0);
                gamma = (1.0 - y) / (1.0 + y);
                let z = (1.0 + gamma) / (1.0 - gamma)
                    + (J * (w * (1e-12 + change.inductance[k])) + 5e-3 + change.resistance[k]) / 50.0;
                gamma = (z - 1.0) / (z + 1.0);
                if k > 0 {
                    let c = k - 1;
                    let delay = LENGTHS[c] / (VELOCITY[c] * LIGHT) + change.degrees[c] / 360.0 / highest;
                    let neper = LENGTHS[c] * 0.45 * (f * 1e-9).sqrt() / 8.686;
                    gamma *= Complex64::from_polar((-2.0 * neper).exp(), -2.0 * w * delay);
                }
            }
            let mut part = || {
                let (u, v): (f64, f64) = (random.random(), random.random());
                1.26e-4 * (-2.0 * (1.0 - u).ln()).sqrt() * (TAU * v).cos()
            };
            let (u, [e0, e1, t0, t1]) = (f / highest, drift);
            let gamma = gamma + e0 + e1 * u + (t0 + t1 * u) * gamma;
            gamma + Complex64::new(part(), part()) + Complex64::from_polar(change.strange, -w * 3.0e-9)
        })
        .collect();
    Sweep::new(f.to_vec(), vec![50.0], s).unwrap()
}

/// Offset and tracking, each with its part in proportion to frequency.
fn drift(change: Change) -> [Complex64; 4] {
    let Some((seed, size)) = change.drift else { return [Complex64::default(); 4] };
    let mut random = Pcg64::new(u128::from(seed), 5);
    std::array::from_fn(|k| {
        let turn: f64 = random.random();
        Complex64::from_polar(if k < 2 { size } else { 2.0 * size }, TAU * turn)
    })
}

fn grid() -> Vec<f64> {
    (1..=1325).map(|k| 20e6 * f64::from(k)).collect()
}

fn chain() -> Chain {
    let joints = (1..=4)
        .map(|k| Joint {
            name: format!("joint {k}"),
            scatter_inductance: 5e-6 * PER_GAP,
            scatter_resistance: 3e-3,
            inductance_per_gap: Some(PER_GAP),
        })
        .collect();
    let sections = (0..3)
        .map(|c| Section {
            length: LENGTHS[c],
            length_uncertainty: 1e-3,
            velocity_factor: VELOCITY[c],
            loss_at_1_ghz: 0.45,
            flexible: c != 1,
        })
        .collect();
    Chain::new(joints, sections).unwrap()
}

fn settings() -> Settings {
    Settings {
        noise: 1.26e-4,
        model_floor: 2e-4,
        offset_drift: 1e-3,
        tracking_drift: 2e-3,
        cable_phase: 1.0,
        largest_cable_phase: 15.0,
        largest_chi_square: 4.0,
        false_alarm: 0.01,
        separation: 10.0,
        change_of_interest: 60e-6 * PER_GAP,
    }
}

fn verdict(change: Change) -> Verdict {
    noisy_verdict(change, 1)
}

fn noisy_verdict(change: Change, seed: u64) -> Verdict {
    let f = grid();
    judge(&sweep(&f, Change::default(), seed), &sweep(&f, change, seed + 1), 1, &chain(), &settings())
        .unwrap()
}

fn at(joint: usize, inductance: f64) -> Change {
    let mut change = Change::default();
    change.inductance[joint] = inductance;
    change
}

#[test]
fn each_joint_is_named_with_its_size() {
    for k in 0..4 {
        let v = verdict(at(k, 5.93e-12));
        assert_eq!(v.finding, Finding::Joint(k));
        let joint = &v.joints[k];
        assert!((joint.inductance - 5.93e-12).abs() < 1e-12, "{k} {}", joint.inductance);
        let gap = joint.gap.unwrap();
        assert!(gap.low < 60e-6 && 60e-6 < gap.high);
        let text = v.sentences();
        assert!(text.contains("Gauge joint") && text.contains("If a gap is the cause"), "{text}");
    }
}

#[test]
fn a_protrusion_like_change_has_the_other_sign() {
    let v = verdict(at(2, -5.93e-12));
    assert_eq!(v.finding, Finding::Joint(2));
    assert!(v.joints[2].inductance < -4.9e-12);
}

#[test]
fn a_contact_resistance_is_found_without_inductance() {
    let mut change = Change::default();
    change.resistance[1] = 0.3;
    let v = verdict(change);
    assert_eq!(v.finding, Finding::Joint(1));
    assert!((v.joints[1].resistance - 0.3).abs() < 0.03, "{}", v.joints[1].resistance);
}

#[test]
fn nothing_changed_says_what_would_have_been_seen_and_releases_nothing() {
    let v = verdict(Change::default());
    assert_eq!(v.finding, Finding::NothingSeen);
    for joint in &v.joints {
        assert!(joint.smallest_detectable > 0.0 && joint.smallest_detectable < 30e-12);
    }
    let text = v.sentences();
    assert!(text.contains("would have been seen") && text.contains("does not show"), "{text}");
    for word in ["release", "pass", "scrap", "fit for use"] {
        assert!(!text.to_lowercase().contains(word), "{text}");
    }
}

#[test]
fn a_moved_cable_is_measured_and_does_not_name_a_joint() {
    let mut change = Change::default();
    change.degrees = [6.0, 0.0, -4.0];
    let v = verdict(change);
    assert_eq!(v.finding, Finding::NothingSeen);
    assert!((v.cable_degrees[0] - 6.0).abs() < 0.3, "{:?}", v.cable_degrees);
    assert!((v.cable_degrees[2] + 4.0).abs() < 0.3, "{:?}", v.cable_degrees);
}

#[test]
fn a_cable_that_moved_too_far_is_refused() {
    let mut change = at(3, 5.93e-12);
    change.degrees[0] = 25.0;
    let v = verdict(change);
    assert!(matches!(v.finding, Finding::Refused(Refusal::CableMoved { section: 0, .. })), "{:?}", v.finding);
    assert!(v.sentences().starts_with("No verdict"));
}

#[test]
fn a_calibration_that_drifted_farther_than_expected_names_no_joint() {
    // −47 dB where the settings expect −60 dB.
    let calm = verdict(Change::default()).joints[0].smallest_detectable;
    let (mut alarms, mut right, mut refused) = (0, 0, 0);
    for seed in 0..40 {
        let drift = Some((seed, 4.5e-3));
        let v = noisy_verdict(Change { drift, ..Change::default() }, 100 + 2 * seed);
        if let Finding::Refused(Refusal::Drifted { ratio }) = v.finding {
            assert!(v.sentences().contains("Calibrate again") && ratio > 20.0, "{}", v.sentences());
            refused += 1;
            continue;
        }
        alarms += u32::from(v.finding != Finding::NothingSeen);
        assert!(v.drift_ratio > 1.5, "{seed} {}", v.drift_ratio);
        // What it could have seen at the first joint grows, and is said.
        assert!(v.joints[0].smallest_detectable > 1.2 * calm, "{seed}");
        right += u32::from(
            noisy_verdict(Change { drift, ..at(2, 8e-12) }, 100 + 2 * seed).finding == Finding::Joint(2),
        );
    }
    let told = format!("{alarms} false alarms, {right} right, {refused} refused of 40");
    assert!(alarms <= 3 && right >= 36 && refused <= 2, "{told}");
}

#[test]
fn a_calibration_that_drifted_beyond_its_bound_is_refused() {
    // −20 dB: a hundred times as far as expected.
    for seed in 0..10 {
        let v = noisy_verdict(Change { drift: Some((seed, 0.1)), ..Change::default() }, 300 + 2 * seed);
        assert!(
            matches!(v.finding, Finding::Refused(Refusal::Drifted { ratio }) if ratio > 20.0),
            "{seed} {v:?}"
        );
        assert!(v.sentences().starts_with("No verdict: the calibration"), "{}", v.sentences());
    }
}

#[test]
fn a_change_at_the_first_joint_is_not_taken_for_drift() {
    for (change, ratio) in [(5.93e-12, 1.3), (12e-12, 1.5), (-5.93e-12, 1.3)] {
        let v = verdict(at(0, change));
        assert_eq!(v.finding, Finding::Joint(0));
        assert!(v.drift_ratio < ratio, "{change} {}", v.drift_ratio);
    }
    let calm = verdict(Change { drift: Some((3, 1e-3)), ..Change::default() });
    assert!(calm.drift_ratio < 1.6, "{}", calm.drift_ratio);
}

#[test]
fn what_no_joint_can_make_is_refused() {
    let v = verdict(Change { strange: 0.01, ..Change::default() });
    assert!(matches!(v.finding, Finding::Refused(Refusal::Unexplained { .. })), "{:?}", v.finding);
}

#[test]
fn two_changes_are_both_named() {
    let mut change = at(0, 5.93e-12);
    change.inductance[3] = 5.93e-12;
    assert_eq!(verdict(change).finding, Finding::Several(vec![0, 3]));
}

#[test]
fn a_low_band_says_that_the_first_joint_could_not_be_judged() {
    let f: Vec<f64> = (1..=200).map(|k| 10e6 * f64::from(k)).collect();
    let v =
        judge(&sweep(&f, Change::default(), 1), &sweep(&f, Change::default(), 2), 1, &chain(), &settings());
    let v = v.unwrap();
    assert!(!v.joints[0].judged);
    assert!(v.sentences().contains("Could not be judged"), "{}", v.sentences());
}

#[test]
fn sweeps_that_do_not_belong_together_are_refused() {
    let f = grid();
    let base = sweep(&f, Change::default(), 1);
    let short = sweep(&f[..1300], Change::default(), 1);
    assert!(matches!(judge(&base, &short, 1, &chain(), &settings()), Err(NetworkError::GridsDiffer { .. })));
    assert!(matches!(judge(&base, &base, 2, &chain(), &settings()), Err(NetworkError::NoSuchPort { .. })));
    let other = Sweep::new(f, vec![75.0], base.values().to_vec()).unwrap();
    assert!(judge(&base, &other, 1, &chain(), &settings()).is_err());
    assert!(judge(&base, &base, 1, &chain(), &Settings { noise: f64::NAN, ..settings() }).is_err());
    assert!(judge(&base, &base, 1, &chain(), &Settings { false_alarm: 0.0, ..settings() }).is_err());
}

#[test]
fn a_chain_refuses_impossible_numbers() {
    let good = chain();
    let change = |f: &dyn Fn(&mut Vec<Joint>, &mut Vec<Section>)| {
        let (mut joints, mut sections) = (good.joints().to_vec(), good.sections().to_vec());
        f(&mut joints, &mut sections);
        Chain::new(joints, sections)
    };
    assert!(change(&|_, _| {}).is_ok());
    assert!(change(&|j, _| j[0].scatter_inductance = f64::NAN).is_err());
    assert!(change(&|j, _| j[0].inductance_per_gap = Some(0.0)).is_err());
    assert!(change(&|_, s| s[0].velocity_factor = 1.1).is_err());
    assert!(change(&|_, s| s[0].length = 0.0).is_err());
    assert!(change(&|_, s| s[0].loss_at_1_ghz = -1.0).is_err());
    assert!(change(&|_, s| s[0].length_uncertainty = f64::INFINITY).is_err());
    assert!(change(&|_, s| s.truncate(2)).is_err());
}

#[test]
fn a_limit_inside_the_uncertainty_is_undecided() {
    let mask = Mask::new(Side::Below, Between::Linear, vec![(1e9, -30.0), (18e9, -20.0)]).unwrap();
    let f = [1e9, 9.5e9, 18e9, 20e9];
    let judge = |v: f64, u: f64| mask.judge(&f, &[-40.0, v, -40.0, 0.0], u).unwrap();
    assert_eq!(judge(-26.0, 0.5).kept, Kept::Yes);
    assert_eq!(judge(-25.2, 0.5).kept, Kept::Undecided);
    assert_eq!(judge(-24.8, 0.5).kept, Kept::Undecided);
    let broken = judge(-24.0, 0.5);
    assert_eq!((broken.kept, broken.covered), (Kept::No, 3));
    assert!((broken.worst_margin + 1.0).abs() < 1e-12 && (broken.at - 9.5e9).abs() < 1.0);
    assert!(mask.judge(&f, &[f64::NAN, 0.0, 0.0, 0.0], 0.5).is_err());
    assert!(mask.judge(&[20e9], &[0.0], 0.5).is_err());
    assert!(mask.judge(&f, &[0.0; 4], f64::NAN).is_err());
}

#[test]
fn both_sides_of_a_step_bind_and_logarithms_are_straight() {
    let mask =
        Mask::new(Side::Above, Between::Logarithmic, vec![(1e9, 0.0), (1e10, 1.0), (1e10, 5.0), (1e11, 5.0)])
            .unwrap();
    let at = |f: f64| mask.judge(&[f], &[5.0], 0.0).unwrap().worst_margin;
    assert!((at(10_f64.powf(9.5)) - 4.5).abs() < 1e-12);
    assert!(at(1e10).abs() < 1e-12);
    assert!(Mask::new(Side::Above, Between::Logarithmic, vec![(0.0, 0.0), (1e9, 1.0)]).is_err());
    assert!(Mask::new(Side::Above, Between::Linear, vec![(2e9, 0.0), (1e9, 1.0)]).is_err());
    assert!(Mask::new(Side::Above, Between::Linear, vec![(1e9, 0.0), (1e9, 1.0), (1e9, 2.0)]).is_err());
}

#[test]
fn a_cable_s_delay_change_is_read_from_its_phase() {
    let f = grid();
    let delay = 0.2e-12;
    let before: Vec<Complex64> = f.iter().map(|f| Complex64::from_polar(0.5, -TAU * f * 3e-9)).collect();
    let turn = |times: f64| -> Vec<Complex64> {
        f.iter()
            .zip(&before)
            .map(|(f, b)| b * Complex64::from_polar(0.99, -TAU * f * delay * times))
            .collect()
    };
    for (passage, times) in [(Passage::Once, 1.0), (Passage::Twice, 2.0)] {
        let change = phase_change(&f, &before, &turn(times), passage).unwrap();
        assert!((change.delay - delay).abs() < 1e-18);
        assert!((change.degrees_at_highest + 360.0 * 26.5e9 * delay).abs() < 1e-6);
        assert!(change.ripple_degrees < 1e-6);
    }
    let mut jumpy = turn(1.0);
    for v in jumpy.iter_mut().skip(700) {
        *v *= Complex64::from_polar(1.0, 2.0_f64.to_radians());
    }
    assert!(
        (phase_change(&f, &before, &jumpy, Passage::Once).unwrap().largest_step_degrees - 2.0).abs() < 0.01
    );
    let dead = vec![Complex64::default(); f.len()];
    assert!(phase_change(&f, &before, &dead, Passage::Once).is_err());
}

#[test]
fn loss_is_taken_apart() {
    let f = grid();
    let change: Vec<f64> = f.iter().map(|f| 0.02 + 0.05 * (f * 1e-9).sqrt() + 0.003 * f * 1e-9).collect();
    let parts = loss_change(&f, &change, 50.0).unwrap();
    assert!((parts.constant_db - 0.02).abs() < 1e-9);
    assert!((parts.root_db_at_1_ghz - 0.05).abs() < 1e-9);
    assert!((parts.linear_db_at_1_ghz - 0.003).abs() < 1e-9);
    assert!(parts.ripple_db < 1e-9);
    assert!(loss_change(&f[..3], &change[..3], 50.0).is_err());
    assert!(loss_change(&f, &vec![f64::NAN; f.len()], 50.0).is_err());
    assert!((ripple_spacing(1e8, 0.7) - 1.049).abs() < 1e-3);
}

#[test]
fn a_trend_is_seen_and_a_flat_line_is_not() {
    let days: Vec<f64> = (0..12).map(f64::from).collect();
    let wobble = |k: f64| if k % 2.0 > 0.5 { 0.1 } else { -0.1 };
    let rising: Vec<f64> = days.iter().map(|d| 3.0 + 0.2 * d + wobble(*d)).collect();
    let seen = trend(&days, &rising).unwrap();
    assert!((seen.slope_per_day - 0.2).abs() < 0.01 && seen.p < 1e-6);
    let flat: Vec<f64> = days.iter().map(|d| 3.0 + wobble(*d)).collect();
    assert!(trend(&days, &flat).unwrap().p > 0.3);
    assert!(trend(&[1.0; 5], &[1.0, 2.0, 3.0, 4.0, 5.0]).is_err());
    assert!(trend(&days, &vec![f64::NAN; 12]).is_err());
    assert!((trend(&days, &[1.0; 12]).unwrap().p - 1.0).abs() < 1e-12);
}

/// Joints 2 and 3 are 35 mm of air apart. A band that tells them apart names
/// the one that changed; one that cannot names both, and never the wrong one
/// alone.
#[test]
fn a_band_that_cannot_tell_two_joints_apart_names_both() {
    let verdict = |highest_ghz: f64, gap: f64| {
        let f: Vec<f64> = (1..=300).map(|k| highest_ghz * 1e9 / 300.0 * f64::from(k)).collect();
        let change = at(1, gap * PER_GAP);
        judge(&sweep(&f, Change::default(), 1), &sweep(&f, change, 2), 1, &chain(), &settings()).unwrap()
    };
    for (ghz, gap) in [
        (0.3, 200e-6),
        (0.5, 200e-6),
        (1.0, 100e-6),
        (1.0, 200e-6),
        (2.0, 100e-6),
        (2.0, 60e-6),
        (3.0, 60e-6),
        (6.0, 60e-6),
    ] {
        println!("{ghz} {gap} {:?}", verdict(ghz, gap).finding);
    }
}
