use crate::builder::{Bench, at_day, end};
use matewell_lab::{FactBody, Held, InspectionOutcome, Released, Replaced, Sex};
use matewell_sheets::Sheets;
use matewell_verdict::{Book, EndJudgement, Known, PinDecision, Standing, Weight, due_of_end, judge_end};

fn judge(bench: &Bench, end: matewell_lab::EndId, day: f64) -> EndJudgement {
    let sheets = Sheets::embedded().unwrap();
    let record = bench.record(end, day);
    let gauge = bench.gauge_of(&record, day);
    judge_end(&Known { record: &record, gauge: gauge.as_ref(), exposures: &[] }, &Book::new(&sheets)).unwrap()
}

fn has(judgement: &EndJudgement, code: &str) -> bool {
    judgement.findings.iter().any(|f| f.code == code)
}

#[test]
fn never_gauged_is_undecided_never_usable() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::Undecided);
    assert!(has(&judged, "never-gauged"));
    assert_eq!(judged.pin.decision, PinDecision::Unknown);
}

#[test]
fn a_pin_sixty_two_micrometres_proud_is_out() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[-61.0, -62.0, -63.0]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::DoNotMate);
    assert_eq!(judged.pin.decision, PinDecision::Out);
    assert!(judged.findings[0].text.contains("62 µm"), "{}", judged.findings[0].text);
}

#[test]
fn a_good_gauging_makes_it_usable_and_shows_its_numbers() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.looked(1.0, a, InspectionOutcome::Good);
    bench.gauged(1.1, a, gauge, &[12.0, 11.0, 13.0]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::Usable, "{:?}", judged.findings);
    let shown = judged.findings.iter().find(|f| f.code == "pin-shown-safe").unwrap();
    assert!(shown.numbers.iter().any(|n| n.name == "recession" && n.standard_uncertainty.is_some()));
}

#[test]
fn near_the_plane_is_not_shown_safe_and_says_how_many_readings_would_decide() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 0.5, 3.0);
    bench.gauged(1.0, a, gauge, &[2.0, 2.5, 1.5]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::Undecided);
    assert_eq!(judged.pin.decision, PinDecision::NotShownSafe);
    // t √(0.25 + 9/N) ≤ 2 by hand: N = 12 gives u = 1, 53 degrees of freedom
    // and t = 2.006, too much; N = 13 gives u = 0.971, 56 and t = 2.003: 1.945.
    assert_eq!(judged.pin.readings_needed, Some(13));
}

#[test]
fn a_coarse_gauge_cannot_decide_and_does_not_ask_for_more_readings() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 3.0, 1.0);
    bench.gauged(1.0, a, gauge, &[2.0, 2.0, 2.0]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.pin.decision, PinDecision::GaugeCannotDecide);
    assert_eq!(judged.pin.readings_needed, None);
}

#[test]
fn one_protruding_reading_is_never_averaged_away() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 0.5, 0.5);
    bench.gauged(1.0, a, gauge, &[20.0, 20.0, -1.0]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::Undecided);
    assert!(has(&judged, "reading-protrudes"));
}

#[test]
fn a_reading_without_uncertainty_decides_nothing() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let readings = vec![crate::builder::position(30.0); 3];
    bench.fact(
        1.0,
        FactBody::Gauged(matewell_lab::Gauged {
            end: a,
            gauge: None,
            readings,
            stated_standard_uncertainty: None,
            session: None,
        }),
    );
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::Undecided);
    assert!(has(&judged, "no-uncertainty"));
}

#[test]
fn a_hold_is_lifted_only_by_a_release() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[12.0, 11.0, 13.0]);
    bench.fact(2.0, FactBody::Held(Held { end: a, because: "looks odd".to_owned() }));
    bench.gauged(3.0, a, gauge, &[12.0, 11.0, 13.0]);
    assert_eq!(judge(&bench, a, 4.0).standing, Standing::DoNotMate);
    bench.fact(
        5.0,
        FactBody::Released(Released {
            end: a,
            because: "gauged".to_owned(),
            evidence: None,
            lifts: Vec::new(),
        }),
    );
    assert_eq!(judge(&bench, a, 6.0).standing, Standing::Usable);
    // The past is answered as it was.
    assert_eq!(judge(&bench, a, 4.0).standing, Standing::DoNotMate);
}

#[test]
fn a_new_contact_is_undecided_until_gauged() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[12.0, 11.0, 13.0]);
    bench.fact(2.0, FactBody::Replaced(Replaced { end: a, because: "re-terminated".to_owned() }));
    let judged = judge(&bench, a, 3.0);
    assert_eq!(judged.standing, Standing::Undecided);
    assert!(judged.findings[0].text.contains("made anew"), "{}", judged.findings[0].text);
}

#[test]
fn gauging_falls_due_by_contacts_and_by_time() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let b = bench.end("CB-2A", &end("3.5mm", Sex::Socket));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[12.0, 11.0, 13.0]);
    for n in 0..99 {
        bench.mated(2.0 + f64::from(n) / 1000.0, a, b);
    }
    assert!(!has(&judge(&bench, a, 3.0), "gauging-due-by-contacts"));
    bench.mated(2.5, a, b);
    assert!(has(&judge(&bench, a, 3.0), "gauging-due-by-contacts"));
    assert!(has(&judge(&bench, a, 200.0), "gauging-due-by-time"));
}

#[test]
fn a_deep_recess_limits_the_band_and_says_up_to_where() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[200.0, 201.0, 199.0]);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.standing, Standing::UsableWithLimits, "{:?}", judged.findings);
    let ghz = judged.usable_up_to.unwrap().gigahertz();
    assert!(0.5 < ghz && ghz < 26.5, "{ghz}");
}

#[test]
fn findings_come_worst_first() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    bench.looked(1.0, a, InspectionOutcome::Damaged);
    let judged = judge(&bench, a, 2.0);
    assert_eq!(judged.findings[0].code, "damaged");
    assert!(judged.findings.windows(2).all(|w| w[0].weight >= w[1].weight));
    assert!(judged.findings.iter().any(|f| f.weight == Weight::Open));
    assert_eq!(judged.at, at_day(2.0));
}

#[test]
fn a_held_end_that_was_mated_says_so_until_it_is_released_and_is_due_first() {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let b = bench.end("IN-1P1", &end("3.5mm", Sex::Socket));
    bench.mated(1.0, a, b);
    let hold = bench.fact(2.0, FactBody::Held(Held { end: a, because: "looks odd".to_owned() }));
    assert!(!has(&judge(&bench, a, 2.5), "mated-while-held"), "the mate came before the hold");
    bench.mated(3.0, a, b);
    let judged = judge(&bench, a, 4.0);
    let alarm = judged.findings.iter().find(|f| f.code == "mated-while-held").unwrap();
    assert!(alarm.weight == Weight::Forbids && alarm.facts.contains(&hold), "{alarm:?}");
    assert!(!has(&judge(&bench, b, 4.0), "mated-while-held"), "the partner was not held");
    let due = due_of_end(&bench.record(a, 4.0), &judged);
    let first = due.iter().max_by(|x, y| x.pressure.total_cmp(&y.pressure)).unwrap();
    assert_eq!((first.task.word(), first.since), ("mated-while-held", Some(at_day(3.0))));
    bench.fact(
        5.0,
        FactBody::Released(Released {
            end: a,
            because: "gauged".to_owned(),
            evidence: None,
            lifts: Vec::new(),
        }),
    );
    assert!(!has(&judge(&bench, a, 6.0), "mated-while-held"));
}
