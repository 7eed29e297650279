//! Which joint of the chain changed since the last good sweep?

use super::{
    SweepGiven,
    baseline::Kin,
    given::{Loaded, Parsed},
    layout::Layout,
    picture::picture,
    typed::{labels, network, port, said},
};
use crate::{AppError, Said, Workshop, WrittenJson, workshop::Tags};
use matewell_lab::{EndId, FactBody, Moment, SweepJudged};
use matewell_network::{
    Sweep,
    joints::{Finding, JointEstimate, Refusal, Verdict, judge},
};
use matewell_wire::{
    EndNameJson, GapIfCauseJson, JointJson, LineFindingJson, SectionJson, SweepCompareAsked, SweepCompareJson,
};

/// What is compared with what.
#[derive(Debug, Clone, Copy)]
pub struct CompareOrder<'a> {
    /// The sweep in hand.
    pub now: &'a SweepGiven,
    /// The good state; the latest good one on record when left out.
    pub baseline: Option<&'a SweepGiven>,
    /// What else was said.
    pub asked: &'a SweepCompareAsked,
}

/// Everything the fit needs.
struct Case {
    now: (Loaded, Parsed),
    baseline: (Loaded, Parsed),
    chosen: String,
    ends: Vec<EndId>,
    port: u32,
    shape: Option<String>,
    layout: Layout,
}

impl Workshop {
    /// Which joint of the chain changed since the last good sweep?
    ///
    /// # Errors
    ///
    /// [`AppError::NotReady`] without a baseline; files that cannot be read or
    /// do not belong together; a layout that is missing.
    pub fn sweep_compare(&self, order: &CompareOrder<'_>, at: Moment) -> Result<SweepCompareJson, AppError> {
        self.compare_case(&self.comparison(order, at)?)
    }

    /// The same for sweeps on record, kept as information in the history of
    /// the ends it names. No standing changes.
    ///
    /// # Errors
    ///
    /// As [`Self::sweep_compare`]; sweeps that are not on record; a store that
    /// cannot be written.
    pub fn sweep_keep_verdict(
        &mut self,
        order: &CompareOrder<'_>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let case = self.comparison(order, now)?;
        let on_record = |loaded: &Loaded| {
            loaded.fact.as_ref().map(|f| f.id).ok_or_else(|| {
                AppError::Conflict(format!("{} is not on record; keep the sweep first", loaded.file.name))
            })
        };
        let (sweep, baseline) = (on_record(&case.now.0)?, on_record(&case.baseline.0)?);
        let verdict = self.judge_case(&case)?;
        let mut named: Vec<EndId> = named(&verdict.finding)
            .iter()
            .filter_map(|k| case.layout.ends.get(*k))
            .flatten()
            .copied()
            .collect();
        named.dedup();
        let body = SweepJudged {
            sweep,
            baseline,
            finding: word(&verdict.finding).to_owned(),
            named,
            text: sentences(&verdict),
        };
        self.write_one(FactBody::SweepJudged(body), said, now)
    }

