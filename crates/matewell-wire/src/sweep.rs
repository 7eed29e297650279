//! Answers about sweeps as JSON. Keys carry units; `u_` is a standard
//! uncertainty.

use crate::{EndNameJson, LineFindingJson, NumberJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A file by what is in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SweepFileJson {
    /// What it is called.
    pub name: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// SHA-256 of the bytes in hexadecimal.
    pub sha256: String,
}

/// A doubt about a file, at its first place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SweepWarningJson {
    /// Line, from 1.
    pub line: u64,
    /// Byte column, from 1.
    pub column: u64,
    /// Stable code.
    pub code: String,
    /// Whether it breaks a rule of the format; strict reading refuses it.
    pub breaks_rule: bool,
    /// What was expected and found.
    pub text: String,
}

/// The frequencies of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepGridJson {
    /// How many.
    pub points: u64,
    /// The first.
    pub first_hz: f64,
    /// The last.
    pub last_hz: f64,
    /// The step, when it is constant.
    pub step_hz: Option<f64>,
    /// Whether the first is 0 or one step, as a low-pass picture needs.
    pub harmonic: bool,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepReadJson {
    /// In words.
    pub text: String,
    /// The file.
    pub file: SweepFileJson,
    /// `1.0`, `1.1`, `2.0` or `2.1`.
    pub version: String,
    /// Unit of the frequency column.
    pub unit: String,
    /// `S`, `Y`, `Z`, `H` or `G`.
    pub parameter: String,
    /// `RI`, `MA` or `DB`.
    pub format: String,
    /// Ports.
    pub ports: u64,
    /// Reference impedance of each port.
    pub references_ohm: Vec<f64>,
    /// `full`, `lower` or `upper`.
    pub matrix_format: String,
    /// Whether rows and columns are modes of port pairs.
    pub mixed_mode: bool,
    /// Points of the noise block.
    pub noise_points: u64,
    /// Comment lines before the data.
    pub comments: Vec<String>,
    /// Whether part of the promised data is missing.
    pub partial: bool,
    /// The frequencies; null when no S-parameters exist.
    pub grid: Option<SweepGridJson>,
    /// Why no S-parameters exist; null when they do.
    pub no_sweep_because: Option<String>,
    /// Every doubt, in the order of the lines; each kind at its first place.
    pub warnings: Vec<SweepWarningJson>,
}

/// Whether a network gives out more than it takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PassivityJson {
    /// Whether every singular value stays within 1 and the tolerance.
    pub holds: bool,
    /// The largest singular value.
    pub largest_singular_value: f64,
    /// Its frequency.
    pub at_hz: f64,
    /// Accepted excess over 1.
    pub tolerance: f64,
    /// Frequencies beyond it.
    pub points_beyond: u64,
}

/// How alike forward and backward transmission are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReciprocityJson {
    /// The largest difference of any pair.
    pub largest_difference: f64,
    /// Its frequency.
    pub at_hz: f64,
}

/// Initial quality metrics of IEEE 370, in percent: information, no verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct QualityMetricsJson {
    /// Passivity.
    pub passivity_percent: f64,
    /// Reciprocity.
    pub reciprocity_percent: f64,
    /// Causality; fragile against noise where reflections are small.
    pub causality_percent: f64,
}

/// Whether a sweep can be believed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepCheckJson {
    /// In words.
    pub text: String,
    /// The file.
    pub file: SweepFileJson,
    /// Passivity.
    pub passivity: PassivityJson,
    /// Reciprocity; null for one port.
    pub reciprocity: Option<ReciprocityJson>,
    /// The frequencies.
    pub grid: SweepGridJson,
    /// Upper bound of the trace noise of the noisiest parameter, linear; null below five points.
    pub noise_floor: Option<f64>,
    /// The same in decibels.
    pub noise_floor_db: Option<f64>,
    /// Initial metrics; null below three points.
    pub metrics: Option<QualityMetricsJson>,
    /// What speaks against it.
    pub findings: Vec<LineFindingJson>,
    /// Doubts about the file.
    pub warnings: Vec<SweepWarningJson>,
    /// Where the checks are from.
    pub source: String,
}

/// Columns of numbers, all of the same length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ColumnsJson {
    /// Names with units.
    pub names: Vec<String>,
    /// One list for each name.
    pub values: Vec<Vec<f64>>,
}

