//! Cases on the demo lab, as stories.

use crate::lab::{NOW, demo, said};
use matewell_app::{
    AppError, CaseHolds, CaseOrder, EndDecision, LoggedMate, MateOrder, Said, TraceOrder, Workshop,
};
use matewell_demo::{Story, demo_lab};
use matewell_lab::{InspectionOutcome, Moment, PinPosition, ResultDisposition};
use matewell_quantity::Length;
use matewell_wire::{CaseEndJson, CaseJson, moment_text};
use std::collections::BTreeSet;

const CLEARED: EndDecision = EndDecision::Cleared { evidence: None };

fn story() -> Story {
    demo_lab(NOW, 1).story
}

fn later(minutes: u32) -> Moment {
    NOW.plus_days(f64::from(minutes) / 1440.0)
}

fn order(tag: &str) -> CaseOrder {
    CaseOrder {
        tags: vec![tag.to_owned()],
        because: "pin protrudes by 62 µm after the repair".to_owned(),
        ..CaseOrder::default()
    }
}

fn proud_pin(shop: &mut Workshop) -> CaseJson {
    shop.open_case(&order(&story().repaired.end.tag), &said(), NOW).unwrap().case
}

fn line<'c>(case: &'c CaseJson, tag: &str) -> &'c CaseEndJson {
    case.work.iter().find(|w| w.tag == tag).unwrap_or_else(|| panic!("{tag} is not in the case"))
}

fn tags(text: &[&str]) -> Vec<String> {
    text.iter().map(|t| (*t).to_owned()).collect()
}

/// Gauged well recessed, with its uncertainty: shown safe.
fn gauge(shop: &mut Workshop, tag: &str, at: Moment) {
    let um = |v| Length::from_micrometres(v).unwrap();
    let readings = (0..3).map(|_| PinPosition::recessed(um(20.0)).unwrap()).collect();
    shop.gauge(tag, readings, None, Some(um(1.0)), &said(), at).unwrap();
}

fn dispose(
    shop: &mut Workshop,
    case: &str,
    tag: &str,
    decision: EndDecision,
    at: Moment,
) -> Result<CaseJson, AppError> {
    shop.dispose_ends(case, &tags(&[tag]), decision, "as looked at", &said(), at).map(|w| w.case)
}

#[test]
fn a_proud_pin_opens_a_case_that_holds_what_is_exposed_and_ranks_it() {
    let mut shop = demo();
    let told = story();
    let case = proud_pin(&mut shop);
    assert_eq!((case.case.state.as_str(), case.case.taint.as_str()), ("open", "deformation"));
    let bad = line(&case, &told.repaired.end.tag);
    assert!(bad.found_bad && bad.held && bad.certainty.is_none());
    for touch in &told.repaired.touched {
        assert_eq!(line(&case, &touch.end.tag).hops, 1);
    }
    // The gauge that found it touched it too, when it was bad for certain.
    let gauge = line(&case, "GA-002");
    assert_eq!((gauge.what.as_str(), gauge.certainty.as_deref()), ("gauge", Some("definite")));
    assert!(!gauge.held && gauge.evidence.len() == 2, "two zero checks in order since");
    // The port of the expensive analyser goes first.
    assert_eq!(case.work[0].tag, told.repaired.port.tag);
    assert!(case.work[0].urgent_because.iter().any(|w| w.contains("results in doubt")));
    assert!(case.work.windows(2).all(|w| w[0].pressure >= w[1].pressure && w[0].rank + 1 == w[1].rank));
    // Held ends may not be mated; the ends found good since are not held.
    for work in &case.work {
        let standing = work.standing.as_deref();
        assert_eq!(work.held, standing == Some("do-not-mate"), "{}: {standing:?}", work.tag);
        assert!(!work.to_do.is_empty() && !work.to_do.contains("damaged damaged"));
    }
    assert_eq!(line(&case, &told.repaired.damaged.tag).to_do, "Damage was seen: decide damaged.");
    // A hold because of an exposure is no evidence that the end is bad.
    let trace = TraceOrder { tags: vec![told.repaired.port.tag.clone()], ..TraceOrder::default() };
    let trace = shop.trace(&trace, later(1)).unwrap();
    assert_eq!(trace.sources[0].first_evidence.because, "nothing-found");
    // The doubtful results of the receiver are in it, the good ones are not.
    let facts: Vec<&str> = case.results.iter().map(|r| r.fact.as_str()).collect();
    for doubtful in &told.odd_receiver.doubtful_results {
        assert!(facts.contains(&doubtful.to_string().as_str()));
    }
    for good in &told.odd_receiver.good_results {
        assert!(!facts.contains(&good.to_string().as_str()));
    }
    assert_eq!(case.missing.len(), case.case.ends_open + case.case.results_open);
    let list = shop.cases(NOW).unwrap().cases;
    assert_eq!((list.len(), &list[0]), (1, &case.case));
    // Found by its name, its id, and the label of the end found bad.
    for text in [case.case.name.as_str(), case.case.id.as_str(), " cb-009a "] {
        assert_eq!(shop.case(text, NOW).unwrap(), case, "{text}");
    }
    assert!(matches!(shop.case("nothing", NOW), Err(AppError::UnknownTag { .. })));
    assert!(shop.due(None, NOW).unwrap().due.iter().any(|d| d.task == "case" && d.tag == case.case.name));
}

