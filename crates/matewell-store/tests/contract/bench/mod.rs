//! A few invented items and facts for the tests of the log.

use matewell_lab::{
    Body, Corrected, Correction, End, EndId, Fact, FactBody, FactId, FactSource, FollowedUp, Gauged, Grade,
    Held, Inspected, InspectionOutcome, Item, ItemId, ItemKind, MachineId, Mated, Moment, Overridden,
    PinPosition, Refused, Registered, Resolution, Sex, Slots, Stored,
};
use matewell_quantity::Length;

pub(crate) const MACHINE: MachineId = MachineId::from_bytes([0xaa; 16]);

pub(crate) fn bytes(kind: u8, count: u32) -> [u8; 16] {
    let mut bytes = [kind; 16];
    bytes[..4].copy_from_slice(&count.to_be_bytes());
    bytes
}

pub(crate) fn end(item: u32, n: u32) -> EndId {
    EndId::from_bytes(bytes(1, item * 10 + n))
}

pub(crate) fn item(count: u32) -> ItemId {
    ItemId::from_bytes(bytes(2, count))
}

pub(crate) fn id(count: u32) -> FactId {
    FactId::from_bytes(bytes(3, count))
}

pub(crate) fn at(second: i64) -> Moment {
    Moment::from_microseconds(second * 1_000_000)
}

pub(crate) fn fact(count: u32, body: FactBody) -> Fact {
    Fact {
        id: id(count),
        machine: MACHINE,
        happened_at: at(i64::from(count)),
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: at(i64::from(count) + 5),
        person: "Wren Ashdown".to_owned(),
        source: FactSource::Bench,
        note: count.is_multiple_of(3).then(|| "found loose\nsee the sheet, 3 µm".to_owned()),
        body,
    }
}

pub(crate) fn registration(count: u32, kind: ItemKind, ends: u32) -> Registered {
    let ends = (0..ends).map(|n| End {
        id: end(count, n),
        item: item(count),
        tag: format!("L{count:02}-{n}"),
        interface: "3.5mm".to_owned(),
        sex: if n == 0 { Sex::Pin } else { Sex::Socket },
        grade: Grade::Instrument,
        body: Body::Stainless,
        slots: Slots::Unknown,
        static_sensitive: false,
        rf_live: false,
        biased: false,
        extra: Vec::new(),
    });
    Registered {
        item: Item {
            id: item(count),
            tag: format!("L{count:02}"),
            kind,
            description: "bench item".to_owned(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        },
        ends: ends.collect(),
    }
}

/// Items 0..4 with two ends each, gauge 4 and wrench 5; facts 0..6.
pub(crate) fn registrations() -> Vec<Fact> {
    let kinds = [
        (ItemKind::Cable, 2),
        (ItemKind::Cable, 2),
        (ItemKind::Adapter, 2),
        (ItemKind::Instrument, 2),
        (ItemKind::Gauge, 0),
        (ItemKind::TorqueWrench, 0),
    ];
    (0..)
        .zip(kinds)
        .map(|(n, (kind, ends))| fact(n, FactBody::Registered(Box::new(registration(n, kind, ends)))))
        .collect()
}

pub(crate) fn mated(count: u32, a: EndId, b: EndId) -> Fact {
    fact(count, FactBody::Mated(Mated { a, b, wrench: Some(item(5)), overridden: None }))
}

pub(crate) fn gauged(count: u32, end: EndId) -> Fact {
    let reading = PinPosition::recessed(Length::from_micrometres(12.0).unwrap()).unwrap();
    let gauged = Gauged {
        end,
        gauge: Some(item(4)),
        readings: vec![reading],
        stated_standard_uncertainty: None,
        session: None,
    };
    fact(count, FactBody::Gauged(gauged))
}

pub(crate) fn held(count: u32, end: EndId) -> Fact {
    fact(count, FactBody::Held(Held { end, because: "dropped".to_owned() }))
}

pub(crate) fn stored(count: u32, item: ItemId) -> Fact {
    fact(count, FactBody::Stored(Stored { item, place: "drawer 3".to_owned(), capped: Some(true) }))
}

pub(crate) fn damaged(count: u32, end: EndId) -> Fact {
    let inspected = Inspected::plain(end, InspectionOutcome::Damaged, Vec::new(), None);
    fact(count, FactBody::Inspected(inspected))
}

pub(crate) fn corrected(count: u32, earlier: u32, correction: Correction) -> Fact {
    let corrected = Corrected { fact: id(earlier), correction, because: "misread the label".to_owned() };
    fact(count, FactBody::Corrected(corrected))
}

pub(crate) fn refused(count: u32, a: EndId, b: EndId) -> Fact {
    let refused =
        Refused { a, b, answer: "stop".to_owned(), findings: vec!["protrudes".to_owned()], frequency: None };
    fact(count, FactBody::Refused(refused))
}

pub(crate) fn overridden(count: u32, earlier: u32, a: EndId, b: EndId) -> Fact {
    let overridden = Overridden {
        a,
        b,
        refused: id(earlier),
        because: "one reading only".to_owned(),
        follow_up: "gauge both ends".to_owned(),
    };
    fact(count, FactBody::Overridden(overridden))
}

pub(crate) fn followed_up(count: u32, earlier: u32) -> Fact {
    fact(count, FactBody::FollowedUp(FollowedUp { fact: id(earlier), done: "gauged both".to_owned() }))
}
