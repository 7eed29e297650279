//! How long until a drifting quantity reaches its limit.

use crate::{
    Intercept, Polynomial, StudyError, cusum, individuals,
    numeric::{bisect, finite, greater, not_negative, probability, values},
};

/// From which side the quantity nears its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Approach {
    /// The limit is an upper one.
    FromBelow,
    /// The limit is a lower one.
    FromAbove,
}

/// What the control chart of the same series says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartState {
    /// No signal is open.
    Quiet,
    /// A change was signalled and nobody has explained it.
    SignalOpen,
}

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriftRequest {
    /// The limit.
    pub limit: f64,
    /// Which side it bounds.
    pub approach: Approach,
    /// One-sided confidence of the bounds, for example 0.95.
    pub confidence: f64,
    /// Standard uncertainty common to all points, for example of the gauge.
    /// It shifts all points alike and does not average out: it is taken off
    /// the distance to the limit, times the normal quantile.
    pub common_uncertainty: f64,
    /// A slope whose two-sided probability by chance is above this does not
    /// count as a drift, for example 0.10.
    pub slope_risk: f64,
    /// State of the chart.
    pub chart: ChartState,
}

/// Where a line meets the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// Already met at the last observation.
    Reached,
    /// At this abscissa.
    At(f64),
    /// Not within one further span of the observations.
    NotBefore(f64),
}

/// Why no forecast is given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// Fewer than five points.
    TooFewPoints(usize),
    /// The slope may be chance, with this probability.
    SlopeNotSignificant(f64),
    /// A change is open: the line mixes two states.
    SignalOpen,
    /// The bound meets the limit further away than the observations span.
    TooFarAhead {
        /// Last abscissa up to which a forecast would be given.
        not_before: f64,
    },
}

/// The fit, and the forecast when there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct DriftForecast {
    /// The fitted line; `None` for fewer than three points or no spread.
    pub line: Option<Polynomial>,
    /// Two-sided probability of such a slope by chance.
    pub slope_probability: Option<f64>,
    /// Where the line itself meets the limit, for comparison only.
    pub line_crossing: Option<f64>,
    /// Where the one-sided confidence bound does.
    pub confidence_crossing: Option<Crossing>,
    /// Where the one-sided prediction bound does: the answer.
    pub prediction_crossing: Option<Crossing>,
    /// All reasons not to rely on a forecast; empty when it stands.
    pub refusals: Vec<Refusal>,
}

impl DriftForecast {
    /// The answer: the crossing of the prediction bound, when nothing speaks
    /// against it.
    pub fn answer(&self) -> Option<Crossing> {
        if self.refusals.is_empty() { self.prediction_crossing } else { None }
    }
}

/// Forecasts by a straight line over `age` (mates, gaugings, days).
///
/// Refuses for fewer than five points, a slope that may be chance, an open
/// signal, or a crossing further ahead than the observed span.
///
/// # Errors
///
/// A value that is not finite, lists of different length, a probability not
/// between 0 and 1.
///
/// # Source
///
/// `montgomery-runger-2011`, 11-6 (prediction interval); the rules of refusal
/// are own, common practice, no source.
pub fn forecast_drift(
    age: &[f64],
    value: &[f64],
    request: &DriftRequest,
) -> Result<DriftForecast, StudyError> {
    values("ages", age, 0)?;
    values("values", value, 0)?;
    if age.len() != value.len() {
        return Err(StudyError::Unbalanced {
            place: "series".to_owned(),
            what: "values",
            expected: age.len(),
            found: value.len(),
        });
    }
    finite("limit", request.limit)?;
    probability("a confidence", request.confidence)?;
    probability("risk of the slope", request.slope_risk)?;
    not_negative("common standard uncertainty", request.common_uncertainty)?;
    let mut forecast = DriftForecast {
        line: None,
        slope_probability: None,
        line_crossing: None,
        confidence_crossing: None,
        prediction_crossing: None,
        refusals: Vec::new(),
    };
    if age.len() < 5 {
        forecast.refusals.push(Refusal::TooFewPoints(age.len()));
    }
    if request.chart == ChartState::SignalOpen {
        forecast.refusals.push(Refusal::SignalOpen);
    }
    if age.len() < 3 {
        return Ok(forecast);
    }
    let line = match Polynomial::fit(age, value, 1, Intercept::Fitted) {
        Ok(line) => line,
        // All at one age: there is nothing to extrapolate.
        Err(StudyError::Dependent { .. }) => {
            forecast.refusals.push(Refusal::SlopeNotSignificant(1.0));
            return Ok(forecast);
        }
        Err(other) => return Err(other),
    };
    let slope_probability = line.regression().f_test()?.1;
    forecast.slope_probability = Some(slope_probability);
    // NaN comes from a flat series without scatter: no drift.
    if slope_probability.is_nan() || slope_probability > request.slope_risk {
        forecast.refusals.push(Refusal::SlopeNotSignificant(slope_probability));
    }
    crossings(&line, request, &mut forecast)?;
    forecast.line = Some(line);
    Ok(forecast)
}