#[test]
fn from_the_finding_to_the_close_with_every_end_and_result_decided() {
    let mut shop = demo();
    let told = story();
    let case = proud_pin(&mut shop);
    let name = case.case.name.as_str();
    let error = shop.close_case(name, "all done", &said(), later(1)).unwrap_err();
    let AppError::NotYetClosed { missing, .. } = &error else { panic!("{error}") };
    assert_eq!(missing.len(), case.missing.len());
    assert!(error.to_string().contains("IN-003P1: cleared, damaged or waived until a date?"), "{error}");

    // What was verified on record already is cleared in one act.
    let case = shop.dispose_ends(name, &[], CLEARED, "verified on record", &said(), later(2)).unwrap().case;
    assert_eq!(line(&case, "GA-002").state, "cleared");
    let cleared = case.work.iter().filter(|w| w.state == "cleared").count();
    assert!(cleared >= 10, "{cleared}");

    // The damaged ones stay held.
    let case = dispose(&mut shop, name, &told.repaired.end.tag, EndDecision::Damaged, later(3)).unwrap();
    assert!(line(&case, &told.repaired.end.tag).held);
    let damaged = &told.repaired.damaged.tag;
    let refused = dispose(&mut shop, name, damaged, CLEARED, later(3)).unwrap_err();
    assert!(refused.to_string().contains("damage was seen"), "{refused}");
    dispose(&mut shop, name, damaged, EndDecision::Damaged, later(3)).unwrap();

    // The port is gauged well and released in the act of clearing.
    let port = &told.repaired.port.tag;
    let refused = dispose(&mut shop, name, port, CLEARED, later(4)).unwrap_err();
    assert!(refused.to_string().contains("a gauging that shows the pin safe"), "{refused}");
    gauge(&mut shop, port, later(5));
    let case = dispose(&mut shop, name, port, CLEARED, later(6)).unwrap();
    let cleared = line(&case, port);
    assert!(cleared.state == "cleared" && !cleared.held, "{cleared:?}");
    assert!(cleared.decision.as_ref().unwrap().evidence.is_some());
    assert_ne!(shop.end(port, later(6)).unwrap().standing.standing, "do-not-mate");

    // The rest is waived for a day; a waiver lifts no hold.
    let open: Vec<String> = case.work.iter().filter(|w| w.state == "open").map(|w| w.tag.clone()).collect();
    let case = shop
        .dispose_ends(
            name,
            &open,
            EndDecision::Waived { until: None },
            "gauge is away until tomorrow",
            &said(),
            later(7),
        )
        .unwrap()
        .case;
    assert_eq!((case.case.ends_open, case.case.state.as_str()), (0, "open"));
    assert!(case.work.iter().any(|w| w.state == "waived" && w.held));

    // Results: those of the receiver are measured again, the others stand.
    let results: Vec<String> = case.results.iter().map(|r| r.uri.clone()).collect();
    let (odd, others): (Vec<String>, Vec<String>) =
        results.into_iter().partition(|uri| uri.contains("/du-007/"));
    assert_eq!(odd.len(), 3);
    shop.dispose_results(name, &odd, ResultDisposition::ReMeasure, "gain fell by 1.6 dB", &said(), later(8))
        .unwrap();
    let because = "shift below a tenth of the uncertainty";
    let case = shop
        .dispose_results(name, &others, ResultDisposition::NoEffect, because, &said(), later(8))
        .unwrap()
        .case;
    assert_eq!(case.case.state, "ready-to-close");
    assert!(case.missing.is_empty(), "{:?}", case.missing);

    // A closed case closes; nothing more is written to it.
    assert!(matches!(shop.close_case(name, " ", &said(), later(9)), Err(AppError::Field { .. })));
    let case =
        shop.close_case(name, "contacts after a repair are gauged first", &said(), later(9)).unwrap().case;
    assert_eq!(case.case.state, "closed");
    assert_eq!(case.closed.as_ref().unwrap().person, "technician-1");
    assert!(case.record.iter().all(|r| r.complete), "{:?}", case.record);
    let again = dispose(&mut shop, name, port, EndDecision::Damaged, later(10)).unwrap_err();
    assert!(again.to_string().contains("is closed since"), "{again}");

    // The day after, the waivers have run out and are due, closed or not.
    let next_day = later(7).plus_days(1.01);
    let due = shop.due(None, next_day).unwrap().due;
    assert!(due.iter().any(|d| d.task == "waiver-ran-out" && open.contains(&d.tag)));
    assert!(shop.case(name, next_day).unwrap().case.waivers_ran_out > 0);
    assert!(shop.verify().unwrap().whole);
}

