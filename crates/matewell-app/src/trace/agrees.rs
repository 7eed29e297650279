//! The store asked level by level, and everything in memory: one answer.

use super::{
    Bad,
    contacts::{Contacts, Part},
    gauges::EVER,
    numbered,
    standing::told,
    taint,
    window::{Known, Window},
};
use crate::{Ids, Workshop};
use matewell_contact::{Exposure, TaintKind, backward, forward};
use matewell_lab::{
    Body, Certificate, Corrected, Correction, End, EndId, Fact, FactBody, FactId, FactSource, GaugeMethod,
    GaugeSpec, GaugeZero, Gauged, Grade, Inspected, InspectionOutcome, Item, ItemId, ItemKind, MachineId,
    Mated, Moment, PinPosition, Registered, Released, Replaced, Resolution, Sex, Slots, ToolCheck,
    ToolChecked, standing_facts,
};
use matewell_quantity::Length;
use matewell_store::TouchedBy;

const SEED: u64 = 20_261_126;
const HOUR: i64 = 3_600_000_000;
const DAY: i64 = 24 * HOUR;

struct Counting(u64);

impl Ids for Counting {
    fn next(&mut self, _: Moment) -> [u8; 16] {
        self.0 += 1;
        id(0, self.0)
    }
}

fn id(kind: u8, n: u64) -> [u8; 16] {
    let mut id = [0; 16];
    id[0] = kind;
    id[6] = 0x70;
    id[8..].copy_from_slice(&n.to_be_bytes());
    id
}

/// SplitMix64.
struct Draw(u64);

impl Draw {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % below
    }

    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
}

fn um(um: f64) -> Length {
    Length::from_micrometres(um).unwrap()
}

fn item(n: u64, kind: ItemKind) -> Item {
    let gauge = (kind == ItemKind::Gauge).then(|| GaugeSpec {
        interface: "3.5mm".to_owned(),
        method: GaugeMethod::ScrewOn,
        standard_uncertainty: Some(um(1.0)),
        repeatability: Some(um(0.5)),
        repeatability_dof: None,
        resolution: None,
        master: None,
    });
    Item {
        id: ItemId::from_bytes(id(2, n)),
        tag: format!("I{n}"),
        kind,
        description: String::new(),
        model: None,
        serial: None,
        location: None,
        cost: None,
        gauge,
        wrench: None,
        extra: Vec::new(),
    }
}

fn end(n: u64) -> End {
    End {
        id: EndId::from_bytes(id(3, n)),
        item: ItemId::from_bytes(id(2, n)),
        tag: format!("E{n}"),
        interface: "3.5mm".to_owned(),
        sex: Sex::Pin,
        grade: Grade::Instrument,
        body: Body::Stainless,
        slots: Slots::Unknown,
        static_sensitive: false,
        rf_live: false,
        biased: false,
        extra: Vec::new(),
    }
}

/// A fact known to the moment, written down when it happened.
fn fact(n: u64, machine: MachineId, at: i64, body: FactBody) -> Fact {
    Fact {
        id: FactId::from_bytes(id(1, n)),
        machine,
        happened_at: Moment::from_microseconds(at),
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: Moment::from_microseconds(at),
        person: "p".to_owned(),
        source: FactSource::Bench,
        note: None,
        body,
    }
}

/// Facts of one invented fortnight among a few ends and two gauges that no
/// other fortnight knows.
struct Trial {
    begins: i64,
    ends: Vec<EndId>,
    gauges: Vec<ItemId>,
    facts: Vec<Fact>,
}

