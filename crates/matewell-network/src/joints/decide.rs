//! From the fit to a finding: nothing seen, this joint, one of these, several,
//! or no verdict.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::model::{Fit, MOST_DRIFT, fit};
use super::{Chain, Settings};
use crate::error::NetworkError;
use crate::sweep::Sweep;

/// Share of a large change, of a joint or by a moved cable, that the model may
/// put at other joints.
const LEAK: f64 = 0.05;

/// What a comparison of two sweeps shows. Joints count from 0, from the port
/// outward.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// No change beyond the joints' own scatter; see each joint's smallest
    /// detectable change for what that is worth.
    NothingSeen,
    /// This joint changed, and the evidence separates it from the others.
    Joint(usize),
    /// Something changed, but the sweep cannot tell which of these.
    OneOf(Vec<usize>),
    /// Each of these changed.
    Several(Vec<usize>),
    /// No verdict is given.
    Refused(Refusal),
}

/// Why no verdict is given.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// A cable changed its delay by more than the settings allow.
    CableMoved {
        /// The section, from 0.
        section: usize,
        /// Phase change at the highest frequency, in degrees one way.
        degrees: f64,
    },
    /// The model does not explain the difference.
    Unexplained {
        /// Reduced χ² of the residual.
        reduced_chi_square: f64,
    },
    /// A joint reflects so much that what lies behind it cannot be told apart
    /// from its echoes.
    StrongMismatch {
        /// The joint, from 0.
        joint: usize,
        /// Its reflection.
        magnitude: f64,
    },
    /// The calibration drifted so far since the baseline that any change may be
    /// hidden in it.
    Drifted {
        /// Times as far as the settings expect.
        ratio: f64,
    },
    /// The equations have no solution.
    NoSolution,
}

/// A change of pin gap that would have the same effect, if a gap is the cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapEquivalent {
    /// Change, in metres; positive is a wider gap.
    pub change: f64,
    /// Lower end: two standard uncertainties and 30 % for the model.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// What the sweep says about one joint.
#[derive(Debug, Clone, PartialEq)]
pub struct JointEstimate {
    /// The joint's name.
    pub name: String,
    /// Distance from the port, in metres of line.
    pub distance: f64,
    /// Change of effective series inductance, in henries.
    pub inductance: f64,
    /// Its standard uncertainty, the joint's own scatter included.
    pub inductance_uncertainty: f64,
    /// Change of series resistance, in ohms.
    pub resistance: f64,
    /// Its standard uncertainty, scatter included.
    pub resistance_uncertainty: f64,
    /// Evidence for a change here and nowhere else: the drop of χ² (2 degrees
    /// of freedom).
    pub evidence: f64,
    /// Change of the reflection at the joint at the highest frequency, in
    /// decibels.
    pub reflection_change_db: f64,
    /// Smallest change of inductance that would be seen nine times in ten, in
    /// henries.
    pub smallest_detectable: f64,
    /// Whether that is no larger than the change of interest.
    pub judged: bool,
    /// The equivalent change of gap, if a gap is the cause and the line is known.
    pub gap: Option<GapEquivalent>,
}

/// A finding with the numbers under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The finding.
    pub finding: Finding,
    /// Every joint, from the port outward; empty without a solution.
    pub joints: Vec<JointEstimate>,
    /// Phase change of each section at the highest frequency, in degrees one
    /// way; 0 for rigid ones.
    pub cable_degrees: Vec<f64>,
    /// Reduced χ² of the residual.
    pub reduced_chi_square: f64,
    /// Probability of such evidence with nothing changed, for the whole chain.
    pub chance: f64,
    /// How many times as far as the settings expect the calibration drifted
    /// since the baseline, as the fit sees it; 1 when no farther.
    pub drift_ratio: f64,
}