#[test]
fn an_end_that_a_case_holds_is_released_only_after_a_verification() {
    let mut shop = demo();
    let case = proud_pin(&mut shop);
    let port = story().repaired.port.tag;
    let error = shop.release(&port, "needed on Monday", None, &said(), later(1)).unwrap_err();
    let text = error.to_string();
    assert!(text.contains("made after the hold") && text.contains(&case.case.name), "{text}");
    // A look alone does not clear a pin that protrudes, by the lab's policy.
    let looked = shop.inspect(&port, InspectionOutcome::Good, Vec::new(), None, &said(), later(2)).unwrap();
    let named = looked.facts[0].parse().unwrap();
    assert!(shop.release(&port, "looked good", Some(named), &said(), later(3)).is_err());
    gauge(&mut shop, &port, later(4));
    shop.release(&port, "gauged well", None, &said(), later(5)).unwrap();
    let end = shop.end(&port, later(5)).unwrap();
    assert!(!end.standing.findings.iter().any(|f| f.code == "held"));
    // Another end, held for another reason, is released with a reason as ever.
    shop.release(&story().cases.held.tag, "looked at and gauged", None, &said(), later(6)).unwrap();
}

#[test]
fn a_held_end_mated_under_an_override_is_an_alarm_everywhere() {
    let mut shop = demo();
    let case = proud_pin(&mut shop);
    let name = case.case.name.as_str();
    let port = story().repaired.port.tag;
    let good = story().cases.good_sma.tag;
    dispose(&mut shop, name, &port, EndDecision::Waived { until: None }, later(1)).unwrap();
    let pair = |because| MateOrder { a: &good, b: &port, override_because: because, ..MateOrder::default() };
    assert!(matches!(shop.mate(&pair(None), &said(), later(2)), Err(AppError::Refused { .. })));
    let written = shop.mate(&pair(Some("the customer waits")), &said(), later(3)).unwrap();
    // The answer of the write says which case it concerns, and what it reached.
    assert_eq!(written.cases.len(), 1);
    assert!(written.cases[0].also_reached.contains(&good), "{:?}", written.cases);
    // On the end.
    let end = shop.end(&port, later(3)).unwrap();
    assert!(end.standing.findings.iter().any(|f| f.code == "mated-while-held"));
    // On the case: the waiver no longer counts, and the new partner is offered.
    let case = shop.case(name, later(3)).unwrap();
    let alarmed = line(&case, &port);
    assert_eq!((alarmed.state.as_str(), alarmed.rank), ("open", 1));
    assert_eq!(alarmed.alarms[0].partner.tag, good);
    assert_eq!(case.case.alarms, 1);
    assert!(case.changes.also_reached.iter().any(|r| r.tag == good));
    assert!(case.missing.iter().any(|m| m.what == "mated-while-held" && m.about == port));
    // In the list of what is due: before anything else.
    let due = shop.due(None, later(3)).unwrap().due;
    assert_eq!((due[0].task.as_str(), due[0].tag.as_str()), ("mated-while-held", port.as_str()));
    // Confirmed: the partner is part of the case and held.
    let case = shop.add_to_case(name, &tags(&[&good]), true, "met the port", &said(), later(4)).unwrap().case;
    assert!(line(&case, &good).held && case.changes.also_reached.is_empty());
    assert!(shop.add_to_case(name, &tags(&[&good]), true, "again", &said(), later(5)).is_err());
}