/// One parameter over frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepTraceJson {
    /// The file.
    pub file: SweepFileJson,
    /// For example `S11`.
    pub parameter: String,
    /// `frequency_hz`, `real`, `imaginary`, `magnitude_db` (a zero shows as -400).
    pub columns: ColumnsJson,
}

/// How far and how fine a picture over time sees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReachJson {
    /// Round-trip time after which it repeats.
    pub alias_free_time_s: f64,
    /// One-way distance after which it repeats.
    pub alias_free_distance_m: f64,
    /// Half-height width of a reflection, round trip.
    pub width_s: f64,
    /// One-way distance below which two reflections merge.
    pub resolution_m: f64,
}

/// Reflections over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepTimeJson {
    /// In words.
    pub text: String,
    /// The file.
    pub file: SweepFileJson,
    /// For example `S11`.
    pub parameter: String,
    /// `low-pass` or `band-pass`.
    pub mode: String,
    /// The window.
    pub window: String,
    /// Speed over that in vacuum.
    pub velocity_factor: f64,
    /// Range and resolution.
    pub reach: ReachJson,
    /// Estimated error of the value at 0 Hz; null when it was measured or is not needed.
    pub dc_doubt: Option<f64>,
    /// `time_s` and `distance_m` (round trip and one way), and `reflection` (low-pass) or `magnitude` (band-pass).
    pub columns: ColumnsJson,
    /// The parameter with only what lies in the gate: `frequency_hz`, `real`, `imaginary`, `magnitude_db`.
    pub gated: Option<ColumnsJson>,
    /// What limits it.
    pub findings: Vec<LineFindingJson>,
}

/// Whether a limit is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepMaskJson {
    /// In words.
    pub text: String,
    /// `yes`, `no`, or `undecided` when somewhere the distance is within the uncertainty.
    pub kept: String,
    /// The file.
    pub file: SweepFileJson,
    /// For example `S11`.
    pub parameter: String,
    /// Smallest margin, positive on the good side.
    pub worst_margin_db: f64,
    /// Its frequency.
    pub at_hz: f64,
    /// Points the mask covers.
    pub covered: u64,
    /// Points of the sweep.
    pub points: u64,
    /// The guard band on both sides.
    pub uncertainty_db: f64,
    /// Where the rule is from.
    pub source: String,
}

/// Change of a cable between two sweeps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepCableJson {
    /// In words.
    pub text: String,
    /// The sweep before.
    pub before: SweepFileJson,
    /// The sweep after.
    pub after: SweepFileJson,
    /// For example `S21`.
    pub parameter: String,
    /// `once` or `twice`.
    pub passage: String,
    /// Change of delay, positive is longer.
    pub delay_change_ps: f64,
    /// The same at the highest frequency; a longer cable turns backward.
    pub degrees_at_highest: f64,
    /// What the delay does not explain, root mean square.
    pub ripple_degrees: f64,
    /// Largest step of that between neighbours: a bad contact jumps.
    pub largest_step_degrees: f64,
    /// Change of loss that does not depend on frequency: contacts.
    pub loss_constant_db: f64,
    /// Change that grows with the root of frequency, at 1 GHz: conductors.
    pub loss_root_db_at_1_ghz: f64,
    /// Change that grows with frequency, at 1 GHz: dielectric, moisture.
    pub loss_linear_db_at_1_ghz: f64,
    /// Series resistance that would explain the constant part.
    pub contact_resistance_ohm: f64,
    /// What the three parts do not explain, root mean square.
    pub loss_ripple_db: f64,
    /// Where the rules are from.
    pub source: String,
}

/// An ellipse of two quantities.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EllipseJson {
    /// First quantity of the centre.
    pub centre_x: f64,
    /// Second quantity of the centre.
    pub centre_y: f64,
    /// Half the long axis.
    pub major: f64,
    /// Half the short axis.
    pub minor: f64,
    /// Direction of the long axis from the first quantity.
    pub angle_deg: f64,
}

