//! Keeps facts: the append-only log, its hash chain, and the indexes that
//! make questions quick.
//!
//! One file of SQLite per machine, or one database of PostgreSQL for several.
//! Facts are added and never changed; each is
//! linked to the one before it by a hash, one chain per machine that wrote.
//! Everything else in the file can be drawn from the facts again.
//!
//! This room judges nothing and has no clock: times and ids come in with the
//! facts.

#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadMe;

mod append;
mod back_up;
mod case;
mod chain;
mod contact;
mod copy;
mod dossier;
mod engine;
mod error;
mod find;
mod kept;
mod list;
mod listen;
mod mapping;
mod mark;
mod merge;
mod open;
mod pending;
mod people;
mod people_copy;
mod place;
mod position;
mod row;
mod schema;
mod sent;
mod story;
mod tool_story;
mod touch;
mod verify;
mod webhook;
mod write;

pub use append::{KeyedWrite, LinkedFact, WrittenResponse};
pub use back_up::VerifiedBackUp;
pub use chain::{Hash, hash_from_text, hash_text};
pub use contact::Stretch;
pub use dossier::{BehindFact, link_holds};
pub use engine::DatabaseError;
pub use error::StoreError;
pub use find::{NumberedFact, Touch, TouchedBy};
pub use kept::{BrokenFile, MOST_FILE_BYTES, sha256_of};
pub use list::{Counts, EndHit, ItemHit};
pub use listen::{Change, Listener};
pub use merge::Merged;
pub use open::Store;
pub use people::{AuthorisationRow, CredentialKind, CredentialRow, PersonRow, RightChange};
pub use place::Place;
pub use position::{LogPosition, Replayed};
pub use sent::{Arrival, ChainEnds, SentFact, SentPage, file_of};
pub use story::EndStory;
pub use tool_story::ToolStory;
pub use verify::{Broken, BrokenLink, Verification};
pub use webhook::WebhookRow;
