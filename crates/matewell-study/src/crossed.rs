//! Gauge study with every appraiser measuring every part several times, by
//! analysis of variance.

use crate::{
    StudyError,
    numeric::{f_upper_tail, finite, greater, mean, positive, probability},
};
use std::collections::BTreeMap;

/// One reading of a study, as it is written down.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyReading {
    /// Who measured.
    pub appraiser: String,
    /// What was measured.
    pub part: String,
    /// The value.
    pub value: f64,
}

/// A balanced crossed study: the same number of trials in every cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossed {
    // appraiser, part, trial
    cells: Vec<Vec<Vec<f64>>>,
}

impl Crossed {
    /// From nested lists: appraiser, part, trial.
    ///
    /// # Errors
    ///
    /// Fewer than two appraisers, parts or trials; a cell of another size; a
    /// value that is not finite.
    pub fn new(cells: Vec<Vec<Vec<f64>>>) -> Result<Self, StudyError> {
        let parts = cells.first().map_or(0, Vec::len);
        let trials = cells.first().and_then(|a| a.first()).map_or(0, Vec::len);
        for (what, found) in [("appraisers", cells.len()), ("parts", parts), ("trials", trials)] {
            if found < 2 {
                return Err(StudyError::TooFew { what, expected: 2, found });
            }
        }
        let unbalanced =
            |place, what, expected, found| StudyError::Unbalanced { place, what, expected, found };
        for (a, appraiser) in cells.iter().enumerate() {
            if appraiser.len() != parts {
                return Err(unbalanced(format!("appraiser {}", a + 1), "parts", parts, appraiser.len()));
            }
            for (p, cell) in appraiser.iter().enumerate() {
                if cell.len() != trials {
                    let place = format!("appraiser {}, part {}", a + 1, p + 1);
                    return Err(unbalanced(place, "trials", trials, cell.len()));
                }
                for value in cell {
                    finite("reading", *value)?;
                }
            }
        }
        Ok(Self { cells })
    }

    /// From rows in any order; appraisers and parts in the order of their
    /// first appearance.
    ///
    /// # Errors
    ///
    /// As [`Crossed::new`].
    pub fn from_readings(readings: &[StudyReading]) -> Result<Self, StudyError> {
        fn place<'a>(known: &mut BTreeMap<&'a str, usize>, name: &'a str) -> usize {
            let next = known.len();
            *known.entry(name).or_insert(next)
        }
        let (mut appraisers, mut parts) = (BTreeMap::new(), BTreeMap::new());
        let placed: Vec<(usize, usize, f64)> = readings
            .iter()
            .map(|r| (place(&mut appraisers, &r.appraiser), place(&mut parts, &r.part), r.value))
            .collect();
        // An empty cell somewhere; a table of names that never repeat must not
        // make a table of their product.
        if appraisers.len().saturating_mul(parts.len()) > readings.len() {
            return Err(StudyError::Unbalanced {
                place: format!("{} appraisers on {} parts", appraisers.len(), parts.len()),
                what: "readings, one in each cell at least",
                expected: appraisers.len().saturating_mul(parts.len()),
                found: readings.len(),
            });
        }
        let mut cells = vec![vec![Vec::new(); parts.len()]; appraisers.len()];
        for (appraiser, part, value) in placed {
            if let Some(cell) = cells.get_mut(appraiser).and_then(|row: &mut Vec<Vec<f64>>| row.get_mut(part))
            {
                cell.push(value);
            }
        }
        Self::new(cells)
    }

    /// Number of appraisers, parts and trials.
    pub fn size(&self) -> (usize, usize, usize) {
        let first = self.cells.first();
        (self.cells.len(), first.map_or(0, Vec::len), first.and_then(|a| a.first()).map_or(0, Vec::len))
    }

    pub(crate) fn cells(&self) -> impl Iterator<Item = &[f64]> {
        self.cells.iter().flatten().map(Vec::as_slice)
    }

    pub(crate) fn appraiser_means(&self) -> Vec<f64> {
        self.cells.iter().map(|a| mean(&a.concat())).collect()
    }

    pub(crate) fn part_means(&self) -> Vec<f64> {
        let (_, parts, _) = self.size();
        (0..parts)
            .map(|p| {
                let all: Vec<f64> = self.cells.iter().filter_map(|a| a.get(p)).flatten().copied().collect();
                mean(&all)
            })
            .collect()
    }
}

/// What to do about the interaction of appraiser and part. There is no
/// default: publications and packages use different thresholds, and the
/// result changes with them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Interaction {
    /// Always keep it.
    Keep,
    /// Pool it with repeatability when its probability by chance is at least
    /// this.
    PoolAbove(f64),
    /// Always pool it.
    Pool,
}

/// Which mean square the tests of appraiser and part divide by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FDenominator {
    /// That of repeatability (of the pooled error when pooled).
    Repeatability,
    /// That of the interaction (of the pooled error when pooled).
    Interaction,
}

