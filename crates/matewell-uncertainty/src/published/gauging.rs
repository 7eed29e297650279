//! Pin-depth vectors: sums of this project, kept so that a change is noticed.

use super::rows;
use crate::{
    Belief, Estimate, InputId, Measured, UncertaintyError,
    gauging::{GaugeModel, Gauging, Session, SessionIds},
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, Own},
};

const SOURCE: &str = "matewell";

pub(super) fn checks() -> Vec<Check> {
    collect().unwrap_or_else(|_| vec![Check::printed(SOURCE, "gauging", "computation", "0", f64::NAN, Own)])
}

fn collect() -> Result<Vec<Check>, UncertaintyError> {
    let mut all = budgets()?;
    all.extend(probabilities()?);
    all.extend(pair()?);
    Ok(all)
}

fn budgets() -> Result<Vec<Check>, UncertaintyError> {
    let id = |text: &str| InputId::new(text);
    let session = Session {
        readings: vec![-4.0, -5.0, -6.0],
        zero_before: vec![0.0, 0.0, 0.0],
        zero_after: vec![0.0],
        ids: SessionIds {
            gauge: id("gauge"),
            master: id("master"),
            zero: id("zero"),
            operator: id("operator"),
            session: id("session"),
        },
    };
    let screw = Gauging::evaluate(&session, &GaugeModel::typical_screw_on(1.0)?, "µm")?;
    let push = Gauging::evaluate(&session, &GaugeModel::typical_push_on(1.0)?, "µm")?;
    let (s, p) = (screw.estimate(), push.estimate());
    Ok(rows(
        SOURCE,
        [
            ("typical budget, screw-on gauge", "u / µm", "1.250", s.standard_uncertainty(), Own),
            ("typical budget, screw-on gauge", "effective dof", "393", s.degrees_of_freedom(), Own),
            ("typical budget, screw-on gauge", "U (k = 2) / µm", "2.50", 2.0 * s.standard_uncertainty(), Own),
            ("typical budget, push-on gauge", "u / µm", "3.331", p.standard_uncertainty(), Own),
            ("typical budget, push-on gauge", "effective dof", "298", p.degrees_of_freedom(), Own),
            ("typical budget, push-on gauge", "U (k = 2) / µm", "6.66", 2.0 * p.standard_uncertainty(), Own),
        ],
    ))
}

fn probabilities() -> Result<Vec<Check>, UncertaintyError> {
    let beyond = |y, belief| Measured::new(y, 1.4, belief)?.above(0.0);
    let normal = |y| beyond(y, Belief::Normal);
    let student = |y| beyond(y, Belief::StudentT(10.0));
    Ok(rows(
        SOURCE,
        [
            ("u = 1.4 µm, recessed 1.0 µm", "P(protrudes), normal", "0.23753", normal(-1.0)?, Own),
            ("u = 1.4 µm, recessed 1.0 µm", "P(protrudes), t with 10", "0.24569", student(-1.0)?, Own),
            ("u = 1.4 µm, recessed 2.0 µm", "P(protrudes), normal", "0.07656", normal(-2.0)?, Own),
            ("u = 1.4 µm, recessed 2.0 µm", "P(protrudes), t with 10", "0.09180", student(-2.0)?, Own),
            ("u = 1.4 µm, recessed 2.303 µm", "P(protrudes), normal", "0.04998", normal(-2.303)?, Own),
            ("u = 1.4 µm, recessed 2.303 µm", "P(protrudes), t with 10", "0.06550", student(-2.303)?, Own),
            ("u = 1.4 µm, recessed 2.744 µm", "P(protrudes), normal", "0.02500", normal(-2.744)?, Own),
            ("u = 1.4 µm, recessed 2.744 µm", "P(protrudes), t with 10", "0.03922", student(-2.744)?, Own),
            ("u = 1.4 µm, recessed 3.0 µm", "P(protrudes), normal", "0.01606", normal(-3.0)?, Own),
            ("u = 1.4 µm, recessed 3.0 µm", "P(protrudes), t with 10", "0.02888", student(-3.0)?, Own),
            ("u = 1.4 µm, recessed 5.0 µm", "P(protrudes), normal", "0.00018", normal(-5.0)?, Own),
            ("u = 1.4 µm, recessed 5.0 µm", "P(protrudes), t with 10", "0.00254", student(-5.0)?, Own),
            ("u = 1.4 µm, flush", "P(protrudes), normal", "0.50000", normal(0.0)?, Own),
            ("u = 1.4 µm, protruding 0.5 µm", "P(protrudes), normal", "0.63951", normal(0.5)?, Own),
            ("u = 1.4 µm, protruding 0.5 µm", "P(protrudes), t with 10", "0.63580", student(0.5)?, Own),
        ],
    ))
}

fn pair() -> Result<Vec<Check>, UncertaintyError> {
    let own = (1.4f64 * 1.4 - 0.9 * 0.9).sqrt();
    let input = |name: &str, u| Estimate::input(InputId::new(name), 0.0, u, f64::INFINITY);
    let gauge = input("gauge", 0.9)?;
    let (one, other) = (input("one", own)?.plus(&gauge)?, input("other", own)?.plus(&gauge)?);
    let separate = input("another", 1.4)?;
    Ok(rows(
        SOURCE,
        [
            (
                "gap of a pair, u = 1.4 µm each",
                "u with a shared part of 0.9 µm / µm",
                "2.354",
                one.plus(&other)?.standard_uncertainty(),
                ClosedForm,
            ),
            (
                "gap of a pair, u = 1.4 µm each",
                "u with separate gauges / µm",
                "1.980",
                one.plus(&separate)?.standard_uncertainty(),
                ClosedForm,
            ),
        ],
    ))
}
