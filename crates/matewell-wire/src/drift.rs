//! The drift of a pin as JSON. A pin position is a magnitude with a word.

use crate::{EndNameJson, NumberJson, OriginJson, StudyFindingJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One gauging of the series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DriftPointJson {
    /// Id of the fact.
    pub fact: String,
    /// When.
    pub at: String,
    /// Mates of the end until then.
    pub mates: u32,
    /// `recessed` or `protruding`.
    pub word: String,
    /// Distance from the plane, zero or more.
    pub distance_um: f64,
    /// Readings behind the mean.
    pub readings: usize,
    /// Label of the gauge.
    pub gauge: Option<String>,
    /// Which phase, from 1.
    pub phase: usize,
}

/// A stretch between two breaks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DriftPhaseJson {
    /// Counts from 1.
    pub phase: usize,
    /// What began it: `first`, `cleaned`, `replaced`, `gauge-changed`.
    pub begun_by: String,
    /// When.
    pub from: String,
    /// Mates of the end then.
    pub mates: u32,
    /// Gaugings in it.
    pub gaugings: usize,
}

/// The fitted line with its band at some mates. Positions are signed here for
/// drawing: above zero is recessed, below zero protruding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DriftBandJson {
    /// Mates.
    pub mates: f64,
    /// The line.
    pub recession_um: f64,
    /// Lower one-sided prediction bound.
    pub recession_low_um: f64,
    /// Upper one-sided prediction bound.
    pub recession_high_um: f64,
}

/// When a limit may be reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DriftForecastJson {
    /// Which limit in words.
    pub limit: String,
    /// `recessed` or `protruding`.
    pub word: String,
    /// Distance of the limit from the plane.
    pub distance_um: f64,
    /// Where the limit is from.
    pub origin: OriginJson,
    /// `reached`, `at`, `not-before` or `refused`.
    pub forecast: String,
    /// Mates at which the one-sided prediction bound meets the limit.
    pub at_mates: Option<f64>,
    /// From the last gauging until then.
    pub further_mates: Option<f64>,
    /// No crossing before so many mates; further ahead nothing is forecast.
    pub not_before_mates: Option<f64>,
    /// Where the line itself meets the limit, for comparison only.
    pub line_at_mates: Option<f64>,
    /// Why there is no forecast.
    pub refused_because: Vec<StudyFindingJson>,
}

/// The drift of the pin of an end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DriftJson {
    /// The end.
    pub end: EndNameJson,
    /// As of this time.
    pub at: String,
    /// The answer in words.
    pub summary: String,
    /// Mates of the end until now.
    pub mates: u32,
    /// Movement of the pin in the last phase, towards recession above zero.
    pub slope_um_per_100_mates: Option<f64>,
    /// Its standard uncertainty.
    pub u_slope_um_per_100_mates: Option<f64>,
    /// Probability of such a slope by chance, two-sided.
    pub slope_probability: Option<f64>,
    /// Scatter of a gauging about the line.
    pub scatter_um: Option<f64>,
    /// Forecasts, one a limit.
    pub forecasts: Vec<DriftForecastJson>,
    /// What weakens or explains them.
    pub findings: Vec<StudyFindingJson>,
    /// What was used, with origins.
    pub inputs: Vec<NumberJson>,
    /// The phases.
    pub phases: Vec<DriftPhaseJson>,
    /// The gaugings.
    pub points: Vec<DriftPointJson>,
    /// The line and its band in the last phase and one span further.
    pub band: Vec<DriftBandJson>,
    /// The method in words.
    pub method: String,
    /// Where the method is from.
    pub source: String,
}