/// One group of reconnections.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReconnectGroupJson {
    /// `first`, `second` or `history`.
    pub group: String,
    /// The files.
    pub files: Vec<SweepFileJson>,
    /// Fitted inductance of each, from the mean of the first group.
    pub inductance_ph: Vec<f64>,
    /// Fitted resistance of each.
    pub resistance_mohm: Vec<f64>,
    /// Standard deviation of the inductance.
    pub inductance_scatter_ph: f64,
    /// Standard deviation of the resistance.
    pub resistance_scatter_mohm: f64,
    /// Covariance of inductance (pH) and resistance (mΩ), row by row.
    pub covariance: Vec<f64>,
    /// Radial repeatability of the reflection at the frequency asked, linear.
    pub radial_repeatability: f64,
    /// The same in decibels.
    pub radial_repeatability_db: f64,
    /// 95 % region of the mean reflection at the frequency asked.
    pub mean_region: EllipseJson,
    /// 95 % region of the next single reconnection.
    pub next_region: EllipseJson,
    /// How little so few show; null from eight on.
    pub caution: Option<String>,
}

/// Whether two groups have one mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReconnectTestJson {
    /// Probability of such a difference with one mean, equal spread.
    pub p_equal_spread: f64,
    /// The same, unequal spread.
    pub p_unequal_spread: f64,
    /// Hotelling's T², equal spread.
    pub t_squared: f64,
    /// Probability by shuffling, over all frequencies; null below four in a group.
    pub p_permutation: Option<f64>,
    /// Difference of the means, second less first.
    pub inductance_difference_ph: f64,
    /// Difference of the means, second less first.
    pub resistance_difference_mohm: f64,
    /// Difference of inductance that would be seen nine times in ten.
    pub smallest_detectable_ph: f64,
}

/// A reconnect study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReconnectJson {
    /// In words.
    pub text: String,
    /// For example `S11`.
    pub parameter: String,
    /// Frequency of the ellipses.
    pub at_hz: f64,
    /// The groups.
    pub groups: Vec<ReconnectGroupJson>,
    /// First against second group.
    pub test: Option<ReconnectTestJson>,
    /// `saver`, `device`, `neither` or `undecided`; null without three groups.
    pub source_of_scatter: Option<String>,
    /// Where the formulas are from.
    pub source: String,
}

/// A sweep on record, or a file given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SweepRefJson {
    /// Id of the fact; null for a file that is not on record.
    pub fact: Option<String>,
    /// The file.
    pub file: SweepFileJson,
    /// When it was swept; null when not on record.
    pub happened_at: Option<String>,
}

/// A sweep on record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepRowJson {
    /// Id of the fact.
    pub fact: String,
    /// When it was swept.
    pub happened_at: String,
    /// Who.
    pub person: String,
    /// The ends from the port outward.
    pub chain: Vec<EndNameJson>,
    /// Port of the file that looks into the first end.
    pub port: u32,
    /// How the cables were held.
    pub cable_shape: Option<String>,
    /// What measured it.
    pub instrument: Option<String>,
    /// Whether the chain was taken as good.
    pub known_good: bool,
    /// Whether what lies between the joints is on record with it.
    pub has_layout: bool,
    /// The file.
    pub file: SweepFileJson,
    /// Ports of the network.
    pub ports: u32,
    /// Its frequencies.
    pub points: u32,
    /// The first.
    pub first_hz: f64,
    /// The last.
    pub last_hz: f64,
    /// Free text.
    pub note: Option<String>,
}

/// Sweeps on record, latest first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepListJson {
    /// The sweeps.
    pub sweeps: Vec<SweepRowJson>,
}

/// A change of pin gap that would have the same effect, if a gap is the cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GapIfCauseJson {
    /// Change; positive is a wider gap.
    pub change_um: f64,
    /// Lower end: two standard uncertainties, and 30 % for the model.
    pub low_um: f64,
    /// Upper end.
    pub high_um: f64,
}

