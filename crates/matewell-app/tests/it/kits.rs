//! Kits, planned work, and what waits for an end.

use crate::lab::{NOW, demo, said};
use matewell_app::{AppError, CaseOrder, TraceOrder, Workshop};
use matewell_demo::demo_lab;
use matewell_wire::{ItemAsked, PieceAsked};

fn labels(text: &[&str]) -> Vec<String> {
    text.iter().map(|t| (*t).to_owned()).collect()
}

fn found(piece: &str, place: &str, capped: Option<bool>) -> PieceAsked {
    PieceAsked { piece: piece.to_owned(), place: place.to_owned(), capped }
}

/// A box with two cables that nobody looked through yet.
fn with_a_kit(shop: &mut Workshop) {
    let asked = ItemAsked { tag: "KIT-77".to_owned(), kind: "kit".to_owned(), ..ItemAsked::default() };
    shop.register_item(&asked, &said(), NOW).unwrap();
    shop.make_kit("KIT-77", &labels(&["CB-001", "CB-002B"]), &said(), NOW).unwrap();
}

fn refused(error: AppError) -> String {
    let AppError::Field { field, message } = error else { panic!("{error}") };
    format!("{field}: {message}")
}

#[test]
fn a_kit_is_whole_only_when_every_piece_was_seen_in_place() {
    let mut shop = demo();
    with_a_kit(&mut shop);
    let state = |shop: &Workshop| {
        let kit = shop.kit("KIT-77", NOW).unwrap();
        (kit.kit.state, kit.kit.text)
    };
    assert_eq!(state(&shop).0, "not-checked");
    let due = |shop: &Workshop| {
        let due = shop.due(None, NOW).unwrap().due;
        due.into_iter().find(|d| d.task == "check-kit" && d.tag == "KIT-77").map(|d| d.text)
    };
    assert!(due(&shop).unwrap().contains("never looked through"));
    shop.check_kit("KIT-77", &[found("CB-001", "in-place", Some(false))], &said(), NOW).unwrap();
    let (word, text) = state(&shop);
    assert_eq!(word, "not-whole");
    assert!(text.contains("1 of 2 pieces") && text.contains("CB-002 not looked for"), "{text}");
    assert!(text.contains("1 without caps"), "{text}");
    assert!(due(&shop).unwrap().contains("1 piece not in place"));
    let all = [found("CB-001", "in-place", Some(true)), found("CB-002", "in-place", None)];
    shop.check_kit("KIT-77", &all, &said(), NOW).unwrap();
    assert_eq!(state(&shop).0, "whole");
    assert_eq!(due(&shop), None);
    // Older than the policy's 30 days.
    let later = NOW.plus_days(30.5);
    assert_eq!(shop.kit("KIT-77", later).unwrap().kit.state, "due");
    assert_eq!(shop.kit("KIT-77", NOW.plus_days(29.5)).unwrap().kit.state, "whole");
    // As it was then.
    assert!(shop.kits(NOW).unwrap().kits.iter().any(|k| k.tag == "KIT-77" && k.state == "whole"));
}

#[test]
fn what_happened_to_a_piece_after_the_check_is_told() {
    let mut shop = demo();
    with_a_kit(&mut shop);
    let all = [found("CB-001", "in-place", Some(true)), found("CB-002", "swapped", Some(true))];
    shop.check_kit("KIT-77", &all, &said(), NOW).unwrap();
    let next = NOW.plus_days(0.01);
    shop.store_away("CB-001", "cable wall", Some(true), &said(), next).unwrap();
    let kit = shop.kit("KIT-77", next).unwrap();
    let piece = kit.pieces.iter().find(|p| p.tag == "CB-001").unwrap();
    assert!(piece.since_then.iter().any(|then| then.contains("cable wall")), "{:?}", piece.since_then);
    assert_eq!(piece.ends.len(), 2);
    assert!(kit.kit.text.contains("CB-002 in the place of another"), "{}", kit.kit.text);
    let laid = shop.storage("cable wall", next).unwrap();
    assert_eq!(laid.put_away[0].tag, "CB-001");
    assert!(shop.storage("no such shelf", next).unwrap().put_away.is_empty());
}

