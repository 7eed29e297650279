//! The incidents, played in full. They lie before and after the hours of the
//! ordinary work, so that no end is in two places at once.

use crate::{
    log::{ENGINEER, METROLOGIST, PAPER, Second, TECHNICIAN_1, TECHNICIAN_2, TECHNICIAN_3, at},
    roster::KIT_BOX,
    story::{
        GaugeOff, Kit, NamedEnd, OddReceiver, RepairedCable, SeventyFiveOhm, SingleCases, Story, Touch,
        WrenchOff,
    },
    workshop::{GAUGE_DRIFT, GAUGE_FOUND, GAUGE_GOOD, WRENCH_AWAY, Workshop, length, torque},
};
use matewell_lab::{
    Certificate, Corrected, Correction, FactBody, FactId, FollowedUp, GaugeZero, Held, InspectionOutcome,
    Overridden, Refused, Released, Replaced, Resolution, ResultNoted, Retired, Stored, Subject, ToolCheck,
    ToolChecked, TorqueRanges, WrenchCheck,
};
use matewell_quantity::Frequency;

/// After the last second of the demo.
const FOR_EVER: Second = Second::MAX;

/// Plays all incidents.
pub(crate) fn play(shop: &mut Workshop) -> Story {
    Story {
        repaired: repaired_cable(shop),
        seventy_five_ohm: seventy_five_ohm(shop),
        gauge_off: gauge_off(shop),
        wrench_off: wrench_off(shop),
        odd_receiver: odd_receiver(shop),
        kit: kit(shop),
        cases: single_cases(shop),
    }
}

/// A second on the bench day of a day of the story.
fn on(shop: &Workshop, day: i64, hour: i64, minute: i64) -> Second {
    at(shop.log.bench_day(day), hour, minute)
}

fn refuse(
    shop: &mut Workshop,
    when: Second,
    a: &NamedEnd,
    b: &NamedEnd,
    answer: &str,
    finding: &str,
    frequency: Option<Frequency>,
) -> FactId {
    let refused = Refused {
        a: a.id,
        b: b.id,
        answer: answer.to_owned(),
        findings: vec![finding.to_owned()],
        frequency,
    };
    shop.log.write(when, TECHNICIAN_2, FactBody::Refused(refused))
}

fn repaired_cable(shop: &mut Workshop) -> RepairedCable {
    let end = shop.end("CB-009A");
    let port = shop.end("IN-003P1");
    let replaced_second = on(shop, 62, 7, 0);
    let replaced = shop.log.write(
        replaced_second,
        TECHNICIAN_3,
        FactBody::Replaced(Replaced {
            end: end.id,
            because: "re-terminated: the jacket had torn at the joint".to_owned(),
        }),
    );
    // Nobody gauges it from here on, and the ordinary work leaves it alone.
    let first = on(shop, 63, 7, 40);
    let frequency = Frequency::from_gigahertz(18.0).ok();
    let refused = refuse(shop, first, &end, &port, "undecided", "never-gauged", frequency);
    let overridden = shop.log.write(
        first + 120,
        TECHNICIAN_2,
        FactBody::Overridden(Overridden {
            a: end.id,
            b: port.id,
            refused,
            because: "the measurement slot ends at noon and the gauge is on another bench".to_owned(),
            follow_up: "gauge CB-009A before its next use".to_owned(),
        }),
    );
    let mut touched = Vec::new();
    let meetings = [
        ("IN-003P1", first + 180, 3_300, Some(overridden)),
        ("DU-008A", on(shop, 64, 18, 30), 900, None),
        ("CS-002A", on(shop, 66, 7, 35), 600, None),
        ("AT-002B", on(shop, 68, 18, 30), 900, None),
    ];
    for (partner, when, length_of_stay, under) in meetings {
        if let Some(fact) = shop.mate(when, TECHNICIAN_2, "CB-009A", partner, under) {
            touched.push(Touch { end: shop.end(partner), at: shop.log.moment(when), fact });
        }
        shop.part(when + length_of_stay, TECHNICIAN_2, "CB-009A", partner);
    }
    let gauged_second = on(shop, 71, 18, 20);
    let gauged = shop.gauge_reading(gauged_second, TECHNICIAN_1, "CB-009A", "GA-002", &[-620, -610, -630]);
    shop.log.write(
        gauged_second + 180,
        TECHNICIAN_1,
        FactBody::FollowedUp(FollowedUp {
            fact: overridden,
            done: "gauged: the pin protrudes by 62 µm".to_owned(),
        }),
    );
    let held_second = gauged_second + 360;
    let held = shop.log.write(
        held_second,
        TECHNICIAN_1,
        FactBody::Held(Held { end: end.id, because: "pin protrudes by 62 µm".to_owned() }),
    );
    shop.block("CB-009A", held_second, FOR_EVER);
    shop.block("DU-008A", held_second, FOR_EVER);
    let damage_found =
        shop.look(on(shop, 73, 7, 40), TECHNICIAN_1, "DU-008A", InspectionOutcome::Damaged, &["bent-finger"]);
    let cleared = on(shop, 74, 7, 40);
    shop.look(cleared, TECHNICIAN_1, "CS-002A", InspectionOutcome::NormalWear, &["light-rings"]);
    shop.gauge(cleared + 120, TECHNICIAN_1, "CS-002A");
    shop.block("CS-002A", held_second, cleared + 180);
    RepairedCable {
        item: shop.named_item("CB-009"),
        end,
        replaced_at: shop.log.moment(replaced_second),
        replaced,
        refused,
        overridden,
        touched,
        port,
        standard: shop.end("CS-002A"),
        gauged,
        gauged_at: shop.log.moment(gauged_second),
        held,
        held_at: shop.log.moment(held_second),
        damaged: shop.end("DU-008A"),
        damage_found,
        standard_cleared_at: shop.log.moment(cleared + 120),
    }
}

