//! At the bench: mates, refusals, overrides, taking back, keys.

use crate::lab::{NOW, REGISTER, empty, said};
use matewell_app::{AppError, ImportOrder, LoggedMate, MateOrder, Workshop};
use matewell_lab::{InspectionOutcome, PinPosition};
use matewell_quantity::Length;

fn shop() -> Workshop {
    let mut shop = empty();
    let order = ImportOrder {
        bytes: REGISTER.into(),
        file_name: "register.csv".to_owned(),
        ..ImportOrder::default()
    };
    let report = shop.import(&order, &said(), NOW).unwrap();
    assert!(report.written, "{}", report.text());
    shop
}

fn gauge(shop: &mut Workshop, tag: &str, um: f64) {
    let readings =
        (0..3).map(|_| PinPosition::recessed(Length::from_micrometres(um).unwrap()).unwrap()).collect();
    let u = Length::from_micrometres(1.5).unwrap();
    shop.gauge(tag, readings, None, Some(u), &said(), NOW).unwrap();
}

fn pair<'a>() -> MateOrder<'a> {
    MateOrder { a: "CB-1A", b: "IN-1P2", ..MateOrder::default() }
}

#[test]
fn a_refused_mate_is_a_fact_and_no_mate_is_logged() {
    let mut shop = shop();
    let error = shop.mate(&pair(), &said(), NOW).unwrap_err();
    let AppError::Refused { check, .. } = error else { panic!("{error}") };
    assert_eq!(check.answer, "undecided");
    let end = shop.end("CB-1A", NOW).unwrap();
    let kinds: Vec<&str> = end.history.iter().map(|e| e.kind.as_str()).collect();
    assert_eq!(kinds, ["refused", "registered"]);
    assert_eq!(end.contacts, 0);
    assert!(shop.due(None, NOW).unwrap().due.iter().any(|d| d.task == "follow-up"));
}

#[test]
fn an_override_needs_a_reason_and_opens_a_follow_up() {
    let mut shop = shop();
    let blank = MateOrder { override_because: Some("  "), ..pair() };
    assert!(matches!(shop.mate(&blank, &said(), NOW), Err(AppError::Refused { .. })));
    let order = MateOrder { override_because: Some("the slot ends at noon"), ..pair() };
    let written = shop.mate(&order, &said(), NOW).unwrap();
    assert_eq!(written.facts.len(), 3);
    let end = shop.end("CB-1A", NOW).unwrap();
    assert_eq!(end.contacts, 1);
    assert_eq!(end.mated_with.unwrap().tag, "IN-1P2");
    assert!(end.history[0].text.contains("under an override"), "{}", end.history[0].text);
    let due = shop.due(None, NOW).unwrap().due;
    assert!(due.iter().any(|d| d.task == "follow-up" && d.text.contains("override")));
}

#[test]
fn a_good_pair_is_logged_with_one_fact_and_can_be_taken_back() {
    let mut shop = shop();
    gauge(&mut shop, "CB-1A", 12.0);
    gauge(&mut shop, "IN-1P2", 20.0);
    let written = shop.mate(&pair(), &said(), NOW).unwrap();
    assert_eq!(written.facts.len(), 1);
    assert_eq!(shop.end("CB-1A", NOW).unwrap().contacts, 2);
    let fact = written.facts[0].parse().unwrap();
    shop.take_back(fact, "wrong label", &said(), NOW).unwrap();
    let end = shop.end("CB-1A", NOW).unwrap();
    assert_eq!(end.contacts, 1);
    assert!(end.history.iter().any(|e| e.corrected && e.kind == "mated"));
}

#[test]
fn an_item_with_two_ends_asks_which() {
    let shop = shop();
    let AppError::WhichEnd { candidates, .. } = shop.check("CB-1", "IN-1P2", None, None, NOW).unwrap_err()
    else {
        panic!("expected a question")
    };
    assert_eq!(candidates, ["CB-1A", "CB-1B"]);
    assert!(matches!(shop.check("CB-99", "IN-1P2", None, None, NOW), Err(AppError::UnknownTag { .. })));
}

#[test]
fn a_label_is_found_whatever_its_case_and_spaces() {
    let shop = shop();
    assert_eq!(shop.end(" cb-1a ", NOW).unwrap().standing.end.tag, "CB-1A");
}