#[test]
fn a_late_mate_changes_what_an_open_case_reaches_and_taking_it_back_undoes_it() {
    let mut shop = demo();
    let told = story();
    let case = proud_pin(&mut shop);
    let name = case.case.name.as_str();
    assert!(case.changes.also_reached.is_empty());
    // Entered a month late: while the pin was out, it met an end nobody knew of.
    let other = told.cases.good_port.tag.clone();
    assert!(!case.work.iter().any(|w| w.tag == other));
    let mate = LoggedMate {
        a: told.repaired.end.tag.clone(),
        b: other.clone(),
        happened_at: told.repaired.touched[1].at.plus_days(0.05),
        wrench: None,
    };
    let written = shop.log_mates(&[mate], &said(), later(1)).unwrap();
    assert_eq!(written.cases.len(), 1, "{:?}", written.cases);
    assert!(written.cases[0].also_reached.contains(&other));
    assert!(written.cases[0].text.contains("now also reaches"), "{}", written.cases[0].text);
    let changed = shop.case(name, later(2)).unwrap();
    let offered = changed.changes.also_reached.iter().find(|r| r.tag == other).unwrap();
    assert_eq!(offered.way.as_deref(), Some(format!("{} → {other}", told.repaired.end.tag).as_str()));
    assert!(changed.missing.iter().any(|m| m.what == "also-reached" && m.about == other));
    assert!(!changed.work.iter().any(|w| w.tag == other), "nothing is taken in by itself");
    // Taken in, then the mate is taken back: the case says that it is not reached any more.
    let taken =
        shop.add_to_case(name, &[], true, "late entry of the paper log", &said(), later(3)).unwrap().case;
    assert!(taken.work.iter().any(|w| w.tag == other) && taken.changes.also_reached.is_empty());
    let back = shop.take_back(written.facts[0].parse().unwrap(), "wrong label", &said(), later(4)).unwrap();
    assert_eq!(back.cases.len(), 1);
    let after = shop.case(name, later(5)).unwrap();
    assert!(after.changes.no_longer_reached.iter().any(|r| r.tag == other), "{:?}", after.changes);
}

#[test]
fn an_end_is_set_aside_with_a_reason_but_not_while_held_or_found_bad() {
    let mut shop = demo();
    let name = proud_pin(&mut shop).case.name;
    let aside = |shop: &mut Workshop, tag: &str, because: &str| {
        shop.set_aside(&name, &tags(&[tag]), because, &said(), later(1)).map(|w| w.case)
    };
    assert!(matches!(aside(&mut shop, "CB-009A", "never mind"), Err(AppError::Conflict(_))));
    assert!(matches!(aside(&mut shop, "IN-003P1", "never mind"), Err(AppError::Conflict(_))));
    assert!(matches!(aside(&mut shop, "GA-002", ""), Err(AppError::Field { .. })));
    let case = aside(&mut shop, "GA-002", "a push-on gauge for this only, sent away").unwrap();
    let gauge = line(&case, "GA-002");
    assert_eq!((gauge.state.as_str(), gauge.rank), ("set-aside", case.work.len()));
    assert!(!case.missing.iter().any(|m| m.about == "GA-002"));
}

#[test]
fn a_receiver_with_flakes_in_it_is_a_case_of_particles() {
    let mut shop = demo();
    let odd = story().odd_receiver;
    let case = shop.open_case(&order(&odd.dirty.tag), &said(), NOW).unwrap().case;
    assert_eq!(case.case.taint, "particles");
    // The device it was mated with is reached, and its results are in doubt.
    let device = odd.chain.last().unwrap();
    assert_eq!(line(&case, &device.tag).hops, 1);
    let last = odd.doubtful_results.last().unwrap().to_string();
    assert!(case.results.iter().any(|r| r.fact == last && r.through.contains(&odd.dirty.tag)));
    // Particles are cleared by a good look.
    let tag = device.tag.as_str();
    if line(&case, tag).evidence.is_empty() {
        shop.inspect(tag, InspectionOutcome::Good, Vec::new(), Some(10.0), &said(), later(1)).unwrap();
    }
    let case = dispose(&mut shop, &case.case.name, tag, CLEARED, later(2)).unwrap();
    assert_eq!(line(&case, tag).state, "cleared");
    assert!(!shop.end(tag, later(2)).unwrap().standing.findings.iter().any(|f| f.code == "held"));
}

