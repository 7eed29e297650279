//! Sweeps of one chain, one of them after a joint changed.
//!
//! Computed, not measured: port, 0.62 m cable, 35 mm adapter, 0.90 m cable,
//! load, with a bead on each side of every joint, losses, joints made up anew,
//! cables that moved a little, drift and noise. Values are rounded to seven
//! decimals, so that the last bits of a platform's sine do not show.

use crate::{DAYS, DemoLab};
use matewell_lab::{
    EndId, Fact, FactBody, FactId, FactSource, MICROSECONDS_PER_DAY, Moment, Resolution, SweepNoted,
};
use matewell_network::{
    Sweep,
    error::{NetworkError, WriteError},
    touchstone::{Form, Format, FrequencyUnit, Touchstone, Version, write},
};
use matewell_quantity::Frequency;
use num_complex::Complex64;
use rand::Rng as _;
use rand_pcg::Pcg64;
use sha2::{Digest, Sha256};
use std::f64::consts::TAU;

/// The chain, from the port outward.
pub const SWEPT_CHAIN: [&str; 8] =
    ["IN-001P2", "CB-015A", "CB-015B", "AD-001A", "AD-001B", "CB-013A", "CB-013B", "CS-003A"];

/// The joint that changed before the last sweep, from 0: AD-001B with CB-013A.
pub const CHANGED_JOINT: usize = 2;

/// By how much its inductance grew, in picohenries: 60 µm of gap in a 3.5 mm
/// line (0.0989 pH/µm).
pub const CHANGED_BY_PH: f64 = 5.93;

/// What lies between the joints, as the workshop wrote it down.
pub const SWEPT_LAYOUT: &str = r#"# From the port outward: one section between each two joints.
[[section]]
name = "CB-015"
length_mm = 620
velocity_factor = 0.70
loss_db_per_m_at_1_ghz = 0.45
flexible = true

[[section]]
name = "AD-001"
length_mm = 35
length_uncertainty_mm = 0.3
velocity_factor = 1.0
loss_db_per_m_at_1_ghz = 0.1
flexible = false

[[section]]
name = "CB-013"
length_mm = 900
velocity_factor = 0.70
loss_db_per_m_at_1_ghz = 0.45
flexible = true
"#;

const STREAM: u128 = 0x7377_6565_7073;
const J: Complex64 = Complex64::new(0.0, 1.0);
const LIGHT: f64 = 299_792_458.0;
/// Of the lines between the beads: less than the layout says by what lies
/// between bead and joint, and by a few tenths of a millimetre that nobody knows.
const LENGTHS: [f64; 3] = [0.618_44, 0.0322, 0.897_34];
const VELOCITY: [f64; 3] = [0.70, 1.0, 0.70];
const LOSS: [f64; 3] = [0.45, 0.1, 0.45];
/// Shunt capacitance of the beads before and behind each joint, in farads.
const BEADS: [[f64; 2]; 4] = [[11e-15, 12e-15], [13e-15, 10e-15], [12e-15, 14e-15], [11e-15, 13e-15]];
/// How far from the joint they lie, in metres of air line.
const BEAD_PLACE: f64 = 1.4e-3;
/// −75 dB.
const NOISE: f64 = 1.26e-4;

/// A sweep and its file.
#[derive(Debug, Clone, PartialEq)]
pub struct DemoSweep {
    /// The fact.
    pub fact: Fact,
    /// The bytes of the file.
    pub bytes: Vec<u8>,
}

/// One sweep as planned.
struct Plan {
    /// Days before the end of the demo.
    days_ago: i64,
    name: &'static str,
    shape: &'static str,
    good: bool,
    changed: bool,
    /// Step in hertz and number of steps, the first at one step.
    grid: (f64, u32),
    note: Option<&'static str>,
}

const COARSE: (f64, u32) = (20e6, 1325);
const FINE: (f64, u32) = (2.5e6, 10_600);
const JIG: &str = "in the jig";

const fn plan(days_ago: i64, name: &'static str, changed: bool, grid: (f64, u32)) -> Plan {
    Plan { days_ago, name, shape: JIG, good: !changed, changed, grid, note: None }
}

const PLANS: [Plan; 8] = [
    plan(80, "port2-chain-01.s1p", false, COARSE),
    plan(60, "port2-chain-02.s1p", false, COARSE),
    plan(41, "port2-chain-03.s1p", false, COARSE),
    Plan {
        shape: "free on the bench",
        note: Some("The jig was in use elsewhere."),
        ..plan(30, "port2-chain-04.s1p", false, COARSE)
    },
    plan(20, "port2-chain-05.s1p", false, COARSE),
    plan(20, "port2-chain-05-fine.s1p", false, FINE),
    plan(2, "port2-chain-06.s1p", true, COARSE),
    plan(2, "port2-chain-06-fine.s1p", true, FINE),
];

