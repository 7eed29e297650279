//! How quick are a budget with its decision, and the correction of ten
//! thousand sessions? Prints medians of one run on this machine.
#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a bench that prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a timing needs a clock, and this is no part of the library")]

use matewell_app::{Said, Workshop};
use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, GaugeMethod, GaugeSpec, Gauged, GaugingOnRecord,
    GaugingSession, Grade, Item, ItemId, ItemKind, Moment, PinPosition, Registered, Resolution, Sex, Slots,
    ToolRecord,
};
use matewell_quantity::Length;
use matewell_sheets::Sheets;
use matewell_verdict::{Book, judge_gauging};
use matewell_wire::{WasOffAsked, moment_text};
use std::time::{Duration, Instant};

/// 2026-11-01T00:00:00Z.
const START: Moment = Moment::from_microseconds(1_793_491_200_000_000);
const ENDS: u32 = 2_000;
const SESSIONS: u32 = 10_000;

fn um(v: f64) -> Length {
    Length::from_micrometres(v).unwrap()
}

fn recessed(v: f64) -> PinPosition {
    PinPosition::recessed(um(v)).unwrap()
}

fn id(kind: u8, n: u32) -> [u8; 16] {
    let mut bytes = [0; 16];
    bytes[0] = 1;
    bytes[6] = 0x70 | kind;
    bytes[8] = 0x80;
    bytes[12..].copy_from_slice(&n.to_be_bytes());
    bytes
}

fn item(n: u32, tag: String, kind: ItemKind) -> Item {
    Item {
        id: ItemId::from_bytes(id(2, n)),
        tag,
        kind,
        description: String::new(),
        model: None,
        serial: None,
        location: None,
        cost: None,
        gauge: (kind == ItemKind::Gauge).then(|| GaugeSpec {
            interface: "3.5mm".to_owned(),
            method: GaugeMethod::ScrewOn,
            standard_uncertainty: Some(um(1.0)),
            repeatability: Some(um(1.0)),
            repeatability_dof: Some(30.0),
            resolution: Some(um(1.0)),
            master: Some("GM-1".to_owned()),
        }),
        wrench: None,
        extra: Vec::new(),
    }
}

fn gauged(end: u32, n: u32) -> Gauged {
    let depth = 1.0 + f64::from(n % 97) / 4.0;
    Gauged {
        end: EndId::from_bytes(id(3, end)),
        gauge: Some(ItemId::from_bytes(id(2, 1_000_000))),
        readings: vec![recessed(depth), recessed(depth + 1.0), recessed(depth + 0.5)],
        stated_standard_uncertainty: None,
        session: Some(Box::new(GaugingSession {
            master: Some(ItemId::from_bytes(id(2, 1_000_001))),
            zero_before: vec![recessed(0.0), recessed(0.5)],
            zero_after: vec![recessed(0.5), recessed(0.0)],
            ..GaugingSession::default()
        })),
    }
}

fn main() {
    let sheets = Sheets::embedded().unwrap();
    let book = Book::new(&sheets);
    let policy = book.policy();
    let gauge = ToolRecord {
        item: item(1_000_000, "GA-1".to_owned(), ItemKind::Gauge),
        last_check: None,
        last_certificate: None,
        last_position: None,
        uses_since_check: 0,
        retired: None,
    };
    let mut times = Vec::new();
    for n in 0..20_000 {
        let on_record = GaugingOnRecord {
            fact: FactId::from_bytes(id(1, n)),
            at: START,
            person: "technician-1".to_owned(),
            contacts: 1,
            gauged: gauged(1, n),
        };
        let start = Instant::now();
        let judged = judge_gauging(&on_record, Some(&gauge), &[], &policy).unwrap();
        times.push(start.elapsed());
        assert!(judged.is_some());
    }
    times.sort();
    println!(
        "budget and decision of a whole session: median {:.1} µs, p99 {:.1} µs (of 20000)",
        micros(times[10_000]),
        micros(times[19_800])
    );

    let folder = tempfile::tempdir().unwrap();
    let mut shop = Workshop::open(&folder.path().join("lab.db"), START).unwrap();
    let machine = shop.store().machine();
    let mut number = 0;
    let mut fact = |minutes: u32, body: FactBody| {
        number += 1;
        let at = START.plus_days(f64::from(minutes) / 1440.0);
        Fact {
            id: FactId::from_bytes(id(1, number)),
            machine,
            happened_at: at,
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: at,
            person: "technician-1".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        }
    };
    let mut facts = Vec::new();
    for (n, tag, kind) in [(1_000_000, "GA-1", ItemKind::Gauge), (1_000_001, "GM-1", ItemKind::GaugeMaster)] {
        let registered = Registered { item: item(n, tag.to_owned(), kind), ends: Vec::new() };
        facts.push(fact(0, FactBody::Registered(Box::new(registered))));
    }
    for n in 0..ENDS {
        let cable = item(n, format!("CB-{n}"), ItemKind::Cable);
        let end = End {
            id: EndId::from_bytes(id(3, n)),
            item: cable.id,
            tag: format!("CB-{n}A"),
            interface: "3.5mm".to_owned(),
            sex: Sex::Pin,
            grade: Grade::Instrument,
            body: Body::Stainless,
            slots: Slots::Unknown,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        };
        facts.push(fact(0, FactBody::Registered(Box::new(Registered { item: cable, ends: vec![end] }))));
    }
    for n in 0..SESSIONS {
        facts.push(fact(1 + n, FactBody::Gauged(gauged(n % ENDS, n))));
    }
    shop.store_mut().append(&facts).unwrap();
    let mut asked = WasOffAsked {
        since: moment_text(START),
        until: moment_text(START.plus_days(30.0)),
        by: Some("4um".to_owned()),
        too: Some("recessed".to_owned()),
        drift: true,
        even_if_zeroed: true,
        ..WasOffAsked::default()
    };
    let said = Said::at_the_bench("metrologist-1");
    let now = START.plus_days(40.0);
    let mut runs = Vec::new();
    for _ in 0..5 {
        let start = Instant::now();
        let found = shop.was_off("GA-1", &asked, &said, now).unwrap();
        runs.push(start.elapsed());
        assert_eq!(found.gaugings.len(), 10_000);
        assert!(found.flips > 100);
    }
    runs.sort();
    println!(
        "was-off over {SESSIONS} sessions, store read, both ways: median {:.2} s of 5",
        runs[2].as_secs_f64()
    );
    asked.write = true;
    let start = Instant::now();
    let found = shop.was_off("GA-1", &asked, &said, now).unwrap();
    println!(
        "the same with {} corrections written: {:.2} s",
        found.facts.len(),
        start.elapsed().as_secs_f64()
    );
    assert!(shop.verify().unwrap().whole);
}

fn micros(time: Duration) -> f64 {
    time.as_secs_f64() * 1e6
}
