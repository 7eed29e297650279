//! Where are the reflections?

use super::{
    SweepFile,
    check::columns,
    given::{file_json, parse_file},
    typed::{Parameter, bad, network, plain, round_trip, window},
};
use crate::AppError;
use matewell_network::{
    NetworkError, Sweep,
    gate::Gate,
    transform::{Fourier, FromDc, Reach, SPEED_OF_LIGHT, Zoom, from_dc, reach},
    window::{Mode, Window},
};
use matewell_wire::{ColumnsJson, LineFindingJson, ReachJson, SweepTimeAsked, SweepTimeJson};
use num_complex::Complex64;

/// More values than a picture can show.
const MOST_VALUES: usize = 20_001;
/// Values of a picture that names none.
const USUAL_VALUES: usize = 1001;

/// A picture over time of one trace, in the mode that is honest.
pub(super) struct View<'a> {
    pub(super) frequencies: &'a [f64],
    pub(super) window: Window,
    pub(super) mode: Mode,
    pub(super) times: Zoom,
}

impl View<'_> {
    /// Low-pass: reflections with a sign. Band-pass: magnitudes.
    pub(super) fn values(
        &self,
        fourier: &mut Fourier,
        trace: &[Complex64],
        dc: Option<&FromDc>,
    ) -> Result<Vec<f64>, NetworkError> {
        let (frequencies, values);
        let (f, v): (&[f64], &[Complex64]) = match (self.mode, dc) {
            (Mode::LowPass, Some(dc)) => {
                frequencies = (0..dc.values.len()).map(|k| k as f64 * dc.step).collect::<Vec<f64>>();
                values = dc.values.clone();
                (&frequencies, &values)
            }
            _ => (self.frequencies, trace),
        };
        let found = fourier.zoom(f, v, self.window, self.mode, self.times)?;
        Ok(found
            .values
            .into_iter()
            .map(|z| if self.mode == Mode::LowPass { z.re } else { z.norm() })
            .collect())
    }
}

pub(super) fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::LowPass => "low-pass",
        Mode::BandPass => "band-pass",
    }
}

/// Where are the reflections?
///
/// # Errors
///
/// As [`super::trace`]; a grid that is not uniform; low-pass where
/// the points below the first frequency cannot be filled honestly.
pub fn time(file: &SweepFile, asked: &SweepTimeAsked) -> Result<SweepTimeJson, AppError> {
    let sweep = parse_file(file, asked.reading.as_deref())?.sweep;
    let parameter = Parameter::typed(asked.parameter.as_deref(), "S11")?;
    let trace = parameter.of(&sweep)?;
    let factor = plain("velocity_factor", asked.velocity_factor.as_deref())?.unwrap_or(1.0);
    if !(factor > 0.0 && factor <= 1.0) {
        return Err(bad("velocity_factor")(format!("expected above 0 and at most 1, found {factor}")));
    }
    let (window, window_name) = window(asked.window.as_deref())?;
    let mut findings = Vec::new();
    let times = typed_times(&sweep, asked, factor)?;
    let longest = times.start + times.step * (times.count - 1) as f64;
    let (mode, dc) = typed_mode(&sweep, &trace, asked, longest, &mut findings)?;
    let mut fourier = Fourier::new();
    let view = View { frequencies: sweep.frequencies(), window, mode, times };
    let values = view.values(&mut fourier, &trace, dc.as_ref()).map_err(network("points"))?;
    let seen = reach(sweep.frequencies(), window, mode, factor).map_err(network("file"))?;
    if longest > seen.alias_free_time {
        findings.push(LineFindingJson::note(
            "repeats",
            format!("the picture repeats after {:.4} ns", seen.alias_free_time * 1e9),
        ));
    }
    if factor >= 1.0 && asked.velocity_factor.is_none() {
        findings.push(LineFindingJson::note(
            "velocity-of-vacuum",
            "no velocity factor was given: distances are those of an air line".to_owned(),
        ));
    }
    let gated = asked
        .gate
        .as_deref()
        .filter(|g| !g.trim().is_empty())
        .map(|g| gated(&mut fourier, &sweep, &trace, dc.as_ref(), g, factor))
        .transpose()?;
    let instants: Vec<f64> = (0..times.count).map(|n| times.start + times.step * n as f64).collect();
    let shown = if mode == Mode::LowPass { "reflection" } else { "magnitude" };
    Ok(SweepTimeJson {
        text: words(&seen, mode, &instants, &values, factor),
        file: file_json(file),
        parameter: parameter.to_string(),
        mode: mode_word(mode).to_owned(),
        window: window_name,
        velocity_factor: factor,
        reach: ReachJson {
            alias_free_time_s: seen.alias_free_time,
            alias_free_distance_m: seen.alias_free_distance,
            width_s: seen.width,
            resolution_m: seen.resolution,
        },
        dc_doubt: dc.and_then(|d| d.dc_doubt),
        columns: ColumnsJson {
            names: ["time_s", "distance_m", shown].map(str::to_owned).to_vec(),
            values: vec![
                instants.clone(),
                instants.iter().map(|t| t * factor * SPEED_OF_LIGHT / 2.0).collect(),
                values,
            ],
        },
        gated,
        findings,
    })
}