/// Compares a sweep with a good one of the same chain.
///
/// Fits `ΔS` of the given port; see the module's formula. Evidence for joint k
/// is the drop of χ² when its inductance and resistance may change freely while
/// every other joint keeps its scatter (twice the variance: both sweeps were
/// made up anew). The alarm limit is the χ² quantile with 2 degrees of freedom
/// at the settings' false alarm probability, shared over the joints (Šidák).
///
/// # Errors
///
/// Different grids, port counts or references, no such port, fewer than 50
/// frequencies, or settings out of range. What cannot be judged is a
/// [`Finding::Refused`], not an error.
///
/// # Source
///
/// Lumped joint: `pozar-2012`, section 2.3 (small series element). Method and
/// limits are this project's own, measured by its simulation only.
pub fn judge(
    baseline: &Sweep,
    now: &Sweep,
    port: usize,
    chain: &Chain,
    settings: &Settings,
) -> Result<Verdict, NetworkError> {
    settings.check()?;
    baseline.same_grid(now)?;
    if baseline.points() < 50 {
        return Err(NetworkError::WrongCount { what: "frequencies", expected: 50, found: baseline.points() });
    }
    let base = baseline.trace(port, port)?;
    let after = now.trace(port, port)?;
    let impedance = |s: &Sweep| s.references().get(port - 1).copied().unwrap_or(f64::NAN);
    let (z, z_now) = (impedance(baseline), impedance(now));
    if (z - z_now).abs() > 1e-9 * z {
        return Err(NetworkError::OutOfRange {
            what: "reference impedance",
            expected: "that of the baseline",
            found: z_now,
        });
    }
    let frequencies = baseline.frequencies();
    let highest = frequencies.last().copied().unwrap_or(f64::NAN);
    let Some(fit) = fit(frequencies, &base, &after, z, chain, settings) else {
        return Ok(refused(Refusal::NoSolution));
    };
    Ok(decide(&fit, chain, settings, z, highest))
}

fn refused(refusal: Refusal) -> Verdict {
    Verdict {
        finding: Finding::Refused(refusal),
        joints: Vec::new(),
        cable_degrees: Vec::new(),
        reduced_chi_square: f64::NAN,
        chance: f64::NAN,
        drift_ratio: f64::NAN,
    }
}

fn decide(fit: &Fit, chain: &Chain, settings: &Settings, impedance: f64, highest: f64) -> Verdict {
    let count = chain.joints().len();
    // Picohenries and milliohms keep the matrix well scaled.
    let scale = |i: usize| if i.is_multiple_of(2) { 1e12 } else { 1e3 };
    let phi =
        DVector::from_iterator(2 * count, fit.joints.iter().flatten().enumerate().map(|(i, v)| v * scale(i)));
    let mut spread = DMatrix::from_fn(2 * count, 2 * count, |i, j| {
        fit.covariance.get((i, j)).copied().unwrap_or(f64::NAN) * scale(i) * scale(j)
    });
    for (k, joint) in chain.joints().iter().enumerate() {
        for (i, s) in [(2 * k, joint.scatter_inductance * 1e12), (2 * k + 1, joint.scatter_resistance * 1e3)]
        {
            if let Some(slot) = spread.get_mut((i, i)) {
                *slot += 2.0 * s * s;
            }
        }
    }
    // A cable that moved turns what the baseline reflects behind it; what the
    // model gets wrong about those reflections then looks like a change there.
    let mut turned = 0.0;
    for (k, local) in fit.local_reflection.iter().enumerate() {
        if let Some(delay) = k.checked_sub(1).and_then(|c| fit.delays.get(c)) {
            turned += 2.0 * std::f64::consts::TAU * highest * delay;
        }
        let leak = LEAK * turned * local.norm() * 2.0 * impedance;
        let reactance = std::f64::consts::PI * highest * 1e-12;
        for (i, s) in [(2 * k, leak / reactance), (2 * k + 1, leak * 1e3)] {
            if let Some(slot) = spread.get_mut((i, i)) {
                *slot += s * s;
            }
        }
    }
    let Some(weight) = spread.clone().cholesky().map(|c| c.inverse()) else {
        return refused(Refusal::NoSolution);
    };
    let pull = &weight * &phi;
    let per_joint = 1.0 - (1.0 - settings.false_alarm).powf(1.0 / count as f64);
    let limit = -2.0 * per_joint.ln();
    let evidence: Vec<f64> = (0..count).map(|k| drop_of(&weight, &pull, &[k])).collect();
    let joints = estimates(fit, chain, settings, impedance, highest, &weight, &pull, &evidence, limit);
    let best = evidence.iter().fold(0.0, |b, &e| if e > b { e } else { b });
    let cable_degrees: Vec<f64> = fit.delays.iter().map(|d| 360.0 * highest * d).collect();
    let finding = match refusal(fit, settings, &cable_degrees) {
        Some(refusal) => Finding::Refused(refusal),
        None => select(&spread, &phi, count, limit, settings.separation, highest),
    };
    let chance = 1.0 - (1.0 - (-0.5 * best).exp()).powf(count as f64);
    Verdict {
        finding,
        joints,
        cable_degrees,
        reduced_chi_square: fit.reduced_chi_square,
        chance,
        drift_ratio: fit.drift_ratio,
    }
}

