//! Adding facts: all of a batch or none.

use crate::{
    Store, StoreError,
    chain::{Hash, hash_from_text, hash_text},
    engine::Connection,
    kept,
    write::Writer,
};
use matewell_lab::{Fact, Moment};
use matewell_record::{FactJson, LinkJson};

/// A fact with its place in the chain of the machine that wrote it.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkedFact {
    /// The fact.
    pub fact: Fact,
    /// Its place, counted from 1.
    pub machine_sequence: u64,
    /// The hash up to and including it.
    pub hash: Hash,
}

impl LinkedFact {
    /// The written form with its link: a line of an export.
    ///
    /// # Errors
    ///
    /// [`StoreError::Unwritable`].
    pub fn to_json(&self) -> Result<FactJson, StoreError> {
        let mut json = FactJson::of(&self.fact)
            .map_err(|source| StoreError::Unwritable { fact: self.fact.id, source })?;
        json.link = Some(LinkJson { machine_sequence: self.machine_sequence, sha256: hash_text(&self.hash) });
        Ok(json)
    }

    /// From the written form.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoLink`] without a link or with one that is not a hash,
    /// [`StoreError::Unwritable`] for what is not a fact.
    pub fn from_json(json: &FactJson) -> Result<Self, StoreError> {
        let no_link = || StoreError::NoLink { fact: json.id };
        let link = json.link.as_ref().ok_or_else(no_link)?;
        Ok(Self {
            fact: json.fact().map_err(|source| StoreError::Unwritable { fact: json.id, source })?,
            machine_sequence: link.machine_sequence,
            hash: hash_from_text(&link.sha256).ok_or_else(no_link)?,
        })
    }
}

/// What came of a write with a key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeyedWrite {
    /// The facts are now on record, with these numbers.
    Written(Vec<u64>),
    /// The same request came before; this was the answer then.
    AnsweredBefore(String),
}

/// An answer given before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenResponse {
    /// SHA-256 of the request.
    pub request_sha256: Hash,
    /// The answer.
    pub response: String,
    /// When it was first given.
    pub created_at: Moment,
}

impl Store {
    /// Adds facts of this machine, all or none, and returns the number of
    /// each. A fact that is on record with the same content is passed over
    /// and keeps its number, so that a batch can be sent twice.
    ///
    /// A fact may name what an earlier one of the same batch registered.
    ///
    /// # Errors
    ///
    /// [`StoreError::UnknownEnd`], [`StoreError::UnknownItem`] and
    /// [`StoreError::UnknownFact`] for what is not on record,
    /// [`StoreError::IdTaken`] for an id with other content,
    /// [`StoreError::ForeignMachine`], [`StoreError::Unwritable`],
    /// [`StoreError::Database`]. Nothing is written then.
    pub fn append(&mut self, facts: &[Fact]) -> Result<Vec<u64>, StoreError> {
        self.append_with_files(&[], facts)
    }

    /// As [`Store::append`], with files that the facts speak about. A file
    /// that is kept already is passed over.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoKeptFile`] for a fact whose file is neither given nor
    /// kept, [`StoreError::FileSize`], and as [`Store::append`].
    pub fn append_with_files(&mut self, files: &[&[u8]], facts: &[Fact]) -> Result<Vec<u64>, StoreError> {
        self.in_one_transaction(|writer| {
            files.iter().try_for_each(|bytes| kept::keep(writer.connection, bytes))?;
            writer.foresee(facts.iter())?;
            facts.iter().map(|fact| writer.add(fact, None)).collect()
        })
    }

    /// Takes facts of any machine over with their places and hashes, all or
    /// none. Each chain must go on from where it ends here.
    ///
    /// # Errors
    ///
    /// [`StoreError::ChainGap`] and [`StoreError::HashDiffers`] for a chain
    /// that does not go on, and as [`Store::append`].
    pub fn append_linked(&mut self, facts: &[LinkedFact]) -> Result<Vec<u64>, StoreError> {
        self.append_linked_with_files(&[], facts)
    }

