//! Values of other implementations, stored with script and versions in
//! `crosscheck/line`.

use super::{exact, ghz, line, mm, or_nan, um};
use crate::{
    Answer, GapReflection, JointGeometry, LineError, LossyLine, TwoPort, air_permittivity,
    characteristic_impedance, constants, dielectric_recess, gap_reflection, inner_step_capacitance,
    interaction_limits, interface_step, lossy_line, off_centre_impedance, outer_step_capacitance,
    te11_cutoff,
};
use matewell_published::{Check, Grade};
use matewell_quantity::TemperatureCelsius;
use num_complex::Complex64;
use std::f64::consts::PI;

/// Columns `id;source;locator;quantity;printed`, a heading line first.
pub(super) const VALUES: &str = include_str!("../../../../crosscheck/line/values.csv");

pub(super) fn checks() -> Vec<Check> {
    VALUES.lines().skip(1).map(check).collect()
}

fn check(text: &'static str) -> Check {
    let mut columns = text.split(';');
    let mut next = || columns.next().unwrap_or("");
    let (id, source, locator, quantity, printed) = (next(), next(), next(), next(), next());
    let mut words = id.split(' ');
    let what = words.next().unwrap_or("");
    let rest: Vec<&str> = words.collect();
    let row =
        Check::printed(source, locator, quantity, printed, or_nan(ours(what, &rest)), Grade::Independent);
    widen(row, what, &rest)
}

/// The few rows whose tolerance is not half of the last digit.
fn widen(row: Check, what: &str, rest: &[&str]) -> Check {
    let size = row.printed_value().abs();
    match what {
        "alpha" | "zre" | "zim" => row.within(
            1e-6 * size + 5e-7,
            "scikit-rf carries an older magnetic constant, 5e-10, and the last digit is rounded",
        ),
        "exact" => row.within(1e-4 * size, "sum of surface impedances against the exact TM00 equation"),
        "pair" => row.within(0.08 * size, "put together from single steps: within 8 % for 20 pairs tried"),
        "step" => {
            // The formula's own claim, 0.3 fF per cm of the circumference at
            // the shared radius.
            let radius_cm = number(rest, 1).unwrap_or(f64::NAN) / 10.0;
            row.within(0.3 * 2.0 * PI * radius_cm, "the formula claims 0.3 fF per cm of circumference")
        }
        _ => row,
    }
}

fn number(words: &[&str], at: usize) -> Result<f64, LineError> {
    let text = words.get(at).copied().unwrap_or("");
    Ok(matewell_quantity::parse_number(text)?)
}

fn loss(words: &[&str]) -> Result<LossyLine, LineError> {
    let line = line(number(words, 0)?, number(words, 1)?, 1.0)?;
    Ok(lossy_line(&line, ghz(number(words, 2)?)?, &exact(1.3e7)?, &exact(0.0)?)?.value)
}

fn gap(name: &str) -> Result<(JointGeometry, Answer<GapReflection>), LineError> {
    let (outer, pin, gap, f) = match name {
        "3.5" => (3.5, 0.927, 25.0, 26.5),
        "2.4" => (2.4, 0.511, 25.0, 50.0),
        "N" => (7.0, 1.651, 100.0, 18.0),
        _ => (1.0, 0.250, 10.0, 110.0),
    };
    let joint = JointGeometry::new(line(outer, outer / 2.302_303_717_84, 1.0)?, mm(pin)?)?;
    let answer = gap_reflection(&joint, um(gap)?, ghz(f)?, 0)?;
    Ok((joint, answer))
}

/// 20 pH, 13 mm of 53 Ω at 0.3 + 200j per metre, 30 fF; at 10 GHz in 50 Ω.
fn cascade() -> Result<TwoPort, LineError> {
    let omega = 2.0 * PI * 10e9;
    TwoPort::cascade(&[
        TwoPort::series(Complex64::new(0.0, omega * 20e-12 / 50.0)),
        TwoPort::section(Complex64::from(53.0 / 50.0), 0.013 * Complex64::new(0.3, 200.0)),
        TwoPort::shunt(Complex64::new(0.0, omega * 30e-15 * 50.0)),
    ])
}

