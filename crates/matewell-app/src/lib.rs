//! What can a person do?
//!
//! Use cases: load facts, ask the pure core, write facts. The command line and
//! HTTP are thin doors in front of the same methods of [`Workshop`]. The time
//! comes in as an argument.

mod calendar;
mod case;
mod clean;
mod dossier;
mod drift;
mod due;
mod error;
mod export;
mod gauging;
mod health;
mod house;
mod import;
mod import_columns;
mod item_page;
mod judge;
mod kits;
mod look;
mod merge;
mod own_validation;
mod people;
pub mod physics;
mod policy;
mod register;
mod rig;
mod sent;
mod sentence;
mod signed;
pub mod studies;
pub mod sweeps;
mod told;
mod tools;
mod trace;
mod validation;
mod webhook;
mod workshop;
mod wrenches;
mod write;

pub use case::{CaseHolds, CaseOrder, EndDecision};
pub use drift::drift_picture;
pub use error::AppError;
pub use health::{BackUpJson, HealthJson, MovedJson, ReadsJson, move_lab};
pub use house::{DEMO_SHEETS, LoggedMate, VerifyJson};
pub use import::{ImportOrder, ImportProblemJson, ImportQuestionJson, ImportReportJson};
pub use import_columns::ImportColumnJson;
pub use look::MOST_PHOTO_BYTES;
pub use matewell_sheets::Sheets;
pub use matewell_store::{Listener, LogPosition, Place};
pub use own_validation::{OWN_VALIDATION_BYTES, own_validation};
pub use people::{
    Access, Act, Authorised, LockedSignIn, Right, Role, Way, Who, by_command_line, hash_password,
    password_matches,
};
pub use sent::FarLab;
pub use signed::verify_dossier;
pub use tools::ToolCheckedJson;
pub use trace::{Supposed, SupposedAct, TraceOrder};
pub use validation::{ValidationJson, ValidationRowJson, validation};
pub use webhook::Telling;
pub use workshop::{Ids, Said, UuidV7, Workshop, lab_exists, sheets_beside};
pub use write::{MateOrder, WrittenJson};
