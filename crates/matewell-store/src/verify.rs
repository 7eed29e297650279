//! Is the log as it was written? And copies of it.

use crate::{
    Store, StoreError,
    chain::{Hash, START, link},
    engine::{Connection, DatabaseError},
    kept::BrokenFile,
    row::{StoredFact, page},
    schema,
};
use matewell_lab::{FactId, MachineId};
use std::{
    collections::HashMap,
    fs::File,
    path::{Path, PathBuf},
};

/// What the check of the chains found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Facts read.
    pub facts: u64,
    /// The first fact that is not as it was written.
    pub first_broken: Option<Broken>,
    /// Kept files read.
    pub files: u64,
    /// The first kept file that is not as it was written.
    pub first_broken_file: Option<BrokenFile>,
}

impl Verification {
    /// Whether everything is as it was written.
    #[must_use]
    pub fn whole(&self) -> bool {
        self.first_broken.is_none() && self.first_broken_file.is_none()
    }
}

/// A fact that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Its number in this log.
    pub seq: u64,
    /// Its id.
    pub id: FactId,
    /// What is wrong.
    pub what: BrokenLink,
}

/// How a chain can be broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BrokenLink {
    /// A number of the log is missing before this fact.
    Hole,
    /// A place of the chain of its machine is missing or double.
    Place,
    /// The hash is not that of the content and of the hash before it.
    Hash,
}

/// Facts read at once.
const PAGE: i64 = 5_000;

impl Store {
    /// Recomputes every hash from the stored bytes, row by row, and names the
    /// first fact, and the first kept file, that does not fit.
    ///
    /// Facts cut off the end leave no trace in the chain itself: compare
    /// [`Store::head`] with one written down elsewhere, and see
    /// [`Store::integrity`].
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn verify(&self) -> Result<Verification, StoreError> {
        self.in_one_look(|| self.verify_in_one_look())
    }

    fn verify_in_one_look(&self) -> Result<Verification, StoreError> {
        let page = page(&self.connection);
        // A file is read row by row, a server asked for some thousands at once.
        let most = match self.connection {
            Connection::Sqlite(_) => i64::MAX,
            Connection::Postgres(_) => PAGE,
        };
        let mut ends: HashMap<MachineId, (i64, Hash)> = HashMap::new();
        let mut text = Vec::new();
        let mut facts = 0_u64;
        let mut last_seq = 0_i64;
        let mut first_broken = None;
        loop {
            let mut read = 0;
            self.connection.visit(&page, (last_seq, most), |row| {
                let fact = StoredFact::read(row)?;
                let end = ends.entry(MachineId::from_bytes(fact.machine)).or_insert((0, START));
                let what = if fact.seq != last_seq + 1 {
                    Some(BrokenLink::Hole)
                } else if fact.machine_seq != end.0 + 1 {
                    Some(BrokenLink::Place)
                } else if fact.hash != link(&end.1, &fact.hashed(), &mut text) {
                    Some(BrokenLink::Hash)
                } else {
                    None
                };
                if let Some(what) = what {
                    first_broken = Some(Broken { seq: fact.number(), id: FactId::from_bytes(fact.id), what });
                    return Ok(false);
                }
                *end = (fact.machine_seq, fact.hash);
                last_seq = fact.seq;
                facts += 1;
                read += 1;
                Ok(true)
            })?;
            if first_broken.is_some() {
                return Ok(Verification { facts, first_broken, files: 0, first_broken_file: None });
            }
            if read < most {
                break;
            }
        }
        let (files, first_broken_file) = self.verify_files()?;
        Ok(Verification { facts, first_broken: None, files, first_broken_file })
    }

    /// What the database finds wrong with its file and with the references between
    /// tables, in its own words. Empty when all is well.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn integrity(&self) -> Result<Vec<String>, StoreError> {
        let mut problems: Vec<String> = match &self.connection {
            Connection::Sqlite(_) => {
                let mut said = self.connection.all("PRAGMA integrity_check", (), |row| row.get(0))?;
                said.retain(|line: &String| line != "ok");
                said
            }
            // PostgreSQL looks after its files by itself.
            Connection::Postgres(_) => Vec::new(),
        };
        for (table, parent) in schema::broken_references(&self.connection)? {
            problems.push(format!("a row of {table} refers to a row of {parent} that is not there"));
        }
        Ok(problems)
    }

    /// Writes a compact copy to a new file of SQLite while the log stays in use, opens
    /// it and checks its chains. The copy is of one state: every fact that was
    /// written before, and of each machine the beginning of its chain.
    ///
    /// It is made under the name with `.part` behind it and gets its own name
    /// when it is verified and on the disk, so that a copy cut short is none.
    ///
    /// # Errors
    ///
    /// [`StoreError::FileExists`], [`StoreError::CopyBroken`],
    /// [`StoreError::NotKept`], and as [`Store::open_read_only`].
    pub fn back_up(&self, path: &Path) -> Result<Verification, StoreError> {
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        for path in [path, &part] {
            if path.exists() {
                return Err(StoreError::FileExists { path: path.to_owned() });
            }
        }
        let made = self.back_up_to(&part).and_then(|found| {
            let kept = File::open(&part)
                .and_then(|file| file.sync_all())
                .and_then(|()| std::fs::rename(&part, path))
                .and_then(|()| sync_folder(path));
            kept.map_err(|error| StoreError::NotKept { path: path.to_owned(), message: error.to_string() })?;
            Ok(found)
        });
        if made.is_err() {
            // What is left of it is no copy.
            drop(std::fs::remove_file(&part));
        }
        made
    }

    fn back_up_to(&self, path: &Path) -> Result<Verification, StoreError> {
        if matches!(self.connection, Connection::Postgres(_)) {
            let found = self.copy_to(path)?;
            // One file, which is read without another beside it.
            let copy = rusqlite::Connection::open(path).map_err(DatabaseError::from)?;
            copy.pragma_update(None, "journal_mode", "DELETE").map_err(DatabaseError::from)?;
            return Ok(found);
        }
        let expected = self.counts()?.facts;
        self.connection.run("VACUUM INTO ?1", [path.to_string_lossy().as_ref()])?;
        let found = Self::open_read_only(path)?.verify()?;
        // Facts may have arrived from another connection between the count and the copy.
        if !found.whole() || found.facts < expected {
            return Err(StoreError::CopyBroken { expected, found: format!("{found:?}") });
        }
        Ok(found)
    }
}

/// A new name is on the disk when its folder is; where folders cannot be
/// opened the system looks after it.
fn sync_folder(path: &Path) -> std::io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}
