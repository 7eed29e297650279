//! The ordinary life between the incidents: calibrations, jobs, rounds, checks.
//!
//! Hours of the day, so that no end is in two places at once: tool checks at
//! seven, the benches with network analysers in the morning, single jobs in
//! the afternoon, the gauging rounds after them.

use crate::{
    DAYS,
    fit::fits,
    log::{
        By, ENGINEER, METROLOGIST, PAPER, PROGRAM, SCREENED, Second, TECHNICIAN_1, TECHNICIAN_2,
        TECHNICIAN_3, at,
    },
    roster::{GAUGES, WRENCHES},
    script::sha256,
    workshop::{GAUGE_FOUND, GAUGE_GOOD, Tenths, Workshop, length, torque},
};
use matewell_lab::{
    Certificate, End, FactBody, GaugeZero, InspectionOutcome, KitChecked, KitMade, PieceFound, PinPosition,
    Reserved, ResultNoted, Sex, ToolCheck, ToolChecked, TorqueRanges, Whereabouts, WrenchCheck,
};

/// Mates in all, the incidents' included.
const MATES: usize = 1_250;

/// Items that the single jobs leave alone: they belong to a bench, or to the story.
const RESERVED: [&str; 21] = [
    "CB-007", "CB-009", "CB-010", "CB-014", "CB-015", "CB-021", "CB-022", "CB-030", "CB-031", "CB-032",
    "CS-", "IN-001", "IN-002", "IN-003", "IN-005P1", "DU-007", "DU-008", "AD-011", "AD-014", "AD-015",
    "CB-004A",
];

/// Items that stay in the cupboard.
const IDLE: [&str; 12] = [
    "CB-006", "CB-020", "CB-024", "AD-012", "AD-013", "AD-017", "CB-034", "CB-027", "AT-005", "DU-002",
    "DU-012C", "CB-017A",
];

/// Ends that the rounds always leave alone: the story gauges them, or nobody
/// does, or they sit on a port and are gauged when they come off it.
const NEVER_VISITED: [&str; 16] = [
    "CB-007A", "CB-007B", "AD-011A", "AD-014A", "AD-015A", "CB-004A", "CB-014A", "CB-015A", "CB-021A",
    "CB-022A", "CB-030A", "IN-001P1", "IN-001P2", "IN-002P1", "IN-002P2", "IN-005P1",
];

/// Visited in the first round only: the repaired end while it was still the
/// old one, and an end that becomes due by its mates.
const VISITED_ONCE: [&str; 5] = ["IN-003P1", "CB-010B", "DU-008A", "CB-009A", "CB-022B"];

/// Not visited after the repaired cable went round, so that exposures stay open;
/// the thru is watched instead.
const VISITED_TWICE: [&str; 5] = ["CB-015B", "AT-002B", "CB-011A", "CB-010A", "CS-004A"];

/// Fills the ninety days.
pub(crate) fn fill(shop: &mut Workshop) {
    check_tools(shop);
    let mut days = shop.log.bench_days();
    shop.log.draw.shuffle(&mut days);
    // On the morning on which the repaired cable met a standard, bench 1
    // certainly calibrates; chance alone would leave it out in some labs.
    let spread = shop.log.bench_day(66);
    let others = days.iter().copied().filter(|day| *day != spread);
    let first_bench: Vec<i64> = std::iter::once(spread).chain(others).take(38).collect();
    shop.log.draw.shuffle(&mut days);
    let second_bench: Vec<i64> = days.iter().copied().take(22).collect();
    shop.log.draw.shuffle(&mut days);
    let third_bench: Vec<i64> = days.iter().copied().take(14).collect();
    connect_test_cables(shop);
    for day in first_bench {
        calibrate_and_measure(shop, &BENCH_1, at(day, 9, 0));
    }
    for day in second_bench {
        calibrate_and_measure(shop, &BENCH_2, at(day, 9, 0));
    }
    for day in third_bench {
        power_bench(shop, at(day, 10, 0));
    }
    rounds(shop);
    single_jobs(shop);
    watch_the_thru(shop);
    certify_masters(shop);
    gauge_the_good_pair(shop);
    keep_the_kit(shop);
}

