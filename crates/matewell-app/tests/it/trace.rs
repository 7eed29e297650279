//! What a bad end touched, on the demo lab's incidents.

use crate::lab::{NOW, demo};
use matewell_app::{MateOrder, Supposed, TraceOrder};
use matewell_demo::{Story, demo_lab};
use matewell_lab::PinPosition;
use matewell_quantity::Length;
use matewell_wire::{ExposedJson, TraceJson, WasOffAsked, moment_text};

fn story() -> Story {
    demo_lab(NOW, 1).story
}

fn of(tag: &str) -> TraceOrder {
    TraceOrder { tags: vec![tag.to_owned()], ..TraceOrder::default() }
}

fn exposed<'a>(trace: &'a TraceJson, tag: &str) -> Option<&'a ExposedJson> {
    trace.exposed.iter().find(|x| x.end.tag == tag)
}

#[test]
fn the_repaired_cable_exposed_what_it_touched_and_what_that_touched() {
    let (shop, story) = (demo(), story().repaired);
    let trace = shop.trace(&of(&story.end.tag), NOW).unwrap();
    assert_eq!(trace.kind, "deformation");
    let source = &trace.sources[0];
    assert_eq!(source.last_known_good.because, "contact-made-anew");
    assert_eq!(source.last_known_good.at, moment_text(story.replaced_at));
    assert_eq!(source.first_evidence.fact.as_deref(), Some(story.gauged.to_string().as_str()));
    // Each end it touched, by the mate itself.
    for touch in &story.touched {
        let found = exposed(&trace, &touch.end.tag).unwrap();
        assert_eq!((found.hops, found.via.len()), (1, 1));
        assert_eq!(found.arrived_at, moment_text(touch.at));
        assert_eq!(found.via[0].fact, Some(touch.fact.to_string()));
        // Touched before the first evidence: possible, not definite.
        assert_eq!((found.certainty.as_str(), &found.definite_at), ("possible", &None));
    }
    // The standard carried it on to both test-port cables, and was cleared.
    for cable in ["CB-014B", "CB-015B"] {
        assert!(exposed(&trace, cable).unwrap().hops >= 2);
    }
    let standard = exposed(&trace, &story.standard.tag).unwrap();
    assert_eq!(standard.intervals[0].until, Some(moment_text(story.standard_cleared_at)));
    // The other end of the cable touched nothing bad.
    assert!(exposed(&trace, "CB-009B").is_none());
    // Sorted, paths in time order and from the source on.
    assert!(trace.exposed.windows(2).all(|w| { parse(&w[0].arrived_at) <= parse(&w[1].arrived_at) }));
    for x in trace.exposed.iter().filter(|x| x.hops > 0) {
        assert_eq!(x.via[0].from.tag, story.end.tag);
        assert_eq!(x.via.last().unwrap().to, x.end);
        assert!(x.via.windows(2).all(|w| w[0].to == w[1].from && parse(&w[0].at) <= parse(&w[1].at)));
        assert!(x.probability.ever_lower <= x.probability.ever_upper && x.probability.ever_upper <= 1.0);
    }
}

fn parse(text: &str) -> i64 {
    matewell_wire::parse_moment(text).unwrap().microseconds()
}

#[test]
fn the_odd_receiver_has_its_later_results_in_doubt_and_not_its_earlier_ones() {
    let (shop, story) = (demo(), story());
    let trace = shop.trace(&of(&story.repaired.end.tag), NOW).unwrap();
    let facts: Vec<&str> = trace.results.iter().map(|r| r.fact.as_str()).collect();
    for doubtful in &story.odd_receiver.doubtful_results {
        let id = doubtful.to_string();
        let result = trace.results.iter().find(|r| r.fact == id).unwrap();
        assert!(result.through.iter().any(|t| t.end.tag == story.repaired.port.tag));
        assert!(result.uri.starts_with("lab://"));
    }
    for good in &story.odd_receiver.good_results {
        assert!(!facts.contains(&good.to_string().as_str()));
    }
}

#[test]
fn looking_back_from_the_damaged_end_finds_the_repaired_cable_first() {
    let (shop, story) = (demo(), story().repaired);
    let back = shop.trace_back(&of(&story.damaged.tag), NOW).unwrap();
    let first = &back.candidates[0];
    assert_eq!(first.end.tag, story.end.tag);
    assert_eq!(first.evidence.as_ref().unwrap().fact, Some(story.gauged.to_string()));
    // It was looked at and good after it met the cable, so the damage came later, by way of others.
    assert_eq!(back.bad.last_known_good.because, "looked-good");
    assert!(parse(&back.bad.last_known_good.at) > story.touched[1].at.microseconds());
    assert!(first.hops > 1 && first.via.last().unwrap().to.tag == story.damaged.tag);
    // Without trust in that look, the cable is one touch away.
    let order = TraceOrder { since: Some(story.replaced_at), ..of(&story.damaged.tag) };
    let back = shop.trace_back(&order, NOW).unwrap();
    assert_eq!((back.candidates[0].end.tag.as_str(), back.candidates[0].hops), (story.end.tag.as_str(), 1));
}