/// One line of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Sum of squares.
    pub sum_of_squares: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// Ratio of mean squares; `None` for the error.
    pub f: Option<f64>,
    /// Its upper tail probability.
    pub probability: Option<f64>,
}

impl Source {
    /// Mean square.
    pub fn mean_square(&self) -> f64 {
        self.sum_of_squares / self.degrees_of_freedom
    }
}

/// Verdict on the share of the gauge in the total variation.
///
/// # Source
///
/// `aiag-msa-2010`, chapter III, section B (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Below 10 %.
    Good,
    /// 10 % to 30 %: depends on the use.
    Conditional,
    /// Above 30 %.
    Poor,
}

impl Verdict {
    /// From a share in percent.
    pub fn of(percent: f64) -> Self {
        if percent < 10.0 {
            Self::Good
        } else if percent <= 30.0 {
            Self::Conditional
        } else {
            Self::Poor
        }
    }
}

/// The analysis: table, components and what was chosen on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossedAnova {
    /// Appraisers.
    pub appraiser: Source,
    /// Parts.
    pub part: Source,
    /// Appraiser × part.
    pub interaction: Source,
    /// Trials within a cell.
    pub repeatability: Source,
    /// Total sum of squares.
    pub total_squares: f64,
    /// Whether the interaction was pooled with repeatability.
    pub pooled: bool,
    /// The denominator that was asked for.
    pub denominator: FDenominator,
    /// Standard deviation of repeatability.
    pub equipment: f64,
    /// Standard deviation between appraisers.
    pub between_appraisers: f64,
    /// Standard deviation of the interaction; 0 when pooled.
    pub interaction_deviation: f64,
    /// Standard deviation between parts.
    pub between_parts: f64,
    /// Names of the components whose estimate was negative and was set to
    /// zero.
    pub clamped: Vec<&'static str>,
}

impl CrossedAnova {
    /// Appraiser variation with the interaction.
    pub fn reproducibility(&self) -> f64 {
        self.between_appraisers.hypot(self.interaction_deviation)
    }

    /// Gauge repeatability and reproducibility, a standard deviation.
    pub fn gauge(&self) -> f64 {
        self.equipment.hypot(self.reproducibility())
    }

    /// Total variation, a standard deviation.
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.between_parts)
    }

    /// A component in percent of the total variation.
    pub fn percent(&self, component: f64) -> f64 {
        100.0 * component / self.total()
    }

    /// Number of distinct categories, not rounded: `1.41 PV/GRR`.
    pub fn distinct_categories(&self) -> f64 {
        1.41 * self.between_parts / self.gauge()
    }

    /// Precision to tolerance: `6 GRR / tolerance`, the share of a tolerance
    /// band that the gauge takes. For a gauge held against a limit this and
    /// its uncertainty matter more than the share of the total variation.
    ///
    /// # Errors
    ///
    /// A tolerance not above zero.
    pub fn precision_to_tolerance(&self, tolerance: f64) -> Result<f64, StudyError> {
        Ok(6.0 * self.gauge() / positive("tolerance", tolerance)?)
    }
}