#[test]
fn what_cannot_be_opened_or_decided_says_why_and_nothing_is_written() {
    let mut shop = demo();
    let before = shop.verify().unwrap().facts;
    let open = |shop: &mut Workshop, order: &CaseOrder| shop.open_case(order, &said(), NOW).unwrap_err();
    let good = order("CB-009A");
    let blank = CaseOrder { because: " ".to_owned(), ..good.clone() };
    assert!(matches!(open(&mut shop, &blank), AppError::Field { field: "because", .. }));
    assert!(matches!(open(&mut shop, &order("NOPE")), AppError::UnknownTag { .. }));
    assert!(matches!(open(&mut shop, &order("CB-009")), AppError::WhichEnd { .. }));
    let nothing = CaseOrder { tags: Vec::new(), ..good.clone() };
    assert!(matches!(open(&mut shop, &nothing), AppError::Field { field: "ends", .. }));
    let rust = CaseOrder { taint: Some("rust".to_owned()), ..good.clone() };
    assert!(open(&mut shop, &rust).to_string().contains("deformation, particles, residue, unknown"));
    let backwards = CaseOrder { since: Some(NOW), until: Some(NOW.plus_days(-5.0)), ..good.clone() };
    assert!(matches!(open(&mut shop, &backwards), AppError::Field { .. }));
    let elsewhere = CaseOrder { holds: CaseHolds::Only(tags(&["CB-025A"])), ..good.clone() };
    assert!(matches!(open(&mut shop, &elsewhere), AppError::Field { field: "hold", .. }));
    let named = CaseOrder { name: Some("two\nlines".to_owned()), ..good.clone() };
    assert!(matches!(open(&mut shop, &named), AppError::Field { field: "name", .. }));
    assert_eq!(shop.verify().unwrap().facts, before);

    let named =
        CaseOrder { name: Some("Repair of CB-009".to_owned()), holds: CaseHolds::None, ..good.clone() };
    let case = shop.open_case(&named, &said(), NOW).unwrap().case;
    assert!(case.work.iter().all(|w| !w.held), "none was to be held");
    assert!(matches!(open(&mut shop, &named), AppError::Conflict(_)));
    let second = shop.open_case(&good, &said(), NOW).unwrap().case;
    assert!(matches!(shop.case("CB-009A", NOW), Err(AppError::WhichEnd { .. })), "two cases are about it");
    let third = shop.open_case(&good, &said(), NOW).unwrap().case;
    assert_ne!(second.case.name, third.case.name);
    let name = "repair of cb-009";
    let waived = EndDecision::Waived { until: Some(NOW) };
    assert!(matches!(
        dispose(&mut shop, name, "IN-003P1", waived, later(1)),
        Err(AppError::Field { field: "until", .. })
    ));
    assert!(matches!(dispose(&mut shop, name, "CB-025A", CLEARED, later(1)), Err(AppError::Conflict(_))));
    let result = ResultDisposition::NoEffect;
    let unknown = tags(&["lab://elsewhere"]);
    assert!(shop.dispose_results(name, &unknown, result, "none", &said(), later(1)).is_err());
    assert!(shop.dispose_results(name, &[], result, "none", &said(), later(1)).is_err());
}

#[test]
fn the_same_key_opens_one_case() {
    let mut shop = demo();
    let keyed = Said { key: Some(("case-1".to_owned(), [1; 32])), ..said() };
    let first = shop.open_case(&order("CB-009A"), &keyed, NOW).unwrap();
    let again = shop.open_case(&order("CB-009A"), &keyed, later(1)).unwrap();
    assert_eq!((&first.facts, &first.case.case.id), (&again.facts, &again.case.case.id));
    assert_eq!(shop.cases(NOW).unwrap().cases.len(), 1);
    let other = Said { key: Some(("case-1".to_owned(), [2; 32])), ..said() };
    assert!(matches!(shop.open_case(&order("CB-009A"), &other, NOW), Err(AppError::Conflict(_))));
}