fn words(seen: &Reach, mode: Mode, time: &[f64], values: &[f64], factor: f64) -> String {
    let most = values
        .iter()
        .zip(time)
        .fold((0.0_f64, 0.0), |(most, at), (v, t)| if v.abs() > most { (v.abs(), *t) } else { (most, at) });
    format!(
        "Largest {} {:.4} at {:.4} ns, {:.3} m one way. Two reflections nearer than {:.2} mm merge; the picture repeats after {:.3} m.",
        if mode == Mode::LowPass { "reflection" } else { "magnitude" },
        most.0,
        most.1 * 1e9,
        most.1 * factor * SPEED_OF_LIGHT / 2.0,
        seen.resolution * 1e3,
        seen.alias_free_distance
    )
}

fn typed_times(sweep: &Sweep, asked: &SweepTimeAsked, factor: f64) -> Result<Zoom, AppError> {
    let step = sweep.uniform_step().map_err(network("file"))?;
    let from = asked.from.as_deref().map(|t| round_trip("from", t, factor)).transpose()?.unwrap_or(0.0);
    let to = asked.to.as_deref().map(|t| round_trip("to", t, factor)).transpose()?.unwrap_or(0.5 / step);
    let count = match plain("points", asked.points.as_deref())? {
        None => USUAL_VALUES,
        Some(n) if n.fract() == 0.0 && (2.0..=MOST_VALUES as f64).contains(&n) => {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked just above")]
            let count = n as usize;
            count
        }
        Some(n) => {
            return Err(bad("points")(format!("expected a whole number of 2 to {MOST_VALUES}, found {n}")));
        }
    };
    // NaN must refuse too.
    let forward = to > from;
    if !forward {
        return Err(bad("to")(format!("expected a time after {from} s, found {to} s")));
    }
    Ok(Zoom { start: from, step: (to - from) / (count - 1) as f64, count })
}

fn typed_mode(
    sweep: &Sweep,
    trace: &[Complex64],
    asked: &SweepTimeAsked,
    longest: f64,
    findings: &mut Vec<LineFindingJson>,
) -> Result<(Mode, Option<FromDc>), AppError> {
    let low_pass = || from_dc(sweep.frequencies(), trace, longest);
    match asked.mode.as_deref().map(str::trim) {
        Some("low-pass") => Ok((Mode::LowPass, Some(low_pass().map_err(network("mode"))?))),
        Some("band-pass") => Ok((Mode::BandPass, None)),
        None | Some("" | "best") => match low_pass() {
            Ok(dc) => Ok((Mode::LowPass, Some(dc))),
            Err(error) => {
                findings.push(LineFindingJson::note("band-pass", error.to_string()));
                Ok((Mode::BandPass, None))
            }
        },
        Some(other) => Err(bad("mode")(format!("expected low-pass, band-pass or best, found \"{other}\""))),
    }
}

fn gated(
    fourier: &mut Fourier,
    sweep: &Sweep,
    trace: &[Complex64],
    dc: Option<&FromDc>,
    text: &str,
    factor: f64,
) -> Result<ColumnsJson, AppError> {
    let (centre, span) = text.split_once(':').ok_or_else(|| {
        bad("gate")(format!("expected CENTRE:SPAN such as 6.2ns:1ns, found \"{}\"", text.trim()))
    })?;
    let gate = Gate::new(round_trip("gate", centre, factor)?, round_trip("gate", span, factor)?);
    let kept = match dc {
        Some(dc) => {
            let mut kept = fourier.gate_low_pass(dc, gate).map_err(network("gate"))?;
            // The point at 0 Hz was added; it is no measurement.
            if kept.len() > sweep.points() {
                kept.remove(0);
            }
            kept
        }
        None => fourier.gate_band_pass(sweep.frequencies(), trace, gate).map_err(network("gate"))?,
    };
    Ok(columns(sweep.frequencies(), &kept))
}
