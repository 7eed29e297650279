//! Answers about lines as JSON. Keys carry units; `u_` is a standard
//! uncertainty.

use crate::NumberJson;
use matewell_line::{
    Answer, BudgetLine, ChainReflection, Finding, GapReflection, LevelLimits, LimitedBy, LossyLine,
    MatchForms, Measurand, PlaneShift, Quantified, SectionReflection, StepReflection, Uncertain, UsableUpTo,
};
use matewell_quantity::{Frequency, Impedance};
use matewell_uncertainty::Estimate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Why a number is weaker than it looks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LineFindingJson {
    /// Stable code.
    pub code: String,
    /// `note`, or `forbids` when the number is no prediction.
    pub weight: String,
    /// What limits it.
    pub text: String,
}

impl LineFindingJson {
    /// A finding of a door: a note.
    pub fn note(code: &str, text: String) -> Self {
        Self { code: code.to_owned(), weight: "note".to_owned(), text }
    }
}

impl From<&Finding> for LineFindingJson {
    fn from(finding: &Finding) -> Self {
        let code = match finding {
            Finding::AboveTe11 { .. } => "above-te11",
            Finding::AboveRated { .. } => "above-rated",
            Finding::GapNotSmallAgainstStep { .. } => "gap-not-small",
            Finding::GrooveTooShallow { .. } => "groove-too-shallow",
            Finding::PinsInterfere { .. } => "pins-interfere",
            Finding::GapVeryTight { .. } => "gap-very-tight",
            Finding::FilledLineNotChecked { .. } => "filled-line-not-checked",
            Finding::UnknownInterface { .. } => "unknown-dimension",
            Finding::FirstOrderFails { .. } => "first-order-fails",
            Finding::NotShort { .. } => "not-short",
            Finding::OutsideClaimedRange { .. } => "outside-claimed-range",
            Finding::StepsTakenApart => "steps-taken-apart",
            Finding::FormulaFromMemory { .. } => "formula-from-memory",
            Finding::SkinDepthNotSmall { .. } => "skin-depth-not-small",
            Finding::NegativeTakenAsZero { .. } => "negative-taken-as-zero",
            Finding::NoReflection => "no-reflection",
            Finding::TotalReflection { .. } => "total-reflection",
            Finding::PhasesMayAlign => "phases-may-align",
            Finding::NeedNotReached => "need-not-reached",
            _ => "other",
        };
        let weight = if finding.forbids() { "forbids" } else { "note" };
        Self { code: code.to_owned(), weight: weight.to_owned(), text: finding.to_string() }
    }
}

/// A table over frequency, at the inputs' values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepJson {
    /// Names of the columns with their units; the first is `frequency_hz`.
    pub columns: Vec<String>,
    /// One row a frequency; it ends below the cut-off of the second mode.
    pub rows: Vec<Vec<f64>>,
    /// The TE11 cut-off in hertz, where there is a line.
    pub te11_cutoff_hz: Option<f64>,
}

/// An answer with everything it rests on. Without the keys of `value` no number
/// can be given, and the findings say why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LineAnswerJson<T> {
    /// Which question.
    pub question: String,
    /// The numbers.
    #[serde(flatten)]
    pub value: Option<T>,
    /// The table, when a sweep was asked.
    pub sweep: Option<SweepJson>,
    /// What limits the numbers.
    pub findings: Vec<LineFindingJson>,
    /// What was used, with units.
    pub inputs: Vec<NumberJson>,
    /// The model in words.
    pub model: String,
    /// Where the model is from.
    pub source: String,
}