#[test]
fn a_case_that_two_hold_is_released_by_the_second() {
    let mut shop = demo();
    let first = proud_pin(&mut shop).case.name;
    let second = shop.open_case(&order("CB-009A"), &said(), later(1)).unwrap().case.case.name;
    let port = story().repaired.port.tag;
    gauge(&mut shop, &port, later(2));
    let case = dispose(&mut shop, &first, &port, CLEARED, later(3)).unwrap();
    assert!(line(&case, &port).state == "cleared" && line(&case, &port).held);
    let case = dispose(&mut shop, &second, &port, CLEARED, later(4)).unwrap();
    assert!(line(&case, &port).state == "cleared" && !line(&case, &port).held);
}

#[test]
fn a_case_survives_export_and_import_and_the_past_is_answered_as_it_was() {
    let mut shop = demo();
    let case = proud_pin(&mut shop);
    dispose(&mut shop, &case.case.name, "CB-009A", EndDecision::Damaged, later(5)).unwrap();
    assert_eq!(line(&shop.case("CB-009A", later(4)).unwrap(), "CB-009A").state, "open");
    assert_eq!(shop.case("CB-009A", NOW).unwrap(), case);
    assert!(shop.case("CB-009A", NOW.plus_days(-1.0)).is_err());
    let lines = shop.export_lines().unwrap();
    assert!(lines.lines().count() > 4000);
    for kind in ["case-opened", "end-disposed"] {
        assert!(lines.contains(&format!("\"kind\":\"{kind}\"")), "{kind}");
    }
    let mut other = crate::lab::empty();
    let linked = shop.store().linked_facts(0, 100_000).unwrap();
    let facts: Vec<_> = linked
        .into_iter()
        .map(|(_, linked)| {
            let line = linked.to_json().unwrap().to_line().unwrap();
            let json = matewell_record::FactJson::from_line(&line).unwrap();
            matewell_store::LinkedFact::from_json(&json).unwrap()
        })
        .collect();
    // The demo lab has sweeps: their files go along.
    let kept = shop.store().kept_files().unwrap();
    let files: Vec<Vec<u8>> =
        kept.iter().map(|hash| shop.store().kept_file(hash).unwrap().unwrap()).collect();
    let files: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    other.store_mut().append_linked_with_files(&files, &facts).unwrap();
    assert_eq!(other.export_lines().unwrap(), lines);
    let (here, there) = (shop.case("CB-009A", later(6)).unwrap(), other.case("CB-009A", later(6)).unwrap());
    assert_eq!(here.work.len(), there.work.len());
    assert_eq!(here.history, there.history);
    assert_eq!(here.missing, there.missing);
}

#[test]
fn an_end_exposed_again_after_it_was_cleared_is_offered_anew() {
    let mut shop = demo();
    let name = proud_pin(&mut shop).case.name;
    let port = story().repaired.port.tag;
    gauge(&mut shop, &port, later(1));
    dispose(&mut shop, &name, &port, CLEARED, later(2)).unwrap();
    // CB-011A had met the port while it was exposed, and is held.
    let pair = MateOrder {
        a: "CB-011A",
        b: &port,
        override_because: Some("only for a minute"),
        ..MateOrder::default()
    };
    shop.mate(&pair, &said(), later(3)).unwrap();
    let case = shop.case(&name, later(4)).unwrap();
    let again = case.changes.reached_otherwise.iter().find(|r| r.tag == port).unwrap();
    assert!(
        again.text.contains("exposed again on 2026-11-25 09:03 UTC, after it was cleared"),
        "{}",
        again.text
    );
    assert!(case.missing.iter().any(|m| m.what == "also-reached" && m.about == port));
    assert_eq!(line(&case, &port).state, "cleared", "nothing changes by itself");
    let case = shop.add_to_case(&name, &tags(&[&port]), true, "met CB-011A", &said(), later(5)).unwrap().case;
    let port_now = line(&case, &port);
    assert_eq!((port_now.state.as_str(), port_now.held), ("open", true));
    // The gauging from before the exposure no longer clears it.
    assert!(port_now.evidence.is_empty());
    assert!(dispose(&mut shop, &name, &port, CLEARED, later(6)).is_err());
    gauge(&mut shop, &port, later(7));
    let case = dispose(&mut shop, &name, &port, CLEARED, later(8)).unwrap();
    assert_eq!(line(&case, &port).state, "cleared");
    assert!(case.changes.reached_otherwise.is_empty(), "{:?}", case.changes.reached_otherwise);
}

