//! The same study by averages and ranges: the arithmetic of the paper form.

use crate::{
    Crossed, StudyError,
    numeric::{mean, range},
};

/// Factors from a range to a standard deviation, `1/d₂*` for the number of
/// values in the range and one (for trials: many) ranges.
///
/// Source: `aiag-msa-2010`, appendix C and report form (two and three trials,
/// two and three appraisers seen; parts from memory).
const TRIALS: [(usize, f64); 2] = [(2, 0.8862), (3, 0.5908)];
#[expect(
    clippy::approx_constant,
    reason = "the printed factor has four digits, and the form is computed with it"
)]
const APPRAISERS: [(usize, f64); 2] = [(2, 0.7071), (3, 0.5231)];
#[expect(
    clippy::approx_constant,
    reason = "the printed factor has four digits, and the form is computed with it"
)]
const PARTS: [(usize, f64); 9] = [
    (2, 0.7071),
    (3, 0.5231),
    (4, 0.4467),
    (5, 0.4030),
    (6, 0.3742),
    (7, 0.3534),
    (8, 0.3375),
    (9, 0.3249),
    (10, 0.3146),
];

/// The result with the steps in between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AverageAndRange {
    /// Mean range of the trials in a cell.
    pub mean_range: f64,
    /// Range of the appraisers' means.
    pub appraiser_range: f64,
    /// Range of the parts' means.
    pub part_range: f64,
    /// Repeatability, a standard deviation.
    pub equipment: f64,
    /// Reproducibility; 0 when repeatability explains more than the
    /// appraisers' range.
    pub appraiser: f64,
    /// Whether it was set to zero for that reason.
    pub clamped: bool,
    /// Part variation.
    pub part: f64,
}

impl AverageAndRange {
    /// Gauge repeatability and reproducibility.
    pub fn gauge(&self) -> f64 {
        self.equipment.hypot(self.appraiser)
    }

    /// Total variation.
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.part)
    }

    /// A component in percent of the total variation.
    pub fn percent(&self, component: f64) -> f64 {
        100.0 * component / self.total()
    }

    /// Number of distinct categories, not rounded.
    pub fn distinct_categories(&self) -> f64 {
        1.41 * self.part / self.gauge()
    }
}

/// Analyses a crossed study by averages and ranges: two or three appraisers
/// and trials, two to ten parts.
///
/// # Errors
///
/// A size that the table of factors does not cover.
///
/// # Source
///
/// `aiag-msa-2010`, chapter III, section B.
pub fn average_and_range(study: &Crossed) -> Result<AverageAndRange, StudyError> {
    let (appraisers, parts, trials) = study.size();
    let ranges: Vec<f64> = study.cells().map(range).collect();
    let mean_range = mean(&ranges);
    let appraiser_range = range(&study.appraiser_means());
    let part_range = range(&study.part_means());
    let equipment = mean_range * factor(&TRIALS, "trials", trials)?;
    let spread = appraiser_range * factor(&APPRAISERS, "appraisers", appraisers)?;
    let variance = spread * spread - equipment * equipment / (parts * trials) as f64;
    Ok(AverageAndRange {
        mean_range,
        appraiser_range,
        part_range,
        equipment,
        appraiser: if variance > 0.0 { variance.sqrt() } else { 0.0 },
        clamped: variance < 0.0,
        part: part_range * factor(&PARTS, "parts", parts)?,
    })
}

fn factor(table: &[(usize, f64)], what: &'static str, found: usize) -> Result<f64, StudyError> {
    table.iter().find(|(n, _)| *n == found).map(|(_, k)| *k).ok_or_else(|| StudyError::NoConstant {
        what,
        low: table.first().map_or(0, |(n, _)| *n),
        high: table.last().map_or(0, |(n, _)| *n),
        found,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_outside_the_table_are_refused() {
        let study = Crossed::new(vec![vec![vec![1.0, 2.0, 3.0, 4.0]; 3]; 2]).unwrap();
        assert_eq!(
            average_and_range(&study).unwrap_err().to_string(),
            "expected trials from 2 to 3, found 4"
        );
    }

    #[test]
    fn appraisers_that_agree_are_clamped() {
        let study = Crossed::new(vec![vec![vec![1.0, 2.0], vec![3.0, 5.0]]; 2]).unwrap();
        let found = average_and_range(&study).unwrap();
        assert!(found.clamped && found.appraiser == 0.0 && found.gauge() > 0.0);
    }
}
