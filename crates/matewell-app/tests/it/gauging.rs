//! Gauging sessions, questions about likely slips, tool checks, and tools that
//! were off.

use crate::lab::{NOW, demo, said};
use matewell_app::{AppError, Workshop};
use matewell_demo::{Story, demo_lab};
use matewell_lab::{FactBody, Moment, end_record};
use matewell_wire::{
    GaugingAsked, PositionAsked, ToolCheckAsked, TorqueStudyAsked, WasOffAsked, moment_text,
};

fn story() -> Story {
    demo_lab(NOW, 1).story
}

fn at(word: &str, distance: &str) -> PositionAsked {
    PositionAsked { word: word.to_owned(), distance: distance.to_owned() }
}

fn recessed(distances: &[&str]) -> Vec<PositionAsked> {
    distances.iter().map(|d| at("recessed", d)).collect()
}

fn zero(distances: &[&str]) -> Vec<PositionAsked> {
    distances.iter().map(|d| if *d == "0um" { at("", d) } else { at("recessed", d) }).collect()
}

/// A whole session on a 3.5 mm end with its own gauge and master.
fn session() -> GaugingAsked {
    GaugingAsked {
        end: "CB-014A".to_owned(),
        gauge: Some("GA-001".to_owned()),
        readings: recessed(&["12um", "11um", "13um"]),
        master: Some("GM-001".to_owned()),
        zero_before: zero(&["0um", "0.5um"]),
        zero_after: zero(&["0um", "0um"]),
        ..GaugingAsked::default()
    }
}

fn questions(shop: &mut Workshop, asked: &GaugingAsked) -> Vec<String> {
    let before = shop.store().counts().unwrap().facts;
    let codes = match shop.gauge_session(asked, &said(), NOW) {
        Err(AppError::Questions(found)) => found.into_iter().map(|q| q.code).collect(),
        other => panic!("expected questions, found {other:?}"),
    };
    assert_eq!(shop.store().counts().unwrap().facts, before, "a question writes nothing");
    codes
}

fn refused(asked: &GaugingAsked) -> (&'static str, String) {
    match demo().gauging_budget(asked, "technician-1", NOW) {
        Err(AppError::Field { field, message }) => (field, message),
        other => panic!("expected a field, found {other:?}"),
    }
}

#[test]
fn a_session_shows_its_budget_and_is_written_as_shown() {
    let mut shop = demo();
    let facts = shop.store().counts().unwrap().facts;
    let budget = shop.gauging_budget(&session(), "technician-1", NOW).unwrap();
    assert_eq!(shop.store().counts().unwrap().facts, facts, "a budget writes nothing");
    // Mean 12, mean zero 0.25 recessed: 11.75 by hand.
    assert!((budget.pin.distance_um.unwrap() - 11.75).abs() < 1e-9);
    assert_eq!(budget.pin.decision, "shown-safe");
    // By hand, µm: 1/√3, 0.6/√2, 1/√12 twice, 0.5/√3, 1.5, 0.12/√3, 0.5/√3, 0.2/√3, 0.3.
    let squares =
        1.0 / 3.0 + 0.18 + 2.0 / 12.0 + 0.25 / 3.0 + 2.25 + 0.0144 / 3.0 + 0.25 / 3.0 + 0.04 / 3.0 + 0.09;
    assert!((budget.u_um.unwrap() - f64::sqrt(squares)).abs() < 1e-9, "{:?}", budget.u_um);
    let shares: f64 = budget.lines.iter().map(|l| l.share).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    let registered = budget.lines.iter().filter(|l| !l.typical).count();
    assert_eq!((registered, budget.lines.len()), (4, 10));
    assert!(budget.questions.is_empty(), "{:?}", budget.questions);
    shop.gauge_session(&session(), &said(), NOW).unwrap();
    assert_eq!(shop.end("CB-014A", NOW).unwrap().standing.pin, budget.pin);
    assert!(shop.verify().unwrap().whole);
}

