//! Small histories for tests. All names are invented.

use matewell_lab::{
    Body, End, EndId, EndRecord, Fact, FactBody, FactId, FactSource, GaugeMethod, GaugeSpec, Gauged, Grade,
    Inspected, InspectionOutcome, Item, ItemId, ItemKind, MachineId, Mated, Moment, PinPosition, Registered,
    Resolution, Sex, Slots, ToolCheck, ToolChecked, ToolRecord, TorqueRanges, WrenchCheck, WrenchSpec,
    end_record, tool_record,
};
use matewell_quantity::{Length, Torque};
use matewell_sheets::Sheets;
use matewell_verdict::{Book, Known, MateCheck, MateQuestion, Tool, mate_check};

pub(crate) fn um(v: f64) -> Length {
    Length::from_micrometres(v).unwrap()
}

pub(crate) fn at_day(day: f64) -> Moment {
    Moment::from_microseconds(0).plus_days(day)
}

fn bytes(n: u32) -> [u8; 16] {
    let mut id = [0; 16];
    id[12..].copy_from_slice(&n.to_be_bytes());
    id
}

pub(crate) fn position(recession_um: f64) -> PinPosition {
    if recession_um < 0.0 {
        PinPosition::protruding(um(-recession_um)).unwrap()
    } else {
        PinPosition::recessed(um(recession_um)).unwrap()
    }
}

/// A lab under construction: facts in the order written.
pub(crate) struct Bench {
    pub(crate) facts: Vec<Fact>,
    next: u32,
}

pub(crate) struct EndSpec {
    pub(crate) interface: &'static str,
    pub(crate) sex: Sex,
    pub(crate) grade: Grade,
    pub(crate) body: Body,
}

pub(crate) fn end(interface: &'static str, sex: Sex) -> EndSpec {
    EndSpec { interface, sex, grade: Grade::Instrument, body: Body::Stainless }
}

impl Bench {
    pub(crate) fn new() -> Self {
        Self { facts: Vec::new(), next: 1 }
    }

    pub(crate) fn fact(&mut self, day: f64, body: FactBody) -> FactId {
        self.next += 1;
        let id = FactId::from_bytes(bytes(self.next));
        self.facts.push(Fact {
            id,
            machine: MachineId::from_bytes(bytes(1)),
            happened_at: at_day(day),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: at_day(day),
            person: "technician-1".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        });
        id
    }

