//! Transforms, gates and sanity against scikit-rf, closed forms and slow twins.

#![expect(
    clippy::unwrap_used,
    reason = "tests build their inputs in plain functions and compare stored bits"
)]

use std::f64::consts::TAU;

use matewell_network::gate::Gate;
use matewell_network::sanity::{
    energy_before_zero, grid, initial_metrics, largest_singular_values, noise_floor, passivity, reciprocity,
};
use matewell_network::transform::{Fourier, FromDc, Zoom, from_dc, reach};
use matewell_network::window::{Mode, Window, gain, half_height_width};
use matewell_network::{NetworkError, Sweep};
use num_complex::Complex64;
use serde_json::Value;

fn stored() -> Value {
    serde_json::from_str(include_str!("../../../crosscheck/network/results.json")).unwrap()
}

fn uniform(first: f64, last: f64, points: usize) -> Vec<f64> {
    (0..points).map(|k| first + (last - first) * k as f64 / (points - 1) as f64).collect()
}

fn reflectors(frequencies: &[f64], list: &[(f64, f64)]) -> Vec<Complex64> {
    frequencies
        .iter()
        .map(|f| list.iter().map(|(a, t)| Complex64::from_polar(*a, -TAU * f * t)).sum())
        .collect()
}

fn trace(list: &[(f64, f64)], last: f64, points: usize) -> FromDc {
    let f = uniform(0.0, last, points);
    FromDc { step: f[1], values: reflectors(&f, list), dc_doubt: None }
}

const WINDOWS: [(&str, Window); 4] = [
    ("rectangular", Window::Rectangular),
    ("hamming", Window::Hamming),
    ("kaiser6", Window::Kaiser(6.0)),
    ("kaiser13", Window::Kaiser(13.0)),
];

#[test]
fn the_impulse_is_scikit_rf_s_divided_by_the_window_s_gain() {
    let stored = stored();
    let trace = trace(&[(0.1, 6.2e-9)], 10e9, 1001);
    for (name, window) in WINDOWS {
        let theirs = &stored["impulse"][name];
        let ours = Fourier::new().impulse(&trace, window).unwrap();
        let k = usize::try_from(theirs["index"].as_u64().unwrap()).unwrap();
        assert!((ours.time(k) - theirs["time"].as_f64().unwrap()).abs() < 1e-18);
        assert!((ours.start - theirs["start"].as_f64().unwrap()).abs() < 1e-18);
        let gain = gain(&window.weights(1001, Mode::LowPass), Mode::LowPass);
        for (offset, value) in theirs["around"].as_array().unwrap().iter().enumerate() {
            let ours = ours.values[k - 1 + offset] * gain;
            assert!((ours - value.as_f64().unwrap()).abs() < 1e-14, "{name}");
        }
    }
}

#[test]
fn a_reflection_on_a_time_of_the_grid_reads_its_own_height() {
    // scikit-rf reads 0.054 (Hamming) for 0.1 because it leaves the gain in.
    let step = 1.0 / (2001.0 * 1e7);
    let trace = trace(&[(0.1, 124.0 * step)], 10e9, 1001);
    for (name, window) in WINDOWS {
        let response = Fourier::new().impulse(&trace, window).unwrap();
        assert!((response.values[1000 + 124] - 0.1).abs() < 1e-13, "{name}");
    }
}

