use crate::builder::{Bench, EndSpec, codes, end};
use matewell_lab::{Body, EndId, Grade, ItemId, Sex};
use matewell_sheets::Sheets;
use matewell_verdict::{Answer, Weight};

/// A 3.5 mm pin and socket, both gauged well with one gauge.
fn good_pair() -> (Bench, EndId, EndId, ItemId) {
    let mut bench = Bench::new();
    let a = bench.end("CB-1A", &end("3.5mm", Sex::Pin));
    let b = bench.end("IN-1P1", &end("3.5mm", Sex::Socket));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    bench.gauged(1.0, a, gauge, &[12.0, 11.0, 13.0]);
    bench.gauged(1.0, b, gauge, &[15.0, 14.0, 16.0]);
    (bench, a, b, gauge)
}

/// The lab chooses between the two sources of the 3.5 mm torque.
fn own_sheets() -> Sheets {
    let own = "[interface.\"3.5mm\"]\ncoupling_torque = { value = 0.9, body = \"any\", because = \"our wrenches\" }\n";
    Sheets::embedded().unwrap().with_lab_file(own, "own.toml").unwrap()
}

#[test]
fn a_good_pair_with_a_good_wrench_goes() {
    let (mut bench, a, b, _) = good_pair();
    bench.wrench("TW-1", 0.9);
    let check = bench.check_with(a, b, 2.0, Some("18GHz"), &own_sheets(), None);
    assert_eq!(check.answer, Answer::Go, "{:?}", codes(&check));
    assert_eq!(check.torque.wrenches.len(), 1);
    let gap = check.gap.unwrap();
    assert!((gap.gap_um.value() - 27.0).abs() < 1e-9);
    assert!(gap.interference_probability < 1e-6);
    let (magnitude, u) = gap.reflection.unwrap();
    assert!(0.001 < magnitude && magnitude < 0.02 && u > 0.0, "{magnitude} {u}");
}

#[test]
fn the_order_of_the_two_labels_does_not_matter() {
    let (bench, a, b, _) = good_pair();
    let (one, other) = (bench.check(a, b, 2.0, Some("18GHz")), bench.check(b, a, 2.0, Some("18GHz")));
    assert_eq!(one.answer, other.answer);
    assert_eq!(codes(&one), codes(&other));
    assert_eq!(one.hold_still, other.hold_still);
}

#[test]
fn a_75_ohm_socket_under_a_50_ohm_pin_stops_and_says_what_it_destroys() {
    let mut bench = Bench::new();
    let a = bench.end("CB-75A", &end("n75", Sex::Socket));
    let b = bench.end("CB-50A", &end("n50", Sex::Pin));
    let check = bench.check(a, b, 2.0, None);
    assert_eq!(check.answer, Answer::Stop);
    let found = check.findings.iter().find(|f| f.code == "does-not-fit").unwrap();
    assert!(found.text.contains("75 ohm socket"), "{}", found.text);
    // And the other way round: a 75 ohm cable on a 50 ohm jack.
    let c = bench.end("CB-75B", &end("n75", Sex::Pin));
    let d = bench.end("IN-50", &end("n50", Sex::Socket));
    assert_eq!(bench.check(c, d, 2.0, None).answer, Answer::Stop);
}

#[test]
fn sma_on_3_5_mm_is_allowed_only_if_gauged() {
    let (mut bench, _, socket, _) = good_pair();
    let sma = bench.end("CB-9A", &end("sma", Sex::Pin));
    let check = bench.check(sma, socket, 2.0, None);
    assert_eq!(check.answer, Answer::Undecided);
    assert!(codes(&check).contains(&"must-be-gauged"));
    let gauge = bench.gauge("GA-2", 1.0, 1.0);
    bench.gauged(1.5, sma, gauge, &[40.0, 41.0, 39.0]);
    let check = bench.check(sma, socket, 2.0, None);
    assert_eq!(check.answer, Answer::GoWithCare, "{:?}", codes(&check));
    assert!((check.usable_up_to.unwrap().gigahertz() - 18.0).abs() < 1e-9);
}

#[test]
fn a_proud_pin_stops_even_when_the_partner_is_deep() {
    let (mut bench, _, socket, gauge) = good_pair();
    let proud = bench.end("CB-3A", &end("3.5mm", Sex::Pin));
    bench.gauged(1.5, proud, gauge, &[-5.0, -5.0, -5.0]);
    // The sum is +10 µm, but protrusion is never traded.
    assert_eq!(bench.check(proud, socket, 2.0, None).answer, Answer::Stop);
}

