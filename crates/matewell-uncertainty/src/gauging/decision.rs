//! What a gauging says about one pin and about a pair.

use crate::{
    Belief, Estimate, Measured, ReadingsNeeded, UncertaintyError,
    conformity::{checked_risk, readings_needed},
    gauging::Gauging,
    numeric::{finite, positive},
};

/// The largest position that is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProtrusionLimit {
    /// The limit; above zero if a protrusion is allowed.
    pub position: f64,
    /// Whether it is an observed limit that somebody already widened by the
    /// uncertainty of a gauge. Such a limit is compared as it is: a guard band
    /// would count the uncertainty twice.
    pub includes_uncertainty: bool,
}

/// The lab's rule for protrusion. There is no default: a number that decides
/// is the lab's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProtrusionPolicy {
    /// Accepted probability that a pin called safe protrudes.
    pub risk: f64,
    /// The session is void when the zero moved by more than this multiple of
    /// the spread of one zero reading.
    pub void_multiple: f64,
    /// The most readings worth asking for.
    pub most_readings: u32,
    /// Fewest readings of a whole session.
    pub fewest_readings: u32,
    /// What a missing second zero check means.
    pub zero_after: ZeroAfter,
    /// Readings that scatter with less probability than this are a finding.
    pub spread_risk: f64,
}

/// What a missing second zero check means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ZeroAfter {
    /// Without it no pin is called safe.
    Required,
    /// It is a finding, and the gauge's usual drift stands in.
    Advised,
}

/// What the gauging says about protrusion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProtrusionOutcome {
    /// The mean lies beyond the limit: out, whatever the uncertainty.
    Protrudes,
    /// Shown to be safe at the accepted risk.
    ShownSafe,
    /// Not shown; with how many readings in all it would be, if the mean
    /// stays, and `None` when more readings are no cure.
    NotShownSafe {
        /// Total number of readings.
        readings_needed: Option<u32>,
    },
    /// No number of readings with this gauge would decide.
    CannotDecide,
}

/// Anything else a person must know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// This reading (numbered from 0) lies beyond the limit: gauge again, it
    /// is not averaged away.
    SingleReadingBeyond(usize),
    /// The zero moved too far: the session is void.
    ZeroMoved {
        /// By how much.
        moved: f64,
        /// The largest move allowed.
        allowed: f64,
    },
    /// Nobody checked the zero afterwards.
    ZeroNotCheckedAfter,
    /// Fewer readings than the policy asks for.
    FewReadings {
        /// Asked for.
        expected: u32,
        /// Found.
        found: usize,
    },
    /// The readings scatter more than the gauge's known spread explains, with
    /// this probability by chance.
    SpreadTooLarge(f64),
    /// The limit already includes gauge uncertainty: no guard band was added.
    LimitIncludesUncertainty,
}

/// The decision with its numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct ProtrusionDecision {
    /// The outcome.
    pub outcome: ProtrusionOutcome,
    /// Probability that the true position is beyond the limit.
    pub probability_beyond: f64,
    /// Width of the guard band that was applied; 0 when the limit already
    /// includes uncertainty.
    pub guard_band: f64,
    /// All findings.
    pub findings: Vec<Finding>,
}

