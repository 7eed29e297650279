//! A nested study: repeats within days within runs.

use super::{
    answer::{finding, number, short, study_error, unit_text},
    records::{By, Window, gaugings},
    table::{StudyFile, read},
};
use crate::{AppError, Workshop, error::field};
use matewell_intake::{Holds, Readings, Wanted};
use matewell_lab::Moment;
use matewell_study::{Day, NestedStudy, nested_study};
use matewell_uncertainty::Spread;
use matewell_wire::{
    ComponentJson, NestedDayJson, NestedStudyAsked, NestedStudyJson, OneDayJson, SpreadJson, StudyAnswerJson,
    StudyFindingJson, moment_text,
};

const fn text(name: &'static str, also: &'static [&'static str], needed: bool) -> Wanted {
    Wanted { name, also, holds: Holds::Text, needed }
}

const fn quantity(name: &'static str, also: &'static [&'static str], needed: bool) -> Wanted {
    Wanted { name, also, holds: Holds::Quantity, needed }
}

const ARTEFACT: Wanted = text("artefact", &["part", "end", "item", "wafer", "check standard"], false);
const RUN: Wanted = text("run", &["week", "appraiser", "person"], false);
const DAY: Wanted = text("day", &["date"], true);
const SINGLE: [Wanted; 4] =
    [ARTEFACT, RUN, DAY, quantity("reading", &["value", "measurement", "depth", "recession"], true)];
const DAILY: [Wanted; 5] = [
    ARTEFACT,
    RUN,
    DAY,
    quantity("mean", &["daily mean"], true),
    quantity("standard deviation", &["sd", "s", "stddev"], true),
];

/// A level with names in the order of their first reading.
struct Named<T>(Vec<(String, T)>);

impl<T: Default> Named<T> {
    fn at(&mut self, name: &str) -> &mut T {
        let known = self.0.iter().position(|(n, _)| n == name);
        let place = known.unwrap_or_else(|| {
            self.0.push((name.to_owned(), T::default()));
            self.0.len() - 1
        });
        // The place was just found or made.
        &mut self.0[place].1
    }
}

impl<T> Default for Named<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

type Tree = Named<Named<Named<Vec<f64>>>>;

struct Data {
    days: Vec<NestedDayJson>,
    repeats: usize,
    readings: usize,
    unit: String,
    from: String,
    findings: Vec<StudyFindingJson>,
}

pub(super) fn of_table(
    file: &StudyFile<'_>,
    asked: &NestedStudyAsked,
) -> Result<StudyAnswerJson<NestedStudyJson>, AppError> {
    if asked.end.is_some() {
        return Err(field("end")("expected a table or the label of an end, found both"));
    }
    let from = |table: &Readings| format!("table: {}", table.read_as);
    let data = if let Some(repeats) = number("repeats", asked.repeats.as_deref())? {
        let repeats = whole(repeats)?;
        let table = read(file, &DAILY, asked.table())?;
        let days: Vec<NestedDayJson> = table
            .rows
            .iter()
            .filter_map(|row| {
                let [artefact, run, day, ..] = row.texts.as_slice() else { return None };
                let [.., Some(mean), Some(sd)] = row.numbers.as_slice() else { return None };
                Some(NestedDayJson {
                    artefact: artefact.clone(),
                    run: run.clone(),
                    day: day.clone(),
                    mean: *mean,
                    standard_deviation: *sd,
                })
            })
            .collect();
        let readings = days.len() * repeats;
        Data {
            days,
            repeats,
            readings,
            unit: table.unit.to_owned(),
            from: from(&table),
            findings: Vec::new(),
        }
    } else {
        let table = read(file, &SINGLE, asked.table()).map_err(|error| match error {
            AppError::Field { field: "columns", message } => AppError::Field {
                field: "columns",
                message: format!("{message}; for a table of daily means and standard deviations say repeats"),
            },
            other => other,
        })?;
        let mut tree = Tree::default();
        for row in &table.rows {
            if let ([artefact, run, day, ..], [.., Some(value)]) =
                (row.texts.as_slice(), row.numbers.as_slice())
            {
                tree.at(artefact).at(run).at(day).push(*value);
            }
        }
        of_tree(tree, table.unit, from(&table), Vec::new())?
    };
    answer(data)
}

fn whole(value: f64) -> Result<usize, AppError> {
    if value.fract() == 0.0 && (2.0..=10_000.0).contains(&value) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a whole number from 2 to 10 000"
        )]
        let whole = value as usize;
        return Ok(whole);
    }
    Err(field("repeats")(format!("expected a whole number from 2 to 10000, found {value}")))
}

