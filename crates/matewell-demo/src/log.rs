//! Writing facts down: times, persons, ids.

use crate::{DAYS, draw::Draw};
use matewell_lab::{
    EndId, Fact, FactBody, FactId, FactSource, ItemId, MICROSECONDS_PER_DAY, MachineId, Moment, Resolution,
};

/// Seconds since the midnight (UTC) with which the demo begins.
pub(crate) type Second = i64;

/// Seconds in a day.
pub(crate) const DAY: Second = 86_400;

/// A day and a time of day.
pub(crate) const fn at(day: i64, hour: i64, minute: i64) -> Second {
    day * DAY + hour * 3600 + minute * 60
}

/// Who writes, and by which way in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct By {
    pub(crate) person: &'static str,
    pub(crate) source: FactSource,
    /// Index of the machine: the workshop's or the screened room's.
    pub(crate) machine: usize,
}

const fn bench(person: &'static str) -> By {
    By { person, source: FactSource::Bench, machine: 0 }
}

pub(crate) const TECHNICIAN_1: By = bench("technician-1");
pub(crate) const TECHNICIAN_2: By = bench("technician-2");
pub(crate) const TECHNICIAN_3: By = bench("technician-3");
pub(crate) const ENGINEER: By = bench("engineer-1");
pub(crate) const METROLOGIST: By = bench("metrologist-1");
/// At the bench in the screened room, with its own machine.
pub(crate) const SCREENED: By = By { person: "technician-2", source: FactSource::Bench, machine: 1 };
/// The test program of the screened room.
pub(crate) const PROGRAM: By = By { person: "bench-program-1", source: FactSource::Program, machine: 1 };
/// From paper, typed in later.
pub(crate) const PAPER: By = By { person: "technician-3", source: FactSource::Import, machine: 0 };

/// All facts so far, in the order in which they were written here.
pub(crate) struct Log {
    pub(crate) draw: Draw,
    midnight: i64,
    machines: [MachineId; 2],
    facts: Vec<Fact>,
}

impl Log {
    pub(crate) fn open(ends_at: Moment, seed: u64) -> Self {
        let today = ends_at.microseconds().div_euclid(MICROSECONDS_PER_DAY);
        let midnight = today.saturating_sub(DAYS).saturating_mul(MICROSECONDS_PER_DAY);
        let mut log = Self {
            draw: Draw::new(seed),
            midnight,
            machines: [MachineId::from_bytes([0; 16]); 2],
            facts: Vec::new(),
        };
        log.machines = [(); 2].map(|()| MachineId::from_bytes(log.id(0)));
        log
    }

    /// A second of the demo as a moment.
    pub(crate) fn moment(&self, second: Second) -> Moment {
        Moment::from_microseconds(self.midnight.saturating_add(second.saturating_mul(1_000_000)))
    }

    /// The bench day for a day of the story: Saturday moves to Friday, Sunday
    /// to Monday.
    pub(crate) fn bench_day(&self, day: i64) -> i64 {
        match self.weekday(day) {
            6 => day - 1,
            0 => day + 1,
            _ => day,
        }
    }

    /// The days on which the workshop is open, from the first.
    pub(crate) fn bench_days(&self) -> Vec<i64> {
        (1..DAYS).filter(|day| self.bench_day(*day) == *day).collect()
    }

    /// 0 is Sunday. 1970-01-01 was a Thursday.
    fn weekday(&self, day: i64) -> i64 {
        let since_1970 = self.midnight.div_euclid(MICROSECONDS_PER_DAY).saturating_add(day);
        since_1970.saturating_add(4).rem_euclid(7)
    }

    pub(crate) fn item_id(&mut self, recorded: Second) -> ItemId {
        ItemId::from_bytes(self.id(recorded))
    }

    pub(crate) fn end_id(&mut self, recorded: Second) -> EndId {
        EndId::from_bytes(self.id(recorded))
    }

    /// Sixteen bytes in the shape of a UUIDv7 (RFC 9562, section 5.7): 48 bits
    /// of milliseconds, version 7, variant 10, the rest random.
    fn id(&mut self, recorded: Second) -> [u8; 16] {
        let milliseconds = self.moment(recorded).microseconds().div_euclid(1000).clamp(0, (1 << 48) - 1);
        let mut bytes = self.draw.bytes();
        let stamp = milliseconds.to_be_bytes();
        for (byte, stamped) in bytes.iter_mut().zip(stamp.iter().skip(2)) {
            *byte = *stamped;
        }
        bytes[6] = (bytes[6] & 0x0f) | 0x70;
        bytes[8] = (bytes[8] & 0x3f) | 0x80;
        bytes
    }

    /// Writes a fact down a little after it happened.
    pub(crate) fn write(&mut self, happened: Second, by: By, body: FactBody) -> FactId {
        self.write_noted(happened, by, None, body)
    }

    /// The same with a note.
    pub(crate) fn write_noted(
        &mut self,
        happened: Second,
        by: By,
        note: Option<&str>,
        body: FactBody,
    ) -> FactId {
        let recorded = match by.source {
            FactSource::Bench => happened + self.draw.between(4, 40),
            FactSource::Program => happened + 1,
            FactSource::Import => at(happened.div_euclid(DAY) + 1, 6, 30) + self.draw.between(0, 900),
        };
        self.write_at(happened, recorded, Resolution::Instant, by, note, body)
    }

    /// The same with everything given.
    pub(crate) fn write_at(
        &mut self,
        happened: Second,
        recorded: Second,
        resolution: Resolution,
        by: By,
        note: Option<&str>,
        body: FactBody,
    ) -> FactId {
        let id = FactId::from_bytes(self.id(recorded));
        let fact = Fact {
            id,
            machine: self.machines.get(by.machine).copied().unwrap_or(self.machines[0]),
            happened_at: self.moment(happened),
            resolution,
            sequence: 0,
            recorded_at: self.moment(recorded),
            person: by.person.to_owned(),
            source: by.source,
            note: note.map(str::to_owned),
            body,
        };
        self.facts.push(fact);
        id
    }

    /// All facts in the order of recording.
    pub(crate) fn into_facts(mut self) -> Vec<Fact> {
        self.facts.sort_by_key(|fact| (fact.recorded_at, fact.id));
        self.facts
    }
}
