//! The workshop at work: its items, and what can be done with them.

use crate::{
    fit::{Tightening, fits, tightening},
    log::{By, Log, METROLOGIST, Second, at},
    roster::{GAUGES, GaugePlan, ITEMS, MASTERS, WRENCHES},
    story::{Named, NamedEnd, NamedItem},
};
use matewell_lab::{
    Cost, End, EndId, Fact, FactBody, FactId, GaugeSpec, Gauged, Grade, Inspected, InspectionOutcome, Item,
    ItemId, ItemKind, Mated, Moment, Parted, PinPosition, Registered, Sex, Slots, WrenchSpec,
};
use matewell_quantity::{Length, Torque};
use std::collections::BTreeMap;

/// The day the SMA gauge was last good before it drifted.
pub(crate) const GAUGE_GOOD: i64 = 40;
/// The day the drift was found.
pub(crate) const GAUGE_FOUND: i64 = 60;
/// How far it was off then, in tenths of a micrometre.
pub(crate) const GAUGE_DRIFT: i64 = 80;
/// The days between which the soft wrench was away and another used for it.
pub(crate) const WRENCH_AWAY: (i64, i64) = (54, 70);

/// Lengths inside the generator: tenths of a micrometre, recession positive.
pub(crate) type Tenths = i64;

/// Ends that may not be mated from one second until another.
struct Block {
    end: EndId,
    from: Second,
    until: Second,
}

/// The lab while it is being written.
pub(crate) struct Workshop {
    pub(crate) log: Log,
    ends: Vec<End>,
    by_tag: BTreeMap<String, usize>,
    items: BTreeMap<String, ItemId>,
    depths: BTreeMap<EndId, Tenths>,
    blocks: Vec<Block>,
    mates: usize,
}

impl Workshop {
    /// Registers everything the workshop owns.
    pub(crate) fn open(ends_at: Moment, seed: u64) -> Self {
        let mut shop = Self {
            log: Log::open(ends_at, seed),
            ends: Vec::new(),
            by_tag: BTreeMap::new(),
            items: BTreeMap::new(),
            depths: BTreeMap::new(),
            blocks: Vec::new(),
            mates: 0,
        };
        shop.register_everything();
        shop
    }

    fn register_everything(&mut self) {
        let mut second = at(0, 7, 0);
        for plan in ITEMS {
            second += 45;
            let mut item = self.item(second, plan.tag, plan.kind, plan.description, plan.place);
            item.cost = plan.pounds.map(pounds);
            if plan.place == crate::roster::KIT_BOX {
                item.extra.push(("kit".to_owned(), plan.place.to_owned()));
            }
            let mut ends = Vec::new();
            for (index, end) in plan.ends.iter().enumerate() {
                let is_device = plan.kind == ItemKind::DeviceUnderTest;
                let end = End {
                    id: self.log.end_id(second),
                    item: item.id,
                    tag: end_tag(plan.tag, plan.kind, index),
                    interface: end.interface.to_owned(),
                    sex: end.sex,
                    grade: end.grade,
                    body: end.body,
                    slots: slots(end.sex, end.grade),
                    static_sensitive: is_device && index == 0,
                    rf_live: plan.kind == ItemKind::Instrument && end.sex == Sex::Socket,
                    biased: is_device && index + 1 == plan.ends.len(),
                    extra: Vec::new(),
                };
                let depth = self.true_depth(&end.interface);
                self.depths.insert(end.id, depth);
                self.by_tag.insert(end.tag.clone(), self.ends.len());
                self.ends.push(end.clone());
                ends.push(end);
            }
            // In service long before the lab began to use this tool; its old
            // gauging comes from paper.
            let happened = if plan.tag == "AD-011" { at(-401, 9, 0) } else { second - 30 };
            self.register(happened, second, item, ends);
        }
        for plan in GAUGES {
            second += 45;
            let mut item = self.item(second, plan.tag, ItemKind::Gauge, plan.description, "gauge drawer");
            item.gauge = Some(gauge_spec(plan));
            item.cost = Some(pounds(900));
            self.register(second - 30, second, item, Vec::new());
        }
        for (tag, description) in MASTERS {
            second += 45;
            let item = self.item(second, tag, ItemKind::GaugeMaster, description, "gauge drawer");
            self.register(second - 30, second, item, Vec::new());
        }
        for (tag, set_point, place) in WRENCHES {
            second += 45;
            let description = format!("Torque wrench, {:.2} N·m", f64::from(*set_point) / 100.0);
            let mut item = self.item(second, tag, ItemKind::TorqueWrench, &description, place);
            item.wrench = Some(WrenchSpec { set_point: torque(*set_point), tolerance: 0.06 });
            item.cost = Some(pounds(180));
            self.register(second - 30, second, item, Vec::new());
        }
    }

