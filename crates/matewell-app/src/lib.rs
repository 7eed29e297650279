//! What can a person do?
//!
//! Use cases: load facts, ask the pure core, write facts. The command line and
//! HTTP are thin doors in front of the same methods of [`Workshop`]. The time
//! comes in as an argument.

mod error;
mod exposure;
mod judge;
mod sentence;
mod workshop;
mod write;

pub use error::AppError;
pub use workshop::{Ids, Said, UuidV7, Workshop};
pub use write::{MateOrder, ToolFinding, WrittenJson};
