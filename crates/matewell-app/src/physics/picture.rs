//! The picture of a sweep.

use super::read::bad;
use crate::AppError;
use matewell_picture::{Axis, Band, Curve, Picture};
use matewell_wire::{LineAnswerJson, SweepJson};

/// The table of an answer as SVG text: the columns of one unit over frequency.
///
/// # Errors
///
/// [`AppError::Field`] when no sweep was asked, or it lies above the cut-off.
pub fn picture<T>(answer: &LineAnswerJson<T>) -> Result<String, AppError> {
    let Some(sweep) = answer.sweep.as_ref() else {
        return Err(bad("sweep")("expected a sweep such as 1GHz:26.5GHz:200 for a picture, found nothing"));
    };
    if sweep.rows.is_empty() {
        return Err(bad("sweep")("expected a frequency below the TE11 cut-off, found none"));
    }
    Ok(drawn(&answer.question, sweep).svg())
}

/// The unit is the end of the name, or the whole of it for a magnitude.
fn kind(column: &str) -> &str {
    let known = ["_db_per_m", "_ohm", "_deg"];
    known.iter().find(|k| column.ends_with(**k)).copied().unwrap_or("reflection_magnitude")
}

fn label(kind: &str) -> &'static str {
    match kind {
        "_db_per_m" => "attenuation in dB/m",
        "_ohm" => "impedance in \u{3a9}",
        "_deg" => "phase in degrees",
        _ => "reflection magnitude",
    }
}

fn drawn(question: &str, sweep: &SweepJson) -> Picture {
    let first = sweep.columns.get(1).map_or("", String::as_str);
    let shown = kind(first);
    let gigahertz = |hertz: f64| hertz / 1e9;
    let curves: Vec<Curve> = sweep
        .columns
        .iter()
        .enumerate()
        .skip(1)
        .filter(|(_, name)| kind(name) == shown)
        .map(|(at, name)| Curve {
            name: match name.as_str() {
                "reflection_magnitude" => "predicted".to_owned(),
                "reflection_magnitude_upper" => "upper bound".to_owned(),
                "reflection_phase_deg" => "reflection".to_owned(),
                "transmission_phase_deg" => "transmission".to_owned(),
                "attenuation_db_per_m" => "attenuation".to_owned(),
                other => other.replace('_', " "),
            },
            points: sweep
                .rows
                .iter()
                .filter_map(|row| Some((gigahertz(*row.first()?), *row.get(at)?)))
                .collect(),
        })
        .collect();
    let ends = |c: &Curve| c.points.first().copied().zip(c.points.last().copied());
    let words: Vec<String> = curves
        .iter()
        .filter_map(|c| {
            let ((from, low), (to, high)) = ends(c)?;
            Some(format!("{}: {low:.3e} at {from:.3} GHz, {high:.3e} at {to:.3} GHz.", c.name))
        })
        .collect();
    let last = sweep.rows.last().and_then(|r| r.first()).map_or(0.0, |f| gigahertz(*f));
    // Shown only where it lies near the curve; far away it would squeeze it.
    let cutoff = sweep.te11_cutoff_hz.map(gigahertz).filter(|c| *c < 1.5 * last);
    Picture {
        title: format!("{} over frequency: {question}", label(shown)),
        description: words.join(" "),
        x: Axis { label: "frequency in GHz".to_owned() },
        y: Axis { label: label(shown).to_owned() },
        curves,
        bands: cutoff
            .map(|from| Band { name: "above TE11".to_owned(), from, to: 1.1 * from })
            .into_iter()
            .collect(),
        marks: Vec::new(),
    }
}
