//! NIST handbook nested study, and the ten-part study by both methods.

use super::{data, nth, rows};
use crate::{
    Crossed, Day, FDenominator, Interaction, NestedStudy, StudyError, average_and_range, crossed_anova,
    nested_study,
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, FromMemory, Independent, Own, Published},
};
use matewell_uncertainty::Spread;

const NIST: &str = "nist-ehandbook";
const AIAG: &str = "aiag-msa-2010";
const MPC61: &str = include_str!("../../data/mpc61.csv");

pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    let mut all = nested()?;
    all.extend(ranges()?);
    all.extend(anova()?);
    Ok(all)
}

struct Row {
    run: u32,
    wafer: u32,
    probe: u32,
    day: Day,
}

fn mpc61() -> Vec<Row> {
    MPC61
        .lines()
        .filter_map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            let whole = |n: usize| fields.get(n)?.parse().ok();
            let number = |n: usize| fields.get(n)?.parse().ok();
            Some(Row {
                run: whole(0)?,
                wafer: whole(1)?,
                probe: whole(2)?,
                day: Day { mean: number(7)?, standard_deviation: number(8)? },
            })
        })
        .collect()
}

fn days(rows: &[Row], probe: u32, wafer: u32, run: u32) -> Vec<Day> {
    rows.iter().filter(|r| (r.probe, r.wafer, r.run) == (probe, wafer, run)).map(|r| r.day).collect()
}

fn by_probe(rows: &[Row], probe: u32) -> Result<NestedStudy, StudyError> {
    let artefacts: Vec<Vec<Vec<Day>>> =
        (138..=142).map(|wafer| (1..=2).map(|run| days(rows, probe, wafer, run)).collect()).collect();
    nested_study(&artefacts, 6)
}

