//! NIST handbook lifetimes, and age replacement.

use super::{data, rows};
use crate::{AgeReplacement, Lifetime, StudyError, Weibull, age_replacement, fit_weibull, kaplan_meier};
use matewell_published::{
    Check,
    Grade::{self, Own, Published},
};

const NIST: &str = "nist-ehandbook";

pub(super) fn weibull_example() -> Vec<Lifetime> {
    let mut lives: Vec<Lifetime> = data::WEIBULL_FAILURES.iter().map(|t| Lifetime::Failed(*t)).collect();
    lives.extend([Lifetime::Survived(500.0); 10]);
    lives
}

pub(super) fn survival_example() -> Vec<Lifetime> {
    let mut items: Vec<Lifetime> = data::SURVIVAL_FAILURES.iter().map(|t| Lifetime::Failed(*t)).collect();
    items.extend(data::SURVIVAL_SURVIVORS.iter().map(|t| Lifetime::Survived(*t)));
    items
}

pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    let fit = fit_weibull(&weibull_example())?;
    let steps = kaplan_meier(&survival_example())?;
    let at = |i: usize| steps.get(i).map_or(f64::NAN, |s| s.survival);
    let survival =
        |quantity, printed, i| Check::printed(NIST, "8.2.1.5", quantity, printed, at(i), Published);
    let mut all = rows(
        NIST,
        [
            ("8.4.1.3", "shape", "1.7208", fit.shape, Published),
            ("8.4.1.3", "log-likelihood", "-75.135", fit.log_likelihood, Published),
            ("8.4.1.3", "shape, more digits", "1.7207973", fit.shape, Own),
            ("8.4.1.3", "scale, more digits", "606.52756", fit.scale, Own),
            ("8.4.1.3", "mean life", "540.737", fit.mean(), Own),
        ],
    );
    all.push(
        Check::printed(NIST, "8.4.1.3", "scale", "606.5280", fit.scale, Published)
            .within(1e-3, "the print is where an optimiser stopped; the likelihood peaks at 606.52756"),
    );
    all.extend([
        survival("R(10)", "0.95", 0),
        survival("R(32)", "0.90", 1),
        survival("R(56)", "0.8471", 2),
        survival("R(98)", "0.7941", 3),
        survival("R(122)", "0.7374", 4),
        survival("R(181)", "0.6704", 5),
    ]);
    all.extend(replacement()?);
    Ok(all)
}

fn replacement() -> Result<Vec<Check>, StudyError> {
    let answer = |shape, scale, planned, failure| {
        let life = Weibull { shape, scale, log_likelihood: 0.0 };
        Ok::<_, StudyError>(match age_replacement(&life, planned, failure)? {
            AgeReplacement::At { age, cost_rate } => (age, cost_rate),
            AgeReplacement::Never => (f64::NAN, f64::NAN),
        })
    };
    let grade: Grade = Own;
    let (a, b, c, d) = (
        answer(2.5, 1000.0, 1.0, 5.0)?,
        answer(2.0, 1.0, 1.0, 5.0)?,
        answer(2.0, 1.0, 1.0, 10.0)?,
        answer(2.5, 1.0, 1.0, 1.5)?,
    );
    Ok(rows(
        "barlow-proschan-1965",
        [
            ("chapter 4", "shape 2.5, scale 1000, 1 : 5, age", "493.047", a.0, grade),
            ("chapter 4", "shape 2.5, scale 1000, 1 : 5, cost rate", "0.00346204", a.1, grade),
            ("chapter 4", "shape 2, 1 : 5, age", "0.510655", b.0, grade),
            ("chapter 4", "shape 2, 1 : 5, cost rate", "4.08524", b.1, grade),
            ("chapter 4", "shape 2, 1 : 10, age", "0.336451", c.0, grade),
            ("chapter 4", "shape 2, 1 : 10, cost rate", "6.05612", c.1, grade),
            ("chapter 4", "shape 2.5, 1 : 1.5, age", "1.21155", d.0, grade),
            ("chapter 4", "shape 2.5, 1 : 1.5, cost rate", "1.66696", d.1, grade),
        ],
    ))
}
