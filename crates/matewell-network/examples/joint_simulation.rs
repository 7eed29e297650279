//! How often is the right joint named? Seeds and rates against two plain ways
//! of looking, on the same sweeps.
//!
//! `cargo run --release -p matewell-network --example joint_simulation [trials] [seed] [first row]`
//!
//! The chain: port – joint 1 – 0.62 m cable – joint 2 – 35 mm adapter – joint 3
//! – 0.90 m cable – joint 4 – load. Cascaded exactly, with beads, losses,
//! remade joints, moved cables, drift and noise. Simulation, not lab data.

use std::f64::consts::TAU;

use matewell_network::Sweep;
use matewell_network::joints::{Chain, Finding, Joint, Refusal, Section, Settings, judge};
use matewell_network::transform::{Fourier, Zoom};
use matewell_network::window::{Mode, Window};
use num_complex::Complex64;
use rand::RngExt as _;
use rand_pcg::Pcg64;

const J: Complex64 = Complex64::new(0.0, 1.0);
const LIGHT: f64 = 299_792_458.0;
const PER_GAP: f64 = 0.0989e-6;
/// Mean distance of a bead from its joint, in metres of air line.
const MEAN_BEAD_PLACE: f64 = 1.4e-3;
const LENGTHS: [f64; 3] = [0.62, 0.035, 0.90];
const VELOCITY: [f64; 3] = [0.70, 1.0, 0.70];
const LOSS: [f64; 3] = [0.45, 0.1, 0.45];

struct Truth {
    lengths: [f64; 3],
    loss_factor: f64,
    beads: [[f64; 2]; 4],
    bead_places: [[f64; 2]; 4],
    load: f64,
}

struct Make {
    inductance: [f64; 4],
    resistance: [f64; 4],
    delay: [f64; 3],
    offset: [Complex64; 3],
    tracking: [Complex64; 3],
}

fn normal(random: &mut Pcg64) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (TAU * v).cos()
}

fn complex(random: &mut Pcg64) -> Complex64 {
    Complex64::new(normal(random), normal(random)) / 2.0_f64.sqrt()
}

fn sweep(f: &[f64], truth: &Truth, make: &Make, noise: f64, random: &mut Pcg64) -> Sweep {
    let highest = f[f.len() - 1];
    let s = f
        .iter()
        .map(|&f| {
            let w = TAU * f;
            // Impedance looking outward, from the load back to the port.
            let mut gamma =
                Complex64::new(truth.load, 0.0) * Complex64::from_polar(1.0, -2.0 * w * 5e-3 / LIGHT);
            for k in (0..4).rev() {
                // A bead on each side: shunt capacitance a little way off.
                let shunt = |gamma: Complex64, c: f64| {
                    let y = (1.0 - gamma) / (1.0 + gamma) + J * (w * c * 50.0);
                    (1.0 - y) / (1.0 + y)
                };
                let shift =
                    |gamma: Complex64, d: f64| gamma * Complex64::from_polar(1.0, -2.0 * w * d / LIGHT);
                gamma = shift(shunt(gamma, truth.beads[k][1]), truth.bead_places[k][1]);
                let z = (1.0 + gamma) / (1.0 - gamma)
                    + (J * (w * make.inductance[k]) + make.resistance[k]) / 50.0;
                gamma = (z - 1.0) / (z + 1.0);
                // The bead on the port's side of joint 1 is calibrated out.
                if k > 0 {
                    gamma = shunt(shift(gamma, truth.bead_places[k][0]), truth.beads[k][0]);
                }
                if let Some(c) = k.checked_sub(1) {
                    let delay = truth.lengths[c] / (VELOCITY[c] * LIGHT) + make.delay[c];
                    let neper = truth.lengths[c] * LOSS[c] * truth.loss_factor * (f * 1e-9).sqrt() / 8.686;
                    gamma *= Complex64::from_polar((-2.0 * neper).exp(), -2.0 * w * delay);
                }
            }
            let u = f / highest;
            let poly = |p: &[Complex64; 3]| p[0] + p[1] * u + p[2] * u * u;
            gamma
                + poly(&make.offset)
                + poly(&make.tracking) * gamma
                + Complex64::new(normal(random), normal(random)) * noise
        })
        .collect();
    Sweep::new(f.to_vec(), vec![50.0], s).expect("a finite sweep")
}

#[derive(Clone, Copy)]
struct Case {
    gap: f64,
    flex: f64,
    drift: f64,
    told_flex_limit: f64,
}

#[derive(Default, Clone)]
struct Tally {
    trials: usize,
    right: usize,
    in_set: usize,
    wrong: usize,
    alarm: usize,
    refused: usize,
    refused_cable: usize,
    peak: usize,
    difference: usize,
    fit_peak: usize,
    per_joint: [[usize; 2]; 4],
    sizes: Vec<f64>,
    covered: usize,
    chi: Vec<f64>,
    degrees: Vec<f64>,
}

