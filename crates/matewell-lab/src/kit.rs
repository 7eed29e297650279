//! Kits, what is found when one is looked through, and planned work.

use crate::{Fact, FactBody, FactId, ItemId, LabError, Moment, standing_facts};
use std::collections::{BTreeMap, BTreeSet};

/// What belongs into a kit, from then on: the whole list, in place of any
/// earlier one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitMade {
    /// The kit: an item of its own, with a label on its lid.
    pub kit: ItemId,
    /// Its pieces, in the order of their places.
    pub pieces: Vec<ItemId>,
}

/// Whether a piece was where it belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Whereabouts {
    /// In its own place in the kit.
    InPlace,
    /// In the kit, but in the place of another piece.
    Swapped,
    /// Not in the kit.
    Missing,
}

impl Whereabouts {
    /// Every value.
    pub const ALL: &'static [Self] = &[Self::InPlace, Self::Swapped, Self::Missing];

    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::InPlace => "in-place",
            Self::Swapped => "swapped",
            Self::Missing => "missing",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|p| p.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "where a piece of a kit was found",
            expected: Self::ALL.iter().map(|p| p.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }
}

/// What was found of one piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PieceFound {
    /// The piece.
    pub piece: ItemId,
    /// Where it was.
    pub place: Whereabouts,
    /// Whether clean caps were on, if somebody looked.
    pub capped: Option<bool>,
}

/// A kit was looked through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitChecked {
    /// The kit.
    pub kit: ItemId,
    /// What was found of each piece.
    pub found: Vec<PieceFound>,
}

/// An item, or a kit with all its pieces, is wanted for planned work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reserved {
    /// The item or kit.
    pub item: ItemId,
    /// What for, in the lab's words.
    pub work: String,
    /// When the work begins.
    pub from: Moment,
    /// When it ends.
    pub until: Moment,
}

/// Planned work on record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reservation {
    /// The fact.
    pub fact: FactId,
    /// Who wants it.
    pub person: String,
    /// What for and when.
    pub reserved: Reserved,
}

/// A kit looked through, on record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitCheckOnRecord {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// Who looked.
    pub person: String,
    /// What was found of each piece named.
    pub found: BTreeMap<ItemId, PieceFound>,
}

/// A kit at a moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitRecord {
    /// Its pieces, in the order of their places; empty before anybody said.
    pub pieces: Vec<ItemId>,
    /// Since when that list holds.
    pub made_at: Option<Moment>,
    /// The last time somebody looked through it, if ever.
    pub last_check: Option<KitCheckOnRecord>,
}

impl KitRecord {
    /// Pieces that the last check did not find in place, and those it said
    /// nothing about; every piece when nobody looked yet.
    #[must_use]
    pub fn not_in_place(&self) -> Vec<ItemId> {
        let found = self.last_check.as_ref().map(|check| &check.found);
        let is_there = |piece: &ItemId| {
            found.and_then(|found| found.get(piece)).is_some_and(|f| f.place == Whereabouts::InPlace)
        };
        self.pieces.iter().copied().filter(|piece| !is_there(piece)).collect()
    }
}

/// Folds the facts about one kit.
#[must_use]
pub fn kit_record(kit: ItemId, facts: &[Fact], at: Moment) -> KitRecord {
    let mut record = KitRecord { pieces: Vec::new(), made_at: None, last_check: None };
    for fact in standing_facts(facts, at) {
        match fact.body {
            FactBody::KitMade(made) if made.kit == kit => {
                record.pieces = made.pieces;
                record.made_at = Some(fact.happened_at);
            }
            FactBody::KitChecked(checked) if checked.kit == kit => {
                record.last_check = Some(KitCheckOnRecord {
                    fact: fact.id,
                    at: fact.happened_at,
                    person: fact.person,
                    found: checked.found.into_iter().map(|f| (f.piece, f)).collect(),
                });
            }
            _ => {}
        }
    }
    record
}

/// Planned work for an item that has not ended at a moment, soonest first, out
/// of the facts about it. Work that was called off was voided by a correction.
#[must_use]
pub fn reservations(item: ItemId, facts: &[Fact], at: Moment) -> Vec<Reservation> {
    let mut found = all_reservations(facts, at);
    found.retain(|reservation| reservation.reserved.item == item);
    found
}

