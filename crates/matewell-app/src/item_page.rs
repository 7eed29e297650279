//! Everything about an item, and what else is kept about it and about an end.

use crate::{AppError, Workshop, judge::ReadOnce, told, workshop::Tags};
use matewell_lab::{End, EndId, Fact, FactBody, ItemRecord, Moment, Subject, item_record, standing_facts};
use matewell_store::hash_text;
use matewell_wire::{
    EndAsked, EndCaseJson, EndKeptJson, EndLookJson, EndNameJson, EndStandingJson, EndSweepJson,
    FacePlaceJson, ItemAsked, ItemEndJson, ItemKeptJson, ItemLookJson, ItemPageJson, Names, PutAwayJson,
    moment_text,
};

fn known(word: &str) -> Option<String> {
    Some(word).filter(|w| *w != "unknown").map(str::to_owned)
}

fn end_asked(end: &End) -> EndAsked {
    EndAsked {
        id: Some(end.id.to_string()),
        tag: end.tag.clone(),
        interface: end.interface.clone(),
        sex: end.sex.word().to_owned(),
        grade: known(end.grade.word()),
        body: known(end.body.word()),
        slots: known(end.slots.word()),
        static_sensitive: end.static_sensitive,
        rf_live: end.rf_live,
        biased: end.biased,
    }
}

fn item_asked(record: &ItemRecord) -> ItemAsked {
    let item = &record.registered.item;
    let gauge = item.gauge.as_ref();
    let um = |l: matewell_quantity::Length| format!("{}um", l.micrometres());
    ItemAsked {
        tag: item.tag.clone(),
        kind: item.kind.word().to_owned(),
        description: Some(item.description.clone()).filter(|d| !d.is_empty()),
        model: item.model.clone(),
        serial: item.serial.clone(),
        location: item.location.clone(),
        cost: item.cost.as_ref().map(|c| format!("{}.{:02}", c.hundredths / 100, c.hundredths % 100)),
        currency: item.cost.as_ref().map(|c| c.currency.clone()),
        gauges: gauge.map(|g| g.interface.clone()),
        method: gauge.map(|g| g.method.word().to_owned()),
        standard_uncertainty: gauge.and_then(|g| g.standard_uncertainty).map(um),
        repeatability: gauge.and_then(|g| g.repeatability).map(um),
        master: gauge.and_then(|g| g.master.clone()),
        set_point: item.wrench.as_ref().map(|w| format!("{}N.m", w.set_point.newton_metres())),
        permissible_percent: item.wrench.as_ref().map(|w| format!("{}", 100.0 * w.tolerance)),
        ends: record.registered.ends.iter().map(end_asked).collect(),
    }
}

impl Workshop {
    /// An item with its ends, where it lies, and its own history.
    ///
    /// # Errors
    ///
    /// Unknown labels; a store that cannot be read.
    pub fn item(&self, tag: &str, at: Moment) -> Result<ItemPageJson, AppError> {
        let item = self.item_or_its_end(tag)?;
        let facts = self.store.facts_of_item(item)?;
        let unknown = || AppError::UnknownTag { what: "an item", found: tag.trim().to_owned() };
        let record = item_record(item, &facts, at).ok_or_else(unknown)?;
        let names = Tags(&self.store);
        let mut ends = Vec::new();
        let mut mated_last = None;
        let once = ReadOnce::default();
        for end in &record.registered.ends {
            let loaded = self.load_to_judge(end.id, &once, at)?;
            let judgement = self.judge(&loaded)?;
            mated_last = mated_last.max(loaded.record.last_mate.map(|(_, when)| when));
            ends.push(ItemEndJson {
                registered: end_asked(end),
                standing: EndStandingJson::new(&judgement, &names),
                contacts: loaded.record.contacts,
                contacts_since_gauging: loaded.record.contacts_since_gauging,
                gauged_at: loaded.record.last_gauging.as_ref().map(|g| moment_text(g.at)),
                mated_with: loaded.record.mated_with.map(|(end, _)| EndNameJson::new(end, &names)),
            });
        }
        Ok(ItemPageJson {
            at: moment_text(at),
            id: item.to_string(),
            registered: item_asked(&record),
            registered_by: record.registered_by.to_string(),
            ends,
            put_away: record.put_away.as_ref().map(|p| PutAwayJson {
                fact: p.fact.to_string(),
                place: p.place.clone(),
                capped: p.capped,
                at: moment_text(p.at),
                person: p.person.clone(),
                used_since: mated_last.is_some_and(|when| when > p.at),
            }),
            certificate: record.certificate.as_ref().map(told::certificate),
            retired_because: record.retired.as_ref().map(|(_, because)| because.clone()),
            extra: record
                .registered
                .item
                .extra
                .iter()
                .map(|(name, text)| vec![name.clone(), text.clone()])
                .collect(),
            history: told::history(&facts, Subject::Item(item), at, &names, |_| true),
        })
    }

