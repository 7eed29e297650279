//! All message texts of this room.

use crate::engine::DatabaseError;
use matewell_lab::{EndId, FactId, ItemId, MachineId};
use matewell_record::RecordError;
use std::path::PathBuf;

/// Why the log could not be opened, read or added to.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// No file where one was expected.
    #[error("expected a log at {}, found no file", path.display())]
    NoFile {
        /// Where.
        path: PathBuf,
    },
    /// A file where none was expected.
    #[error("expected no file at {}, found one", path.display())]
    FileExists {
        /// Where.
        path: PathBuf,
    },
    /// Some other database.
    #[error("expected the log of this program (application id {expected}), found application id {found}")]
    NotALog {
        /// The mark of this program.
        expected: i64,
        /// The mark found.
        found: i64,
    },
    /// A database of a server without a log.
    #[error("expected a log in {place}, found none")]
    NoLog {
        /// Where.
        place: String,
    },
    /// No replica where one was expected.
    #[error("expected a replica that follows another server, found {place}")]
    NotAReplica {
        /// Where.
        place: String,
    },
    /// A database of a server that holds a log already.
    #[error("expected a database without a log, found one")]
    LogExists,
    /// A database of a server that is used for something else.
    #[error("expected an empty database, found the table {found}")]
    OtherTables {
        /// One of its tables.
        found: String,
    },
    /// Written by a newer program.
    #[error(
        "expected a schema of version {known} or less, found version {found}: written by a newer program"
    )]
    SchemaTooNew {
        /// The newest version known here.
        known: i64,
        /// The version of the file.
        found: i64,
    },
    /// Not brought up to date, and only to be read.
    #[error(
        "expected a schema of version {expected}, found version {found}: open the log once with this program where it may write"
    )]
    SchemaTooOld {
        /// The newest version.
        expected: i64,
        /// The version found.
        found: i64,
    },
    /// The schema was laid by other text than this program has.
    #[error("expected migration {version} to have the SHA-256 {expected}, found {found}")]
    SchemaChanged {
        /// Which migration.
        version: i64,
        /// Hash of the text in this program.
        expected: String,
        /// Hash in the file.
        found: String,
    },
    /// A new schema that does not fit the rows that are there.
    #[error(
        "expected migration {version} to leave every reference whole, found a broken one; the file is as it was"
    )]
    MigrationBroken {
        /// The migration.
        version: i64,
    },
    /// A file that a fact speaks about and nobody kept.
    #[error(
        "expected the file of {bytes} bytes with the SHA-256 {sha256} to be kept with fact {fact}, found none"
    )]
    NoKeptFile {
        /// The fact.
        fact: FactId,
        /// Its hash.
        sha256: String,
        /// Its length.
        bytes: u64,
    },
    /// A file that is too long, or has nothing in it.
    #[error("expected a file of 1 to {most} bytes, found {found}")]
    FileSize {
        /// The most bytes.
        most: usize,
        /// The bytes given.
        found: usize,
    },
    /// A log without the machine that writes it.
    #[error("expected the log to name the machine that writes it, found none")]
    NoMachine,
    /// An end nobody registered.
    #[error("expected fact {fact} to name ends on record, found end {end}")]
    UnknownEnd {
        /// The end.
        end: EndId,
        /// The fact that names it.
        fact: FactId,
    },
    /// An item nobody registered.
    #[error("expected fact {fact} to name items on record, found item {item}")]
    UnknownItem {
        /// The item.
        item: ItemId,
        /// The fact that names it.
        fact: FactId,
    },
    /// A fact nobody entered.
    #[error("expected fact {fact} to speak about a fact on record, found {earlier}")]
    UnknownFact {
        /// The fact spoken about.
        earlier: FactId,
        /// The fact that names it.
        fact: FactId,
    },
    /// The same item twice.
    #[error("expected fact {fact} to register a new item, found item {item} already on record")]
    ItemKnown {
        /// The item.
        item: ItemId,
        /// The fact.
        fact: FactId,
    },
    /// An end that belongs to another item.
    #[error("expected fact {fact} to register ends of its own item, found end {end} of another")]
    EndElsewhere {
        /// The end.
        end: EndId,
        /// The fact.
        fact: FactId,
    },
    /// The same id with other content.
    #[error(
        "expected a new id or the same content again, found other content for fact {fact}, which is on record"
    )]
    IdTaken {
        /// The id.
        fact: FactId,
    },
    /// A fact of another machine without its place in that machine's chain.
    #[error(
        "expected a fact of machine {expected}, found one of machine {found}: facts of other machines are taken over with their hashes"
    )]
    ForeignMachine {
        /// The machine of this log.
        expected: MachineId,
        /// The machine of the fact.
        found: MachineId,
    },
    /// A place in a chain that does not follow.
    #[error("expected fact {expected} of the chain of machine {machine}, found fact {found}")]
    ChainGap {
        /// Whose chain.
        machine: MachineId,
        /// The place that comes next.
        expected: u64,
        /// The place given.
        found: u64,
    },
    /// One machine that went on in two places.
    #[error("expected one chain of machine {machine}, found two that differ at fact {place} or before")]
    TwoChains {
        /// Whose chain.
        machine: MachineId,
        /// A place at which they differ.
        place: u64,
    },
    /// A fact to be taken over that does not say where it belongs.
    #[error("expected fact {fact} to have a link with a place and 64 hexadecimal digits, found none")]
    NoLink {
        /// The fact.
        fact: FactId,
    },
    /// A hash that does not fit.
    #[error("expected fact {fact} to have the SHA-256 {expected}, found {found}")]
    HashDiffers {
        /// The fact.
        fact: FactId,
        /// Recomputed here.
        expected: String,
        /// As given.
        found: String,
    },
    /// The same key for another request.
    #[error("expected the request first sent with the key \"{key}\", found another request")]
    KeyTaken {
        /// The key.
        key: String,
    },
    /// A character that not every database can keep.
    #[error("expected {field} without the character U+0000 in fact {fact}")]
    NulCharacter {
        /// Which field.
        field: &'static str,
        /// The fact.
        fact: FactId,
    },
    /// A stored row that cannot be read.
    #[error("expected fact number {seq} to be readable: {source}")]
    Unreadable {
        /// Its number in this log.
        seq: u64,
        /// What is wrong.
        source: RecordError,
    },
    /// A fact that cannot be written down.
    #[error("expected fact {fact} to be writable: {source}")]
    Unwritable {
        /// The fact.
        fact: FactId,
        /// What is wrong.
        source: RecordError,
    },
    /// A copy that does not check.
    #[error("expected the copy to hold {expected} facts in an unbroken chain, found {found}")]
    CopyBroken {
        /// Facts in the original.
        expected: u64,
        /// What the check of the copy said.
        found: String,
    },
    /// A copy that the disk did not take.
    #[error("expected the copy to be kept as {}: {message}", path.display())]
    NotKept {
        /// Where.
        path: PathBuf,
        /// What the system said.
        message: String,
    },
    /// What came from another lab and was put aside cannot be read again.
    #[error("expected to read again what came from the other lab: {message}")]
    PutAside {
        /// What is wrong.
        message: String,
    },
    /// The database said no.
    #[error("expected the database to answer: {0}")]
    Database(#[from] DatabaseError),
}