    fn comparison(&self, order: &CompareOrder<'_>, at: Moment) -> Result<Case, AppError> {
        let asked = order.asked;
        let now = self.load_sweep(order.now)?;
        let parsed = now.parse(asked.reading.as_deref())?;
        let typed_chain = asked.chain.as_deref().map(labels).unwrap_or_default();
        let ends = if typed_chain.is_empty() {
            now.noted().map(|n| n.chain.clone()).unwrap_or_default()
        } else {
            typed_chain.iter().map(|tag| Ok(self.one_end(tag)?.end)).collect::<Result<Vec<_>, AppError>>()?
        };
        let port = port(asked.port.as_deref())?.or(now.noted().map(|n| n.port)).unwrap_or(1);
        let shape =
            said(asked.cable_shape.as_ref()).or_else(|| now.noted().and_then(|n| n.cable_shape.clone()));
        let (baseline, chosen) = if let Some(given) = order.baseline {
            (self.load_sweep(given)?, "named".to_owned())
        } else {
            let frequencies = parsed.sweep.frequencies();
            let edge = |f: Option<&f64>| f.copied().unwrap_or(f64::NAN);
            let kin = Kin {
                chain: ends.clone(),
                port,
                shape: shape.clone(),
                grid: (edge(frequencies.first()), edge(frequencies.last()), frequencies.len()),
                taken_at: now.fact.as_ref().map_or(at, |f| f.happened_at).microseconds(),
            };
            let words = "the latest earlier sweep of the same chain, port, cable shape and grid that was marked as good";
            (self.baseline_for(&kin)?, words.to_owned())
        };
        let baseline_parsed = baseline.parse(asked.reading.as_deref())?;
        let kept = [&now, &baseline].into_iter().find_map(|l| l.noted().and_then(|n| n.layout.clone()));
        let layout = match (said(asked.layout.as_ref()), kept) {
            (Some(text), _) => self.layout(Some((&text, "as given")), &ends)?,
            (None, Some(text)) => self.layout(Some((&text, "as kept with the sweep")), &ends)?,
            (None, None) => self.layout(None, &ends)?,
        };
        Ok(Case {
            now: (now, parsed),
            baseline: (baseline, baseline_parsed),
            chosen,
            ends,
            port,
            shape,
            layout,
        })
    }

    fn judge_case(&self, case: &Case) -> Result<Verdict, AppError> {
        let (settings, _) = self.sweep_policy();
        let (_, baseline, now) = fitted(case)?;
        judge(&baseline, &now, case.port as usize, &case.layout.chain, &settings).map_err(network("baseline"))
    }

    fn compare_case(&self, case: &Case) -> Result<SweepCompareJson, AppError> {
        let verdict = self.judge_case(case)?;
        let names = Tags(&self.store);
        let (_, inputs) = self.sweep_policy();
        let (base, now) = (&case.baseline.1.sweep, &case.now.1.sweep);
        let mut findings = doubts(case);
        let (picture, mode, early_energy) = match picture(base, now, case.port as usize, &case.layout) {
            Ok(found) => (Some(found.columns), Some(found.mode), found.early_energy),
            Err(error) => {
                findings.push(LineFindingJson::note("no-picture", error.to_string()));
                (None, None, None)
            }
        };
        let limit = self.sheets.policy().sweep_early_energy.value;
        if let Some(share) = early_energy.filter(|share| *share > limit) {
            findings.push(LineFindingJson::note(
                "early-energy",
                format!(
                    "{:.0} % of the difference arrives before it can; more than {:.0} % points to a baseline that \
                     does not belong, another grid, or drift",
                    100.0 * share,
                    100.0 * limit
                ),
            ));
        }
        if verdict.drift_ratio > TOLD_DRIFT && !matches!(verdict.finding, Finding::Refused(_)) {
            findings.push(LineFindingJson::note(
                "calibration-drifted",
                format!(
                    "since the baseline the calibration drifted about {:.1} times as far as sweep_offset_drift and \
                     sweep_tracking_drift expect; the verdict allows for it, and sees less at the first joint: \
                     calibrate again, or measure a known load at the port",
                    verdict.drift_ratio
                ),
            ));
        }
        let named = named(&verdict.finding);
        let trips = case.layout.round_trips();
        let joints: Vec<JointJson> = verdict
            .joints
            .iter()
            .enumerate()
            .map(|(k, joint)| JointJson {
                ends: case
                    .layout
                    .ends
                    .get(k)
                    .into_iter()
                    .flatten()
                    .map(|end| EndNameJson::new(*end, &names))
                    .collect(),
                named: named.contains(&k),
                round_trip_ns: trips.get(k).map_or(0.0, |t| t * 1e9),
                ..joint_json(joint)
            })
            .collect();
        let finite = |v: f64| Some(v).filter(|v| v.is_finite());
        Ok(SweepCompareJson {
            text: sentences(&verdict),
            finding: word(&verdict.finding).to_owned(),
            no_verdict_because: refusal_word(&verdict.finding).map(str::to_owned),
            not_judged: verdict.joints.iter().filter(|j| !j.judged).map(|j| j.name.clone()).collect(),
            chain: case.ends.iter().map(|end| EndNameJson::new(*end, &names)).collect(),
            port: case.port,
            cable_shape: case.shape.clone(),
            now: case.now.0.reference(),
            baseline: case.baseline.0.reference(),
            baseline_chosen: case.chosen.clone(),
            joints,
            sections: sections(&case.layout, &verdict, now.frequencies()),
            layout_from: case.layout.from.clone(),
            reduced_chi_square: finite(verdict.reduced_chi_square),
            chance: finite(verdict.chance),
            early_energy,
            findings,
            picture,
            picture_mode: mode,
            inputs,
            model: "one series inductance and resistance per joint, the delay of every flexible cable as an exact \
                    turn, fitted joint places, and a bounded calibration drift, fitted to the difference of two \
                    reflection sweeps; a joint is named only when the evidence separates it"
                .to_owned(),
            source: "lumped joint: pozar-2012, section 2.3; method and limits are this project's own, measured by \
                     its simulation only"
                .to_owned(),
        })
    }
}