#[test]
fn the_impulse_is_the_sum_written_out_at_lengths_with_large_factors() {
    // 2 × 601 − 1 is prime, 2 × 1001 − 1 = 3 × 23 × 29; 2 × 608 − 1 = 3⁵ × 5.
    for points in [601_usize, 1001, 608] {
        let list = [(0.1, 0.37e-9), (-0.03, 6.2e-9), (0.02, -1.9e-9)];
        let trace = trace(&list, 10e9, points);
        let mut fourier = Fourier::new();
        let weights = Window::Hamming.weights(points, Mode::LowPass);
        for _ in 0..2 {
            let response = fourier.impulse(&trace, Window::Hamming).unwrap();
            assert_eq!(response.values.len(), 2 * points - 1);
            for (i, value) in response.values.iter().enumerate().step_by(7) {
                let t = response.time(i);
                let sum: f64 = (1..points)
                    .map(|k| {
                        let turn =
                            Complex64::from_polar(1.0, TAU * (trace.step * t * k as f64).rem_euclid(1.0));
                        2.0 * weights[k] * (trace.values[k] * turn).re
                    })
                    .sum();
                let slow = (sum + weights[0] * trace.values[0].re)
                    / (2.0 * weights.iter().sum::<f64>() - weights[0]);
                assert!((value - slow).abs() < 1e-12, "{points} {i}: {value} {slow}");
            }
        }
    }
}

#[test]
fn the_band_pass_is_scikit_rf_s_divided_by_the_window_s_gain() {
    let stored = stored();
    let f = uniform(1e9, 10e9, 901);
    let s = reflectors(&f, &[(0.1, 6.2e-9)]);
    for (name, window) in &WINDOWS[1..3] {
        let theirs = &stored["band_pass"][name];
        let ours = Fourier::new().band_pass(&f, &s, *window).unwrap();
        let gain = gain(&window.weights(901, Mode::BandPass), Mode::BandPass);
        let (k, peak) = ours
            .values
            .iter()
            .enumerate()
            .map(|(k, v)| (k, v.norm()))
            .fold((0, 0.0), |a, b| if b.1 > a.1 { b } else { a });
        assert!((ours.time(k) - theirs["time"].as_f64().unwrap()).abs() < 1e-16, "{name}");
        assert!((peak * gain - theirs["magnitude"].as_f64().unwrap()).abs() < 1e-14, "{name}");
    }
}

#[test]
fn the_step_s_area_gives_the_inductance_back() {
    let stored = stored();
    let f = uniform(0.0, 26.5e9, 2651);
    let inductance = 5.9e-12;
    let s: Vec<Complex64> = f
        .iter()
        .map(|f| {
            let z = Complex64::new(0.0, TAU * f * inductance / 50.0);
            z / (z + 2.0) * Complex64::from_polar(1.0, -TAU * f * 6.2e-9)
        })
        .collect();
    let trace = FromDc { step: f[1], values: s, dc_doubt: None };
    let step = Fourier::new().step(&trace, Window::Kaiser(6.0)).unwrap();
    let mut area = 0.0;
    let mut peak = 0.0;
    for (k, v) in step.values.iter().enumerate() {
        if (step.time(k) - 6.2e-9).abs() < 0.5e-9 {
            area += v * step.step;
        }
        if *v > peak {
            peak = *v;
        }
    }
    assert!((peak - stored["inductance"]["step_peak"].as_f64().unwrap()).abs() < 1e-14);
    assert!((area - stored["inductance"]["area"].as_f64().unwrap()).abs() < 1e-25);
    assert!((area * 100.0 - inductance).abs() < 1e-5 * inductance);
}

#[test]
fn the_zoom_agrees_with_scipy_and_with_the_sum_written_out() {
    let stored = stored();
    let f = uniform(0.0, 10e9, 401);
    let s = reflectors(&f, &[(0.1, 1.1e-9), (-0.05, 1.17e-9), (0.02, 3.3e-9)]);
    let times = Zoom { start: 0.9e-9, step: 13e-12, count: 40 };
    let window = Window::Kaiser(6.0);
    let ours = Fourier::new().zoom(&f, &s, window, Mode::LowPass, times).unwrap();
    for (value, theirs) in ours.values.iter().zip(stored["zoom"].as_array().unwrap()) {
        assert!((value.re - theirs.as_f64().unwrap()).abs() < 1e-12);
    }
    let ours = Fourier::new().zoom(&f, &s, window, Mode::BandPass, times).unwrap();
    let weights = window.weights(401, Mode::BandPass);
    for (m, value) in ours.values.iter().enumerate() {
        let time = times.start + times.step * m as f64;
        let slow: Complex64 = f
            .iter()
            .zip(&s)
            .zip(&weights)
            .map(|((f, s), w)| s * w * Complex64::from_polar(1.0, TAU * f * time))
            .sum();
        let slow = slow / weights.iter().sum::<f64>();
        assert!((value - slow).norm() < 1e-12, "{m}");
    }
}

