//! A log copied whole into an empty one, of either engine.

use crate::{
    Place, Store, StoreError, Verification,
    chain::Hash,
    kept,
    row::{number, page},
};
use matewell_lab::{Fact, Moment};

/// Facts read and written at once.
const PAGE: i64 = 5_000;

impl Store {
    /// Copies the log to a place where there is none yet: facts with their
    /// numbers, places and hashes in the stored bytes, kept files, mappings and
    /// the answers to keys. One state is copied, whatever others write
    /// meanwhile, all of it or nothing; then the copy is verified.
    ///
    /// # Errors
    ///
    /// [`StoreError::FileExists`], [`StoreError::LogExists`],
    /// [`StoreError::OtherTables`] for a place that is not empty,
    /// [`StoreError::CopyBroken`], [`StoreError::Database`].
    pub fn copy_to(&self, place: impl Into<Place>) -> Result<Verification, StoreError> {
        let mut copy = Self::create_with_machine(place, self.machine())?;
        self.in_one_look(|| self.copy_into(&mut copy))?;
        let found = copy.verify()?;
        if !found.whole() {
            return Err(StoreError::CopyBroken { expected: found.facts, found: format!("{found:?}") });
        }
        Ok(found)
    }

    fn copy_into(&self, copy: &mut Self) -> Result<(), StoreError> {
        let head = self.head()?;
        copy.in_one_transaction(|writer| {
            for hash in self.kept_files()? {
                kept::keep(writer.connection, &self.kept_file(&hash)?.unwrap_or_default())?;
            }
            let sql = page(&self.connection);
            let mut last = 0_i64;
            loop {
                let rows = self.stored(&sql, (last, PAGE))?;
                let Some(newest) = rows.last() else { break };
                last = newest.seq;
                let facts: Vec<Fact> = rows.iter().map(|row| row.clone().fact()).collect::<Result<_, _>>()?;
                writer.foresee(facts.iter())?;
                for (fact, row) in facts.iter().zip(&rows) {
                    writer.add_as(fact, Some((number(row.machine_seq), &row.hash)), Some(&row.payload))?;
                }
                writer.finish()?;
            }
            for name in self.mappings()? {
                let toml = self.mapping(&name)?.unwrap_or_default();
                writer
                    .connection
                    .run("INSERT INTO saved_mapping (name, toml) VALUES (?1, ?2)", (&name, &toml))?;
            }
            for (key, request, response, at) in self.answers()? {
                writer.connection.run(
                    "INSERT INTO write_key (key, request_sha256, response, created_at) VALUES (?1, ?2, ?3, ?4)",
                    (&key, &request, &response, at.microseconds()),
                )?;
            }
            self.copy_people(writer.connection)
        })?;
        let copied = copy.head()?;
        if copied == head {
            Ok(())
        } else {
            let expected = head.map_or(0, |(seq, _)| seq);
            Err(StoreError::CopyBroken { expected, found: format!("{copied:?}") })
        }
    }

    fn answers(&self) -> Result<Vec<(String, Hash, String, Moment)>, StoreError> {
        let sql = "SELECT key, request_sha256, response, created_at FROM write_key ORDER BY key";
        Ok(self.connection.all(sql, (), |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, Moment::from_microseconds(row.get(3)?)))
        })?)
    }
}