/// As [`reservations`], for whatever items the facts are about.
#[must_use]
pub fn all_reservations(facts: &[Fact], at: Moment) -> Vec<Reservation> {
    let mut found: Vec<Reservation> = standing_facts(facts, at)
        .into_iter()
        .filter_map(|fact| match fact.body {
            FactBody::Reserved(reserved) if reserved.until > at => {
                Some(Reservation { fact: fact.id, person: fact.person, reserved })
            }
            _ => None,
        })
        .collect();
    found.sort_by_key(|r| (r.reserved.from, r.fact));
    found
}

/// Kits that facts about a piece name; whether it still belongs to them says
/// their own record.
#[must_use]
pub fn kits_named(facts: &[Fact], at: Moment) -> BTreeSet<ItemId> {
    standing_facts(facts, at)
        .into_iter()
        .filter_map(|fact| match fact.body {
            FactBody::KitMade(made) => Some(made.kit),
            _ => None,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Corrected, Correction, FactSource, MachineId, Resolution};

    fn item(n: u8) -> ItemId {
        ItemId::from_bytes([n; 16])
    }

    fn at(second: i64) -> Moment {
        Moment::from_microseconds(second * 1_000_000)
    }

    fn fact(n: u8, second: i64, body: FactBody) -> Fact {
        Fact {
            id: FactId::from_bytes([n; 16]),
            machine: MachineId::from_bytes([1; 16]),
            happened_at: at(second),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: at(second),
            person: "Wren Ashdown".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        }
    }

    const KIT: u8 = 9;

    fn made(n: u8, second: i64, pieces: &[u8]) -> Fact {
        let pieces = pieces.iter().map(|n| item(*n)).collect();
        fact(n, second, FactBody::KitMade(KitMade { kit: item(KIT), pieces }))
    }

    fn checked(n: u8, second: i64, found: &[(u8, Whereabouts)]) -> Fact {
        let found =
            found.iter().map(|(n, place)| PieceFound { piece: item(*n), place: *place, capped: Some(true) });
        fact(n, second, FactBody::KitChecked(KitChecked { kit: item(KIT), found: found.collect() }))
    }

    #[test]
    fn a_piece_nobody_spoke_of_is_not_in_place() {
        let facts = [
            made(1, 10, &[1, 2, 3]),
            checked(2, 20, &[(1, Whereabouts::InPlace), (2, Whereabouts::Swapped)]),
        ];
        let record = kit_record(item(KIT), &facts, at(30));
        assert_eq!(record.not_in_place(), [item(2), item(3)]);
        assert_eq!(kit_record(item(KIT), &facts, at(15)).not_in_place(), [item(1), item(2), item(3)]);
    }

    #[test]
    fn a_later_list_stands_in_place_of_the_earlier() {
        let facts = [made(1, 10, &[1, 2]), made(2, 20, &[2, 4])];
        assert_eq!(kit_record(item(KIT), &facts, at(30)).pieces, [item(2), item(4)]);
        assert_eq!(kit_record(item(KIT), &facts, at(15)).pieces, [item(1), item(2)]);
    }

    #[test]
    fn work_that_ended_or_was_called_off_waits_for_nothing() {
        let wants = |from, until| Reserved {
            item: item(1),
            work: "receiver".to_owned(),
            from: at(from),
            until: at(until),
        };
        let voided = Corrected {
            fact: FactId::from_bytes([3; 16]),
            correction: Correction::Void,
            because: "moved to June".to_owned(),
        };
        let facts = [
            fact(1, 5, FactBody::Reserved(wants(60, 90))),
            fact(2, 5, FactBody::Reserved(wants(10, 20))),
            fact(3, 5, FactBody::Reserved(wants(40, 50))),
            fact(4, 6, FactBody::Corrected(voided)),
        ];
        let open = |second| {
            let found = reservations(item(1), &facts, at(second));
            found.into_iter().map(|r| r.fact.bytes()[0]).collect::<Vec<_>>()
        };
        assert_eq!(open(7), [2, 1]);
        assert_eq!(open(20), [1], "until is past");
        assert!(open(90).is_empty());
        assert!(reservations(item(2), &facts, at(7)).is_empty());
    }
}
