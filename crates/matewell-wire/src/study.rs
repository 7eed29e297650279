//! Answers of studies as JSON. Where a key carries no unit of its own, the
//! number is in the `unit` of the answer.

use crate::NumberJson;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What weakens or explains an answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StudyFindingJson {
    /// Stable code.
    pub code: String,
    /// `note`, `care`, `open` or `forbids`.
    pub weight: String,
    /// A sentence a person can act on.
    pub text: String,
}

/// An answer with everything it rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StudyAnswerJson<T> {
    /// Which question.
    pub question: String,
    /// Unit of every number whose key names none.
    pub unit: String,
    /// The answer in words.
    pub summary: String,
    /// The numbers.
    #[serde(flatten)]
    pub value: T,
    /// What weakens or explains them.
    pub findings: Vec<StudyFindingJson>,
    /// What was used, with origins.
    pub inputs: Vec<NumberJson>,
    /// Where the readings are from: how the file was read, or which facts.
    pub readings_from: String,
    /// Readings used.
    pub readings: usize,
    /// The method in words.
    pub method: String,
    /// Where the method is from.
    pub source: String,
}

/// A named standard deviation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ComponentJson {
    /// What varies.
    pub name: String,
    /// Its standard deviation, in `unit`.
    pub standard_deviation: f64,
    /// Share of the total standard deviation in percent.
    pub percent_of_total: Option<f64>,
}

/// One line of an analysis of variance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AnovaRowJson {
    /// What varies.
    pub name: String,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// Sum of squares, in `unit` squared.
    pub sum_of_squares: f64,
    /// Mean square, in `unit` squared.
    pub mean_square: f64,
    /// Ratio of mean squares.
    pub f: Option<f64>,
    /// Its probability by chance.
    pub probability: Option<f64>,
}

/// The readings of one appraiser on one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StudyCellJson {
    /// Who measured.
    pub appraiser: String,
    /// What was measured.
    pub part: String,
    /// Mean of the trials, in `unit`.
    pub mean: f64,
    /// Largest less smallest, in `unit`.
    pub range: f64,
    /// The trials, in `unit`.
    pub trials: Vec<f64>,
}

/// The same study by averages and ranges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AverageAndRangeJson {
    /// Mean range of the trials in a cell, in `unit`.
    pub mean_range: f64,
    /// Range of the appraisers' means, in `unit`.
    pub appraiser_range: f64,
    /// Range of the parts' means, in `unit`.
    pub part_range: f64,
    /// Standard deviations.
    pub components: Vec<ComponentJson>,
    /// Share of the gauge in the total variation, in percent.
    pub gauge_percent_of_total: f64,
    /// Number of distinct categories, not rounded.
    pub distinct_categories: Option<f64>,
}

/// A crossed gauge study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GaugeStudyJson {
    /// Appraisers in the order of their first reading.
    pub appraisers: Vec<String>,
    /// Parts in the order of their first reading.
    pub parts: Vec<String>,
    /// Trials in each cell.
    pub trials: usize,
    /// `keep`, `always` or `above`: what was asked about the interaction.
    pub pool: String,
    /// The probability at and above which it is pooled, where one was asked.
    pub pool_above: Option<f64>,
    /// Whether the interaction was pooled with repeatability.
    pub pooled: bool,
    /// `repeatability` or `interaction`: what the ratios divide by.
    pub f_over: String,
    /// The table of the analysis of variance.
    pub anova: Vec<AnovaRowJson>,
    /// Standard deviations by analysis of variance.
    pub components: Vec<ComponentJson>,
    /// Share of the gauge in the total variation, in percent.
    pub gauge_percent_of_total: f64,
    /// `good`, `conditional` or `poor`.
    pub verdict: String,
    /// Number of distinct categories, not rounded.
    pub distinct_categories: Option<f64>,
    /// Six standard deviations of the gauge in percent of the tolerance.
    pub gauge_percent_of_tolerance: Option<f64>,
    /// By averages and ranges; null where no factors are tabled for this size.
    pub average_and_range: Option<AverageAndRangeJson>,
    /// The readings.
    pub cells: Vec<StudyCellJson>,
}

