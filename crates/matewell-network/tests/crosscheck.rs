//! Conversions and statistics against scikit-rf and SciPy, by stored results.

#![expect(
    clippy::unwrap_used,
    reason = "tests build their inputs in plain functions and compare stored bits"
)]

use matewell_network::reconnect::{
    Covers, Sample, Source, Spread, coverage_factor, fitted_parameters, permutation_over_frequency,
    saver_or_device, two_sample,
};
use matewell_network::touchstone::{
    Format, FrequencyUnit, Header, MatrixFormat, Mode, Parameter, Touchstone, TwoPortOrder, Version,
};
use num_complex::Complex64;
use rand::RngExt as _;
use rand_pcg::Pcg64;
use serde_json::Value;

fn stored() -> Value {
    serde_json::from_str(include_str!("../../../crosscheck/network/results.json")).unwrap()
}

fn pairs(value: &Value) -> Vec<[f64; 2]> {
    value.as_array().unwrap().iter().map(|p| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]).collect()
}

fn converted(
    parameter: Parameter,
    references: &[f64],
    numbers: Vec<[f64; 2]>,
    order: Option<Vec<Mode>>,
) -> Vec<Complex64> {
    let header = Header {
        version: Version::V2_1,
        unit: FrequencyUnit::Ghz,
        parameter,
        format: Format::RealImaginary,
        references: references.to_vec(),
        two_port_order: TwoPortOrder::RowByRow,
        matrix_format: MatrixFormat::Full,
        mode_order: order,
        comments: Vec::new(),
    };
    Touchstone::new(header, vec![1e9], numbers, Vec::new()).unwrap().to_sweep().unwrap().values().to_vec()
}

fn agree(ours: &[Complex64], theirs: &[[f64; 2]]) {
    assert_eq!(ours.len(), theirs.len());
    for (a, [re, im]) in ours.iter().zip(theirs) {
        assert!((a - Complex64::new(*re, *im)).norm() < 1e-12, "{a} {re} {im}");
    }
}

#[test]
fn z_and_y_convert_like_scikit_rf_with_unequal_references() {
    let stored = &stored()["conversion"];
    for (parameter, key) in [(Parameter::Z, "z"), (Parameter::Y, "y")] {
        for k in 0..2 {
            let s = converted(parameter, &[30.0, 50.0, 75.0], pairs(&stored[key][k]), None);
            agree(&s, &pairs(&stored["s"][k]));
        }
    }
}

#[test]
fn h_and_g_convert_like_scikit_rf_with_unequal_references() {
    let stored = &stored()["conversion_two_port"];
    for (parameter, key) in [(Parameter::H, "h"), (Parameter::G, "g")] {
        for k in 0..2 {
            let s = converted(parameter, &[30.0, 50.0], pairs(&stored[key][k]), None);
            agree(&s, &pairs(&stored["s"][k]));
        }
    }
}

#[test]
fn mixed_mode_converts_like_scikit_rf() {
    let stored = &stored()["mixed_mode"];
    let order =
        vec![Mode::Differential(1, 2), Mode::Differential(3, 4), Mode::Common(1, 2), Mode::Common(3, 4)];
    let s = converted(Parameter::S, &[50.0; 4], pairs(&stored["mixed"]), Some(order));
    agree(&s, &pairs(&stored["single"]));
}

fn sample(value: &Value) -> Sample {
    Sample::new(&pairs(value).iter().map(|p| p.to_vec()).collect::<Vec<_>>()).unwrap()
}

#[test]
fn two_samples_give_scipy_s_p() {
    let stored = &stored()["hotelling"];
    let (a, b) = (sample(&stored["a"]), sample(&stored["b"]));
    for (spread, t2, p) in [(Spread::Equal, "t2", "p"), (Spread::Unequal, "t2_unequal", "p_unequal")] {
        let ours = two_sample(&a, &b, spread).unwrap();
        assert!((ours.t_squared - stored[t2].as_f64().unwrap()).abs() < 1e-9);
        assert!((ours.p - stored[p].as_f64().unwrap()).abs() < 1e-10);
    }
}

#[test]
fn the_same_value_again_and_again_has_no_t_squared() {
    let flat = Sample::new(&vec![vec![1.0, 2.0]; 9]).unwrap();
    assert!(two_sample(&flat, &flat, Spread::Equal).is_err());
    assert!(Sample::new(&vec![vec![1.0, 2.0]; 3]).is_err());
    assert!(Sample::new(&[vec![1.0], vec![f64::NAN], vec![1.0], vec![2.0]]).is_err());
}

#[test]
fn fewer_than_eight_reconnections_say_how_little_they_show() {
    let few = Sample::new(&[vec![1.0, 2.0], vec![1.1, 2.0], vec![1.0, 2.2], vec![0.9, 1.9]]).unwrap();
    let caution = few.caution().unwrap();
    assert!(caution.contains("3.1 times"), "{caution}");
    assert!(sample(&stored()["hotelling"]["a"]).caution().is_none());
    assert!(coverage_factor(2, 2).is_err());
}

