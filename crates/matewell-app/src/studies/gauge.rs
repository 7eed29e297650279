//! A crossed gauge study.

use super::{
    answer::{finding, finite, in_unit, input, number, origin, short, study_error, unit_text},
    records::{By, Window, gaugings, labels},
    table::{StudyFile, read},
};
use crate::{AppError, Workshop, error::field};
use matewell_intake::{Holds, Wanted};
use matewell_lab::Moment;
use matewell_study::{
    AverageAndRange, Crossed, CrossedAnova, FDenominator, Interaction, Source, StudyReading, Verdict,
    average_and_range, crossed_anova,
};
use matewell_wire::{
    AnovaRowJson, AverageAndRangeJson, ComponentJson, GaugeStudyAsked, GaugeStudyJson, NumberJson,
    StudyAnswerJson, StudyCellJson, StudyFindingJson,
};
use std::collections::BTreeMap;

const WANTED: [Wanted; 3] = [
    Wanted {
        name: "appraiser",
        also: &["person", "operator", "gauge", "who"],
        holds: Holds::Text,
        needed: true,
    },
    Wanted {
        name: "part",
        also: &["end", "item", "artefact", "connector"],
        holds: Holds::Text,
        needed: true,
    },
    Wanted {
        name: "reading",
        also: &["value", "measurement", "depth", "recession"],
        holds: Holds::Quantity,
        needed: true,
    },
];

/// What a person chose.
struct Chosen {
    interaction: Interaction,
    denominator: FDenominator,
    inputs: Vec<NumberJson>,
}

fn chosen(asked: &GaugeStudyAsked) -> Result<Chosen, AppError> {
    let asks = "expected keep, always, or the probability from which the interaction is pooled: 0.25 in one \
                widely used work, 0.05 in many programs";
    let interaction = match asked.pool.as_deref().map(str::trim) {
        None | Some("") => return Err(field("pool")(format!("{asks}; found nothing"))),
        Some("keep") => Interaction::Keep,
        Some("always") => Interaction::Pool,
        Some(text) => match number("pool", Some(text))? {
            Some(alpha) if 0.0 < alpha && alpha < 1.0 => Interaction::PoolAbove(alpha),
            _ => return Err(field("pool")(format!("{asks}; found \"{text}\""))),
        },
    };
    let asks = "expected repeatability (as on one widely used form) or interaction (as in textbooks for random \
                appraisers)";
    let denominator = match asked.f_over.as_deref().map(str::trim) {
        Some("repeatability") => FDenominator::Repeatability,
        Some("interaction") => FDenominator::Interaction,
        None | Some("") => return Err(field("f_over")(format!("{asks}; found nothing"))),
        Some(other) => return Err(field("f_over")(format!("{asks}; found \"{other}\""))),
    };
    let mut inputs = Vec::new();
    if let Interaction::PoolAbove(alpha) = interaction {
        inputs.push(input("pooled from this probability on", alpha, "1", origin("asked", "pool", "asked")));
    }
    Ok(Chosen { interaction, denominator, inputs })
}

/// The readings of a study with where they are from.
struct Data {
    readings: Vec<StudyReading>,
    unit: String,
    from: String,
    findings: Vec<StudyFindingJson>,
}

pub(super) fn of_table(
    file: &StudyFile<'_>,
    asked: &GaugeStudyAsked,
) -> Result<StudyAnswerJson<GaugeStudyJson>, AppError> {
    if asked.ends.is_some() {
        return Err(field("ends")("expected a table or labels of ends, found both"));
    }
    let chosen = chosen(asked)?;
    let table = read(file, &WANTED, asked.table())?;
    let readings = table
        .rows
        .iter()
        .filter_map(|row| match (row.texts.as_slice(), row.numbers.as_slice()) {
            ([appraiser, part, ..], [_, _, Some(value)]) => {
                Some(StudyReading { appraiser: appraiser.clone(), part: part.clone(), value: *value })
            }
            _ => None,
        })
        .collect();
    let data = Data {
        readings,
        unit: table.unit.to_owned(),
        from: format!("table: {}", table.read_as),
        findings: Vec::new(),
    };
    answer(data, chosen, asked)
}