fn seventy_five_ohm(shop: &mut Workshop) -> SeventyFiveOhm {
    let (pin_75, socket_75) = (shop.end("CB-031A"), shop.end("CB-031B"));
    let (pin_50, socket_50) = (shop.end("AD-008A"), shop.end("AD-008B"));
    let when = on(shop, 25, 18, 30);
    let refused_pin_75 = refuse(shop, when, &pin_75, &socket_50, "stop", "impedances-differ", None);
    let when = on(shop, 33, 18, 30);
    let refused_pin_50 = refuse(shop, when, &pin_50, &socket_75, "stop", "impedances-differ", None);
    shop.mate(on(shop, 34, 18, 30), TECHNICIAN_3, "CB-031A", "DU-011B", None);
    shop.part(on(shop, 34, 18, 50), TECHNICIAN_3, "CB-031A", "DU-011B");
    shop.mate(on(shop, 35, 18, 30), TECHNICIAN_3, "CB-032A", "CB-031B", None);
    shop.part(on(shop, 35, 18, 50), TECHNICIAN_3, "CB-032A", "CB-031B");
    SeventyFiveOhm {
        item: shop.named_item("CB-031"),
        pin_75,
        socket_75,
        pin_50,
        socket_50,
        refused_pin_75,
        refused_pin_50,
    }
}

fn gauge_off(shop: &mut Workshop) -> GaugeOff {
    let gauge = shop.named_item("GA-002");
    let good_second = on(shop, GAUGE_GOOD, 7, 20);
    let found_second = on(shop, GAUGE_FOUND, 7, 20);
    let mut zero = |when: Second, off: i64| {
        let check = ToolCheck::GaugeZero(GaugeZero { reads_more_recessed: length(off), in_order: off == 0 });
        shop.log.write(when, METROLOGIST, FactBody::ToolChecked(ToolChecked { tool: gauge.id, check }))
    };
    let last_good = zero(good_second, 0);
    let found_off = zero(found_second, GAUGE_DRIFT);
    let set_right = zero(found_second + 1200, 0);
    // Shown recessed by about 5 µm: the drift of day 57 is 6.8 µm.
    shop.set_depth("CB-004A", -18);
    let flipped_gauging =
        shop.gauge_reading(on(shop, 57, 18, 30), TECHNICIAN_1, "CB-004A", "GA-002", &[40, 50, 60]);
    GaugeOff {
        gauge: shop.named_item("GA-002"),
        last_good,
        last_good_at: shop.log.moment(good_second),
        found_off,
        found_off_at: shop.log.moment(found_second),
        reads_more_recessed_um: 8,
        set_right,
        flipped: shop.end("CB-004A"),
        flipped_gauging,
    }
}

