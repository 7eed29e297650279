//! NIST StRD linear regression, the load cell, and the drift vector.

use super::{data, nth, rows};
use crate::{
    Approach, ChartState, Crossing, DriftRequest, Intercept, Polynomial, Regression, StudyError,
    forecast_drift,
};
use matewell_published::{
    Check,
    Grade::{self, FromMemory, Own, Published},
};

const STRD: &str = "nist-strd";
const DOUBLE: &str = "15 digits are certified; f64 arithmetic keeps the stated relative difference";

pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    let mut all = norris()?;
    all.extend(pontius()?);
    all.extend(longley()?);
    all.extend(through_origin()?);
    all.extend(drift()?);
    Ok(all)
}

// Certified to 15 digits, held to a relative difference.
fn certified(
    locator: &'static str,
    quantity: &'static str,
    printed: &'static str,
    ours: f64,
    relative: f64,
    grade: Grade,
) -> Check {
    let check = Check::printed(STRD, locator, quantity, printed, ours, grade);
    let allowed = relative * check.printed_value().abs();
    check.within(allowed, DOUBLE)
}

fn norris() -> Result<Vec<Check>, StudyError> {
    let fit = Polynomial::fit(&data::NORRIS_X, &data::NORRIS_Y, 1, Intercept::Fitted)?;
    let (b, s) = (fit.coefficients(), fit.standard_errors());
    let row =
        |quantity, printed, ours, relative| certified("Norris", quantity, printed, ours, relative, Published);
    Ok(vec![
        row("b0", "-0.262323073774029", nth(&b, 0), 1e-12),
        row("b1", "1.00211681802045", nth(&b, 1), 1e-13),
        row("s(b0)", "0.232818234301152", nth(&s, 0), 1e-12),
        row("s(b1)", "0.429796848199937e-3", nth(&s, 1), 1e-12),
        row(
            "residual standard deviation",
            "0.884796396144373",
            fit.regression().residual_standard_deviation(),
            1e-12,
        ),
        row("R squared", "0.999993745883712", fit.regression().r_squared(), 1e-13),
        row("F", "5436385.54079785", fit.regression().f_test()?.0, 1e-11),
    ])
}

fn pontius() -> Result<Vec<Check>, StudyError> {
    let fit = Polynomial::fit(&data::PONTIUS_X, &data::PONTIUS_Y, 2, Intercept::Fitted)?;
    let b = fit.coefficients();
    let row = |quantity, printed, ours, relative| {
        certified("Pontius", quantity, printed, ours, relative, FromMemory)
    };
    let [low, at, high] = fit.inverse(1.239_722, 0.95)?.unwrap_or([f64::NAN; 3]);
    let load = |quantity, printed, ours| {
        Check::printed("nist-ehandbook", "4.5.2.1, load cell", quantity, printed, ours, FromMemory)
    };
    Ok(vec![
        row("b0", "0.673565789473684e-3", nth(&b, 0), 1e-11),
        row("b1", "0.732059160401003e-6", nth(&b, 1), 1e-13),
        row("b2", "-0.316081871345029e-14", nth(&b, 2), 1e-11),
        row(
            "residual standard deviation",
            "0.205177424076185e-3",
            fit.regression().residual_standard_deviation(),
            1e-11,
        ),
        load("load at a deflection of 1.239722", "1705106", at),
        load("lower end of the 95 % interval", "1704513", low),
        load("upper end of the 95 % interval", "1705698", high),
    ])
}