fn nested() -> Result<Vec<Check>, StudyError> {
    let squares = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076];
    let spreads = squares
        .iter()
        .map(|ss: &f64| Spread::new((ss / 60.0).sqrt(), 60.0))
        .collect::<Result<Vec<_>, _>>()?;
    let pooled = Spread::pooled(&spreads)?;
    let rows_read = mpc61();
    let run = |number| {
        let means: Vec<f64> = days(&rows_read, 2362, 140, number).iter().map(|d| d.mean).collect();
        Spread::of_readings(&means)
    };
    let (run1, run2) = (run(1)?, run(2)?);
    let both = Spread::pooled(&[run1, run2])?;
    let probe = |number| by_probe(&rows_read, number);
    let (p1, p281, p283, p2062, p2362) = (probe(1)?, probe(281)?, probe(283)?, probe(2062)?, probe(2362)?);
    let s1 = |s: &NestedStudy| s.repeats.standard_deviation();
    let s2 = |s: &NestedStudy| s.daily_means.standard_deviation();
    let s3 = |s: &NestedStudy| s.run_means.map_or(f64::NAN, |r| r.standard_deviation());
    let by_wafer = |wafer| {
        let means: Vec<f64> = (1..=2)
            .map(|run| {
                let list: Vec<f64> = days(&rows_read, 2362, wafer, run).iter().map(|d| d.mean).collect();
                crate::numeric::mean(&list)
            })
            .collect();
        Spread::of_readings(&means).map(|s| s.standard_deviation())
    };
    let mut all = rows(
        NIST,
        [
            (
                "2.4.4.4",
                "pooled level-1 s of five probes / ohm.cm",
                "0.10290",
                pooled.standard_deviation(),
                Published,
            ),
            ("2.4.4.4", "its degrees of freedom", "300", pooled.degrees_of_freedom(), Published),
            ("2.4.4.4", "sum of squares", "3.17635", pooled.standard_deviation().powi(2) * 300.0, Published),
            (
                "2.4.4.2",
                "level-2 s, wafer 140, probe 2362, pooled",
                "0.02742",
                both.standard_deviation(),
                Published,
            ),
            ("2.4.4.2", "its degrees of freedom", "10", both.degrees_of_freedom(), Published),
            ("2.4.4.3", "level-3 s, probe 2362, wafer 139", "0.0027", by_wafer(139)?, Published),
            ("2.4.4.3", "level-3 s, probe 2362, wafer 141", "0.0133", by_wafer(141)?, Published),
            ("2.4.4.3", "level-3 s, probe 2362, wafer 142", "0.0205", by_wafer(142)?, Published),
        ],
    );
    let rounded = "the page pools rounded daily values; the data file gives this";
    all.push(
        Check::printed(
            NIST,
            "2.4.4.2",
            "level-2 s, wafer 140, probe 2362, run 1",
            "0.027280",
            run1.standard_deviation(),
            Published,
        )
        .within(5e-6, rounded),
    );
    all.push(
        Check::printed(
            NIST,
            "2.4.4.2",
            "level-2 s, wafer 140, probe 2362, run 2",
            "0.027560",
            run2.standard_deviation(),
            Published,
        )
        .within(5e-6, rounded),
    );
    all.push(
        Check::printed(NIST, "2.4.4.3", "level-3 s, probe 2362, pooled", "0.0197", s3(&p2362), Published)
            .within(1e-4, "the page pools rounded run values; the data file gives 0.01965"),
    );
    for (quantity, printed, wafer) in [
        ("level-3 s, probe 2362, wafer 138", "0.0223", 138),
        ("level-3 s, probe 2362, wafer 140", "0.0289", 140),
    ] {
        all.push(
            Check::printed(NIST, "2.4.4.3", quantity, printed, by_wafer(wafer)?, Published)
                .within(1e-4, "the page subtracts run means rounded to four decimals"),
        );
    }
    all.extend(rows(
        NIST,
        [
            ("2.6.1 (data file)", "level-1 s, probe 1", "0.092101", s1(&p1), Own),
            ("2.6.1 (data file)", "level-1 s, probe 281", "0.110748", s1(&p281), Own),
            ("2.6.1 (data file)", "level-1 s, probe 283", "0.092213", s1(&p283), Own),
            ("2.6.1 (data file)", "level-1 s, probe 2062", "0.152000", s1(&p2062), Own),
            ("2.6.1 (data file)", "level-1 s, probe 2362", "0.072867", s1(&p2362), Own),
            ("2.6.1 (data file)", "level-2 s, probe 1", "0.047329", s2(&p1), Own),
            ("2.6.1 (data file)", "level-2 s, probe 281", "0.044285", s2(&p281), Own),
            ("2.6.1 (data file)", "level-2 s, probe 283", "0.045694", s2(&p283), Own),
            ("2.6.1 (data file)", "level-2 s, probe 2062", "0.057518", s2(&p2062), Own),
            ("2.6.1 (data file)", "level-2 s, probe 2362", "0.036168", s2(&p2362), Own),
            ("2.6.1 (data file)", "level-3 s, probe 1", "0.028200", s3(&p1), Own),
            ("2.6.1 (data file)", "level-3 s, probe 281", "0.032347", s3(&p281), Own),
            ("2.6.1 (data file)", "level-3 s, probe 283", "0.039350", s3(&p283), Own),
            ("2.6.1 (data file)", "level-3 s, probe 2062", "0.073340", s3(&p2062), Own),
            ("2.6.1 (data file)", "level-3 s, probe 2362", "0.019645", s3(&p2362), Own),
        ],
    ));
    Ok(all)
}

pub(super) fn study() -> Result<Crossed, StudyError> {
    // The data are kept appraiser, trial, part.
    Crossed::new(
        data::STUDY
            .iter()
            .map(|trials| (0..10).map(|part| trials.iter().map(|t| nth(t, part)).collect()).collect())
            .collect(),
    )
}

fn ranges() -> Result<Vec<Check>, StudyError> {
    let found = average_and_range(&study()?)?;
    Ok(rows(
        AIAG,
        [
            ("chapter III B, worked form", "mean range", "0.3417", found.mean_range, FromMemory),
            (
                "chapter III B, worked form",
                "range of appraisers' means",
                "0.4447",
                found.appraiser_range,
                FromMemory,
            ),
            ("chapter III B, worked form", "range of parts' means", "3.511", found.part_range, FromMemory),
            ("chapter III B, worked form", "EV", "0.20188", found.equipment, FromMemory),
            ("chapter III B, worked form", "AV", "0.22963", found.appraiser, FromMemory),
            ("chapter III B, worked form", "GRR", "0.30575", found.gauge(), FromMemory),
            ("chapter III B, worked form", "PV", "1.10456", found.part, FromMemory),
            ("chapter III B, worked form", "TV", "1.14610", found.total(), FromMemory),
            ("chapter III B, worked form", "EV / %", "17.62", found.percent(found.equipment), FromMemory),
            ("chapter III B, worked form", "AV / %", "20.04", found.percent(found.appraiser), FromMemory),
            ("chapter III B, worked form", "GRR / %", "26.68", found.percent(found.gauge()), FromMemory),
            ("chapter III B, worked form", "PV / %", "96.38", found.percent(found.part), FromMemory),
            (
                "chapter III B, worked form",
                "distinct categories, floored",
                "5",
                found.distinct_categories().floor(),
                FromMemory,
            ),
        ],
    )
    .into_iter()
    .map(|check| match check.quantity {
        "EV" | "AV" | "GRR" | "PV" | "TV" => {
            check.within(1e-4, "the form multiplies ranges and means rounded to four digits")
        }
        "EV / %" | "AV / %" | "GRR / %" | "PV / %" => {
            check.within(0.01, "the form divides deviations rounded to four digits")
        }
        _ => check,
    })
    .collect())
}

