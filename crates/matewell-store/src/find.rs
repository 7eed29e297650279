//! Questions about facts.

use crate::{
    LinkedFact, Store, StoreError,
    engine::Params,
    row::{COLUMNS, FROM, StoredFact, integer, number, page},
    write::story_of,
};
use matewell_lab::{EndId, Fact, FactId, ItemId, Moment, Resolution, standing_facts};

/// A fact with its number in this log.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberedFact {
    /// Order of arrival, from 1.
    pub seq: u64,
    /// The fact.
    pub fact: Fact,
}

impl Store {
    /// One fact.
    ///
    /// # Errors
    ///
    /// [`StoreError::Unreadable`], [`StoreError::Database`], as all questions.
    pub fn fact(&self, id: FactId) -> Result<Option<NumberedFact>, StoreError> {
        let found = self.connection.one(
            &format!("SELECT {COLUMNS} FROM {FROM} WHERE f.id = ?1"),
            [id.bytes()],
            StoredFact::read,
        )?;
        found.map(numbered).transpose()
    }

    /// Every fact about an end and about its item, registration included, in
    /// order of arrival. Empty for an end nobody registered.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn facts_of_end(&self, end: EndId) -> Result<Vec<Fact>, StoreError> {
        self.facts(&every_fact_of_end(), [end.bytes()])
    }

    /// Every fact about an item as a whole, registration included, and for a
    /// tool every use of it, in order of arrival. What is about one end of it
    /// only is found with [`Store::facts_of_end`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn facts_of_item(&self, item: ItemId) -> Result<Vec<Fact>, StoreError> {
        self.facts(
            &format!(
                "SELECT {COLUMNS} FROM {FROM} WHERE f.seq IN (
                     SELECT fi.seq FROM fact_item fi JOIN item i ON i.no = fi.item_no WHERE i.id = ?1
                 ) ORDER BY f.seq"
            ),
            [item.bytes()],
        )
    }

    /// As [`Store::facts_of_item`], without the mates and gaugings a tool was
    /// used for: those can be many.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn facts_of_item_but_uses(&self, item: ItemId) -> Result<Vec<Fact>, StoreError> {
        self.facts(
            &format!(
                "SELECT {COLUMNS} FROM {FROM} WHERE f.kind NOT IN ('mated', 'gauged') AND f.seq IN (
                     SELECT k.seq FROM item_mark k JOIN item i ON i.no = k.item_no WHERE i.id = ?1
                 ) ORDER BY f.seq"
            ),
            [item.bytes()],
        )
    }

    /// At most `limit` facts that arrived after number `after_seq`.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn all_facts(&self, after_seq: u64, limit: u64) -> Result<Vec<NumberedFact>, StoreError> {
        self.stored(&page(&self.connection), (integer(after_seq), integer(limit)))?
            .into_iter()
            .map(numbered)
            .collect()
    }

    /// As [`Store::all_facts`], with the place of each in its chain: what an
    /// export carries and [`Store::append_linked`] takes over.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn linked_facts(&self, after_seq: u64, limit: u64) -> Result<Vec<(u64, LinkedFact)>, StoreError> {
        self.stored(&page(&self.connection), (integer(after_seq), integer(limit)))?
            .into_iter()
            .map(|row| {
                let (seq, machine_sequence, hash) = (row.number(), number(row.machine_seq), row.hash);
                Ok((seq, LinkedFact { fact: row.fact()?, machine_sequence, hash }))
            })
            .collect()
    }

    /// At most `limit` facts of the given kinds that say they happened within
    /// `from ..= to`, latest first. No kinds means all kinds.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn facts_between(
        &self,
        kinds: &[&str],
        from: Moment,
        to: Moment,
        limit: u64,
    ) -> Result<Vec<NumberedFact>, StoreError> {
        let kinds = if kinds.is_empty() { KINDS } else { kinds };
        // One range of the index per kind; what is not needed is cut off after merging.
        let mut found = Vec::new();
        for kind in kinds {
            found.extend(self.stored(
                &format!(
                    "SELECT {COLUMNS} FROM {FROM} WHERE f.kind = ?1 AND f.happened_at BETWEEN ?2 AND ?3
                     ORDER BY f.happened_at DESC, f.seq DESC LIMIT ?4"
                ),
                (kind, from.microseconds(), to.microseconds(), integer(limit)),
            )?);
        }
        found.sort_by_key(|row| std::cmp::Reverse((row.happened_at, row.seq)));
        found.dedup_by_key(|row| row.seq);
        found.truncate(usize::try_from(limit).unwrap_or(usize::MAX));
        found.into_iter().map(numbered).collect()
    }

    /// Refusals and overrides nobody has followed up, in order of arrival. A
    /// refusal that was overridden is answered by the override, which stays
    /// open in its place. What a correction says did not happen is left out.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn open_follow_ups(&self) -> Result<Vec<Fact>, StoreError> {
        let candidates = self.connection.all(
            "SELECT seq FROM fact WHERE kind IN ('refused', 'overridden') ORDER BY seq",
            (),
            |row| row.get::<i64>(0),
        )?;
        let mut open = Vec::new();
        for seq in candidates {
            let story: Vec<Fact> =
                story_of(&self.connection, seq)?.into_iter().map(|(_, fact)| fact).collect();
            let Some(first) = story.first().map(|fact| fact.id) else { continue };
            let standing = standing_facts(&story, Moment::from_microseconds(i64::MAX));
            let answered = standing.iter().any(|fact| fact.id != first) || self.standing_override(seq)?;
            if !answered {
                open.extend(standing);
            }
        }
        Ok(open)
    }

    /// Whether a refusal has an override that was not voided.
    fn standing_override(&self, refused_seq: i64) -> Result<bool, StoreError> {
        let overrides: Vec<i64> = self.connection.all(
            "SELECT a.seq FROM fact_about a JOIN fact f ON f.seq = a.seq
                 WHERE a.earlier_seq = ?1 AND f.kind = 'overridden' ORDER BY a.seq",
            [refused_seq],
            |row| row.get(0),
        )?;
        for seq in overrides {
            let story: Vec<Fact> =
                story_of(&self.connection, seq)?.into_iter().map(|(_, fact)| fact).collect();
            let id = story.first().map(|fact| fact.id);
            let standing = standing_facts(&story, Moment::from_microseconds(i64::MAX));
            if standing.iter().any(|fact| Some(fact.id) == id) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Sweeps as they stand, corrections applied, in order of arrival.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn sweeps(&self) -> Result<Vec<Fact>, StoreError> {
        self.standing_of_kind("sweep-noted")
    }

    /// Planned work as it stands, as [`Store::sweeps`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn planned_work(&self) -> Result<Vec<Fact>, StoreError> {
        self.standing_of_kind("reserved")
    }

    /// Policies taken up on any machine, as [`Store::sweeps`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn policies(&self) -> Result<Vec<Fact>, StoreError> {
        self.standing_of_kind("policy-taken-up")
    }

    /// The policy that the writing machine took up last.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn last_policy(&self) -> Result<Option<Fact>, StoreError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM {FROM} WHERE f.kind = 'policy-taken-up' AND m.own = 1 ORDER BY f.seq DESC LIMIT 1"
        );
        self.stored(&sql, ())?.pop().map(StoredFact::fact).transpose()
    }

    /// Facts of a kind that has few.
    fn standing_of_kind(&self, kind: &str) -> Result<Vec<Fact>, StoreError> {
        let mut found = Vec::new();
        let rows =
            self.stored(&format!("SELECT {COLUMNS} FROM {FROM} WHERE f.kind = ?1 ORDER BY f.seq"), [kind])?;
        for row in rows {
            let seq = row.seq;
            let fact = row.fact()?;
            let spoken_about: bool = self
                .connection
                .only("SELECT EXISTS (SELECT 1 FROM fact_about WHERE earlier_seq = ?1)", [seq])?;
            if !spoken_about {
                found.push(fact);
                continue;
            }
            let story: Vec<Fact> =
                story_of(&self.connection, seq)?.into_iter().map(|(_, fact)| fact).collect();
            let standing = standing_facts(&story, Moment::from_microseconds(i64::MAX));
            found.extend(standing.into_iter().filter(|told| told.id == fact.id));
        }
        Ok(found)
    }

    pub(crate) fn facts(&self, sql: &str, parameters: impl Params) -> Result<Vec<Fact>, StoreError> {
        self.stored(sql, parameters)?.into_iter().map(StoredFact::fact).collect()
    }

    pub(crate) fn stored(&self, sql: &str, parameters: impl Params) -> Result<Vec<StoredFact>, StoreError> {
        Ok(self.connection.all(sql, parameters, StoredFact::read)?)
    }
}