    /// A box for pieces that are on record already.
    pub(crate) fn register_kit(&mut self, second: Second, tag: &str, description: &str) -> ItemId {
        let item = self.item(second, tag, ItemKind::Kit, description, crate::roster::KIT_BOX);
        let id = item.id;
        self.register(second - 30, second, item, Vec::new());
        id
    }

    fn register(&mut self, happened: Second, recorded: Second, item: Item, ends: Vec<End>) {
        let body = FactBody::Registered(Box::new(Registered { item, ends }));
        self.log.write_at(happened, recorded, matewell_lab::Resolution::Instant, METROLOGIST, None, body);
    }

    fn item(&mut self, recorded: Second, tag: &str, kind: ItemKind, description: &str, place: &str) -> Item {
        let id = self.log.item_id(recorded);
        let number = self.log.draw.between(10_000, 99_999);
        self.items.insert(tag.to_owned(), id);
        Item {
            id,
            tag: tag.to_owned(),
            kind,
            description: description.to_owned(),
            model: None,
            serial: (kind != ItemKind::Adapter).then(|| number.to_string()),
            location: Some(place.to_owned()),
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        }
    }

    /// Where the contact of a healthy end of this family stands.
    fn true_depth(&mut self, interface: &str) -> Tenths {
        match interface {
            "sma" => self.log.draw.between(140, 380),
            "n50" | "n75" => self.log.draw.between(180, 380),
            _ => self.log.draw.between(80, 200),
        }
    }

    /// All ends, in the order of registration.
    pub(crate) fn ends(&self) -> &[End] {
        &self.ends
    }

    /// An end by its label. Labels come from this crate's own tables; a label
    /// that is in none of them gives the nil id, which no fact may name (a
    /// test holds that).
    pub(crate) fn end(&self, tag: &str) -> NamedEnd {
        let id = self.by_tag.get(tag).and_then(|index| self.ends.get(*index)).map(|end| end.id);
        Named { tag: tag.to_owned(), id: id.unwrap_or(EndId::from_bytes([0; 16])) }
    }

    /// An item by its label, in the same way.
    pub(crate) fn named_item(&self, tag: &str) -> NamedItem {
        let id = self.items.get(tag).copied().unwrap_or(ItemId::from_bytes([0; 16]));
        Named { tag: tag.to_owned(), id }
    }

    /// Sets where the contact of an end really stands.
    pub(crate) fn set_depth(&mut self, tag: &str, depth: Tenths) {
        let end = self.end(tag);
        self.depths.insert(end.id, depth);
    }

    /// Bars an end from mating and gauging.
    pub(crate) fn block(&mut self, tag: &str, from: Second, until: Second) {
        let end = self.end(tag);
        self.blocks.push(Block { end: end.id, from, until });
    }

    /// Whether an end is free at that second.
    pub(crate) fn is_free(&self, end: EndId, when: Second) -> bool {
        !self.blocks.iter().any(|block| block.end == end && block.from <= when && when < block.until)
    }

    /// Mates so far.
    pub(crate) fn mates(&self) -> usize {
        self.mates
    }

    /// Mates two ends, unless they do not fit or one is barred.
    pub(crate) fn mate(
        &mut self,
        when: Second,
        by: By,
        a: &str,
        b: &str,
        under: Option<FactId>,
    ) -> Option<FactId> {
        let first = self.by_tag.get(a).and_then(|index| self.ends.get(*index))?.clone();
        let second = self.by_tag.get(b).and_then(|index| self.ends.get(*index))?.clone();
        if !fits(&first, &second) || !self.is_free(first.id, when) || !self.is_free(second.id, when) {
            return None;
        }
        let wrench = self.wrench(when, by, tightening(&first, &second));
        self.mates += 1;
        let mated = Mated { a: first.id, b: second.id, wrench, overridden: under };
        Some(self.log.write(when, by, FactBody::Mated(mated)))
    }

    /// The wrench at hand; one in twelve tightenings by hand of a person names none.
    fn wrench(&mut self, when: Second, by: By, tightening: Tightening) -> Option<ItemId> {
        let from = at(self.log.bench_day(WRENCH_AWAY.0 + 1), 8, 0);
        let until = at(self.log.bench_day(WRENCH_AWAY.1), 7, 0);
        let is_away = from <= when && when < until;
        let tag = match tightening {
            Tightening::Soft if is_away => "TW-002",
            Tightening::Soft => "TW-001",
            Tightening::Firm if by.machine == 1 => "TW-005",
            Tightening::Firm => "TW-003",
            Tightening::Large => "TW-004",
            Tightening::ByHand => return None,
        };
        let forgotten = by.machine == 0 && self.log.draw.percent(8);
        (!forgotten).then(|| self.named_item(tag).id)
    }

    /// Two ends come apart.
    pub(crate) fn part(&mut self, when: Second, by: By, a: &str, b: &str) {
        let parted = Parted { a: self.end(a).id, b: self.end(b).id };
        self.log.write(when, by, FactBody::Parted(parted));
    }

