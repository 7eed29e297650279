//! Two gauges, or two labs, beside each other.

use super::{
    answer::{finding, input, number, origin, short, study_error},
    records::{By, Window, gaugings, labels},
    table::{StudyFile, read},
};
use crate::{AppError, Workshop, error::field};
use matewell_intake::{Holds, Wanted};
use matewell_lab::{FactId, GaugingOnRecord, Moment, tool_record};
use matewell_study::{Comparison, compare, compare_estimates};
use matewell_verdict::pin_knowledge;
use matewell_wire::{
    CompareAsked, CompareJson, ComparedJson, NumberJson, StudyAnswerJson, StudyFindingJson, moment_text,
};

const WANTED: [Wanted; 4] = [
    Wanted {
        name: "participant",
        also: &["lab", "gauge", "appraiser", "who"],
        holds: Holds::Text,
        needed: true,
    },
    Wanted { name: "artefact", also: &["part", "end", "item"], holds: Holds::Text, needed: false },
    Wanted { name: "result", also: &["reading", "value", "mean"], holds: Holds::Quantity, needed: true },
    Wanted {
        name: "expanded uncertainty",
        also: &["u expanded", "expanded", "uncertainty"],
        holds: Holds::Quantity,
        needed: true,
    },
];

struct Reported {
    artefact: String,
    value: f64,
    expanded: f64,
}

fn compared(artefact: &str, first: (f64, f64), second: (f64, f64), found: &Comparison) -> ComparedJson {
    ComparedJson {
        artefact: artefact.to_owned(),
        first: first.0,
        first_expanded_uncertainty: first.1,
        second: second.0,
        second_expanded_uncertainty: second.1,
        difference: found.difference,
        difference_expanded_uncertainty: found.expanded_uncertainty,
        normalised_error: found.normalised,
        agrees: found.agrees(),
    }
}

pub(super) fn of_table(
    file: &StudyFile<'_>,
    asked: &CompareAsked,
) -> Result<StudyAnswerJson<CompareJson>, AppError> {
    if asked.end.is_some() {
        return Err(field("end")("expected a table or the label of an end, found both"));
    }
    let table = read(file, &WANTED, asked.table())?;
    let mut sides: Vec<(String, Vec<Reported>)> = Vec::new();
    for row in &table.rows {
        let ([who, artefact, ..], [_, _, Some(value), Some(expanded)]) =
            (row.texts.as_slice(), row.numbers.as_slice())
        else {
            continue;
        };
        if *expanded < 0.0 {
            return Err(field("file")(format!(
                "row {}: expected an expanded uncertainty of zero or more, found {expanded}",
                row.number
            )));
        }
        let side = match sides.iter().position(|(name, _)| name == who) {
            Some(side) => side,
            None if sides.len() == 2 => {
                return Err(field("file")(format!(
                    "row {}: expected two participants, found a third, \"{who}\"",
                    row.number
                )));
            }
            None => {
                sides.push((who.clone(), Vec::new()));
                sides.len() - 1
            }
        };
        if let Some((_, list)) = sides.get_mut(side) {
            if list.iter().any(|r| r.artefact == *artefact) {
                return Err(field("file")(format!(
                    "row {}: expected one result of {who} for each artefact, found a second for \"{artefact}\"",
                    row.number
                )));
            }
            list.push(Reported { artefact: artefact.clone(), value: *value, expanded: *expanded });
        }
    }
    let [(first, ours), (second, theirs)] = sides.as_slice() else {
        return Err(field("file")(format!("expected two participants, found {}", sides.len())));
    };
    let mut results = Vec::new();
    for one in ours {
        let Some(other) = theirs.iter().find(|r| r.artefact == one.artefact) else {
            return Err(field("file")(format!(
                "artefact \"{}\": expected a result of {second} too, found none",
                one.artefact
            )));
        };
        let (a, b) = ((one.value, one.expanded), (other.value, other.expanded));
        let found =
            compare(a, b).map_err(|e| field("file")(format!("artefact \"{}\": {e}", one.artefact)))?;
        results.push(compared(&one.artefact, a, b, &found));
    }
    if let Some(extra) = theirs.iter().find(|r| !ours.iter().any(|o| o.artefact == r.artefact)) {
        return Err(field("file")(format!(
            "artefact \"{}\": expected a result of {first} too, found none",
            extra.artefact
        )));
    }
    let independent = finding(
        "taken-as-independent",
        "care",
        "The two results are taken as independent. What they share, such as one master, cancels in the difference and makes this test too kind.",
    );
    let from = format!("table: {}", table.read_as);
    Ok(answer((first, second), results, table.unit, from, vec![independent], Vec::new()))
}