#[test]
fn the_same_key_writes_once_and_answers_the_same() {
    let mut shop = shop();
    let mut keyed = said();
    keyed.key = Some(("k1".to_owned(), [1; 32]));
    let one = shop.clean("CB-1A", None, &keyed, NOW).unwrap();
    let again = shop.clean("CB-1A", None, &keyed, NOW).unwrap();
    assert_eq!(serde_json::to_string(&one).unwrap(), serde_json::to_string(&again).unwrap());
    assert_eq!(again.ends.len(), 1);
    assert_eq!(shop.end("CB-1A", NOW).unwrap().history.iter().filter(|e| e.kind == "cleaned").count(), 1);
    // What was written since shows in how the end stands, and in nothing else.
    shop.hold("CB-1A", "dropped", &said(), NOW).unwrap();
    let since = shop.clean("CB-1A", None, &keyed, NOW).unwrap();
    assert_eq!((&since.facts, since.ends[0].standing.as_str()), (&one.facts, "do-not-mate"));
    shop.release("CB-1A", "looked good", None, &said(), NOW).unwrap();
    // Also a refusal is recorded once.
    keyed.key = Some(("k2".to_owned(), [2; 32]));
    assert!(matches!(shop.mate(&pair(), &keyed, NOW), Err(AppError::Refused { .. })));
    assert!(matches!(shop.mate(&pair(), &keyed, NOW), Err(AppError::Refused { .. })));
    assert_eq!(shop.end("CB-1A", NOW).unwrap().history.iter().filter(|e| e.kind == "refused").count(), 1);
    // The same key with another request is a conflict.
    keyed.key = Some(("k1".to_owned(), [3; 32]));
    assert!(matches!(shop.clean("CB-1A", None, &keyed, NOW), Err(AppError::Conflict(_))));
}

#[test]
fn damage_holds_until_a_release_with_a_reason() {
    let mut shop = shop();
    gauge(&mut shop, "CB-1A", 12.0);
    let (seen, released) = (NOW.plus_days(0.01), NOW.plus_days(0.02));
    shop.inspect(
        "CB-1A",
        InspectionOutcome::Damaged,
        vec!["bent-finger".to_owned()],
        Some(7.0),
        &said(),
        NOW,
    )
    .unwrap();
    assert_eq!(shop.end("CB-1A", seen).unwrap().standing.standing, "do-not-mate");
    assert!(shop.release("CB-1A", " ", None, &said(), released).is_err());
    shop.release("CB-1A", "it was a fibre", None, &said(), released).unwrap();
    assert_eq!(shop.end("CB-1A", released).unwrap().standing.standing, "usable");
    assert!(matches!(shop.release("CB-1A", "again", None, &said(), released), Err(AppError::Conflict(_))));
}

#[test]
fn a_slip_of_the_unit_is_asked_and_nothing_is_written() {
    let mut shop = shop();
    let reading = |um: f64| PinPosition::recessed(Length::from_micrometres(um).unwrap()).unwrap();
    for readings in [vec![reading(12_700.0)], vec![reading(12.0), reading(11.0), reading(130.0)], vec![]] {
        assert!(matches!(
            shop.gauge("CB-1A", readings, None, None, &said(), NOW),
            Err(AppError::Field { .. })
        ));
    }
    assert_eq!(shop.end("CB-1A", NOW).unwrap().history.len(), 1);
}

#[test]
fn a_rig_logs_many_mates_all_or_nothing() {
    let mut shop = shop();
    let mate =
        |b: &str| LoggedMate { a: "CB-1A".to_owned(), b: b.to_owned(), happened_at: NOW, wrench: None };
    assert!(shop.log_mates(&[mate("IN-1P2"), mate("NOPE")], &said(), NOW).is_err());
    assert!(shop.log_mates(&[mate("IN-1P2"), mate("CB-1A")], &said(), NOW).is_err());
    assert_eq!(shop.end("CB-1A", NOW).unwrap().contacts, 0);
    shop.log_mates(&[mate("IN-1P2"), mate("IN-1P2")], &said(), NOW).unwrap();
    assert_eq!(shop.end("CB-1A", NOW).unwrap().contacts, 2);
}

#[test]
fn the_future_is_refused() {
    let mut shop = shop();
    let mut early = said();
    early.happened_at = Some(NOW.plus_days(3.0));
    assert!(matches!(shop.clean("CB-1A", None, &early, NOW), Err(AppError::Field { .. })));
}

#[test]
fn a_late_entry_counts_when_it_happened() {
    let mut shop = shop();
    let mut late = said();
    late.happened_at = Some(NOW.plus_days(-0.5));
    shop.hold("CB-1A", "dropped", &late, NOW).unwrap();
    gauge(&mut shop, "CB-1A", 12.0);
    let before = shop.check("CB-1A", "IN-1P2", None, None, NOW.plus_days(-0.25));
    // Registered only now, so the past did not know the end.
    assert!(before.is_err());
    assert_eq!(shop.check("CB-1A", "IN-1P2", None, None, NOW).unwrap().answer, "stop");
}

/// Jobs of the demo lab fall on other weekdays every day it is made; what it
/// is to show stays.
#[test]
fn the_good_pair_of_the_demo_lab_is_good_on_every_day_it_is_made() {
    for day in 0..14 {
        let now = NOW.plus_days(f64::from(day) + 0.3);
        let mut shop = empty();
        shop.demo(now).unwrap();
        let answer = |a: &str, b: &str| shop.check(a, b, None, None, now).unwrap().answer;
        assert_eq!(answer("CB-008A", "IN-004P1"), "go-with-care", "day {day}");
        assert_eq!(answer("CB-031A", "AD-008A"), "stop", "day {day}");
        assert_eq!(answer("CB-007A", "IN-004P1"), "undecided", "day {day}");
    }
}