    fn item(&mut self, tag: &str, kind: ItemKind) -> Item {
        self.next += 1;
        Item {
            id: ItemId::from_bytes(bytes(self.next)),
            tag: tag.to_owned(),
            kind,
            description: String::new(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        }
    }

    pub(crate) fn end(&mut self, tag: &str, spec: &EndSpec) -> EndId {
        let item = self.item(tag, ItemKind::Cable);
        let id = EndId::from_bytes(*item.id.bytes());
        let end = End {
            id,
            item: item.id,
            tag: tag.to_owned(),
            interface: spec.interface.to_owned(),
            sex: spec.sex,
            grade: spec.grade,
            body: spec.body,
            slots: Slots::Unknown,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        };
        self.fact(0.0, FactBody::Registered(Box::new(Registered { item, ends: vec![end] })));
        id
    }

    /// A gauge with a shared standard uncertainty and a pooled repeatability.
    pub(crate) fn gauge(&mut self, tag: &str, shared_um: f64, pooled_um: f64) -> ItemId {
        let mut item = self.item(tag, ItemKind::Gauge);
        item.gauge = Some(GaugeSpec {
            interface: "3.5mm".to_owned(),
            method: GaugeMethod::ScrewOn,
            standard_uncertainty: Some(um(shared_um)),
            repeatability: Some(um(pooled_um)),
            repeatability_dof: Some(30.0),
            resolution: Some(um(1.0)),
            master: None,
        });
        let id = item.id;
        self.fact(0.0, FactBody::Registered(Box::new(Registered { item, ends: Vec::new() })));
        id
    }

    pub(crate) fn wrench(&mut self, tag: &str, newton_metres: f64) -> ItemId {
        let mut item = self.item(tag, ItemKind::TorqueWrench);
        let set_point = Torque::from_newton_metres(newton_metres).unwrap();
        item.wrench = Some(WrenchSpec { set_point, tolerance: 0.06 });
        let id = item.id;
        self.fact(0.0, FactBody::Registered(Box::new(Registered { item, ends: Vec::new() })));
        let check = WrenchCheck {
            set_point,
            readings: vec![set_point],
            ranges: TorqueRanges::default(),
            in_order: true,
        };
        self.fact(1.0, FactBody::ToolChecked(ToolChecked { tool: id, check: ToolCheck::Wrench(check) }));
        id
    }

    pub(crate) fn gauged(&mut self, day: f64, end: EndId, gauge: ItemId, recessions_um: &[f64]) -> FactId {
        let readings = recessions_um.iter().map(|r| position(*r)).collect();
        let body =
            Gauged { end, gauge: Some(gauge), readings, stated_standard_uncertainty: None, session: None };
        self.fact(day, FactBody::Gauged(body))
    }

    pub(crate) fn looked(&mut self, day: f64, end: EndId, outcome: InspectionOutcome) -> FactId {
        self.fact(day, FactBody::Inspected(Inspected { end, outcome, seen: Vec::new(), magnification: None }))
    }

    pub(crate) fn mated(&mut self, day: f64, a: EndId, b: EndId) {
        self.fact(day, FactBody::Mated(Mated { a, b, wrench: None, overridden: None }));
    }

    pub(crate) fn record(&self, end: EndId, day: f64) -> EndRecord {
        end_record(end, &self.facts, at_day(day)).unwrap()
    }

    pub(crate) fn tool(&self, tool: ItemId, day: f64) -> ToolRecord {
        tool_record(tool, &self.facts, at_day(day)).unwrap()
    }

    pub(crate) fn gauge_of(&self, record: &EndRecord, day: f64) -> Option<ToolRecord> {
        record.last_gauging.as_ref().and_then(|g| g.gauged.gauge).map(|g| self.tool(g, day))
    }

    pub(crate) fn check(&self, a: EndId, b: EndId, day: f64, at: Option<&str>) -> MateCheck {
        self.check_with(a, b, day, at, &Sheets::embedded().unwrap(), None)
    }

    pub(crate) fn check_with(
        &self,
        a: EndId,
        b: EndId,
        day: f64,
        at: Option<&str>,
        sheets: &Sheets,
        wrench: Option<ItemId>,
    ) -> MateCheck {
        let (record_a, record_b) = (self.record(a, day), self.record(b, day));
        let (gauge_a, gauge_b) = (self.gauge_of(&record_a, day), self.gauge_of(&record_b, day));
        let wrenches: Vec<ToolRecord> = self
            .facts
            .iter()
            .filter_map(|f| match &f.body {
                FactBody::Registered(r) if r.item.wrench.is_some() => Some(self.tool(r.item.id, day)),
                _ => None,
            })
            .collect();
        let tools: Vec<Tool<'_>> = wrenches.iter().map(|record| Tool { record }).collect();
        let in_hand = wrench.map(|id| self.tool(id, day));
        let question = MateQuestion {
            a: Known { record: &record_a, gauge: gauge_a.as_ref(), exposures: &[] },
            b: Known { record: &record_b, gauge: gauge_b.as_ref(), exposures: &[] },
            frequency: at.map(|t| t.parse().unwrap()),
            wrenches: &tools,
            wrench_in_hand: in_hand.as_ref().map(|record| Tool { record }),
            lately: &[],
        };
        mate_check(&question, &Book::new(sheets)).unwrap()
    }
}

pub(crate) fn codes(check: &MateCheck) -> Vec<&'static str> {
    check.findings.iter().map(|f| f.code).collect()
}