fn refusal(fit: &Fit, settings: &Settings, cable_degrees: &[f64]) -> Option<Refusal> {
    for (section, &degrees) in cable_degrees.iter().enumerate() {
        // NaN must refuse too.
        let within = degrees.abs() <= settings.largest_cable_phase;
        if !within {
            return Some(Refusal::CableMoved { section, degrees });
        }
    }
    if fit.drift_ratio > 2.0 * MOST_DRIFT {
        return Some(Refusal::Drifted { ratio: fit.drift_ratio });
    }
    for (joint, local) in fit.local_reflection.iter().enumerate() {
        // The last one is the load, and nothing lies behind it.
        let behind = joint + 1 < fit.local_reflection.len();
        if behind && local.norm() > 0.3 {
            return Some(Refusal::StrongMismatch { joint, magnitude: local.norm() });
        }
    }
    let explained = fit.reduced_chi_square <= settings.largest_chi_square;
    (!explained).then_some(Refusal::Unexplained { reduced_chi_square: fit.reduced_chi_square })
}

/// Adds joints while each is worth an alarm, then looks for others that would
/// serve as well.
///
/// Beside a large change a small second one cannot be told from what the model
/// gets wrong about the large one, so every further joint must stand out from a
/// twentieth of it.
fn select(
    spread: &DMatrix<f64>,
    phi: &DVector<f64>,
    count: usize,
    limit: f64,
    separation: f64,
    highest: f64,
) -> Finding {
    let Some(weight) = spread.clone().cholesky().map(|c| c.inverse()) else {
        return Finding::Refused(Refusal::NoSolution);
    };
    let pull = &weight * phi;
    let Some((first, reached)) = strongest(&weight, &pull, &[], count) else {
        return Finding::NothingSeen;
    };
    if reached <= limit {
        return Finding::NothingSeen;
    }
    let change = single_estimate(&weight, &pull, first);
    let reactance = std::f64::consts::PI * highest * 1e-9;
    let leak = LEAK * (change[0] * reactance).hypot(change[1]);
    let mut wider = spread.clone();
    for i in 0..2 * count {
        if i / 2 != first
            && let Some(slot) = wider.get_mut((i, i))
        {
            // Half the highest frequency turns milliohms into picohenries.
            let leak = if i.is_multiple_of(2) { leak / reactance } else { leak };
            *slot += leak * leak;
        }
    }
    let Some(weight) = wider.cholesky().map(|c| c.inverse()) else {
        return Finding::Refused(Refusal::NoSolution);
    };
    let pull = &weight * phi;
    let mut chosen = vec![first];
    let mut reached = drop_of(&weight, &pull, &chosen);
    while let Some((next, drop)) = strongest(&weight, &pull, &chosen, count) {
        if drop - reached <= limit {
            break;
        }
        chosen.push(next);
        reached = drop;
    }
    let mut doubtful = chosen.clone();
    for other in 0..count {
        if chosen.contains(&other) {
            continue;
        }
        let serves = chosen.iter().any(|out| {
            let swapped: Vec<usize> = chosen.iter().map(|k| if k == out { other } else { *k }).collect();
            reached - drop_of(&weight, &pull, &swapped) <= separation
        });
        if serves {
            doubtful.push(other);
        }
    }
    chosen.sort_unstable();
    doubtful.sort_unstable();
    match chosen.as_slice() {
        _ if doubtful.len() > chosen.len() => Finding::OneOf(doubtful),
        &[only] => Finding::Joint(only),
        _ => Finding::Several(chosen),
    }
}

/// The joint that, added to the chosen ones, lowers χ² most, and the drop
/// reached with it.
fn strongest(
    weight: &DMatrix<f64>,
    pull: &DVector<f64>,
    chosen: &[usize],
    count: usize,
) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for k in (0..count).filter(|k| !chosen.contains(k)) {
        let mut with = chosen.to_vec();
        with.push(k);
        let drop = drop_of(weight, pull, &with);
        if best.is_none_or(|(_, d)| drop > d) {
            best = Some((k, drop));
        }
    }
    best
}