fn wrench_off(shop: &mut Workshop) -> WrenchOff {
    let wrench = shop.named_item("TW-002");
    let good_second = on(shop, WRENCH_AWAY.0, 7, 25);
    let found_second = on(shop, WRENCH_AWAY.1, 7, 25);
    let mut check = |when: Second, tool, set_point: i32, readings: [i32; 3], in_order: bool| {
        let check = ToolCheck::Wrench(WrenchCheck {
            set_point: torque(set_point),
            readings: readings.into_iter().map(torque).collect(),
            ranges: TorqueRanges::default(),
            in_order,
        });
        shop.log.write(when, METROLOGIST, FactBody::ToolChecked(ToolChecked { tool, check }))
    };
    let last_good = check(good_second, wrench.id, 90, [89, 91, 90], true);
    let found_off = check(found_second, wrench.id, 90, [136, 135, 137], false);
    let set_right = check(found_second + 1500, wrench.id, 90, [90, 90, 91], true);
    // A small series on brass with it, beside whatever the ordinary work adds.
    for (day, partner) in
        [(56, "DU-001B"), (58, "DU-002B"), (61, "DU-003B"), (63, "DU-004B"), (66, "DU-001C")]
    {
        let when = on(shop, day, 18, 50);
        shop.mate(when, TECHNICIAN_2, "CB-002A", partner, None);
        shop.part(when + 300, TECHNICIAN_2, "CB-002A", partner);
    }
    let document = ToolCheck::Certificate(Certificate::without_value(
        "LRW-T-0117".to_owned(),
        true,
        Some(shop.log.moment(found_second).plus_days(365.0)),
    ));
    let tool = shop.named_item("TW-001").id;
    let back = FactBody::ToolChecked(ToolChecked { tool, check: document });
    shop.log.write_noted(found_second + 2100, METROLOGIST, Some("back from calibration"), back);
    WrenchOff {
        wrench,
        last_good,
        last_good_at: shop.log.moment(good_second),
        used_from: shop.log.moment(on(shop, WRENCH_AWAY.0 + 1, 8, 0)),
        found_off,
        found_off_at: shop.log.moment(found_second),
        set_right,
    }
}

fn odd_receiver(shop: &mut Workshop) -> OddReceiver {
    let chain: Vec<NamedEnd> =
        ["IN-003P1", "CB-010A", "CB-010B", "DU-007A"].map(|tag| shop.end(tag)).into_iter().collect();
    let mut good_results = Vec::new();
    let mut doubtful_results = Vec::new();
    let gains = [(52, "31.2"), (60, "31.1"), (65, "30.7"), (69, "29.8"), (75, "29.6")];
    for (number, (day, gain)) in (1..).zip(gains) {
        let when = on(shop, day, 18, 35);
        shop.mate(when, ENGINEER, "IN-003P1", "CB-010A", None);
        shop.mate(when + 120, ENGINEER, "CB-010B", "DU-007A", None);
        let result = ResultNoted {
            uri: format!("lab://larkmoor/results/du-007/{number:04}"),
            sha256: Some(sha256(shop)),
            device: Some("DU-007".to_owned()),
            chain: chain.iter().map(|end| end.id).collect(),
        };
        let note = format!("gain {gain} dB at 22 GHz");
        let fact = shop.log.write_noted(when + 600, ENGINEER, Some(&note), FactBody::ResultNoted(result));
        shop.part(when + 900, ENGINEER, "CB-010B", "DU-007A");
        shop.part(when + 960, ENGINEER, "IN-003P1", "CB-010A");
        if day < 63 { good_results.push(fact) } else { doubtful_results.push(fact) }
    }
    // The port, exposed since day 63, hands it on to a cable of the ordinary work.
    let when = on(shop, 67, 18, 35);
    shop.mate(when, ENGINEER, "IN-003P1", "CB-011A", None);
    shop.part(when + 900, ENGINEER, "IN-003P1", "CB-011A");
    let found = on(shop, 77, 7, 40);
    let seen = ["loose-when-found", "metal-flakes"];
    let dirt_found = shop.look(found, ENGINEER, "CB-010B", InspectionOutcome::Dirty, &seen);
    shop.clean(found + 300, ENGINEER, "CB-010B");
    shop.look(found + 600, ENGINEER, "CB-010B", InspectionOutcome::NormalWear, &["light-rings"]);
    OddReceiver {
        device: shop.named_item("DU-007"),
        chain,
        good_results,
        doubtful_results,
        dirty: shop.end("CB-010B"),
        dirt_found,
        dirt_found_at: shop.log.moment(found),
    }
}

