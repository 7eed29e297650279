//! What touched what, in which order, and what is at risk?

mod backward;
mod chance;
mod change;
mod error;
mod event;
mod forward;
mod game;
mod mirror;
mod pass;
pub mod published;
mod source;
mod tool;

pub use backward::{Candidate, Common, Stretch, backward, backward_batched, common_source};
pub use chance::{Chance, MOST_CASES, Method, chances};
pub use change::{Change, Difference, difference, what_if};
pub use error::{BatchError, ContactError};
pub use event::{DAY, EndIndex, Event, EventKind, History, Resolution, TaintKind, TaintSet};
pub use forward::{Exposure, Interval, Source, Step, forward};
pub use source::{Ask, Batched, ContactSource, forward_batched};
pub use tool::{ToolIndex, ToolUse, UseInDoubt, tool_uses};

#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