#[test]
fn two_exposed_ends_have_the_repaired_cable_in_common() {
    let (shop, story) = (demo(), story().repaired);
    let order = TraceOrder {
        tags: vec![story.touched[1].end.tag.clone(), story.touched[3].end.tag.clone()],
        until: Some(story.held_at),
        since: Some(story.replaced_at),
        kind: Some("deformation".to_owned()),
        ..TraceOrder::default()
    };
    let common = shop.trace_common(&order, NOW).unwrap();
    let found = common.common.iter().find(|c| c.end.tag == story.end.tag).unwrap();
    assert_eq!((found.explains.len(), found.hops), (2, 2));
    assert_eq!(found.evidence.as_ref().unwrap().because, "pin-protrudes");
}

#[test]
fn had_the_cable_been_waived_or_gauged_first_nothing_or_less_is_exposed() {
    let (shop, story) = (demo(), story().repaired);
    let asked = |what: String| {
        let what_if = vec![Supposed::read(&what).unwrap()];
        let order = TraceOrder { what_if, ..of(&story.end.tag) };
        shop.trace(&order, NOW).unwrap()
    };
    let trace = asked(format!("waived {}", story.end.tag));
    let none = trace.what_if.unwrap();
    assert_eq!((none.exposed, none.spared.len()), (0, trace.exposed.len()));
    // The standard verified right after it met the cable: it passes nothing on.
    let hub = &story.touched[2];
    let soon = moment_text(hub.at.plus_days(0.01));
    let trace = asked(format!("verified {} {soon}", hub.end.tag));
    let fewer = trace.what_if.unwrap();
    assert!(fewer.exposed < trace.exposed.len() && !fewer.spared.is_empty());
    assert!(fewer.changes[0].contains(&hub.end.tag));
}

#[test]
fn what_the_gauge_and_the_wrench_were_used_on_while_they_were_off() {
    let (shop, story) = (demo(), story());
    let off = &story.gauge_off;
    let trace = shop.trace_tool(&off.gauge.tag, None, None, NOW).unwrap();
    assert_eq!(trace.last_known_good.fact, Some(off.last_good.to_string()));
    assert_eq!(trace.first_evidence.fact, Some(off.found_off.to_string()));
    let flipped = trace.uses.iter().find(|u| u.fact == off.flipped_gauging.to_string()).unwrap();
    assert_eq!(flipped.ends[0].tag, off.flipped.tag);
    // Day 57 of 40 to 60: most of the window had passed.
    assert!((0.8..0.95).contains(&flipped.off_by_then), "{}", flipped.off_by_then);
    assert!(trace.uses.windows(2).all(|w| w[0].off_by_then <= w[1].off_by_then));
    let off = &story.wrench_off;
    let trace = shop.trace_tool(&off.wrench.tag, None, None, NOW).unwrap();
    assert_eq!(trace.first_evidence.fact, Some(off.found_off.to_string()));
    assert!(trace.uses.len() >= 8 && trace.uses.iter().all(|u| u.ends.len() == 2));
    let not_a_tool = shop.trace_tool("CB-009", None, None, NOW).unwrap_err().to_string();
    assert!(not_a_tool.contains("expected a gauge or a torque wrench, found CB-009"), "{not_a_tool}");
}