#[test]
fn what_cannot_be_meant_is_refused_by_field_and_nothing_is_written() {
    let mut shop = demo();
    with_a_kit(&mut shop);
    let before = shop.store().counts().unwrap();
    let mut make = |tag: &str, pieces: &[&str]| shop.make_kit(tag, &labels(pieces), &said(), NOW);
    assert!(refused(make("KIT-77", &["CB-001", "CB-001A"]).unwrap_err()).contains("CB-001A twice"));
    assert!(refused(make("KIT-77", &["KIT-77"]).unwrap_err()).contains("the kit KIT-77"));
    assert!(refused(make("KIT-77", &[]).unwrap_err()).starts_with("pieces"));
    assert!(refused(make("CB-001", &["CB-002"]).unwrap_err()).contains("expected a kit"));
    assert!(matches!(make("KIT-77", &["CB-NOT"]).unwrap_err(), AppError::UnknownTag { .. }));
    let mut check =
        |found: &[PieceAsked]| refused(shop.check_kit("KIT-77", found, &said(), NOW).unwrap_err());
    assert!(check(&[found("CB-003", "in-place", None)]).contains("expected pieces of KIT-77, found CB-003"));
    assert!(check(&[found("CB-001", "somewhere", None)]).contains("in-place, swapped, missing"));
    assert!(check(&[found("CB-001", "missing", Some(true))]).starts_with("capped"));
    assert!(check(&[]).starts_with("found"));
    let (from, until) = (NOW.plus_days(2.0), NOW.plus_days(1.0));
    assert!(
        refused(shop.reserve("CB-001", "x", from, until, &said(), NOW).unwrap_err()).starts_with("until")
    );
    assert!(refused(shop.reserve("CB-001", " ", NOW, until, &said(), NOW).unwrap_err()).starts_with("work"));
    assert_eq!(shop.store().counts().unwrap(), before);
}

#[test]
fn a_trace_and_its_work_list_say_what_waits_for_an_end() {
    let mut shop = demo();
    let story = demo_lab(NOW, 1).story;
    let bad = story.repaired.end.tag;
    let order = TraceOrder { tags: vec![bad.clone()], ..TraceOrder::default() };
    let before = shop.trace(&order, NOW).unwrap();
    // Something of its own, not of a gauge, that was reached and is not the source.
    let reached = before.exposed.iter().find(|x| x.hops > 0 && x.end.what == "end").unwrap().clone();
    let waits = |shop: &Workshop| {
        let trace = shop.trace(&order, NOW).unwrap();
        let of = trace.exposed.into_iter().find(|x| x.end.id == reached.end.id).unwrap();
        of.waiting.into_iter().map(|w| (w.what, w.text)).collect::<Vec<_>>()
    };
    let named = |waits: &[(String, String)], what: &str, part: &str| {
        waits.iter().filter(|(w, text)| w == what && text.contains(part)).count()
    };
    assert_eq!(named(&waits(&shop), "reserved", ""), 0);
    let written = shop
        .reserve(&reached.item_tag, "the spring survey", NOW.plus_days(3.0), NOW.plus_days(5.0), &said(), NOW)
        .unwrap();
    with_a_kit(&mut shop);
    shop.make_kit("KIT-77", std::slice::from_ref(&reached.item_tag), &said(), NOW).unwrap();
    shop.reserve("KIT-77", "the autumn survey", NOW.plus_days(60.0), NOW.plus_days(61.0), &said(), NOW)
        .unwrap();
    let now = waits(&shop);
    assert_eq!(named(&now, "reserved", "the spring survey"), 1, "{now:?}");
    assert_eq!(named(&now, "kit", "KIT-77 is not whole"), 1, "{now:?}");
    assert_eq!(named(&now, "reserved", "with the kit KIT-77 for the autumn survey"), 1, "{now:?}");
    // The work list ranks by it: 1, then 2 for work within a week and 0.5 for
    // the kit; work in two months is told and ranks nothing.
    let case = CaseOrder { tags: vec![bad], because: "pin protrudes".to_owned(), ..CaseOrder::default() };
    let opened = shop.open_case(&case, &said(), NOW).unwrap().case;
    let pressure = |case: &matewell_wire::CaseJson| {
        let line = case.work.iter().find(|w| w.id == reached.end.id).unwrap();
        (line.pressure, line.urgent_because.clone())
    };
    let (with, because) = pressure(&opened);
    assert!(because.iter().any(|b| b.contains("the autumn survey")), "{because:?}");
    // Called off, the piece taken out of the kit: what is left is the urgency
    // without them.
    shop.take_back(written.facts[0].parse().unwrap(), "moved to June", &said(), NOW).unwrap();
    shop.make_kit("KIT-77", &labels(&["CB-001"]), &said(), NOW.plus_days(0.001)).unwrap();
    let later = NOW.plus_days(0.002);
    let case = shop.case(&opened.case.id, later).unwrap();
    let (without, because) = pressure(&case);
    assert!(!because.iter().any(|b| b.contains("survey") || b.contains("kit")), "{because:?}");
    let scale = before_scale(&case, &reached.end.id, without);
    assert!((with - without - 2.5 * scale).abs() < 1e-9 * with, "{with} {without} {scale}");
}

/// Pressure of an urgency of one: cost at risk times the share.
fn before_scale(case: &matewell_wire::CaseJson, id: &str, pressure: f64) -> f64 {
    let line = case.work.iter().find(|w| w.id == id).unwrap();
    let cost = line.cost_hundredths.map_or(500.0, |hundredths| hundredths as f64 / 100.0);
    let share = if line.certainty.as_deref() == Some("possible") { 0.5 } else { 1.0 };
    let passes = matewell_app::Sheets::embedded().unwrap().policy().contact_passes.value;
    let scale = cost * passes.powi(i32::try_from(line.hops).unwrap()) * share;
    assert!(pressure >= scale);
    scale
}