pub(super) fn of_facts(
    shop: &Workshop,
    asked: &GaugeStudyAsked,
    at: Moment,
) -> Result<StudyAnswerJson<GaugeStudyJson>, AppError> {
    let chosen = chosen(asked)?;
    let by = By::read(asked.by.as_deref())?;
    let window = Window::read(asked.since.as_deref(), asked.until.as_deref(), at)?;
    let tags = labels(asked.ends.as_deref().unwrap_or_default());
    if tags.len() < 2 {
        return Err(field("ends")(format!(
            "expected a table, or labels of at least two ends separated by commas, found {}; for one end ask the \
             nested study",
            tags.len()
        )));
    }
    let mut cells: BTreeMap<(usize, String), Vec<f64>> = BTreeMap::new();
    let mut appraisers: Vec<String> = Vec::new();
    let mut parts = Vec::new();
    let mut sessions = 0;
    for tag in tags {
        let hit = shop.one_end(tag)?;
        for gauging in gaugings(shop, hit.end, by, &window)? {
            sessions += 1;
            if !appraisers.contains(&gauging.appraiser) {
                appraisers.push(gauging.appraiser.clone());
            }
            cells.entry((parts.len(), gauging.appraiser)).or_default().extend(gauging.readings);
        }
        parts.push(hit.end_tag);
    }
    let mut findings = Vec::new();
    // Who did not gauge every end is left out: the study must be balanced.
    let count = |who: &String| (0..parts.len()).filter(|p| cells.contains_key(&(*p, who.clone()))).count();
    let (whole, partial): (Vec<String>, Vec<String>) =
        appraisers.into_iter().partition(|who| count(who) == parts.len());
    if !partial.is_empty() {
        findings.push(finding(
            "left-out",
            "care",
            format!("Left out, because they did not gauge every one of these ends: {}.", partial.join(", ")),
        ));
    }
    if whole.len() < 2 {
        return Err(field("ends")(format!(
            "expected at least two of the kind {} who gauged all of {}, found {}",
            by.word(),
            parts.join(", "),
            if whole.is_empty() { "none".to_owned() } else { whole.join(", ") }
        )));
    }
    let kept: Vec<(usize, &String, &Vec<f64>)> = whole
        .iter()
        .flat_map(|who| (0..parts.len()).map(move |p| (p, who)))
        .filter_map(|(p, who)| Some((p, who, cells.get(&(p, who.clone()))?)))
        .collect();
    let trials = kept.iter().map(|(_, _, list)| list.len()).min().unwrap_or(0);
    let dropped: usize = kept.iter().map(|(_, _, list)| list.len() - trials).sum();
    if dropped > 0 {
        findings.push(finding(
            "trials-cut",
            "care",
            format!("The first {trials} readings of each cell are used, {dropped} later ones are not: a crossed study has the same number everywhere."),
        ));
    }
    findings.push(finding(
        "ends-may-have-moved",
        "note",
        format!("{sessions} gaugings at different times: what the ends moved in between counts as repeatability here."),
    ));
    let mut readings = Vec::new();
    for (part, who, list) in kept {
        for value in list.iter().take(trials) {
            let part = parts.get(part).cloned().unwrap_or_default();
            readings.push(StudyReading { appraiser: who.clone(), part, value: *value });
        }
    }
    let from = format!("gaugings on record of {}, by {}", parts.join(", "), by.word());
    answer(Data { readings, unit: "um".to_owned(), from, findings }, chosen, asked)
}

fn row(name: &str, source: Source) -> AnovaRowJson {
    AnovaRowJson {
        name: name.to_owned(),
        degrees_of_freedom: source.degrees_of_freedom,
        sum_of_squares: source.sum_of_squares,
        mean_square: source.mean_square(),
        f: source.f.and_then(finite),
        probability: source.probability.and_then(finite),
    }
}

