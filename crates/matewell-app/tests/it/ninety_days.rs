//! The demo lab's ninety days, as a story.

use crate::lab::{NOW, demo};
use matewell_demo::{Story, demo_lab};
use matewell_lab::Moment;

fn story() -> Story {
    demo_lab(NOW, 1).story
}

fn minutes(moment: Moment, minutes: f64) -> Moment {
    moment.plus_days(minutes / 1440.0)
}

fn codes(check: &matewell_wire::MateCheckJson) -> Vec<&str> {
    check.findings.iter().map(|f| f.code.as_str()).collect()
}

#[test]
fn a_75_ohm_cable_on_a_50_ohm_jack_stops() {
    let (shop, story) = (demo(), story().seventy_five_ohm);
    for (a, b) in [(&story.pin_75, &story.socket_50), (&story.socket_75, &story.pin_50)] {
        let check = shop.check(&a.tag, &b.tag, None, None, NOW).unwrap();
        assert_eq!(check.answer, "stop");
        assert!(codes(&check).contains(&"does-not-fit"), "{:?}", codes(&check));
    }
}

#[test]
fn a_repaired_cable_not_gauged_needs_an_override_and_got_one() {
    let (shop, story) = (demo(), story().repaired);
    let before_gauging = minutes(story.replaced_at, 60.0);
    let check = shop.check(&story.end.tag, &story.port.tag, None, None, before_gauging).unwrap();
    assert_eq!(check.answer, "undecided");
    assert!(codes(&check).contains(&"never-gauged"), "{:?}", codes(&check));
    let end = shop.end(&story.end.tag, NOW).unwrap();
    for kind in ["replaced", "refused", "overridden", "mated", "followed-up", "gauged", "held"] {
        assert!(end.history.iter().any(|e| e.kind == kind), "{kind}");
    }
}

#[test]
fn its_pin_62_um_proud_is_out() {
    let (shop, story) = (demo(), story().repaired);
    // Before the hold, on the strength of the gauging alone.
    let end = shop.end(&story.end.tag, minutes(story.gauged_at, 1.0)).unwrap();
    assert_eq!(end.standing.standing, "do-not-mate");
    assert_eq!(end.standing.pin.decision, "out");
    assert_eq!(end.standing.pin.word.as_deref(), Some("protruding"));
    assert!((end.standing.pin.distance_um.unwrap() - 62.0).abs() < 1e-9);
}

#[test]
fn sma_on_3_5_mm_is_allowed_only_if_gauged() {
    let (shop, cases) = (demo(), story().cases);
    let check = shop.check(&cases.never_gauged.tag, &cases.good_port.tag, None, None, NOW).unwrap();
    assert_eq!(check.answer, "undecided");
    assert!(codes(&check).contains(&"must-be-gauged"), "{:?}", codes(&check));
    let check = shop.check(&cases.good_sma.tag, &cases.good_port.tag, None, None, NOW).unwrap();
    assert_eq!(check.answer, "go-with-care", "{:?}", codes(&check));
}

#[test]
fn an_unknown_depth_is_undecided_never_usable() {
    let (shop, cases) = (demo(), story().cases);
    let end = shop.end(&cases.never_gauged.tag, NOW).unwrap();
    assert_eq!(end.standing.standing, "undecided");
    assert_eq!(end.standing.pin.decision, "unknown");
    assert_eq!(end.standing.pin.word, None);
}

#[test]
fn single_cases_stand_as_told() {
    let (shop, cases) = (demo(), story().cases);
    let standing = |tag: &str| shop.end(tag, NOW).unwrap().standing.standing;
    let has =
        |tag: &str, code: &str| shop.end(tag, NOW).unwrap().standing.findings.iter().any(|f| f.code == code);
    assert_eq!(standing(&cases.held.tag), "do-not-mate");
    assert_eq!(standing(&cases.retired_end.tag), "retired");
    assert!(has(&cases.due_by_mates.tag, "gauging-due-by-contacts"));
    assert!(has(&cases.due_by_time.tag, "gauging-due-by-time"));
    assert!(has(&cases.dirty.tag, "dirty"));
    assert!(has(&cases.uncertain_gauge.tag, "no-uncertainty"));
    assert!(
        has(&cases.near_flush.tag, "pin-not-shown-safe") || has(&cases.near_flush.tag, "gauge-cannot-decide")
    );
}

#[test]
fn a_wrench_found_off_is_not_offered() {
    let (shop, story) = (demo(), story());
    let off = &story.wrench_off;
    let cases = &story.cases;
    let after = minutes(off.found_off_at, 1.0);
    let check =
        shop.check(&cases.good_sma.tag, &cases.good_port.tag, None, Some(&off.wrench.tag), after).unwrap();
    assert!(codes(&check).contains(&"wrong-wrench"), "{:?}", codes(&check));
    assert!(!check.torque.wrenches.iter().any(|w| w.tag == off.wrench.tag));
}

#[test]
fn the_due_list_puts_holds_first_and_names_them() {
    let (shop, cases) = (demo(), story().cases);
    let due = shop.due(None, NOW).unwrap().due;
    assert_eq!(due[0].task, "decide-hold");
    assert!(due.iter().any(|d| d.tag == cases.held.tag && d.task == "decide-hold"));
    assert!(due.iter().any(|d| d.tag == cases.due_by_mates.tag && d.task == "gauge"));
    assert!(due.windows(2).all(|w| w[0].rank + 1 == w[1].rank));
    assert!(!due.iter().any(|d| d.tag == cases.retired_end.tag));
}

#[test]
fn the_chain_is_whole() {
    let shop = demo();
    let verified = shop.verify().unwrap();
    assert!(verified.whole && verified.facts > 4000, "{verified:?}");
}