#[test]
fn what_the_repaired_cable_reached_stands_exposed_not_damaged() {
    let (shop, story) = (demo(), story().repaired);
    let stands = |tag: &str, at| shop.end(tag, at).unwrap().standing;
    let is_exposed = |tag: &str, at| {
        let standing = stands(tag, at);
        let found = standing.findings.iter().find(|f| f.code == "exposed" && f.text.contains(&story.end.tag));
        found.cloned().map(|finding| (standing, finding))
    };
    let (standing, finding) = is_exposed(&story.port.tag, NOW).unwrap();
    assert_eq!((standing.standing.as_str(), finding.weight.as_str()), ("undecided", "open"));
    assert!(standing.findings.iter().all(|f| f.code != "damaged"));
    assert_eq!(finding.facts, [story.gauged.to_string()]);
    // With the source and the time: the mate under the override.
    let days = NOW.days_since(story.touched[0].at);
    assert!((finding.numbers[0].value - days).abs() < 1e-9 && finding.numbers[0].unit == "d");
    assert!(
        finding.text.contains("directly") && finding.text.contains("Exposed is not damaged"),
        "{}",
        finding.text
    );
    // Nobody knew before the gauging; from it on, the standard is exposed until it is gauged good.
    let minute = 1.0 / 1440.0;
    assert!(is_exposed(&story.port.tag, story.gauged_at.plus_days(-minute)).is_none());
    assert!(is_exposed(&story.standard.tag, story.gauged_at.plus_days(minute)).is_some());
    assert!(is_exposed(&story.standard.tag, story.standard_cleared_at.plus_days(minute)).is_none());
    // What the trace says is what the standings say.
    let trace = shop.trace(&of(&story.end.tag), NOW).unwrap();
    for x in trace.exposed.iter().filter(|x| x.hops > 0 && x.end.what == "end") {
        assert_eq!(is_exposed(&x.end.tag, NOW).is_some(), x.exposed_now, "{}", x.end.tag);
    }
}

#[test]
fn a_mate_check_with_an_exposed_end_is_undecided_and_a_good_gauging_frees_it() {
    let (mut shop, story) = (demo(), story());
    let (port, partner) = (&story.repaired.port.tag, &story.cases.good_sma.tag);
    let codes = |shop: &matewell_app::Workshop, at| {
        let check = shop.check(partner, port, None, None, at).unwrap();
        (check.answer, check.findings.iter().map(|f| f.code.clone()).collect::<Vec<_>>())
    };
    let (answer, found) = codes(&shop, NOW);
    assert!(answer == "undecided" && found.contains(&"exposed".to_owned()), "{answer} {found:?}");
    let depth = PinPosition::recessed(Length::from_micrometres(12.0).unwrap()).unwrap();
    shop.gauge(port, vec![depth; 3], Some("GA-001"), None, &crate::lab::said(), NOW).unwrap();
    let (_, found) = codes(&shop, NOW);
    assert!(!found.contains(&"exposed".to_owned()), "{found:?}");
    // It meets another exposed end: exposed again, by way of that one.
    let order =
        MateOrder { a: "CB-010A", b: port, override_because: Some("in a hurry"), ..MateOrder::default() };
    shop.mate(&order, &crate::lab::said(), NOW.plus_days(0.01)).unwrap();
    let (_, found) = codes(&shop, NOW.plus_days(0.02));
    assert!(found.contains(&"exposed".to_owned()), "{found:?}");
}

#[test]
fn a_gauging_with_a_gauge_found_off_shows_nothing_good() {
    let (shop, off) = (demo(), story().gauge_off);
    let order = TraceOrder { kind: Some("deformation".to_owned()), ..of(&off.flipped.tag) };
    let good = shop.trace(&order, NOW).unwrap().sources[0].last_known_good.clone();
    assert_ne!(good.fact, Some(off.flipped_gauging.to_string()), "{good:?}");
}

/// Once the offset has been taken out of it, it shows what it shows.
#[test]
fn a_gauging_with_its_offset_taken_out_counts_again() {
    let (mut shop, off) = (demo(), story().gauge_off);
    let of_others = |shop: &matewell_app::Workshop| {
        let trace = shop.trace_tool(&off.gauge.tag, None, None, NOW.plus_days(1.0)).unwrap();
        let uses = trace.uses.iter().filter(|u| u.ends[0].tag != off.flipped.tag);
        uses.map(|u| (u.ends[0].tag.clone(), u.fact.clone())).collect::<Vec<_>>()
    };
    let good = |shop: &matewell_app::Workshop, tag: &str| {
        let order = TraceOrder { kind: Some("deformation".to_owned()), ..of(tag) };
        shop.trace(&order, NOW.plus_days(1.0)).unwrap().sources[0].last_known_good.fact.clone()
    };
    let uses = of_others(&shop);
    let before = uses.iter().filter(|(tag, fact)| good(&shop, tag).as_ref() == Some(fact)).count();
    assert_eq!(before, 0);
    let asked = WasOffAsked {
        since: moment_text(off.last_good_at),
        until: moment_text(off.found_off_at),
        by: Some("8um".to_owned()),
        drift: true,
        write: true,
        ..WasOffAsked::default()
    };
    shop.was_off(&off.gauge.tag, &asked, &crate::lab::said(), NOW).unwrap();
    let after = uses.iter().filter(|(tag, fact)| good(&shop, tag).as_ref() == Some(fact)).count();
    assert!(after > 0, "of {} gaugings", uses.len());
}
