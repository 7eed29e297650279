//! What goes wrong at an interface: gap, recess, step, shifted plane.

use super::{
    answer::{Model, SEED, begin, below_cutoff, none, rated, table},
    geometry::{ONE, OTHER},
    read::{Reader, bad, line_error, sweep},
};
use crate::AppError;
use matewell_line::{
    Line, dielectric_recess, gap_reflection, interface_step, plane_shift, sweep_dielectric_recess, sweep_gap,
    sweep_interface_step, te11_cutoff,
};
use matewell_quantity::Frequency;
use matewell_sheets::Sheets;
use matewell_wire::{
    GapAsked, GapJson, LineAnswerJson, LineTexts, RecessAsked, ReflectionJson, ShiftAsked, ShiftJson,
    StepAsked, StepJson,
};

pub(super) const GAP: Model = Model {
    question: "gap",
    words: "series inductance of the groove refined by the shorted radial line, and the capacitance the groove \
            takes away; rectangular model uncertainty of 15 % for chamfers and slots, a judgement; the upper \
            value is the short line, 1.2 to 1.7 times too high",
    source: "own derivation, checked against full-wave mode matching to 1.5 %",
};

/// What does a pin gap reflect?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn gap(sheets: &Sheets, asked: &GapAsked) -> Result<LineAnswerJson<GapJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let (joint, rating) = match reader.joint(&asked.joint())? {
        Ok(found) => found,
        Err(finding) => return Ok(none(&GAP, reader, &finding)),
    };
    let gap = reader.length("gap", &asked.gap, asked.u_gap.as_deref())?;
    let at = reader.at(asked.at.as_deref(), asked.u_at.as_deref(), band.as_ref())?;
    let mut answer = begin(&GAP, &mut reader);
    let found = gap_reflection(&joint, &gap, &at, SEED).map_err(line_error)?;
    let found = answer.take(found);
    rated(&mut answer, at.value(), rating);
    if let Some(band) = &band {
        let (kept, top) = below_cutoff(&mut answer, band, &[joint.line()]).map_err(line_error)?;
        let rows = sweep_gap(&joint, gap.value(), &kept)
            .iter()
            .map(|(f, p)| vec![f.hertz(), p.magnitude, p.upper, p.phase_deg])
            .collect();
        let columns =
            ["frequency_hz", "reflection_magnitude", "reflection_magnitude_upper", "reflection_phase_deg"];
        answer.sweep = Some(table(&columns, rows, top));
    }
    let cutoff = te11_cutoff(joint.line()).map_err(line_error)?.value();
    answer.value = Some(GapJson::new(&found, cutoff));
    Ok(answer)
}

pub(super) const RECESS: Model = Model {
    question: "recess",
    words: "a piece without dielectric in a filled line of the same diameters, exact through the chain matrix",
    source: "closed form: chain matrix of a line section",
};

fn magnitudes(points: Vec<(Frequency, f64)>) -> Vec<Vec<f64>> {
    points.into_iter().map(|(f, magnitude)| vec![f.hertz(), magnitude]).collect()
}

/// What does dielectric that lies back behind its plane reflect?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn recess(sheets: &Sheets, asked: &RecessAsked) -> Result<LineAnswerJson<ReflectionJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&RECESS, reader, &finding)),
    };
    require_filled(&section.line)?;
    let recess = reader.length("recess", &asked.recess, asked.u_recess.as_deref())?;
    let at = reader.at(asked.at.as_deref(), asked.u_at.as_deref(), band.as_ref())?;
    let mut answer = begin(&RECESS, &mut reader);
    let found = answer.take(dielectric_recess(&section.line, &recess, &at, SEED).map_err(line_error)?);
    rated(&mut answer, at.value(), section.rated);
    if let Some(band) = &band {
        let (kept, top) = below_cutoff(&mut answer, band, &[&section.line]).map_err(line_error)?;
        let rows = magnitudes(sweep_dielectric_recess(&section.line, recess.value(), &kept));
        answer.sweep = Some(table(&["frequency_hz", "reflection_magnitude"], rows, top));
    }
    answer.value = Some((&found).into());
    Ok(answer)
}

/// In a line without dielectric there is nothing that could lie back.
pub(super) fn require_filled(line: &Line) -> Result<(), AppError> {
    let found = line.relative_permittivity().value();
    if found > 1.0 {
        return Ok(());
    }
    Err(bad("permittivity")(format!("expected a filled line, permittivity above 1, found {found}")))
}

const STEP: Model = Model {
    question: "step",
    words: "change of impedance and the step capacitance of both conductors at one plane; single steps put \
            together, within 8 % of static mode matching; to about half of the lower cut-off",
    source: "somlo-1967 for the single steps, from memory; own derivation for putting them together",
};

/// What do two different interfaces reflect where they meet?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn step(sheets: &Sheets, asked: &StepAsked) -> Result<LineAnswerJson<StepJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let one = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&STEP, reader, &finding)),
    };
    let texts = LineTexts {
        interface: asked.other_interface.as_deref(),
        outer: (asked.other_outer.as_deref(), None),
        inner: (asked.other_inner.as_deref(), None),
        pin: (None, None),
        permittivity: (asked.other_permittivity.as_deref(), None),
    };
    let other = match reader.line(&texts, &OTHER)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&STEP, reader, &finding)),
    };
    let at = reader.at(asked.at.as_deref(), asked.u_at.as_deref(), band.as_ref())?;
    let mut answer = begin(&STEP, &mut reader);
    let found = answer.take(interface_step(&one.line, &other.line, &at).map_err(line_error)?);
    rated(&mut answer, at.value(), one.rated);
    rated(&mut answer, at.value(), other.rated);
    if let Some(band) = &band {
        let (kept, top) = below_cutoff(&mut answer, band, &[&one.line, &other.line]).map_err(line_error)?;
        let rows = magnitudes(sweep_interface_step(&one.line, &other.line, &kept));
        answer.sweep = Some(table(&["frequency_hz", "reflection_magnitude"], rows, top));
    }
    answer.value = Some((&found).into());
    Ok(answer)
}

const SHIFT: Model = Model {
    question: "shift",
    words: "720 degrees f l sqrt(er)/c in reflection, half of it in transmission",
    source: "closed form",
};

/// What does a reference plane that is off do to phase and delay?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn shift(sheets: &Sheets, asked: &ShiftAsked) -> Result<LineAnswerJson<ShiftJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let length = reader.length("length", &asked.length, asked.u_length.as_deref())?;
    let filling = (asked.permittivity.as_deref(), asked.u_permittivity.as_deref());
    let permittivity = reader.permittivity("permittivity", filling, None)?;
    let at = reader.at(asked.at.as_deref(), asked.u_at.as_deref(), band.as_ref())?;
    let mut answer = begin(&SHIFT, &mut reader);
    let found = plane_shift(&length, &at, &permittivity).map_err(line_error)?;
    if let Some(band) = &band {
        let mut rows = Vec::with_capacity(band.frequencies.len());
        for f in &band.frequencies {
            let there = plane_shift(length.value(), *f, &permittivity).map_err(line_error)?;
            rows.push(vec![f.hertz(), there.reflection_deg.value(), there.transmission_deg.value()]);
        }
        let columns = ["frequency_hz", "reflection_phase_deg", "transmission_phase_deg"];
        answer.sweep = Some(table(&columns, rows, None));
    }
    answer.value = Some((&found).into());
    Ok(answer)
}