/// The sweeps of the demo lab. Deterministic for the lab, the end and the seed.
///
/// # Errors
///
/// None for a lab of [`crate::demo_lab`]; an end that is not in it, or numbers
/// that are no sweep.
pub fn demo_sweeps(lab: &DemoLab, ends_at: Moment, seed: u64) -> Result<Vec<DemoSweep>, SweepError> {
    let mut chain = Vec::new();
    for tag in SWEPT_CHAIN {
        chain.push(end_of(lab, tag).ok_or(SweepError::NoEnd(tag))?);
    }
    let machine = lab.facts.first().map(|f| f.machine).ok_or(SweepError::NoEnd("any"))?;
    let mut random = Pcg64::new(u128::from(seed), STREAM);
    let today = ends_at.microseconds().div_euclid(MICROSECONDS_PER_DAY);
    let mut all = Vec::new();
    for (plan, order) in PLANS.iter().zip(0_i64..) {
        let sweep = simulated(plan, &mut random)?;
        let form = Form { version: Version::V1_0, unit: FrequencyUnit::Ghz, format: Format::RealImaginary };
        let comments = vec![
            " Larkmoor Receiver Workshop. Computed for the demonstration, not measured.".to_owned(),
            format!(" {}", plan.name),
        ];
        let text = write(&Touchstone::from_sweep(&sweep, form, comments)?)?;
        let day = (today - plan.days_ago.min(DAYS)).saturating_mul(MICROSECONDS_PER_DAY);
        // In the afternoon, a few minutes apart.
        let happened_at =
            Moment::from_microseconds(day.saturating_add((14 * 3600 + 300 * order) * 1_000_000));
        let edge = |f: Option<&f64>| Frequency::from_hertz(f.copied().unwrap_or(f64::NAN)).ok();
        let frequencies = sweep.frequencies();
        let (Some(from), Some(to)) = (edge(frequencies.first()), edge(frequencies.last())) else {
            return Err(SweepError::NoEnd("of the frequencies"));
        };
        let bytes = text.into_bytes();
        let noted = SweepNoted {
            chain: chain.clone(),
            port: 1,
            cable_shape: Some(plan.shape.to_owned()),
            instrument: Some("IN-001, calibrated the same morning".to_owned()),
            layout: Some(SWEPT_LAYOUT.to_owned()),
            known_good: plan.good,
            file_name: plan.name.to_owned(),
            sha256: Sha256::digest(&bytes).into(),
            bytes: bytes.len() as u64,
            ports: 1,
            points: plan.grid.1,
            from,
            to,
        };
        let recorded_at = Moment::from_microseconds(happened_at.microseconds().saturating_add(20_000_000));
        let fact = Fact {
            id: id(recorded_at, &mut random),
            machine,
            happened_at,
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at,
            person: "metrologist-1".to_owned(),
            source: FactSource::Bench,
            note: plan.note.map(str::to_owned),
            body: FactBody::SweepNoted(Box::new(noted)),
        };
        all.push(DemoSweep { fact, bytes });
    }
    Ok(all)
}

/// Why there are no sweeps.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum SweepError {
    /// The lab has no such end.
    NoEnd(&'static str),
    /// The numbers are no sweep.
    Network(NetworkError),
    /// The sweep cannot be written.
    Write(WriteError),
}

