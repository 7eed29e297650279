//! Questions: the mate check, an end with its history, what is due.

use crate::{AppError, Workshop, error::bad, kits::KitRead, told, workshop::Tags};
use matewell_lab::{
    EndId, EndRecord, Fact, FactBody, ItemId, ItemKind, Moment, Subject, ToolRecord, end_record,
    end_record_with,
};
use matewell_quantity::Frequency;
use matewell_store::{EndStory, Stretch, TouchedBy};
use matewell_verdict::{
    Book, EndJudgement, Exposure, Known, MateCheck, MateQuestion, Partner, Tool, judge_end, mate_check,
};
use matewell_wire::{
    EndJson, EndListJson, EndNameJson, EndRowJson, EndStandingJson, ItemJson, MateCheckJson, Names,
};
use std::{
    cell::RefCell,
    collections::{BTreeMap, BTreeSet},
    rc::Rc,
};

/// An end loaded with what its judgement needs.
pub(crate) struct Loaded {
    pub(crate) record: EndRecord,
    /// Every fact about it where [`Workshop::load`] loaded it; most mates are
    /// left out where [`Workshop::load_to_judge`] did.
    pub(crate) facts: Vec<Fact>,
    gauge: Option<Rc<ToolRecord>>,
    exposures: Vec<Exposure>,
}

/// What many ends of one answer have in common, each read once: the gauges
/// they were gauged with, the kits they belong to.
#[derive(Default)]
pub(crate) struct ReadOnce {
    gauges: RefCell<BTreeMap<ItemId, Option<Rc<ToolRecord>>>>,
    pub(crate) kits: RefCell<BTreeMap<ItemId, Rc<KitRead>>>,
}

impl Loaded {
    fn known(&self) -> Known<'_> {
        Known { record: &self.record, gauge: self.gauge.as_deref(), exposures: &self.exposures }
    }
}