/// The master's label need not be typed at every session: its certificate on
/// record says where its pin stands and how sure that is.
#[test]
fn a_session_takes_the_masters_position_from_its_certificate() {
    let mut shop = demo();
    let certificate = ToolCheckAsked {
        certificate: Some("LRW-M-1".to_owned()),
        position: Some(at("recessed", "3um")),
        standard_uncertainty: Some("0.4um".to_owned()),
        in_order: true,
        ..ToolCheckAsked::default()
    };
    shop.tool_check("GM-001", &certificate, &said(), NOW.plus_days(-0.5)).unwrap();
    let budget = |asked: &GaugingAsked| shop.gauging_budget(asked, "technician-1", NOW).unwrap();
    let found = budget(&session());
    // 12 less a zero of 0.25, and the master itself 3 recessed: 14.75 by hand.
    assert!((found.pin.distance_um.unwrap() - 14.75).abs() < 1e-9, "{:?}", found.pin);
    let typed = GaugingAsked { master_position: Some(at("recessed", "1um")), ..session() };
    assert!((budget(&typed).pin.distance_um.unwrap() - 12.75).abs() < 1e-9, "what is typed goes first");
    // Set to the master without a note of what it showed: it showed 3 recessed.
    let unread = GaugingAsked { zero_before: Vec::new(), zero_after: Vec::new(), ..session() };
    assert!((budget(&unread).pin.distance_um.unwrap() - 12.0).abs() < 1e-9);
    assert!(found.questions.is_empty(), "{:?}", found.questions);
    // A later certificate that leaves the position out: neither the old one nor flush is just taken.
    let bare = ToolCheckAsked {
        certificate: Some("LRW-M-2".to_owned()),
        in_order: true,
        ..ToolCheckAsked::default()
    };
    shop.tool_check("GM-001", &bare, &said(), NOW.plus_days(-0.25)).unwrap();
    let budget = |asked: &GaugingAsked| shop.gauging_budget(asked, "technician-1", NOW).unwrap();
    let asked = budget(&session()).questions;
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert_eq!(asked[0].code, "master-position-left-out");
    assert!(
        asked[0].text.contains("LRW-M-1") && asked[0].text.contains("recessed by 3 µm"),
        "{}",
        asked[0].text
    );
    assert!(budget(&typed).questions.is_empty(), "what is typed is not asked about");
    let sure = GaugingAsked { sure: vec![asked[0].code.clone()], ..session() };
    assert!(budget(&sure).questions.is_empty());
}

#[test]
fn a_value_on_a_certificate_needs_a_master_and_its_position() {
    let mut shop = demo();
    let of = |position: Option<PositionAsked>, u: &str| ToolCheckAsked {
        certificate: Some("LRW-M-1".to_owned()),
        position,
        standard_uncertainty: Some(u.to_owned()).filter(|u| !u.is_empty()),
        ..ToolCheckAsked::default()
    };
    for (tool, asked, field) in [
        ("GA-001", of(Some(at("recessed", "3um")), ""), "position"),
        ("GM-001", of(None, "0.4um"), "position"),
        ("GM-001", of(Some(at("recessed", "3um")), "0um"), "standard_uncertainty"),
        ("GM-001", of(Some(at("", "3um")), ""), "position"),
    ] {
        match shop.tool_check(tool, &asked, &said(), NOW) {
            Err(AppError::Field { field: found, .. }) => assert_eq!(found, field, "{asked:?}"),
            other => panic!("{asked:?}: {other:?}"),
        }
    }
    let u = GaugingAsked { master_standard_uncertainty: Some("0.4um".to_owned()), ..session() };
    assert_eq!(refused(&u).0, "master_position");
}

#[test]
fn a_zero_that_moved_voids_the_session() {
    let mut shop = demo();
    let mut asked = session();
    // Three times the typical 0.6 µm is 1.8 µm; from 0.25 to 2.25 the zero moved by 2.
    asked.zero_after = zero(&["2.25um", "2.25um"]);
    let budget = shop.gauging_budget(&asked, "technician-1", NOW).unwrap();
    assert!(budget.void && budget.pin.decision == "not-shown-safe");
    shop.gauge_session(&asked, &said(), NOW).unwrap();
    let end = shop.end("CB-014A", NOW).unwrap().standing;
    assert_eq!(end.standing, "undecided");
    for code in ["session-void", "zero-moved"] {
        assert!(end.findings.iter().any(|f| f.code == code), "{code}");
    }
}

