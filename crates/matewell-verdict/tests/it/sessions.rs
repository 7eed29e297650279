//! Whole gauging sessions, and tools that were off, in the pure core.

use crate::builder::{Bench, at_day, end, position, um};
use matewell_lab::{
    EndId, FactId, Gauged, GaugingOnRecord, GaugingSession, ItemId, OffsetTakenOut, Sex, ToolRecord,
};
use matewell_quantity::Torque;
use matewell_sheets::Sheets;
use matewell_verdict::{
    Book, JointInDoubt, PinDecision, PinKnowledge, judge_gauging, pin_knowledge, rank_joints, with_offset,
};
use proptest::prelude::*;

fn gauge() -> ToolRecord {
    let mut bench = Bench::new();
    let id = bench.gauge("GA-1", 1.0, 1.0);
    bench.tool(id, 1.0)
}

fn on_record(gauge: &ToolRecord, recessions: &[f64], before: &[f64], after: &[f64]) -> GaugingOnRecord {
    let list = |values: &[f64]| values.iter().map(|v| position(*v)).collect();
    GaugingOnRecord {
        fact: FactId::from_bytes([9; 16]),
        at: at_day(2.0),
        person: "p".to_owned(),
        contacts: 1,
        gauged: Gauged {
            end: EndId::from_bytes([7; 16]),
            gauge: Some(gauge.item.id),
            readings: list(recessions),
            stated_standard_uncertainty: None,
            session: Some(Box::new(GaugingSession {
                master: Some(ItemId::from_bytes([8; 16])),
                zero_before: list(before),
                zero_after: list(after),
                ..GaugingSession::default()
            })),
        },
    }
}

fn known(record: &GaugingOnRecord, gauge: &ToolRecord, own: &str) -> PinKnowledge {
    let sheets = Sheets::embedded().unwrap();
    let sheets = if own.is_empty() { sheets } else { sheets.with_lab_file(own, "own.toml").unwrap() };
    let book = Book::new(&sheets);
    pin_knowledge(Some(record), Some(gauge), &book, &book.policy()).unwrap()
}

fn off(um_recessed: f64) -> OffsetTakenOut {
    OffsetTakenOut { reads_more_recessed: um(um_recessed), standard_uncertainty: None, found_by: None }
}

#[test]
fn the_labs_own_sheet_replaces_a_typical_line() {
    let gauge = gauge();
    let record = on_record(&gauge, &[12.0, 11.0, 13.0], &[0.0, 0.0], &[0.0]);
    let before = known(&record, &gauge, "").recession_um.unwrap().variance();
    let own = "[gauge.\"ga-1\"]\noperator = { value = 2.0, because = \"study of spring\" }\n";
    let after = known(&record, &gauge, own).recession_um.unwrap().variance();
    assert!((after - before - (4.0 - 0.09)).abs() < 1e-9, "{before} {after}");
    let sheets = Sheets::embedded().unwrap();
    let nothing = "[gauge.\"GA-1\"]\noperator = { value = 2.0, because = \" \" }\n";
    assert!(sheets.with_lab_file(nothing, "own.toml").is_err(), "an override needs a reason");
    let below = "[gauge.\"GA-1\"]\noperator = { value = -2.0, because = \"x\" }\n";
    assert!(sheets.with_lab_file(below, "own.toml").is_err());
}

/// Shared by all ends gauged on that master, and in place of the typical
/// 0.5 µm at k = 2; the figure registered for a gauge already holds it.
#[test]
fn the_masters_certificate_replaces_its_line_once() {
    let registered = gauge();
    let mut bare = registered.clone();
    bare.item.gauge.as_mut().unwrap().standard_uncertainty = None;
    let mut record = on_record(&bare, &[12.0, 11.0, 13.0], &[0.0, 0.0], &[0.0]);
    let certified =
        "[gauge.\"GA-1\"]\n\"gauge certificate\" = { value = 0.5, because = \"its certificate\" }\n";
    let variance = |record: &GaugingOnRecord, gauge: &ToolRecord| {
        let own = if gauge == &registered { "" } else { certified };
        known(record, gauge, own).recession_um.unwrap().variance()
    };
    let before = (variance(&record, &bare), variance(&record, &registered));
    record.gauged.session.as_mut().unwrap().master_standard_uncertainty = Some(um(0.7));
    let after = (variance(&record, &bare), variance(&record, &registered));
    assert!((after.0 - before.0 - (0.49 - 0.0625)).abs() < 1e-9, "{before:?} {after:?}");
    assert!((after.1 - before.1).abs() < 1e-12, "{before:?} {after:?}");
    let mut other = record.clone();
    other.fact = FactId::from_bytes([10; 16]);
    other.gauged.gauge = Some(ItemId::from_bytes([11; 16]));
    let mut second = bare.clone();
    second.item.id = ItemId::from_bytes([11; 16]);
    let (a, b) = (known(&record, &bare, certified), known(&other, &second, certified));
    let shared = a.recession_um.unwrap().covariance(&b.recession_um.unwrap());
    // The master's 0.7 and its typical flatness ±0.25, and the operator's 0.3.
    assert!((shared - (0.49 + 0.0625 / 3.0 + 0.09)).abs() < 1e-9, "{shared}");
}