/// Drift over what is expected from which on it is told; below, chance.
const TOLD_DRIFT: f64 = 1.5;

/// What the model gets wrong is alike at neighbouring frequencies, and the fit
/// takes every frequency as a witness of its own: beyond this many, a finer
/// grid would only make it too sure. The simulation was run with 1325.
const MOST_FITTED: usize = 1500;

/// Both sweeps at every n-th frequency, and n.
fn fitted(case: &Case) -> Result<(usize, Sweep, Sweep), AppError> {
    let (baseline, now) = (&case.baseline.1.sweep, &case.now.1.sweep);
    let every = if now.uniform_step().is_ok() { now.points().div_ceil(MOST_FITTED) } else { 1 };
    Ok((every, thinned(baseline, every)?, thinned(now, every)?))
}

/// Every n-th frequency, the n-th first: a harmonic grid stays one.
fn thinned(sweep: &Sweep, every: usize) -> Result<Sweep, AppError> {
    if every < 2 {
        return Ok(sweep.clone());
    }
    let kept = |k: &usize| (k + 1).is_multiple_of(every);
    let frequencies =
        sweep.frequencies().iter().enumerate().filter(|(k, _)| kept(k)).map(|(_, f)| *f).collect();
    let values =
        sweep.matrices().enumerate().filter(|(k, _)| kept(k)).flat_map(|(_, m)| m.to_vec()).collect();
    Sweep::new(frequencies, sweep.references().to_vec(), values).map_err(network("file"))
}

fn doubts(case: &Case) -> Vec<LineFindingJson> {
    let mut findings = Vec::new();
    let mut note = |code: &str, text: String| findings.push(LineFindingJson::note(code, text));
    for (which, (loaded, parsed)) in [("the sweep in hand", &case.now), ("the baseline", &case.baseline)] {
        let broken = parsed.reading.warnings.iter().filter(|w| w.kind.breaks_rule()).count();
        if broken > 0 || parsed.reading.partial {
            note(
                "doubtful-file",
                format!(
                    "{which}, {}: the file breaks {broken} rules of its format; read it alone",
                    loaded.file.name
                ),
            );
        }
    }
    if let Ok((every, _, kept)) = fitted(case)
        && every > 1
    {
        note(
            "fitted-thinned",
            format!(
                "{} of {} frequencies were fitted: what the model gets wrong is alike at neighbouring ones",
                kept.points(),
                case.now.1.sweep.points()
            ),
        );
    }
    if case.shape.is_none() {
        note(
            "cable-shape-unknown",
            "nobody wrote down how the cables were held; a moved cable can look like a changed joint"
                .to_owned(),
        );
    }
    if let (Some(now), Some(base)) = (case.now.0.noted(), case.baseline.0.noted()) {
        if now.chain != base.chain || now.port != base.port {
            note("other-chain", "the baseline is of another chain or from another port".to_owned());
        }
        if now.cable_shape != base.cable_shape {
            note("other-shape", "the cables were held otherwise for the baseline".to_owned());
        }
        if !base.known_good {
            note("baseline-not-good", "nobody marked the baseline as good".to_owned());
        }
    }
    if case.layout.chain.joints().iter().any(|j| j.inductance_per_gap.is_none()) {
        note(
            "gap-unknown",
            "the line of some joints is not known: no equivalent gap is given for them".to_owned(),
        );
    }
    findings
}

