//! An invented lab of any size: benches of 250 ends that mate among themselves.

use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, Gauged, Grade, Inspected, InspectionOutcome, Item,
    ItemId, ItemKind, MachineId, Mated, Moment, PinPosition, Registered, Resolution, Sex, Slots, ToolCheck,
    ToolChecked, TorqueRanges, WrenchCheck, WrenchSpec,
};
use matewell_quantity::{Length, Torque};

/// 2026-01-01T00:00:00Z in microseconds.
const START_US: i64 = 1_767_225_600_000_000;
/// Two hundred thousand mates a day.
const STEP_US: i64 = 432_000;
/// Ends of one bench.
const BENCH: u64 = 250;
/// Wrenches of the lab.
pub(crate) const WRENCHES: u64 = 50;
/// Ends found damaged when four fifths of the mates were made.
pub(crate) const DAMAGED: u64 = 20;
/// One end in so many was looked at and gauged.
const GAUGED: usize = 20;

/// How large it is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lab {
    /// Ends: benches of 250.
    pub(crate) ends: u64,
}

/// A xorshift: the same numbers on every machine.
#[derive(Debug, Clone)]
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

/// Sixteen bytes whose order is the order of `count`, as with UUIDv7.
pub(crate) fn bytes(kind: u8, count: u64) -> [u8; 16] {
    let mut bytes = [0; 16];
    let scrambled = count.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    for (to, from) in bytes.iter_mut().zip(count.to_be_bytes().into_iter().chain(scrambled.to_be_bytes())) {
        *to = from;
    }
    bytes[15] = kind;
    bytes
}

pub(crate) fn machine() -> MachineId {
    MachineId::from_bytes(bytes(9, 0))
}

pub(crate) fn end_id(end: u64) -> EndId {
    EndId::from_bytes(bytes(1, end))
}

pub(crate) fn wrench_id(wrench: u64) -> ItemId {
    ItemId::from_bytes(bytes(5, wrench))
}

pub(crate) fn tag_of(end: u64) -> String {
    format!("LW-{}-{}", end / 2, end % 2)
}

pub(crate) fn tag_of_wrench(wrench: u64) -> String {
    format!("TW-{wrench}")
}

/// When the mate with this number was made.
pub(crate) fn moment_of(mate: u64) -> Moment {
    Moment::from_microseconds(START_US + i64::try_from(mate).unwrap_or(0) * STEP_US)
}

fn fact(kind: u8, count: u64, at: Moment, body: FactBody) -> Fact {
    Fact {
        id: FactId::from_bytes(bytes(kind, count)),
        machine: machine(),
        happened_at: at,
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: at,
        person: "bench-3".to_owned(),
        source: FactSource::Program,
        note: None,
        body,
    }
}

fn before(hours: i64) -> Moment {
    Moment::from_microseconds(START_US - hours * 3_600_000_000)
}

/// A check of every wrench; `round` counts them.
pub(crate) fn tool_checks(round: u64, at: Moment) -> Vec<Fact> {
    (0..WRENCHES).map(|n| tool_check(round, n, at)).collect()
}

/// The wrenches, and a check of each.
pub(crate) fn tools() -> Vec<Fact> {
    let set_point = Torque::from_newton_metres(0.9).expect("a plain number");
    let registered = (0..WRENCHES).map(|n| {
        let mut item = plain_item(wrench_id(n), tag_of_wrench(n), ItemKind::TorqueWrench);
        item.wrench = Some(WrenchSpec { set_point, tolerance: 0.06 });
        let registered = Registered { item, ends: Vec::new() };
        fact(6, n, before(47), FactBody::Registered(Box::new(registered)))
    });
    registered.chain(tool_checks(0, before(46))).collect()
}