/// The box of the 3.5 mm standards, looked through on the evening on which its
/// thru lay elsewhere, and wanted for planned work as is a cable.
fn keep_the_kit(shop: &mut Workshop) {
    let pieces = ["CS-001", "CS-002", "CS-003", "CS-004"].map(|tag| shop.named_item(tag).id);
    let kit = shop.register_kit(at(0, 15, 0), "KIT-001", "3.5 mm calibration kit");
    let made = KitMade { kit, pieces: pieces.to_vec() };
    shop.log.write(at(0, 15, 5), METROLOGIST, FactBody::KitMade(made));
    let evening = at(shop.log.bench_day(88), 18, 45);
    let found = pieces.iter().zip(1..).map(|(piece, place)| match place {
        4 => PieceFound { piece: *piece, place: Whereabouts::Missing, capped: None },
        _ => PieceFound { piece: *piece, place: Whereabouts::InPlace, capped: Some(true) },
    });
    let checked = KitChecked { kit, found: found.collect() };
    shop.log.write(evening, TECHNICIAN_1, FactBody::KitChecked(checked));
    let cable = shop.named_item("CB-011").id;
    for (item, work, first, last) in [
        (kit, "receiver LRW-12, final calibration", DAYS + 3, DAYS + 4),
        (cable, "survey of the cold stage", DAYS + 12, DAYS + 16),
    ] {
        let (from, until) = (shop.log.moment(at(first, 8, 0)), shop.log.moment(at(last, 18, 0)));
        let reserved = Reserved { item, work: work.to_owned(), from, until };
        shop.log.write(evening + 300, METROLOGIST, FactBody::Reserved(reserved));
    }
}

/// Jobs fall on other weekdays every day the lab is made, and any of them may
/// bring what the repaired cable left to the pair that is to be good: it is
/// gauged once more after all of them.
fn gauge_the_good_pair(shop: &mut Workshop) {
    let Some(day) = shop.log.bench_days().into_iter().filter(|day| *day < DAYS).max() else { return };
    shop.gauge_reading(at(day, 18, 40), METROLOGIST, "CB-008A", "GA-002", &[313; 3]);
    shop.gauge_reading(at(day, 18, 50), METROLOGIST, "IN-004P1", "GA-001", &[120; 3]);
}

/// Flush masters, each with a certificate that says so.
fn certify_masters(shop: &mut Workshop) {
    for (number, tag) in ["GM-001", "GM-002", "GM-003", "GM-004", "GM-005"].into_iter().enumerate() {
        let tool = shop.named_item(tag).id;
        let issued = at(-60, 12, 0);
        let flush = Certificate {
            position: Some(PinPosition::Recessed(length(0))),
            standard_uncertainty: Some(length(3)),
            ..Certificate::without_value(
                format!("LRW-M-{:04}", 301 + number),
                true,
                Some(shop.log.moment(issued).plus_days(730.0)),
            )
        };
        let body = FactBody::ToolChecked(ToolChecked { tool, check: ToolCheck::Certificate(flush) });
        shop.log.write_at(issued, at(0, 16, 0), matewell_lab::Resolution::Day, PAPER, None, body);
    }
}

/// One contact of the thru is gauged twice a week between two rounds, nobody
/// cleaning it meanwhile: it settles with its mates, so that its drift can be
/// seen and carried on.
fn watch_the_thru(shop: &mut Workshop) {
    const END: &str = "CS-004A";
    const SETTLES: Tenths = 3;
    let days = shop.log.bench_days().into_iter().filter(|day| (38..76).contains(day));
    for (count, day) in (0..).zip(days.step_by(3)) {
        let readings: Vec<Tenths> = (0..3).map(|_| 95 - SETTLES * count + shop.log.draw.bell(8)).collect();
        shop.gauge_reading(at(day, 7, 50), METROLOGIST, END, "GA-001", &readings);
    }
}