fn component(name: &str, value: f64, total: f64) -> ComponentJson {
    ComponentJson {
        name: name.to_owned(),
        standard_deviation: value,
        percent_of_total: finite(100.0 * value / total),
    }
}

fn by_ranges(found: &AverageAndRange) -> AverageAndRangeJson {
    let total = found.total();
    AverageAndRangeJson {
        mean_range: found.mean_range,
        appraiser_range: found.appraiser_range,
        part_range: found.part_range,
        components: vec![
            component("repeatability", found.equipment, total),
            component("reproducibility", found.appraiser, total),
            component("gauge", found.gauge(), total),
            component("parts", found.part, total),
            component("total", total, total),
        ],
        gauge_percent_of_total: found.percent(found.gauge()),
        distinct_categories: finite(found.distinct_categories()),
    }
}

fn components(anova: &CrossedAnova) -> Vec<ComponentJson> {
    let total = anova.total();
    vec![
        component("repeatability", anova.equipment, total),
        component("appraisers", anova.between_appraisers, total),
        component("interaction", anova.interaction_deviation, total),
        component("reproducibility", anova.reproducibility(), total),
        component("gauge", anova.gauge(), total),
        component("parts", anova.between_parts, total),
        component("total", total, total),
    ]
}

fn cells_of(readings: &[StudyReading]) -> (Vec<String>, Vec<String>, Vec<StudyCellJson>) {
    let (mut appraisers, mut parts): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let mut places: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut cells: Vec<StudyCellJson> = Vec::new();
    for reading in readings {
        let key = (reading.appraiser.as_str(), reading.part.as_str());
        let place = *places.entry(key).or_insert_with(|| {
            cells.push(StudyCellJson {
                appraiser: reading.appraiser.clone(),
                part: reading.part.clone(),
                mean: 0.0,
                range: 0.0,
                trials: Vec::new(),
            });
            cells.len() - 1
        });
        if let Some(cell) = cells.get_mut(place) {
            cell.trials.push(reading.value);
        }
    }
    for cell in &mut cells {
        cell.mean = cell.trials.iter().sum::<f64>() / cell.trials.len() as f64;
        let fold = |start: f64, pick: fn(f64, f64) -> f64| cell.trials.iter().copied().fold(start, pick);
        cell.range = fold(f64::NEG_INFINITY, matewell_quantity::greater)
            - fold(f64::INFINITY, matewell_quantity::lesser);
        if !appraisers.contains(&cell.appraiser) {
            appraisers.push(cell.appraiser.clone());
        }
        if !parts.contains(&cell.part) {
            parts.push(cell.part.clone());
        }
    }
    (appraisers, parts, cells)
}

/// The error of an unbalanced design in the words of the table.
fn crossed(readings: &[StudyReading], cells: &[StudyCellJson]) -> Result<Crossed, AppError> {
    Crossed::from_readings(readings).map_err(|error| {
        let trials = cells.first().map_or(0, |c| c.trials.len());
        let odd = cells.iter().find(|c| c.trials.len() != trials);
        match (error, odd) {
            (matewell_study::StudyError::Unbalanced { .. }, Some(odd)) => field("file")(format!(
                "appraiser {}, part {}: expected {trials} readings as in the first cell, found {}",
                odd.appraiser,
                odd.part,
                odd.trials.len()
            )),
            (matewell_study::StudyError::Unbalanced { place, expected, found, .. }, None) => {
                field("file")(format!(
                    "expected readings of every appraiser on every part, found none in one cell ({place}: \
                     expected {expected}, found {found})"
                ))
            }
            (error, _) => study_error(error),
        }
    })
}