#[test]
fn a_zoom_needs_times_and_a_start_at_dc() {
    let f = uniform(1e9, 10e9, 11);
    let s = reflectors(&f, &[(0.1, 1e-9)]);
    let mut fourier = Fourier::new();
    let times = Zoom { start: 0.0, step: 1e-12, count: 10 };
    let mut ask = |mode, times| fourier.zoom(&f, &s, Window::Hamming, mode, times);
    assert!(matches!(ask(Mode::LowPass, times), Err(NetworkError::DcRefused { .. })));
    assert!(ask(Mode::BandPass, Zoom { start: f64::NAN, ..times }).is_err());
    assert!(ask(Mode::BandPass, Zoom { count: 0, ..times }).is_err());
    assert!(ask(Mode::BandPass, Zoom { count: usize::MAX, ..times }).is_err());
}

#[test]
fn a_gate_holds_to_the_band_edges() {
    // scikit-rf 2.2.0 with its default gate: 5.9 off at index 0, 1.9 at the end.
    let stored = stored();
    let trace = trace(&[(0.05, 2e-9), (0.1, 6.2e-9)], 10e9, 1001);
    let ours = Fourier::new().gate_low_pass(&trace, Gate::new(6.2e-9, 2e-9)).unwrap();
    let f = uniform(0.0, 10e9, 1001);
    let band = Fourier::new().gate_band_pass(&f, &trace.values, Gate::new(6.2e-9, 2e-9)).unwrap();
    for (k, allowed) in
        [(0_usize, 1.2e-4), (10, 1.2e-4), (100, 1e-6), (500, 1e-7), (990, 1.2e-4), (1000, 3e-4)]
    {
        let truth = Complex64::from_polar(0.1, -TAU * f[k] * 6.2e-9);
        let error = (ours[k] - truth).norm();
        let theirs = stored["gate"]["fft_cosine"][k.to_string()][1].as_f64().unwrap();
        assert!(error < allowed && error < theirs, "low-pass {k}: {error}");
        let error = (band[k] - truth).norm();
        assert!(error < allowed && error < theirs, "band-pass {k}: {error}");
    }
}

#[test]
fn a_gate_keeps_a_centred_reflector_exactly() {
    let trace = trace(&[(0.3, 1.234e-9)], 26.5e9, 531);
    let ours = Fourier::new().gate_low_pass(&trace, Gate::new(1.234e-9, 0.4e-9)).unwrap();
    for (gated, truth) in ours.iter().zip(&trace.values) {
        assert!((gated - truth).norm() < 1e-12);
    }
}

#[test]
fn a_gate_of_no_width_or_beyond_the_range_is_refused() {
    let trace = trace(&[(0.1, 1e-9)], 10e9, 101);
    for (centre, span) in [(1e-9, 0.0), (1e-9, -1.0), (1e-9, f64::NAN), (1e-9, 1.0), (f64::NAN, 1e-9)] {
        assert!(Fourier::new().gate_low_pass(&trace, Gate::new(centre, span)).is_err(), "{centre} {span}");
    }
}

