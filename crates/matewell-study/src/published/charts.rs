//! NIST handbook control charts and run lengths.

use super::{data, nth, rows};
use crate::{
    StudyError, average_run_length, average_run_length_two_sided, compare, cusum, ewma, individuals,
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, FromMemory, Own, Published},
};

const NIST: &str = "nist-ehandbook";
const MONTGOMERY: &str = "montgomery-runger-2011";

pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    let mut all = individuals_charts()?;
    all.extend(ewma_chart()?);
    all.extend(cusum_charts()?);
    all.extend(run_lengths()?);
    Ok(all)
}

fn individuals_charts() -> Result<Vec<Check>, StudyError> {
    let flow = individuals(&data::INDIVIDUALS)?;
    let concentration = individuals(&data::CONCENTRATION)?;
    let mut all = rows(
        NIST,
        [
            ("6.3.2.2", "centre", "50.81", flow.centre, FromMemory),
            ("6.3.2.2", "mean moving range", "1.8778", flow.mean_moving_range, FromMemory),
            ("6.3.2.2", "upper limit", "55.8041", flow.upper, FromMemory),
            ("6.3.2.2", "lower limit", "45.8159", flow.lower, FromMemory),
            ("6.3.2.2", "points outside", "0", flow.signals.len() as f64, FromMemory),
        ],
    );
    all.extend(rows(
        MONTGOMERY,
        [
            ("table 16-3", "centre", "99.1", concentration.centre, Published),
            ("table 16-3", "mean moving range", "2.59", concentration.mean_moving_range, Published),
            ("table 16-3", "standard deviation", "2.30", concentration.sigma, Published),
        ],
    ));
    let rounded = "the book computes with the rounded centre 99.1 and moving range 2.59";
    all.push(
        Check::printed(MONTGOMERY, "table 16-3", "upper limit", "105.99", concentration.upper, Published)
            .within(0.01, rounded),
    );
    all.push(
        Check::printed(MONTGOMERY, "table 16-3", "lower limit", "92.21", concentration.lower, Published)
            .within(0.01, rounded),
    );
    Ok(all)
}

fn ewma_chart() -> Result<Vec<Check>, StudyError> {
    let chart = ewma(&data::EWMA, 50.0, 2.0539, 0.3, 3.0)?;
    let at = |i: usize| chart.points.get(i).map_or(f64::NAN, |p| p.value);
    let upper = |i: usize| chart.points.get(i).map_or(f64::NAN, |p| p.upper);
    let point = |quantity, printed, i| Check::printed(NIST, "6.3.2.4", quantity, printed, at(i), FromMemory);
    let printed = [
        ("EWMA 1", "50.60"),
        ("EWMA 2", "49.52"),
        ("EWMA 3", "50.56"),
        ("EWMA 4", "50.18"),
        ("EWMA 5", "50.16"),
        ("EWMA 6", "49.21"),
        ("EWMA 7", "49.75"),
        ("EWMA 8", "49.85"),
        ("EWMA 9", "50.26"),
        ("EWMA 10", "50.33"),
        ("EWMA 11", "50.11"),
        ("EWMA 12", "49.36"),
        ("EWMA 13", "49.52"),
        ("EWMA 14", "50.05"),
        ("EWMA 15", "49.38"),
        ("EWMA 16", "49.92"),
        ("EWMA 17", "50.73"),
        ("EWMA 18", "51.23"),
        ("EWMA 19", "51.94"),
        ("EWMA 20", "51.99"),
    ];
    let mut all: Vec<Check> =
        printed.into_iter().enumerate().map(|(i, (quantity, text))| point(quantity, text, i)).collect();
    all.extend(rows(
        NIST,
        [
            ("6.3.2.4", "upper limit after many points", "52.5884", chart.asymptotic.1, FromMemory),
            ("6.3.2.4", "points outside", "0", chart.signals.len() as f64, FromMemory),
            ("6.3.2.4", "exact upper limit of point 1", "51.8485", upper(0), Own),
            ("6.3.2.4", "exact upper limit of point 2", "52.2564", upper(1), Own),
            ("6.3.2.4", "exact upper limit of point 3", "52.4314", upper(2), Own),
        ],
    ));
    all.push(
        Check::printed(
            NIST,
            "6.3.2.4",
            "lower limit after many points",
            "47.4115",
            chart.asymptotic.0,
            FromMemory,
        )
        .within(1.5e-4, "the two printed limits are not symmetric about the target of 50 in the last digit"),
    );
    Ok(all)
}

