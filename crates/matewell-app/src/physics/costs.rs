//! What it costs: mismatch, chains, conversions, usable frequency, budget.

use super::{
    answer::{Model, SEED, begin, none, rated},
    geometry::ONE,
    joints::{GAP, RECESS, require_filled},
    read::{Reader, bad, line_error},
};
use crate::AppError;
use matewell_line::{
    Defect, Knowledge, Link, Measurand, UsableLimits, budget_line, chain_reflection, gap_reflection,
    insertion_limits, interaction_limits, magnitude_from_impedances, magnitude_from_mismatch_loss,
    magnitude_from_return_loss, magnitude_from_vswr, match_forms, power_uncertainty, power_uncertainty_db,
    usable_up_to,
};
use matewell_quantity::Frequency;
use matewell_sheets::Sheets;
use matewell_uncertainty::{Estimate, InputId};
use matewell_wire::{
    ChainAsked, ChainJson, ConvertAsked, ConvertJson, CostAsked, CostJson, LineAnswerJson, MismatchAsked,
    MismatchJson, UsableAsked, UsableJson,
};

const MISMATCH: Model = Model {
    question: "mismatch",
    words: "limits 20 lg(1 +- |Gs||Gl|); standard uncertainty with the phase unknown: arcsine for known \
            magnitudes, divided by sqrt(2) for each one that is only bounded",
    source: "harris-warner-1981; from memory, recomputed by simulation",
};

fn knowledge(field: &'static str, text: Option<&str>) -> Result<Knowledge, AppError> {
    match text.map(str::trim) {
        None | Some("magnitude") => Ok(Knowledge::Magnitude),
        Some("disc") => Ok(Knowledge::Disc),
        Some(other) => Err(bad(field)(format!("expected magnitude or disc, found \"{other}\""))),
    }
}

/// What do two reflections at one joint do to a level?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn mismatch(sheets: &Sheets, asked: &MismatchAsked) -> Result<LineAnswerJson<MismatchJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let source = reader.ratio("source", &asked.source, asked.u_source.as_deref())?;
    let load = reader.ratio("load", &asked.load, asked.u_load.as_deref())?;
    let source_known = knowledge("source_known", asked.source_known.as_deref())?;
    let load_known = knowledge("load_known", asked.load_known.as_deref())?;
    let device = match (&asked.s11, &asked.s22, &asked.s21) {
        (None, None, None) => None,
        (Some(s11), Some(s22), Some(s21)) => Some((
            reader.ratio("s11", s11, None)?,
            reader.ratio("s22", s22, None)?,
            reader.ratio("s21", s21, None)?,
        )),
        _ => return Err(bad("s21")("expected s11, s22 and s21 together, found only some of them")),
    };
    let mut answer = begin(&MISMATCH, &mut reader);
    let limits = answer.take(interaction_limits(&source, &load).map_err(line_error)?);
    let ratio = power_uncertainty((&source, source_known), (&load, load_known)).map_err(line_error)?;
    let decibels = power_uncertainty_db(&ratio).map_err(line_error)?;
    let insertion = match &device {
        None => None,
        Some((s11, s22, s21)) => {
            Some(answer.take(insertion_limits(&source, &load, s11, s22, s21).map_err(line_error)?))
        }
    };
    answer.value = Some(MismatchJson::new(&limits, &ratio, &decibels, insertion.as_ref()));
    Ok(answer)
}

const CHAIN: Model = Model {
    question: "chain",
    words: "each link's reflection through the loss before it, there and back; echoes between links left out",
    source: "closed form; common practice for the root sum of squares",
};