#[test]
fn dc_is_extrapolated_for_near_reflections_and_refused_for_far_ones() {
    let list = [(0.1, 0.6e-9), (0.09, 1.2e-9)];
    let step = 10e6;
    let f: Vec<f64> = (1..=1000).map(|k| step * f64::from(k)).collect();
    let s = reflectors(&f, &list);
    let filled = from_dc(&f, &s, 1.2e-9).unwrap();
    assert!((filled.values[0].re - 0.19).abs() < 1e-6, "{}", filled.values[0].re);
    assert!(filled.dc_doubt.unwrap() < 1e-4);
    // The case in which magnitude and phase extrapolation gave −0.458.
    let f: Vec<f64> = (0..900).map(|k| 300e6 + step * f64::from(k)).collect();
    let s = reflectors(&f, &[(0.1, 0.6e-9), (0.09, 6.2e-9)]);
    assert!(matches!(from_dc(&f, &s, 6.2e-9), Err(NetworkError::DcRefused { .. })));
    // 45 MHz start and 9.965 MHz step: not harmonic.
    let f: Vec<f64> = (0..900).map(|k| 45e6 + 9.965e6 * f64::from(k)).collect();
    assert!(matches!(from_dc(&f, &reflectors(&f, &list), 1e-9), Err(NetworkError::DcRefused { .. })));
    // A far reflector with a coarse step.
    let f: Vec<f64> = (1..=200).map(|k| 90e6 * f64::from(k)).collect();
    assert!(from_dc(&f, &reflectors(&f, &list), 6.2e-9).is_err());
    assert!(from_dc(&f, &reflectors(&f, &list), f64::NAN).is_err());
}

#[test]
fn reach_says_how_far_and_how_fine() {
    let f: Vec<f64> = (1..=200).map(|k| 90e6 * f64::from(k)).collect();
    let seen = reach(&f, Window::Kaiser(6.0), Mode::LowPass, 0.70).unwrap();
    assert!((seen.alias_free_time - 11.1e-9).abs() < 0.05e-9);
    assert!((seen.alias_free_distance - 1.17).abs() < 0.005);
    assert!(reach(&f, Window::Hamming, Mode::LowPass, 0.0).is_err());
    assert!(reach(&f, Window::Hamming, Mode::LowPass, f64::NAN).is_err());
}

#[test]
fn widths_are_those_of_the_literature_and_twice_in_band_pass() {
    for ((_, window), width) in WINDOWS.iter().zip([0.603, 0.908, 0.978, 1.388]) {
        let low = half_height_width(*window, Mode::LowPass).unwrap();
        assert!((low - width).abs() < 2e-3, "{window:?} {low}");
        let band = half_height_width(*window, Mode::BandPass).unwrap();
        assert!((band - 2.0 * low).abs() < 8e-3, "{window:?} {band}");
    }
}

fn line_two_port() -> Vec<Complex64> {
    uniform(0.2e9, 18e9, 90)
        .iter()
        .flat_map(|f| {
            let d = Complex64::from_polar((-0.08 * (f / 18e9).sqrt()).exp(), -TAU * f * 1e-9);
            let r = 0.1;
            let den = Complex64::new(1.0, 0.0) - d * d * (r * r);
            let reflect = (Complex64::new(1.0, 0.0) - d * d) * r / den;
            let through = d * (1.0 - r * r) / den;
            [reflect, through, through, reflect]
        })
        .collect()
}

fn two_port(s: Vec<Complex64>) -> Sweep {
    Sweep::new(uniform(0.2e9, 18e9, 90), vec![50.0, 50.0], s).unwrap()
}

#[test]
fn initial_metrics_agree_with_scikit_rf() {
    let stored = stored();
    let plain = line_two_port();
    let turn = Complex64::from_polar(1.02, 0.01);
    let unequal = plain.iter().enumerate().map(|(k, v)| if k % 4 == 1 { v * turn } else { *v }).collect();
    let cases = [
        ("plain", plain.clone()),
        ("times_1_12", plain.iter().map(|v| v * 1.12).collect()),
        ("not_reciprocal", unequal),
        ("conjugate", plain.iter().map(Complex64::conj).collect()),
    ];
    for (name, s) in cases {
        let ours = initial_metrics(&two_port(s)).unwrap();
        let theirs = &stored["ieee370"][name];
        for (key, value) in
            [("passivity", ours.passivity), ("reciprocity", ours.reciprocity), ("causality", ours.causality)]
        {
            assert!((value - theirs[key].as_f64().unwrap()).abs() < 1e-8, "{name} {key} {value}");
        }
    }
}

