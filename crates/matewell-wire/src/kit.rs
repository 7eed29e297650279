//! Kits, planned work, and what waits for an item, as JSON.

use crate::{EndNameJson, EndStandingJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What was found of one piece, as a person says it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PieceAsked {
    /// Label of the piece.
    pub piece: String,
    /// `in-place`, `swapped` or `missing`.
    pub place: String,
    /// Whether clean caps were on; left out when nobody looked.
    #[serde(default)]
    pub capped: Option<bool>,
}

/// Something that waits for an item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WaitJson {
    /// `mated`, `reserved` or `kit`.
    pub what: String,
    /// In words.
    pub text: String,
    /// When planned work begins.
    pub from: Option<String>,
    /// When it ends.
    pub until: Option<String>,
}

/// Planned work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ReservationJson {
    /// The fact; a correction of it calls the work off.
    pub fact: String,
    /// Label of the item or kit that is wanted.
    pub tag: String,
    /// What for.
    pub work: String,
    /// When it begins.
    pub from: String,
    /// When it ends.
    pub until: String,
    /// Who wants it.
    pub person: String,
}

/// A piece of a kit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct KitPieceJson {
    /// Id of the item.
    pub id: String,
    /// Its label.
    pub tag: String,
    /// What it is.
    pub kind: String,
    /// In the lab's words.
    pub description: String,
    /// What the last check found: `in-place`, `swapped`, `missing`; null: nothing was said.
    pub place: Option<String>,
    /// Whether clean caps were on then, if somebody looked.
    pub capped: Option<bool>,
    /// What happened to it after that check, in words.
    pub since_then: Vec<String>,
    /// Its ends with their standing.
    pub ends: Vec<EndStandingJson>,
    /// Planned work that wants this piece itself.
    pub reserved: Vec<ReservationJson>,
}

/// A kit with its pieces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct KitJson {
    /// The moment asked about.
    pub at: String,
    /// How it stands.
    pub kit: KitRowJson,
    /// Its pieces, in the order of their places.
    pub pieces: Vec<KitPieceJson>,
    /// Planned work that wants the whole kit.
    pub reserved: Vec<ReservationJson>,
}

/// A kit as a row of a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitRowJson {
    /// Id of the kit.
    pub id: String,
    /// Its label.
    pub tag: String,
    /// In the lab's words.
    pub description: String,
    /// Usual place.
    pub location: Option<String>,
    /// How many pieces belong to it.
    pub pieces: usize,
    /// When it was looked through last.
    pub checked_at: Option<String>,
    /// By whom.
    pub checked_by: Option<String>,
    /// `whole`, `not-whole`, `due`, `not-checked` or `no-pieces`.
    pub state: String,
    /// In words.
    pub text: String,
}

/// All kits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KitListJson {
    /// The moment asked about.
    pub at: String,
    /// Those that need something first.
    pub kits: Vec<KitRowJson>,
    /// Planned work of all items, soonest first.
    pub reserved: Vec<ReservationJson>,
}

/// Something put away.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LaidJson {
    /// Label of the item.
    pub tag: String,
    /// What it is.
    pub kind: String,
    /// Where.
    pub place: String,
    /// Whether clean caps were on, if somebody said.
    pub capped: Option<bool>,
    /// When.
    pub at: String,
    /// By whom.
    pub person: String,
    /// What it is mated with, where it was used after it was put away.
    pub mated_with: Vec<EndNameJson>,
}

/// Where things were put away last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StorageJson {
    /// The moment asked about.
    pub at: String,
    /// Latest first, each item once.
    pub put_away: Vec<LaidJson>,
}
