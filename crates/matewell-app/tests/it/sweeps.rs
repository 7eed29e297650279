//! Sweeps: the registered items as a layout, corrections, hostile bytes.

use crate::lab::{NOW, empty, said};
use matewell_app::{
    AppError, ImportOrder, Workshop,
    sweeps::{self, CompareOrder, ITEM_COLUMNS, SweepFile, SweepGiven},
};
use matewell_demo::{CHANGED_JOINT, SWEPT_CHAIN, demo_lab, demo_sweeps};
use matewell_wire::{SweepAddAsked, SweepCheckAsked, SweepCompareAsked, SweepReadAsked, SweepTimeAsked};
use proptest::prelude::*;

/// The chain of the demo as a lab would import it, line data in its columns.
fn register() -> String {
    let [length, velocity, loss] = ITEM_COLUMNS;
    format!(
        "Item,Kind,End tag,Interface,Sex,{length},{velocity},{loss}\n\
         IN-001,instrument,IN-001P2,3.5mm,pin,,,\n\
         CB-015,cable,CB-015A,3.5mm,socket,620,0.70,0.45\n\
         CB-015,cable,CB-015B,3.5mm,pin,620,0.70,0.45\n\
         AD-001,adapter,AD-001A,3.5mm,socket,35,1.0,0.1\n\
         AD-001,adapter,AD-001B,3.5mm,socket,35,1.0,0.1\n\
         CB-013,cable,CB-013A,3.5mm,pin,900,0.70,0.45\n\
         CB-013,cable,CB-013B,3.5mm,pin,900,0.70,0.45\n\
         CS-003,calibration standard,CS-003A,3.5mm,socket,,,\n"
    )
}

fn shop(register: &str) -> Workshop {
    let mut shop = empty();
    let order = ImportOrder {
        bytes: register.into(),
        file_name: "register.csv".to_owned(),
        ..ImportOrder::default()
    };
    let report = shop.import(&order, &said(), NOW).unwrap();
    assert!(report.written, "{}", report.text());
    shop
}

fn file(name: &str) -> SweepFile {
    let sweeps = demo_sweeps(&demo_lab(NOW, 1), NOW, 1).unwrap();
    let found = sweeps
        .into_iter()
        .find(|s| matches!(&s.fact.body, matewell_lab::FactBody::SweepNoted(n) if n.file_name == name));
    SweepFile { name: name.to_owned(), bytes: found.unwrap().bytes }
}

fn add(shop: &mut Workshop, name: &str, good: bool, days_ago: f64) -> Result<String, AppError> {
    let asked = SweepAddAsked {
        chain: Some(SWEPT_CHAIN.join(",")),
        cable_shape: Some("In the jig".to_owned()),
        known_good: Some(if good { "yes" } else { "no" }.to_owned()),
        ..SweepAddAsked::default()
    };
    let mut by = said();
    by.happened_at = Some(NOW.plus_days(-days_ago));
    Ok(shop.sweep_add(&file(name), &asked, &by, NOW)?.facts.remove(0))
}

fn compare(shop: &Workshop, id: &str) -> Result<matewell_wire::SweepCompareJson, AppError> {
    let now = SweepGiven::OnRecord(id.to_owned());
    let asked = SweepCompareAsked::default();
    shop.sweep_compare(&CompareOrder { now: &now, baseline: None, asked: &asked }, NOW)
}

#[test]
fn the_registered_items_say_what_lies_between_the_joints() {
    let mut shop = shop(&register());
    add(&mut shop, "port2-chain-05.s1p", true, 10.0).unwrap();
    let now = add(&mut shop, "port2-chain-06.s1p", false, 1.0).unwrap();
    let found = compare(&shop, &now).unwrap();
    assert_eq!(found.finding, "joint", "{}", found.text);
    assert_eq!(found.layout_from, "registered items");
    let named: Vec<usize> = (0..4).filter(|k| found.joints[*k].named).collect();
    assert_eq!(named, [CHANGED_JOINT]);
    assert!((found.joints[3].distance_m - 1.555).abs() < 1e-9);
    assert_eq!(found.sections.iter().map(|s| s.flexible).collect::<Vec<_>>(), [true, false, true]);
}

#[test]
fn a_missing_column_is_named_and_nothing_is_guessed() {
    let mut shop = shop(&register().replace("35,1.0,0.1", "35,,0.1"));
    add(&mut shop, "port2-chain-05.s1p", true, 10.0).unwrap();
    let now = add(&mut shop, "port2-chain-06.s1p", false, 1.0).unwrap();
    let error = compare(&shop, &now).unwrap_err().to_string();
    assert!(error.contains("AD-001") && error.contains(ITEM_COLUMNS[1]), "{error}");
}

#[test]
fn a_sweep_taken_back_is_no_baseline_any_more() {
    let mut shop = shop(&register());
    let good = add(&mut shop, "port2-chain-05.s1p", true, 10.0).unwrap();
    let now = add(&mut shop, "port2-chain-06.s1p", false, 1.0).unwrap();
    assert_eq!(compare(&shop, &now).unwrap().baseline.fact.as_deref(), Some(good.as_str()));
    shop.take_back(good.parse().unwrap(), "swept with the wrong calibration", &said(), NOW).unwrap();
    assert!(matches!(compare(&shop, &now), Err(AppError::NotReady(_))));
    assert_eq!(shop.sweeps("").unwrap().sweeps.len(), 1);
    // The record keeps its bytes all the same.
    assert_eq!(shop.verify().unwrap().files, 2);
}

fn asked_everything(bytes: Vec<u8>, name: &str) {
    let given = SweepFile { name: name.to_owned(), bytes };
    // Answers and errors are both fine here; a panic is not.
    for reading in ["lenient", "strict"] {
        let reading = Some(reading.to_owned());
        let asked = SweepReadAsked { reading: reading.clone(), ..SweepReadAsked::default() };
        let read = sweeps::read(&given, &asked);
        if let Err(AppError::Touchstone { error, .. }) = &read {
            assert!(error.line >= 1 && error.column >= 1);
        }
        let check = SweepCheckAsked { reading: reading.clone(), ..SweepCheckAsked::default() };
        drop(sweeps::check(&given, &check));
        let time = SweepTimeAsked { reading, points: Some("20".to_owned()), ..SweepTimeAsked::default() };
        drop(sweeps::time(&given, &time));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// A real file cut anywhere, with some of its bytes changed.
    #[test]
    fn no_bytes_make_a_panic(
        cut in 0_usize..3000,
        changes in proptest::collection::vec((0_usize..3000, any::<u8>()), 0..6),
        name in proptest::sample::select(vec!["a.s1p", "a.s2p", "a.ts", "a", "a.S33P"]),
    ) {
        let mut bytes = file_start();
        bytes.truncate(cut);
        for (place, byte) in changes {
            if let Some(slot) = bytes.get_mut(place) {
                *slot = byte;
            }
        }
        asked_everything(bytes, name);
    }

    #[test]
    fn no_noise_makes_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        asked_everything(bytes, "a.s2p");
    }
}

fn file_start() -> Vec<u8> {
    use std::sync::OnceLock;
    static START: OnceLock<Vec<u8>> = OnceLock::new();
    START.get_or_init(|| file("port2-chain-01.s1p").bytes.into_iter().take(3000).collect()).clone()
}