fn normal(random: &mut Pcg64) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

fn scatter(random: &mut Pcg64, n: usize, sd: f64) -> Sample {
    let values: Vec<Complex64> = (0..n)
        .map(|_| Complex64::new(0.01 + sd * normal(random), -0.02 + 0.3 * sd * normal(random)))
        .collect();
    Sample::of_complex(&values).unwrap()
}

#[test]
fn an_ellipse_of_the_mean_covers_the_truth_95_times_in_100() {
    let mut random = Pcg64::new(3, 5);
    let mut inside = 0;
    for _ in 0..2000 {
        let ellipse = scatter(&mut random, 8, 1e-3).ellipse(Covers::Mean).unwrap();
        let d = (Complex64::new(0.01, -0.02) - ellipse.centre) * Complex64::from_polar(1.0, -ellipse.angle);
        if (d.re / ellipse.major).powi(2) + (d.im / ellipse.minor).powi(2) <= 1.0 {
            inside += 1;
        }
    }
    // 1900 expected; three standard deviations of a count are 29.
    assert!((1871..=1929).contains(&inside), "{inside}");
    let mut random = Pcg64::new(3, 6);
    let s = scatter(&mut random, 9, 1e-3);
    let ratio = s.ellipse(Covers::Next).unwrap().major / s.ellipse(Covers::Mean).unwrap().major;
    assert!((ratio - 10.0_f64.sqrt()).abs() < 1e-12);
}

#[test]
fn a_saver_and_a_device_are_told_apart_by_exchange() {
    let mut random = Pcg64::new(9, 9);
    let history = scatter(&mut random, 32, 1e-4);
    let calm = scatter(&mut random, 16, 1e-4);
    let wide = scatter(&mut random, 16, 6e-4);
    assert_eq!(saver_or_device(&wide, &wide, &history).unwrap(), Source::Saver);
    assert_eq!(saver_or_device(&wide, &calm, &history).unwrap(), Source::Device);
    assert_eq!(saver_or_device(&calm, &calm, &history).unwrap(), Source::Neither);
    let few = scatter(&mut random, 4, 6e-4);
    assert_eq!(saver_or_device(&few, &calm, &history).unwrap(), Source::Undecided);
}

fn study(random: &mut Pcg64, frequencies: &[f64], shift: f64) -> Vec<Vec<Complex64>> {
    (0..8)
        .map(|_| {
            let l = shift + 0.7e-12 * normal(random);
            let r = 3e-3 * normal(random);
            frequencies
                .iter()
                .map(|f| {
                    let noise = Complex64::new(normal(random), normal(random)) * 1.26e-4;
                    Complex64::new(r, std::f64::consts::TAU * f * l) / 100.0 + noise
                })
                .collect()
        })
        .collect()
}

#[test]
fn a_decision_on_fitted_parameters_keeps_its_level_and_its_power() {
    let f: Vec<f64> = (1..=60).map(|k| 0.3e9 * f64::from(k)).collect();
    let mut random = Pcg64::new(17, 4);
    let mut found = [0, 0];
    for _ in 0..400 {
        for (slot, shift) in found.iter_mut().zip([0.0, 1.5e-12]) {
            let fit = |traces: Vec<Vec<Complex64>>| {
                let rows: Vec<Vec<f64>> =
                    traces.iter().map(|t| fitted_parameters(&f, t, 50.0).unwrap()).collect();
                Sample::new(&rows).unwrap()
            };
            let (a, b) = (fit(study(&mut random, &f, 0.0)), fit(study(&mut random, &f, shift)));
            if two_sample(&a, &b, Spread::Equal).unwrap().p < 0.05 {
                *slot += 1;
            }
        }
    }
    // 20 expected without a change; 15 µm of gap is 1.5 pH.
    assert!((8..=33).contains(&found[0]), "{found:?}");
    assert!(found[1] > 340, "{found:?}");
}

#[test]
fn the_permutation_sees_a_change_and_repeats_with_its_seed() {
    let f: Vec<f64> = (1..=20).map(|k| 1e9 * f64::from(k)).collect();
    let mut random = Pcg64::new(23, 4);
    let (a, b, c) = (study(&mut random, &f, 0.0), study(&mut random, &f, 0.0), study(&mut random, &f, 4e-12));
    let same = permutation_over_frequency(&a, &b, 199, 1).unwrap();
    let moved = permutation_over_frequency(&a, &c, 199, 1).unwrap();
    assert!(same > 0.05 && moved < 0.02, "{same} {moved}");
    assert!((moved - permutation_over_frequency(&a, &c, 199, 1).unwrap()).abs() < 1e-15);
    assert!(permutation_over_frequency(&a, &c, 0, 1).is_err());
    assert!(permutation_over_frequency(&a[..2], &c, 9, 1).is_err());
}