impl Workshop {
    /// The book of sheets and policy in force.
    pub(crate) fn book(&self) -> Book<'_> {
        Book::new(&self.sheets)
    }

    /// An end with every fact about it.
    pub(crate) fn load(&self, end: EndId, at: Moment) -> Result<Loaded, AppError> {
        self.loaded(
            end,
            EndStory { facts: self.store.facts_of_end(end)?, mates: Vec::new() },
            &ReadOnce::default(),
            at,
        )
    }

    /// An end with its record and judgement as [`Workshop::load`] gives them,
    /// for answers about many ends.
    pub(crate) fn load_to_judge(&self, end: EndId, once: &ReadOnce, at: Moment) -> Result<Loaded, AppError> {
        self.loaded(end, self.store.story_of_end(end, at)?, once, at)
    }

    fn loaded(
        &self,
        end: EndId,
        EndStory { facts, mates }: EndStory,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Loaded, AppError> {
        let record = end_record_with(end, &facts, &mates, at)
            .ok_or_else(|| AppError::UnknownTag { what: "an end", found: Tags(&self.store).end_tag(end) })?;
        let gauge = match record.last_gauging.as_ref().and_then(|g| g.gauged.gauge) {
            Some(gauge) => self.gauge_read(gauge, once, at)?,
            None => None,
        };
        let exposures = self.exposures_of(end, at)?;
        Ok(Loaded { record, facts, gauge, exposures })
    }

    fn gauge_read(
        &self,
        gauge: ItemId,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Option<Rc<ToolRecord>>, AppError> {
        if let Some(known) = once.gauges.borrow().get(&gauge) {
            return Ok(known.clone());
        }
        let record = self.tool_read(gauge, at)?.map(Rc::new);
        once.gauges.borrow_mut().insert(gauge, record.clone());
        Ok(record)
    }

    pub(crate) fn judge(&self, loaded: &Loaded) -> Result<EndJudgement, AppError> {
        Ok(judge_end(&loaded.known(), &self.book())?)
    }

    /// Calibration standards that either end met within the last day.
    fn lately(&self, ends: [&Loaded; 2], at: Moment) -> Result<Vec<Partner>, AppError> {
        let (since, past) = (at.plus_days(-1.0), Moment::from_microseconds(at.microseconds() + 1));
        let mut seen = BTreeSet::new();
        let mut partners = Vec::new();
        for loaded in ends {
            let stretch = Stretch { of: TouchedBy::End(loaded.record.end.id), from: since, until: past };
            let mut met = self.store.contacts_within(&[stretch], at)?;
            met.sort_by_key(|fact| std::cmp::Reverse((fact.happened_at, fact.sequence, fact.id)));
            for fact in &met {
                let FactBody::Mated(m) = &fact.body else { continue };
                let other = if m.a == loaded.record.end.id { m.b } else { m.a };
                if seen.insert(other)
                    && let Some(hit) = self.store.end(other)?
                    && hit.item_kind == ItemKind::CalibrationStandard
                    && let Some(record) = end_record(other, &self.store.facts_of_end(other)?, at)
                {
                    let slots = record.end.slots;
                    partners.push(Partner {
                        tag: hit.end_tag,
                        slots,
                        kind: hit.item_kind,
                        at: fact.happened_at,
                    });
                }
            }
        }
        Ok(partners)
    }

    pub(crate) fn check_ends(
        &self,
        a: EndId,
        b: EndId,
        frequency: Option<Frequency>,
        wrench: Option<ItemId>,
        at: Moment,
    ) -> Result<MateCheck, AppError> {
        self.store.in_one_look(|| self.check_in_one_look(a, b, frequency, wrench, at))
    }

    fn check_in_one_look(
        &self,
        a: EndId,
        b: EndId,
        frequency: Option<Frequency>,
        wrench: Option<ItemId>,
        at: Moment,
    ) -> Result<MateCheck, AppError> {
        let once = ReadOnce::default();
        let (loaded_a, loaded_b) = (self.load_to_judge(a, &once, at)?, self.load_to_judge(b, &once, at)?);
        let wrenches = self.wrenches(at)?;
        let tools: Vec<Tool<'_>> = wrenches.iter().map(|record| Tool { record }).collect();
        let in_hand = match wrench {
            Some(id) => self.tool_read(id, at)?,
            None => None,
        };
        let lately = self.lately([&loaded_a, &loaded_b], at)?;
        let question = MateQuestion {
            a: loaded_a.known(),
            b: loaded_b.known(),
            frequency,
            wrenches: &tools,
            wrench_in_hand: in_hand.as_ref().map(|record| Tool { record }),
            lately: &lately,
        };
        Ok(mate_check(&question, &self.book())?)
    }

    /// May I put this on that?
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous tags; a store that cannot be read.
    pub fn check(
        &self,
        a: &str,
        b: &str,
        frequency: Option<Frequency>,
        wrench: Option<&str>,
        at: Moment,
    ) -> Result<MateCheckJson, AppError> {
        let (a, b) = (self.one_end(a)?.end, self.one_end(b)?.end);
        let wrench = wrench.map(|tag| self.one_item("a wrench", tag)).transpose()?;
        let check = self.check_ends(a, b, frequency, wrench, at)?;
        Ok(MateCheckJson::new(&check, &Tags(&self.store)))
    }

    /// An end with its standing, reasons and history.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous tags; a store that cannot be read.
    pub fn end(&self, tag: &str, at: Moment) -> Result<EndJson, AppError> {
        let hit = self.one_end(tag)?;
        let loaded = self.load(hit.end, at)?;
        let judgement = self.judge(&loaded)?;
        let names = Tags(&self.store);
        let record = &loaded.record;
        let ends = self.store.ends_of_item(hit.item)?;
        let history = told::history(&loaded.facts, Subject::End(hit.end), at, &names, |_| true);
        Ok(EndJson {
            standing: EndStandingJson::new(&judgement, &names),
            item: ItemJson {
                id: record.item.id.to_string(),
                tag: record.item.tag.clone(),
                kind: record.item.kind.word().to_owned(),
                description: record.item.description.clone(),
                location: record.item.location.clone(),
                ends: ends
                    .into_iter()
                    .map(|hit| EndNameJson { id: hit.end.to_string(), tag: hit.end_tag })
                    .collect(),
            },
            interface: record.end.interface.clone(),
            sex: record.end.sex.word().to_owned(),
            grade: record.end.grade.word().to_owned(),
            body: record.end.body.word().to_owned(),
            slots: record.end.slots.word().to_owned(),
            contacts: record.contacts,
            contacts_since_gauging: record.contacts_since_gauging,
            mated_with: record.mated_with.map(|(end, _)| EndNameJson::new(end, &names)),
            history,
        })
    }

    /// A page of the register; `filter` matches tags of ends and items. With
    /// `after`, the id of an end, what comes after it.
    ///
    /// # Errors
    ///
    /// An `after` that is no id of an end on record; a store that cannot be
    /// read.
    pub fn ends(
        &self,
        filter: &str,
        after: Option<&str>,
        offset: u64,
        limit: u64,
    ) -> Result<EndListJson, AppError> {
        let after = match after.map(str::trim).filter(|text| !text.is_empty()) {
            None => None,
            Some(text) => {
                let unknown = || bad("after", format!("expected the id of an end, found \"{text}\""));
                let end = text.parse::<EndId>().map_err(|_| unknown())?;
                Some(self.store.end(end)?.ok_or_else(unknown)?.end)
            }
        };
        let hits = self.store.list_ends(filter, after, offset, limit.min(1000))?;
        let total = self.store.count_ends(filter)?;
        let ends = hits
            .into_iter()
            .map(|hit| EndRowJson {
                end: EndNameJson { id: hit.end.to_string(), tag: hit.end_tag },
                item_tag: hit.item_tag,
                interface: hit.interface,
                sex: hit.sex.word().to_owned(),
            })
            .collect();
        Ok(EndListJson { ends, total, offset })
    }
}
