//! An end without reading its many mates.

use crate::{
    Store, StoreError, TouchedBy,
    find::every_fact_of_end,
    row::{COLUMNS, FROM, StoredFact},
};
use matewell_lab::{EndId, Fact, Moment};
use std::collections::{BTreeMap, BTreeSet};

/// What a judgement of an end needs: for
/// [`end_record_with`](matewell_lab::end_record_with).
#[derive(Debug, Clone, PartialEq)]
pub struct EndStory {
    /// Every fact about the end and its item, less the mates below.
    pub facts: Vec<Fact>,
    /// When each mate of which nothing else matters happened, ascending.
    pub mates: Vec<Moment>,
}

/// Kinds of facts of cases.
const OF_CASES: &[&str] = &["case-opened", "case-changed", "end-disposed", "result-disposed", "case-closed"];

impl Store {
    /// The facts about an end up to a moment with most of its mates as mere
    /// moments. Mates that are more than a count come as facts: the last one,
    /// those since a hold, those at the moment of another fact. An end with a
    /// correction anywhere comes whole.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn story_of_end(&self, end: EndId, to: Moment) -> Result<EndStory, StoreError> {
        self.story(end, to, &[])
    }

    /// As [`Store::story_of_end`], without the facts of cases: each names all
    /// that its case reached, and an end may be in many.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn story_of_end_but_cases(&self, end: EndId, to: Moment) -> Result<EndStory, StoreError> {
        self.story(end, to, OF_CASES)
    }

    fn story(&self, end: EndId, to: Moment, without: &[&str]) -> Result<EndStory, StoreError> {
        let read = |rows: Vec<StoredFact>| {
            let wanted = rows.into_iter().filter(|row| !without.contains(&row.kind.as_str()));
            wanted.map(StoredFact::fact).collect::<Result<Vec<_>, _>>()
        };
        let whole = || {
            let rows = self.stored(&every_fact_of_end(), [end.bytes()])?;
            Ok(EndStory { facts: read(rows)?, mates: Vec::new() })
        };
        let Some(no) = self.number_of(TouchedBy::End(end))? else { return whole() };
        let mut marked: BTreeMap<i64, StoredFact> = BTreeMap::new();
        for sql in [
            format!(
                "SELECT {COLUMNS} FROM end_mark k JOIN fact f ON f.seq = k.seq JOIN machine m ON m.no = f.machine_no
                 WHERE k.end_no = ?1"
            ),
            format!(
                "SELECT {COLUMNS} FROM connector_end e JOIN fact_item x ON x.item_no = e.item_no
                     JOIN fact f ON f.seq = x.seq JOIN machine m ON m.no = f.machine_no
                 WHERE e.no = ?1"
            ),
        ] {
            marked.extend(self.stored(&sql, [no])?.into_iter().map(|row| (row.seq, row)));
        }
        if marked.values().any(|row| row.kind == "corrected") {
            return whole();
        }
        let held_since = marked.values().filter(|row| row.kind == "held").map(|row| row.happened_at).min();
        let shared: BTreeSet<i64> = marked.values().map(|row| row.happened_at).collect();
        let about: Vec<(i64, i64)> = self.connection.all(
            "SELECT happened_at, seq FROM fact_end WHERE end_no = ?1 AND happened_at <= ?2
             ORDER BY happened_at, seq",
            (no, to.microseconds()),
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        let mut plain: Vec<(i64, i64)> = Vec::new();
        let mut in_full: Vec<i64> = Vec::new();
        for (at, seq) in about {
            if marked.contains_key(&seq) {
                continue;
            }
            if shared.contains(&at) || held_since.is_some_and(|since| since <= at) {
                in_full.push(seq);
            } else {
                plain.push((at, seq));
            }
        }
        // The last, and what shares its moment.
        if let Some((last, _)) = plain.last().copied() {
            let from = plain.partition_point(|(at, _)| *at < last);
            in_full.extend(plain.drain(from..).map(|(_, seq)| seq));
        }
        for seq in in_full {
            let sql = format!("SELECT {COLUMNS} FROM {FROM} WHERE f.seq = ?1");
            marked.extend(self.stored(&sql, [seq])?.into_iter().map(|row| (row.seq, row)));
        }
        Ok(EndStory {
            facts: read(marked.into_values().collect())?,
            mates: plain.into_iter().map(|(at, _)| Moment::from_microseconds(at)).collect(),
        })
    }
}