impl std::fmt::Display for SweepError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoEnd(tag) => write!(f, "expected an end {tag} in the demo lab, found none"),
            Self::Network(error) => error.fmt(f),
            Self::Write(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for SweepError {}

impl From<NetworkError> for SweepError {
    fn from(error: NetworkError) -> Self {
        Self::Network(error)
    }
}

impl From<WriteError> for SweepError {
    fn from(error: WriteError) -> Self {
        Self::Write(error)
    }
}

fn end_of(lab: &DemoLab, tag: &str) -> Option<EndId> {
    lab.facts.iter().find_map(|fact| match &fact.body {
        FactBody::Registered(r) => r.ends.iter().find(|e| e.tag == tag).map(|e| e.id),
        _ => None,
    })
}

/// A UUIDv7 of the moment.
fn id(at: Moment, random: &mut Pcg64) -> FactId {
    let milliseconds = at.microseconds().div_euclid(1000).clamp(0, (1 << 48) - 1);
    let mut bytes = [0; 16];
    let (left, right) = bytes.split_at_mut(8);
    left.copy_from_slice(&random.next_u64().to_be_bytes());
    right.copy_from_slice(&random.next_u64().to_be_bytes());
    for (byte, stamped) in bytes.iter_mut().zip(milliseconds.to_be_bytes().iter().skip(2)) {
        *byte = *stamped;
    }
    bytes[6] = (bytes[6] & 0x0f) | 0x70;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    FactId::from_bytes(bytes)
}

fn uniform(random: &mut Pcg64) -> f64 {
    (random.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
}

fn normal(random: &mut Pcg64) -> f64 {
    let (u, v) = (uniform(random), uniform(random));
    (-2.0 * (1.0 - u).ln()).sqrt() * (TAU * v).cos()
}

/// What is different each time the chain is made up.
struct Make {
    inductance: [f64; 4],
    resistance: [f64; 4],
    degrees: [f64; 3],
    offset: [Complex64; 2],
    tracking: [Complex64; 2],
}

fn make(changed: bool, random: &mut Pcg64) -> Make {
    let mut scatter = |size: f64| [(); 4].map(|()| size * normal(random));
    let mut inductance = scatter(0.3e-12).map(|l| 1e-12 + l);
    if changed && let Some(joint) = inductance.get_mut(CHANGED_JOINT) {
        *joint += CHANGED_BY_PH * 1e-12;
    }
    let resistance = scatter(1.5e-3).map(|r| 5e-3 + r.abs());
    let turn = [normal(random), 0.0, normal(random)].map(|d| 0.7 * d);
    let mut drift = |size: f64| {
        [(); 2].map(|()| Complex64::new(normal(random), normal(random)) * (size / 2.0_f64.sqrt()))
    };
    Make { inductance, resistance, degrees: turn, offset: drift(5e-4), tracking: drift(1e-3) }
}

fn simulated(plan: &Plan, random: &mut Pcg64) -> Result<Sweep, NetworkError> {
    let (step, points) = plan.grid;
    let make = make(plan.changed, random);
    let frequencies: Vec<f64> = (1..=points).map(|k| step * f64::from(k)).collect();
    let highest = step * f64::from(points);
    let s = frequencies
        .iter()
        .map(|&f| {
            let u = f / highest;
            let gamma = reflection(f, highest, &make);
            let noise = Complex64::new(normal(random), normal(random)) * NOISE;
            let [o0, o1] = make.offset;
            let [t0, t1] = make.tracking;
            let value = gamma + o0 + o1 * u + (t0 + t1 * u) * gamma + noise;
            Complex64::new(rounded(value.re), rounded(value.im))
        })
        .collect();
    Sweep::new(frequencies, vec![50.0], s)
}

/// Seven decimals.
fn rounded(value: f64) -> f64 {
    (value * 1e7).round() / 1e7
}

/// Cascaded exactly, from the load back to the port.
fn reflection(f: f64, highest: f64, make: &Make) -> Complex64 {
    let w = TAU * f;
    let shunt = |gamma: Complex64, c: f64| {
        let y = (1.0 - gamma) / (1.0 + gamma) + J * (w * c * 50.0);
        (1.0 - y) / (1.0 + y)
    };
    let shift = |gamma: Complex64, d: f64| gamma * Complex64::from_polar(1.0, -2.0 * w * d / LIGHT);
    let mut gamma = shift(Complex64::new(0.015, 0.0), 5e-3);
    let joints = BEADS.iter().zip(make.inductance.iter().zip(&make.resistance)).enumerate().rev();
    for (k, (beads, (inductance, resistance))) in joints {
        let [before, behind] = *beads;
        gamma = shift(shunt(gamma, behind), BEAD_PLACE);
        let z = (1.0 + gamma) / (1.0 - gamma) + (J * (w * inductance) + *resistance) / 50.0;
        gamma = (z - 1.0) / (z + 1.0);
        // The bead on the port's side of the first joint is calibrated out.
        let Some(c) = k.checked_sub(1) else { continue };
        gamma = shunt(shift(gamma, BEAD_PLACE), before);
        let (Some(length), Some(velocity)) = (LENGTHS.get(c), VELOCITY.get(c)) else { continue };
        let (Some(loss), Some(degrees)) = (LOSS.get(c), make.degrees.get(c)) else { continue };
        let delay = length / (velocity * LIGHT) + degrees / 360.0 / highest;
        let neper = length * loss * (f * 1e-9).sqrt() / 8.686;
        gamma *= Complex64::from_polar((-2.0 * neper).exp(), -2.0 * w * delay);
    }
    gamma
}
