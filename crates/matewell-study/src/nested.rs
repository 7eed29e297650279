//! Nested study: repeats within days within runs.

use crate::{
    StudyError,
    numeric::{finite, mean, not_negative},
};
use matewell_uncertainty::Spread;

/// One day's short series on one artefact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Mean of the repeats.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_deviation: f64,
}

/// Standard deviations of the three levels and the components behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedStudy {
    /// Level 1: repeats within a day, pooled.
    pub repeats: Spread,
    /// Level 2: daily means within a run, pooled.
    pub daily_means: Spread,
    /// Level 3: run means, pooled; `None` with one run.
    pub run_means: Option<Spread>,
    /// Component of the days alone.
    pub days: f64,
    /// Component of the runs alone; 0 with one run.
    pub runs: f64,
    /// Names of the components whose estimate was negative and was set to
    /// zero.
    pub clamped: Vec<&'static str>,
}

impl NestedStudy {
    /// Standard uncertainty of the mean of `repeats` readings taken on one
    /// day: `√(s_runs² + s_days² + s₁²/n)`.
    ///
    /// # Errors
    ///
    /// No reading.
    pub fn one_day_mean(&self, repeats: usize) -> Result<f64, StudyError> {
        let within = self.repeats.of_mean(repeats)?;
        Ok(self.runs.hypot(self.days).hypot(within))
    }
}

/// Analyses artefacts → runs → days, each day the mean and standard deviation
/// of `repeats` readings.
///
/// # Errors
///
/// Fewer than two repeats, fewer than two days in every run, an unbalanced
/// design, a number that is not finite.
///
/// # Source
///
/// `nist-ehandbook`, 2.4.4 and 2.4.5.
pub fn nested_study(artefacts: &[Vec<Vec<Day>>], repeats: usize) -> Result<NestedStudy, StudyError> {
    if repeats < 2 {
        return Err(StudyError::TooFew { what: "repeats", expected: 2, found: repeats });
    }
    let runs = artefacts.first().map_or(0, Vec::len);
    let days = artefacts.first().and_then(|a| a.first()).map_or(0, Vec::len);
    for (what, expected, found) in [("runs", 1, runs), ("days", 2, days)] {
        if found < expected {
            return Err(StudyError::TooFew { what, expected, found });
        }
    }
    let (mut level_1, mut level_2, mut level_3) = (Vec::new(), Vec::new(), Vec::new());
    for (number, artefact) in artefacts.iter().enumerate() {
        if artefact.len() != runs {
            return Err(StudyError::Unbalanced {
                place: format!("artefact {}", number + 1),
                what: "runs",
                expected: runs,
                found: artefact.len(),
            });
        }
        let mut run_means = Vec::new();
        for (run_number, run) in artefact.iter().enumerate() {
            if run.len() != days {
                return Err(StudyError::Unbalanced {
                    place: format!("artefact {}, run {}", number + 1, run_number + 1),
                    what: "days",
                    expected: days,
                    found: run.len(),
                });
            }
            for day in run {
                finite("daily mean", day.mean)?;
                not_negative("standard deviation", day.standard_deviation)?;
                level_1.push(Spread::new(day.standard_deviation, repeats as f64 - 1.0)?);
            }
            let means: Vec<f64> = run.iter().map(|d| d.mean).collect();
            level_2.push(Spread::of_readings(&means)?);
            run_means.push(mean(&means));
        }
        if runs > 1 {
            level_3.push(Spread::of_readings(&run_means)?);
        }
    }
    let repeats_spread = Spread::pooled(&level_1)?;
    let daily_means = Spread::pooled(&level_2)?;
    let run_means = if level_3.is_empty() { None } else { Some(Spread::pooled(&level_3)?) };
    let mut clamped = Vec::new();
    let mut component = |name, outer: Spread, inner: Spread, count: usize| {
        let variance = outer.standard_deviation().powi(2) - inner.standard_deviation().powi(2) / count as f64;
        if variance < 0.0 {
            clamped.push(name);
            0.0
        } else {
            variance.sqrt()
        }
    };
    let days_alone = component("days", daily_means, repeats_spread, repeats);
    let runs_alone = run_means.map_or(0.0, |runs| component("runs", runs, daily_means, days));
    Ok(NestedStudy {
        repeats: repeats_spread,
        daily_means,
        run_means,
        days: days_alone,
        runs: runs_alone,
        clamped,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(mean: f64) -> Day {
        Day { mean, standard_deviation: 0.6 }
    }

    #[test]
    fn days_that_agree_too_well_are_clamped_and_named() {
        let study = nested_study(&[vec![vec![day(1.0), day(1.001)], vec![day(3.0), day(3.001)]]], 4).unwrap();
        assert_eq!(study.clamped, ["days"]);
        assert!(study.runs > 1.0);
        let one_run = nested_study(&[vec![vec![day(1.0), day(3.0)]]], 4).unwrap();
        assert!(one_run.run_means.is_none() && one_run.runs == 0.0);
        assert!(one_run.one_day_mean(100).unwrap() < one_run.one_day_mean(1).unwrap());
    }

    #[test]
    fn bad_designs_are_refused() {
        assert!(nested_study(&[], 4).is_err());
        assert!(nested_study(&[vec![vec![day(1.0)]]], 4).is_err());
        assert!(nested_study(&[vec![vec![day(1.0), day(2.0)], vec![day(1.0)]]], 4).is_err());
        assert!(nested_study(&[vec![vec![day(1.0), day(f64::NAN)]]], 4).is_err());
    }
}
