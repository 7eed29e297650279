//! What a gauging session decides.

#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_uncertainty::{
    Estimate, Evaluation, InputId, Shape, Spread,
    gauging::{
        Finding, GaugeModel, GaugeOff, Gauging, PastSession, ProtrusionDecision, ProtrusionLimit,
        ProtrusionOutcome, ProtrusionPolicy, RecessionOutcome, RecessionRule, Scope, Session, SessionIds,
        Side, Term, ZeroAfter, decide_pair, decide_protrusion, decide_recession, recompute,
    },
};
use proptest::prelude::*;

fn policy() -> ProtrusionPolicy {
    ProtrusionPolicy {
        risk: 0.025,
        void_multiple: 3.0,
        most_readings: 30,
        fewest_readings: 3,
        zero_after: ZeroAfter::Advised,
        spread_risk: 0.01,
    }
}

fn ids(session: &str) -> SessionIds {
    SessionIds {
        gauge: InputId::new("gauge 1"),
        master: InputId::new("master 1"),
        zero: InputId::new("zero 7"),
        operator: InputId::new("operator"),
        session: InputId::new(session),
    }
}

fn session(readings: &[f64]) -> Session {
    Session {
        readings: readings.to_vec(),
        zero_before: vec![0.1, -0.1, 0.0],
        zero_after: vec![0.2, 0.0],
        ids: ids("session"),
    }
}

fn gauging(readings: &[f64]) -> Gauging {
    Gauging::evaluate(&session(readings), &GaugeModel::typical_screw_on(1.0).unwrap(), "µm").unwrap()
}

fn plane() -> ProtrusionLimit {
    ProtrusionLimit { position: 0.0, includes_uncertainty: false }
}

fn decide(readings: &[f64]) -> ProtrusionDecision {
    decide_protrusion(&gauging(readings), plane(), &policy()).unwrap()
}

#[test]
fn the_four_outcomes() {
    assert_eq!(decide(&[1.0, 0.5, 0.9]).outcome, ProtrusionOutcome::Protrudes);
    let safe = decide(&[-4.0, -5.0, -4.5]);
    assert_eq!(safe.outcome, ProtrusionOutcome::ShownSafe);
    assert!(safe.findings.is_empty() && safe.probability_beyond < 0.001);
    // u = 1.25: guard 2.46; the rest of the budget is 1.11, its guard 2.18.
    assert!(matches!(
        decide(&[-2.4, -2.2, -2.3]).outcome,
        ProtrusionOutcome::NotShownSafe { readings_needed: Some(n) } if n > 3
    ));
    assert_eq!(decide(&[-1.5, -1.0, -1.2]).outcome, ProtrusionOutcome::CannotDecide);
}

#[test]
fn the_number_of_readings_named_is_enough_and_one_less_is_not() {
    let readings = [-2.4, -2.25, -2.3];
    let ProtrusionOutcome::NotShownSafe { readings_needed: Some(n) } = decide(&readings).outcome else {
        panic!("expected a number of readings");
    };
    let mean = readings.iter().sum::<f64>() / 3.0;
    let with = |n: u32| decide(&vec![mean; n as usize]).outcome;
    assert_eq!(with(n), ProtrusionOutcome::ShownSafe, "{n}");
    assert_ne!(with(n - 1), ProtrusionOutcome::ShownSafe, "{n}");
}

#[test]
fn a_single_reading_beyond_the_limit_is_never_averaged_away() {
    let decision = decide(&[-9.0, -9.5, 0.3, -9.2, -9.1]);
    assert!(decision.findings.contains(&Finding::SingleReadingBeyond(2)));
    assert_eq!(decision.outcome, ProtrusionOutcome::NotShownSafe { readings_needed: None });
}

#[test]
fn one_reading_ten_times_the_others_is_found() {
    let decision = decide(&[-4.0, -4.2, -41.0]);
    assert!(decision.findings.iter().any(|f| matches!(f, Finding::SpreadTooLarge(p) if *p < 1e-6)));
    assert_ne!(decision.outcome, ProtrusionOutcome::ShownSafe);
}

