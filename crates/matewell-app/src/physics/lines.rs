//! Impedance, cut-off, loss, and a centre conductor off the axis.

use super::{
    answer::{Model, SEED, begin, below_cutoff, none, rated, table},
    geometry::ONE,
    read::{Reader, bad, line_error, sweep},
};
use crate::AppError;
use matewell_line::{
    Answer, characteristic_impedance, characteristic_impedance_at, impedance_sensitivities_ohm_per_m,
    lossy_line, off_centre_impedance, off_centre_reflection, planar_attenuation_db_per_m, sweep_loss,
    sweep_off_centre, te11_cutoff, te11_cutoff_approximate,
};
use matewell_sheets::Sheets;
use matewell_uncertainty::Estimate;
use matewell_wire::{
    CutoffAsked, CutoffJson, ImpedanceAsked, ImpedanceJson, LineAnswerJson, LossAsked, LossJson,
    OffCentreAsked, OffCentreJson,
};

const IMPEDANCE: Model = Model {
    question: "impedance",
    words: "lossless line, TEM mode: Z = (eta0/2pi) ln(D/d)/sqrt(er)",
    source: "pozar-2012, table 2.1, coaxial line; from memory. codata-2022 for eta0",
};

/// What is the impedance of this line?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn impedance(sheets: &Sheets, asked: &ImpedanceAsked) -> Result<LineAnswerJson<ImpedanceJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&IMPEDANCE, reader, &finding)),
    };
    let at = asked.at.as_deref().map(|at| reader.frequency("at", at, None)).transpose()?;
    let mut answer = begin(&IMPEDANCE, &mut reader);
    let impedance = match &at {
        Some(at) => {
            rated(&mut answer, at.value(), section.rated);
            characteristic_impedance_at(&section.line, at.value()).map_err(line_error)?
        }
        None => Answer::plain(characteristic_impedance(&section.line).map_err(line_error)?),
    };
    let impedance = answer.take(impedance);
    let cutoff = te11_cutoff(&section.line).map_err(line_error)?;
    let per_metre = impedance_sensitivities_ohm_per_m(&section.line);
    answer.value = Some(ImpedanceJson::new(&impedance, per_metre, &cutoff));
    Ok(answer)
}

const CUTOFF: Model = Model {
    question: "cutoff",
    words: "exact root of the Bessel cross product of the uniform line; an upper bound where a dielectric bead sits",
    source: "marcuvitz-1951, section 2.4, coaxial waveguides; from memory",
};

/// Up to which frequency does only one mode travel?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn cutoff(sheets: &Sheets, asked: &CutoffAsked) -> Result<LineAnswerJson<CutoffJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&CUTOFF, reader, &finding)),
    };
    let mut answer = begin(&CUTOFF, &mut reader);
    let exact = te11_cutoff(&section.line).map_err(line_error)?;
    let approximate = te11_cutoff_approximate(&section.line).map_err(line_error)?;
    answer.value = Some(CutoffJson::new(&exact, &approximate));
    Ok(answer)
}

const OFF_CENTRE: Model = Model {
    question: "offcentre",
    words: "eccentric line: Z = (eta0/2pi sqrt(er)) arcosh[(D^2 + d^2 - 4e^2)/(2Dd)], constant over the length",
    source: "smythe-1950, capacitance of eccentric cylinders; from memory",
};

