//! The log sent to another lab, and taken over from one, fact by fact as the
//! bytes lie in it.

use crate::{
    Merged, Store, StoreError,
    chain::{Hash, START, link},
    kept,
    row::{StoredFact, integer, number, page},
};
use matewell_lab::{Fact, FactBody, FactId, Inspected, MachineId};
use std::collections::BTreeMap;

/// Facts looked at in one turn.
const LOOK: u64 = 2_000;
/// Turns in one question, while all that is seen is known to who asks.
const TURNS: u32 = 20;
/// Bytes of facts in one answer; the last one may go beyond.
const MOST_BYTES: usize = 4 * 1024 * 1024;
/// Facts written before the index tables are.
const BATCH: usize = 5_000;

/// A fact as it lies in a log: everything its hash covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentFact {
    /// Its id.
    pub id: FactId,
    /// Who wrote it down.
    pub machine: MachineId,
    /// Its place in the chain of that machine, from 1.
    pub place: u64,
    /// What kind of fact.
    pub kind: String,
    /// When it happened, in microseconds since 1970.
    pub happened_at: i64,
    /// `instant` or `day`.
    pub resolution: String,
    /// Order among facts of the same moment.
    pub sequence: u32,
    /// When it was entered, in microseconds since 1970.
    pub recorded_at: i64,
    /// Who did it.
    pub person: String,
    /// Where it came in.
    pub source: String,
    /// Free text.
    pub note: Option<String>,
    /// What happened, in the bytes that were hashed.
    pub payload: String,
    /// The hash up to and including it.
    pub hash: Hash,
}

impl SentFact {
    fn of(row: StoredFact) -> Self {
        Self {
            id: FactId::from_bytes(row.id),
            machine: MachineId::from_bytes(row.machine),
            place: number(row.machine_seq),
            kind: row.kind,
            happened_at: row.happened_at,
            resolution: row.resolution,
            sequence: u32::try_from(row.sequence).unwrap_or(u32::MAX),
            recorded_at: row.recorded_at,
            person: row.person,
            source: row.source,
            note: row.note,
            payload: row.payload,
            hash: row.hash,
        }
    }

    fn row(&self) -> StoredFact {
        StoredFact {
            seq: integer(self.place),
            id: *self.id.bytes(),
            machine: *self.machine.bytes(),
            machine_seq: integer(self.place),
            kind: self.kind.clone(),
            happened_at: self.happened_at,
            resolution: self.resolution.clone(),
            sequence: i64::from(self.sequence),
            recorded_at: self.recorded_at,
            person: self.person.clone(),
            source: self.source.clone(),
            note: self.note.clone(),
            payload: self.payload.clone(),
            hash: self.hash,
        }
    }

    /// The fact.
    ///
    /// # Errors
    ///
    /// [`StoreError::Unreadable`] with its place in the chain of its machine.
    pub fn fact(&self) -> Result<Fact, StoreError> {
        self.row().fact()
    }
}

/// Hash and length of the file a fact speaks about, if it does.
#[must_use]
pub fn file_of(fact: &Fact) -> Option<(Hash, u64)> {
    match &fact.body {
        FactBody::SweepNoted(sweep) => Some((sweep.sha256, sweep.bytes)),
        FactBody::Inspected(Inspected { photo: Some(photo), .. }) => Some((photo.sha256, photo.bytes)),
        _ => None,
    }
}

/// Where the chain of each machine ends.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ChainEnds(BTreeMap<MachineId, (u64, Hash)>);

impl ChainEnds {
    /// The ends by machine: place and hash of the last fact.
    pub fn iter(&self) -> impl Iterator<Item = (MachineId, u64, Hash)> + '_ {
        self.0.iter().map(|(machine, (place, hash))| (*machine, *place, *hash))
    }

    /// Place of the last fact of a machine; 0 when it wrote none.
    #[must_use]
    pub fn place(&self, machine: MachineId) -> u64 {
        self.0.get(&machine).map_or(0, |(place, _)| *place)
    }

    /// Place and hash of the last fact of a machine.
    #[must_use]
    pub fn end(&self, machine: MachineId) -> (u64, Hash) {
        self.0.get(&machine).copied().unwrap_or((0, START))
    }

    /// Follows the chain of its machine by one fact, its hash computed here.
    ///
    /// # Errors
    ///
    /// [`StoreError::ChainGap`], [`StoreError::HashDiffers`].
    pub fn follow(&mut self, fact: &SentFact) -> Result<(), StoreError> {
        let (place, before) = self.end(fact.machine);
        if fact.place != place + 1 {
            return Err(StoreError::ChainGap {
                machine: fact.machine,
                expected: place + 1,
                found: fact.place,
            });
        }
        let hash = link(&before, &fact.row().hashed(), &mut Vec::new());
        if hash != fact.hash {
            return Err(StoreError::HashDiffers {
                fact: fact.id,
                expected: crate::hash_text(&hash),
                found: crate::hash_text(&fact.hash),
            });
        }
        self.0.insert(fact.machine, (fact.place, hash));
        Ok(())
    }
}

impl FromIterator<(MachineId, u64, Hash)> for ChainEnds {
    fn from_iter<T: IntoIterator<Item = (MachineId, u64, Hash)>>(ends: T) -> Self {
        Self(ends.into_iter().map(|(machine, place, hash)| (machine, (place, hash))).collect())
    }
}

