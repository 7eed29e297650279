//! Charts of a check standard.

use super::{
    answer::{finding, in_unit, input, number_or, origin, short, study_error, unit_text},
    records::Window,
    table::{StudyFile, read},
};
use crate::{AppError, Workshop, error::field};
use matewell_intake::{Holds, Wanted};
use matewell_lab::{FactBody, Moment, PinPosition, ToolCheck, standing_facts};
use matewell_study::{average_run_length_two_sided, cusum, ewma, individuals};
use matewell_wire::{
    ChartAsked, ChartJson, ChartPhaseJson, ChartPointJson, NumberJson, StudyAnswerJson, StudyFindingJson,
    moment_text,
};

const WANTED: [Wanted; 3] = [
    Wanted {
        name: "reading",
        also: &["value", "measurement", "zero", "check"],
        holds: Holds::Quantity,
        needed: true,
    },
    Wanted { name: "label", also: &["date", "day", "when", "sample"], holds: Holds::Text, needed: false },
    Wanted { name: "event", also: &["break", "begins"], holds: Holds::Text, needed: false },
];

struct Checked {
    label: String,
    value: f64,
    /// What broke the series before it.
    event: Option<String>,
}

struct Rules {
    target: Option<f64>,
    sigma: Option<f64>,
    lambda: f64,
    reach: f64,
    k: f64,
    h: f64,
}

fn rules(asked: &ChartAsked, unit: &str) -> Result<(Rules, Vec<NumberJson>), AppError> {
    let mut inputs = Vec::new();
    let target = in_unit("target", asked.target.as_deref(), unit)?;
    let sigma = in_unit("sigma", asked.sigma.as_deref(), unit)?;
    if sigma.is_some_and(|s| s <= 0.0) {
        return Err(field("sigma")("expected a standard deviation above zero"));
    }
    for (name, value) in [("target", target), ("sigma", sigma)] {
        if let Some(value) = value {
            inputs.push(input(name, value, unit, origin("asked", name, "asked")));
        }
    }
    let weight = (0.2, "0.2 to 0.3 sees slow wear; common practice, no source");
    let lambda = number_or("lambda", asked.lambda.as_deref(), weight, &mut inputs)?;
    if !(0.0 < lambda && lambda <= 1.0) {
        return Err(field("lambda")(format!("expected a number above 0, at most 1, found {lambda}")));
    }
    let mut positive = |name, text: Option<&str>, default| {
        let value = number_or(name, text, default, &mut inputs)?;
        if value > 0.0 {
            Ok(value)
        } else {
            Err(field(name)(format!("expected a number above zero, found {value}")))
        }
    };
    Ok((
        Rules {
            target,
            sigma,
            lambda,
            reach: positive("reach", asked.reach.as_deref(), (3.0, "three standard deviations"))?,
            k: positive(
                "cusum_k",
                asked.cusum_k.as_deref(),
                (0.5, "half of a shift of one standard deviation"),
            )?,
            h: positive("cusum_h", asked.cusum_h.as_deref(), (5.0, "4 to 5 is usual; common practice"))?,
        },
        inputs,
    ))
}

pub(super) fn of_table(
    file: &StudyFile<'_>,
    asked: &ChartAsked,
) -> Result<StudyAnswerJson<ChartJson>, AppError> {
    if asked.tool.is_some() {
        return Err(field("tool")("expected a table or the label of a gauge, found both"));
    }
    let table = read(file, &WANTED, asked.table())?;
    let (rules, inputs) = rules(asked, table.unit)?;
    let values: Vec<Checked> = table
        .rows
        .iter()
        .filter_map(|row| {
            let [_, label, event] = row.texts.as_slice() else { return None };
            let value = (*row.numbers.first()?)?;
            let label = if label.is_empty() { format!("row {}", row.number) } else { label.clone() };
            Some(Checked { label, value, event: Some(event.clone()).filter(|e| !e.is_empty()) })
        })
        .collect();
    let from = format!("table: {}", table.read_as);
    answer(&values, &rules, inputs, table.unit, from, Vec::new())
}