fn ours(what: &str, words: &[&str]) -> Result<f64, LineError> {
    let first = words.first().copied().unwrap_or("");
    let n = |at| number(words, at);
    Ok(match what {
        "z0" => characteristic_impedance(&line(n(0)?, n(1)?, n(2)?)?)?.value().ohms(),
        "offcentre" | "images" => off_centre_impedance(&line(n(0)?, n(1)?, 1.0)?, mm(n(2)?)?)?.value().ohms(),
        "te11" => te11_cutoff(&line(n(0)?, n(1)?, n(2)?)?)?.value().gigahertz(),
        "kca" => {
            let cutoff = te11_cutoff(&line(2.0 * n(0)?, 2.0, 1.0)?)?.value().hertz();
            2.0 * PI * cutoff * 1e-3 / constants::SPEED_OF_LIGHT_M_PER_S
        }
        "alpha" | "exact" => loss(words)?.attenuation_db_per_m.value(),
        "zre" => loss(words)?.impedance_real_ohm.value(),
        "zim" => loss(words)?.impedance_imaginary_ohm.value(),
        "gap" => gap(first)?.1.value.magnitude.value(),
        "gapclosed" => gap(first)?.1.value.closed_form.value(),
        "gapshort" => gap(first)?.1.value.upper.value(),
        "gapfirst" => {
            // First order of our own elements, to tell them from the cascade.
            let (joint, answer) = gap(first)?;
            let z0 = characteristic_impedance(joint.line())?.value().ohms();
            let f = match first {
                "3.5" => 26.5e9,
                "2.4" => 50e9,
                "N" => 18e9,
                _ => 110e9,
            };
            let (l, c) = (answer.value.inductance_h.value(), answer.value.missing_capacitance_f.value());
            PI * f * (l / z0 + c * z0)
        }
        "recess" => {
            let filled = line(4.13, 1.27, 2.02)?;
            dielectric_recess(&filled, um(n(0)?)?, ghz(n(1)?)?, 0)?.value.magnitude.value()
        }
        "cascade" => {
            let chain = cascade()?;
            match first {
                "s11re" => chain.s11.re,
                "s11im" => chain.s11.im,
                "s21re" => chain.s21.re,
                _ => chain.s21.im,
            }
        }
        "step" => {
            let (common, narrow, wide) = (mm(2.0 * n(1)?)?, mm(2.0 * n(2)?)?, mm(2.0 * n(3)?)?);
            let farads = match first {
                "inner" => inner_step_capacitance(wide, narrow, common, 1.0)?.value,
                _ => outer_step_capacitance(common, narrow, wide, 1.0)?.value,
            };
            farads * 1e15
        }
        "pair" => {
            let (one, other) = match first {
                "sma35" => (line(4.13, 1.27, 2.02)?, line(3.5, 1.52, 1.0)?),
                "sma292" => (line(4.13, 1.27, 2.02)?, line(2.92, 1.268, 1.0)?),
                "35292" => (line(3.5, 1.52, 1.0)?, line(2.92, 1.268, 1.0)?),
                _ => (line(2.4, 1.042, 1.0)?, line(1.85, 0.8036, 1.0)?),
            };
            interface_step(&one, &other, ghz(10.0)?)?.value.capacitance_f.value() * 1e15
        }
        "air" => {
            let t = TemperatureCelsius::from_degrees(n(0)?)?;
            air_permittivity(t, &exact(n(1)?)?, &exact(n(2)?)?)?.value.value()
        }
        "mismatch" => {
            let limits = interaction_limits(&exact(0.1)?, &exact(0.1)?)?.value;
            if first == "up" {
                limits.upper_db.value()
            } else {
                limits.lower_db.map_or(f64::NAN, |v| v.value())
            }
        }
        "eps0" => constants::EPSILON_0_F_PER_M,
        "eta0" => constants::ETA_0_OHM,
        _ => f64::NAN,
    })
}