fn of_tree(tree: Tree, unit: &str, from: String, findings: Vec<StudyFindingJson>) -> Result<Data, AppError> {
    let mut days = Vec::new();
    let mut repeats: Option<usize> = None;
    let mut readings = 0;
    for (artefact, runs) in tree.0 {
        for (run, list) in runs.0 {
            for (day, values) in list.0 {
                let expected = *repeats.get_or_insert(values.len());
                if values.len() != expected {
                    return Err(field("file")(format!(
                        "artefact \"{artefact}\", run \"{run}\", day \"{day}\": expected {expected} readings as on the first day, found {}",
                        values.len()
                    )));
                }
                let spread = Spread::of_readings(&values).map_err(|e| {
                    field("file")(format!("artefact \"{artefact}\", run \"{run}\", day \"{day}\": {e}"))
                })?;
                readings += values.len();
                days.push(NestedDayJson {
                    artefact: artefact.clone(),
                    run: run.clone(),
                    day,
                    mean: values.iter().sum::<f64>() / values.len() as f64,
                    standard_deviation: spread.standard_deviation(),
                });
            }
        }
    }
    Ok(Data { days, repeats: repeats.unwrap_or(0), readings, unit: unit.to_owned(), from, findings })
}

pub(super) fn of_facts(
    shop: &Workshop,
    asked: &NestedStudyAsked,
    at: Moment,
) -> Result<StudyAnswerJson<NestedStudyJson>, AppError> {
    let by = By::read(asked.by.as_deref())?;
    let window = Window::read(asked.since.as_deref(), asked.until.as_deref(), at)?;
    let Some(tag) = asked.end.as_deref() else {
        return Err(field("end")("expected a table or the label of an end, found neither"));
    };
    let hit = shop.one_end(tag)?;
    let found = gaugings(shop, hit.end, by, &window)?;
    if found.is_empty() {
        return Err(field("end")(format!("expected gaugings of {} on record, found none", hit.end_tag)));
    }
    let repeats = found.iter().map(|g| g.readings.len()).min().unwrap_or(0);
    if repeats < 2 {
        return Err(field("end")(format!(
            "expected at least two readings in every gauging of {}, found one with {repeats}",
            hit.end_tag
        )));
    }
    let mut findings = Vec::new();
    let cut: usize = found.iter().map(|g| g.readings.len() - repeats).sum();
    if cut > 0 {
        findings.push(finding(
            "trials-cut",
            "care",
            format!("The first {repeats} readings of each gauging are used, {cut} later ones are not."),
        ));
    }
    let mut tree = Tree::default();
    for gauging in &found {
        let day = moment_text(gauging.at);
        tree.at(&hit.end_tag).at(&gauging.appraiser).at(&day).extend(gauging.readings.iter().take(repeats));
    }
    // The same number of gaugings in every run.
    let runs = &mut tree.at(&hit.end_tag).0;
    let days = runs.iter().map(|(_, days)| days.0.len()).max().unwrap_or(0);
    let short_runs: Vec<String> =
        runs.iter().filter(|(_, d)| d.0.len() < 2).map(|(name, _)| name.clone()).collect();
    runs.retain(|(_, d)| d.0.len() >= 2);
    if !short_runs.is_empty() {
        findings.push(finding(
            "left-out",
            "care",
            format!("Left out, because they gauged only once: {}.", short_runs.join(", ")),
        ));
    }
    let least = runs.iter().map(|(_, d)| d.0.len()).min().unwrap_or(0);
    if least < 2 {
        return Err(field("end")(format!(
            "expected at least one {} with two or more gaugings of {}, found {days}",
            by.word(),
            hit.end_tag
        )));
    }
    let later: usize = runs.iter().map(|(_, d)| d.0.len() - least).sum();
    for (_, list) in runs.iter_mut() {
        list.0.truncate(least);
    }
    if later > 0 {
        findings.push(finding(
            "gaugings-cut",
            "care",
            format!("The first {least} gaugings of each {} are used, {later} later ones are not.", by.word()),
        ));
    }
    findings.push(finding(
        "ends-may-have-moved",
        "note",
        "What the pin moved between the gaugings counts as day-to-day variation here.",
    ));
    let from =
        format!("gaugings on record of {}; runs are the {}s, days the gaugings", hit.end_tag, by.word());
    answer(of_tree(tree, "um", from, findings)?)
}

