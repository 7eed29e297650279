//! Is the gauge good, is the end drifting?
//!
//! Gauge studies, control charts, regression and the drift of a quantity to
//! its limit, and the arithmetic of torque tool checks. Readings come in as
//! numbers in one unit; who took them and when is the caller's.

mod average_and_range;
mod charts;
mod comparison;
mod crossed;
mod drift;
mod error;
mod life;
mod nested;
mod numeric;
pub mod published;
mod regression;
pub mod torque_tool;

pub use average_and_range::{AverageAndRange, average_and_range};
pub use charts::{
    Cusum, Ewma, EwmaPoint, Individuals, Signal, average_run_length, average_run_length_two_sided, cusum,
    ewma, individuals, phases,
};
pub use comparison::{Comparison, compare, compare_estimates, spread_changed};
pub use crossed::{
    Crossed, CrossedAnova, FDenominator, Interaction, Source, StudyReading, Verdict, crossed_anova,
};
pub use drift::{
    Approach, ChartState, Crossing, DriftForecast, DriftRequest, Refusal, chart_state, forecast_drift,
};
pub use error::StudyError;
pub use life::{
    AgeReplacement, KaplanMeierStep, Lifetime, Weibull, age_replacement, fit_weibull, kaplan_meier,
};
pub use nested::{Day, NestedStudy, nested_study};
pub use regression::{Band, Intercept, Polynomial, Regression};

#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