impl Trial {
    fn new(number: u64, draw: &mut Draw, machine: MachineId) -> Self {
        let begins = i64::try_from(number).unwrap() * 40 * DAY;
        let (first, count) = (1000 * number, 3 + draw.below(6));
        let mut trial = Self { begins, ends: Vec::new(), gauges: Vec::new(), facts: Vec::new() };
        let mut next = first;
        let mut fact = |at: i64, sequence, day: bool, body| {
            next += 1;
            Fact {
                resolution: if day { Resolution::Day } else { Resolution::Instant },
                sequence,
                recorded_at: Moment::from_microseconds(begins + 30 * DAY + i64::try_from(next).unwrap()),
                ..fact(next, machine, at, body)
            }
        };
        for n in first..first + count {
            trial.ends.push(EndId::from_bytes(id(3, n)));
            let registered = Registered { item: item(n, ItemKind::Cable), ends: vec![end(n)] };
            trial.facts.push(fact(begins - DAY, 0, false, FactBody::Registered(Box::new(registered))));
        }
        for n in [first + 900, first + 901] {
            trial.gauges.push(ItemId::from_bytes(id(2, n)));
            let registered = Registered { item: item(n, ItemKind::Gauge), ends: Vec::new() };
            trial.facts.push(fact(begins - DAY, 0, false, FactBody::Registered(Box::new(registered))));
        }
        let day_in = [0, 0, 5, 20][usize::try_from(draw.below(4)).unwrap()];
        for sequence in 0..u32::try_from(5 + draw.below(45)).unwrap() {
            // Few hours, so that moments are shared.
            let at = begins + i64::try_from(draw.below(60)).unwrap() * 6 * HOUR;
            let body = if draw.one_in(12) && !trial.facts.is_empty() {
                trial.correction(draw, begins)
            } else {
                trial.body(draw)
            };
            let day = day_in > 0 && draw.one_in(day_in);
            trial.facts.push(fact(at, sequence / 2, day, body));
        }
        trial
    }

    fn end(&self, draw: &mut Draw) -> EndId {
        self.ends[usize::try_from(draw.below(self.ends.len() as u64)).unwrap()]
    }

    fn body(&self, draw: &mut Draw) -> FactBody {
        let end = self.end(draw);
        let gauge = self.gauges[usize::try_from(draw.below(2)).unwrap()];
        match draw.below(20) {
            0 => FactBody::Cleaned { end, method: None },
            1 => FactBody::Replaced(Replaced { end, because: "x".to_owned() }),
            2 => FactBody::Released(Released {
                end,
                because: "x".to_owned(),
                evidence: None,
                lifts: Vec::new(),
            }),
            3 | 4 => {
                let outcome = InspectionOutcome::ALL[usize::try_from(draw.below(4)).unwrap()];
                FactBody::Inspected(Inspected::plain(end, outcome, Vec::new(), None))
            }
            5..=7 => {
                let depth = match draw.below(4) {
                    0 => PinPosition::protruding(um(5.0)).unwrap(),
                    1 => PinPosition::recessed(um(1.0)).unwrap(),
                    _ => PinPosition::recessed(um(12.0)).unwrap(),
                };
                let (gauge, stated) =
                    if draw.one_in(3) { (None, Some(um(1.0))) } else { (Some(gauge), None) };
                FactBody::Gauged(Gauged {
                    end,
                    gauge,
                    readings: vec![depth; 3],
                    stated_standard_uncertainty: stated,
                    session: None,
                })
            }
            8 => {
                let in_order = draw.below(3) > 0;
                let check = if draw.one_in(2) {
                    ToolCheck::GaugeZero(GaugeZero { reads_more_recessed: um(0.0), in_order })
                } else {
                    let document = "d".to_owned();
                    ToolCheck::Certificate(Certificate::without_value(document, in_order, None))
                };
                FactBody::ToolChecked(ToolChecked { tool: gauge, check })
            }
            _ => {
                let mut b = self.end(draw);
                while b == end {
                    b = self.end(draw);
                }
                FactBody::Mated(Mated { a: end, b, wrench: None, overridden: None })
            }
        }
    }

    /// Voided, moved to another day, or something else; corrections too.
    fn correction(&self, draw: &mut Draw, begins: i64) -> FactBody {
        let kinds = self.facts.len() - self.ends.len() - 2;
        if kinds == 0 {
            return self.body(draw);
        }
        let at = self.facts.len() - 1 - usize::try_from(draw.below(kinds as u64)).unwrap();
        let is_correction = matches!(self.facts[at].body, FactBody::Corrected(_));
        let correction = match draw.below(3) {
            1 if !is_correction => Correction::HappenedAt(Moment::from_microseconds(
                begins + i64::try_from(draw.below(60)).unwrap() * 6 * HOUR,
            )),
            2 if !is_correction => Correction::Body(Box::new(self.body(draw))),
            _ => Correction::Void,
        };
        FactBody::Corrected(Corrected { fact: self.facts[at].id, correction, because: "x".to_owned() })
    }