fn chain(told: &[f64; 3]) -> Chain {
    let joint = |k: usize| Joint {
        name: format!("joint {k}"),
        scatter_inductance: 5e-6 * PER_GAP,
        scatter_resistance: 3e-3,
        inductance_per_gap: Some(PER_GAP),
    };
    let section = |c: usize| Section {
        length: told[c],
        length_uncertainty: if c == 1 { 0.3e-3 } else { 1.2e-3 },
        velocity_factor: VELOCITY[c],
        loss_at_1_ghz: LOSS[c],
        flexible: c != 1,
    };
    Chain::new((1..=4).map(joint).collect(), (0..3).map(section).collect()).expect("a valid chain")
}

fn settings(limit: f64) -> Settings {
    Settings {
        noise: 10_f64.powf(-75.0 / 20.0) / 2.0_f64.sqrt(),
        model_floor: 2e-4,
        offset_drift: 1e-3,
        tracking_drift: 2e-3,
        cable_phase: 1.0,
        largest_cable_phase: limit,
        largest_chi_square: 4.0,
        false_alarm: 0.01,
        separation: 10.0,
        change_of_interest: 60e-6 * PER_GAP,
    }
}

/// Places where each joint's reflection appears, round trip.
fn delays(told: &[f64; 3]) -> [f64; 4] {
    let mut at = [0.0; 4];
    for k in 1..4 {
        at[k] = at[k - 1] + 2.0 * told[k - 1] / (VELOCITY[k - 1] * LIGHT);
    }
    at
}

/// The joint whose neighbourhood (±60 ps) holds the tallest band-pass
/// response, after the known loss is taken out.
fn tallest(fourier: &mut Fourier, f: &[f64], s: &[Complex64], told: &[f64; 3]) -> usize {
    let mut best = (0, 0.0);
    let mut neper = 0.0;
    for (k, at) in delays(told).iter().enumerate() {
        if k > 0 {
            neper += told[k - 1] * LOSS[k - 1] * (f[f.len() - 1] * 0.5e-9).sqrt() / 8.686;
        }
        let zoom = Zoom { start: at - 60e-12, step: 3e-12, count: 41 };
        let response = fourier.zoom(f, s, Window::Kaiser(6.0), Mode::BandPass, zoom).expect("a uniform grid");
        for value in response.values {
            let height = value.norm() * (2.0 * neper).exp();
            if height > best.1 {
                best = (k, height);
            }
        }
    }
    best.0
}