#[test]
fn column_powers_below_one_do_not_make_a_network_passive() {
    let s = vec![Complex64::new(0.6, 0.0); 4];
    let sweep = Sweep::new(vec![1e9], vec![50.0, 50.0], s).unwrap();
    let report = passivity(&sweep, 0.0, 0.0).unwrap();
    assert!((report.worst - 1.2).abs() < 1e-15);
    assert!(!report.holds());
    assert!(passivity(&sweep, 0.0, 0.3).unwrap().holds());
    assert!(passivity(&sweep, f64::NAN, 0.0).is_err());
}

#[test]
fn a_lossless_network_is_passive_within_rounding() {
    // A zero tolerance calls such a network active at 1.000000001.
    let s = [(0.6, 0.0), (0.0, 0.8), (0.0, 0.8), (0.6, 0.0)].map(|(re, im)| Complex64::new(re, im));
    let sweep = Sweep::new(vec![1e9], vec![50.0, 50.0], s.map(|v| v * 1.000_000_001).to_vec()).unwrap();
    assert!(passivity(&sweep, 0.0, 0.0).unwrap().holds());
}

#[test]
fn the_two_port_formula_agrees_with_the_general_one() {
    let plain = line_two_port();
    let formula = largest_singular_values(&two_port(plain.clone()));
    // The same two-port beside an unconnected third port.
    let zero = Complex64::new(0.0, 0.0);
    let wide = plain.chunks(4).flat_map(|m| [m[0], m[1], zero, m[2], m[3], zero, zero, zero, zero]).collect();
    let wide = Sweep::new(uniform(0.2e9, 18e9, 90), vec![50.0; 3], wide).unwrap();
    for (a, b) in formula.iter().zip(largest_singular_values(&wide)) {
        assert!((a - b).abs() < 1e-12);
    }
}

#[test]
fn reciprocity_names_the_worst_frequency() {
    let mut s = line_two_port();
    s[4 * 30 + 1] += Complex64::new(0.0, 1e-3);
    let (worst, at) = reciprocity(&two_port(s)).unwrap();
    assert!((worst - 1e-3).abs() < 1e-12);
    assert!((at - (0.2e9 + 0.2e9 * 30.0)).abs() < 1.0);
    let one = Sweep::new(vec![1e9], vec![50.0], vec![Complex64::new(0.1, 0.0)]).unwrap();
    assert_eq!(reciprocity(&one), None);
}

#[test]
fn a_grid_is_described() {
    let sweep = two_port(line_two_port());
    let seen = grid(&sweep);
    assert!(seen.harmonic);
    assert!((seen.step.unwrap() - 0.2e9).abs() < 1.0);
    let odd = Sweep::new(vec![1e9, 2e9, 4e9], vec![50.0], vec![Complex64::new(0.1, 0.0); 3]).unwrap();
    assert_eq!(grid(&odd).step, None);
}

#[test]
fn the_noise_floor_bounds_added_noise() {
    use rand::RngExt as _;
    let mut random = rand_pcg::Pcg64::new(7, 11);
    let f = uniform(0.0, 10e9, 2001);
    let mut s = reflectors(&f, &[(0.1, 1e-9)]);
    let sigma = 1e-3;
    for v in &mut s {
        let (u1, u2): (f64, f64) = (random.random(), random.random());
        let r = sigma * (-2.0 * (1.0 - u1).ln()).sqrt();
        *v += Complex64::from_polar(r, TAU * u2);
    }
    let found = noise_floor(&s).unwrap();
    assert!((found / sigma - 1.0).abs() < 0.1, "{found}");
    assert!(noise_floor(&s[..4]).is_err());
}

#[test]
fn a_difference_that_arrives_before_zero_is_noticed() {
    let mut fourier = Fourier::new();
    let good = energy_before_zero(&mut fourier, &trace(&[(0.01, 3e-9)], 10e9, 1001)).unwrap();
    let bad = energy_before_zero(&mut fourier, &trace(&[(0.01, -3e-9)], 10e9, 1001)).unwrap();
    assert!(good < 1e-3 && bad > 0.99, "{good} {bad}");
}