/// Analyses a crossed study with appraisers and parts as random factors.
///
/// # Errors
///
/// A threshold not between 0 and 1, or a study without any scatter to divide
/// by.
///
/// # Source
///
/// `aiag-msa-2010`, chapter III, section B; `nist-ehandbook`, 7.4.3.
pub fn crossed_anova(
    study: &Crossed,
    interaction: Interaction,
    denominator: FDenominator,
) -> Result<CrossedAnova, StudyError> {
    let (appraisers, parts, trials) = study.size();
    let (a, p, n) = (appraisers as f64, parts as f64, trials as f64);
    let all: Vec<f64> = study.cells().flatten().copied().collect();
    let about = |list: &[f64], weight: f64| weight * crate::numeric::sum_of_squares(list);
    let total_squares = about(&all, 1.0);
    let appraiser_squares = about(&study.appraiser_means(), p * n);
    let part_squares = about(&study.part_means(), a * n);
    let cell_means: Vec<f64> = study.cells().map(mean).collect();
    let interaction_squares = greater(about(&cell_means, n) - appraiser_squares - part_squares, 0.0);
    let error_squares: f64 = study.cells().map(|cell| about(cell, 1.0)).sum();
    let line = |sum_of_squares, degrees_of_freedom| Source {
        sum_of_squares,
        degrees_of_freedom,
        f: None,
        probability: None,
    };
    let repeatability = line(error_squares, a * p * (n - 1.0));
    positive("scatter within the cells", repeatability.mean_square())?;
    let test = |source: Source, under: Source| {
        let f = source.mean_square() / under.mean_square();
        let p = f_upper_tail(f, source.degrees_of_freedom, under.degrees_of_freedom)?;
        Ok::<_, StudyError>(Source { f: Some(f), probability: Some(p), ..source })
    };
    let crossed = test(line(interaction_squares, (a - 1.0) * (p - 1.0)), repeatability)?;
    let pooled = match interaction {
        Interaction::Keep => false,
        Interaction::Pool => true,
        Interaction::PoolAbove(alpha) => {
            let alpha = probability("pooling threshold", alpha)?;
            crossed.probability.is_some_and(|p| p >= alpha)
        }
    };
    let error = if pooled {
        line(
            error_squares + interaction_squares,
            repeatability.degrees_of_freedom + crossed.degrees_of_freedom,
        )
    } else {
        repeatability
    };
    let between = if pooled { error } else { crossed };
    let under = match denominator {
        FDenominator::Repeatability => error,
        FDenominator::Interaction => between,
    };
    positive("mean square under the ratio", under.mean_square())?;
    let appraiser = test(line(appraiser_squares, a - 1.0), under)?;
    let part = test(line(part_squares, p - 1.0), under)?;
    let mut clamped = Vec::new();
    let mut deviation = |name, variance: f64| {
        if variance < 0.0 {
            clamped.push(name);
            0.0
        } else {
            variance.sqrt()
        }
    };
    let interaction_deviation = if pooled {
        0.0
    } else {
        deviation("interaction", (crossed.mean_square() - repeatability.mean_square()) / n)
    };
    let between_appraisers =
        deviation("between appraisers", (appraiser.mean_square() - between.mean_square()) / (p * n));
    let between_parts = deviation("between parts", (part.mean_square() - between.mean_square()) / (a * n));
    Ok(CrossedAnova {
        appraiser,
        part,
        interaction: crossed,
        repeatability,
        total_squares,
        pooled,
        denominator,
        equipment: error.mean_square().sqrt(),
        between_appraisers,
        interaction_deviation,
        between_parts,
        clamped,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cells(values: &[f64]) -> Vec<Vec<Vec<f64>>> {
        values.chunks(6).map(|a| a.chunks(2).map(<[f64]>::to_vec).collect()).collect()
    }

    proptest! {
        /// The squares add up, and a shift of all readings changes nothing.
        #[test]
        fn squares_add_up_and_shifts_do_not_matter(values in prop::collection::vec(-3.0f64..3.0, 12), shift in -50.0f64..50.0) {
            let study = Crossed::new(cells(&values)).unwrap();
            let shifted: Vec<f64> = values.iter().map(|v| v + shift).collect();
            let moved = Crossed::new(cells(&shifted)).unwrap();
            let run = |s: &Crossed| crossed_anova(s, Interaction::Keep, FDenominator::Interaction);
            if let (Ok(a), Ok(b)) = (run(&study), run(&moved)) {
                let sum = a.appraiser.sum_of_squares + a.part.sum_of_squares
                    + a.interaction.sum_of_squares + a.repeatability.sum_of_squares;
                prop_assert!((sum - a.total_squares).abs() < 1e-9);
                prop_assert!((a.gauge() - b.gauge()).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn an_unbalanced_study_names_the_cell() {
        let mut broken = cells(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5]);
        broken[1][2].pop();
        let error = Crossed::new(broken).unwrap_err();
        assert_eq!(error.to_string(), "appraiser 2, part 3: expected 2 trials, found 1");
        assert!(Crossed::new(vec![]).is_err());
        assert!(Crossed::new(cells(&[f64::NAN; 12])).is_err());
        let still = Crossed::new(cells(&[1.0; 12])).unwrap();
        assert!(crossed_anova(&still, Interaction::Keep, FDenominator::Repeatability).is_err());
        assert!(crossed_anova(&still, Interaction::PoolAbove(1.5), FDenominator::Repeatability).is_err());
    }

    #[test]
    fn rows_in_any_order_make_the_same_study() {
        let mut rows = Vec::new();
        for (a, v) in [("x", 0.0), ("y", 1.0)] {
            for (p, w) in [("1", 0.0), ("2", 5.0)] {
                for t in [0.0, 0.25] {
                    rows.push(StudyReading { appraiser: a.to_owned(), part: p.to_owned(), value: v + w + t });
                }
            }
        }
        let sorted = Crossed::from_readings(&rows).unwrap();
        rows.swap(1, 6);
        assert_eq!(sorted.size(), (2, 2, 2));
        let run = |s: &Crossed| crossed_anova(s, Interaction::Pool, FDenominator::Interaction).unwrap();
        let other = Crossed::from_readings(&rows).unwrap();
        assert!((run(&sorted).gauge() - run(&other).gauge()).abs() < 1e-12);
        assert_eq!(run(&sorted).clamped, Vec::<&str>::new());
    }

    #[test]
    fn negative_components_are_clamped_and_named() {
        // Appraisers agree better than chance allows.
        let study =
            Crossed::new(cells(&[1.0, 2.0, 5.0, 4.0, 9.0, 8.0, 2.0, 1.0, 4.0, 5.0, 8.0, 9.0])).unwrap();
        let anova = crossed_anova(&study, Interaction::Keep, FDenominator::Interaction);
        // No interaction at all: its mean square cannot be divided by.
        assert!(anova.is_err());
        let anova = crossed_anova(&study, Interaction::Pool, FDenominator::Interaction).unwrap();
        assert_eq!(anova.clamped, ["between appraisers"]);
    }
}