fn cusum_charts() -> Result<Vec<Check>, StudyError> {
    let chart = cusum(&data::CUSUM, 325.0, 0.3175, 4.1959)?;
    let up = |n: usize| nth(&chart.up, n - 1);
    let mut all = rows(
        NIST,
        [
            ("6.3.2.3", "upward sum 13", "3.0075", up(13), FromMemory),
            ("6.3.2.3", "upward sum 14", "4.94", up(14), FromMemory),
            ("6.3.2.3", "upward sum 15", "7.4475", up(15), FromMemory),
            ("6.3.2.3", "upward sum 16", "10.63", up(16), FromMemory),
            ("6.3.2.3", "upward sum 17", "11.9875", up(17), FromMemory),
            ("6.3.2.3", "upward sum 18", "14.445", up(18), FromMemory),
            ("6.3.2.3", "upward sum 19", "16.0025", up(19), FromMemory),
            ("6.3.2.3", "upward sum 20", "19.035", up(20), FromMemory),
            ("6.3.2.3", "downward sum 8", "0.715", nth(&chart.down, 7), FromMemory),
            (
                "6.3.2.3",
                "first signal",
                "14",
                chart.first_signal.map_or(f64::NAN, |i| (i + 1) as f64),
                FromMemory,
            ),
        ],
    );
    // Plain cumulative sum from a target of 99: no allowance, up less down of
    // a chart that is never reset equals the running sum.
    let mut sum = 0.0;
    let running: Vec<f64> = data::CONCENTRATION
        .iter()
        .map(|x| {
            sum += x - 99.0;
            sum
        })
        .collect();
    all.extend(rows(
        MONTGOMERY,
        [
            ("table 16-7", "cumulative sum 1 (data check)", "3.0", nth(&running, 0), Published),
            ("table 16-7", "cumulative sum 10 (data check)", "-1.2", nth(&running, 9), Published),
            ("table 16-7", "cumulative sum 20 (data check)", "1.9", nth(&running, 19), Published),
        ],
    ));
    Ok(all)
}

fn run_lengths() -> Result<Vec<Check>, StudyError> {
    let two = |h| average_run_length_two_sided(0.0, 0.5, h);
    let shifted = |h| average_run_length(1.0, 0.5, h);
    let (in4, in5, out4, out5) = (two(4.0)?, two(5.0)?, shifted(4.0)?, shifted(5.0)?);
    let mut all = rows(
        "siegmund-1985",
        [
            ("approximation", "run length in control, h = 4", "169.0", in4, Own),
            ("approximation", "run length at one sigma, h = 4", "8.34", out4, Own),
            ("approximation", "run length in control, h = 5", "469.1", in5, Own),
            ("approximation", "run length at one sigma, h = 5", "10.34", out5, Own),
        ],
    );
    let rough = "an approximation against a table of exact run lengths: within 1 %";
    let table = |quantity, printed, ours, allowed| {
        Check::printed(MONTGOMERY, "table of CUSUM run lengths", quantity, printed, ours, FromMemory)
            .within(allowed, rough)
    };
    all.push(table("in control, h = 4", "168", in4, 1.7));
    all.push(table("at one sigma, h = 4", "8.38", out4, 0.084));
    all.push(table("in control, h = 5", "465", in5, 4.65));
    all.push(table("at one sigma, h = 5", "10.4", out5, 0.104));
    all.extend(rows(
        "iso-13528-2022",
        [(
            "9.7, definition",
            "E_n of 10 ± 3 and 15 ± 4",
            "-1.0",
            compare((10.0, 3.0), (15.0, 4.0))?.normalised,
            ClosedForm,
        )],
    ));
    Ok(all)
}