/// The first-order uncertainty, or the Monte Carlo one where it was needed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ReflectionJson {
    /// Predicted reflection magnitude.
    pub reflection_magnitude: f64,
    /// Its standard uncertainty, the model's included where it has one.
    pub u_reflection_magnitude: f64,
    /// Lower end of the 95 % coverage interval.
    pub reflection_magnitude_low_95: f64,
    /// Upper end of the 95 % coverage interval.
    pub reflection_magnitude_high_95: f64,
    /// `first-order` or `monte-carlo`.
    pub uncertainty_by: String,
    /// The same as a return loss; null without reflection.
    pub return_loss_db: Option<f64>,
    /// Phase of the reflection at its place, in degrees.
    pub reflection_phase_deg: Option<f64>,
    /// Impedance of the disturbed piece.
    pub section_impedance_ohm: Option<f64>,
    /// Its standard uncertainty.
    pub u_section_impedance_ohm: Option<f64>,
    /// Impedance of the line.
    pub impedance_ohm: Option<f64>,
    /// Its standard uncertainty.
    pub u_impedance_ohm: Option<f64>,
}

fn return_loss(magnitude: f64) -> Option<f64> {
    (magnitude > 0.0).then(|| -20.0 * magnitude.log10())
}

fn by(quantified: &Quantified) -> String {
    if quantified.spread.is_some() { "monte-carlo" } else { "first-order" }.to_owned()
}

impl ReflectionJson {
    /// A magnitude and, where it is known, its phase in degrees.
    pub fn new(magnitude: &Quantified, phase_deg: Option<f64>) -> Self {
        let (low, high) = magnitude.interval_95();
        Self {
            reflection_magnitude: magnitude.value(),
            u_reflection_magnitude: magnitude.standard_uncertainty(),
            reflection_magnitude_low_95: matewell_quantity::greater(low, 0.0),
            reflection_magnitude_high_95: high,
            uncertainty_by: by(magnitude),
            return_loss_db: return_loss(magnitude.value()),
            reflection_phase_deg: phase_deg.filter(|_| magnitude.value() > 0.0),
            section_impedance_ohm: None,
            u_section_impedance_ohm: None,
            impedance_ohm: None,
            u_impedance_ohm: None,
        }
    }
}

impl From<&SectionReflection> for ReflectionJson {
    fn from(section: &SectionReflection) -> Self {
        let (piece, line) = (&section.section_impedance, &section.line_impedance);
        Self {
            section_impedance_ohm: Some(piece.value().ohms()),
            u_section_impedance_ohm: Some(piece.standard_uncertainty().ohms()),
            impedance_ohm: Some(line.value().ohms()),
            u_impedance_ohm: Some(line.standard_uncertainty().ohms()),
            ..Self::new(&section.magnitude, Some(section.two_port.s11.arg().to_degrees()))
        }
    }
}

/// Impedance of a line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ImpedanceJson {
    /// Characteristic impedance.
    pub impedance_ohm: f64,
    /// Its standard uncertainty.
    pub u_impedance_ohm: f64,
    /// Change per micrometre of the outer conductor's diameter.
    pub outer_sensitivity_ohm_per_um: f64,
    /// Change per micrometre of the centre conductor's diameter.
    pub inner_sensitivity_ohm_per_um: f64,
    /// Cut-off of the second mode.
    pub te11_cutoff_hz: f64,
    /// Its standard uncertainty.
    pub u_te11_cutoff_hz: f64,
}

impl ImpedanceJson {
    /// From impedance, sensitivities in ohms per metre, and cut-off.
    pub fn new(
        impedance: &Uncertain<Impedance>,
        per_metre: (f64, f64),
        cutoff: &Uncertain<Frequency>,
    ) -> Self {
        Self {
            impedance_ohm: impedance.value().ohms(),
            u_impedance_ohm: impedance.standard_uncertainty().ohms(),
            outer_sensitivity_ohm_per_um: per_metre.0 * 1e-6,
            inner_sensitivity_ohm_per_um: per_metre.1 * 1e-6,
            te11_cutoff_hz: cutoff.value().hertz(),
            u_te11_cutoff_hz: cutoff.standard_uncertainty().hertz(),
        }
    }
}

