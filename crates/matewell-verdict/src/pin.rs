//! What a gauging says about a pin.

use crate::{
    answer::{PinDecision, PinKnowledge},
    book::{Book, Policy},
    gauging::{GaugingJudged, coarse_method, judge_gauging},
};
use matewell_lab::{GaugingOnRecord, ToolRecord};
use matewell_uncertainty::{
    Estimate, UncertaintyError,
    gauging::{Finding, ProtrusionOutcome},
};

impl PinKnowledge {
    /// Of an end that was never gauged.
    #[must_use]
    pub fn unknown() -> Self {
        Self {
            decision: PinDecision::Unknown,
            recession_um: None,
            protrusion_probability: None,
            gauged_at: None,
            gauge: None,
            readings_needed: None,
            guard_band_um: None,
            noticed: Vec::new(),
        }
    }

    /// Whether the gauging says nothing because the zero moved.
    #[must_use]
    pub fn is_void(&self) -> bool {
        self.noticed.iter().any(|f| matches!(f, Finding::ZeroMoved { .. }))
    }
}

/// Decides what is known of a pin from one gauging. The gauge's record may be
/// of any moment: only its registration counts here.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn pin_knowledge(
    gauging: Option<&GaugingOnRecord>,
    gauge: Option<&ToolRecord>,
    book: &Book<'_>,
    policy: &Policy,
) -> Result<PinKnowledge, UncertaintyError> {
    let mut known = PinKnowledge::unknown();
    let Some(gauging) = gauging else { return Ok(known) };
    known.gauged_at = Some(gauging.at);
    known.gauge = gauging.gauged.gauge;
    let Some(mean) = gauging.mean_recession_um() else { return Ok(known) };
    let lines = gauge.map_or(&[][..], |g| book.gauge_lines(&g.item.tag));
    let judged = judge_gauging(gauging, gauge, lines, policy)?;
    let Some(judged) = judged else {
        // A mean that protrudes is out whatever is known about the gauge.
        if mean < 0.0 {
            known.decision = PinDecision::Out;
            known.recession_um = Some(Estimate::exact(mean)?);
        } else if coarse_method(&gauging.gauged, gauge).is_some() {
            known.decision = PinDecision::GaugeCannotDecide;
        }
        return Ok(known);
    };
    take(&mut known, &judged, gauging)?;
    Ok(known)
}

fn take(
    known: &mut PinKnowledge,
    judged: &GaugingJudged,
    gauging: &GaugingOnRecord,
) -> Result<(), UncertaintyError> {
    let decision = &judged.decision;
    known.decision = match decision.outcome {
        ProtrusionOutcome::Protrudes => PinDecision::Out,
        _ if !judged.certified => PinDecision::Unknown,
        ProtrusionOutcome::ShownSafe => PinDecision::ShownSafe,
        ProtrusionOutcome::NotShownSafe { readings_needed } => {
            known.readings_needed = readings_needed;
            PinDecision::NotShownSafe
        }
        // A stated uncertainty cannot be taken apart: nobody knows what more readings would do.
        ProtrusionOutcome::CannotDecide if gauging.gauged.stated_standard_uncertainty.is_some() => {
            PinDecision::NotShownSafe
        }
        ProtrusionOutcome::CannotDecide => PinDecision::GaugeCannotDecide,
    };
    // An estimate that decides nothing must not decide a pair either.
    if judged.certified || known.decision == PinDecision::Out {
        known.recession_um = Some(judged.gauging.estimate().scaled(-1.0)?);
        known.protrusion_probability = Some(decision.probability_beyond);
        known.guard_band_um = Some(decision.guard_band);
    }
    known.noticed.clone_from(&decision.findings);
    Ok(())
}
