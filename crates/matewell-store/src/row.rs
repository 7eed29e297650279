//! A row of the table `fact`, to and from a fact.

use crate::{
    StoreError,
    chain::{Hash, Hashed},
    engine::{Answer, Connection, Row},
};
use matewell_lab::{Fact, FactId, FactSource, MachineId, Moment, Resolution};
use matewell_record::{RecordError, body_from};

/// Columns of a fact in the order in which [`StoredFact::read`] reads them.
pub(crate) const COLUMNS: &str = "f.seq, f.id, m.id, f.machine_seq, f.kind, f.happened_at, f.resolution, \
     f.sequence, f.recorded_at, f.person, f.source, f.note, f.payload, f.hash";

/// Where those columns come from.
pub(crate) const FROM: &str = "fact f JOIN machine m ON m.no = f.machine_no";

/// Facts after number `?1` in the order of arrival, at most `?2`. On a server
/// the part is cut out before anything is joined to it: without statistics its
/// planner would rather join and sort all there is.
pub(crate) fn page(connection: &Connection) -> String {
    let from = connection.either(
        "fact f JOIN machine m ON m.no = f.machine_no WHERE f.seq > ?1 ORDER BY f.seq LIMIT ?2",
        "(SELECT * FROM fact WHERE seq > ?1 ORDER BY seq LIMIT ?2) f JOIN machine m ON m.no = f.machine_no \
         ORDER BY f.seq",
    );
    format!("SELECT {COLUMNS} FROM {from}")
}

/// A stored row, not yet read as a fact.
#[derive(Debug, Clone)]
pub(crate) struct StoredFact {
    pub(crate) seq: i64,
    pub(crate) id: [u8; 16],
    pub(crate) machine: [u8; 16],
    pub(crate) machine_seq: i64,
    pub(crate) kind: String,
    pub(crate) happened_at: i64,
    pub(crate) resolution: String,
    pub(crate) sequence: i64,
    pub(crate) recorded_at: i64,
    pub(crate) person: String,
    pub(crate) source: String,
    pub(crate) note: Option<String>,
    pub(crate) payload: String,
    pub(crate) hash: Hash,
}

impl StoredFact {
    pub(crate) fn read(row: &Row<'_>) -> Answer<Self> {
        Ok(Self {
            seq: row.get(0)?,
            id: row.get(1)?,
            machine: row.get(2)?,
            machine_seq: row.get(3)?,
            kind: row.get(4)?,
            happened_at: row.get(5)?,
            resolution: row.get(6)?,
            sequence: row.get(7)?,
            recorded_at: row.get(8)?,
            person: row.get(9)?,
            source: row.get(10)?,
            note: row.get(11)?,
            payload: row.get(12)?,
            hash: row.get(13)?,
        })
    }

    pub(crate) fn number(&self) -> u64 {
        number(self.seq)
    }

    pub(crate) fn hashed(&self) -> Hashed<'_> {
        Hashed {
            machine: &self.machine,
            machine_seq: self.machine_seq,
            id: &self.id,
            kind: &self.kind,
            happened_at: self.happened_at,
            resolution: &self.resolution,
            sequence: self.sequence,
            recorded_at: self.recorded_at,
            person: &self.person,
            source: &self.source,
            note: self.note.as_deref(),
            payload: &self.payload,
        }
    }

    pub(crate) fn fact(self) -> Result<Fact, StoreError> {
        let seq = self.number();
        let unreadable = |source| StoreError::Unreadable { seq, source };
        Ok(Fact {
            id: FactId::from_bytes(self.id),
            machine: MachineId::from_bytes(self.machine),
            happened_at: Moment::from_microseconds(self.happened_at),
            resolution: if self.resolution == "day" { Resolution::Day } else { Resolution::Instant },
            // The column is checked to fit; a tampered one is found by `verify`.
            sequence: u32::try_from(self.sequence).unwrap_or(u32::MAX),
            recorded_at: Moment::from_microseconds(self.recorded_at),
            source: FactSource::from_word(&self.source)
                .map_err(|error| unreadable(RecordError::from(error)))?,
            person: self.person,
            note: self.note,
            body: body_from(&self.kind, &self.payload).map_err(unreadable)?,
        })
    }
}

/// A row number as counted by people: never negative.
pub(crate) fn number(seq: i64) -> u64 {
    u64::try_from(seq).unwrap_or(0)
}

/// A number for SQLite; more than it can count means "to the end".
pub(crate) fn integer(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// The word of a resolution.
pub(crate) fn resolution_word(resolution: Resolution) -> &'static str {
    match resolution {
        Resolution::Instant => "instant",
        Resolution::Day => "day",
    }
}

/// A tag as it is looked for.
pub(crate) fn folded(tag: &str) -> String {
    tag.trim().to_lowercase()
}
