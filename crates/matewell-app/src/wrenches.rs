//! How tools stand, without reading their many uses; and the wrenches, which
//! every mate check asks for.
//!
//! The wrenches are kept and set right fact by fact: a mate is one more use of
//! its wrench, and most facts say nothing about any.

use crate::{AppError, Workshop};
use matewell_lab::{FactBody, ItemId, ItemKind, Moment, Resolution, Subject, ToolRecord, tool_record};
use std::{collections::BTreeMap, sync::PoisonError};

/// More new facts than this are not gone through one by one.
const MOST_NEW: u64 = 5000;

/// The wrenches as they stand after everything on record.
#[derive(Debug, Default)]
pub(crate) struct Wrenches {
    head: u64,
    /// Nothing on record happened after this.
    latest: Option<Moment>,
    records: BTreeMap<ItemId, ToolRecord>,
}

impl Workshop {
    /// A tool as it stands at a moment.
    pub(crate) fn tool_read(&self, tool: ItemId, at: Moment) -> Result<Option<ToolRecord>, AppError> {
        let story = self.store.story_of_tool(tool, at)?;
        Ok(tool_record(tool, &story.facts, at).map(|mut record| {
            let more = u32::try_from(story.uses_since_check).unwrap_or(u32::MAX);
            record.uses_since_check = record.uses_since_check.saturating_add(more);
            record
        }))
    }

    /// Every wrench as it stands at a moment, in the order of the labels.
    pub(crate) fn wrenches(&self, at: Moment) -> Result<Vec<ToolRecord>, AppError> {
        let mut kept = self.kept_wrenches.lock().unwrap_or_else(PoisonError::into_inner);
        let head = self.store.last_number()?;
        if kept.head != head || kept.latest.is_none() {
            let before = std::mem::take(&mut *kept);
            *kept = self.wrenches_after(before, head)?;
        }
        let mut found: Vec<ToolRecord> = if kept.latest.is_some_and(|latest| latest <= at) {
            kept.records.values().cloned().collect()
        } else {
            self.read_wrenches(at)?.into_values().collect()
        };
        drop(kept);
        found.sort_by(|x, y| x.item.tag.cmp(&y.item.tag));
        Ok(found)
    }

    fn read_wrenches(&self, at: Moment) -> Result<BTreeMap<ItemId, ToolRecord>, AppError> {
        let mut found = BTreeMap::new();
        for hit in self.store.list_items(Some(ItemKind::TorqueWrench))? {
            if let Some(record) = self.tool_read(hit.item, at)? {
                found.insert(hit.item, record);
            }
        }
        Ok(found)
    }

    fn wrenches_after(&self, before: Wrenches, head: u64) -> Result<Wrenches, AppError> {
        if let Some(wrenches) = self.wrenches_set_right(before, head)? {
            return Ok(wrenches);
        }
        let latest = self.store.latest_happened()?;
        let ever = Moment::from_microseconds(i64::MAX);
        Ok(Wrenches { head, latest, records: self.read_wrenches(ever)? })
    }

