//! What can a person do?
//!
//! Use cases: load facts, ask the pure core, write facts. The command line and
//! HTTP are thin doors in front of the same methods of [`Workshop`]. The time
//! comes in as an argument.

mod error;
mod export;
mod gauging;
mod house;
mod import;
mod judge;
pub mod physics;
mod sentence;
mod tools;
mod validation;
mod workshop;
mod write;

pub use error::AppError;
pub use house::{DEMO_SHEETS, LoggedMate, VerifyJson};
pub use import::{ImportOrder, ImportProblemJson, ImportQuestionJson, ImportReportJson};
pub use tools::ToolCheckedJson;
pub use validation::{ValidationJson, ValidationRowJson, validation};
pub use workshop::{Ids, Said, UuidV7, Workshop, sheets_beside};
pub use write::{MateOrder, ToolFinding, WrittenJson};
