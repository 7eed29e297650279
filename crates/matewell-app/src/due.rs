//! What is due, in the whole lab or at one place.

use crate::{AppError, Workshop, error::bad, judge::ReadOnce, workshop::Tags};
use matewell_lab::{
    EndId, FactBody, ItemId, ItemKind, Moment, Subject, item_record, kit_record, tool_record,
};
use matewell_verdict::{due_of_end, due_of_kit, due_of_tool};
use matewell_wire::{DueJson, DueListJson, Names, moment_text};
use std::collections::BTreeMap;

/// A row with how much it presses.
struct Pressing {
    pressure: f64,
    row: DueJson,
}

impl Pressing {
    fn new(
        pressure: f64,
        tag: String,
        end: Option<EndId>,
        location: Option<String>,
        task: &str,
        text: String,
        since: Option<Moment>,
    ) -> Self {
        let (end, since, task) = (end.map(|e| e.to_string()), since.map(moment_text), task.to_owned());
        Self { pressure, row: DueJson { tag, end, location, task, text, rank: 0, since } }
    }
}

impl Workshop {
    /// What is due, most pressing first; with a place, what is due on items
    /// whose usual place it is. Ranks are those of the whole lab.
    ///
    /// # Errors
    ///
    /// A place that no item is registered at; a store that cannot be read.
    pub fn due(&self, place: Option<&str>, at: Moment) -> Result<DueListJson, AppError> {
        let mut found = self.due_of_ends(at)?;
        found.extend(self.due_of_tools(at)?);
        found.extend(self.due_of_kits(at)?);
        for twice in self.labels_twice()? {
            found.push(Pressing::new(850.0, twice.tag, None, None, "label-twice", twice.text, None));
        }
        found.extend(self.due_of_follow_ups(at)?);
        for due in self.due_of_cases(at)? {
            let (end, item) = match due.on {
                Some(Subject::End(end)) => (Some(end), self.store.end(end)?.map(|hit| hit.item)),
                Some(Subject::Item(item)) => (None, Some(item)),
                None => (None, None),
            };
            let location = item.map(|item| self.usual_place(item, at)).transpose()?.flatten();
            found.push(Pressing::new(
                due.pressure,
                due.tag,
                end,
                location,
                due.task,
                due.text,
                Some(due.since),
            ));
        }
        found.sort_by(|x, y| {
            y.pressure
                .total_cmp(&x.pressure)
                .then_with(|| x.row.tag.cmp(&y.row.tag))
                .then_with(|| x.row.task.cmp(&y.row.task))
        });
        let mut due: Vec<DueJson> = found
            .into_iter()
            .zip(1..)
            .map(|(Pressing { mut row, .. }, rank)| {
                row.rank = rank;
                row
            })
            .collect();
        // Spelled as first met, whatever the case of the letters.
        let mut places: BTreeMap<String, String> = BTreeMap::new();
        for name in due.iter().filter_map(|row| row.location.as_deref()) {
            places.entry(folded(name)).or_insert_with(|| name.trim().to_owned());
        }
        let place = place.map(str::trim).filter(|place| !place.is_empty());
        if let Some(asked) = place {
            if !places.contains_key(&folded(asked)) && !self.is_a_place(asked, at)? {
                let known: Vec<&str> = places.values().map(String::as_str).collect();
                let known = if known.is_empty() { "none is known".to_owned() } else { known.join(", ") };
                return Err(bad(
                    "location",
                    format!("expected the usual place of an item ({known}), found \"{asked}\""),
                ));
            }
            due.retain(|row| row.location.as_deref().is_some_and(|place| folded(place) == folded(asked)));
        }
        Ok(DueListJson {
            at: moment_text(at),
            location: place
                .map(|asked| places.get(&folded(asked)).cloned().unwrap_or_else(|| asked.to_owned())),
            locations: places.into_values().collect(),
            due,
        })
    }