    fn bad(&self, draw: &mut Draw) -> Bad {
        let moment = |draw: &mut Draw| self.begins + i64::try_from(draw.below(60)).unwrap() * 6 * HOUR;
        let (x, y) = (moment(draw), moment(draw));
        let known = |at| Known::asked(Moment::from_microseconds(at));
        Bad {
            end: self.end(draw),
            window: Window {
                good: known(x.min(y)),
                evidence: known(x.max(y)),
                kind: TaintKind::Unknown,
                is_open: true,
                is_lifted: false,
            },
        }
    }

    /// Everything that stands, at once.
    fn whole(&self, shop: &Workshop, at: Moment) -> Part {
        let standing = standing_facts(&self.facts, at);
        let mut contacts = Contacts::new(shop, at, None);
        // The bad ends have a number also where nothing touched them.
        for end in &self.ends {
            contacts.number(TouchedBy::End(*end));
        }
        contacts.take(&standing, true).unwrap();
        contacts.take(&standing, false).unwrap();
        let is_loose = |f: &&Fact| {
            f.resolution == Resolution::Day
                && !matches!(f.body, FactBody::Registered(_) | FactBody::Corrected(_))
        };
        let mut days: Vec<i64> =
            standing.iter().filter(is_loose).map(|f| f.happened_at.microseconds().div_euclid(DAY)).collect();
        days.sort_unstable();
        let part = contacts.into_part().unwrap();
        Part { history: part.history.clone().with_unordered_days(&days), ..part }
    }
}

type Plain =
    (TouchedBy, i64, Option<i64>, u32, Vec<(i64, TouchedBy, TouchedBy)>, Vec<(i64, Option<i64>)>, bool);

fn plain(part: &Part, exposed: &[Exposure]) -> Vec<Plain> {
    let name = |end| part.name(end).unwrap();
    exposed
        .iter()
        .map(|x| {
            let via = x.via.iter().map(|s| (s.at, name(s.from), name(s.to))).collect();
            let intervals = x.intervals.iter().map(|i| (i.since, i.until)).collect();
            (name(x.end), x.arrived_at, x.definite_at, x.hops, via, intervals, x.order_unknown)
        })
        .collect()
}

#[test]
fn the_trace_over_the_store_equals_the_pass_over_all_facts() {
    let mut draw = Draw(SEED);
    let mut shop = Workshop::in_memory(Box::new(Counting(0))).unwrap();
    let machine = shop.store.machine();
    let (mut far, mut loose, mut gauges, mut cleared, mut corrected) = (0, 0, 0, 0, 0);
    for number in 1..=600 {
        let trial = Trial::new(number, &mut draw, machine);
        shop.store.append(&trial.facts).unwrap();
        // Sometimes in the middle of it: what happened later is not known yet.
        let days = if draw.one_in(3) { 8 } else { 20 };
        let at = Moment::from_microseconds(trial.begins + days * DAY);
        let bad: Vec<Bad> = (0..=draw.below(2)).map(|_| trial.bad(&mut draw)).collect();
        let (kind, _) = taint::KINDS[usize::try_from(draw.below(4)).unwrap()];
        let whole = trial.whole(&shop, at);
        let sources = numbered(&bad, |of| whole.number(of).unwrap());
        let transmits = taint::transmits(shop.sheets.policy());
        let expected = forward(&whole.history, &sources, kind, transmits).unwrap();
        let found = shop.trace_from(bad.clone(), kind, at, None).unwrap();
        assert_eq!(
            plain(&found.part, &found.exposed),
            plain(&whole, &expected),
            "seed {SEED}, trial {number}"
        );
        // Backward over the same facts.
        let not_before = Moment::from_microseconds(trial.begins);
        let part = shop.part_before(&bad[0], not_before, kind, at).unwrap();
        let source = numbered(&bad[..1], |of| part.number(of).unwrap())[0];
        let back = |part: &Part, source| {
            let found = backward(&part.history, &source, not_before.microseconds(), kind, transmits).unwrap();
            found
                .iter()
                .map(|c| {
                    (part.name(c.end).unwrap(), c.latest_departure, c.hops, c.stretches.clone(), c.via.len())
                })
                .collect::<Vec<_>>()
        };
        assert_eq!(back(&part, source), back(&whole, sources[0]), "seed {SEED}, trial {number}, back");
        far += u32::from(expected.iter().any(|x| x.hops > 2));
        loose += u32::from(expected.iter().any(|x| x.order_unknown));
        gauges += u32::from(found.exposed.iter().any(|x| matches!(found.name(x), Some(TouchedBy::Gauge(_)))));
        cleared += u32::from(expected.iter().any(|x| x.intervals.len() > 1));
        corrected += u32::from(trial.facts.iter().any(|f| matches!(f.body, FactBody::Corrected(_))));
    }
    // The histories are not trivial.
    let counts = [far, loose, gauges, cleared, corrected];
    assert!(counts.iter().all(|count| *count > 50), "{counts:?}");
}