/// Sixty-four hexadecimal digits.
pub(crate) fn sha256(shop: &mut Workshop) -> String {
    let halves = [shop.log.draw.bytes(), shop.log.draw.bytes()];
    let digits = halves.iter().flatten().flat_map(|byte| [byte >> 4, byte & 15]);
    digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect()
}

fn kit(shop: &mut Workshop) -> Kit {
    let items: Vec<_> =
        ["CS-001", "CS-002", "CS-003", "CS-004"].map(|tag| shop.named_item(tag)).into_iter().collect();
    let when = on(shop, 88, 18, 30);
    let elsewhere = shop.named_item("CS-004");
    for (slot, item) in (1..).zip(&items) {
        let stored = if *item == elsewhere {
            Stored { item: item.id, place: "bench 3, drawer".to_owned(), capped: Some(false) }
        } else {
            Stored { item: item.id, place: format!("{KIT_BOX}, place {slot}"), capped: Some(true) }
        };
        shop.log.write(when + 60 * slot, TECHNICIAN_1, FactBody::Stored(stored));
    }
    for (tag, place) in
        [("CB-025", "store cupboard"), ("CB-027", "store cupboard"), ("AT-005", "store cupboard")]
    {
        let item = shop.named_item(tag).id;
        let stored = Stored { item, place: place.to_owned(), capped: Some(true) };
        shop.log.write(on(shop, 80, 18, 30), TECHNICIAN_3, FactBody::Stored(stored));
    }
    Kit { place: KIT_BOX.to_owned(), items, elsewhere }
}

fn single_cases(shop: &mut Workshop) -> SingleCases {
    let (fell, retired) = (on(shop, 50, 18, 30), on(shop, 47, 18, 30));
    let held = shop.end("CB-016A");
    let because = "fell from the bench onto its front; not yet looked at".to_owned();
    let held_fact = shop.log.write(fell, TECHNICIAN_2, FactBody::Held(Held { end: held.id, because }));
    shop.block("CB-016A", fell, FOR_EVER);

    let retired_end = shop.end("CB-017B");
    let body = Retired { subject: Subject::End(retired_end.id), because: "thread worn".to_owned() };
    shop.log.write(retired, METROLOGIST, FactBody::Retired(body));
    shop.block("CB-017B", retired, FOR_EVER);

    let retired_item = shop.named_item("AD-003");
    let scrapped = on(shop, 66, 18, 30);
    let because = "body loose on both sides".to_owned();
    let body = Retired { subject: Subject::Item(retired_item.id), because };
    shop.log.write(scrapped, METROLOGIST, FactBody::Retired(body));
    shop.block("AD-003A", scrapped, FOR_EVER);
    shop.block("AD-003B", scrapped, FOR_EVER);

    for (tag, day) in [("CB-008A", 83), ("IN-004P1", 82)] {
        let when = on(shop, day, 18, 40);
        shop.look(when, TECHNICIAN_1, tag, InspectionOutcome::Good, &[]);
        shop.gauge(when + 120, TECHNICIAN_1, tag);
    }

    // Read from the workshop's old gauging book: only the day is known.
    let gauged = matewell_lab::Gauged {
        end: shop.end("AD-011A").id,
        gauge: Some(shop.named_item("GA-001").id),
        readings: [11.0, 12.0, 12.0].iter().filter_map(|um| position_um(*um)).collect(),
        stated_standard_uncertainty: None,
        session: None,
    };
    let (happened, recorded) = (at(-400, 0, 0), at(0, 17, 0));
    shop.log.write_at(
        happened,
        recorded,
        Resolution::Day,
        PAPER,
        Some("from the gauging book"),
        FactBody::Gauged(gauged),
    );

    let found = on(shop, 86, 18, 30);
    shop.look(found, TECHNICIAN_3, "AD-007B", InspectionOutcome::Dirty, &["fibres", "dull-film"]);
    shop.block("AD-007B", found, FOR_EVER);

    let when = on(shop, 81, 18, 40);
    shop.look(when, TECHNICIAN_3, "AD-015A", InspectionOutcome::Good, &[]);
    shop.gauge_reading(when + 120, TECHNICIAN_3, "AD-015A", "GA-008", &[175, 150, 175]);
    shop.look(when + 600, TECHNICIAN_1, "AD-014A", InspectionOutcome::Good, &[]);
    shop.gauge_reading(when + 720, TECHNICIAN_1, "AD-014A", "GA-010", &[20, 10, 30]);

    SingleCases {
        never_gauged: shop.end("CB-007A"),
        good_sma: shop.end("CB-008A"),
        good_port: shop.end("IN-004P1"),
        held,
        held_fact,
        retired_end,
        retired_item,
        due_by_mates: shop.end("CB-022B"),
        due_by_time: shop.end("AD-011A"),
        dirty: shop.end("AD-007B"),
        uncertain_gauge: shop.end("AD-015A"),
        near_flush: shop.end("AD-014A"),
        voided: entered_twice(shop),
        released: held_and_released(shop),
        retimed: entered_with_the_wrong_day(shop),
    }
}

