//! Values by SciPy, statsmodels and pandas, stored by
//! `crosscheck/study/make.py`.

use super::{data, gauge_study, life, nth};
use crate::{
    FDenominator, Interaction, Intercept, Polynomial, Regression, StudyError, crossed_anova, ewma,
    fit_weibull, kaplan_meier, numeric::f_upper_tail,
};
use matewell_published::{Check, Grade::Independent};

const VALUES: &str = include_str!("../../../../crosscheck/study/values.csv");
const SENTENCE: &str = "16 digits are stored; two implementations agree to this";

#[expect(clippy::unnecessary_wraps, reason = "all groups of checks have one signature")]
pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    Ok(VALUES.lines().filter_map(check).collect())
}

fn check(line: &'static str) -> Option<Check> {
    let mut fields = line.split(',');
    let (source, kind) = (fields.next()?, fields.next()?);
    let (arguments, printed) = (fields.next()?, fields.next()?);
    let numbers: Vec<f64> = arguments.split_whitespace().filter_map(|a| a.parse().ok()).collect();
    let (ours, relative) = compute(kind, &numbers).unwrap_or((f64::NAN, 0.0));
    let locator = line.get(source.len() + 1..line.len() - printed.len() - 1)?;
    let check = Check::printed(source, "crosscheck/study", locator, printed, ours, Independent);
    let allowed = relative * check.printed_value().abs();
    Some(check.within(allowed, SENTENCE))
}

/// Our value and the relative difference that is allowed.
fn compute(kind: &str, numbers: &[f64]) -> Result<(f64, f64), StudyError> {
    let first = nth(numbers, 0);
    // Indices are stored as 0.0, 1.0 and so on.
    let index = (0u8..100).find(|i| (f64::from(*i) - first).abs() < 0.5).map_or(100, usize::from);
    Ok(match (kind, numbers) {
        ("f_tail", [f, d1, d2]) => (f_upper_tail(*f, *d1, *d2)?, 1e-11),
        ("norris_fit_u" | "norris_prediction", [at]) => {
            let fit = Polynomial::fit(&data::NORRIS_X, &data::NORRIS_Y, 1, Intercept::Fitted)?;
            let band = fit.at(*at)?;
            (if kind == "norris_fit_u" { band.fit_uncertainty } else { band.prediction(0.95)? }, 1e-10)
        }
        ("longley_se" | "longley_f_probability", _) => {
            let fit = longley()?;
            let ours =
                if kind == "longley_se" { nth(&fit.standard_errors(), index) } else { fit.f_test()?.1 };
            (ours, 1e-8)
        }
        ("drift_slope_probability" | "drift_upper", _) => (drift(kind, first)?, 1e-9),
        ("weibull_shape" | "weibull_scale", _) => {
            let fit = fit_weibull(&life::weibull_example())?;
            // The minimiser stops where the likelihood changes by 1e-13.
            (if kind == "weibull_shape" { fit.shape } else { fit.scale }, 1e-6)
        }
        ("survival", _) => {
            let steps = kaplan_meier(&life::survival_example())?;
            (steps.get(index).map_or(f64::NAN, |s| s.survival), 1e-12)
        }
        ("ewma", _) => {
            let chart = ewma(&data::EWMA, 50.0, 2.0539, 0.3, 3.0)?;
            (chart.points.get(index).map_or(f64::NAN, |p| p.value), 1e-13)
        }
        _ => (anova(kind, index)?, 1e-9),
    })
}

fn longley() -> Result<Regression, StudyError> {
    let responses: Vec<f64> = data::LONGLEY.iter().filter_map(|r| r.first().copied()).collect();
    let predictors: Vec<Vec<f64>> =
        data::LONGLEY.iter().map(|r| r.iter().skip(1).copied().collect()).collect();
    Regression::fit(&predictors, &responses, Intercept::Fitted)
}

fn drift(kind: &str, at: f64) -> Result<f64, StudyError> {
    let mates: Vec<f64> = (0..8).map(|i| 50.0 * f64::from(i)).collect();
    let position = [-8.0, -7.6, -7.5, -6.9, -6.8, -6.1, -6.0, -5.5];
    let fit = Polynomial::fit(&mates, &position, 1, Intercept::Fitted)?;
    if kind == "drift_slope_probability" {
        return Ok(fit.regression().f_test()?.1);
    }
    let band = fit.at(at)?;
    Ok(band.value + band.one_sided_prediction(0.95)?)
}

fn anova(kind: &str, index: usize) -> Result<f64, StudyError> {
    let under =
        if kind == "anova_f_interaction" { FDenominator::Interaction } else { FDenominator::Repeatability };
    let table = crossed_anova(&gauge_study::study()?, Interaction::Keep, under)?;
    let lines = [table.appraiser, table.part, table.interaction, table.repeatability];
    let found = lines.get(index).and_then(|line| match kind {
        "anova_squares" => Some(line.sum_of_squares),
        "anova_f_repeatability" | "anova_f_interaction" => line.f,
        "anova_probability" => line.probability,
        _ => None,
    });
    Ok(found.unwrap_or(f64::NAN))
}