/// What does a chain reflect when only magnitudes are known?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn chain(sheets: &Sheets, asked: &ChainAsked) -> Result<LineAnswerJson<ChainJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let mut links = Vec::new();
    for text in asked.links.split_whitespace() {
        let (magnitude, loss) = text.split_once(':').unwrap_or((text, "0dB"));
        let magnitude = reader.ratio("links", magnitude, None)?;
        let loss = reader.decibels("links", loss, None)?;
        links.push(Link::new(magnitude, &loss).map_err(bad("links"))?);
    }
    let independent = match asked.phases_independent.as_deref().map(str::trim) {
        None | Some("no") => false,
        Some("yes") => true,
        Some(other) => {
            return Err(bad("phases_independent")(format!("expected yes or no, found \"{other}\"")));
        }
    };
    let mut answer = begin(&CHAIN, &mut reader);
    let found = answer.take(chain_reflection(&links, independent).map_err(bad("links"))?);
    answer.value = Some((&found).into());
    Ok(answer)
}

const CONVERT: Model = Model {
    question: "convert",
    words: "definitions; Monte Carlo where the reflection is not clear of zero",
    source: "iec-60050-726 for the words, from memory",
};

/// One match in all its words.
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn convert(sheets: &Sheets, asked: &ConvertAsked) -> Result<LineAnswerJson<ConvertJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let u = asked.u.as_deref();
    let given = [&asked.magnitude, &asked.return_loss, &asked.vswr, &asked.mismatch_loss, &asked.impedance];
    let count = given.iter().filter(|g| g.is_some()).count();
    if count != 1 {
        return Err(bad("magnitude")(format!(
            "expected one of magnitude, return_loss, vswr, mismatch_loss and impedance, found {count}"
        )));
    }
    let magnitude = if let Some(text) = &asked.return_loss {
        magnitude_from_return_loss(&reader.decibels("return_loss", text, u)?).map_err(bad("return_loss"))
    } else if let Some(text) = &asked.vswr {
        magnitude_from_vswr(&reader.ratio("vswr", text, u)?).map_err(bad("vswr"))
    } else if let Some(text) = &asked.mismatch_loss {
        magnitude_from_mismatch_loss(&reader.decibels("mismatch_loss", text, u)?)
            .map_err(bad("mismatch_loss"))
    } else if let Some(text) = &asked.impedance {
        let ohms = [("ohm", 1.0), ("\u{3a9}", 1.0), ("\u{2126}", 1.0)];
        let impedance = reader.number("impedance", text, u, "ohm", &ohms)?;
        let reference = if let Some(text) = asked.reference.as_deref() {
            reader.number("reference", text, None, "ohm", &ohms)?
        } else {
            reader.default("reference", 50.0, "ohm", "the usual line");
            Estimate::exact(50.0)?
        };
        magnitude_from_impedances(&impedance, &reference).map_err(bad("impedance"))
    } else {
        reader.ratio("magnitude", asked.magnitude.as_deref().unwrap_or_default(), u)
    }?;
    let mut answer = begin(&CONVERT, &mut reader);
    let found = answer.take(match_forms(&magnitude, SEED).map_err(bad("magnitude"))?);
    answer.value = Some((&found).into());
    Ok(answer)
}

/// Up to which frequency is this good enough?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn usable(sheets: &Sheets, asked: &UsableAsked) -> Result<LineAnswerJson<UsableJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let (words, source) =
        if asked.recess.is_some() { (RECESS.words, RECESS.source) } else { (GAP.words, GAP.source) };
    let model = Model { question: "usable", words, source };
    match (asked.gap.as_deref(), asked.recess.as_deref()) {
        (Some(gap), None) => {
            let (joint, rating) = match reader.joint(&asked.joint())? {
                Ok(found) => found,
                Err(finding) => return Ok(none(&model, reader, &finding)),
            };
            let gap = reader.length("gap", gap, asked.u_gap.as_deref())?;
            finish_usable(&model, reader, asked, &Defect::PinGap { joint: &joint, gap: &gap }, rating)
        }
        (None, Some(recess)) => {
            let section = match reader.line(&asked.line(), &ONE)? {
                Ok(section) => section,
                Err(finding) => return Ok(none(&model, reader, &finding)),
            };
            require_filled(&section.line)?;
            let recess = reader.length("recess", recess, asked.u_recess.as_deref())?;
            let defect = Defect::DielectricRecess { line: &section.line, recess: &recess };
            finish_usable(&model, reader, asked, &defect, section.rated)
        }
        (None, None) => Err(bad("gap")("expected a gap such as 60um or a recess, found nothing")),
        (Some(_), Some(_)) => Err(bad("gap")("expected a gap or a recess, found both")),
    }
}