fn check_tools(shop: &mut Workshop) {
    let days = shop.log.bench_days();
    let drift = shop.log.bench_day(GAUGE_GOOD)..=shop.log.bench_day(GAUGE_FOUND);
    for (number, plan) in GAUGES.iter().enumerate() {
        let tool = shop.named_item(plan.tag).id;
        if plan.uncertainty.is_some() {
            let document = format!("LRW-G-{:04}", 201 + number);
            certify(shop, tool, document, -60);
        }
        for (count, day) in days.iter().enumerate() {
            let is_drifting = plan.tag == "GA-002" && drift.contains(day);
            if count % 5 != 0 || is_drifting {
                continue;
            }
            let off = shop.log.draw.between(-5, 5);
            let check = ToolCheck::GaugeZero(GaugeZero { reads_more_recessed: length(off), in_order: true });
            let when = at(*day, 7, 1) + 90 * i64::try_from(number).unwrap_or(0);
            shop.log.write(when, METROLOGIST, FactBody::ToolChecked(ToolChecked { tool, check }));
        }
    }
    for (number, (tag, set_point, _)) in WRENCHES.iter().enumerate() {
        let tool = shop.named_item(tag).id;
        certify(shop, tool, format!("LRW-T-{:04}", 101 + number), -30);
        // The story checks TW-002 later on.
        let check_days: &[i64] = if *tag == "TW-002" { &[5] } else { &[5, 48] };
        for day in check_days {
            let readings =
                (0..3).map(|_| torque(*set_point + i32::try_from(shop.log.draw.between(-2, 2)).unwrap_or(0)));
            let check = ToolCheck::Wrench(WrenchCheck {
                set_point: torque(*set_point),
                readings: readings.collect(),
                ranges: TorqueRanges::default(),
                in_order: true,
            });
            let when = at(shop.log.bench_day(*day), 7, 20) + 120 * i64::try_from(number).unwrap_or(0);
            shop.log.write(when, METROLOGIST, FactBody::ToolChecked(ToolChecked { tool, check }));
        }
    }
}

/// A document from before the demo, entered on its first day.
fn certify(shop: &mut Workshop, tool: matewell_lab::ItemId, document: String, day: i64) {
    let issued = at(day, 12, 0);
    let valid_until = Some(shop.log.moment(issued).plus_days(365.0));
    let check = ToolCheck::Certificate(Certificate::without_value(document, true, valid_until));
    let recorded = at(0, 16, 0);
    let body = FactBody::ToolChecked(ToolChecked { tool, check });
    shop.log.write_at(issued, recorded, matewell_lab::Resolution::Day, PAPER, None, body);
}

/// The far ends of the test-port cables come off once a week.
fn connect_test_cables(shop: &mut Workshop) {
    let joints = [
        ("IN-001P1", "CB-014A"),
        ("IN-001P2", "CB-015A"),
        ("IN-002P1", "CB-021A"),
        ("IN-002P2", "CB-022A"),
        ("IN-005P1", "CB-030A"),
    ];
    let days: Vec<i64> = shop.log.bench_days().into_iter().step_by(7).collect();
    for (count, day) in days.into_iter().enumerate() {
        for (number, (port, cable)) in (0..).zip(joints) {
            let when = at(day, 8, 30) + 300 * number;
            let by = if port.starts_with("IN-002") { SCREENED } else { TECHNICIAN_1 };
            if count > 0 {
                shop.part(when - 200, by, port, cable);
            }
            shop.look(when - 160, by, cable, InspectionOutcome::NormalWear, &[]);
            if count % 4 == 0 {
                shop.gauge(when - 120, by, cable);
                shop.gauge(when - 70, by, port);
            }
            shop.mate(when, by, port, cable, None);
        }
    }
}