/// Decides on protrusion.
///
/// Order: the mean beyond the limit is out. A void session, too few readings,
/// a single reading beyond the limit: not shown safe. Else safe when the
/// probability of protrusion, by t with the effective degrees of freedom, is at
/// most the accepted risk.
///
/// # Errors
///
/// A policy number outside its range, a limit that is not finite, a gauging
/// without any uncertainty.
///
/// # Source
///
/// `jcgm-106-2012`, 8.3.2 (guarded acceptance); the order is own.
pub fn decide_protrusion(
    gauging: &Gauging,
    limit: ProtrusionLimit,
    policy: &ProtrusionPolicy,
) -> Result<ProtrusionDecision, UncertaintyError> {
    checked_risk(policy.risk)?;
    checked_risk(policy.spread_risk)?;
    positive("multiple of the zero spread", policy.void_multiple)?;
    finite("limit", limit.position)?;
    let estimate = gauging.estimate();
    let dof = estimate.degrees_of_freedom();
    let belief = Belief::StudentT(dof);
    let measured = Measured::new(estimate.value(), estimate.standard_uncertainty(), belief)?;
    let quantile = -belief.quantile(policy.risk)?;
    let guard_band =
        if limit.includes_uncertainty { 0.0 } else { quantile * measured.standard_uncertainty() };
    let distance = limit.position - measured.value();
    let (findings, cure) = findings(gauging, limit, policy);
    let outcome = if distance < 0.0 {
        ProtrusionOutcome::Protrudes
    } else if cure == Cure::None && guard_band <= distance {
        ProtrusionOutcome::ShownSafe
    } else {
        let more = if limit.includes_uncertainty || quantile <= 0.0 {
            ReadingsNeeded::Total(1)
        } else {
            needed(gauging, policy, distance)?
        };
        let fewest = crate::numeric::at_least(policy.fewest_readings, 1);
        match (more, cure) {
            (ReadingsNeeded::NoneWould, _) => ProtrusionOutcome::CannotDecide,
            (ReadingsNeeded::Total(n), Cure::None | Cure::MoreReadings) => {
                ProtrusionOutcome::NotShownSafe { readings_needed: Some(crate::numeric::at_least(n, fewest)) }
            }
            (ReadingsNeeded::MoreThan(_), _) | (_, Cure::NewSession) => {
                ProtrusionOutcome::NotShownSafe { readings_needed: None }
            }
        }
    };
    Ok(ProtrusionDecision {
        outcome,
        probability_beyond: measured.above(limit.position)?,
        guard_band,
        findings,
    })
}

// The t quantile falls as readings are added, because the part with few
// degrees of freedom shrinks. The normal quantile gives a start that is never
// too large; count up from there with the quantile each number would have.
fn needed(
    gauging: &Gauging,
    policy: &ProtrusionPolicy,
    distance: f64,
) -> Result<ReadingsNeeded, UncertaintyError> {
    let rest = gauging.rest_of_budget();
    let spread = gauging.reading_spread();
    let normal = -Belief::Normal.quantile(policy.risk)?;
    let start = match readings_needed(distance, rest, spread, normal, policy.most_readings)? {
        ReadingsNeeded::Total(n) => n,
        other => return Ok(other),
    };
    let present = gauging.single_positions().len() as f64;
    let u_mean = spread / present.sqrt();
    let estimate = gauging.estimate();
    let sum_of_quarters = |u_mean_new: f64| {
        let share = |u: f64| u.powi(4);
        let own = gauging.budget().lines().first().map_or(f64::INFINITY, |line| line.degrees_of_freedom);
        let all = estimate.variance().powi(2) / estimate.degrees_of_freedom();
        all - share(u_mean) / own + share(u_mean_new) / own
    };
    for n in start..=policy.most_readings {
        let u_new = spread / f64::from(n).sqrt();
        let variance = rest * rest + u_new * u_new;
        let quarters = sum_of_quarters(u_new);
        let dof = if quarters > 0.0 { variance * variance / quarters } else { f64::INFINITY };
        if -Belief::StudentT(dof).quantile(policy.risk)? * variance.sqrt() <= distance {
            return Ok(ReadingsNeeded::Total(n));
        }
    }
    Ok(ReadingsNeeded::MoreThan(policy.most_readings))
}

// What would make the session say something, worst last.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Cure {
    None,
    MoreReadings,
    NewSession,
}

impl Finding {
    fn cure(self, policy: &ProtrusionPolicy) -> Cure {
        match self {
            Self::LimitIncludesUncertainty => Cure::None,
            Self::ZeroNotCheckedAfter if policy.zero_after == ZeroAfter::Advised => Cure::None,
            Self::FewReadings { .. } => Cure::MoreReadings,
            Self::SingleReadingBeyond(_)
            | Self::ZeroMoved { .. }
            | Self::ZeroNotCheckedAfter
            | Self::SpreadTooLarge(_) => Cure::NewSession,
        }
    }
}

