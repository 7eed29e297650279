//! Facts with the hash before them, and the key that signs what leaves the lab.

use crate::{
    LinkedFact, RightChange, Store, StoreError,
    chain::{Hash, Hashed, START, link},
    row::{COLUMNS, FROM, StoredFact, integer, number, resolution_word},
};
use matewell_lab::{EndId, Moment, kind_word};
use matewell_record::payload_of;

/// A fact, and the hash before it.
#[derive(Debug, Clone, PartialEq)]
pub struct BehindFact {
    /// The hash of the fact before it in the chain of its machine.
    pub previous: Hash,
    /// The fact with its place and hash.
    pub linked: LinkedFact,
}

/// Whether the hash of a fact follows from its content and the hash before it.
///
/// # Errors
///
/// [`StoreError::Unwritable`] for content that no log can hold.
pub fn link_holds(behind: &BehindFact) -> Result<bool, StoreError> {
    let LinkedFact { fact, machine_sequence, hash } = &behind.linked;
    let payload =
        payload_of(&fact.body).map_err(|source| StoreError::Unwritable { fact: fact.id, source })?;
    let hashed = Hashed {
        machine: fact.machine.bytes(),
        machine_seq: integer(*machine_sequence),
        id: fact.id.bytes(),
        kind: kind_word(&fact.body),
        happened_at: fact.happened_at.microseconds(),
        resolution: resolution_word(fact.resolution),
        sequence: i64::from(fact.sequence),
        recorded_at: fact.recorded_at.microseconds(),
        person: &fact.person,
        source: fact.source.word(),
        note: fact.note.as_deref(),
        payload: &payload,
    };
    Ok(link(&behind.previous, &hashed, &mut Vec::new()) == *hash)
}

impl Store {
    /// Everything about an end and its item, each fact with the hash before
    /// it, in the order of entry.
    ///
    /// # Errors
    ///
    /// [`StoreError::Unreadable`], [`StoreError::Database`].
    pub fn facts_behind(&self, end: EndId) -> Result<Vec<BehindFact>, StoreError> {
        let sql = format!(
            "SELECT {COLUMNS}, coalesce(
                    (SELECT p.hash FROM fact p WHERE p.machine_no = f.machine_no AND p.machine_seq = f.machine_seq - 1),
                    ?2)
             FROM {FROM}
             WHERE f.seq IN (SELECT fe.seq FROM fact_end fe JOIN connector_end e ON e.no = fe.end_no WHERE e.id = ?1)
                OR f.seq IN (SELECT fi.seq FROM fact_item fi JOIN connector_end e ON e.item_no = fi.item_no WHERE e.id = ?1)
             ORDER BY f.seq"
        );
        let rows = self.connection.all(&sql, (&end.bytes()[..], &START[..]), |row| {
            Ok((StoredFact::read(row)?, row.get::<Hash>(14)?))
        })?;
        rows.into_iter()
            .map(|(stored, previous)| {
                let (machine_sequence, hash) = (number(stored.machine_seq), stored.hash);
                let linked = LinkedFact { fact: stored.fact()?, machine_sequence, hash };
                Ok(BehindFact { previous, linked })
            })
            .collect()
    }

    /// The seed of the key that signs, made from `seed` when there is none.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn signing_seed(
        &mut self,
        seed: [u8; 32],
        change: &RightChange,
        now: Moment,
    ) -> Result<[u8; 32], StoreError> {
        let kept = "SELECT seed FROM signing_key WHERE one = 1";
        if let Some(found) = self.connection.one(kept, (), |row| row.get(0))? {
            return Ok(found);
        }
        self.in_a_change(|connection| {
            let added = connection.run(
                "INSERT INTO signing_key (one, seed, created_at) VALUES (1, ?1, ?2) ON CONFLICT DO NOTHING",
                (&seed, now.microseconds()),
            )?;
            if added > 0 {
                crate::people::note(connection, change)?;
            }
            Ok(connection.only(kept, ())?)
        })
    }
}
