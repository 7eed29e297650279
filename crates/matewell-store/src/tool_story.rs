//! A tool without reading its many uses.

use crate::{
    Store, StoreError, TouchedBy,
    row::{COLUMNS, StoredFact, number},
};
use matewell_lab::{Fact, FactBody, ItemId, Moment};
use std::collections::BTreeMap;

/// What a judgement of a tool needs.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolStory {
    /// Every fact about the tool, less the uses below.
    pub facts: Vec<Fact>,
    /// Mates and gaugings it was used for after its last check, that are not
    /// among the facts.
    pub uses_since_check: u64,
}

impl Store {
    /// The facts about a tool with its uses up to a moment as a mere count. A
    /// tool with a correction anywhere, or with a use at the very moment of its
    /// last check, comes whole.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn story_of_tool(&self, tool: ItemId, to: Moment) -> Result<ToolStory, StoreError> {
        let whole = || Ok(ToolStory { facts: self.facts_of_item(tool)?, uses_since_check: 0 });
        let Some(no) = self.number_of(TouchedBy::Gauge(tool))? else { return whole() };
        let sql = format!(
            "SELECT {COLUMNS} FROM item_mark k JOIN fact f ON f.seq = k.seq JOIN machine m ON m.no = f.machine_no
             WHERE k.item_no = ?1"
        );
        let marked: BTreeMap<i64, StoredFact> =
            self.stored(&sql, [no])?.into_iter().map(|row| (row.seq, row)).collect();
        if marked.values().any(|row| row.kind == "corrected") {
            return whole();
        }
        let facts: Vec<Fact> = marked.into_values().map(StoredFact::fact).collect::<Result<_, _>>()?;
        let checked = facts
            .iter()
            .filter(|fact| matches!(fact.body, FactBody::ToolChecked(_)) && fact.happened_at <= to)
            .map(|fact| fact.happened_at)
            .max();
        let since = checked.map_or(i64::MIN, Moment::microseconds);
        let about: i64 = self.connection.only(
            "SELECT count(*) FROM fact_item WHERE item_no = ?1 AND happened_at >= ?2 AND happened_at <= ?3",
            (no, since, to.microseconds()),
        )?;
        let with_check: i64 = self
            .connection
            .only("SELECT count(*) FROM fact_item WHERE item_no = ?1 AND happened_at = ?2", (no, since))?;
        let within = |fact: &&Fact| {
            let at = fact.happened_at.microseconds();
            since <= at && at <= to.microseconds()
        };
        let of_them = facts.iter().filter(within).count() as u64;
        let of_the_moment = facts.iter().filter(|f| f.happened_at.microseconds() == since).count() as u64;
        if number(with_check) > of_the_moment {
            return whole();
        }
        Ok(ToolStory { facts, uses_since_check: number(about).saturating_sub(of_them) })
    }
}
