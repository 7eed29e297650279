//! What can a person do?
//!
//! Use cases: load facts, ask the pure core, write facts. The command line and
//! HTTP are thin doors in front of the same methods of [`Workshop`]. The time
//! comes in as an argument.

mod case;
mod drift;
mod error;
mod export;
mod gauging;
mod house;
mod import;
mod judge;
mod own_validation;
pub mod physics;
mod sentence;
pub mod studies;
pub mod sweeps;
mod tools;
mod trace;
mod validation;
mod workshop;
mod write;

pub use case::{CaseHolds, CaseOrder, EndDecision};
pub use drift::drift_picture;
pub use error::AppError;
pub use house::{DEMO_SHEETS, LoggedMate, VerifyJson};
pub use import::{ImportOrder, ImportProblemJson, ImportQuestionJson, ImportReportJson};
pub use matewell_sheets::Sheets;
pub use own_validation::{OWN_VALIDATION_BYTES, own_validation};
pub use tools::ToolCheckedJson;
pub use trace::{Supposed, SupposedAct, TraceOrder};
pub use validation::{ValidationJson, ValidationRowJson, validation};
pub use workshop::{Ids, Said, UuidV7, Workshop, sheets_beside};
pub use write::{MateOrder, WrittenJson};