fn position_um(um: f64) -> Option<matewell_lab::PinPosition> {
    let by = matewell_quantity::Length::from_micrometres(um).ok()?;
    matewell_lab::PinPosition::recessed(by).ok()
}

/// Held for a mark on its face, then shown to be in order.
fn held_and_released(shop: &mut Workshop) -> NamedEnd {
    let end = shop.end("CB-020A");
    let (held, released) = (on(shop, 20, 18, 30), on(shop, 22, 18, 30));
    let because = "a mark on the face, seen without a microscope".to_owned();
    shop.log.write(held, TECHNICIAN_3, FactBody::Held(Held { end: end.id, because }));
    shop.look(released, METROLOGIST, "CB-020A", InspectionOutcome::NormalWear, &["light-rings"]);
    let evidence = shop.gauge(released + 120, METROLOGIST, "CB-020A");
    let because = "only a ring of ordinary use; gauged well recessed".to_owned();
    let body = Released { end: end.id, because, evidence, lifts: Vec::new() };
    shop.log.write(released + 240, METROLOGIST, FactBody::Released(body));
    end
}

/// A cleaning entered under the wrong day.
fn entered_with_the_wrong_day(shop: &mut Workshop) -> FactId {
    let entered = on(shop, 13, 18, 30);
    let fact = shop.clean(entered, TECHNICIAN_3, "CB-024A");
    let right = shop.log.moment(on(shop, 11, 18, 30));
    let because = "it was two days before".to_owned();
    let corrected = Corrected { fact, correction: Correction::HappenedAt(right), because };
    shop.log.write(entered + 300, TECHNICIAN_3, FactBody::Corrected(corrected));
    fact
}

/// A mate typed in twice, the second voided the morning after.
fn entered_twice(shop: &mut Workshop) -> FactId {
    let when = on(shop, 29, 18, 30);
    shop.mate(when, TECHNICIAN_3, "CB-001A", "DU-001A", None);
    let twice = shop.mate(when, TECHNICIAN_3, "CB-001A", "DU-001A", None);
    shop.part(when + 600, TECHNICIAN_3, "CB-001A", "DU-001A");
    let fact = twice.unwrap_or(FactId::from_bytes([0; 16]));
    let corrected = Corrected { fact, correction: Correction::Void, because: "entered twice".to_owned() };
    shop.log.write(when + 60_000, TECHNICIAN_3, FactBody::Corrected(corrected));
    fact
}
