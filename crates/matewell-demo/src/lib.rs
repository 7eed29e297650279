//! The invented lab: the Larkmoor Receiver Workshop, written by a deterministic generator.
//!
//! Ninety days of a small receiver workshop: what it owns, what was mated,
//! looked at, cleaned and gauged, and a handful of incidents that the rest of
//! Matewell is shown and tested on. Nothing here is real: no person, no maker,
//! no measurement.
//!
//! Pure: the end of the ninety days and the seed come in as arguments, random
//! numbers come from a Pcg64 and are used in whole numbers only, so the same
//! arguments give the same bytes on every machine. The sweeps need sines: they
//! are rounded, and differ at most in a last printed digit.

mod draw;
mod fit;
mod log;
mod roster;
mod routine;
mod script;
mod spreadsheets;
mod story;
mod sweeps;
mod workshop;

pub use spreadsheets::{gaugings_csv, mates_csv, register_csv};
pub use story::{
    GaugeOff, Kit, Named, NamedEnd, NamedItem, OddReceiver, RepairedCable, SeventyFiveOhm, SingleCases,
    Story, Touch, WrenchOff,
};

pub use sweeps::{
    CHANGED_BY_PH, CHANGED_JOINT, DemoSweep, SWEPT_CHAIN, SWEPT_LAYOUT, SweepError, demo_sweeps,
};

use matewell_lab::{Fact, Moment};

/// Days from the first to the last day of the demo.
pub const DAYS: i64 = 90;

/// Everything that happened, and where to find the incidents in it.
#[derive(Debug, Clone, PartialEq)]
pub struct DemoLab {
    /// All facts, in the order in which they were recorded.
    pub facts: Vec<Fact>,
    /// The incidents by name, so that nobody has to search for them.
    pub story: Story,
}

/// Writes the Larkmoor Receiver Workshop.
///
/// - `ends_at`: the moment up to which the lab is told. The last facts are of
///   the day before it (UTC), the first of ninety days before that day; one
///   older gauging is imported from paper.
/// - `seed`: chooses the ordinary life of the lab. The incidents are the same
///   for every seed; only their days move by one when they would fall on a
///   Saturday or a Sunday.
///
/// Meant for moments from 1971 to 9999. Outside, times saturate and ids are
/// no longer sorted by time.
#[must_use]
pub fn demo_lab(ends_at: Moment, seed: u64) -> DemoLab {
    let mut shop = workshop::Workshop::open(ends_at, seed);
    let story = script::play(&mut shop);
    routine::fill(&mut shop);
    DemoLab { facts: shop.into_facts(), story }
}