    /// Nothing when they have to be read afresh.
    fn wrenches_set_right(&self, mut before: Wrenches, head: u64) -> Result<Option<Wrenches>, AppError> {
        let Some(mut latest) = before.latest else { return Ok(None) };
        if before.head > head || head - before.head > MOST_NEW {
            return Ok(None);
        }
        let mut seen = before.head;
        for numbered in self.store.all_facts(before.head, MOST_NEW + 1)? {
            seen = numbered.seq;
            let fact = numbered.fact;
            latest = latest.max(fact.happened_at);
            match &fact.body {
                FactBody::Mated(mated) => {
                    let Some(record) = mated.wrench.and_then(|w| before.records.get_mut(&w)) else {
                        continue;
                    };
                    let checked = record.last_check.as_ref().map(|(_, when, _)| *when);
                    if fact.resolution == Resolution::Day
                        || checked.is_some_and(|when| fact.happened_at <= when)
                    {
                        // Before the check, or nobody knows: looked up.
                        return Ok(None);
                    }
                    record.uses_since_check = record.uses_since_check.saturating_add(1);
                }
                FactBody::Corrected(_) | FactBody::FollowedUp(_) => return Ok(None),
                FactBody::Registered(registered) if registered.item.kind == ItemKind::TorqueWrench => {
                    return Ok(None);
                }
                body => {
                    let is_about = |subject: &Subject| matches!(subject, Subject::Item(item) if before.records.contains_key(item));
                    if body.subjects().iter().any(is_about) {
                        return Ok(None);
                    }
                }
            }
        }
        Ok(Some(Wrenches { head: seen, latest: Some(latest), records: before.records }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{LoggedMate, Said, UuidV7};

    const DAY: i64 = 86_400_000_000;

    fn demo() -> (Workshop, Moment) {
        let now = Moment::from_microseconds(1_795_000_000_000_000);
        let mut shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        assert!(shop.demo(now).unwrap());
        (shop, now)
    }

    /// All that is on record about a tool, uses and all.
    fn whole(shop: &Workshop, tool: ItemId, at: Moment) -> Option<ToolRecord> {
        tool_record(tool, &shop.store.facts_of_item(tool).unwrap(), at)
    }

    #[test]
    fn a_tool_without_its_uses_stands_as_with_them_at_any_moment() {
        let (shop, now) = demo();
        let (mut tools, mut uses) = (0, 0);
        for hit in shop.store.list_items(None).unwrap() {
            for days in 0..30 {
                let at = Moment::from_microseconds(now.microseconds() - days * 33 * DAY);
                let read = shop.tool_read(hit.item, at).unwrap();
                assert_eq!(read, whole(&shop, hit.item, at), "{} {days}", hit.tag);
                uses += read.map_or(0, |record| record.uses_since_check);
            }
            tools += 1;
        }
        assert!(tools > 10 && uses > 20, "{tools} {uses}");
    }

    #[test]
    fn wrenches_kept_from_fact_to_fact_are_those_of_a_fresh_look() {
        let (mut shop, now) = demo();
        let wrenches = shop.store.list_items(Some(ItemKind::TorqueWrench)).unwrap();
        let fresh = |shop: &Workshop, at| -> Vec<ToolRecord> {
            let mut found: Vec<ToolRecord> =
                wrenches.iter().filter_map(|hit| whole(shop, hit.item, at)).collect();
            found.sort_by(|x, y| x.item.tag.cmp(&y.item.tag));
            found
        };
        let said = Said::at_the_bench("Wren Ashdown");
        let before = shop.wrenches(now).unwrap();
        assert_eq!(before, fresh(&shop, now));
        // A mate now, one long before the last check, a hold, and one taken back.
        for (n, back) in [0, 900, 0, 1, 0].into_iter().enumerate() {
            let happened_at = Moment::from_microseconds(now.microseconds() - back * DAY);
            let wrench = wrenches.get(n % wrenches.len()).map(|hit| hit.tag.clone());
            let mates =
                [LoggedMate { a: "CB-014A".to_owned(), b: "AD-008A".to_owned(), happened_at, wrench }];
            let written = shop.log_mates(&mates, &said, now).unwrap();
            assert_eq!(shop.wrenches(now).unwrap(), fresh(&shop, now), "{n}");
            if n == 2 {
                shop.hold("CB-014A", "dropped", &said, now).unwrap();
                let fact = written.facts[0].parse().unwrap();
                shop.take_back(fact, "was another", &said, now).unwrap();
                assert_eq!(shop.wrenches(now).unwrap(), fresh(&shop, now), "taken back");
            }
        }
        let earlier = Moment::from_microseconds(now.microseconds() - 30 * DAY);
        assert_eq!(shop.wrenches(earlier).unwrap(), fresh(&shop, earlier));
        assert_ne!(shop.wrenches(now).unwrap(), before);
    }
}
