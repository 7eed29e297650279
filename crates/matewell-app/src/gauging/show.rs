//! Budget lines and the picture of a decision, as data.

use crate::AppError;
use matewell_sheets::Limit;
use matewell_uncertainty::{Belief, Budget, Evaluation, UncertaintyError};
use matewell_verdict::GaugingJudged;
use matewell_wire::{BudgetLineJson, GaugingPictureJson};

/// Points of the curve.
const POINTS: u32 = 96;

pub(super) fn lines(budget: &Budget) -> Result<Vec<BudgetLineJson>, AppError> {
    let variance = budget.estimate().variance();
    budget
        .lines()
        .iter()
        .map(|line| {
            let (u, contribution) = (line.standard_uncertainty()?, line.contribution()?);
            Ok(BudgetLineJson {
                name: line.name.clone(),
                evaluation: match line.evaluation {
                    Evaluation::TypeA => "A",
                    Evaluation::TypeB => "B",
                }
                .to_owned(),
                shape: line.shape.word().to_owned(),
                stated_um: line.stated,
                divisor: if u > 0.0 { line.stated / u } else { line.shape.divisor()? },
                sensitivity: line.sensitivity,
                u_um: contribution.abs(),
                degrees_of_freedom: Some(line.degrees_of_freedom).filter(|d| d.is_finite()),
                share: if variance > 0.0 { contribution * contribution / variance } else { 0.0 },
                source: line.source.clone(),
                typical: line.source.starts_with("common practice"),
            })
        })
        .filter(|line| line.as_ref().map_or(true, |l: &BudgetLineJson| l.stated_um > 0.0))
        .collect::<Result<_, UncertaintyError>>()
        .map_err(Into::into)
}

pub(super) fn picture(judged: &GaugingJudged, limits: &[&Limit]) -> Result<GaugingPictureJson, AppError> {
    let estimate = judged.gauging.estimate();
    let (mean, u) = (estimate.value(), estimate.standard_uncertainty());
    let readings = judged.gauging.single_positions().to_vec();
    let least = |a: f64, b: f64| if b < a { b } else { a };
    let from = readings.iter().copied().fold(least(mean - 4.0 * u, -2.0 * u), least);
    let to = -readings.iter().map(|r| -r).fold(least(-(mean + 4.0 * u), -2.0 * u), least);
    let belief = Belief::StudentT(estimate.degrees_of_freedom());
    let density = (0..=POINTS)
        .map(|n| {
            let um = from + (to - from) * f64::from(n) / f64::from(POINTS);
            Ok([um, belief.density((um - mean) / u)? / u])
        })
        .collect::<Result<_, UncertaintyError>>()?;
    Ok(GaugingPictureJson {
        from_um: from,
        to_um: to,
        plane_um: 0.0,
        guard_from_um: -judged.decision.guard_band,
        readings_um: readings,
        recession_limits_um: limits
            .iter()
            .map(|l| -l.recessed_max)
            .filter(|um| from <= *um && *um <= to)
            .collect(),
        density,
    })
}