fn component(name: &str, standard_deviation: f64) -> ComponentJson {
    ComponentJson { name: name.to_owned(), standard_deviation, percent_of_total: None }
}

fn spread(spread: Spread) -> SpreadJson {
    SpreadJson {
        standard_deviation: spread.standard_deviation(),
        degrees_of_freedom: spread.degrees_of_freedom(),
    }
}

fn tree(days: &[NestedDayJson]) -> Named<Named<Vec<Day>>> {
    let mut tree: Named<Named<Vec<Day>>> = Named::default();
    for day in days {
        tree.at(&day.artefact)
            .at(&day.run)
            .push(Day { mean: day.mean, standard_deviation: day.standard_deviation });
    }
    tree
}

fn answer(data: Data) -> Result<StudyAnswerJson<NestedStudyJson>, AppError> {
    let Data { days, repeats, readings, unit, from, mut findings } = data;
    let tree = tree(&days);
    let artefacts: Vec<String> = tree.0.iter().map(|(name, _)| name.clone()).collect();
    let nested: Vec<Vec<Vec<Day>>> =
        tree.0.into_iter().map(|(_, runs)| runs.0.into_iter().map(|(_, days)| days).collect()).collect();
    let found: NestedStudy = nested_study(&nested, repeats).map_err(study_error)?;
    for name in &found.clamped {
        findings.push(finding(
            "clamped",
            "note",
            format!("The {name} vary less than what is below them explains: their own variance was negative and is set to zero."),
        ));
    }
    let runs = nested.first().map_or(0, Vec::len);
    if runs < 2 {
        findings.push(finding(
            "one-run",
            "note",
            "With one run nothing can be said about the variation from run to run.",
        ));
    }
    let mut counts = vec![1, 3, repeats];
    counts.sort_unstable();
    counts.dedup();
    let mut one_day_mean = Vec::new();
    for readings in counts {
        let standard_uncertainty = found.one_day_mean(readings).map_err(study_error)?;
        one_day_mean.push(OneDayJson { readings, standard_uncertainty });
    }
    let single = found.one_day_mean(1).map_err(study_error)?;
    let summary = format!(
        "A single reading on one day has the standard uncertainty {}{} with everything that varies from repeat to \
         repeat, day to day{}.",
        short(single),
        unit_text(&unit),
        if runs < 2 { "" } else { " and run to run" },
    );
    Ok(StudyAnswerJson {
        question: "nested".to_owned(),
        unit,
        summary,
        value: NestedStudyJson {
            artefacts,
            runs,
            days: nested.first().and_then(|r| r.first()).map_or(0, Vec::len),
            repeats,
            level_1: spread(found.repeats),
            level_2: spread(found.daily_means),
            level_3: found.run_means.map(spread),
            components: vec![
                component("repeats", found.repeats.standard_deviation()),
                component("days", found.days),
                component("runs", found.runs),
            ],
            one_day_mean,
            table: days,
        },
        findings,
        inputs: Vec::new(),
        readings_from: from,
        readings,
        method: "Standard deviations pooled within days, of daily means within runs, and of run means; each level less \
                 what the one below explains."
            .to_owned(),
        source: "nist-ehandbook, 2.4.4 and 2.4.5".to_owned(),
    })
}