/// Whether the values show a change that no straight line explains: a residual
/// outside its individuals limits, or a cumulative sum of residuals beyond 5
/// standard deviations (allowance 0.5). The standard deviation is that of the
/// residuals' moving range. A person may know why; the series is then to be
/// broken there.
///
/// Fewer than five points, one age, or residuals without scatter are quiet.
///
/// # Errors
///
/// A value that is not finite, lists of different length.
///
/// # Source
///
/// `nist-ehandbook`, 6.3.2.2 and 6.3.2.3 for the charts; their use on residuals
/// is common practice, no source.
pub fn chart_state(age: &[f64], value: &[f64]) -> Result<ChartState, StudyError> {
    if age.len() < 5 {
        return Ok(ChartState::Quiet);
    }
    let line = match Polynomial::fit(age, value, 1, Intercept::Fitted) {
        Ok(line) => line,
        Err(StudyError::Dependent { .. }) => return Ok(ChartState::Quiet),
        Err(other) => return Err(other),
    };
    let residuals = age
        .iter()
        .zip(value)
        .map(|(x, y)| Ok(y - line.at(*x)?.value))
        .collect::<Result<Vec<f64>, StudyError>>()?;
    let chart = individuals(&residuals)?;
    let size = value.iter().fold(0.0, |a, b| greater(a, b.abs()));
    if chart.sigma <= 1e-9 * size {
        return Ok(ChartState::Quiet);
    }
    let sums = cusum(&residuals, 0.0, 0.5 * chart.sigma, 5.0 * chart.sigma)?;
    let quiet = chart.signals.is_empty() && sums.first_signal.is_none();
    Ok(if quiet { ChartState::Quiet } else { ChartState::SignalOpen })
}