fn finish_usable(
    model: &Model,
    mut reader: Reader<'_>,
    asked: &UsableAsked,
    defect: &Defect<'_>,
    rating: Option<Frequency>,
) -> Result<LineAnswerJson<UsableJson>, AppError> {
    let need = if let Some(text) = asked.need.as_deref() {
        reader.ratio("need", text, None)?.value()
    } else {
        let policy = &reader.sheets().policy().reflection_need;
        reader.sheet_value("need", policy);
        policy.value
    };
    let rated = match (asked.rated.as_deref(), rating) {
        (Some(text), _) => Some(reader.frequency("rated", text, None)?.value()),
        (None, Some(rating)) => {
            reader.default("rated", rating.hertz(), "Hz", "upper frequency of the interface");
            Some(rating)
        }
        (None, None) => None,
    };
    let mut answer = begin(model, &mut reader);
    let found = usable_up_to(defect, UsableLimits { need, rated }, SEED).map_err(bad("need"))?;
    let found = answer.take(found);
    answer.value = Some((&found).into());
    Ok(answer)
}

const COST: Model = Model {
    question: "cost",
    words: "a small lossless joint between the reference plane and the device, phase unknown; for a joint that \
            was not there at the calibration",
    source: "jcgm-100-2008, 4.3 and equation G.3; sensitivities are closed forms of the flow graph",
};

/// What does this joint cost an uncertainty budget?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn cost(sheets: &Sheets, asked: &CostAsked) -> Result<LineAnswerJson<CostJson>, AppError> {
    let measurand = match asked.measurand.trim() {
        "reflection" => Measurand::ReflectionMagnitude,
        "transmission" => Measurand::TransmissionDb,
        other => {
            return Err(bad("measurand")(format!("expected reflection or transmission, found \"{other}\"")));
        }
    };
    let mut reader = Reader::new(sheets);
    let device = reader.ratio("device", &asked.device, asked.u_device.as_deref())?;
    let wanted = match (asked.wanted.as_deref(), measurand) {
        (None, _) => None,
        (Some(text), Measurand::ReflectionMagnitude) => Some(reader.ratio("wanted", text, None)?.value()),
        (Some(text), Measurand::TransmissionDb) => Some(reader.decibels("wanted", text, None)?.value()),
    };
    let (mut answer, joint) = match (asked.joint_reflection.as_deref(), asked.gap.as_deref()) {
        (Some(text), None) => {
            let joint = reader.ratio("joint_reflection", text, asked.u_joint_reflection.as_deref())?;
            (begin(&COST, &mut reader), joint)
        }
        (None, Some(gap)) => {
            let (joint, rating) = match reader.joint(&asked.joint())? {
                Ok(found) => found,
                Err(finding) => return Ok(none(&COST, reader, &finding)),
            };
            let gap = reader.length("gap", gap, asked.u_gap.as_deref())?;
            let at = reader.at(asked.at.as_deref(), None, None)?;
            let mut answer = begin(&COST, &mut reader);
            let found = answer.take(gap_reflection(&joint, &gap, &at, SEED).map_err(line_error)?);
            rated(&mut answer, at.value(), rating);
            // The Monte Carlo spread is kept where the first order fails.
            let (value, u) = (found.magnitude.value(), found.magnitude.standard_uncertainty());
            let joint = Estimate::input(InputId::new("joint"), value, u, f64::INFINITY)?;
            answer.model = format!("{}; the joint: {}", COST.words, GAP.words);
            (answer, joint)
        }
        (None, None) => {
            return Err(bad("joint_reflection")("expected a reflection magnitude or a gap, found nothing"));
        }
        (Some(_), Some(_)) => {
            return Err(bad("joint_reflection")("expected a reflection magnitude or a gap, found both"));
        }
    };
    let found = answer.take(budget_line(measurand, &joint, &device, wanted).map_err(line_error)?);
    answer.value = Some((&found).into());
    Ok(answer)
}