/// A bench with a network analyser.
struct Analyser {
    by: By,
    ports: [&'static str; 2],
    cables: [[&'static str; 2]; 2],
    /// Open, short, load.
    standards: [&'static str; 3],
    thru: [&'static str; 2],
    devices: &'static [[&'static str; 2]],
}

const BENCH_1: Analyser = Analyser {
    by: TECHNICIAN_1,
    ports: ["IN-001P1", "IN-001P2"],
    cables: [["CB-014A", "CB-014B"], ["CB-015A", "CB-015B"]],
    standards: ["CS-001A", "CS-002A", "CS-003A"],
    thru: ["CS-004A", "CS-004B"],
    devices: &[
        ["DU-006A", "DU-006B"],
        ["DU-008A", "DU-008B"],
        ["DU-009A", "DU-009B"],
        ["DU-005A", "DU-005B"],
        ["AD-001A", "AD-001B"],
    ],
};

const BENCH_2: Analyser = Analyser {
    by: PROGRAM,
    ports: ["IN-002P1", "IN-002P2"],
    cables: [["CB-021A", "CB-021B"], ["CB-022A", "CB-022B"]],
    standards: ["CS-005A", "CS-006A", "CS-007A"],
    thru: ["CS-008A", "CS-008B"],
    devices: &[["DU-010A", "DU-010B"], ["DU-012A", "DU-012B"], ["AD-005A", "AD-005B"]],
};

/// One session: both ports on open, short and load, the thru between them,
/// devices, and the load once more to see whether anything moved.
fn calibrate_and_measure(shop: &mut Workshop, bench: &Analyser, start: Second) {
    let [[_, first], [_, second]] = bench.cables;
    let [.., load] = bench.standards;
    let by = bench.by;
    let mut when = start;
    let person = if by == PROGRAM { SCREENED } else { by };
    for end in [first, second] {
        shop.clean(when, person, end);
        let outcome = ordinary_look(shop);
        shop.look(when + 60, person, end, outcome, &[]);
        when += 120;
    }
    let mut joined: Vec<[&'static str; 2]> = Vec::new();
    let mut join = |shop: &mut Workshop, when: &mut Second, cable: &'static str, partner: &'static str| {
        // What is still on either of the two comes off first.
        let (off, kept): (Vec<_>, Vec<_>) =
            joined.iter().partition(|pair| pair.contains(&cable) || pair.contains(&partner));
        joined = kept;
        for [cable, partner] in off {
            *when += 20;
            shop.part(*when, by, cable, partner);
        }
        *when += 70 + shop.log.draw.between(0, 60);
        if shop.mate(*when, by, cable, partner, None).is_some() {
            joined.push([cable, partner]);
        }
    };
    for standard in bench.standards {
        if shop.log.draw.percent(50) {
            shop.look(when + 10, person, standard, InspectionOutcome::NormalWear, &[]);
        }
        join(shop, &mut when, first, standard);
        join(shop, &mut when, second, standard);
    }
    join(shop, &mut when, first, bench.thru[0]);
    join(shop, &mut when, second, bench.thru[1]);
    let mut devices = bench.devices.to_vec();
    shop.log.draw.shuffle(&mut devices);
    for [input, output] in devices.into_iter().take(2) {
        if !shop.is_free(shop.end(input).id, when + 600) {
            continue;
        }
        if shop.log.draw.percent(60) {
            let outcome = ordinary_look(shop);
            shop.look(when + 15, person, input, outcome, &[]);
        }
        join(shop, &mut when, first, input);
        join(shop, &mut when, second, output);
        let chain = [
            bench.ports[0],
            bench.cables[0][0],
            first,
            input,
            output,
            second,
            bench.cables[1][0],
            bench.ports[1],
        ];
        note_result(shop, when + 80, by, input, &chain);
        when += 60;
    }
    join(shop, &mut when, first, load);
    join(shop, &mut when, second, load);
    when += 120;
    for [cable, partner] in joined {
        shop.part(when, by, cable, partner);
        when += 20;
    }
}

fn note_result(shop: &mut Workshop, when: Second, by: By, device_end: &str, chain: &[&str]) {
    let device: String = device_end.chars().take(6).collect();
    let number = when.div_euclid(60);
    let result = ResultNoted {
        uri: format!("lab://larkmoor/results/{}/{number}", device.to_lowercase()),
        sha256: Some(sha256(shop)),
        device: Some(device),
        chain: chain.iter().map(|tag| shop.end(tag).id).collect(),
    };
    shop.log.write(when, by, FactBody::ResultNoted(result));
}

/// Type N in the morning on bench 3.
fn power_bench(shop: &mut Workshop, start: Second) {
    let mut when = start;
    shop.clean(when, TECHNICIAN_3, "CB-030B");
    let partners = ["CS-009A", "CS-010A", "CS-011A", "AT-004B", "AD-008B", "DU-011A", "CS-011A"];
    for partner in partners {
        when += 240;
        shop.mate(when, TECHNICIAN_3, "CB-030B", partner, None);
        shop.part(when + 180, TECHNICIAN_3, "CB-030B", partner);
    }
}

/// What an ordinary look shows.
fn ordinary_look(shop: &mut Workshop) -> InspectionOutcome {
    if shop.log.draw.percent(65) { InspectionOutcome::NormalWear } else { InspectionOutcome::Good }
}

/// Three rounds over all ends: at the beginning, in the middle, near the end.
/// The SMA gauge comes round in the twenty days in which it drifts.
fn rounds(shop: &mut Workshop) {
    let ends: Vec<End> = shop.ends().to_vec();
    let days = shop.log.bench_days();
    let from = |first: i64, count: usize| -> Vec<i64> {
        days.iter().copied().filter(|day| *day >= first).take(count).collect()
    };
    let starts = [from(2, 5), from(31, 6), from(76, 6)];
    let sma_middle = from(43, 8);
    for (round, round_days) in starts.iter().enumerate() {
        for (index, end) in ends.iter().enumerate() {
            let days = if round == 1 && end.interface == "sma" { &sma_middle } else { round_days };
            let Some(day) = days.get(index % days.len().max(1)) else { continue };
            let when = at(*day, 16, 40) + 130 * i64::try_from(index / days.len().max(1)).unwrap_or(0);
            visit(shop, round, when, end);
        }
    }
}

fn visit(shop: &mut Workshop, round: usize, when: Second, end: &End) {
    let by = if end.interface == "sma" { TECHNICIAN_2 } else { TECHNICIAN_1 };
    let chance = [95, 70, 55].get(round).copied().unwrap_or(0);
    if !shop.is_free(end.id, when) || !shop.log.draw.percent(chance) {
        return;
    }
    let tag = end.tag.as_str();
    let is_left_alone = NEVER_VISITED.contains(&tag)
        || (round > 0 && VISITED_ONCE.contains(&tag))
        || (round > 1 && VISITED_TWICE.contains(&tag));
    if is_left_alone {
        return;
    }
    if shop.log.draw.percent(60) {
        shop.clean(when, by, tag);
    }
    let outcome = ordinary_look(shop);
    shop.look(when + 40, by, tag, outcome, &[]);
    shop.gauge(when + 80, by, tag);
}

/// What is left of the mates: one pair at a time, each in its own slot of ten
/// minutes of an afternoon.
fn single_jobs(shop: &mut Workshop) {
    let mut free: Vec<End> = shop.ends().iter().filter(|end| !is_kept_out(&end.tag)).cloned().collect();
    shop.log.draw.shuffle(&mut free);
    let (pins, others): (Vec<End>, Vec<End>) = free.into_iter().partition(|end| end.sex == Sex::Pin);
    let mut slots: Vec<Second> = shop
        .log
        .bench_days()
        .into_iter()
        .filter(|day| *day < DAYS)
        .flat_map(|day| (0..21).map(move |slot| at(day, 13, 0) + 600 * slot))
        .collect();
    shop.log.draw.shuffle(&mut slots);
    for when in slots {
        if shop.mates() >= MATES {
            break;
        }
        let Some(pin) = pins.get(shop.log.draw.below_biased(pins.len())) else { continue };
        let partners: Vec<&End> =
            others.iter().filter(|end| fits(pin, end) && end.item != pin.item).collect();
        let Some(partner) = partners.get(shop.log.draw.below_biased(partners.len())) else { continue };
        single_job(shop, when, &pin.tag, &partner.tag);
    }
}

fn is_kept_out(tag: &str) -> bool {
    RESERVED.iter().chain(&IDLE).any(|kept| tag.starts_with(kept))
}

fn single_job(shop: &mut Workshop, when: Second, pin: &str, partner: &str) {
    let (a, b) = (shop.end(pin).id, shop.end(partner).id);
    if !shop.is_free(a, when) || !shop.is_free(b, when) {
        return;
    }
    let from_paper = shop.log.draw.percent(4) && when < at(DAYS - 2, 0, 0);
    let person = [TECHNICIAN_1, TECHNICIAN_2, TECHNICIAN_3, ENGINEER];
    let by = if from_paper { PAPER } else { shop.log.draw.pick(&person).unwrap_or(TECHNICIAN_1) };
    if shop.log.draw.percent(45) {
        let outcome = ordinary_look(shop);
        shop.look(when + 10, by, partner, outcome, &[]);
    }
    if shop.log.draw.percent(25) {
        shop.clean(when + 40, by, pin);
    }
    shop.mate(when + 90, by, pin, partner, None);
    shop.part(when + 420, by, pin, partner);
}