/// Every fact about an end and about its item.
pub(crate) fn every_fact_of_end() -> String {
    format!(
        "SELECT {COLUMNS} FROM {FROM} WHERE f.seq IN (
             SELECT fe.seq FROM fact_end fe JOIN connector_end e ON e.no = fe.end_no WHERE e.id = ?1
             UNION
             SELECT fi.seq FROM fact_item fi JOIN connector_end e ON e.item_no = fi.item_no WHERE e.id = ?1
         ) ORDER BY f.seq"
    )
}

/// Every kind of fact, as the table lists them.
pub(crate) const KINDS: &[&str] = &[
    "registered",
    "inspected",
    "gauged",
    "cleaned",
    "mated",
    "parted",
    "stored",
    "tool-checked",
    "held",
    "released",
    "retired",
    "replaced",
    "refused",
    "overridden",
    "followed-up",
    "corrected",
    "result-noted",
    "sweep-noted",
    "sweep-judged",
    "case-opened",
    "case-changed",
    "end-disposed",
    "result-disposed",
    "case-closed",
    "kit-made",
    "kit-checked",
    "reserved",
    "policy-taken-up",
];

fn numbered(row: StoredFact) -> Result<NumberedFact, StoreError> {
    Ok(NumberedFact { seq: row.number(), fact: row.fact()? })
}

/// What a touch was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TouchedBy {
    /// Another end.
    End(EndId),
    /// A gauge.
    Gauge(ItemId),
}

/// Two things touched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touch {
    /// The end asked about.
    pub a: EndId,
    /// What touched it.
    pub b: TouchedBy,
    /// When, corrections applied.
    pub at: Moment,
    /// Order among facts of the same moment.
    pub sequence: u32,
    /// How exactly the time is known.
    pub resolution: Resolution,
    /// The fact.
    pub fact: FactId,
}