fn anova() -> Result<Vec<Check>, StudyError> {
    let study = study()?;
    let repeat = crossed_anova(&study, Interaction::Keep, FDenominator::Repeatability)?;
    let textbook = crossed_anova(&study, Interaction::Keep, FDenominator::Interaction)?;
    let pooled = crossed_anova(&study, Interaction::PoolAbove(0.25), FDenominator::Repeatability)?;
    let f = |s: crate::Source| s.f.unwrap_or(f64::NAN);
    let p = |s: crate::Source| s.probability.unwrap_or(f64::NAN);
    let mut all = rows(
        AIAG,
        [
            (
                "chapter III B, table",
                "squares of appraisers",
                "3.1673",
                repeat.appraiser.sum_of_squares,
                FromMemory,
            ),
            ("chapter III B, table", "squares of parts", "88.3619", repeat.part.sum_of_squares, FromMemory),
            (
                "chapter III B, table",
                "squares of the interaction",
                "0.3590",
                repeat.interaction.sum_of_squares,
                FromMemory,
            ),
            (
                "chapter III B, table",
                "squares of repeatability",
                "2.7589",
                repeat.repeatability.sum_of_squares,
                FromMemory,
            ),
            ("chapter III B, table", "squares in total", "94.6471", repeat.total_squares, FromMemory),
            ("chapter III B, table", "F of the interaction", "0.4337", f(repeat.interaction), FromMemory),
            (
                "chapter III B, table",
                "F of appraisers over repeatability",
                "34.44",
                f(repeat.appraiser),
                FromMemory,
            ),
            ("chapter III B, table", "F of parts over repeatability", "213.52", f(repeat.part), FromMemory),
            ("chapter III B, pooled", "EV", "0.19993", pooled.equipment, FromMemory),
            ("chapter III B, pooled", "AV", "0.22684", pooled.between_appraisers, FromMemory),
            ("chapter III B, pooled", "GRR", "0.30237", pooled.gauge(), FromMemory),
            ("chapter III B, pooled", "PV", "1.04233", pooled.between_parts, FromMemory),
            ("chapter III B, pooled", "TV", "1.08530", pooled.total(), FromMemory),
            ("chapter III B, pooled", "EV / %", "18.4", pooled.percent(pooled.equipment), FromMemory),
            (
                "chapter III B, pooled",
                "AV / %",
                "20.9",
                pooled.percent(pooled.between_appraisers),
                FromMemory,
            ),
            ("chapter III B, pooled", "GRR / %", "27.9", pooled.percent(pooled.gauge()), FromMemory),
            ("chapter III B, pooled", "PV / %", "96.0", pooled.percent(pooled.between_parts), FromMemory),
            (
                "chapter III B, pooled",
                "distinct categories",
                "4.86",
                pooled.distinct_categories(),
                FromMemory,
            ),
            (
                "chapter III B, pooled",
                "threshold 0.25 pools",
                "1",
                f64::from(u8::from(pooled.pooled)),
                ClosedForm,
            ),
        ],
    );
    all.extend(rows(
        "statsmodels 0.15.0",
        [
            (
                "anova_lm, crosscheck/study",
                "F of appraisers over the interaction",
                "79.41",
                f(textbook.appraiser),
                Independent,
            ),
            (
                "anova_lm, crosscheck/study",
                "F of parts over the interaction",
                "492.29",
                f(textbook.part),
                Independent,
            ),
            (
                "anova_lm, crosscheck/study",
                "probability of the interaction",
                "0.974",
                p(repeat.interaction),
                Independent,
            ),
        ],
    ));
    all.extend(rows(
        "matewell",
        [("same data, interaction kept and clamped or not", "GRR", "0.31322", textbook.gauge(), Own)],
    ));
    Ok(all)
}