#[test]
fn likely_slips_are_asked_about_and_nothing_is_lost() {
    let mut shop = demo();
    let with = |change: &dyn Fn(&mut GaugingAsked)| {
        let mut asked = session();
        change(&mut asked);
        asked
    };
    let mixed = with(&|a| a.readings = recessed(&["12um", "0.5mil", "13um"]));
    assert_eq!(questions(&mut shop, &mixed), ["mixed-units"]);
    let far = with(&|a| a.readings = recessed(&["12um", "130um", "11um"]));
    assert_eq!(questions(&mut shop, &far), ["far-reading"]);
    let few = with(&|a| a.readings = recessed(&["12um", "13um"]));
    assert_eq!(questions(&mut shop, &few), ["few-readings"]);
    let other = with(&|a| a.master = Some("GM-002".to_owned()));
    assert_eq!(questions(&mut shop, &other), ["other-master"]);
    let mut sure = other.clone();
    sure.sure = vec!["other-master".to_owned()];
    shop.gauge_session(&sure, &said(), NOW).unwrap();
    assert!(shop.export_lines().unwrap().contains("\"sure\":[\"other-master\"]"));
    // 100 days later nobody has checked the gauge again.
    let late = NOW.plus_days(100.0);
    let found = shop.gauging_budget(&session(), "technician-1", late).unwrap().questions;
    assert!(found.iter().any(|q| q.code == "gauge-out-of-date" && q.field == "gauge"), "{found:?}");
}

#[test]
fn what_cannot_be_understood_is_an_error_at_its_field() {
    let with = |distance: &str, word: &str| {
        let mut asked = session();
        asked.readings[1] = at(word, distance);
        refused(&asked)
    };
    assert!(with("-12um", "recessed").1.contains("makers and tables disagree"));
    assert!(with("12", "recessed").1.contains("expected a unit"));
    assert!(with("1,000um", "recessed").1.contains("two ways"));
    assert!(with("12um", "").1.contains("recessed or protruding"));
    assert!(with("2mm", "recessed").1.contains("is the unit right?"));
    let mut asked = session();
    asked.master = Some("CB-014".to_owned());
    assert_eq!(refused(&asked).0, "master");
    asked = session();
    asked.gauge = None;
    assert_eq!(refused(&asked).0, "gauge");
    asked = session();
    asked.zero_before.clear();
    assert_eq!(refused(&asked).0, "zero_before");
    asked = session();
    asked.turned_deg = vec![0.0, 120.0];
    assert_eq!(refused(&asked).0, "turned_deg");
    asked = session();
    asked.readings.clear();
    assert_eq!(refused(&asked).0, "readings");
    assert!(matches!(
        demo().gauging_budget(&GaugingAsked { end: "NOPE".to_owned(), ..session() }, "t", NOW),
        Err(AppError::UnknownTag { .. })
    ));
}

#[test]
fn an_eye_and_a_gauge_without_a_certificate_show_nothing_safe() {
    let shop = demo();
    let eye = GaugingAsked {
        end: "CB-014A".to_owned(),
        readings: recessed(&["20um"]),
        method: Some("eye".to_owned()),
        ..GaugingAsked::default()
    };
    assert_eq!(shop.gauging_budget(&eye, "t", NOW).unwrap().pin.decision, "gauge-cannot-decide");
    // GA-008 has no certificate: its typical budget is shown and decides nothing.
    let old = GaugingAsked {
        end: "CB-001A".to_owned(),
        gauge: Some("GA-008".to_owned()),
        master: Some("GM-002".to_owned()),
        readings: recessed(&["40um", "40um", "40um"]),
        ..GaugingAsked::default()
    };
    let budget = shop.gauging_budget(&old, "t", NOW).unwrap();
    assert_eq!(budget.pin.decision, "unknown");
    assert!(budget.lines.iter().any(|l| l.name == "gauge certificate" && l.typical));
}

fn window() -> WasOffAsked {
    let story = story().gauge_off;
    WasOffAsked {
        since: moment_text(story.last_good_at),
        until: moment_text(story.found_off_at),
        by: Some("8um".to_owned()),
        drift: true,
        ..WasOffAsked::default()
    }
}