fn sections(layout: &Layout, verdict: &Verdict, frequencies: &[f64]) -> Vec<SectionJson> {
    let highest = frequencies.last().copied().unwrap_or(f64::NAN);
    layout
        .chain
        .sections()
        .iter()
        .zip(&layout.section_names)
        .enumerate()
        .map(|(k, (section, name))| {
            let degrees = verdict.cable_degrees.get(k).copied().filter(|d| d.is_finite());
            SectionJson {
                name: name.clone(),
                length_mm: section.length * 1e3,
                velocity_factor: section.velocity_factor,
                flexible: section.flexible,
                phase_change_deg: degrees,
                delay_change_ps: degrees.map(|d| d / 360.0 / highest * 1e12),
            }
        })
        .collect()
}

fn joint_json(joint: &JointEstimate) -> JointJson {
    JointJson {
        name: joint.name.clone(),
        ends: Vec::new(),
        named: false,
        distance_m: joint.distance,
        round_trip_ns: 0.0,
        inductance_change_ph: joint.inductance * 1e12,
        u_inductance_change_ph: joint.inductance_uncertainty * 1e12,
        resistance_change_mohm: joint.resistance * 1e3,
        u_resistance_change_mohm: joint.resistance_uncertainty * 1e3,
        evidence: joint.evidence,
        reflection_change_db: joint.reflection_change_db,
        smallest_detectable_ph: joint.smallest_detectable * 1e12,
        judged: joint.judged,
        gap_if_a_gap_is_the_cause: joint.gap.map(|gap| GapIfCauseJson {
            change_um: gap.change * 1e6,
            low_um: gap.low * 1e6,
            high_um: gap.high * 1e6,
        }),
    }
}

/// The verdict's sentences, and what the other joints would have shown.
fn sentences(verdict: &Verdict) -> String {
    let mut text = verdict.sentences();
    let named = named(&verdict.finding);
    if !named.is_empty() {
        let others: Vec<String> = verdict
            .joints
            .iter()
            .enumerate()
            .filter(|(k, _)| !named.contains(k))
            .map(|(_, j)| format!("{} {:.1} pH", j.name, j.smallest_detectable * 1e12))
            .collect();
        if !others.is_empty() {
            text.push_str(&format!(" Smallest change seen at the other joints: {}.", others.join(", ")));
        }
        text.push_str(" What a sweep shows releases no end.");
    }
    text
}

fn named(finding: &Finding) -> Vec<usize> {
    match finding {
        Finding::Joint(k) => vec![*k],
        Finding::OneOf(list) | Finding::Several(list) => list.clone(),
        _ => Vec::new(),
    }
}

fn word(finding: &Finding) -> &'static str {
    match finding {
        Finding::Joint(_) => "joint",
        Finding::OneOf(_) => "one-of",
        Finding::Several(_) => "several",
        Finding::NothingSeen => "nothing-seen",
        _ => "no-verdict",
    }
}

fn refusal_word(finding: &Finding) -> Option<&'static str> {
    match finding {
        Finding::Refused(Refusal::CableMoved { .. }) => Some("cable-moved"),
        Finding::Refused(Refusal::Unexplained { .. }) => Some("unexplained"),
        Finding::Refused(Refusal::StrongMismatch { .. }) => Some("strong-mismatch"),
        Finding::Refused(Refusal::Drifted { .. }) => Some("calibration-drifted"),
        Finding::Refused(Refusal::NoSolution) => Some("no-solution"),
        _ => None,
    }
}
