//! The gauge turns out to have been off: what the sessions say with that
//! taken out.

use crate::{
    Budget, BudgetLine, Evaluation, InputId, Shape, UncertaintyError,
    gauging::{
        GaugeModel, Gauging, ProtrusionDecision, ProtrusionLimit, ProtrusionPolicy, Session,
        decide_protrusion,
    },
    numeric::{finite, not_negative},
};

/// By how much the gauge read too far out, and when. Moments are on any
/// integer scale of time, the same throughout.
#[derive(Debug, Clone, PartialEq)]
pub enum GaugeOff {
    /// Somebody bumped it: the same offset from the first to the last moment.
    Step {
        /// First moment.
        since: i64,
        /// Last moment, included.
        until: i64,
        /// Indication less truth; above zero: read too far out.
        offset: f64,
    },
    /// It crept: interpolated between the two moments.
    Drift {
        /// First moment.
        since: i64,
        /// Last moment, included.
        until: i64,
        /// Offset at the first moment.
        offset_since: f64,
        /// Offset at the last moment.
        offset_until: f64,
    },
}

impl GaugeOff {
    /// The offset at a moment; `None` outside the window.
    pub fn at(&self, moment: i64) -> Option<f64> {
        match *self {
            Self::Step { since, until, offset } => (since <= moment && moment <= until).then_some(offset),
            Self::Drift { since, until, offset_since, offset_until } => {
                if moment < since || until < moment {
                    return None;
                }
                // As floats: the difference of two far moments can overflow.
                let span = until as f64 - since as f64;
                let share = if span > 0.0 { (moment as f64 - since as f64) / span } else { 1.0 };
                Some(offset_since + share * (offset_until - offset_since))
            }
        }
    }

    fn check(&self) -> Result<(), UncertaintyError> {
        let (since, until) = match *self {
            Self::Step { since, until, offset } => {
                finite("offset", offset)?;
                (since, until)
            }
            Self::Drift { since, until, offset_since, offset_until } => {
                finite("offset at the start", offset_since)?;
                finite("offset at the end", offset_until)?;
                (since, until)
            }
        };
        if since <= until {
            Ok(())
        } else {
            Err(UncertaintyError::LimitsCross { lower: since as f64, upper: until as f64 })
        }
    }
}

/// A session as it was decided at its time.
#[derive(Debug, Clone, PartialEq)]
pub struct PastSession {
    /// When.
    pub at: i64,
    /// The readings.
    pub session: Session,
    /// The limit it was held against.
    pub limit: ProtrusionLimit,
}

/// A gauging and what was decided on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Decided {
    /// The gauging.
    pub gauging: Gauging,
    /// The decision.
    pub decision: ProtrusionDecision,
}

/// A session before and after the correction.
#[derive(Debug, Clone, PartialEq)]
pub struct Recomputed {
    /// Index in the list that was given.
    pub index: usize,
    /// Offset that was taken out.
    pub offset: f64,
    /// As it was.
    pub before: Decided,
    /// As it is now.
    pub after: Decided,
}

impl Recomputed {
    /// Whether the outcome is another kind now; a changed number of readings
    /// alone is not.
    pub fn flips(&self) -> bool {
        std::mem::discriminant(&self.before.decision.outcome)
            != std::mem::discriminant(&self.after.decision.outcome)
    }
}

/// One session with the offset taken out. The offset's own uncertainty is one
/// more line, shared by all sessions that the same finding corrects.
///
/// Only for an offset that the session's own zero did not already remove: a
/// wrong master, a bent contact face, a zero set wrongly.
///
/// # Errors
///
/// As [`Gauging::evaluate`]; a negative uncertainty.
pub fn correct_session(
    session: &Session,
    gauge: &GaugeModel,
    unit: &str,
    offset: f64,
    standard_uncertainty: f64,
    finding: &InputId,
) -> Result<Gauging, UncertaintyError> {
    finite("offset", offset)?;
    not_negative("standard uncertainty of the offset", standard_uncertainty)?;
    let mut corrected = session.clone();
    for reading in &mut corrected.readings {
        *reading -= offset / (1.0 + gauge.scale_correction);
    }
    let plain = Gauging::evaluate(&corrected, gauge, unit)?;
    plain.with_line(BudgetLine {
        name: "offset taken out".to_owned(),
        input: finding.clone(),
        value: offset,
        evaluation: Evaluation::TypeB,
        shape: Shape::Normal,
        stated: standard_uncertainty,
        sensitivity: -1.0,
        degrees_of_freedom: f64::INFINITY,
        source: "the check that found the gauge off".to_owned(),
    })
}

impl Gauging {
    fn with_line(mut self, line: BudgetLine) -> Result<Self, UncertaintyError> {
        let mut lines = self.budget().lines().to_vec();
        lines.push(line);
        let (title, unit) = (self.budget().title().to_owned(), self.budget().unit().to_owned());
        let budget = Budget::new(title, unit, self.estimate().value(), lines)?;
        self.replace_budget(budget);
        Ok(self)
    }
}

/// Every session inside the window before and after, flips first, then by
/// time. The list given stays as it is.
///
/// # Errors
///
/// As [`Gauging::evaluate`] and [`decide_protrusion`]; a window that ends
/// before it begins.
pub fn recompute(
    sessions: &[PastSession],
    gauge: &GaugeModel,
    unit: &str,
    off: &GaugeOff,
    (standard_uncertainty, finding): (f64, &InputId),
    policy: &ProtrusionPolicy,
) -> Result<Vec<Recomputed>, UncertaintyError> {
    off.check()?;
    let mut found = Vec::new();
    for (index, past) in sessions.iter().enumerate() {
        let Some(offset) = off.at(past.at) else { continue };
        let decide = |gauging: Gauging| {
            let decision = decide_protrusion(&gauging, past.limit, policy)?;
            Ok::<_, UncertaintyError>(Decided { gauging, decision })
        };
        let before = decide(Gauging::evaluate(&past.session, gauge, unit)?)?;
        let after =
            decide(correct_session(&past.session, gauge, unit, offset, standard_uncertainty, finding)?)?;
        found.push(Recomputed { index, offset, before, after });
    }
    found.sort_by_key(|r| (!r.flips(), sessions.get(r.index).map(|s| s.at), r.index));
    Ok(found)
}