/// What a comparison says about one joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JointJson {
    /// Its name.
    pub name: String,
    /// Its ends; empty when they are not on record.
    pub ends: Vec<EndNameJson>,
    /// Whether the verdict names it.
    pub named: bool,
    /// Distance from the port along the line.
    pub distance_m: f64,
    /// Round-trip time at which its reflection arrives.
    pub round_trip_ns: f64,
    /// Change of effective series inductance.
    pub inductance_change_ph: f64,
    /// Its standard uncertainty, the joint's own scatter included.
    pub u_inductance_change_ph: f64,
    /// Change of series resistance.
    pub resistance_change_mohm: f64,
    /// Its standard uncertainty, scatter included.
    pub u_resistance_change_mohm: f64,
    /// Evidence for a change here: the drop of chi-square, 2 degrees of freedom.
    pub evidence: f64,
    /// Change of the reflection at the joint at the highest frequency.
    pub reflection_change_db: f64,
    /// Smallest change that would be seen nine times in ten.
    pub smallest_detectable_ph: f64,
    /// Whether that is no larger than the change that matters.
    pub judged: bool,
    /// The equivalent gap, if a gap is the cause and the line is known.
    pub gap_if_a_gap_is_the_cause: Option<GapIfCauseJson>,
}

/// What lies between two joints, and how it moved.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SectionJson {
    /// Its name.
    pub name: String,
    /// Mechanical length.
    pub length_mm: f64,
    /// Speed over that in vacuum.
    pub velocity_factor: f64,
    /// Whether its delay may change.
    pub flexible: bool,
    /// Fitted phase change at the highest frequency, one way; null without a fit.
    pub phase_change_deg: Option<f64>,
    /// The same as a delay.
    pub delay_change_ps: Option<f64>,
}

/// Which joint changed, with everything it rests on. It suggests gauging and
/// never releases or rejects an end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepCompareJson {
    /// The verdict in sentences.
    pub text: String,
    /// `nothing-seen`, `joint`, `one-of`, `several` or `no-verdict`.
    pub finding: String,
    /// Why there is no verdict: `cable-moved`, `unexplained`, `strong-mismatch`,
    /// `calibration-drifted`, `no-solution`.
    pub no_verdict_because: Option<String>,
    /// Names of the joints that could not be judged for the change that matters.
    pub not_judged: Vec<String>,
    /// The ends from the port outward; empty when they are not on record.
    pub chain: Vec<EndNameJson>,
    /// Port of the files that looks into the chain.
    pub port: u32,
    /// How the cables were held.
    pub cable_shape: Option<String>,
    /// The sweep in hand.
    pub now: SweepRefJson,
    /// The good state it is compared with.
    pub baseline: SweepRefJson,
    /// How the baseline was found.
    pub baseline_chosen: String,
    /// The joints, from the port outward; empty without a fit.
    pub joints: Vec<JointJson>,
    /// What lies between them.
    pub sections: Vec<SectionJson>,
    /// Where the layout is from.
    pub layout_from: String,
    /// Reduced chi-square of what the fit leaves; null without a fit.
    pub reduced_chi_square: Option<f64>,
    /// Probability of such evidence with nothing changed, for the whole chain.
    pub chance: Option<f64>,
    /// Share of the difference's energy that arrives before it can; null when it cannot be told.
    pub early_energy: Option<f64>,
    /// What limits it.
    pub findings: Vec<LineFindingJson>,
    /// `round_trip_ns`, `distance_m`, `baseline`, `now`, `difference`: reflection (low-pass) or magnitude (band-pass).
    pub picture: Option<ColumnsJson>,
    /// `low-pass` or `band-pass`; null without a picture.
    pub picture_mode: Option<String>,
    /// What was used, with units.
    pub inputs: Vec<NumberJson>,
    /// The model in words.
    pub model: String,
    /// Where it is from.
    pub source: String,
}

/// One value of a trend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TrendPointJson {
    /// The sweep.
    pub fact: String,
    /// When.
    pub happened_at: String,
    /// Frequency of the point taken.
    pub at_hz: f64,
    /// The value.
    pub value: f64,
}

/// Whether a quantity drifts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepTrendJson {
    /// In words.
    pub text: String,
    /// For example `S11 magnitude-db`.
    pub quantity: String,
    /// Its unit.
    pub unit: String,
    /// Change per day; null below four values.
    pub slope_per_day: Option<f64>,
    /// Its standard uncertainty.
    pub u_slope_per_day: Option<f64>,
    /// Probability of so steep a slope without a trend.
    pub p: Option<f64>,
    /// Standard deviation about the line.
    pub scatter: Option<f64>,
    /// The values in order.
    pub values: Vec<TrendPointJson>,
    /// Sweeps that were left out, and why.
    pub left_out: Vec<String>,
}