/// Cut-off of the second mode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CutoffJson {
    /// Exact cut-off of the TE11 mode.
    pub te11_cutoff_hz: f64,
    /// Its standard uncertainty.
    pub u_te11_cutoff_hz: f64,
    /// The textbook approximation, about 2 % low for 50 Ω.
    pub te11_cutoff_approximate_hz: f64,
}

impl CutoffJson {
    /// From the exact one and the approximation.
    pub fn new(exact: &Uncertain<Frequency>, approximate: &Uncertain<Frequency>) -> Self {
        Self {
            te11_cutoff_hz: exact.value().hertz(),
            u_te11_cutoff_hz: exact.standard_uncertainty().hertz(),
            te11_cutoff_approximate_hz: approximate.value().hertz(),
        }
    }
}

/// What a pin gap reflects.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GapJson {
    /// The prediction.
    #[serde(flatten)]
    pub reflection: ReflectionJson,
    /// The short-line value, an upper bound.
    pub reflection_magnitude_upper: f64,
    /// Its standard uncertainty from the inputs.
    pub u_reflection_magnitude_upper: f64,
    /// The series inductance alone, the first-order limit.
    pub reflection_magnitude_inductance_only: f64,
    /// Series inductance of the groove.
    pub inductance_h: f64,
    /// Its standard uncertainty.
    pub u_inductance_h: f64,
    /// Capacitance that the groove takes away.
    pub missing_capacitance_f: f64,
    /// Cut-off of the second mode.
    pub te11_cutoff_hz: f64,
}

impl GapJson {
    /// From the core's answer, and the cut-off of its line.
    pub fn new(gap: &GapReflection, cutoff: Frequency) -> Self {
        Self {
            reflection: ReflectionJson::new(&gap.magnitude, Some(gap.phase_deg)),
            reflection_magnitude_upper: gap.upper.value(),
            u_reflection_magnitude_upper: gap.upper.standard_uncertainty(),
            reflection_magnitude_inductance_only: gap.first_order.value(),
            inductance_h: gap.inductance_h.value(),
            u_inductance_h: gap.inductance_h.standard_uncertainty(),
            missing_capacitance_f: gap.missing_capacitance_f.value(),
            te11_cutoff_hz: cutoff.hertz(),
        }
    }
}

/// A centre conductor off the axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OffCentreJson {
    /// Impedance with the axes apart.
    pub off_centre_impedance_ohm: f64,
    /// Its standard uncertainty, first order.
    pub u_off_centre_impedance_ohm: f64,
    /// Impedance with the axes together.
    pub centred_impedance_ohm: f64,
    /// The difference, zero or less.
    pub impedance_change_ohm: f64,
    /// The reflection of the piece, when a length and a frequency were given.
    pub reflection: Option<ReflectionJson>,
}

impl OffCentreJson {
    /// From both impedances and the reflection.
    pub fn new(
        off: &Uncertain<Impedance>,
        centred: &Uncertain<Impedance>,
        reflection: Option<&SectionReflection>,
    ) -> Self {
        Self {
            off_centre_impedance_ohm: off.value().ohms(),
            u_off_centre_impedance_ohm: off.standard_uncertainty().ohms(),
            centred_impedance_ohm: centred.value().ohms(),
            impedance_change_ohm: off.value().ohms() - centred.value().ohms(),
            reflection: reflection.map(Into::into),
        }
    }
}

/// What the metal and the filling cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LossJson {
    /// Attenuation.
    pub attenuation_db_per_m: f64,
    /// Its standard uncertainty.
    pub u_attenuation_db_per_m: f64,
    /// The handbook's planar-skin value, 0.03 to 0.7 % low.
    pub attenuation_planar_db_per_m: f64,
    /// Loss of the piece, when its length was given.
    pub loss_db: Option<f64>,
    /// Its standard uncertainty.
    pub u_loss_db: Option<f64>,
    /// Skin depth.
    pub skin_depth_um: f64,
    /// Its standard uncertainty.
    pub u_skin_depth_um: f64,
    /// Real part of the characteristic impedance.
    pub impedance_real_ohm: f64,
    /// Imaginary part of the characteristic impedance.
    pub impedance_imaginary_ohm: f64,
    /// Phase constant in degrees per metre.
    pub phase_deg_per_m: f64,
    /// Series resistance.
    pub resistance_ohm_per_m: f64,
    /// Series inductance, the internal one included.
    pub inductance_h_per_m: f64,
}