#[test]
fn the_gauge_that_was_off_flips_the_end_that_was_planted() {
    let mut shop = demo();
    let story = story().gauge_off;
    let facts = shop.store().counts().unwrap().facts;
    let found = shop.was_off(&story.gauge.tag, &window(), &said(), NOW).unwrap();
    assert_eq!(shop.store().counts().unwrap().facts, facts, "nothing is written unless asked");
    assert_eq!(found.found_by, Some(story.found_off.to_string()));
    assert_eq!((found.too.as_deref(), found.way.as_str()), (Some("recessed"), "drift"));
    let inside = demo_lab(NOW, 1)
        .facts
        .iter()
        .filter(|f| matches!(&f.body, FactBody::Gauged(g) if g.gauge == Some(story.gauge.id)))
        .filter(|f| story.last_good_at <= f.happened_at && f.happened_at <= story.found_off_at)
        .count();
    assert_eq!(found.gaugings.len(), inside);
    let first = &found.gaugings[0];
    assert_eq!((first.fact.clone(), first.flips), (story.flipped_gauging.to_string(), true));
    assert_eq!((first.end.tag.as_str(), first.after.decision.as_str()), (story.flipped.tag.as_str(), "out"));
    assert_ne!(first.before.decision, "out");
    // 17 of about 20 days into the drift: 6.8 µm of 8; 5 recessed become 1.8 protruding.
    assert!((first.offset_um - 6.8).abs() < 0.2, "{}", first.offset_um);
    assert_eq!(first.after.word.as_deref(), Some("protruding"));
    assert!((first.after.distance_um.unwrap() - (first.offset_um - 5.0)).abs() < 1e-9);
    // Flips first, then by time; the whole taken out is linear in time.
    let flips = usize::try_from(found.flips).unwrap();
    assert!(found.gaugings[..flips].iter().all(|g| g.flips));
    assert!(found.gaugings[flips..].iter().all(|g| !g.flips));
    assert!(found.gaugings[flips..].windows(2).all(|w| w[0].at <= w[1].at));
    assert!(found.gaugings[flips..].windows(2).all(|w| w[0].offset_um <= w[1].offset_um + 1e-9));
    // A step takes all 8 µm out of every one: nothing it shows safe is nearer the plane.
    assert!(found.gaugings.iter().all(|g| g.offset_um >= 0.0 && g.offset_um <= 8.0));
}

#[test]
fn corrections_keep_the_originals_and_are_written_once() {
    let mut shop = demo();
    let story = story().gauge_off;
    let asked = WasOffAsked { write: true, ..window() };
    let mut said = said();
    said.key = Some(("k-1".to_owned(), [7; 32]));
    let facts = shop.store().counts().unwrap().facts;
    let first = shop.was_off(&story.gauge.tag, &asked, &said, NOW).unwrap();
    let written = shop.store().counts().unwrap().facts - facts;
    assert_eq!(written, first.gaugings.len() as u64);
    assert_eq!(shop.was_off(&story.gauge.tag, &asked, &said, NOW).unwrap(), first);
    assert_eq!(shop.store().counts().unwrap().facts - facts, written, "the same key writes once");
    // The original is still there, and the end is now out.
    let original = shop.store().fact(story.flipped_gauging).unwrap().unwrap().fact;
    let FactBody::Gauged(gauged) = &original.body else { panic!("a gauging") };
    assert!(gauged.session.is_none() && gauged.readings.len() == 3);
    let end = shop.end(&story.flipped.tag, NOW).unwrap().standing;
    assert_eq!((end.standing.as_str(), end.pin.decision.as_str()), ("do-not-mate", "out"));
    assert!(end.findings.iter().any(|f| f.code == "gauge-was-off"));
    assert!(shop.verify().unwrap().whole);
    // Seen before anybody knew... the correction says what was true all along.
    let early = shop.end(&story.flipped.tag, story.found_off_at).unwrap().standing;
    assert_eq!(early.pin.decision, "out");
    // Order of entry never changes the record.
    let mut facts = shop.store().facts_of_end(story.flipped.id).unwrap();
    let forward = end_record(story.flipped.id, &facts, NOW);
    facts.reverse();
    assert_eq!(end_record(story.flipped.id, &facts, NOW), forward);
    // Run again: the offset is taken out of the readings as read, not twice.
    let again = shop.was_off(&story.gauge.tag, &window(), &said, NOW).unwrap();
    assert_eq!(again.flips, 0);
    assert_eq!(again.gaugings.iter().map(|g| &g.after).filter(|p| p.decision == "out").count(), 1);
    let history = shop.pin_history(&story.flipped.tag, NOW).unwrap();
    assert!(history.points.iter().any(|p| p.gauge_was_off && p.fact == story.flipped_gauging.to_string()));
}

#[test]
fn everything_comes_back_after_an_export_of_corrections() {
    let mut shop = demo();
    shop.was_off("GA-002", &WasOffAsked { write: true, ..window() }, &said(), NOW).unwrap();
    shop.gauge_session(&session(), &said(), NOW).unwrap();
    let lines = shop.export_lines().unwrap();
    for line in lines.lines() {
        let json: matewell_record::FactJson = serde_json::from_str(line).unwrap();
        assert_eq!(matewell_record::FactJson::of(&json.fact().unwrap()).unwrap().to_line().unwrap(), line);
    }
    // A table shows what stands: 40, 50, 60 less 6.8.
    let csv = shop.export_csv("gaugings").unwrap();
    let row = csv.lines().find(|l| l.contains("CB-004A") && l.contains("protruding")).unwrap();
    assert!(row.contains("um protruding"), "{row}");
}