pub(super) fn of_facts(
    shop: &Workshop,
    asked: &ChartAsked,
    at: Moment,
) -> Result<StudyAnswerJson<ChartJson>, AppError> {
    let Some(tag) = asked.tool.as_deref() else {
        return Err(field("tool")("expected a table or the label of a gauge, found neither"));
    };
    let window = Window::read(asked.since.as_deref(), asked.until.as_deref(), at)?;
    let tool = shop.one_item("a gauge", tag)?;
    let (rules, inputs) = rules(asked, "um")?;
    let facts = shop.store.facts_of_item(tool)?;
    let mut values: Vec<Checked> = Vec::new();
    let mut event = None;
    for fact in standing_facts(&facts, window.until) {
        if !window.holds(fact.happened_at) {
            continue;
        }
        if let FactBody::Gauged(gauged) = &fact.body
            && gauged.gauge == Some(tool)
            && let Some(session) = &gauged.session
        {
            // What the gauge showed on its master before and after, less where the master's pin stands.
            let master = session.master_position.map_or(0.0, PinPosition::recession_um);
            for (when, shown) in [("before", &session.zero_before), ("after", &session.zero_after)] {
                if shown.is_empty() {
                    continue;
                }
                let sum: f64 = shown.iter().map(|z| z.recession_um() - master).sum();
                values.push(Checked {
                    label: format!("{} {when} a gauging", moment_text(fact.happened_at)),
                    value: sum / shown.len() as f64,
                    event: event.take(),
                });
            }
        }
        let FactBody::ToolChecked(checked) = &fact.body else { continue };
        if checked.tool != tool {
            continue;
        }
        match &checked.check {
            ToolCheck::GaugeZero(zero) => values.push(Checked {
                label: moment_text(fact.happened_at),
                value: zero.reads_more_recessed.micrometres(),
                event: event.take(),
            }),
            // What was calibrated may have been adjusted; a new zero alone is no break.
            ToolCheck::Certificate(document) => event = Some(format!("certificate {}", document.document)),
            ToolCheck::Wrench(_) => {}
        }
    }
    if values.len() < 2 {
        return Err(field("tool")(format!(
            "expected at least two zero checks of {} on record, found {}",
            tag.trim(),
            values.len()
        )));
    }
    if let Some(first) = values.first_mut() {
        first.event = None;
    }
    let note = finding(
        "zero-sign",
        "note",
        "Above zero the gauge read its master as more recessed than it is, below zero as more protruding.",
    );
    let from = format!("zero checks on record of {}, those of its gaugings included", tag.trim());
    answer(&values, &rules, inputs, "um", from, vec![note])
}

/// One phase: its numbers, its points, what signals.
fn phase(
    number: usize,
    first: usize,
    begun_by: &str,
    values: &[&Checked],
    rules: &Rules,
    findings: &mut Vec<StudyFindingJson>,
) -> Result<(ChartPhaseJson, Vec<ChartPointJson>), AppError> {
    let series: Vec<f64> = values.iter().map(|v| v.value).collect();
    let mut points: Vec<ChartPointJson> = values
        .iter()
        .zip(first..)
        .map(|(value, number_of_point)| ChartPointJson {
            number: number_of_point,
            label: value.label.clone(),
            phase: number,
            value: value.value,
            weighted_mean: None,
            weighted_lower: None,
            weighted_upper: None,
            sum_up: None,
            sum_down: None,
            signals: Vec::new(),
        })
        .collect();
    let mut shown = ChartPhaseJson {
        phase: number,
        begun_by: begun_by.to_owned(),
        values: series.len(),
        centre: None,
        mean_moving_range: None,
        sigma: rules.sigma,
        lower: None,
        upper: None,
        moving_range_upper: None,
        target: rules.target,
        cusum_allowance: None,
        cusum_decision: None,
    };
    let mut signal = |index: usize, word: &str| {
        if let Some(point) = points.get_mut(index) {
            point.signals.push(word.to_owned());
        }
    };
    if series.len() >= 2 {
        let chart = individuals(&series).map_err(study_error)?;
        let centre = rules.target.unwrap_or(chart.centre);
        let sigma = rules.sigma.unwrap_or(chart.sigma);
        let (lower, upper) = (centre - rules.reach * sigma, centre + rules.reach * sigma);
        shown.centre = Some(chart.centre);
        shown.mean_moving_range = Some(chart.mean_moving_range);
        shown.sigma = Some(sigma);
        shown.target = Some(centre);
        (shown.lower, shown.upper) = (Some(lower), Some(upper));
        shown.moving_range_upper = Some(chart.moving_range_upper);
        for (index, value) in series.iter().enumerate() {
            if *value < lower || upper < *value {
                signal(index, "single value");
            }
        }
        for range in &chart.range_signals {
            signal(range.index, "moving range");
        }
    } else {
        findings.push(finding(
            "one-value",
            "note",
            format!("Phase {number} has one value: nothing can be said about its scatter."),
        ));
    }
    let (Some(target), Some(sigma)) = (shown.target, shown.sigma.filter(|s| *s > 0.0)) else {
        if series.len() >= 2 {
            findings.push(finding(
                "no-scatter",
                "care",
                format!(
                    "Phase {number} has no scatter: give a standard deviation, or the resolution hides it."
                ),
            ));
        }
        return Ok((shown, points));
    };
    let weighted = ewma(&series, target, sigma, rules.lambda, rules.reach).map_err(study_error)?;
    let (allowance, decision) = (rules.k * sigma, rules.h * sigma);
    let sums = cusum(&series, target, allowance, decision).map_err(study_error)?;
    shown.cusum_allowance = Some(allowance);
    shown.cusum_decision = Some(decision);
    for found in &weighted.signals {
        signal(found.index, "weighted mean");
    }
    for (index, (up, down)) in sums.up.iter().zip(&sums.down).enumerate() {
        if *up > decision {
            signal(index, "sum upwards");
        }
        if *down > decision {
            signal(index, "sum downwards");
        }
    }
    for (index, point) in points.iter_mut().enumerate() {
        let at = weighted.points.get(index);
        point.weighted_mean = at.map(|p| p.value);
        point.weighted_lower = at.map(|p| p.lower);
        point.weighted_upper = at.map(|p| p.upper);
        point.sum_up = sums.up.get(index).copied();
        point.sum_down = sums.down.get(index).copied();
    }
    Ok((shown, points))
}