impl LossJson {
    /// From the core's answer, the planar value and the loss of the piece.
    pub fn new(lossy: &LossyLine, planar_db_per_m: &Estimate, piece_db: Option<&Estimate>) -> Self {
        Self {
            attenuation_db_per_m: lossy.attenuation_db_per_m.value(),
            u_attenuation_db_per_m: lossy.attenuation_db_per_m.standard_uncertainty(),
            attenuation_planar_db_per_m: planar_db_per_m.value(),
            loss_db: piece_db.map(Estimate::value),
            u_loss_db: piece_db.map(Estimate::standard_uncertainty),
            skin_depth_um: lossy.skin_depth.value().micrometres(),
            u_skin_depth_um: lossy.skin_depth.standard_uncertainty().micrometres(),
            impedance_real_ohm: lossy.impedance_real_ohm.value(),
            impedance_imaginary_ohm: lossy.impedance_imaginary_ohm.value(),
            phase_deg_per_m: lossy.phase_rad_per_m.value().to_degrees(),
            resistance_ohm_per_m: lossy.resistance_ohm_per_m.value(),
            inductance_h_per_m: lossy.inductance_h_per_m.value(),
        }
    }
}

/// What two reflections do to a level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MismatchJson {
    /// Upper limit of the interaction.
    pub interaction_upper_db: f64,
    /// Lower limit; null when the waves could cancel.
    pub interaction_lower_db: Option<f64>,
    /// Standard uncertainty of a power ratio, relative (0.01 is 1 %).
    pub u_power_ratio: f64,
    /// The same in decibels, first order.
    pub u_power_db: f64,
    /// Upper limit of the error of an attenuation measured by insertion, when
    /// a device was given.
    pub insertion_upper_db: Option<f64>,
    /// Its lower limit.
    pub insertion_lower_db: Option<f64>,
}

impl MismatchJson {
    /// From the limits and the standard uncertainty.
    pub fn new(
        interaction: &LevelLimits,
        ratio: &Estimate,
        decibels: &Estimate,
        insertion: Option<&LevelLimits>,
    ) -> Self {
        Self {
            interaction_upper_db: interaction.upper_db.value(),
            interaction_lower_db: interaction.lower_db.as_ref().map(Estimate::value),
            u_power_ratio: ratio.value(),
            u_power_db: decibels.value(),
            insertion_upper_db: insertion.map(|i| i.upper_db.value()),
            insertion_lower_db: insertion.and_then(|i| i.lower_db.as_ref()).map(Estimate::value),
        }
    }
}

/// What a chain reflects at its near end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ChainJson {
    /// All in phase.
    pub reflection_magnitude_worst: f64,
    /// Phases independent: root of the sum of squares.
    pub reflection_magnitude_root_sum_square: f64,
    /// What each link contributes at the near end, in order.
    pub reflection_magnitude_terms: Vec<f64>,
}

impl From<&ChainReflection> for ChainJson {
    fn from(chain: &ChainReflection) -> Self {
        Self {
            reflection_magnitude_worst: chain.worst.value(),
            reflection_magnitude_root_sum_square: chain.root_sum_square.value(),
            reflection_magnitude_terms: chain.terms.iter().map(Estimate::value).collect(),
        }
    }
}