#[test]
fn a_session_zeroed_on_its_own_master_stays_as_it_is() {
    let mut shop = demo();
    shop.gauge_session(&session(), &said(), NOW).unwrap();
    let asked = WasOffAsked {
        since: moment_text(NOW.plus_days(-1.0)),
        until: moment_text(NOW.plus_days(1.0)),
        by: Some("8um".to_owned()),
        too: Some("recessed".to_owned()),
        ..WasOffAsked::default()
    };
    let found = shop.was_off("GA-001", &asked, &said(), NOW).unwrap();
    assert_eq!(found.untouched.len(), 1);
    assert!(found.gaugings.iter().all(|g| g.end.tag != "CB-014A" || g.at != moment_text(NOW)));
    let all = WasOffAsked { even_if_zeroed: true, ..asked };
    let found = shop.was_off("GA-001", &all, &said(), NOW).unwrap();
    let mine = found.gaugings.iter().find(|g| g.end.tag == "CB-014A").unwrap();
    assert!((mine.after.distance_um.unwrap() - 3.75).abs() < 1e-9);
}

#[test]
fn what_was_off_needs_an_amount_a_way_and_a_window() {
    let mut shop = demo();
    let ask =
        |shop: &mut Workshop, tag: &str, asked: &WasOffAsked| match shop.was_off(tag, asked, &said(), NOW) {
            Err(AppError::Field { field, .. }) => field,
            other => panic!("expected a field, found {other:?}"),
        };
    let turned = WasOffAsked { since: window().until, until: window().since, ..window() };
    assert_eq!(ask(&mut shop, "GA-002", &turned), "until");
    assert_eq!(ask(&mut shop, "GA-002", &WasOffAsked { by: Some("-8um".to_owned()), ..window() }), "by");
    assert_eq!(ask(&mut shop, "GA-002", &WasOffAsked { too: Some("plus".to_owned()), ..window() }), "too");
    assert_eq!(ask(&mut shop, "GA-001", &window()), "too");
    assert_eq!(ask(&mut shop, "GA-001", &WasOffAsked { by: None, ..window() }), "by");
    assert_eq!(ask(&mut shop, "TW-002", &WasOffAsked { write: true, ..window() }), "write");
    assert_eq!(ask(&mut shop, "GM-001", &window()), "tool");
}

#[test]
fn a_wrench_that_was_off_lists_its_joints_brass_first() {
    let mut shop = demo();
    let story = story().wrench_off;
    let asked = WasOffAsked {
        since: moment_text(story.last_good_at),
        until: moment_text(story.found_off_at),
        ..WasOffAsked::default()
    };
    let found = shop.was_off(&story.wrench.tag, &asked, &said(), NOW).unwrap();
    assert!((found.applied_n_m.unwrap() - 1.36).abs() < 0.02);
    let used = demo_lab(NOW, 1)
        .facts
        .iter()
        .filter(|f| matches!(&f.body, FactBody::Mated(m) if m.wrench == Some(story.wrench.id)))
        .filter(|f| story.last_good_at <= f.happened_at && f.happened_at <= story.found_off_at)
        .count();
    assert_eq!(found.joints.len(), used);
    assert!(used >= 8);
    assert!(found.joints.iter().zip(1..).all(|(j, n)| j.rank == n));
    assert!(found.joints.windows(2).all(|w| w[0].over.unwrap_or(1.0) >= w[1].over.unwrap_or(1.0)));
    let first = &found.joints[0];
    assert_eq!(first.body, "brass");
    assert!(first.over.unwrap() > 1.0, "{}", first.text);
}

