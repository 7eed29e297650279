//! The facts of another log joined to this one.

use crate::{
    Store, StoreError, kept,
    row::{COLUMNS, FROM, number},
};
use matewell_lab::{Fact, MachineId};
use std::collections::BTreeMap;

/// Facts read and written at once.
const PAGE: u32 = 5_000;

/// What came of a merge.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Merged {
    /// Facts of the other log that were not here, by the machine that wrote
    /// them.
    pub taken: BTreeMap<MachineId, u64>,
    /// Facts of the other log that were here already.
    pub known: u64,
    /// Kept files that were not here.
    pub files: u64,
    /// Number of the last fact before; what was taken comes after it.
    pub after: u64,
}

impl Store {
    /// Takes over what another log has and this one has not: facts of every
    /// machine with their places and hashes, and kept files. All or nothing.
    /// Facts merge as a set, so it makes no difference in which order logs are
    /// merged, or how often.
    ///
    /// # Errors
    ///
    /// [`StoreError::ChainGap`], [`StoreError::HashDiffers`] and
    /// [`StoreError::IdTaken`] when one machine went on in two places, as when
    /// a file was copied and both were written to; [`StoreError::CopyBroken`]
    /// for a kept file that is not what was written; [`StoreError::Database`].
    pub fn merge_from(&mut self, other: &Self) -> Result<Merged, StoreError> {
        other.in_one_look(|| {
            let after = self.last_number()?;
            let mut merged = Merged { after, ..Merged::default() };
            self.in_one_transaction(|writer| {
                for hash in other.kept_files()? {
                    let bytes = other.kept_file(&hash)?.unwrap_or_default();
                    if crate::sha256_of(&bytes) != hash {
                        let found = format!("other bytes under {}", crate::hash_text(&hash));
                        return Err(StoreError::CopyBroken { expected: 0, found });
                    }
                    kept::keep(writer.connection, &bytes)?;
                    merged.files += 1;
                }
                let sql =
                    format!("SELECT {COLUMNS} FROM {FROM} WHERE f.seq > ?1 ORDER BY f.seq LIMIT {PAGE}");
                let mut last = 0;
                loop {
                    let rows = other.stored(&sql, [last])?;
                    let Some(newest) = rows.last() else { break };
                    last = newest.seq;
                    let facts: Vec<Fact> =
                        rows.iter().map(|row| row.clone().fact()).collect::<Result<_, _>>()?;
                    writer.foresee(facts.iter())?;
                    for (fact, row) in facts.iter().zip(&rows) {
                        let place = Some((number(row.machine_seq), &row.hash));
                        if writer.add_as(fact, place, Some(&row.payload))? > after {
                            *merged.taken.entry(fact.machine).or_default() += 1;
                        } else {
                            merged.known += 1;
                        }
                    }
                    writer.finish()?;
                }
                Ok(())
            })?;
            Ok(merged)
        })
    }

    /// Labels that more than one item, or more than one end, carries now.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn labels_given_twice(&self) -> Result<Vec<String>, StoreError> {
        let sql = "SELECT min(tag) FROM item WHERE struck = 0 GROUP BY tag_folded HAVING count(*) > 1
             UNION
             SELECT min(tag) FROM connector_end WHERE struck = 0 GROUP BY tag_folded HAVING count(*) > 1
             ORDER BY 1";
        Ok(self.connection.all(sql, (), |row| row.get(0))?)
    }
}