/// One match in all its words; what has no number is null.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ConvertJson {
    /// Reflection magnitude.
    pub reflection_magnitude: f64,
    /// Its standard uncertainty.
    pub u_reflection_magnitude: f64,
    /// Return loss.
    pub return_loss_db: Option<f64>,
    /// Its standard uncertainty.
    pub u_return_loss_db: Option<f64>,
    /// Voltage standing wave ratio.
    pub vswr: Option<f64>,
    /// Its standard uncertainty.
    pub u_vswr: Option<f64>,
    /// Mismatch loss.
    pub mismatch_loss_db: Option<f64>,
    /// Its standard uncertainty.
    pub u_mismatch_loss_db: Option<f64>,
}

impl From<&MatchForms> for ConvertJson {
    fn from(forms: &MatchForms) -> Self {
        let value = |q: &Option<Quantified>| q.as_ref().map(Quantified::value);
        let u = |q: &Option<Quantified>| q.as_ref().map(Quantified::standard_uncertainty);
        Self {
            reflection_magnitude: forms.magnitude.value(),
            u_reflection_magnitude: forms.magnitude.standard_uncertainty(),
            return_loss_db: value(&forms.return_loss_db),
            u_return_loss_db: u(&forms.return_loss_db),
            vswr: value(&forms.vswr),
            u_vswr: u(&forms.vswr),
            mismatch_loss_db: value(&forms.mismatch_loss_db),
            u_mismatch_loss_db: u(&forms.mismatch_loss_db),
        }
    }
}

/// Two interfaces that meet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StepJson {
    /// Reflection magnitude, capacitance and change of impedance together.
    pub reflection_magnitude: f64,
    /// Its standard uncertainty, the formula's claim included.
    pub u_reflection_magnitude: f64,
    /// The same as a return loss; null without reflection.
    pub return_loss_db: Option<f64>,
    /// Reflection magnitude of the change of impedance alone.
    pub reflection_magnitude_impedance_only: f64,
    /// Shunt capacitance at the plane.
    pub capacitance_f: f64,
    /// Its standard uncertainty.
    pub u_capacitance_f: f64,
}

impl From<&StepReflection> for StepJson {
    fn from(step: &StepReflection) -> Self {
        Self {
            reflection_magnitude: step.magnitude.value(),
            u_reflection_magnitude: step.magnitude.standard_uncertainty(),
            return_loss_db: return_loss(step.magnitude.value()),
            reflection_magnitude_impedance_only: step.impedance_part.value(),
            capacitance_f: step.capacitance_f.value(),
            u_capacitance_f: step.capacitance_f.standard_uncertainty(),
        }
    }
}

/// A reference plane that is off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ShiftJson {
    /// Change of the phase of a reflection, there and back.
    pub reflection_phase_deg: f64,
    /// Its standard uncertainty.
    pub u_reflection_phase_deg: f64,
    /// Change of the phase of a transmission.
    pub transmission_phase_deg: f64,
    /// Its standard uncertainty.
    pub u_transmission_phase_deg: f64,
    /// Change of the delay of a reflection.
    pub reflection_delay_ps: f64,
    /// Its standard uncertainty.
    pub u_reflection_delay_ps: f64,
    /// Change of the delay of a transmission.
    pub transmission_delay_ps: f64,
    /// Its standard uncertainty.
    pub u_transmission_delay_ps: f64,
    /// Magnitude of the change of S11 of a device that reflects everything.
    pub total_reflection_change: f64,
}

impl From<&PlaneShift> for ShiftJson {
    fn from(shift: &PlaneShift) -> Self {
        Self {
            reflection_phase_deg: shift.reflection_deg.value(),
            u_reflection_phase_deg: shift.reflection_deg.standard_uncertainty(),
            transmission_phase_deg: shift.transmission_deg.value(),
            u_transmission_phase_deg: shift.transmission_deg.standard_uncertainty(),
            reflection_delay_ps: shift.reflection_delay_ps.value(),
            u_reflection_delay_ps: shift.reflection_delay_ps.standard_uncertainty(),
            transmission_delay_ps: shift.transmission_delay_ps.value(),
            u_transmission_delay_ps: shift.transmission_delay_ps.standard_uncertainty(),
            total_reflection_change: shift.total_reflection_change.value(),
        }
    }
}

