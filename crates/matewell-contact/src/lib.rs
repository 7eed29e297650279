//! What touched what, in which order, and what is at risk?

mod backward;
mod error;
mod event;
mod forward;
mod mirror;
mod pass;
mod source;

pub use backward::{Candidate, Common, Stretch, backward, backward_batched, common_source};
pub use error::{BatchError, ContactError};
pub use event::{DAY, EndIndex, Event, EventKind, History, Resolution, TaintKind, TaintSet};
pub use forward::{Exposure, Interval, Source, Step, forward};
pub use source::{Ask, Batched, ContactSource, forward_batched};
