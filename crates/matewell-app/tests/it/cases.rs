//! Cases on the demo lab, as stories.

use crate::lab::{NOW, demo, said};
use matewell_app::{AppError, CaseHolds, CaseOrder, EndDecision, MateOrder, Said, Workshop};
use matewell_demo::{Story, demo_lab};
use matewell_lab::{InspectionOutcome, Moment, PinPosition, ResultDisposition};
use matewell_quantity::Length;
use matewell_wire::{CaseEndJson, CaseJson, CaseWrittenJson};

fn story() -> Story {
    demo_lab(NOW, 1).story
}

fn later(minutes: u32) -> Moment {
    NOW.plus_days(f64::from(minutes) / 1440.0)
}

fn proud_pin(shop: &mut Workshop) -> CaseJson {
    let order = CaseOrder {
        tags: vec![story().repaired.end.tag],
        because: "pin protrudes by 62 µm after the repair".to_owned(),
        ..CaseOrder::default()
    };
    shop.open_case(&order, &said(), NOW).unwrap().case
}

#[test]
fn look() {
    let mut shop = demo();
    let case = proud_pin(&mut shop);
    println!("{}", serde_json::to_string_pretty(&case).unwrap());
}