fn crossings(
    line: &Polynomial,
    request: &DriftRequest,
    forecast: &mut DriftForecast,
) -> Result<(), StudyError> {
    let sign = match request.approach {
        Approach::FromBelow => 1.0,
        Approach::FromAbove => -1.0,
    };
    let z = matewell_uncertainty::normal_quantile(request.confidence)?;
    let limit = request.limit - sign * z * request.common_uncertainty;
    let coefficients = line.coefficients();
    if let [intercept, slope] = coefficients.as_slice() {
        let at = (request.limit - intercept) / slope;
        forecast.line_crossing = at.is_finite().then_some(at);
    }
    let (first, last) = line.span();
    let furthest = last + (last - first);
    let factor =
        matewell_uncertainty::student_t_quantile(request.confidence, line.regression().degrees_of_freedom())?;
    // How far the bound is beyond the limit, above zero when it is.
    let beyond = |x: f64, prediction: bool| -> Result<f64, StudyError> {
        let band = line.at(x)?;
        let u = if prediction { band.reading_uncertainty } else { band.fit_uncertainty };
        Ok(sign * (band.value - limit) + factor * u)
    };
    let crossing = |prediction: bool| -> Result<Crossing, StudyError> {
        if beyond(last, prediction)? >= 0.0 {
            return Ok(Crossing::Reached);
        }
        if beyond(furthest, prediction)? < 0.0 {
            return Ok(Crossing::NotBefore(furthest));
        }
        let f = |x: f64| beyond(x, prediction).unwrap_or(f64::NAN);
        Ok(Crossing::At(bisect(f, last, furthest)))
    };
    let prediction = crossing(true)?;
    forecast.confidence_crossing = Some(crossing(false)?);
    forecast.prediction_crossing = Some(prediction);
    if let Crossing::NotBefore(not_before) = prediction {
        forecast.refusals.push(Refusal::TooFarAhead { not_before });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn request() -> DriftRequest {
        DriftRequest {
            limit: -3.0,
            approach: Approach::FromBelow,
            confidence: 0.95,
            common_uncertainty: 0.0,
            slope_risk: 0.1,
            chart: ChartState::Quiet,
        }
    }

    const MATES: [f64; 8] = [0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0];
    const POSITION: [f64; 8] = [-8.0, -7.6, -7.5, -6.9, -6.8, -6.1, -6.0, -5.5];

    #[test]
    fn the_bound_answers_and_not_the_line() {
        let found = forecast_drift(&MATES, &POSITION, &request()).unwrap();
        let Some(Crossing::At(at)) = found.answer() else { panic!("{found:?}") };
        assert!(at < found.line_crossing.unwrap());
        // The common part only ever shortens the time.
        let wider = DriftRequest { common_uncertainty: 0.5, ..request() };
        let Some(Crossing::At(sooner)) = forecast_drift(&MATES, &POSITION, &wider).unwrap().answer() else {
            panic!()
        };
        assert!(sooner < at);
    }

    #[test]
    fn forecasts_are_refused_with_every_reason() {
        let few = forecast_drift(&MATES[..4], &POSITION[..4], &request()).unwrap();
        assert!(few.refusals.contains(&Refusal::TooFewPoints(4)) && few.answer().is_none());
        let flat = [-8.0, -7.9, -8.1, -8.0, -7.9, -8.1, -8.0, -8.0];
        let found = forecast_drift(&MATES, &flat, &request()).unwrap();
        assert!(found.refusals.iter().any(|r| matches!(r, Refusal::SlopeNotSignificant(p) if *p > 0.1)));
        let far = DriftRequest { limit: 20.0, ..request() };
        let found = forecast_drift(&MATES, &POSITION, &far).unwrap();
        assert_eq!(found.refusals, [Refusal::TooFarAhead { not_before: 700.0 }]);
        let open = DriftRequest { chart: ChartState::SignalOpen, ..request() };
        assert_eq!(forecast_drift(&MATES, &POSITION, &open).unwrap().refusals, [Refusal::SignalOpen]);
        let same_age = forecast_drift(&[1.0; 6], &POSITION[..6], &request()).unwrap();
        assert!(same_age.answer().is_none());
        assert!(forecast_drift(&[], &[], &request()).unwrap().answer().is_none());
        assert!(forecast_drift(&[f64::NAN], &[1.0], &request()).is_err());
        assert!(forecast_drift(&[1.0], &[], &request()).is_err());
    }

    #[test]
    fn a_step_is_a_change_and_a_drift_is_not() {
        assert_eq!(chart_state(&MATES, &POSITION).unwrap(), ChartState::Quiet);
        let exact: Vec<f64> = MATES.iter().map(|x| 0.01 * x - 8.0).collect();
        assert_eq!(chart_state(&MATES, &exact).unwrap(), ChartState::Quiet);
        let noise =
            [0.1, -0.1, 0.05, -0.05, 0.1, -0.1, 0.0, 0.1, -0.05, 0.05, -0.1, 0.1, 0.0, -0.1, 0.1, 0.0];
        let age: Vec<f64> = (0..16).map(|n| 10.0 * f64::from(n)).collect();
        let step: Vec<f64> = (0..16).zip(noise).map(|(n, e)| if n < 8 { e } else { 3.0 + e }).collect();
        assert_eq!(chart_state(&age, &step).unwrap(), ChartState::SignalOpen);
        assert_eq!(chart_state(&[1.0; 6], &POSITION[..6]).unwrap(), ChartState::Quiet);
        assert!(chart_state(&[f64::NAN; 6], &POSITION[..6]).is_err());
    }

    #[test]
    fn a_limit_already_met_says_so() {
        let near = DriftRequest { limit: -5.6, ..request() };
        assert_eq!(forecast_drift(&MATES, &POSITION, &near).unwrap().answer(), Some(Crossing::Reached));
    }

    proptest! {
        /// Mirror image: a lower limit gives the same answer as an upper one.
        #[test]
        fn both_sides_are_alike(noise in prop::collection::vec(-0.3f64..0.3, 8)) {
            let up: Vec<f64> = POSITION.iter().zip(&noise).map(|(p, n)| p + n).collect();
            let down: Vec<f64> = up.iter().map(|p| -p).collect();
            let mirrored = DriftRequest { limit: 3.0, approach: Approach::FromAbove, ..request() };
            let a = forecast_drift(&MATES, &up, &request()).unwrap();
            let b = forecast_drift(&MATES, &down, &mirrored).unwrap();
            match (a.prediction_crossing, b.prediction_crossing) {
                (Some(Crossing::At(x)), Some(Crossing::At(y))) => prop_assert!((x - y).abs() < 1e-6),
                (x, y) => prop_assert_eq!(x, y),
            }
        }
    }
}