#[test]
fn a_zero_that_moved_voids_the_session() {
    let mut moved = session(&[-9.0, -9.5, -9.2]);
    // Spread of one zero reading 0.6, three times that is 1.8.
    moved.zero_after = vec![1.9];
    let model = GaugeModel::typical_screw_on(1.0).unwrap();
    let result = Gauging::evaluate(&moved, &model, "µm").unwrap();
    let decision = decide_protrusion(&result, plane(), &policy()).unwrap();
    assert!(decision.findings.iter().any(|f| matches!(f, Finding::ZeroMoved { .. })));
    assert_eq!(decision.outcome, ProtrusionOutcome::NotShownSafe { readings_needed: None });
    moved.zero_after = vec![1.7];
    let result = Gauging::evaluate(&moved, &model, "µm").unwrap();
    let still = decide_protrusion(&result, plane(), &policy()).unwrap();
    assert_eq!(still.outcome, ProtrusionOutcome::ShownSafe);
    // The move is in the budget as a rectangle.
    let drift = result.budget().lines().iter().find(|l| l.name == "zero drift").unwrap();
    assert!((drift.stated - 1.7).abs() < 1e-12);
}

#[test]
fn a_missing_second_zero_is_a_finding_or_forbids() {
    let mut open = session(&[-9.0, -9.5, -9.2]);
    open.zero_after.clear();
    let result = Gauging::evaluate(&open, &GaugeModel::typical_screw_on(1.0).unwrap(), "µm").unwrap();
    let advised = decide_protrusion(&result, plane(), &policy()).unwrap();
    assert_eq!(advised.outcome, ProtrusionOutcome::ShownSafe);
    assert!(advised.findings.contains(&Finding::ZeroNotCheckedAfter));
    let strict = ProtrusionPolicy { zero_after: ZeroAfter::Required, ..policy() };
    let required = decide_protrusion(&result, plane(), &strict).unwrap();
    assert_eq!(required.outcome, ProtrusionOutcome::NotShownSafe { readings_needed: None });
}

#[test]
fn fewer_readings_than_the_policy_asks_for_more() {
    let decision = decide(&[-9.0]);
    assert!(decision.findings.contains(&Finding::FewReadings { expected: 3, found: 1 }));
    assert_eq!(decision.outcome, ProtrusionOutcome::NotShownSafe { readings_needed: Some(3) });
}

#[test]
fn a_limit_that_includes_uncertainty_is_never_guarded_twice() {
    let widened = ProtrusionLimit { position: 2.5, includes_uncertainty: true };
    let result = gauging(&[2.4, 2.0, 2.2]);
    let decision = decide_protrusion(&result, widened, &policy()).unwrap();
    assert_eq!(decision.outcome, ProtrusionOutcome::ShownSafe);
    assert!(decision.guard_band == 0.0 && decision.findings.contains(&Finding::LimitIncludesUncertainty));
    let design = ProtrusionLimit { position: 2.5, includes_uncertainty: false };
    let guarded = decide_protrusion(&result, design, &policy()).unwrap();
    assert_eq!(guarded.outcome, ProtrusionOutcome::CannotDecide);
}

#[test]
fn a_normal_rule_would_accept_what_t_does_not() {
    // A gauge whose budget is all repeatability from three readings.
    let model = GaugeModel {
        repeatability: Spread::new(1.0, 2.0).unwrap(),
        zero: Spread::new(0.0, f64::INFINITY).unwrap(),
        resolution: 0.0,
        drift: 0.0,
        terms: Vec::new(),
        ..GaugeModel::typical_screw_on(1.0).unwrap()
    };
    let mut one = session(&[-1.6, -1.4, -1.5]);
    one.zero_after = vec![0.0];
    one.zero_before = vec![0.0];
    let result = Gauging::evaluate(&one, &model, "µm").unwrap();
    // 1.5 is 2.6 u: inside 4.30 u, outside 1.96 u.
    let decision = decide_protrusion(&result, plane(), &policy()).unwrap();
    assert!((decision.guard_band - 4.302_65 / 3f64.sqrt()).abs() < 1e-4);
    assert_ne!(decision.outcome, ProtrusionOutcome::ShownSafe);
}

#[test]
fn master_and_scale_enter_the_position() {
    let model = GaugeModel {
        master_position: -50.0,
        scale_correction: 0.01,
        ..GaugeModel::typical_screw_on(1.0).unwrap()
    };
    let mut one = session(&[110.0, 110.0, 110.0]);
    one.zero_before = vec![10.0];
    one.zero_after = vec![10.0];
    let result = Gauging::evaluate(&one, &model, "µm").unwrap();
    assert!((result.estimate().value() - 51.0).abs() < 1e-12);
    assert_eq!(Side::of(result.estimate().value()).0.word(), "protruding");
    assert_eq!(Side::of(-3.0), (Side::Recessed, 3.0));
}