/// A gauge that was off put what it judged in doubt, with the results that
/// rest on it. Nothing passed from it, so the ends are not exposed and nobody
/// is kept from using them unless they are named.
#[test]
fn a_gauge_that_was_off_is_a_case_of_what_it_judged() {
    let mut shop = demo();
    let off = story().gauge_off;
    let order = CaseOrder { because: "8 um off at the zero check".to_owned(), ..order(&off.gauge.tag) };
    let case = shop.open_case(&order, &said(), NOW).unwrap().case;
    let trace = shop.trace_tool(&off.gauge.tag, None, None, NOW).unwrap();
    assert_eq!(case.tools[0].first_evidence, moment_text(off.found_off_at));
    assert_eq!(
        (case.case.tools.as_slice(), case.case.sources.len()),
        ([off.gauge.tag.clone()].as_slice(), 0)
    );
    assert!(case.case.name.starts_with(&off.gauge.tag), "{}", case.case.name);
    let judged: BTreeSet<&str> =
        trace.uses.iter().flat_map(|u| u.ends.iter()).map(|e| e.tag.as_str()).collect();
    let ends: BTreeSet<&str> = case.work.iter().filter(|w| w.what == "end").map(|w| w.tag.as_str()).collect();
    assert_eq!(ends, judged);
    assert!(case.work.iter().all(|w| !w.held));
    let doubted: BTreeSet<&str> = trace.results.iter().map(|r| r.fact.as_str()).collect();
    let taken: BTreeSet<&str> = case.results.iter().map(|r| r.fact.as_str()).collect();
    assert!(!taken.is_empty() && taken == doubted, "{taken:?} {doubted:?}");
    let flipped = line(&case, &off.flipped.tag);
    assert!(flipped.to_do.contains("In doubt by a tool that was off"), "{}", flipped.to_do);
    let end = shop.end(&off.flipped.tag, NOW).unwrap();
    assert!(end.standing.findings.iter().all(|f| f.code != "exposed" || !f.text.contains("GA-002")));
    assert!(end.history.iter().any(|e| e.text.starts_with("In doubt by a tool that was off")));
    // The gauge itself is verified by its check in order, made after it was found off.
    let itself = line(&case, &off.gauge.tag);
    assert_eq!((itself.what.as_str(), itself.evidence.is_empty()), ("gauge", false));
    let name = case.case.name.clone();
    let case = dispose(&mut shop, &name, &off.gauge.tag, CLEARED, NOW).unwrap();
    assert_eq!(line(&case, &off.gauge.tag).state, "cleared");
    // An end is cleared by a gauging with another gauge, made since.
    assert!(dispose(&mut shop, &name, &off.flipped.tag, CLEARED, NOW).is_err());
    gauge(&mut shop, &off.flipped.tag, later(2));
    let case = dispose(&mut shop, &name, &off.flipped.tag, CLEARED, later(3)).unwrap();
    assert_eq!(line(&case, &off.flipped.tag).state, "cleared");
    assert_eq!(
        shop.case(&off.gauge.tag, later(4)).unwrap().case.name,
        name,
        "found by the label of its tool"
    );
}

#[test]
fn a_wrench_that_was_off_is_a_case_of_what_it_tightened() {
    let mut shop = demo();
    let off = story().wrench_off;
    let case = shop.open_case(&order(&off.wrench.tag), &said(), NOW).unwrap().case;
    let trace = shop.trace_tool(&off.wrench.tag, None, None, NOW).unwrap();
    let tightened: BTreeSet<&str> =
        trace.uses.iter().flat_map(|u| u.ends.iter()).map(|e| e.tag.as_str()).collect();
    let ends: BTreeSet<&str> = case.work.iter().filter(|w| w.what == "end").map(|w| w.tag.as_str()).collect();
    assert_eq!(ends, tightened);
    assert_eq!(line(&case, &off.wrench.tag).what, "torque-wrench");
    let doubted = trace.results.len();
    assert_eq!(case.results.len(), doubted);
    let lines = shop.export_lines().unwrap();
    assert!(lines.contains("\"tools\":[{\"tool\":"), "kept in the fact");
    let not_a_tool = shop.open_case(&order("GM-001"), &said(), NOW).unwrap_err();
    assert!(matches!(not_a_tool, AppError::Field { field: "ends", .. }), "{not_a_tool:?}");
}