#[test]
fn a_pin_not_shown_safe_goes_with_care_on_a_partner_whose_gap_is_shown() {
    let mut bench = Bench::new();
    let near = bench.end("CB-4A", &end("3.5mm", Sex::Pin));
    let deep = bench.end("IN-2P1", &end("3.5mm", Sex::Socket));
    let gauge = bench.gauge("GA-1", 1.4, 1.0);
    bench.gauged(1.0, near, gauge, &[2.0, 2.0, 2.0]);
    bench.gauged(1.0, deep, gauge, &[30.0, 30.0, 30.0]);
    let check = bench.check(near, deep, 2.0, None);
    assert_eq!(check.answer, Answer::GoWithCare, "{:?}", codes(&check));
    // Two of them together are not shown: the shared gauge adds, it does not average.
    let near_too = bench.end("IN-2P2", &end("3.5mm", Sex::Socket));
    bench.gauged(1.0, near_too, gauge, &[2.0, 2.0, 2.0]);
    let check = bench.check(near, near_too, 2.0, None);
    assert_eq!(check.answer, Answer::Undecided);
    assert!(codes(&check).contains(&"gap-not-shown"));
    let u = check.gap.unwrap().gap_um.standard_uncertainty();
    // Closed form: √((2·1.4)² + 2·(1/√3)²).
    assert!((u - (7.84_f64 + 2.0 / 3.0).sqrt()).abs() < 1e-9, "{u}");
}

#[test]
fn the_weaker_partner_limits_the_torque() {
    let (mut bench, _, socket, _) = good_pair();
    let brass = bench.end(
        "CB-9A",
        &EndSpec { interface: "sma", sex: Sex::Pin, grade: Grade::Production, body: Body::Brass },
    );
    let check = bench.check_with(brass, socket, 2.0, None, &own_sheets(), None);
    assert!((check.torque.torque.unwrap().newton_metres() - 0.56).abs() < 1e-12);
    assert_eq!(check.torque.limited_by, Some(brass));
}

#[test]
fn sources_that_disagree_give_no_torque_until_the_lab_chooses() {
    let (bench, a, b, _) = good_pair();
    let check = bench.check(a, b, 2.0, None);
    assert_eq!(check.torque.torque, None);
    assert_eq!(check.torque.origins.len(), 2);
    assert!(codes(&check).contains(&"torque-sources-disagree"));
    assert!(bench.check_with(a, b, 2.0, None, &own_sheets(), None).torque.torque.is_some());
}

#[test]
fn too_strong_a_wrench_is_refused_and_a_weak_one_leaves_it_open() {
    let (mut bench, a, b, _) = good_pair();
    let strong = bench.wrench("TW-9", 1.36);
    let weak = bench.wrench("TW-5", 0.56);
    let right = bench.wrench("TW-1", 0.9);
    let in_lbf = bench.wrench("TW-2", 0.903_878_632_2);
    let answer = |w| bench.check_with(a, b, 2.0, None, &own_sheets(), Some(w)).answer;
    assert_eq!(answer(strong), Answer::Stop);
    assert_eq!(answer(weak), Answer::Undecided);
    assert_eq!(answer(right), Answer::Go);
    assert_eq!(answer(in_lbf), Answer::Go);
    // A year later its check has run out.
    let late = bench.check_with(a, b, 370.0, None, &own_sheets(), Some(right));
    assert!(codes(&late).contains(&"wrong-wrench"));
}

#[test]
fn two_pins_do_not_mate() {
    let (mut bench, a, _, gauge) = good_pair();
    let other = bench.end("CB-2A", &end("3.5mm", Sex::Pin));
    bench.gauged(1.0, other, gauge, &[12.0, 12.0, 12.0]);
    let check = bench.check(a, other, 2.0, None);
    assert_eq!(check.answer, Answer::Stop);
    assert!(codes(&check).contains(&"same-sex"));
    assert!(codes(&bench.check(a, a, 2.0, None)).contains(&"same-end"));
}

#[test]
fn an_interface_without_a_sheet_is_undecided() {
    let mut bench = Bench::new();
    let a = bench.end("XX-1", &end("homemade", Sex::Pin));
    let b = bench.end("XX-2", &end("homemade", Sex::Socket));
    let check = bench.check(a, b, 2.0, None);
    assert_eq!(check.answer, Answer::Undecided);
    assert!(codes(&check).contains(&"no-pair-rule"));
}

#[test]
fn every_reason_is_given_not_only_the_first() {
    let mut bench = Bench::new();
    let a = bench.end("CB-75A", &end("n75", Sex::Pin));
    let b = bench.end("CB-50A", &end("n50", Sex::Socket));
    let check = bench.check(a, b, 2.0, None);
    let open = check.findings.iter().filter(|f| f.weight >= Weight::Open).count();
    assert!(open >= 4, "{:?}", codes(&check));
}