/// Compares what is kept from fact to fact with a fresh look, and counts what
/// was told.
fn kept_equals_fresh(shop: &Workshop, ends: &[EndId], told_in: &str) -> usize {
    let head = shop.store.last_number().unwrap();
    let fresh = shop.picture(head, EVER.1).unwrap();
    let mut seen = 0;
    for end in ends {
        let expected = told(&fresh.reaches, *end);
        assert_eq!(shop.exposures_of(*end, EVER.1).unwrap(), expected, "seed {SEED}, {told_in}");
        seen += expected.len();
    }
    seen
}

/// Set right fact by fact, what is exposed now is what a fresh look finds.
#[test]
fn exposures_kept_from_fact_to_fact_equal_a_fresh_look() {
    let mut draw = Draw(SEED);
    let mut shop = Workshop::in_memory(Box::new(Counting(0))).unwrap();
    let machine = shop.store.machine();
    let (mut seen, mut looks) = (0, 0);
    for number in 1..=7 {
        let trial = Trial::new(number, &mut draw, machine);
        let registered = trial.ends.len() + 2;
        shop.store.append(&trial.facts[..registered]).unwrap();
        for fact in &trial.facts[registered..] {
            shop.store.append(std::slice::from_ref(fact)).unwrap();
            if draw.below(3) > 0 {
                continue;
            }
            let found = kept_equals_fresh(&shop, &trial.ends, &format!("trial {number}"));
            seen += found;
            looks += u32::from(found > 0);
            // As of a moment within the fortnight, nothing of the future counts.
            let at = Moment::from_microseconds(trial.begins + 8 * DAY);
            for exposure in shop.exposures_of(trial.ends[0], at).unwrap() {
                assert!(exposure.arrived_at <= at);
            }
        }
    }
    assert!(seen > 20 && looks > 20, "{seen} {looks}");
}

/// A mate later than all that befell its ends, and yet it changes something.
#[test]
fn exposures_kept_equal_a_fresh_look_on_a_day_without_order_and_at_one_moment() {
    let mut shop = Workshop::in_memory(Box::new(Counting(0))).unwrap();
    let machine = shop.store.machine();
    let ends: Vec<EndId> = (1..=5).map(|n| EndId::from_bytes(id(3, n))).collect();
    let mut next = 0;
    let mut fact = |at, sequence, body| {
        next += 1;
        Fact { sequence, ..fact(next, machine, at, body) }
    };
    let mated = |a: usize, b: usize| {
        FactBody::Mated(Mated { a: ends[a], b: ends[b], wrench: None, overridden: None })
    };
    let anew = |of: usize| FactBody::Replaced(Replaced { end: ends[of], because: "x".to_owned() });
    let damaged = Inspected::plain(ends[0], InspectionOutcome::Damaged, Vec::new(), None);
    let mut facts: Vec<Fact> = (1..=5)
        .map(|n| {
            let registered = Registered { item: item(n, ItemKind::Cable), ends: vec![end(n)] };
            fact(0, 0, FactBody::Registered(Box::new(registered)))
        })
        .collect();
    let known = facts.len();
    facts.extend([
        fact(HOUR, 0, mated(0, 1)),
        fact(2 * HOUR, 0, mated(0, 2)),
        fact(DAY, 0, FactBody::Inspected(damaged)),
        // The end made anew was exposed before that, and touched one at that moment.
        fact(DAY + HOUR, 1, anew(1)),
        fact(DAY + HOUR, 0, mated(1, 3)),
        fact(DAY + 2 * HOUR, 0, mated(0, 1)),
        // On a day without order neither is known to be anew after the touch.
        Fact {
            resolution: Resolution::Day,
            ..fact(2 * DAY, 0, FactBody::Cleaned { end: ends[4], method: None })
        },
        fact(2 * DAY + HOUR, 0, anew(1)),
        fact(2 * DAY + 2 * HOUR, 0, anew(2)),
        fact(2 * DAY + 3 * HOUR, 0, mated(1, 2)),
    ]);
    shop.store.append(&facts[..known]).unwrap();
    let found: Vec<usize> = facts[known..]
        .iter()
        .map(|fact| {
            shop.store.append(std::slice::from_ref(fact)).unwrap();
            kept_equals_fresh(&shop, &ends, &format!("{fact:?}"))
        })
        .collect();
    assert_eq!(found, [0, 0, 2, 1, 2, 3, 3, 2, 1, 3]);
}

