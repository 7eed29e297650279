//! What touched what, in which order, and what is at risk?

mod error;
mod event;
mod forward;
mod pass;

pub use error::ContactError;
pub use event::{DAY, EndIndex, Event, EventKind, History, Resolution, TaintKind, TaintSet};
pub use forward::{Exposure, Interval, Source, Step, forward};
