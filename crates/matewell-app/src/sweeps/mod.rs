//! Questions about sweeps, and sweeps as evidence.
//!
//! A sweep is given as a file or by the id of its fact; every question takes
//! both. What asks about files alone needs no lab and is a function here. What was measured judges nothing by itself: a verdict on joints is
//! information in the history of the ends it names, and no standing reads it.

mod add;
mod baseline;
mod check;
mod compare;
mod given;
mod layout;
mod picture;
mod quantities;
mod reconnect;
mod time;
mod trend;
mod typed;

pub use check::{check, mask, read, trace};
pub use compare::CompareOrder;
pub use given::{SweepFile, SweepGiven};
pub use layout::ITEM_COLUMNS;
pub use matewell_demo::SWEPT_LAYOUT as DEMO_LAYOUT;
pub use matewell_store::MOST_FILE_BYTES as MOST_SWEEP_BYTES;
pub use reconnect::{cable, reconnect};
pub use time::time;