/// A pooled standard deviation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SpreadJson {
    /// In `unit`.
    pub standard_deviation: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// One day of a nested study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NestedDayJson {
    /// What was measured.
    pub artefact: String,
    /// Which run.
    pub run: String,
    /// Which day.
    pub day: String,
    /// Mean of the repeats, in `unit`.
    pub mean: f64,
    /// Their standard deviation, in `unit`.
    pub standard_deviation: f64,
}

/// What one day's mean of some readings is worth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OneDayJson {
    /// Readings of the mean.
    pub readings: usize,
    /// Its standard uncertainty, in `unit`.
    pub standard_uncertainty: f64,
}

/// A nested study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NestedStudyJson {
    /// Artefacts in the order of their first reading.
    pub artefacts: Vec<String>,
    /// Runs on each artefact.
    pub runs: usize,
    /// Days in each run.
    pub days: usize,
    /// Readings on each day.
    pub repeats: usize,
    /// Level 1: repeats within a day, pooled.
    pub level_1: SpreadJson,
    /// Level 2: daily means within a run, pooled.
    pub level_2: SpreadJson,
    /// Level 3: run means, pooled; null with one run.
    pub level_3: Option<SpreadJson>,
    /// Standard deviations of the levels alone.
    pub components: Vec<ComponentJson>,
    /// What one day's mean is worth.
    pub one_day_mean: Vec<OneDayJson>,
    /// The days.
    pub table: Vec<NestedDayJson>,
}

/// One value on the charts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChartPointJson {
    /// Counts from 1 over all phases.
    pub number: usize,
    /// What it is called: a date, a name.
    pub label: String,
    /// Which phase.
    pub phase: usize,
    /// In `unit`.
    pub value: f64,
    /// The weighted mean, in `unit`.
    pub weighted_mean: Option<f64>,
    /// Its lower limit, in `unit`.
    pub weighted_lower: Option<f64>,
    /// Its upper limit, in `unit`.
    pub weighted_upper: Option<f64>,
    /// Upward cumulative sum, in `unit`.
    pub sum_up: Option<f64>,
    /// Downward cumulative sum, in `unit`.
    pub sum_down: Option<f64>,
    /// Which charts signal here.
    pub signals: Vec<String>,
}

/// A stretch between two breaks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChartPhaseJson {
    /// Counts from 1.
    pub phase: usize,
    /// What began it.
    pub begun_by: String,
    /// Values in it.
    pub values: usize,
    /// Mean, in `unit`.
    pub centre: Option<f64>,
    /// Mean moving range of two, in `unit`.
    pub mean_moving_range: Option<f64>,
    /// Standard deviation used, in `unit`.
    pub sigma: Option<f64>,
    /// Lower limit of the single values, in `unit`.
    pub lower: Option<f64>,
    /// Upper limit of the single values, in `unit`.
    pub upper: Option<f64>,
    /// Upper limit of the moving range, in `unit`.
    pub moving_range_upper: Option<f64>,
    /// What the weighted mean and the sums are held against, in `unit`.
    pub target: Option<f64>,
    /// Allowance of the sums, in `unit`.
    pub cusum_allowance: Option<f64>,
    /// Decision interval of the sums, in `unit`.
    pub cusum_decision: Option<f64>,
}

/// Charts of a check standard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChartJson {
    /// Points that signal.
    pub signals: usize,
    /// The phases.
    pub phases: Vec<ChartPhaseJson>,
    /// The values.
    pub points: Vec<ChartPointJson>,
    /// Values until a false signal of the sums, on average, both directions together.
    pub average_run_length: f64,
    /// Values until the sums see a shift of one standard deviation, on average.
    pub average_run_length_shifted: f64,
}