#[test]
fn push_on_and_a_warm_room_widen_the_budget() {
    let gauge = gauge();
    let mut record = on_record(&gauge, &[12.0, 11.0, 13.0], &[0.0, 0.0], &[0.0]);
    let screw_on = known(&record, &gauge, "").recession_um.unwrap().variance();
    record.gauged.session.as_mut().unwrap().method = Some(matewell_lab::GaugeMethod::PushOn);
    let push_on = known(&record, &gauge, "").recession_um.unwrap().variance();
    assert!(push_on > screw_on + 1.0);
    record.gauged.session.as_mut().unwrap().temperature_c = Some(33.0);
    let warm = known(&record, &gauge, "").recession_um.unwrap().variance();
    // ±0.12 µm for 1 K, ten times that for 10 K: (1.2² − 0.12²)/3.
    assert!((warm - push_on - (1.44 - 0.0144) / 3.0).abs() < 1e-9);
}

#[test]
fn two_ends_gauged_with_one_gauge_share_its_error() {
    let gauge = gauge();
    let one = on_record(&gauge, &[12.0, 11.0, 13.0], &[0.0, 0.0], &[0.0]);
    let mut other = on_record(&gauge, &[14.0, 13.0, 15.0], &[0.0, 0.0], &[0.0]);
    other.fact = FactId::from_bytes([10; 16]);
    let (a, b) =
        (known(&one, &gauge, "").recession_um.unwrap(), known(&other, &gauge, "").recession_um.unwrap());
    // Gauge as registered 1.0 and operator 0.3: nothing else is common.
    assert!((a.covariance(&b) - 1.09).abs() < 1e-9, "{}", a.covariance(&b));
}

#[test]
fn joints_over_their_limit_come_first_and_brass_before_steel() {
    let sheets = Sheets::embedded().unwrap();
    let book = Book::new(&sheets);
    let mut bench = Bench::new();
    let brass = bench
        .end("CB-1A", &crate::builder::EndSpec { body: matewell_lab::Body::Brass, ..end("sma", Sex::Pin) });
    let steel = bench.end("IN-1P1", &end("3.5mm", Sex::Socket));
    let pin = bench.end("CB-2A", &end("3.5mm", Sex::Pin));
    let record = |id| bench.record(id, 1.0).end;
    let torque = Torque::from_newton_metres(1.36).unwrap();
    let joint = |n: u8, a, b| {
        JointInDoubt::new(
            (FactId::from_bytes([n; 16]), at_day(f64::from(n))),
            &record(a),
            &record(b),
            torque,
            &book,
        )
    };
    let mut joints = vec![joint(1, pin, steel), joint(2, brass, steel)];
    rank_joints(&mut joints);
    assert_eq!(joints[0].body, matewell_lab::Body::Brass);
    assert!(joints[0].over().unwrap() > 1.0, "{}", joints[0].text());
    assert!(joints[0].text().contains("Look and gauge both ends"));
}

proptest! {
    /// Taking an offset out moves the position by exactly that, leaves the
    /// uncertainty alone, and taking nothing out changes nothing.
    #[test]
    fn an_offset_moves_the_position_and_nothing_else(
        depth in -5.0f64..40.0, scatter in 0.0f64..1.5, offset in -20.0f64..20.0,
    ) {
        let gauge = gauge();
        let mut record = on_record(&gauge, &[depth, depth + scatter, depth - scatter], &[0.5, 0.0], &[0.0]);
        let before = known(&record, &gauge, "");
        record.gauged = with_offset(&record.gauged, off(offset));
        let after = known(&record, &gauge, "");
        let (x, y) = (before.recession_um.clone().unwrap(), after.recession_um.unwrap());
        prop_assert!((x.value() - offset - y.value()).abs() < 1e-9);
        prop_assert!((x.variance() - y.variance()).abs() < 1e-9);
        record.gauged = with_offset(&record.gauged, off(0.0));
        prop_assert_eq!(known(&record, &gauge, "").decision, before.decision);
    }

    /// Invariant: a mean or a single reading that protrudes, or a zero that
    /// moved, is never shown safe.
    #[test]
    fn nothing_that_protrudes_or_is_void_is_shown_safe(
        readings in proptest::collection::vec(-8.0f64..30.0, 1..6),
        after in 0.0f64..8.0,
    ) {
        let gauge = gauge();
        let record = on_record(&gauge, &readings, &[0.0, 0.0], &[after]);
        let found = known(&record, &gauge, "");
        if after > 1.8 {
            prop_assert!(found.is_void());
            prop_assert_ne!(found.decision, PinDecision::ShownSafe);
        }
        if readings.iter().any(|r| *r < 0.0) {
            prop_assert_ne!(found.decision, PinDecision::ShownSafe);
        }
        if readings.iter().sum::<f64>() < 0.0 {
            prop_assert_eq!(found.decision, PinDecision::Out);
        }
    }

    /// The same pin deeper is never likelier to protrude.
    #[test]
    fn deeper_is_never_worse(depth in 0.0f64..30.0, more in 0.0f64..10.0) {
        let gauge = gauge();
        let chance = |d: f64| {
            known(&on_record(&gauge, &[d, d + 0.5, d], &[0.0], &[0.0]), &gauge, "").protrusion_probability.unwrap()
        };
        prop_assert!(chance(depth + more) <= chance(depth) + 1e-12);
    }

    /// The shares of the lines are the whole variance.
    #[test]
    fn the_lines_add_up(depth in 0.0f64..30.0) {
        let gauge = gauge();
        let sheets = Sheets::embedded().unwrap();
        let book = Book::new(&sheets);
        let record = on_record(&gauge, &[depth, depth], &[0.0], &[]);
        let judged = judge_gauging(&record, Some(&gauge), &[], &book.policy()).unwrap().unwrap();
        let sum: f64 = judged.gauging.budget().lines().iter().map(|l| l.contribution().unwrap().powi(2)).sum();
        prop_assert!((sum - judged.gauging.estimate().variance()).abs() < 1e-9);
    }
}