/// What does a centre conductor off the axis do?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn off_centre(
    sheets: &Sheets,
    asked: &OffCentreAsked,
) -> Result<LineAnswerJson<OffCentreJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&OFF_CENTRE, reader, &finding)),
    };
    let offset = reader.length("offset", &asked.offset, asked.u_offset.as_deref())?;
    let at = match (asked.at.as_deref(), &band) {
        (None, None) => None,
        (at, band) => Some(reader.at(at, asked.u_at.as_deref(), band.as_ref())?),
    };
    let piece = match (asked.length.as_deref(), at) {
        (Some(length), Some(at)) => Some((reader.length("length", length, asked.u_length.as_deref())?, at)),
        (None, None) => None,
        (Some(_), None) => return Err(bad("at")("expected a frequency with the length, found nothing")),
        (None, Some(_)) => return Err(bad("length")("expected a length with the frequency, found nothing")),
    };
    let mut answer = begin(&OFF_CENTRE, &mut reader);
    let off = off_centre_impedance(&section.line, &offset).map_err(bad("offset"))?;
    let centred = characteristic_impedance(&section.line).map_err(line_error)?;
    let reflection = match &piece {
        None => None,
        Some((length, at)) => {
            rated(&mut answer, at.value(), section.rated);
            let found =
                off_centre_reflection(&section.line, &offset, length, at, SEED).map_err(line_error)?;
            Some(answer.take(found))
        }
    };
    if let (Some(band), Some((length, _))) = (&band, &piece) {
        let (kept, top) = below_cutoff(&mut answer, band, &[&section.line]).map_err(line_error)?;
        let points = sweep_off_centre(&section.line, offset.value(), length.value(), &kept);
        let rows = points.into_iter().map(|(f, magnitude)| vec![f.hertz(), magnitude]).collect();
        answer.sweep = Some(table(&["frequency_hz", "reflection_magnitude"], rows, top));
    }
    answer.value = Some(OffCentreJson::new(&off, &centred, reflection.as_ref()));
    Ok(answer)
}

const LOSS: Model = Model {
    question: "loss",
    words: "surface impedances of a smooth round wire and a smooth thick tube added to the external inductance; \
            plating and roughness are not in it and change the loss by tens of per cent",
    source: "schelkunoff-1934, surface impedances of solid and tubular conductors; from memory",
};

/// What does the metal cost?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn loss(sheets: &Sheets, asked: &LossAsked) -> Result<LineAnswerJson<LossJson>, AppError> {
    let band = sweep(asked.sweep.as_deref())?;
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&LOSS, reader, &finding)),
    };
    let u = asked.u_conductivity.as_deref();
    let units = [("S/m", 1.0), ("MS/m", 1e6)];
    let conductivity = reader.number("conductivity", &asked.conductivity, u, "S/m", &units)?;
    let tangent = if let Some(text) = asked.loss_tangent.as_deref() {
        reader.ratio("loss_tangent", text, asked.u_loss_tangent.as_deref())?
    } else {
        reader.default("loss_tangent", 0.0, "1", "a filling without loss");
        Estimate::exact(0.0)?
    };
    let length = asked.length.as_deref().map(|l| reader.length("length", l, None)).transpose()?;
    let at = reader.at(asked.at.as_deref(), asked.u_at.as_deref(), band.as_ref())?;
    let mut answer = begin(&LOSS, &mut reader);
    rated(&mut answer, at.value(), section.rated);
    let lossy = answer.take(lossy_line(&section.line, &at, &conductivity, &tangent).map_err(line_error)?);
    let planar = planar_attenuation_db_per_m(&section.line, &at, &conductivity).map_err(line_error)?;
    let piece = length
        .map(|l| lossy.attenuation_db_per_m.scaled(l.value().metres()))
        .transpose()
        .map_err(bad("length"))?;
    if let Some(band) = &band {
        let (kept, top) = below_cutoff(&mut answer, band, &[&section.line]).map_err(line_error)?;
        let points =
            sweep_loss(&section.line, conductivity.value(), tangent.value(), &kept).map_err(line_error)?;
        let rows = points
            .iter()
            .map(|(f, p)| {
                vec![f.hertz(), p.attenuation_db_per_m, p.impedance_real_ohm, p.impedance_imaginary_ohm]
            })
            .collect();
        let columns =
            ["frequency_hz", "attenuation_db_per_m", "impedance_real_ohm", "impedance_imaginary_ohm"];
        answer.sweep = Some(table(&columns, rows, top));
    }
    answer.value = Some(LossJson::new(&lossy, &planar, piece.as_ref()));
    Ok(answer)
}