    /// Cases, sweeps and marked looks of an end.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous labels; a store that cannot be read.
    pub fn end_kept(&self, tag: &str, at: Moment) -> Result<EndKeptJson, AppError> {
        let end = self.one_end(tag)?.end;
        let names = Tags(&self.store);
        let facts = standing_facts(&self.store.facts_of_end(end)?, at);
        Ok(EndKeptJson {
            end: EndNameJson::new(end, &names),
            cases: self.cases_of(&[end], at)?,
            sweeps: facts.iter().rev().filter_map(|fact| sweep_of(fact, &names)).collect(),
            looks: facts.iter().rev().filter_map(look_of).collect(),
        })
    }

    /// Cases, sweeps and marked looks of all ends of an item. A sweep through
    /// two of its ends is there once.
    ///
    /// # Errors
    ///
    /// Unknown labels; a store that cannot be read.
    pub fn item_kept(&self, tag: &str, at: Moment) -> Result<ItemKeptJson, AppError> {
        let item = self.item_or_its_end(tag)?;
        let unknown = || AppError::UnknownTag { what: "an item", found: tag.trim().to_owned() };
        let record = item_record(item, &self.store.facts_of_item(item)?, at).ok_or_else(unknown)?;
        let names = Tags(&self.store);
        let ends: Vec<EndId> = record.registered.ends.iter().map(|end| end.id).collect();
        let (mut sweeps, mut looks) = (Vec::new(), Vec::new());
        for end in &ends {
            let name = EndNameJson::new(*end, &names);
            for fact in standing_facts(&self.store.facts_of_end(*end)?, at) {
                sweeps.extend(sweep_of(&fact, &names));
                looks.extend(look_of(&fact).map(|look| ItemLookJson { end: name.clone(), look }));
            }
        }
        sweeps.sort_by(|x, y| (&y.at, &y.fact).cmp(&(&x.at, &x.fact)));
        sweeps.dedup_by(|x, y| x.fact == y.fact);
        looks.sort_by(|x, y| (&y.look.at, &y.look.fact).cmp(&(&x.look.at, &x.look.fact)));
        Ok(ItemKeptJson {
            item: record.registered.item.tag.clone(),
            cases: self.cases_of(&ends, at)?,
            sweeps,
            looks,
        })
    }

    /// Cases that any of these ends belongs to, open ones first.
    fn cases_of(&self, ends: &[EndId], at: Moment) -> Result<Vec<EndCaseJson>, AppError> {
        let mut cases = Vec::new();
        for opening in self.store.case_openings()? {
            let about = self.store.facts_of_case(opening.id)?;
            let Some(record) = matewell_lab::case_record(opening.id, &about, at) else { continue };
            let source = record.opened.sources.iter().any(|s| ends.contains(&s.end));
            let reached = |end: &EndId| record.ends.iter().any(|e| e.on == Subject::End(*end));
            if !source && !ends.iter().any(reached) {
                continue;
            }
            cases.push(EndCaseJson {
                id: opening.id.to_string(),
                name: record.opened.name.clone(),
                because: record.opened.because.clone(),
                opened_at: moment_text(record.opened_at),
                closed_at: record.closed.as_ref().map(|closed| moment_text(closed.at)),
                source,
            });
        }
        cases.sort_by(|x, y| {
            (x.closed_at.is_some(), &y.opened_at, &x.id).cmp(&(y.closed_at.is_some(), &x.opened_at, &y.id))
        });
        Ok(cases)
    }
}

/// A sweep.
fn sweep_of(fact: &Fact, names: &impl Names) -> Option<EndSweepJson> {
    let FactBody::SweepNoted(sweep) = &fact.body else { return None };
    Some(EndSweepJson {
        fact: fact.id.to_string(),
        at: moment_text(fact.happened_at),
        file_name: sweep.file_name.clone(),
        chain: sweep.chain.iter().map(|end| names.end_tag(*end)).collect(),
        port: sweep.port,
        known_good: sweep.known_good,
    })
}

/// A look with marks or a photo.
fn look_of(fact: &Fact) -> Option<EndLookJson> {
    let FactBody::Inspected(look) = &fact.body else { return None };
    if look.marks.is_empty() && look.photo.is_none() {
        return None;
    }
    Some(EndLookJson {
        fact: fact.id.to_string(),
        at: moment_text(fact.happened_at),
        person: fact.person.clone(),
        outcome: look.outcome.word().to_owned(),
        seen: look.seen.clone(),
        magnification: look.magnification,
        marks: look
            .marks
            .iter()
            .map(|m| FacePlaceJson { clock: m.clock, zone: m.zone.word().to_owned(), word: m.word.clone() })
            .collect(),
        photo: look.photo.as_ref().map(|p| p.kind.word().to_owned()),
        photo_sha256: look.photo.as_ref().map(|p| hash_text(&p.sha256)),
    })
}