#[test]
fn a_tool_check_does_the_arithmetic_and_refuses_a_contradiction() {
    let mut shop = demo();
    let reads = |texts: &[&str]| ToolCheckAsked {
        reads: texts.iter().map(|t| (*t).to_owned()).collect(),
        in_order: true,
        ..ToolCheckAsked::default()
    };
    // Set 0.90, reference 0.94: −4.2553 % (worked by hand from ISO 6789-1's definition).
    let good = shop.tool_check("TW-002", &reads(&["0.94N.m", "0.94N.m"]), &said(), NOW).unwrap();
    let torque = good.torque.unwrap();
    assert!((torque.mean_deviation_percent + 4.2553).abs() < 5e-5 && torque.conforms);
    assert_eq!(torque.not_measured.len(), 5, "{:?}", torque.not_measured);
    // With all that ISO 6789-2 asks for, relative to the mean reference of 0.94 N·m, in percent:
    // b/(2√3) of 0.010, 0.004, 0.003 and 0.006 N·m, and a device of 0.25.
    let whole = ToolCheckAsked {
        reproducibility: Some("0.010N.m".to_owned()),
        output_drive: Some("0.004N.m".to_owned()),
        interface: Some("0.003N.m".to_owned()),
        loading_point: Some("0.006N.m".to_owned()),
        device_percent: Some(0.25),
        ..reads(&["0.94N.m", "0.94N.m"])
    };
    let torque = shop.tool_check("TW-002", &whole, &said(), NOW).unwrap().torque.unwrap();
    let parts: f64 =
        [0.010_f64, 0.004, 0.003, 0.006].iter().map(|b| (100.0 * b / 12f64.sqrt() / 0.94).powi(2)).sum();
    let expanded = 2.0 * (parts + 0.25 * 0.25).sqrt();
    assert!((torque.expanded_percent.unwrap() - expanded).abs() < 1e-9, "{torque:?}");
    assert!(torque.not_measured.is_empty());
    let study = TorqueStudyAsked {
        tool: Some("TW-002".to_owned()),
        device: Some("0.25".to_owned()),
        ..TorqueStudyAsked::default()
    };
    let study = shop.torque_study(&study, NOW.plus_days(0.1)).unwrap().value;
    assert!(
        (study.expanded_w_percent - expanded).abs() < 1e-9,
        "the study of the check on record: {study:?}"
    );
    let facts = shop.store().counts().unwrap().facts;
    let bad = shop.tool_check("TW-002", &reads(&["1.36N.m", "1.35N.m"]), &said(), NOW);
    assert!(matches!(bad, Err(AppError::Field { field: "in_order", .. })), "{bad:?}");
    let both = ToolCheckAsked { certificate: Some("X".to_owned()), ..reads(&["0.9N.m"]) };
    assert!(matches!(shop.tool_check("TW-002", &both, &said(), NOW), Err(AppError::Field { .. })));
    assert!(matches!(
        shop.tool_check("GA-001", &reads(&["0.9N.m"]), &said(), NOW),
        Err(AppError::Field { .. })
    ));
    assert_eq!(shop.store().counts().unwrap().facts, facts);
    let zero = ToolCheckAsked { zero: Some(at("recessed", "8um")), ..ToolCheckAsked::default() };
    shop.tool_check("GA-001", &zero, &said(), Moment::from_microseconds(NOW.microseconds() + 1)).unwrap();
    let end = shop.end("CB-014A", NOW.plus_days(0.1)).unwrap().standing;
    assert!(end.findings.iter().any(|f| f.code == "gauge-not-in-order"), "{:?}", end.findings);
}

#[test]
fn tools_are_listed_with_what_is_not_in_order_first() {
    let mut shop = demo();
    let zero = ToolCheckAsked { zero: Some(at("recessed", "8um")), ..ToolCheckAsked::default() };
    shop.tool_check("GA-003", &zero, &said(), NOW).unwrap();
    let list = shop.tools(NOW).unwrap().tools;
    assert_eq!((list[0].tag.as_str(), list[0].standing.as_str()), ("GA-003", "out-of-order"));
    assert!(list.iter().any(|t| t.kind == "torque-wrench" && t.set_point_n_m == Some(0.9)));
    assert!(list.iter().any(|t| t.standing == "in-date"));
    // As in the list of what is due.
    let due: Vec<String> = shop
        .due(None, NOW)
        .unwrap()
        .due
        .into_iter()
        .filter(|d| d.task == "check-tool")
        .map(|d| d.tag)
        .collect();
    for tool in list.iter().filter(|t| t.kind != "gauge-master") {
        assert_eq!(due.contains(&tool.tag), tool.standing != "in-date", "{tool:?}");
    }
    let full = shop.tool_in_full("ga-003", NOW).unwrap();
    assert!(full.history[0].text.contains("8.0 µm too far recessed"), "{:?}", full.history[0]);
    assert!(full.history.iter().all(|e| e.kind != "gauged" && e.kind != "mated"));
    assert!(matches!(shop.tool_in_full("CB-009", NOW), Err(AppError::Field { field: "tag", .. })));
    assert!(matches!(shop.tool_in_full("NOPE", NOW), Err(AppError::UnknownTag { .. })));
}