#[test]
fn recession_is_shared_risk_unless_the_lab_guards_it() {
    let result = gauging(&[-11.0, -11.4, -11.2]);
    let shared = decide_recession(result.estimate(), -12.7, RecessionRule::SharedRisk).unwrap();
    assert_eq!(shared.outcome, RecessionOutcome::Within);
    let guarded = decide_recession(result.estimate(), -12.7, RecessionRule::Guarded(0.025)).unwrap();
    assert_eq!(guarded.outcome, RecessionOutcome::Beyond);
    assert!((shared.probability_beyond - 0.1154).abs() < 1e-3);
    let deep = decide_recession(result.estimate(), -11.0, RecessionRule::SharedRisk).unwrap();
    assert_eq!(deep.outcome, RecessionOutcome::Beyond);
}

#[test]
fn a_pair_on_one_gauge_is_less_sure_than_on_two() {
    let model = GaugeModel::typical_screw_on(1.0).unwrap();
    let mut other = session(&[-2.0, -2.2, -2.1]);
    other.ids = ids("other session");
    let one = gauging(&[-1.0, -1.2, -1.1]);
    let second = Gauging::evaluate(&other, &model, "µm").unwrap();
    let shared = decide_pair(one.estimate(), second.estimate(), 0.025).unwrap();
    let mut apart = other.clone();
    for id in [&mut apart.ids.gauge, &mut apart.ids.master, &mut apart.ids.zero, &mut apart.ids.operator] {
        *id = InputId::new(format!("other {id}"));
    }
    let third = Gauging::evaluate(&apart, &model, "µm").unwrap();
    let separate = decide_pair(one.estimate(), third.estimate(), 0.025).unwrap();
    assert!((shared.gap.value() - 3.2).abs() < 1e-9);
    assert!(shared.probability_of_interference > separate.probability_of_interference);
    assert!(shared.gap.standard_uncertainty() > separate.gap.standard_uncertainty() * 1.15);
    // The difference of two pins on one gauge does not feel the gauge.
    let difference = one.estimate().minus(second.estimate()).unwrap();
    assert!(difference.components().all(|(id, _)| id.as_str().contains("session")));
}

#[test]
fn every_line_can_be_replaced() {
    let term = Term {
        name: "gauge certificate".to_owned(),
        scope: Scope::Gauge,
        evaluation: Evaluation::TypeB,
        shape: Shape::Expanded { factor: 2.0 },
        stated: 4.0,
        degrees_of_freedom: f64::INFINITY,
        source: "certificate of the lab's gauge".to_owned(),
    };
    let model = GaugeModel::typical_screw_on(1.0).unwrap().with_term(term);
    assert_eq!(model.terms.len(), 8);
    let result = Gauging::evaluate(&session(&[-9.0, -9.0, -9.0]), &model, "µm").unwrap();
    let expected = (1.25f64 * 1.25 - 0.25 + 4.0).sqrt();
    assert!((result.estimate().standard_uncertainty() - expected).abs() < 1e-3);
    assert!(result.budget().to_string().contains("certificate of the lab's gauge"));
}

#[test]
fn unusable_sessions_are_errors() {
    let model = GaugeModel::typical_screw_on(1.0).unwrap();
    for bad in [session(&[]), session(&[f64::NAN]), Session { zero_before: vec![], ..session(&[1.0]) }] {
        assert!(Gauging::evaluate(&bad, &model, "µm").is_err());
    }
    let upside_down = GaugeModel { scale_correction: -2.0, ..model };
    assert!(Gauging::evaluate(&session(&[1.0]), &upside_down, "µm").is_err());
    let reckless = ProtrusionPolicy { risk: 0.0, ..policy() };
    assert!(decide_protrusion(&gauging(&[-5.0]), plane(), &reckless).is_err());
}

fn past(at: i64, reading: f64) -> PastSession {
    let mut session = session(&[reading - 0.1, reading, reading + 0.1]);
    session.ids = ids(&format!("session {at}"));
    PastSession { at, session, limit: plane() }
}

fn corrected(sessions: &[PastSession], off: &GaugeOff) -> Vec<matewell_uncertainty::gauging::Recomputed> {
    let model = GaugeModel::typical_screw_on(1.0).unwrap();
    recompute(sessions, &model, "µm", off, (0.5, &InputId::new("check 12")), &policy()).unwrap()
}

