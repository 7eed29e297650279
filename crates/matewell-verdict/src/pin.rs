//! What a gauging says about a pin.

use crate::{
    answer::{PinDecision, PinKnowledge},
    book::Policy,
};
use matewell_lab::{EndRecord, GaugeSpec, GaugingOnRecord, PinPosition, ToolRecord};
use matewell_uncertainty::{Estimate, InputId, UncertaintyError};
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Largest number of readings worth asking for.
const MOST_READINGS: u32 = 30;

/// Probability that a value with this estimate is below zero.
///
/// Student's t with the effective degrees of freedom when they are finite,
/// else normal. A value without uncertainty gives 0 or 1.
///
/// # Source
///
/// `jcgm-106-2012`, clause 7.2 and 8.2 (normal); `jcgm-100-2008`, G.3 and G.4 (t).
#[must_use]
pub fn probability_below_zero(estimate: &Estimate) -> f64 {
    let (value, u, dof) = (estimate.value(), estimate.standard_uncertainty(), estimate.degrees_of_freedom());
    if u <= 0.0 {
        return if value < 0.0 { 1.0 } else { 0.0 };
    }
    let standardised = -value / u;
    let t = if dof.is_finite() { StudentsT::new(0.0, 1.0, dof).ok() } else { None };
    t.map_or_else(|| Normal::standard().cdf(standardised), |t| t.cdf(standardised))
}

/// Recession of a gauging with its uncertainty; `None` when no uncertainty is
/// on record for it.
///
/// Components: the readings (pooled repeatability of the gauge where it is on
/// record, else the spread of at least two readings), and the gauge's own
/// standard uncertainty, shared by everything that was gauged with it.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn recession_um(
    gauging: &GaugingOnRecord,
    gauge: Option<&ToolRecord>,
) -> Result<Option<Estimate>, UncertaintyError> {
    let Some(mean) = gauging.mean_recession_um() else { return Ok(None) };
    let own_id = InputId::new(format!("gauging {}", gauging.fact));
    if let Some(stated) = gauging.gauged.stated_standard_uncertainty {
        return Estimate::input(own_id, mean, stated.micrometres(), f64::INFINITY).map(Some);
    }
    let Some((tool, spec)) = gauge.and_then(|g| g.item.gauge.as_ref().map(|s| (g, s))) else {
        return Ok(None);
    };
    let Some(shared) = spec.standard_uncertainty else { return Ok(None) };
    let Some((s, dof)) = spread_of_one_reading(&gauging.gauged.readings, mean, spec) else { return Ok(None) };
    let n = gauging.gauged.readings.len() as f64;
    let readings = Estimate::input(own_id, mean, s / n.sqrt(), dof)?;
    let gauge_id = InputId::new(format!("gauge {}", tool.item.id));
    let systematic = Estimate::input(gauge_id, 0.0, shared.micrometres(), f64::INFINITY)?;
    readings.plus(&systematic).map(Some)
}

/// Standard deviation of one reading in micrometres and its degrees of
/// freedom: pooled where the lab has it, else of these readings.
fn spread_of_one_reading(readings: &[PinPosition], mean: f64, spec: &GaugeSpec) -> Option<(f64, f64)> {
    if let Some(pooled) = spec.repeatability {
        return Some((pooled.micrometres(), spec.repeatability_dof.unwrap_or(f64::INFINITY)));
    }
    if readings.len() < 2 {
        return None;
    }
    let dof = readings.len() as f64 - 1.0;
    let sum: f64 = readings.iter().map(|r| (r.recession_um() - mean).powi(2)).sum();
    // Readings that agree to the last digit still carry the resolution.
    let resolution = spec.resolution.map_or(0.0, matewell_quantity::Length::micrometres) / 12_f64.sqrt();
    Some((matewell_quantity::greater((sum / dof).sqrt(), resolution), dof))
}

/// Decides what is known of the pin of an end.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn pin_knowledge(
    record: &EndRecord,
    gauge: Option<&ToolRecord>,
    policy: &Policy,
) -> Result<PinKnowledge, UncertaintyError> {
    pin_of_gauging(record.last_gauging.as_ref(), gauge, policy)
}

/// Decides what one gauging says of a pin.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn pin_of_gauging(
    gauging: Option<&GaugingOnRecord>,
    gauge: Option<&ToolRecord>,
    policy: &Policy,
) -> Result<PinKnowledge, UncertaintyError> {
    let mut known = PinKnowledge {
        decision: PinDecision::Unknown,
        recession_um: None,
        protrusion_probability: None,
        gauged_at: gauging.map(|g| g.at),
        gauge: gauging.and_then(|g| g.gauged.gauge),
        readings_needed: None,
    };
    let Some(gauging) = gauging else { return Ok(known) };
    let Some(mean) = gauging.mean_recession_um() else { return Ok(known) };
    let estimate = recession_um(gauging, gauge)?;
    // A mean that protrudes is out whatever its uncertainty.
    if mean < 0.0 {
        known.decision = PinDecision::Out;
        known.protrusion_probability = estimate.as_ref().map(probability_below_zero);
        known.recession_um = match estimate {
            Some(estimate) => Some(estimate),
            None => Some(Estimate::exact(mean)?),
        };
        return Ok(known);
    }
    let Some(estimate) = estimate else { return Ok(known) };
    let probability = probability_below_zero(&estimate);
    let any_reading_protrudes = gauging.gauged.readings.iter().any(|r| r.recession_um() < 0.0);
    known.protrusion_probability = Some(probability);
    known.decision = if probability <= policy.protrusion_risk && !any_reading_protrudes {
        PinDecision::ShownSafe
    } else {
        match readings_needed(gauging, gauge, mean, policy.protrusion_risk) {
            Needed::Readings(n) => {
                known.readings_needed = Some(n);
                PinDecision::NotShownSafe
            }
            Needed::Unknown => PinDecision::NotShownSafe,
            Needed::NoneWouldDo => PinDecision::GaugeCannotDecide,
        }
    };
    known.recession_um = Some(estimate);
    Ok(known)
}

enum Needed {
    Readings(u32),
    NoneWouldDo,
    Unknown,
}

/// Smallest number of readings after which `z √(u_gauge² + s²/N)` would be
/// within the distance to the plane, if the mean stayed where it is. Normal
/// quantile: it is a forecast, the decision itself uses t.
fn readings_needed(gauging: &GaugingOnRecord, gauge: Option<&ToolRecord>, mean: f64, risk: f64) -> Needed {
    let Some(spec) = gauge.and_then(|g| g.item.gauge.as_ref()) else { return Needed::Unknown };
    let Some(shared) = spec.standard_uncertainty else { return Needed::Unknown };
    let Some((s, _)) = spread_of_one_reading(&gauging.gauged.readings, mean, spec) else {
        return Needed::Unknown;
    };
    let z = Normal::standard().inverse_cdf(1.0 - risk);
    let already = u32::try_from(gauging.gauged.readings.len()).unwrap_or(MOST_READINGS);
    let enough = |n: u32| z * (shared.micrometres().powi(2) + s * s / f64::from(n)).sqrt() <= mean;
    (already + 1..=MOST_READINGS).find(|n| enough(*n)).map_or(Needed::NoneWouldDo, Needed::Readings)
}