    /// Somebody looks at an end.
    pub(crate) fn look(
        &mut self,
        when: Second,
        by: By,
        end: &str,
        outcome: InspectionOutcome,
        seen: &[&str],
    ) -> FactId {
        let inspected = Inspected::plain(
            self.end(end).id,
            outcome,
            seen.iter().map(|word| (*word).to_owned()).collect(),
            self.log.draw.pick(&[Some(7.0), Some(10.0), Some(10.0), None]).flatten(),
        );
        self.log.write(when, by, FactBody::Inspected(inspected))
    }

    /// Somebody cleans an end.
    pub(crate) fn clean(&mut self, when: Second, by: By, end: &str) -> FactId {
        let methods = ["lint-free swab, dry", "lint-free swab moistened with isopropyl alcohol, left to dry"];
        let method = self.log.draw.pick(&methods).map(str::to_owned);
        let end = self.end(end).id;
        self.log.write(when, by, FactBody::Cleaned { end, method })
    }

    /// Gauges an end three times with its family's gauge. Nothing happens to a
    /// family without one.
    pub(crate) fn gauge(&mut self, when: Second, by: By, end: &str) -> Option<FactId> {
        let known = self.by_tag.get(end).and_then(|index| self.ends.get(*index))?.clone();
        let plan = GAUGES.iter().find(|plan| plan.interface == known.interface)?;
        let depth = self.depths.get(&known.id).copied()?;
        let off = self.gauge_off(when, plan.tag);
        let readings: Vec<Tenths> = (0..3)
            .map(|_| to_step(depth + off + self.log.draw.bell(plan.repeatability), plan.resolution))
            .collect();
        Some(self.gauge_reading(when, by, end, plan.tag, &readings))
    }

    /// Gauges an end with given readings.
    pub(crate) fn gauge_reading(
        &mut self,
        when: Second,
        by: By,
        end: &str,
        gauge: &str,
        readings: &[Tenths],
    ) -> FactId {
        let gauged = Gauged {
            end: self.end(end).id,
            gauge: Some(self.named_item(gauge).id),
            readings: readings.iter().copied().map(position).collect(),
            stated_standard_uncertainty: None,
            session: None,
        };
        self.log.write(when, by, FactBody::Gauged(gauged))
    }

    /// How much more recessed a gauge shows a pin: the SMA gauge drifts evenly
    /// between its good and its bad check.
    fn gauge_off(&self, when: Second, gauge: &str) -> Tenths {
        let from = at(self.log.bench_day(GAUGE_GOOD), 7, 30);
        let until = at(self.log.bench_day(GAUGE_FOUND), 7, 30);
        if gauge == "GA-002" && from < when && when < until {
            GAUGE_DRIFT * (when - from) / (until - from)
        } else {
            0
        }
    }

    /// All facts in the order of recording.
    pub(crate) fn into_facts(self) -> Vec<Fact> {
        self.log.into_facts()
    }
}

/// Rounds to the nearest step of a gauge.
fn to_step(depth: Tenths, step: Tenths) -> Tenths {
    (depth + step / 2).div_euclid(step) * step
}

fn end_tag(item: &str, kind: ItemKind, index: usize) -> String {
    let letters = ["A", "B", "C", "D"];
    match (kind, letters.get(index)) {
        (ItemKind::Instrument, _) | (_, None) => format!("{item}P{}", index + 1),
        (_, Some(letter)) => format!("{item}{letter}"),
    }
}

fn slots(sex: Sex, grade: Grade) -> Slots {
    match (sex, grade) {
        (Sex::Socket, Grade::Metrology) => Slots::Slotless,
        (Sex::Socket, _) => Slots::Slotted,
        _ => Slots::Unknown,
    }
}

fn pounds(pounds: i64) -> Cost {
    Cost { hundredths: pounds * 100, currency: "GBP".to_owned() }
}

fn gauge_spec(plan: &GaugePlan) -> GaugeSpec {
    GaugeSpec {
        interface: plan.interface.to_owned(),
        method: plan.method,
        standard_uncertainty: plan.uncertainty.map(length),
        repeatability: plan.uncertainty.map(|_| length(plan.repeatability)),
        repeatability_dof: plan.uncertainty.map(|_| f64::from(plan.dof)),
        resolution: Some(length(plan.resolution)),
        master: Some(plan.master.to_owned()),
    }
}

/// A whole number of tenths of a micrometre.
pub(crate) fn length(tenths: Tenths) -> Length {
    Length::from_micrometres(tenths as f64 / 10.0).expect("a whole number is finite")
}

/// A whole number of hundredths of a newton metre.
pub(crate) fn torque(hundredths: i32) -> Torque {
    Torque::from_newton_metres(f64::from(hundredths) / 100.0).expect("a whole number is finite")
}

fn position(tenths: Tenths) -> PinPosition {
    if tenths < 0 { PinPosition::Protruding(length(-tenths)) } else { PinPosition::Recessed(length(tenths)) }
}
