//! Copies made and verified, and what was found when the log was opened.

use crate::{
    Store, StoreError,
    chain::{START, hash_from_text, link},
    row::{COLUMNS, FROM, integer, number},
};
use matewell_lab::{MachineId, Moment};
use std::collections::HashMap;

/// A back-up that was verified when it was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VerifiedBackUp {
    /// When it was made.
    pub made_at: Moment,
    /// Number of the last fact in it; 0 for an empty log.
    pub last_seq: u64,
    /// What it is called, without its folder.
    pub name: String,
}

/// Facts looked at when the log was not closed.
const TAIL: u64 = 10_000;

impl Store {
    /// Notes a back-up that was verified. `head` is number and hash of its
    /// last fact.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn note_back_up(
        &mut self,
        at: Moment,
        head: Option<&(u64, String)>,
        name: &str,
    ) -> Result<(), StoreError> {
        let name: String = name.chars().take(255).collect();
        self.connection.run(
            "INSERT INTO back_up (made_at, last_seq, head, name) VALUES (?1, ?2, ?3, ?4)",
            (
                at.microseconds(),
                integer(head.map_or(0, |(seq, _)| *seq)),
                head.and_then(|(_, hash)| hash_from_text(hash)),
                name,
            ),
        )?;
        Ok(())
    }

    /// The last back-up that was verified.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn last_back_up(&self) -> Result<Option<VerifiedBackUp>, StoreError> {
        let sql = "SELECT made_at, last_seq, name FROM back_up ORDER BY made_at DESC, no DESC LIMIT 1";
        Ok(self.connection.one(sql, (), |row| {
            Ok(VerifiedBackUp {
                made_at: Moment::from_microseconds(row.get(0)?),
                last_seq: number(row.get(1)?),
                name: row.get(2)?,
            })
        })?)
    }

    /// Bytes of write-ahead log that lay beside the file when it was opened
    /// and nobody else had it open: it was not closed. SQLite takes over what
    /// was written whole and drops the rest.
    #[must_use]
    pub fn left_behind(&self) -> Option<u64> {
        self.left_behind
    }

    /// Whether the last facts are as they were written: those that a crash
    /// can have cut. The number of the first that is not.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn broken_at_the_end(&self) -> Result<Option<u64>, StoreError> {
        let head = self.head()?.map_or(0, |(seq, _)| seq);
        let sql = format!("SELECT {COLUMNS} FROM {FROM} WHERE f.seq > ?1 ORDER BY f.seq");
        let mut ends = HashMap::new();
        let mut text = Vec::new();
        let mut before = head.saturating_sub(TAIL);
        for fact in self.stored(&sql, [integer(before)])? {
            let machine = MachineId::from_bytes(fact.machine);
            let known = ends.get(&machine).copied().or((fact.machine_seq == 1).then_some(START));
            let in_place = fact.number() == before + 1;
            // The first of a machine here can only be the start of a comparison.
            if !in_place || known.is_some_and(|end| fact.hash != link(&end, &fact.hashed(), &mut text)) {
                return Ok(Some(fact.number()));
            }
            before = fact.number();
            ends.insert(machine, fact.hash);
        }
        Ok(None)
    }
}