/// Two results beside each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ComparedJson {
    /// What both measured.
    pub artefact: String,
    /// First result, in `unit`.
    pub first: f64,
    /// Its expanded uncertainty, in `unit`.
    pub first_expanded_uncertainty: f64,
    /// Second result, in `unit`.
    pub second: f64,
    /// Its expanded uncertainty, in `unit`.
    pub second_expanded_uncertainty: f64,
    /// First less second, in `unit`.
    pub difference: f64,
    /// Expanded uncertainty of the difference, in `unit`.
    pub difference_expanded_uncertainty: f64,
    /// `E_n`: their ratio.
    pub normalised_error: f64,
    /// Whether the difference is explained by the uncertainties.
    pub agrees: bool,
}

/// A comparison of two gauges or labs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CompareJson {
    /// The first.
    pub first: String,
    /// The second.
    pub second: String,
    /// Results that agree.
    pub agreeing: usize,
    /// The results.
    pub results: Vec<ComparedJson>,
}

/// Deviation and uncertainty of a torque tool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueStudyJson {
    /// Torque set or shown.
    pub set_n_m: f64,
    /// Mean of the reference.
    pub mean_reference_n_m: f64,
    /// Deviation of the set torque from each reference reading.
    pub deviations_percent: Vec<f64>,
    /// Largest of them without sign.
    pub largest_deviation_percent: f64,
    /// Deviation from the mean reference.
    pub mean_deviation_percent: f64,
    /// Permissible deviation, where one is known.
    pub permissible_percent: Option<f64>,
    /// Whether every reading keeps it.
    pub conforms: Option<bool>,
    /// Relative standard uncertainty by the resolution.
    pub resolution_percent: f64,
    /// By setting on again.
    pub reproducibility_percent: f64,
    /// By the output drive.
    pub output_drive_percent: f64,
    /// By the interface.
    pub interface_percent: f64,
    /// By the loading point.
    pub loading_point_percent: f64,
    /// By repeating.
    pub repeatability_percent: f64,
    /// Of the reference.
    pub device_percent: f64,
    /// Relative standard uncertainty `w`.
    pub w_percent: f64,
    /// Relative expanded uncertainty `W`, twice `w`.
    pub expanded_w_percent: f64,
    /// Interval `W'`: deviation, error of the reference and `W` together.
    pub interval_w_percent: f64,
    /// Least torque the tool may apply at this set point within the permissible deviation.
    pub window_low_n_m: Option<f64>,
    /// Most torque.
    pub window_high_n_m: Option<f64>,
}

/// A set point with the torques it may mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WindowRowJson {
    /// Label of the wrench; null for a set point that was asked.
    pub wrench: Option<String>,
    /// Torque it is set to.
    pub set_n_m: f64,
    /// Permissible deviation.
    pub permissible_percent: f64,
    /// Least torque that may have been applied.
    pub low_n_m: f64,
    /// Most torque.
    pub high_n_m: f64,
    /// The same in inch pounds-force.
    pub low_in_lbf: f64,
    /// The same in inch pounds-force.
    pub high_in_lbf: f64,
    /// Deviation from the mean of the last check, where there is one.
    pub last_mean_deviation_percent: Option<f64>,
    /// Torque it applied at the last check, mean.
    pub last_mean_reference_n_m: Option<f64>,
    /// Time of the last check.
    pub last_check_at: Option<String>,
}

/// A row of the table of permissible deviations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueTypeJson {
    /// Its key, for example `II-B`.
    pub tool_type: String,
    /// What it is.
    pub text: String,
    /// Permissible deviation up to the border.
    pub up_to_border_percent: f64,
    /// Permissible deviation above the border.
    pub above_border_percent: f64,
    /// The border.
    pub border_n_m: f64,
    /// Edition of the work.
    pub edition: String,
    /// Where it is from.
    pub origin: crate::OriginJson,
}

/// Windows of torque for set points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WindowsJson {
    /// The set points.
    pub windows: Vec<WindowRowJson>,
    /// The table of permissible deviations.
    pub table: Vec<TorqueTypeJson>,
}
