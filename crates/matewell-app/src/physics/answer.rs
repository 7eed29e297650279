//! What every answer is made of.

use super::read::{Reader, Sweep};
use matewell_line::{Finding, te11_cutoff};
use matewell_quantity::Frequency;
use matewell_wire::{LineAnswerJson, LineFindingJson, SweepJson};

/// The same question gives the same answer, bit by bit: Monte Carlo runs start
/// from this seed.
pub(super) const SEED: u64 = 20_261_125;

/// A model in words, and where it is from.
pub(super) struct Model {
    pub(super) question: &'static str,
    pub(super) words: &'static str,
    pub(super) source: &'static str,
}

/// An answer that has its findings and inputs, and no number yet.
pub(super) fn begin<T>(model: &Model, reader: &mut Reader<'_>) -> LineAnswerJson<T> {
    LineAnswerJson {
        question: model.question.to_owned(),
        value: None,
        sweep: None,
        findings: std::mem::take(&mut reader.findings),
        inputs: std::mem::take(&mut reader.inputs),
        model: model.words.to_owned(),
        source: model.source.to_owned(),
    }
}

/// An answer without a number: a dimension nobody has given.
pub(super) fn none<T>(model: &Model, mut reader: Reader<'_>, finding: &Finding) -> LineAnswerJson<T> {
    let mut answer = begin(model, &mut reader);
    answer.findings.push(finding.into());
    answer
}

/// Says when a frequency is above what the interface is rated for.
pub(super) fn rated<T>(answer: &mut LineAnswerJson<T>, at: Frequency, rated: Option<Frequency>) {
    if let Some(rated) = rated
        && at.hertz() > rated.hertz()
    {
        answer.findings.push((&Finding::AboveRated { frequency: at, rated }).into());
    }
}

/// The frequencies of a sweep that lie below the cut-off, and the cut-off.
pub(super) fn below_cutoff<T>(
    answer: &mut LineAnswerJson<T>,
    sweep: &Sweep,
    lines: &[&matewell_line::Line],
) -> Result<(Vec<Frequency>, Option<f64>), matewell_line::LineError> {
    let mut cutoff = f64::INFINITY;
    for line in lines {
        cutoff = matewell_quantity::lesser(cutoff, te11_cutoff(line)?.value().hertz());
    }
    let kept: Vec<Frequency> = sweep.frequencies.iter().copied().filter(|f| f.hertz() < cutoff).collect();
    if kept.len() < sweep.frequencies.len() {
        let at = Frequency::from_hertz(cutoff)?;
        answer.findings.push(LineFindingJson::note(
            "sweep-ends-at-cutoff",
            format!("the table ends below the TE11 cut-off {at}"),
        ));
    }
    Ok((kept, Some(cutoff).filter(|c| c.is_finite())))
}

/// A table with named columns.
pub(super) fn table(columns: &[&str], rows: Vec<Vec<f64>>, te11_cutoff_hz: Option<f64>) -> SweepJson {
    SweepJson { columns: columns.iter().map(|c| (*c).to_owned()).collect(), rows, te11_cutoff_hz }
}
