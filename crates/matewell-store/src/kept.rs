//! Files kept beside the facts, by the hash of their bytes.

use crate::{
    Store, StoreError,
    chain::{Hash, hash_text},
    engine::Connection,
};
use matewell_lab::FactId;
use sha2::{Digest, Sha256};

/// Most bytes of a kept file: 64 MiB.
pub const MOST_FILE_BYTES: usize = 64 * 1024 * 1024;

/// A kept file that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BrokenFile {
    /// Its bytes have another hash.
    Bytes(Hash),
    /// A fact speaks about it and it is not there.
    Missing(Hash),
}

/// SHA-256 of some bytes.
#[must_use]
pub fn sha256_of(bytes: &[u8]) -> Hash {
    Sha256::digest(bytes).into()
}

impl Store {
    /// The bytes of a kept file.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn kept_file(&self, sha256: &Hash) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self
            .connection
            .one("SELECT bytes FROM kept_file WHERE sha256 = ?1", [sha256], |row| row.get(0))?)
    }

    /// The length of a kept file.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn kept_length(&self, sha256: &Hash) -> Result<Option<u64>, StoreError> {
        length_of(&self.connection, sha256)
    }

    /// Hashes of all kept files, in their order.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn kept_files(&self) -> Result<Vec<Hash>, StoreError> {
        Ok(self.connection.all("SELECT sha256 FROM kept_file ORDER BY sha256", (), |row| row.get(0))?)
    }

    /// Recomputes the hash of every kept file, one at a time, and looks for
    /// files that facts speak about. How many there are, and the first that is
    /// not as it was written.
    pub(crate) fn verify_files(&self) -> Result<(u64, Option<BrokenFile>), StoreError> {
        let mut files = 0;
        for hash in self.kept_files()? {
            let bytes = self.kept_file(&hash)?.unwrap_or_default();
            if sha256_of(&bytes) != hash {
                return Ok((files, Some(BrokenFile::Bytes(hash))));
            }
            files += 1;
        }
        let spoken_of = self.connection.either(
            "SELECT unhex(hash) FROM ( \
             SELECT json_extract(payload, '$.sha256') AS hash, seq FROM fact WHERE kind = 'sweep-noted' \
             UNION ALL \
             SELECT json_extract(payload, '$.photo.sha256'), seq FROM fact WHERE kind = 'inspected' \
             ) WHERE hash IS NOT NULL ORDER BY seq",
            "SELECT decode(hash, 'hex') FROM ( \
             SELECT payload::json ->> 'sha256' AS hash, seq FROM fact WHERE kind = 'sweep-noted' \
             UNION ALL \
             SELECT payload::json -> 'photo' ->> 'sha256', seq FROM fact WHERE kind = 'inspected' \
             ) spoken WHERE hash IS NOT NULL ORDER BY seq",
        );
        for hash in self.connection.all(spoken_of, (), |row| row.get::<Hash>(0))? {
            if length_of(&self.connection, &hash)?.is_none() {
                return Ok((files, Some(BrokenFile::Missing(hash))));
            }
        }
        Ok((files, None))
    }
}

/// Keeps a file, or finds that it is kept.
pub(crate) fn keep(connection: &Connection, bytes: &[u8]) -> Result<(), StoreError> {
    if bytes.is_empty() || bytes.len() > MOST_FILE_BYTES {
        return Err(StoreError::FileSize { most: MOST_FILE_BYTES, found: bytes.len() });
    }
    connection.run(
        "INSERT INTO kept_file (sha256, bytes) VALUES (?1, ?2) ON CONFLICT (sha256) DO NOTHING",
        (sha256_of(bytes), bytes),
    )?;
    Ok(())
}

/// Refuses a fact whose file is not kept.
pub(crate) fn check_kept(
    connection: &Connection,
    sha256: &Hash,
    bytes: u64,
    fact: FactId,
) -> Result<(), StoreError> {
    if length_of(connection, sha256)? == Some(bytes) {
        return Ok(());
    }
    Err(StoreError::NoKeptFile { fact, sha256: hash_text(sha256), bytes })
}

fn length_of(connection: &Connection, sha256: &Hash) -> Result<Option<u64>, StoreError> {
    let found: Option<i64> = connection.one(
        "SELECT CAST(length(bytes) AS BIGINT) FROM kept_file WHERE sha256 = ?1",
        [sha256],
        |row| row.get(0),
    )?;
    Ok(found.map(crate::row::number))
}
