//! What does this file hold, can it be believed, does it keep a limit?

use super::{
    SweepFile,
    given::{file_json, grid_json, parse_file, read_file, warnings},
    typed::{Parameter, bad, decibels, frequency, network, plain},
};
use crate::AppError;
use matewell_network::{
    mask::{Between, Kept, Mask, Side},
    sanity,
    touchstone::{Format, FrequencyUnit, MatrixFormat, Parameter as Kind, Version},
};
use matewell_quantity::{Frequency, parse_number};
use matewell_wire::{
    ColumnsJson, LineFindingJson, PassivityJson, QualityMetricsJson, ReciprocityJson, SweepCheckAsked,
    SweepCheckJson, SweepMaskAsked, SweepMaskJson, SweepReadAsked, SweepReadJson, SweepTraceAsked,
    SweepTraceJson,
};
use num_complex::Complex64;

/// Comment lines shown; a file may hold thousands.
const MOST_COMMENTS: usize = 100;

/// One parameter over frequency.
///
/// # Errors
///
/// As [`check`], and a parameter the network does not have.
pub fn trace(file: &SweepFile, asked: &SweepTraceAsked) -> Result<SweepTraceJson, AppError> {
    let sweep = parse_file(file, asked.reading.as_deref())?.sweep;
    let parameter = Parameter::typed(asked.parameter.as_deref(), "S11")?;
    Ok(SweepTraceJson {
        file: file_json(file),
        parameter: parameter.to_string(),
        columns: columns(sweep.frequencies(), &parameter.of(&sweep)?),
    })
}

/// Does it keep a limit?
///
/// # Errors
///
/// As [`trace`], and a mask that is none or covers no point.
pub fn mask(file: &SweepFile, asked: &SweepMaskAsked) -> Result<SweepMaskJson, AppError> {
    let sweep = parse_file(file, asked.reading.as_deref())?.sweep;
    let parameter = Parameter::typed(asked.parameter.as_deref(), "S11")?;
    let values: Vec<f64> = parameter.of(&sweep)?.into_iter().map(decibels).collect();
    let uncertainty = plain("uncertainty", asked.uncertainty.as_deref())?.unwrap_or(0.0);
    let mask = typed_mask(asked)?;
    let found = mask.judge(sweep.frequencies(), &values, uncertainty).map_err(network("mask"))?;
    let (kept, words) = match found.kept {
        Kept::Yes => ("yes", "The limit is kept"),
        Kept::Undecided => ("undecided", "Somewhere the distance to the limit is within the uncertainty"),
        Kept::No => ("no", "The limit is broken"),
    };
    Ok(SweepMaskJson {
        text: format!(
            "{words}: {parameter} comes to {:+.2} dB of it at {}.",
            found.worst_margin,
            hertz(found.at)
        ),
        kept: kept.to_owned(),
        file: file_json(file),
        parameter: parameter.to_string(),
        worst_margin_db: found.worst_margin,
        at_hz: found.at,
        covered: found.covered as u64,
        points: sweep.points() as u64,
        uncertainty_db: uncertainty,
        source: "jcgm-106-2012, clause 8 (guard bands)".to_owned(),
    })
}

/// A trace as columns.
pub(super) fn columns(frequencies: &[f64], values: &[Complex64]) -> ColumnsJson {
    ColumnsJson {
        names: ["frequency_hz", "real", "imaginary", "magnitude_db"].map(str::to_owned).to_vec(),
        values: vec![
            frequencies.to_vec(),
            values.iter().map(|v| v.re).collect(),
            values.iter().map(|v| v.im).collect(),
            values.iter().map(|v| decibels(*v)).collect(),
        ],
    }
}

/// What does this file hold?
///
/// # Errors
///
/// [`AppError::Touchstone`] with line and column, [`AppError::TooLarge`].
pub fn read(file: &SweepFile, asked: &SweepReadAsked) -> Result<SweepReadJson, AppError> {
    let reading = read_file(file, asked.reading.as_deref())?;
    let content = &reading.content;
    let header = content.header();
    let (grid, because) = match content.to_sweep() {
        Ok(sweep) => (Some(grid_json(&sweep)), None),
        Err(error) => (None, Some(error.to_string())),
    };
    let version = match header.version {
        Version::V1_0 => "1.0",
        Version::V1_1 => "1.1",
        Version::V2_0 => "2.0",
        Version::V2_1 => "2.1",
    };
    let parameter = match header.parameter {
        Kind::S => "S",
        Kind::Y => "Y",
        Kind::Z => "Z",
        Kind::H => "H",
        Kind::G => "G",
    };
    let doubts = reading.warnings.len();
    let mut text = format!(
        "Touchstone {version}, {} port{}, {} frequencies of {parameter}-parameters; {doubts} doubt{}.",
        content.ports(),
        if content.ports() == 1 { "" } else { "s" },
        content.frequencies().len(),
        if doubts == 1 { "" } else { "s" },
    );
    if reading.partial {
        text.push_str(" Part of the promised data is missing.");
    }
    Ok(SweepReadJson {
        text,
        file: file_json(file),
        version: version.to_owned(),
        unit: match header.unit {
            FrequencyUnit::Hz => "Hz",
            FrequencyUnit::Khz => "kHz",
            FrequencyUnit::Mhz => "MHz",
            FrequencyUnit::Ghz => "GHz",
        }
        .to_owned(),
        parameter: parameter.to_owned(),
        format: match header.format {
            Format::RealImaginary => "RI",
            Format::MagnitudeAngle => "MA",
            Format::DecibelAngle => "DB",
        }
        .to_owned(),
        ports: content.ports() as u64,
        references_ohm: header.references.clone(),
        matrix_format: match header.matrix_format {
            MatrixFormat::Full => "full",
            MatrixFormat::Lower => "lower",
            MatrixFormat::Upper => "upper",
        }
        .to_owned(),
        mixed_mode: header.mode_order.is_some(),
        noise_points: content.noise().len() as u64,
        comments: header.comments.iter().take(MOST_COMMENTS).cloned().collect(),
        partial: reading.partial,
        grid,
        no_sweep_because: because,
        warnings: warnings(&reading),
    })
}