/// A cable with a pin and a socket.
pub(crate) fn cable(count: u64) -> Fact {
    let item = ItemId::from_bytes(bytes(2, count));
    let end = |n: u64, sex| End {
        id: end_id(2 * count + n),
        item,
        tag: tag_of(2 * count + n),
        interface: "3.5mm".to_owned(),
        sex,
        grade: Grade::Instrument,
        body: Body::Stainless,
        slots: Slots::Unknown,
        static_sensitive: false,
        rf_live: false,
        biased: false,
        extra: Vec::new(),
    };
    let ends = vec![end(0, Sex::Pin), end(1, Sex::Socket)];
    let item = plain_item(item, format!("LW-{count}"), ItemKind::Cable);
    fact(3, count, before(48), FactBody::Registered(Box::new(Registered { item, ends })))
}

impl Lab {
    /// A look and a gauging of one end in twenty.
    pub(crate) fn cares(self) -> impl Iterator<Item = Fact> {
        (0..self.ends).step_by(GAUGED).flat_map(move |end| {
            let gauged = Gauged {
                end: end_id(end),
                gauge: None,
                readings: vec![PinPosition::Recessed(micrometres(20.0)); 3],
                stated_standard_uncertainty: Some(micrometres(2.0)),
                session: None,
            };
            [
                fact(8, 2 * end, before(45), look(end, InspectionOutcome::Good)),
                fact(8, 2 * end + 1, before(44), FactBody::Gauged(gauged)),
            ]
        })
    }

    /// What was found when four fifths of the mates were made.
    pub(crate) fn findings(self, at: Moment) -> Vec<Fact> {
        let apart = self.ends / DAMAGED;
        (0..DAMAGED).map(|n| fact(10, n, at, look(n * apart + 3, InspectionOutcome::Damaged))).collect()
    }

    /// The ends that were found damaged.
    pub(crate) fn damaged(self) -> impl Iterator<Item = u64> {
        (0..DAMAGED).map(move |n| n * (self.ends / DAMAGED) + 3)
    }

    /// A pin and a socket of one bench; one mate in five is with the bench's
    /// first socket, an instrument's.
    pub(crate) fn pair(self, random: &mut Random) -> (u64, u64) {
        let bench = random.below((self.ends / BENCH).max(1)) * BENCH;
        let most = BENCH.min(self.ends) / 2;
        let pin = bench + 2 * random.below(most);
        let socket = if random.below(5) == 0 { 1 } else { 2 * random.below(most) + 1 };
        (pin, bench + socket)
    }

    /// The mate with this number.
    pub(crate) fn mate(self, count: u64, random: &mut Random) -> Fact {
        let (a, b) = self.pair(random);
        let mated = Mated {
            a: end_id(a),
            b: end_id(b),
            wrench: Some(wrench_id(random.below(WRENCHES))),
            overridden: None,
        };
        fact(4, count, moment_of(count), FactBody::Mated(mated))
    }
}

fn tool_check(round: u64, wrench: u64, at: Moment) -> Fact {
    let set_point = Torque::from_newton_metres(0.9).expect("a plain number");
    let check = ToolCheck::Wrench(WrenchCheck {
        set_point,
        readings: vec![set_point; 5],
        ranges: TorqueRanges::default(),
        in_order: true,
    });
    let body = FactBody::ToolChecked(ToolChecked { tool: wrench_id(wrench), check });
    fact(7, round * WRENCHES + wrench, at, body)
}

fn look(end: u64, outcome: InspectionOutcome) -> FactBody {
    FactBody::Inspected(Inspected::plain(end_id(end), outcome, Vec::new(), None))
}

fn plain_item(id: ItemId, tag: String, kind: ItemKind) -> Item {
    Item {
        id,
        tag,
        kind,
        description: "test item".to_owned(),
        model: None,
        serial: None,
        location: None,
        cost: None,
        gauge: None,
        wrench: None,
        extra: Vec::new(),
    }
}

fn micrometres(value: f64) -> Length {
    Length::from_micrometres(value).expect("a plain number")
}