/// The same where mates come as they were made, most between neighbours, so
/// that ways are long and get shorter; some late, some at one moment, some on
/// a day without order.
#[test]
fn exposures_kept_from_mate_to_mate_equal_a_fresh_look() {
    let mut draw = Draw(SEED + 1);
    let (mut seen, mut far) = (0, 0);
    for number in 1..=40 {
        let mut shop = Workshop::in_memory(Box::new(Counting(0))).unwrap();
        let mut trial = Trial::new(number, &mut draw, shop.store.machine());
        trial.facts.truncate(trial.ends.len() + 2);
        let first = 1000 * number;
        let machine = shop.store.machine();
        let mut next = first + 100;
        let mut fact = |at, body| {
            next += 1;
            fact(next, machine, at, body)
        };
        for n in first + trial.ends.len() as u64..first + 10 {
            trial.ends.push(EndId::from_bytes(id(3, n)));
            let registered = Registered { item: item(n, ItemKind::Cable), ends: vec![end(n)] };
            trial.facts.push(fact(trial.begins - DAY, FactBody::Registered(Box::new(registered))));
        }
        shop.store.append(&trial.facts).unwrap();
        let mut now = trial.begins;
        for step in 0..90 {
            now += i64::try_from(draw.below(3)).unwrap() * HOUR;
            let at =
                if draw.one_in(3) { now - i64::try_from(draw.below(48)).unwrap() * HOUR / 2 } else { now };
            let a = usize::try_from(draw.below(9)).unwrap();
            let b =
                if draw.one_in(6) { (a + 2 + usize::try_from(draw.below(7)).unwrap()) % 10 } else { a + 1 };
            let looked = |end, outcome| FactBody::Inspected(Inspected::plain(end, outcome, Vec::new(), None));
            let mut new = match draw.below(30) {
                0 if step > 3 => fact(at, looked(trial.ends[a], InspectionOutcome::Damaged)),
                1..=6 => {
                    fact(at, FactBody::Replaced(Replaced { end: trial.ends[a], because: "x".to_owned() }))
                }
                7 => {
                    let mut day = fact(at, FactBody::Cleaned { end: trial.ends[a], method: None });
                    day.resolution = Resolution::Day;
                    day
                }
                _ => fact(
                    at,
                    FactBody::Mated(Mated {
                        a: trial.ends[a],
                        b: trial.ends[b],
                        wrench: None,
                        overridden: None,
                    }),
                ),
            };
            new.sequence = u32::try_from(draw.below(3)).unwrap();
            shop.store.append(&[new]).unwrap();
            if draw.below(3) > 0 {
                continue;
            }
            seen += kept_equals_fresh(&shop, &trial.ends, &format!("trial {number}, step {step}"));
            far += trial
                .ends
                .iter()
                .filter(|end| shop.exposures_of(**end, EVER.1).unwrap().iter().any(|x| x.hops > 3))
                .count();
        }
    }
    assert!(seen > 2000 && far > 100, "{seen} {far}");
}
