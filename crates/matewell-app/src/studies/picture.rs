//! Pictures of the studies.

use super::answer::unit_text;
use matewell_picture::{Axis, Break, Chart, Draw, Mark, Series};
use matewell_wire::{
    ChartJson, CompareJson, GaugeStudyJson, NestedStudyJson, StudyAnswerJson, TorqueStudyJson,
};

fn axis(label: &str, unit: &str) -> Axis {
    let unit = unit_text(unit);
    Axis { label: if unit.is_empty() { label.to_owned() } else { format!("{label} in{unit}") } }
}

fn empty(title: String, description: &str, x: Axis, y: Axis) -> Chart {
    Chart {
        title,
        description: description.to_owned(),
        x,
        names: Vec::new(),
        y,
        series: Vec::new(),
        bands: Vec::new(),
        marks: Vec::new(),
        breaks: Vec::new(),
    }
}

/// Means of each appraiser over the parts, with every reading.
pub fn gauge(answer: &StudyAnswerJson<GaugeStudyJson>) -> String {
    let study = &answer.value;
    let mut chart = empty(
        "Readings by part and appraiser".to_owned(),
        &answer.summary,
        Axis { label: "part".to_owned() },
        axis("reading", &answer.unit),
    );
    chart.names.clone_from(&study.parts);
    let place = |part: &str| study.parts.iter().position(|p| p == part).map_or(f64::NAN, |p| p as f64 + 1.0);
    let count = study.appraisers.len() as f64;
    // Beside each other where several appraisers read the same part.
    let shift = |number: usize| (number as f64 - (count - 1.0) / 2.0) * (0.5 / count);
    for (number, appraiser) in study.appraisers.iter().enumerate() {
        let points = study
            .cells
            .iter()
            .filter(|c| c.appraiser == *appraiser)
            .flat_map(|c| c.trials.iter().map(|t| (place(&c.part) + shift(number), *t)))
            .collect();
        chart.series.push(Series { name: appraiser.clone(), points, draw: Draw::Signs });
    }
    chart.svg()
}

/// Daily means in the order of the table, one series a run.
pub fn nested(answer: &StudyAnswerJson<NestedStudyJson>) -> String {
    let study = &answer.value;
    let mut chart = empty(
        "Daily means by run".to_owned(),
        &answer.summary,
        Axis { label: "day, counted over the table".to_owned() },
        axis("daily mean", &answer.unit),
    );
    let mut runs: Vec<(String, Series)> = Vec::new();
    let mut artefact = None;
    for (number, day) in (1u32..).zip(&study.table) {
        if artefact.is_some_and(|a| a != &day.artefact) && chart.breaks.len() < 12 {
            chart.breaks.push(Break { name: day.artefact.clone(), at: f64::from(number) - 0.5 });
        }
        artefact = Some(&day.artefact);
        let name = if day.run.is_empty() { "run".to_owned() } else { day.run.clone() };
        let point = (f64::from(number), day.mean);
        match runs.iter_mut().find(|(run, _)| *run == name) {
            Some((_, series)) => series.points.push(point),
            None => runs.push((name.clone(), Series { name, points: vec![point], draw: Draw::Signs })),
        }
    }
    chart.series = runs.into_iter().map(|(_, s)| s).collect();
    chart.svg()
}

/// Values, weighted means and their limits.
pub fn chart(answer: &StudyAnswerJson<ChartJson>) -> String {
    let study = &answer.value;
    let mut chart = empty(
        "Values of the check standard".to_owned(),
        &answer.summary,
        Axis { label: "value, in order".to_owned() },
        axis("value", &answer.unit),
    );
    let series = |name: &str, draw, pick: &dyn Fn(&matewell_wire::ChartPointJson) -> Option<f64>| {
        let mut points = Vec::new();
        let mut phase = 1;
        for point in &study.points {
            // The pen is lifted where a phase ends.
            if point.phase != phase {
                points.push((f64::NAN, f64::NAN));
                phase = point.phase;
            }
            points.push((point.number as f64, pick(point).unwrap_or(f64::NAN)));
        }
        Series { name: name.to_owned(), points, draw }
    };
    let of_phase = |phase: usize| study.phases.iter().find(|p| p.phase == phase);
    chart.series = vec![
        series("single values", Draw::LineAndSigns, &|p| Some(p.value)),
        series("limits", Draw::Line, &|p| of_phase(p.phase)?.upper),
        series("weighted mean", Draw::Line, &|p| p.weighted_mean),
        series("centre", Draw::Line, &|p| of_phase(p.phase)?.target),
    ];
    // The lower limit continues the series of the upper one.
    let lower = series("", Draw::Line, &|p| of_phase(p.phase)?.lower);
    if let Some(limits) = chart.series.get_mut(1) {
        limits.points.push((f64::NAN, f64::NAN));
        limits.points.extend(lower.points);
    }
    let mut before = 0.0;
    for phase in &study.phases {
        if phase.phase > 1 {
            chart.breaks.push(Break { name: phase.begun_by.clone(), at: before + 0.5 });
        }
        before += phase.values as f64;
    }
    chart.svg()
}

/// Normalised errors between the borders of agreement.
pub fn compare(answer: &StudyAnswerJson<CompareJson>) -> String {
    let study = &answer.value;
    let mut chart = empty(
        format!("{} beside {}", study.first, study.second),
        &answer.summary,
        Axis { label: "artefact".to_owned() },
        Axis { label: "normalised error".to_owned() },
    );
    chart.names = study.results.iter().map(|r| r.artefact.clone()).collect();
    let points = (1u32..).zip(&study.results).map(|(n, r)| (f64::from(n), r.normalised_error)).collect();
    chart.series = vec![Series { name: "normalised error".to_owned(), points, draw: Draw::Signs }];
    chart.marks = vec![
        Mark { name: "agree up to here".to_owned(), at: 1.0 },
        Mark { name: "agree from here".to_owned(), at: -1.0 },
        Mark { name: "same result".to_owned(), at: 0.0 },
    ];
    chart.svg()
}

/// Deviations of the readings between the permissible ones.
pub fn torque(answer: &StudyAnswerJson<TorqueStudyJson>) -> String {
    let study = &answer.value;
    let mut chart = empty(
        "Deviation of the torque tool".to_owned(),
        &answer.summary,
        Axis { label: "reading, in order".to_owned() },
        Axis { label: "deviation in %".to_owned() },
    );
    let points = (1u32..).zip(&study.deviations_percent).map(|(n, d)| (f64::from(n), *d)).collect();
    chart.series = vec![Series { name: "readings".to_owned(), points, draw: Draw::LineAndSigns }];
    chart.marks = vec![Mark { name: "mean reference".to_owned(), at: study.mean_deviation_percent }];
    if let Some(limit) = study.permissible_percent {
        chart.marks.push(Mark { name: "permissible".to_owned(), at: limit });
        chart.marks.push(Mark { name: "permissible".to_owned(), at: -limit });
    }
    chart.svg()
}