    fn due_of_ends(&self, at: Moment) -> Result<Vec<Pressing>, AppError> {
        let mut found = Vec::new();
        let once = ReadOnce::default();
        for hit in self.store.list_ends("", None, 0, u64::from(u32::MAX))? {
            let loaded = self.load_to_judge(hit.end, &once, at)?;
            let judgement = self.judge(&loaded)?;
            for due in due_of_end(&loaded.record, &judgement) {
                let location = loaded.record.item.location.clone();
                let (tag, task) = (hit.end_tag.clone(), due.task.word());
                found.push(Pressing::new(
                    due.pressure,
                    tag,
                    Some(hit.end),
                    location,
                    task,
                    due.text,
                    due.since,
                ));
            }
        }
        Ok(found)
    }

    fn due_of_tools(&self, at: Moment) -> Result<Vec<Pressing>, AppError> {
        let policy = self.book().policy();
        let mut found = Vec::new();
        for kind in [ItemKind::Gauge, ItemKind::TorqueWrench] {
            for tool in self.store.list_items(Some(kind))? {
                let Some(record) = tool_record(tool.item, &self.store.facts_of_item(tool.item)?, at) else {
                    continue;
                };
                if let Some(due) = due_of_tool(&record, at, &policy) {
                    let (tag, location) = (record.item.tag.clone(), record.item.location.clone());
                    let task = due.task.word();
                    found.push(Pressing::new(due.pressure, tag, None, location, task, due.text, due.since));
                }
            }
        }
        Ok(found)
    }

    fn due_of_kits(&self, at: Moment) -> Result<Vec<Pressing>, AppError> {
        let policy = self.book().policy();
        let mut found = Vec::new();
        for kit in self.store.list_items(Some(ItemKind::Kit))? {
            let facts = self.store.facts_of_item(kit.item)?;
            let item = item_record(kit.item, &facts, at).filter(|record| record.retired.is_none());
            let Some(item) = item else { continue };
            let record = kit_record(kit.item, &facts, at);
            if let Some(due) = due_of_kit(&kit.tag, &record, at, &policy) {
                let (location, task) = (item.registered.item.location, due.task.word());
                found.push(Pressing::new(due.pressure, kit.tag, None, location, task, due.text, due.since));
            }
        }
        Ok(found)
    }

    fn due_of_follow_ups(&self, at: Moment) -> Result<Vec<Pressing>, AppError> {
        let mut found = Vec::new();
        for fact in self.store.open_follow_ups()? {
            let (end, pressure, text) = match &fact.body {
                FactBody::Overridden(o) => (o.a, 700.0, format!("Follow up the override: {}", o.follow_up)),
                FactBody::Refused(r) => {
                    let codes = r.findings.join(", ");
                    (r.a, 100.0, format!("A mate was refused ({codes}); decide what to do about it."))
                }
                _ => continue,
            };
            let item = self.store.end(end)?.map(|hit| hit.item);
            let location = item.map(|item| self.usual_place(item, at)).transpose()?.flatten();
            let (tag, since) = (Tags(&self.store).end_tag(end), Some(fact.happened_at));
            found.push(Pressing::new(pressure, tag, Some(end), location, "follow-up", text, since));
        }
        Ok(found)
    }

    fn usual_place(&self, item: ItemId, at: Moment) -> Result<Option<String>, AppError> {
        let record = item_record(item, &self.store.facts_of_item(item)?, at);
        Ok(record.and_then(|record| record.registered.item.location))
    }

    /// Whether any item is registered there, due or not.
    fn is_a_place(&self, place: &str, at: Moment) -> Result<bool, AppError> {
        for hit in self.store.list_items(None)? {
            let there = self.usual_place(hit.item, at)?;
            if there.is_some_and(|there| folded(&there) == folded(place)) {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

fn folded(place: &str) -> String {
    place.trim().to_lowercase()
}