    /// As [`Store::append_linked`], with the files that the facts speak about.
    ///
    /// # Errors
    ///
    /// As [`Store::append_linked`] and [`Store::append_with_files`].
    pub fn append_linked_with_files(
        &mut self,
        files: &[&[u8]],
        facts: &[LinkedFact],
    ) -> Result<Vec<u64>, StoreError> {
        self.in_one_transaction(|writer| {
            files.iter().try_for_each(|bytes| kept::keep(writer.connection, bytes))?;
            writer.foresee(facts.iter().map(|linked| &linked.fact))?;
            facts
                .iter()
                .map(|linked| writer.add(&linked.fact, Some((linked.machine_sequence, &linked.hash))))
                .collect()
        })
    }

    /// Adds facts and keeps the answer under a key, in one transaction. The
    /// same key with the same request gives the first answer again and writes
    /// nothing.
    ///
    /// # Errors
    ///
    /// [`StoreError::KeyTaken`] when the key came with another request, and
    /// as [`Store::append`].
    pub fn append_with_key(
        &mut self,
        key: &str,
        request_sha256: &Hash,
        facts: &[Fact],
        response: &str,
        at: Moment,
    ) -> Result<KeyedWrite, StoreError> {
        self.append_with_key_and_files((key, request_sha256), &[], facts, response, at)
    }

    /// As [`Store::append_with_key`], with the files that the facts speak about.
    /// `key` is the key and the SHA-256 of the request.
    ///
    /// # Errors
    ///
    /// As [`Store::append_with_key`] and [`Store::append_with_files`].
    pub fn append_with_key_and_files(
        &mut self,
        (key, request_sha256): (&str, &Hash),
        files: &[&[u8]],
        facts: &[Fact],
        response: &str,
        at: Moment,
    ) -> Result<KeyedWrite, StoreError> {
        self.in_one_transaction(|writer| {
            if let Some(before) = response_in(writer.connection, key)? {
                return if before.request_sha256 == *request_sha256 {
                    Ok(KeyedWrite::AnsweredBefore(before.response))
                } else {
                    Err(StoreError::KeyTaken { key: key.to_owned() })
                };
            }
            files.iter().try_for_each(|bytes| kept::keep(writer.connection, bytes))?;
            writer.foresee(facts.iter())?;
            let numbers = facts.iter().map(|fact| writer.add(fact, None)).collect::<Result<_, _>>()?;
            writer.connection.run(
                "INSERT INTO write_key (key, request_sha256, response, created_at) VALUES (?1, ?2, ?3, ?4)",
                (key, request_sha256, response, at.microseconds()),
            )?;
            Ok(KeyedWrite::Written(numbers))
        })
    }

    /// The answer kept under a key.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn written_response(&self, key: &str) -> Result<Option<WrittenResponse>, StoreError> {
        response_in(&self.connection, key)
    }

    pub(crate) fn in_one_transaction<T>(
        &mut self,
        write: impl FnOnce(&mut Writer<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let transaction = self.connection.begin_write()?;
        let written = Writer::new(&self.connection, self.machine, &mut self.ends, &mut self.items).and_then(
            |mut writer| {
                let value = write(&mut writer)?;
                writer.finish()?;
                writer.announce()?;
                Ok(value)
            },
        );
        let written = written.and_then(|value| Ok(transaction.commit().map(|()| value)?));
        if written.is_err() {
            // The numbers of what was registered in the failed batch are free again.
            self.ends.clear();
            self.items.clear();
        }
        written
    }
}

fn response_in(connection: &Connection, key: &str) -> Result<Option<WrittenResponse>, StoreError> {
    let sql = "SELECT request_sha256, response, created_at FROM write_key WHERE key = ?1";
    Ok(connection.one(sql, [key], |row| {
        Ok(WrittenResponse {
            request_sha256: row.get(0)?,
            response: row.get(1)?,
            created_at: Moment::from_microseconds(row.get(2)?),
        })
    })?)
}

/// The error for a hash that does not fit.
pub(crate) fn hash_differs(fact: &Fact, expected: &Hash, found: &Hash) -> StoreError {
    StoreError::HashDiffers { fact: fact.id, expected: hash_text(expected), found: hash_text(found) }
}