#[test]
fn a_step_moves_every_session_in_the_window_and_flips_come_first() {
    let sessions = [past(10, -20.0), past(20, -4.0), past(30, -20.0), past(40, -4.0)];
    // It read 8 too far in: what looked recessed by 4 protrudes by 4.
    let off = GaugeOff::Step { since: 10, until: 30, offset: -8.0 };
    let found = corrected(&sessions, &off);
    assert_eq!(found.iter().map(|r| r.index).collect::<Vec<_>>(), [1, 0, 2]);
    let flip = &found[0];
    assert!(flip.flips() && !found[1].flips());
    assert_eq!(flip.before.decision.outcome, ProtrusionOutcome::ShownSafe);
    assert_eq!(flip.after.decision.outcome, ProtrusionOutcome::Protrudes);
    let after = flip.after.gauging.estimate();
    assert!((after.value() - 4.0).abs() < 1e-9);
    // The offset's own uncertainty is shared by all that it corrects.
    let shared = after.covariance(found[1].after.gauging.estimate());
    let before = flip.before.gauging.estimate().covariance(found[1].before.gauging.estimate());
    assert!((shared - before - 0.25).abs() < 1e-9);
    // What was given is untouched, and outside the window nothing happens.
    assert_eq!(sessions[1], past(20, -4.0));
    assert!(corrected(&sessions, &GaugeOff::Step { since: 41, until: 50, offset: 1.0 }).is_empty());
}

#[test]
fn a_drift_is_interpolated() {
    let sessions = [past(0, -20.0), past(25, -20.0), past(100, -20.0)];
    let off = GaugeOff::Drift { since: 0, until: 100, offset_since: 0.0, offset_until: -8.0 };
    let offsets: Vec<f64> = corrected(&sessions, &off).iter().map(|r| r.offset).collect();
    assert!(
        (offsets[0]).abs() < 1e-12 && (offsets[1] + 2.0).abs() < 1e-12 && (offsets[2] + 8.0).abs() < 1e-12
    );
    let model = GaugeModel::typical_screw_on(1.0).unwrap();
    let backwards = GaugeOff::Step { since: 5, until: 1, offset: 1.0 };
    assert!(recompute(&sessions, &model, "µm", &backwards, (0.1, &InputId::new("c")), &policy()).is_err());
}

proptest! {
    #[test]
    fn adding_an_offset_and_taking_it_out_gives_the_value_back(
        reading in -40.0f64..10.0, offset in -20.0f64..20.0, scale in -0.05f64..0.05,
    ) {
        let model = GaugeModel { scale_correction: scale, ..GaugeModel::typical_screw_on(1.0).unwrap() };
        let true_session = session(&[reading, reading + 0.3]);
        let mut wrong = true_session.clone();
        for r in &mut wrong.readings {
            *r += offset / (1.0 + scale);
        }
        let off = GaugeOff::Step { since: 0, until: 9, offset };
        let sessions = [PastSession { at: 5, session: wrong, limit: plane() }];
        let found = recompute(&sessions, &model, "µm", &off, (0.0, &InputId::new("c")), &policy()).unwrap();
        let expected = Gauging::evaluate(&true_session, &model, "µm").unwrap();
        let after = found[0].after.gauging.estimate();
        prop_assert!((after.value() - expected.estimate().value()).abs() < 1e-9);
        prop_assert!((after.standard_uncertainty() - expected.estimate().standard_uncertainty()).abs() < 1e-9);
    }

    /// Safe is only ever said when the risk is met and no reading is beyond.
    #[test]
    fn shown_safe_means_the_risk_is_met(readings in prop::collection::vec(-8.0f64..1.0, 1..7)) {
        let decision = decide(&readings);
        if decision.outcome == ProtrusionOutcome::ShownSafe {
            prop_assert!(decision.probability_beyond <= 0.025 + 1e-12);
            prop_assert!(readings.iter().all(|r| *r <= 0.0) && readings.len() >= 3);
        }
        if decision.outcome == ProtrusionOutcome::Protrudes {
            prop_assert!(decision.probability_beyond >= 0.5);
        }
    }
}

#[test]
fn an_estimate_without_uncertainty_cannot_be_judged() {
    assert!(decide_pair(&Estimate::exact(1.0).unwrap(), &Estimate::exact(1.0).unwrap(), 0.025).is_err());
}