fn findings(gauging: &Gauging, limit: ProtrusionLimit, policy: &ProtrusionPolicy) -> (Vec<Finding>, Cure) {
    let mut found: Vec<Finding> = gauging
        .single_positions()
        .iter()
        .enumerate()
        .filter(|(_, position)| **position > limit.position)
        .map(|(index, _)| Finding::SingleReadingBeyond(index))
        .collect();
    match gauging.zero_move() {
        Some(zero) if zero.voids(policy.void_multiple) => {
            found.push(Finding::ZeroMoved { moved: zero.moved, allowed: policy.void_multiple * zero.spread });
        }
        Some(_) => {}
        None => found.push(Finding::ZeroNotCheckedAfter),
    }
    let readings = gauging.single_positions().len();
    if readings < policy.fewest_readings as usize {
        found.push(Finding::FewReadings { expected: policy.fewest_readings, found: readings });
    }
    if let Some(p) = gauging.spread_probability()
        && p < policy.spread_risk
    {
        found.push(Finding::SpreadTooLarge(p));
    }
    if limit.includes_uncertainty {
        found.push(Finding::LimitIncludesUncertainty);
    }
    let cure = found.iter().map(|f| f.cure(policy)).max().unwrap_or(Cure::None);
    (found, cure)
}

/// How the recession limit is applied. Recession costs signal, not parts, so
/// shared risk is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RecessionRule {
    /// Beyond only when that is the likelier case.
    SharedRisk,
    /// Within only when the probability of being beyond is at most this.
    Guarded(f64),
}

/// What the gauging says about recession.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecessionOutcome {
    /// Not deeper than the limit, by the rule.
    Within,
    /// Deeper than the limit, or under a guarded rule not shown to be within:
    /// a matter of the frequency it is used at.
    Beyond,
}

/// The decision with its number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecessionDecision {
    /// The outcome.
    pub outcome: RecessionOutcome,
    /// Probability that the true recession is deeper than the limit.
    pub probability_beyond: f64,
}

/// Decides on recession; `deepest` is the limiting position, below zero for a
/// recession.
///
/// # Errors
///
/// A risk not between 0 and 1, a limit that is not finite, an estimate without
/// uncertainty.
pub fn decide_recession(
    position: &Estimate,
    deepest: f64,
    rule: RecessionRule,
) -> Result<RecessionDecision, UncertaintyError> {
    let belief = Belief::StudentT(position.degrees_of_freedom());
    let measured = Measured::new(position.value(), position.standard_uncertainty(), belief)?;
    let probability_beyond = measured.below(deepest)?;
    let within = match rule {
        RecessionRule::SharedRisk => probability_beyond < 0.5,
        RecessionRule::Guarded(risk) => probability_beyond <= checked_risk(risk)?,
    };
    let outcome = if within { RecessionOutcome::Within } else { RecessionOutcome::Beyond };
    Ok(RecessionDecision { outcome, probability_beyond })
}

/// A pair of ends before they touch.
#[derive(Debug, Clone, PartialEq)]
pub struct PairDecision {
    /// Gap between the two pins with its components; below zero they press on
    /// each other.
    pub gap: Estimate,
    /// Probability that they press on each other.
    pub probability_of_interference: f64,
    /// Whether that is at most the accepted risk.
    pub shown_safe: bool,
}

/// Decides on the sum of two pin positions. What both gaugings share (gauge,
/// master, zero) does not average out: it counts twice.
///
/// # Errors
///
/// A risk not between 0 and 1, estimates without any uncertainty.
///
/// # Source
///
/// `jcgm-100-2008`, 5.2.2.
pub fn decide_pair(one: &Estimate, other: &Estimate, risk: f64) -> Result<PairDecision, UncertaintyError> {
    checked_risk(risk)?;
    let gap = one.plus(other)?.scaled(-1.0)?;
    let belief = Belief::StudentT(gap.degrees_of_freedom());
    let measured = Measured::new(gap.value(), gap.standard_uncertainty(), belief)?;
    let probability_of_interference = measured.below(0.0)?;
    Ok(PairDecision { gap, probability_of_interference, shown_safe: probability_of_interference <= risk })
}