fn answer(
    values: &[Checked],
    rules: &Rules,
    inputs: Vec<NumberJson>,
    unit: &str,
    from: String,
    mut findings: Vec<StudyFindingJson>,
) -> Result<StudyAnswerJson<ChartJson>, AppError> {
    let mut phases = Vec::new();
    let mut points: Vec<ChartPointJson> = Vec::new();
    let mut at = 0;
    while at < values.len() {
        let length =
            values.iter().skip(at + 1).position(|v| v.event.is_some()).map_or(values.len() - at, |n| n + 1);
        let these: Vec<&Checked> = values.iter().skip(at).take(length).collect();
        let begun_by =
            these.first().and_then(|v| v.event.clone()).unwrap_or_else(|| "first value".to_owned());
        let (shown, new) = phase(phases.len() + 1, at + 1, &begun_by, &these, rules, &mut findings)?;
        phases.push(shown);
        points.extend(new);
        at += length;
    }
    let signalled: Vec<&ChartPointJson> = points.iter().filter(|p| !p.signals.is_empty()).collect();
    let summary = match signalled.first() {
        None => format!("{} values, no signal.", points.len()),
        Some(first) => format!(
            "{} of {} values signal; first {} ({}{}): {}.",
            signalled.len(),
            points.len(),
            first.label,
            short(first.value),
            unit_text(unit),
            first.signals.join(", ")
        ),
    };
    if let Some(first) = signalled.first() {
        findings.push(finding(
            "signal",
            "open",
            format!(
                "Something changed by {}: find out what before the standard or gauge is trusted again.",
                first.label
            ),
        ));
    }
    let signals = signalled.len();
    let run_length = |shift| average_run_length_two_sided(shift, rules.k, rules.h).map_err(study_error);
    Ok(StudyAnswerJson {
        question: "chart".to_owned(),
        unit: unit.to_owned(),
        summary,
        value: ChartJson {
            signals,
            phases,
            average_run_length: run_length(0.0)?,
            average_run_length_shifted: run_length(1.0)?,
            points,
        },
        findings,
        inputs,
        readings_from: from,
        readings: values.len(),
        method: "Single values with limits from the moving range, weighted means, and cumulative sums of both \
                 directions; each phase has its own mean and limits. The standard deviation is that of the moving \
                 range, so that a drift does not widen its own limits."
            .to_owned(),
        source: "nist-ehandbook, 6.3.2; run lengths siegmund-1985".to_owned(),
    })
}