fn run(f: &[f64], case: Case, trials: usize, seed: u64) -> Tally {
    let mut random = Pcg64::new(u128::from(seed), 0xa02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96);
    let highest = f[f.len() - 1];
    let mut tally = Tally::default();
    let mut fourier = Fourier::new();
    for trial in 0..trials {
        let told = LENGTHS;
        let mut lengths = told;
        for (c, length) in lengths.iter_mut().enumerate() {
            *length += 1e-3 * normal(&mut random) * if c == 1 { 0.1 } else { 1.0 };
            // The lengths told are from joint to joint, beads included.
            *length -= 2.0 * MEAN_BEAD_PLACE * VELOCITY[c];
        }
        let mut uniform = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
        let truth = Truth {
            lengths,
            loss_factor: 1.0 + 0.03 * uniform(-1.7, 1.7),
            beads: std::array::from_fn(|_| std::array::from_fn(|_| uniform(10e-15, 15e-15))),
            bead_places: std::array::from_fn(|_| std::array::from_fn(|_| uniform(0.8e-3, 2.0e-3))),
            load: uniform(0.01, 0.03),
        };
        let faulty = trial % 4;
        let make = |random: &mut Pcg64, gap: f64, after: bool| Make {
            inductance: std::array::from_fn(|k| {
                let extra = if k == faulty { gap } else { 0.0 };
                (10e-6 + 5e-6 * normal(random) + extra) * PER_GAP
            }),
            resistance: std::array::from_fn(|_| 5e-3 + 3e-3 * normal(random)),
            delay: std::array::from_fn(|c| {
                if after && c != 1 { case.flex / 360.0 / highest * normal(random) } else { 0.0 }
            }),
            offset: std::array::from_fn(|p| {
                if after && p < 2 { complex(random) * case.drift } else { Complex64::default() }
            }),
            tracking: std::array::from_fn(|p| {
                if after && p < 2 { complex(random) * 2.0 * case.drift } else { Complex64::default() }
            }),
        };
        let noise = 10_f64.powf(-75.0 / 20.0) / 2.0_f64.sqrt();
        let before = make(&mut random, 0.0, false);
        let base = sweep(f, &truth, &before, noise, &mut random);
        let after = make(&mut random, case.gap, true);
        let now = sweep(f, &truth, &after, noise, &mut random);
        let told_chain = chain(&told);
        let verdict =
            judge(&base, &now, 1, &told_chain, &settings(case.told_flex_limit)).expect("the same grid");
        tally.trials += 1;
        tally.per_joint[faulty][1] += 1;
        tally.chi.push(verdict.reduced_chi_square);
        tally.degrees.extend(
            [0, 2]
                .iter()
                .filter_map(|&c| Some(verdict.cable_degrees.get(c)? - after.delay[c] * 360.0 * highest)),
        );
        match &verdict.finding {
            Finding::Refused(why) => {
                tally.refused += 1;
                tally.refused_cable += usize::from(matches!(why, Refusal::CableMoved { .. }));
            }
            Finding::Joint(k) if *k == faulty => {
                tally.alarm += 1;
                tally.right += 1;
                tally.per_joint[faulty][0] += 1;
            }
            Finding::Joint(_) => {
                tally.alarm += 1;
                tally.wrong += 1;
            }
            Finding::OneOf(list) | Finding::Several(list) => {
                tally.alarm += 1;
                if list.contains(&faulty) {
                    tally.in_set += 1;
                } else {
                    tally.wrong += 1;
                }
            }
            _ => {}
        }
        if let Some(j) = verdict.joints.get(faulty) {
            let error = j.inductance - (after.inductance[faulty] - before.inductance[faulty]);
            tally.sizes.push(error / PER_GAP * 1e6);
            let change = case.gap * PER_GAP;
            tally.covered += usize::from((j.inductance - change).abs() <= 2.0 * j.inductance_uncertainty);
        }
        let strongest = verdict
            .joints
            .iter()
            .enumerate()
            .fold((0, 0.0), |b, (k, j)| if j.evidence > b.1 { (k, j.evidence) } else { b });
        tally.fit_peak += usize::from(strongest.0 == faulty);
        let s_now = now.values().to_vec();
        let difference: Vec<Complex64> = now.values().iter().zip(base.values()).map(|(a, b)| a - b).collect();
        tally.peak += usize::from(tallest(&mut fourier, f, &s_now, &told) == faulty);
        tally.difference += usize::from(tallest(&mut fourier, f, &difference, &told) == faulty);
    }
    tally
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let trials = arguments.next().and_then(|t| t.parse().ok()).unwrap_or(200);
    let seed = arguments.next().and_then(|t| t.parse().ok()).unwrap_or(20_260_601);
    let first = arguments.next().and_then(|t| t.parse().ok()).unwrap_or(0);
    println!(
        "{trials} trials per row, seed {seed}; per cent. Right: that joint alone is named. Set: a set that holds it."
    );
    println!(
        "{:>6} {:>5} {:>5} {:>6} | {:>6} {:>5} {:>6} {:>6} {:>7} {:>6} | {:>20} | {:>5} {:>5} {:>6} | {:>6} {:>6} | {:>6} {:>6}",
        "GHz",
        "gap",
        "flex",
        "drift",
        "right",
        "set",
        "wrong",
        "alarm",
        "refuse",
        "rt/ans",
        "right, joints 1-4",
        "peak",
        "FFT d",
        "fit mx",
        "sd µm",
        "cover",
        "chi2",
        "sd deg"
    );
    let mut rows = Vec::new();
    for highest in [26.5e9, 18e9, 6e9] {
        for flex in [1.0, 5.0] {
            for gap in [0.0, 30e-6, 60e-6, 120e-6] {
                rows.push((highest, Case { gap, flex, drift: 1e-3, told_flex_limit: 15.0 }));
            }
        }
    }
    for flex in [1.0, 5.0] {
        for gap in [0.0, 60e-6, 120e-6] {
            rows.push((26.5e9, Case { gap, flex, drift: 3.16e-3, told_flex_limit: 15.0 }));
        }
    }
    for gap in [0.0, 60e-6] {
        rows.push((26.5e9, Case { gap, flex: 1.0, drift: 1e-2, told_flex_limit: 15.0 }));
    }
    for (number, (highest, case)) in rows.into_iter().enumerate().skip(first) {
        let points: usize = if highest > 20e9 {
            1325
        } else if highest > 10e9 {
            900
        } else {
            300
        };
        let step = highest / points as f64;
        let f: Vec<f64> = (1..=points).map(|k| step * k as f64).collect();
        let t = run(&f, case, trials, seed + number as u64);
        let part = |n: usize| 100.0 * n as f64 / t.trials as f64;
        let mean_square = |v: &[f64]| (v.iter().map(|x| x * x).sum::<f64>() / v.len() as f64).sqrt();
        let joints: Vec<String> = t
            .per_joint
            .iter()
            .map(|[right, of]| format!("{:.0}", 100.0 * *right as f64 / *of as f64))
            .collect();
        let mut chi = t.chi.clone();
        chi.sort_by(f64::total_cmp);
        println!(
            "{:>6.1} {:>5.0} {:>5.0} {:>6.0} | {:>6.1} {:>5.1} {:>6.1} {:>6.1} {:>7.1} {:>6.1} | {:>20} | {:>5.0} {:>5.0} {:>6.0} | {:>6.1} {:>6.0} | {:>6.2} {:>6.2}",
            highest * 1e-9,
            case.gap * 1e6,
            case.flex,
            20.0 * case.drift.log10(),
            part(t.right),
            part(t.in_set),
            part(t.wrong),
            part(t.alarm),
            part(t.refused),
            100.0 * t.right as f64 / (t.trials - t.refused) as f64,
            joints.join(" "),
            part(t.peak),
            part(t.difference),
            part(t.fit_peak),
            mean_square(&t.sizes),
            part(t.covered),
            chi[chi.len() / 2],
            mean_square(&t.degrees),
        );
    }
}