/// Inductance and resistance of one joint when it alone is freed.
fn single_estimate(weight: &DMatrix<f64>, pull: &DVector<f64>, k: usize) -> [f64; 2] {
    let cells = [2 * k, 2 * k + 1];
    let part = DVector::from_iterator(2, cells.iter().map(|&i| pull.get(i).copied().unwrap_or(0.0)));
    let value = block(weight, &cells).cholesky().map(|c| c.solve(&part));
    let read = |i: usize| value.as_ref().and_then(|v| v.get(i).copied()).unwrap_or(0.0);
    [read(0), read(1)]
}

/// Drop of χ² when these joints are freed: `g_Sᵀ W_SS⁻¹ g_S`, `g = Wφ`.
fn drop_of(weight: &DMatrix<f64>, pull: &DVector<f64>, joints: &[usize]) -> f64 {
    let cells: Vec<usize> = joints.iter().flat_map(|k| [2 * k, 2 * k + 1]).collect();
    let block = block(weight, &cells);
    let part =
        DVector::from_iterator(cells.len(), cells.iter().map(|&i| pull.get(i).copied().unwrap_or(0.0)));
    block.cholesky().map_or(0.0, |c| part.dot(&c.solve(&part)))
}

fn block(weight: &DMatrix<f64>, cells: &[usize]) -> DMatrix<f64> {
    let at = |i: usize| cells.get(i).copied().unwrap_or(usize::MAX);
    DMatrix::from_fn(cells.len(), cells.len(), |i, j| weight.get((at(i), at(j))).copied().unwrap_or(f64::NAN))
}

#[expect(clippy::too_many_arguments, reason = "one private call; a struct would only rename them")]
fn estimates(
    fit: &Fit,
    chain: &Chain,
    settings: &Settings,
    impedance: f64,
    highest: f64,
    weight: &DMatrix<f64>,
    pull: &DVector<f64>,
    evidence: &[f64],
    limit: f64,
) -> Vec<JointEstimate> {
    let mut distance = 0.0;
    let mut list = Vec::new();
    for (k, joint) in chain.joints().iter().enumerate() {
        if let Some(section) = k.checked_sub(1).and_then(|c| chain.sections().get(c)) {
            distance += section.length;
        }
        let cells = [2 * k, 2 * k + 1];
        let spread = block(weight, &cells).try_inverse();
        let own = DVector::from_iterator(2, cells.iter().map(|&i| pull.get(i).copied().unwrap_or(f64::NAN)));
        let value = spread.as_ref().map(|s| s * own);
        let read = |i: usize| value.as_ref().and_then(|v| v.get(i).copied()).unwrap_or(f64::NAN);
        let deviation =
            |i: usize| spread.as_ref().and_then(|s| s.get((i, i)).copied()).map_or(f64::NAN, f64::sqrt);
        let (inductance, resistance) = (read(0) * 1e-12, read(1) * 1e-3);
        let u = deviation(0) * 1e-12;
        // Seen nine times in ten: 1.2816 is the 90 % quantile of the normal
        // distribution.
        let smallest_detectable = u * (limit.sqrt() + 1.2816);
        let before = fit.local_reflection.get(k).copied().unwrap_or_default();
        let change =
            Complex64::new(resistance, std::f64::consts::TAU * highest * inductance) / (2.0 * impedance);
        list.push(JointEstimate {
            name: joint.name.clone(),
            distance,
            inductance,
            inductance_uncertainty: u,
            resistance,
            resistance_uncertainty: deviation(1) * 1e-3,
            evidence: evidence.get(k).copied().unwrap_or(f64::NAN),
            reflection_change_db: 20.0 * ((before + change).norm() / before.norm()).log10(),
            smallest_detectable,
            judged: smallest_detectable <= settings.change_of_interest,
            gap: joint.inductance_per_gap.map(|per_gap| {
                let gap = inductance / per_gap;
                let wide = (2.0 * u / per_gap).hypot(0.3 * gap);
                GapEquivalent { change: gap, low: gap - wide, high: gap + wide }
            }),
        });
    }
    list
}