pub(super) fn of_facts(
    shop: &Workshop,
    asked: &CompareAsked,
    at: Moment,
) -> Result<StudyAnswerJson<CompareJson>, AppError> {
    let Some(tag) = asked.end.as_deref() else {
        return Err(field("end")("expected a table or the label of an end, found neither"));
    };
    let hit = shop.one_end(tag)?;
    let pair = labels(asked.gauges.as_deref().unwrap_or_default());
    let [first, second] = pair.as_slice() else {
        return Err(field("gauges")(format!(
            "expected the labels of two gauges separated by a comma, found {}",
            pair.len()
        )));
    };
    let coverage = number("coverage", asked.coverage.as_deref())?;
    let coverage_input = input(
        "coverage of the expanded uncertainties",
        coverage.unwrap_or(0.95),
        "1",
        if coverage.is_some() {
            origin("asked", "coverage", "asked")
        } else {
            origin("default", "the usual coverage", "common practice")
        },
    );
    let coverage = coverage.unwrap_or(0.95);
    if !(0.0 < coverage && coverage < 1.0) {
        return Err(field("coverage")(format!("expected a probability between 0 and 1, found {coverage}")));
    }
    let window = Window { since: None, until: at };
    let found = gaugings(shop, hit.end, By::Gauge, &window)?;
    let mut estimates = Vec::new();
    let mut names = Vec::new();
    let mut when = Vec::new();
    let mut readings = 0;
    for label in [first, second] {
        let gauge = shop.one_item("a gauge", label)?;
        let Some(last) = found.iter().rfind(|g| g.gauged.gauge == Some(gauge)) else {
            return Err(field("gauges")(format!(
                "expected a gauging of {} with {label} on record, found none",
                hit.end_tag
            )));
        };
        let record = tool_record(gauge, &shop.store.facts_of_item(gauge)?, at);
        let on_record = GaugingOnRecord {
            // Two gaugings never share their readings.
            fact: FactId::from_bytes(u128::try_from(names.len()).unwrap_or(0).to_be_bytes()),
            at: last.at,
            person: String::new(),
            contacts: 0,
            gauged: last.gauged.clone(),
        };
        let known = pin_knowledge(Some(&on_record), record.as_ref(), &shop.book(), &shop.book().policy())?;
        let Some(estimate) = known.recession_um else {
            return Err(field("gauges")(format!(
                "expected an uncertainty on record for {label}, found none: a comparison without one says nothing"
            )));
        };
        readings += last.readings.len();
        when.push(moment_text(last.at));
        names.push(record.map_or_else(|| (*label).to_owned(), |r| r.item.tag));
        estimates.push(estimate);
    }
    let ([one, other], [first, second]) = (estimates.as_slice(), names.as_slice()) else {
        return Err(field("gauges")("expected two gauges"));
    };
    let comparison = compare_estimates(one, other, coverage).map_err(study_error)?;
    let expanded = |e: &matewell_uncertainty::Estimate| {
        Ok::<_, AppError>((e.value(), e.expanded(coverage)?.uncertainty))
    };
    let results = vec![compared(&hit.end_tag, expanded(one)?, expanded(other)?, &comparison)];
    let findings = vec![
        finding("sign", "note", "Above zero is recessed, below zero protruding."),
        finding(
            "at-different-times",
            "note",
            format!(
                "Gauged at {}: what the pin moved in between counts as difference.",
                when.join(" and at ")
            ),
        ),
    ];
    let from = format!("last gaugings on record of {} with {first} and {second}", hit.end_tag);
    let mut answer = answer((first, second), results, "um", from, findings, vec![coverage_input]);
    answer.readings = readings;
    Ok(answer)
}

fn answer(
    (first, second): (&str, &str),
    results: Vec<ComparedJson>,
    unit: &str,
    from: String,
    mut findings: Vec<StudyFindingJson>,
    inputs: Vec<NumberJson>,
) -> StudyAnswerJson<CompareJson> {
    let agreeing = results.iter().filter(|r| r.agrees).count();
    let worst = results.iter().max_by(|x, y| x.normalised_error.abs().total_cmp(&y.normalised_error.abs()));
    let summary = match worst {
        Some(worst) if agreeing == results.len() => format!(
            "{first} and {second} agree in all {} results; the largest normalised error is {}.",
            results.len(),
            short(worst.normalised_error)
        ),
        Some(worst) => format!(
            "{first} and {second} do not agree in {} of {} results; the largest normalised error is {} at \"{}\".",
            results.len() - agreeing,
            results.len(),
            short(worst.normalised_error),
            worst.artefact
        ),
        None => "There is nothing to compare.".to_owned(),
    };
    if agreeing < results.len() {
        findings.push(finding(
            "do-not-agree",
            "open",
            "A difference is larger than the uncertainties explain: one of them is off, or its uncertainty is too small.",
        ));
    }
    StudyAnswerJson {
        question: "compare".to_owned(),
        unit: unit.to_owned(),
        summary,
        readings: 2 * results.len(),
        value: CompareJson { first: first.to_owned(), second: second.to_owned(), agreeing, results },
        findings,
        inputs,
        readings_from: from,
        method: "Normalised error: the difference over the expanded uncertainty of the difference; up to 1 the results \
                 agree."
            .to_owned(),
        source: "iso-13528-2022, 9.7, from memory".to_owned(),
    }
}
