//! Times one thing and prints milliseconds per repetition, then a checksum.
//!
//! `parse FILE REPETITIONS`, `parse-crate FILE REPETITIONS` (the crate
//! `touchstone`), `memory FILE` (peak over what is kept), `gate POINTS REPETITIONS`, `verdict REPETITIONS`.
//! `compare.py` calls it in turn with scikit-rf.

use std::f64::consts::TAU;
use std::time::Instant;

use matewell_network::Sweep;
use matewell_network::gate::Gate;
use matewell_network::joints::{Chain, Joint, Section, Settings, judge};
use matewell_network::touchstone::{ReadOptions, Strictness, ports_from_file_name, read};
use matewell_network::transform::{Fourier, FromDc};
use matewell_network::window::Window;
use num_complex::Complex64;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let word = |k: usize| arguments.get(k).map_or("", String::as_str);
    match word(1) {
        "parse" => parse(word(2), word(3).parse().unwrap_or(5)),
        "parse-crate" => parse_crate(word(2), word(3).parse().unwrap_or(5)),
        "memory" => memory(word(2)),
        "gate" => gate(word(2).parse().unwrap_or(10_001), word(3).parse().unwrap_or(20)),
        "verdict" => verdict(word(2).parse().unwrap_or(50)),
        _ => eprintln!("expected parse, gate or verdict"),
    }
}

fn times(repetitions: usize, mut work: impl FnMut() -> f64) {
    let mut sum = work();
    for _ in 0..repetitions {
        let start = Instant::now();
        sum = work();
        println!("{}", start.elapsed().as_secs_f64() * 1e3);
    }
    println!("checksum {sum:.15e}");
}

fn parse(name: &str, repetitions: usize) {
    let options = ReadOptions { strictness: Strictness::Strict, ports_from_name: ports_from_file_name(name) };
    times(repetitions, || {
        // Opening the file counts: the other side opens it too.
        let bytes = std::fs::read(name).expect("a file");
        let sweep = read(&bytes, &options).expect("Touchstone").content.to_sweep().expect("a sweep");
        sweep.values().iter().map(|v| v.re - v.im).sum()
    });
}

/// The same by the crate `touchstone`.
fn parse_crate(name: &str, repetitions: usize) {
    times(repetitions, || {
        let network = touchstone::Network::new(name).expect("Touchstone");
        let ports = i8::try_from(network.rank).expect("few ports");
        let pairs = (1..=ports).flat_map(|j| (1..=ports).map(move |k| (j, k)));
        pairs.flat_map(|(j, k)| network.s_ri(j, k)).map(|v| v.s_ri.real() - v.s_ri.imaginary()).sum()
    });
}

/// Highest resident memory above the program's own and the file's bytes, over
/// the size of the frequencies and values kept.
fn memory(name: &str) {
    let options = ReadOptions { strictness: Strictness::Strict, ports_from_name: ports_from_file_name(name) };
    let bytes = std::fs::read(name).expect("a file");
    let before = peak_kilobytes();
    let content = read(&bytes, &options).expect("Touchstone").content;
    let after = peak_kilobytes();
    let sweep = content.to_sweep().expect("a sweep");
    let kept = (sweep.frequencies().len() * 8 + sweep.values().len() * 16) as f64 / 1024.0;
    println!("read: {:.0} kB above the file for {kept:.0} kB kept, {:.2} times", after - before, (after - before) / kept);
}

fn peak_kilobytes() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).expect("a peak");
    line.trim().trim_end_matches(" kB").parse().expect("a number")
}

fn gate(points: usize, repetitions: usize) {
    // A program that has read a sweep has freed a block larger than these;
    // before that the C library gives each buffer back to the system.
    drop(std::hint::black_box(vec![1_u8; 4 << 20]));
    let step = 10e9 / (points - 1) as f64;
    let values = (0..points)
        .map(|k| {
            let w = TAU * step * k as f64;
            Complex64::from_polar(0.05, -w * 2e-9) + Complex64::from_polar(0.1, -w * 6.2e-9)
        })
        .collect();
    let trace = FromDc { step, values, dc_doubt: None };
    let mut fourier = Fourier::new();
    times(repetitions, || {
        let impulse = fourier.impulse(&trace, Window::Hamming).expect("an impulse");
        let gated = fourier.gate_low_pass(&trace, Gate::new(6.2e-9, 2e-9)).expect("a gate");
        impulse.values.first().copied().unwrap_or(0.0) + gated.get(points / 2).map_or(0.0, |v| v.norm())
    });
}

fn verdict(repetitions: usize) {
    let lengths = [0.62, 0.035, 0.90];
    let velocity = [0.70, 1.0, 0.70];
    let f: Vec<f64> = (1..=1325).map(|k| 20e6 * f64::from(k)).collect();
    let sweep = |extra: f64| {
        let mut state = 1_u64;
        let s = f
            .iter()
            .map(|f| {
                let w = TAU * f;
                let (mut delay, mut sum) = (0.0, Complex64::new(0.0, 0.0));
                for k in 0..4 {
                    if k > 0 {
                        delay += lengths[k - 1] / (velocity[k - 1] * 299_792_458.0);
                    }
                    let l = 1e-12 + if k == 2 { extra } else { 0.0 };
                    let local = Complex64::new(0.0, w * (l / 100.0 - 3e-13));
                    sum += local * Complex64::from_polar(1.0, -2.0 * w * delay);
                }
                let mut noise = || {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    ((state >> 33) as f64 / 2_147_483_648.0 - 0.5) * 4e-4
                };
                sum + Complex64::new(noise(), noise())
            })
            .collect();
        Sweep::new(f.clone(), vec![50.0], s).expect("a sweep")
    };
    let (base, now) = (sweep(0.0), sweep(5.93e-12));
    let joints = (1..=4)
        .map(|k| Joint {
            name: format!("joint {k}"),
            scatter_inductance: 0.5e-12,
            scatter_resistance: 3e-3,
            inductance_per_gap: Some(0.0989e-6),
        })
        .collect();
    let sections = (0..3)
        .map(|c| Section {
            length: lengths[c],
            length_uncertainty: 1e-3,
            velocity_factor: velocity[c],
            loss_at_1_ghz: 0.0,
            flexible: c != 1,
        })
        .collect();
    let chain = Chain::new(joints, sections).expect("a chain");
    let settings = Settings {
        noise: 1.2e-4,
        model_floor: 2e-4,
        offset_drift: 1e-3,
        tracking_drift: 2e-3,
        cable_phase: 1.0,
        largest_cable_phase: 15.0,
        largest_chi_square: 4.0,
        false_alarm: 0.01,
        separation: 10.0,
        change_of_interest: 6e-12,
    };
    times(repetitions, || {
        let verdict = judge(&base, &now, 1, &chain, &settings).expect("a verdict");
        verdict.joints.get(2).map_or(f64::NAN, |j| j.inductance)
    });
}