/// Can this sweep be believed?
///
/// # Errors
///
/// As [`read`], and a file without S-parameters.
pub fn check(file: &SweepFile, asked: &SweepCheckAsked) -> Result<SweepCheckJson, AppError> {
    let parsed = parse_file(file, asked.reading.as_deref())?;
    let sweep = &parsed.sweep;
    let uncertainty = plain("uncertainty", asked.uncertainty.as_deref())?.unwrap_or(0.0);
    let passive = sanity::passivity(sweep, 0.0, uncertainty).map_err(network("uncertainty"))?;
    let mut noise: Option<f64> = None;
    for to in 1..=sweep.ports() {
        for from in 1..=sweep.ports() {
            let trace = sweep.trace(to, from).map_err(network("file"))?;
            if let Ok(found) = sanity::noise_floor(&trace) {
                noise = Some(noise.map_or(found, |most| matewell_quantity::greater(most, found)));
            }
        }
    }
    let metrics = sanity::initial_metrics(sweep).ok().map(|m| QualityMetricsJson {
        passivity_percent: m.passivity,
        reciprocity_percent: m.reciprocity,
        causality_percent: m.causality,
    });
    let reciprocity = sanity::reciprocity(sweep)
        .map(|(largest_difference, at_hz)| ReciprocityJson { largest_difference, at_hz });
    let grid = grid_json(sweep);
    let mut findings = Vec::new();
    let mut note = |code: &str, text: String| findings.push(LineFindingJson::note(code, text));
    if !passive.holds() {
        note(
            "not-passive",
            format!(
                "it gives out more than it takes: the largest singular value is {:.6}, at {}; {} frequencies lie \
                 beyond 1 + {:.1e}. An amplifier does; a chain of cables and adapters does not",
                passive.worst,
                hertz(passive.at),
                passive.points_beyond,
                passive.tolerance
            ),
        );
    }
    if let Some(r) = &reciprocity
        && r.largest_difference > 2.0 * matewell_quantity::greater(uncertainty, noise.unwrap_or(0.0) * 6.0)
    {
        note(
            "not-reciprocal",
            format!(
                "forward and backward transmission differ by {:.2e} at {}, more than noise and uncertainty explain",
                r.largest_difference,
                hertz(r.at_hz)
            ),
        );
    }
    if grid.step_hz.is_none() {
        note("grid-not-uniform", "the frequency step is not constant: no picture over time".to_owned());
    } else if !grid.harmonic {
        note(
            "grid-not-harmonic",
            "the first frequency is neither 0 nor one step: only a band-pass picture over time".to_owned(),
        );
    }
    if parsed.reading.partial {
        note("partial", "part of the promised data is missing".to_owned());
    }
    let text = if findings.is_empty() {
        "Nothing speaks against this sweep. That it is plausible does not show that any end is safe."
            .to_owned()
    } else {
        let list: Vec<&str> = findings.iter().map(|f| f.text.as_str()).collect();
        format!("To be looked at: {}.", list.join("; "))
    };
    Ok(SweepCheckJson {
        text,
        file: file_json(file),
        passivity: PassivityJson {
            holds: passive.holds(),
            largest_singular_value: passive.worst,
            at_hz: passive.at,
            tolerance: passive.tolerance,
            points_beyond: passive.points_beyond as u64,
        },
        reciprocity,
        grid,
        noise_floor: noise,
        noise_floor_db: noise.filter(|n| *n > 0.0).map(|n| 20.0 * n.log10()),
        metrics,
        findings,
        warnings: warnings(&parsed.reading),
        source:
            "singular values: definition; initial metrics: ieee-370-2020 as implemented by an open library; \
                 noise from second differences: common practice, no source"
                .to_owned(),
    })
}

pub(super) fn hertz(value: f64) -> String {
    Frequency::from_hertz(value).map_or_else(|_| format!("{value} Hz"), |f| f.to_string())
}

/// `below 1GHz:-30 18GHz:-20`.
fn typed_mask(asked: &SweepMaskAsked) -> Result<Mask, AppError> {
    let text = asked.mask.as_deref().unwrap_or_default();
    let form = || {
        bad("mask")(format!(
            "expected below or above and corners such as \"below 1GHz:-30 18GHz:-20\", found \"{}\"",
            text.chars().take(80).collect::<String>()
        ))
    };
    let mut words = text.split_whitespace();
    let side = match words.next() {
        Some("below") => Side::Below,
        Some("above") => Side::Above,
        _ => return Err(form()),
    };
    let between = match asked.between.as_deref().map(str::trim) {
        None | Some("" | "linear") => Between::Linear,
        Some("logarithmic") => Between::Logarithmic,
        Some(other) => {
            return Err(bad("between")(format!("expected linear or logarithmic, found \"{other}\"")));
        }
    };
    let corners = words
        .map(|word| {
            let (at, level) = word.split_once(':').ok_or_else(form)?;
            let level = level.strip_suffix("dB").unwrap_or(level);
            Ok((frequency("mask", at)?, parse_number(level).map_err(bad("mask"))?))
        })
        .collect::<Result<Vec<_>, AppError>>()?;
    Mask::new(side, between, corners).map_err(network("mask"))
}