/// What a lab has and another has not, up to a limit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SentPage {
    /// The facts in the order in which they came in here, so that what a fact
    /// speaks about comes before it.
    pub facts: Vec<SentFact>,
    /// Number of the last fact that was looked at.
    pub after: u64,
    /// Whether there may be more up to the number that was asked for.
    pub more: bool,
}

/// What comes from another lab.
#[derive(Debug)]
pub enum Arrival {
    /// A file to be kept.
    File(Vec<u8>),
    /// A fact.
    Fact(Box<SentFact>),
}

impl Store {
    /// Where the chain of each machine ends here.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn chain_ends(&self) -> Result<ChainEnds, StoreError> {
        let sql = self.connection.either(
            "SELECT m.id, f.machine_seq, f.hash FROM machine m JOIN fact f ON f.machine_no = m.no \
             AND f.machine_seq = (SELECT max(l.machine_seq) FROM fact l WHERE l.machine_no = m.no)",
            "SELECT m.id, p.machine_seq, f.hash FROM machine m JOIN fact_place p ON p.machine_no = m.no \
             AND p.machine_seq = (SELECT max(l.machine_seq) FROM fact_place l WHERE l.machine_no = m.no) \
             JOIN fact f ON f.seq = p.seq",
        );
        let ends = self
            .connection
            .all(sql, (), |row| Ok((MachineId::from_bytes(row.get(0)?), number(row.get(1)?), row.get(2)?)))?;
        Ok(ends.into_iter().collect())
    }

    /// Number and hash of the fact at a place of the chain of a machine.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn fact_at(&self, machine: MachineId, place: u64) -> Result<Option<(u64, Hash)>, StoreError> {
        let sql = self.connection.either(
            "SELECT f.seq, f.hash FROM fact f JOIN machine m ON m.no = f.machine_no \
             WHERE m.id = ?1 AND f.machine_seq = ?2",
            "SELECT f.seq, f.hash FROM machine m JOIN fact_place p ON p.machine_no = m.no \
             JOIN fact f ON f.seq = p.seq WHERE m.id = ?1 AND p.machine_seq = ?2",
        );
        let found = self
            .connection
            .one(sql, (machine.bytes(), integer(place)), |row| Ok((number(row.get(0)?), row.get(1)?)))?;
        Ok(found)
    }

    /// Facts that somebody lacks whose chains end at `known`, after number
    /// `after` and up to number `up_to` of this log.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn missing(&self, known: &ChainEnds, after: u64, up_to: u64) -> Result<SentPage, StoreError> {
        self.in_one_look(|| {
            let mut first = u64::MAX;
            for (machine, place, _) in self.chain_ends()?.iter() {
                let next = known.place(machine) + 1;
                if next <= place
                    && let Some((seq, _)) = self.fact_at(machine, next)?
                {
                    first = first.min(seq);
                }
            }
            if first > up_to {
                return Ok(SentPage { facts: Vec::new(), after: up_to, more: false });
            }
            let sql = page(&self.connection);
            let mut sent = SentPage { after: after.max(first - 1), ..SentPage::default() };
            let mut bytes = 0;
            for _turn in 0..TURNS {
                let rows = self.stored(&sql, (integer(sent.after), integer(LOOK)))?;
                let at_the_end = (rows.len() as u64) < LOOK;
                for row in rows {
                    if row.number() > up_to {
                        return Ok(SentPage { more: false, ..sent });
                    }
                    sent.after = row.number();
                    if number(row.machine_seq) <= known.place(MachineId::from_bytes(row.machine)) {
                        continue;
                    }
                    bytes += row.payload.len() + row.person.len() + row.note.as_ref().map_or(0, String::len);
                    sent.facts.push(SentFact::of(row));
                    if bytes >= MOST_BYTES {
                        return Ok(SentPage { more: sent.after < up_to, ..sent });
                    }
                }
                if at_the_end {
                    return Ok(SentPage { more: false, ..sent });
                }
                if !sent.facts.is_empty() {
                    break;
                }
            }
            Ok(SentPage { more: sent.after < up_to, ..sent })
        })
    }

    /// Takes over what comes from another lab, file by file and fact by fact,
    /// all or nothing. What is here already is passed over. Files come before
    /// the facts that speak about them.
    ///
    /// # Errors
    ///
    /// What the source of it says; as [`Store::merge_from`].
    pub fn take_over(
        &mut self,
        mut next: impl FnMut() -> Result<Option<Arrival>, StoreError>,
    ) -> Result<Merged, StoreError> {
        let after = self.last_number()?;
        let mut merged = Merged { after, ..Merged::default() };
        self.in_one_transaction(|writer| {
            let mut batch = Vec::with_capacity(BATCH);
            loop {
                let arrived = next()?;
                let last = arrived.is_none();
                match arrived {
                    Some(Arrival::File(bytes)) => {
                        kept::keep(writer.connection, &bytes)?;
                        merged.files += 1;
                    }
                    Some(Arrival::Fact(sent)) => batch.push((sent.fact()?, sent)),
                    None => {}
                }
                if !last && batch.len() < BATCH {
                    continue;
                }
                writer.foresee(batch.iter().map(|(fact, _)| fact))?;
                for (fact, sent) in batch.drain(..) {
                    let place = Some((sent.place, &sent.hash));
                    if writer.add_as(&fact, place, Some(&sent.payload))? > after {
                        *merged.taken.entry(fact.machine).or_default() += 1;
                    } else {
                        merged.known += 1;
                    }
                }
                writer.finish()?;
                if last {
                    return Ok(());
                }
            }
        })?;
        Ok(merged)
    }
}