/// Up to which frequency something is good enough.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct UsableJson {
    /// The frequency where the need is reached, or the limit before it.
    pub usable_up_to_hz: f64,
    /// Its standard uncertainty.
    pub u_usable_up_to_hz: f64,
    /// Lower end of the 95 % coverage interval.
    pub prudent_hz: f64,
    /// `need`, `te11` or `rated`.
    pub limited_by: String,
    /// Predicted reflection magnitude there.
    pub reflection_magnitude: f64,
    /// `first-order` or `monte-carlo`.
    pub uncertainty_by: String,
}

impl From<&UsableUpTo> for UsableJson {
    fn from(usable: &UsableUpTo) -> Self {
        Self {
            usable_up_to_hz: usable.frequency_hz.value(),
            u_usable_up_to_hz: usable.frequency_hz.standard_uncertainty(),
            prudent_hz: usable.prudent.hertz(),
            limited_by: match usable.limited_by {
                LimitedBy::Need => "need",
                LimitedBy::Te11 => "te11",
                LimitedBy::Rated => "rated",
                _ => "other",
            }
            .to_owned(),
            reflection_magnitude: usable.reflection_there,
            uncertainty_by: by(&usable.frequency_hz),
        }
    }
}

/// A line for an uncertainty budget. The unit of the measurand is `1` for a
/// reflection and `dB` for a transmission.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CostJson {
    /// `reflection` or `transmission`.
    pub measurand: String,
    /// Unit of the measurand.
    pub unit: String,
    /// Best estimate of the correction, in `unit`.
    pub value: f64,
    /// Half-width: reflection magnitude of the joint with its own uncertainty.
    pub half_width: f64,
    /// How it is spread.
    pub distribution: String,
    /// Half-width over standard uncertainty.
    pub divisor: f64,
    /// Degrees of freedom; null for infinity.
    pub degrees_of_freedom: Option<f64>,
    /// Change of the measurand per reflection magnitude of the joint.
    pub sensitivity: f64,
    /// Standard uncertainty of the measurand from this joint, in `unit`.
    pub standard_uncertainty: f64,
    /// Share in the variance that is wanted, when one is.
    pub share_of_wanted: Option<f64>,
    /// Largest reflection magnitude of a joint that alone uses up what is
    /// wanted.
    pub largest_reflection_magnitude: Option<f64>,
}

impl From<&BudgetLine> for CostJson {
    fn from(line: &BudgetLine) -> Self {
        let (measurand, unit) = match line.measurand {
            Measurand::ReflectionMagnitude => ("reflection", "1"),
            Measurand::TransmissionDb => ("transmission", "dB"),
        };
        Self {
            measurand: measurand.to_owned(),
            unit: unit.to_owned(),
            value: line.value,
            half_width: line.half_width,
            distribution: line.distribution.word().to_owned(),
            divisor: line.distribution.divisor(),
            degrees_of_freedom: Some(line.degrees_of_freedom).filter(|d| d.is_finite()),
            sensitivity: line.sensitivity,
            standard_uncertainty: line.standard_uncertainty,
            share_of_wanted: line.share_of_wanted,
            largest_reflection_magnitude: line.largest_reflection,
        }
    }
}

impl<T> LineAnswerJson<T> {
    /// Whether there is a number, and no finding forbids it as a prediction.
    pub fn is_prediction(&self) -> bool {
        self.value.is_some() && self.findings.iter().all(|f| f.weight != "forbids")
    }

    /// Adds what the core found, once each, and gives back its value.
    pub fn take<V>(&mut self, answer: Answer<V>) -> V {
        for finding in &answer.findings {
            let finding = LineFindingJson::from(finding);
            if !self.findings.contains(&finding) {
                self.findings.push(finding);
            }
        }
        answer.value
    }
}