fn answer(
    data: Data,
    chosen: Chosen,
    asked: &GaugeStudyAsked,
) -> Result<StudyAnswerJson<GaugeStudyJson>, AppError> {
    let Data { readings, unit, from, mut findings } = data;
    let (appraisers, parts, cells) = cells_of(&readings);
    let study = crossed(&readings, &cells)?;
    let (_, _, trials) = study.size();
    let anova = crossed_anova(&study, chosen.interaction, chosen.denominator).map_err(study_error)?;
    let ranges = match average_and_range(&study) {
        Ok(found) => {
            if found.clamped {
                findings.push(finding(
                    "clamped",
                    "note",
                    "By averages and ranges, repeatability explains more than the appraisers' range: reproducibility is set to zero.",
                ));
            }
            Some(by_ranges(&found))
        }
        Err(error) => {
            findings.push(finding(
                "no-factors",
                "note",
                format!("No result by averages and ranges: {error}."),
            ));
            None
        }
    };
    for name in &anova.clamped {
        findings.push(finding(
            "clamped",
            "note",
            format!("The variance estimate for {name} was negative and is set to zero."),
        ));
    }
    let mut inputs = chosen.inputs;
    let tolerance = in_unit("tolerance", asked.tolerance.as_deref(), &unit)?;
    let of_tolerance = match tolerance {
        Some(width) => {
            inputs.push(input("tolerance", width, &unit, origin("asked", "tolerance", "asked")));
            Some(100.0 * anova.precision_to_tolerance(width).map_err(field("tolerance"))?)
        }
        None => None,
    };
    let share = anova.percent(anova.gauge());
    let verdict = match Verdict::of(share) {
        Verdict::Good => "good",
        Verdict::Conditional => "conditional",
        Verdict::Poor => "poor",
    };
    findings.push(finding(
        "share-depends-on-parts",
        "note",
        "The share of the total variation depends on how different the parts are. For a gauge held against a limit, the gauge's own standard deviation matters.",
    ));
    let (pool, pool_above) = match chosen.interaction {
        Interaction::Keep => ("keep", None),
        Interaction::Pool => ("always", None),
        Interaction::PoolAbove(alpha) => ("above", Some(alpha)),
    };
    let f_over = match anova.denominator {
        FDenominator::Repeatability => "repeatability",
        FDenominator::Interaction => "interaction",
    };
    let summary = format!(
        "One reading of one appraiser has the standard deviation {}{}: {} % of the total variation ({verdict}). \
         Interaction {}; ratios over {f_over}.",
        short(anova.gauge()),
        unit_text(&unit),
        short(share),
        if anova.pooled { "pooled with repeatability" } else { "kept" },
    );
    let value = GaugeStudyJson {
        appraisers,
        parts,
        trials,
        pool: pool.to_owned(),
        pool_above,
        pooled: anova.pooled,
        f_over: f_over.to_owned(),
        anova: vec![
            row("appraisers", anova.appraiser),
            row("parts", anova.part),
            row("interaction", anova.interaction),
            row("repeatability", anova.repeatability),
            AnovaRowJson {
                name: "total".to_owned(),
                degrees_of_freedom: readings.len() as f64 - 1.0,
                sum_of_squares: anova.total_squares,
                mean_square: anova.total_squares / (readings.len() as f64 - 1.0),
                f: None,
                probability: None,
            },
        ],
        components: components(&anova),
        gauge_percent_of_total: share,
        verdict: verdict.to_owned(),
        distinct_categories: finite(anova.distinct_categories()),
        gauge_percent_of_tolerance: of_tolerance,
        average_and_range: ranges,
        cells,
    };
    Ok(StudyAnswerJson {
        question: "gauge".to_owned(),
        unit,
        summary,
        value,
        findings,
        inputs,
        readings_from: from,
        readings: readings.len(),
        method: "Analysis of variance with random appraisers and parts, and beside it averages and ranges. Below 10 % \
                 good, to 30 % conditional, above poor."
            .to_owned(),
        source: "aiag-msa-2010, chapter III B, from memory; nist-ehandbook, 7.4.3".to_owned(),
    })
}