fn longley() -> Result<Vec<Check>, StudyError> {
    let responses: Vec<f64> = data::LONGLEY.iter().filter_map(|r| r.first().copied()).collect();
    let predictors: Vec<Vec<f64>> =
        data::LONGLEY.iter().map(|r| r.iter().skip(1).copied().collect()).collect();
    let fit = Regression::fit(&predictors, &responses, Intercept::Fitted)?;
    let b = fit.coefficients();
    let row = |quantity, printed, ours, relative| {
        certified("Longley", quantity, printed, ours, relative, FromMemory)
    };
    Ok(vec![
        row("b0", "-3482258.63459582", nth(b, 0), 1e-10),
        row("b1", "15.0618722713733", nth(b, 1), 1e-8),
        row("b2", "-0.0358191792925910", nth(b, 2), 1e-9),
        row("b3", "-2.02022980381683", nth(b, 3), 1e-10),
        row("b4", "-1.03322686717359", nth(b, 4), 1e-10),
        row("b5", "-0.0511041056535807", nth(b, 5), 1e-8),
        row("b6", "1829.15146461355", nth(b, 6), 1e-10),
        row("residual standard deviation", "304.854073561965", fit.residual_standard_deviation(), 1e-10),
        row("R squared", "0.995479004577296", fit.r_squared(), 1e-12),
        row("F", "330.285339234588", fit.f_test()?.0, 1e-9),
    ])
}

fn through_origin() -> Result<Vec<Check>, StudyError> {
    let x: Vec<f64> = (60..=70).map(f64::from).collect();
    let y: Vec<f64> = (130..=140).map(f64::from).collect();
    let fit = Polynomial::fit(&x, &y, 1, Intercept::None)?;
    let row = |quantity, printed, ours| certified("NoInt1", quantity, printed, ours, 1e-13, Published);
    Ok(vec![
        row("b1", "2.07438016528926", nth(&fit.coefficients(), 0)),
        row(
            "residual standard deviation",
            "3.56753034006338",
            fit.regression().residual_standard_deviation(),
        ),
        row("R squared", "0.999365492298663", fit.regression().r_squared()),
    ])
}

fn drift() -> Result<Vec<Check>, StudyError> {
    let mates: Vec<f64> = (0..8).map(|i| 50.0 * f64::from(i)).collect();
    let position = [-8.0, -7.6, -7.5, -6.9, -6.8, -6.1, -6.0, -5.5];
    let request = DriftRequest {
        limit: -3.0,
        approach: Approach::FromBelow,
        confidence: 0.95,
        common_uncertainty: 0.0,
        slope_risk: 0.10,
        chart: ChartState::Quiet,
    };
    let found = forecast_drift(&mates, &position, &request)?;
    let at = |crossing| match crossing {
        Some(Crossing::At(x)) => x,
        _ => f64::NAN,
    };
    let fit = Polynomial::fit(&mates, &position, 1, Intercept::Fitted)?;
    let (b, s) = (fit.coefficients(), fit.standard_errors());
    let at400 = fit.at(400.0)?;
    Ok(rows(
        "matewell",
        [
            ("drift of a pin", "slope / (µm per mate)", "0.00709524", nth(&b, 1), Own),
            ("drift of a pin", "its standard error", "0.00042547", nth(&s, 1), Own),
            ("drift of a pin", "intercept / µm", "-8.0416667", nth(&b, 0), Own),
            ("drift of a pin", "its standard error / µm", "0.0889942", nth(&s, 0), Own),
            (
                "drift of a pin",
                "residual standard deviation / µm",
                "0.137869",
                fit.regression().residual_standard_deviation(),
                Own,
            ),
            (
                "drift of a pin",
                "mates where the line meets the limit",
                "710.57",
                found.line_crossing.unwrap_or(f64::NAN),
                Own,
            ),
            ("drift of a pin", "mates where the prediction bound does", "642.92", at(found.answer()), Own),
            (
                "drift of a pin",
                "mates where the confidence bound does",
                "653.26",
                at(found.confidence_crossing),
                Own,
            ),
            ("drift of a pin", "position at 400 mates / µm", "-5.2036", at400.value, Own),
            (
                "drift of a pin",
                "95 % prediction half-width there / µm",
                "0.4277",
                at400.prediction(0.95)?,
                Own,
            ),
        ],
    ))
}
