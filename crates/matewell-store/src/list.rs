//! Finding ends and items by what people call them.

use crate::{
    Store, StoreError,
    engine::{Answer, DatabaseError, Params, Row},
    row::{folded, integer, number},
};
use matewell_lab::{EndId, ItemId, ItemKind, Sex};

/// An end found by its tag or in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndHit {
    /// The end.
    pub end: EndId,
    /// Its item.
    pub item: ItemId,
    /// What the label of the end says.
    pub end_tag: String,
    /// What the label of the item says.
    pub item_tag: String,
    /// What the item is.
    pub item_kind: ItemKind,
    /// Sheet key of the interface.
    pub interface: String,
    /// Which half.
    pub sex: Sex,
}

/// An item found by its tag or in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ItemHit {
    /// The item.
    pub item: ItemId,
    /// What its label says.
    pub tag: String,
    /// What it is.
    pub kind: ItemKind,
    /// How many ends it has.
    pub ends: u64,
}

/// How much is on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// Facts.
    pub facts: u64,
    /// Items that stand.
    pub items: u64,
    /// Ends that stand.
    pub ends: u64,
    /// Machines that wrote facts, this one included.
    pub machines: u64,
}

const END_COLUMNS: &str = "e.id, i.id, e.tag, i.tag, i.kind, e.interface, e.sex";
const END_FROM: &str = "connector_end e JOIN item i ON i.no = e.item_no";
/// The same, items outside and in the order of their labels.
const ITEM_FIRST: &str = "item i CROSS JOIN connector_end e ON e.item_no = i.no";
const FILTERED: &str = "(instr(e.tag_folded, ?1) > 0 OR instr(i.tag_folded, ?1) > 0 \
     OR instr(lower(e.interface), ?1) > 0)";
const ITEM_COLUMNS: &str = "i.id, i.tag, i.kind, \
     (SELECT count(*) FROM connector_end e WHERE e.item_no = i.no AND e.struck = 0)";

impl Store {
    /// Ends whose own label or whose item's label says `text`, blanks around
    /// it and case aside. Several, when a label was given out twice.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn ends_by_tag(&self, text: &str) -> Result<Vec<EndHit>, StoreError> {
        self.end_hits(
            &format!(
                "SELECT {END_COLUMNS} FROM {END_FROM} WHERE e.struck = 0 AND e.no IN (
                     SELECT no FROM connector_end WHERE tag_folded = ?1
                     UNION
                     SELECT t.no FROM item j JOIN connector_end t ON t.item_no = j.no WHERE j.tag_folded = ?1
                 ) ORDER BY i.tag_folded, i.no, e.no"
            ),
            [folded(text)],
        )
    }

    /// An end by its id.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn end(&self, end: EndId) -> Result<Option<EndHit>, StoreError> {
        let sql = format!("SELECT {END_COLUMNS} FROM {END_FROM} WHERE e.id = ?1");
        Ok(self.end_hits(&sql, [end.bytes()])?.pop())
    }

    /// Items whose label says `text`, blanks around it and case aside.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn items_by_tag(&self, text: &str) -> Result<Vec<ItemHit>, StoreError> {
        self.item_hits(
            &format!(
                "SELECT {ITEM_COLUMNS} FROM item i WHERE i.struck = 0 AND i.tag_folded = ?1 ORDER BY i.no"
            ),
            [folded(text)],
        )
    }

    /// The first of [`Store::items_by_tag`].
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn item_by_tag(&self, text: &str) -> Result<Option<ItemHit>, StoreError> {
        Ok(self.items_by_tag(text)?.into_iter().next())
    }

    /// An item by its id.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn item(&self, item: ItemId) -> Result<Option<ItemHit>, StoreError> {
        let sql = format!("SELECT {ITEM_COLUMNS} FROM item i WHERE i.id = ?1");
        Ok(self.item_hits(&sql, [item.bytes()])?.pop())
    }

    /// Ends with `filter` somewhere in their label, their item's label or
    /// their interface, in the order of the labels. An empty filter lists all.
    /// With `after` only what comes after that end, whatever was struck or
    /// added meanwhile: a walk from page to page costs the same at its end as
    /// at its start.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn list_ends(
        &self,
        filter: &str,
        after: Option<EndId>,
        offset: u64,
        limit: u64,
    ) -> Result<Vec<EndHit>, StoreError> {
        // CROSS JOIN keeps the index of the labels outside: rows come in order
        // and no page is sorted. Without a filter no row is compared.
        let wanted = if filter.trim().is_empty() { "?1 = ''" } else { FILTERED };
        let filter = folded(filter);
        let Some(after) = after else {
            return self.end_hits(
                &format!(
                    "SELECT {END_COLUMNS} FROM {ITEM_FIRST} WHERE e.struck = 0 AND {wanted}
                     ORDER BY i.tag_folded, i.no, e.no LIMIT ?3 OFFSET ?2"
                ),
                (filter, integer(offset), integer(limit)),
            );
        };
        self.end_hits(
            &format!(
                "SELECT {END_COLUMNS} FROM {ITEM_FIRST} WHERE e.struck = 0 AND {wanted}
                     AND (i.tag_folded, i.no, e.no) > (
                         SELECT j.tag_folded, j.no, t.no FROM connector_end t JOIN item j ON j.no = t.item_no
                         WHERE t.id = ?4)
                 ORDER BY i.tag_folded, i.no, e.no LIMIT ?3 OFFSET ?2"
            ),
            (filter, integer(offset), integer(limit), after.bytes()),
        )
    }

    /// How many ends [`Store::list_ends`] would list without a limit.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn count_ends(&self, filter: &str) -> Result<u64, StoreError> {
        if filter.trim().is_empty() {
            return self.count("SELECT count(*) FROM connector_end WHERE struck = 0", ());
        }
        self.count(
            &format!("SELECT count(*) FROM {END_FROM} WHERE e.struck = 0 AND {FILTERED}"),
            [folded(filter)],
        )
    }

    /// Items of a kind, or all, in the order of their labels.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn list_items(&self, kind: Option<ItemKind>) -> Result<Vec<ItemHit>, StoreError> {
        // Two statements: one with `OR` would read every item to find a few
        // wrenches, and every mate check asks for the wrenches.
        match kind {
            None => self.item_hits(
                &format!(
                    "SELECT {ITEM_COLUMNS} FROM item i WHERE i.struck = 0 AND ?1 = '' ORDER BY i.tag_folded, i.no"
                ),
                [""],
            ),
            Some(kind) => self.item_hits(
                &format!(
                    "SELECT {ITEM_COLUMNS} FROM item i WHERE i.kind = ?1 AND i.struck = 0 ORDER BY i.tag_folded, i.no"
                ),
                [kind.word()],
            ),
        }
    }

    /// The ends of an item, in the order in which they were registered.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn ends_of_item(&self, item: ItemId) -> Result<Vec<EndHit>, StoreError> {
        let sql =
            format!("SELECT {END_COLUMNS} FROM {END_FROM} WHERE i.id = ?1 AND e.struck = 0 ORDER BY e.no");
        self.end_hits(&sql, [item.bytes()])
    }

    /// How much is on record.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn counts(&self) -> Result<Counts, StoreError> {
        Ok(Counts {
            facts: self.count("SELECT coalesce(max(seq), 0) FROM fact", ())?,
            items: self.count("SELECT count(*) FROM item WHERE struck = 0", ())?,
            ends: self.count("SELECT count(*) FROM connector_end WHERE struck = 0", ())?,
            machines: self.count("SELECT count(*) FROM machine", ())?,
        })
    }

    pub(crate) fn count(&self, sql: &str, parameters: impl Params) -> Result<u64, StoreError> {
        Ok(self.connection.only(sql, parameters).map(number)?)
    }

    fn end_hits(&self, sql: &str, parameters: impl Params) -> Result<Vec<EndHit>, StoreError> {
        Ok(self.connection.all(sql, parameters, end_hit)?)
    }

    fn item_hits(&self, sql: &str, parameters: impl Params) -> Result<Vec<ItemHit>, StoreError> {
        Ok(self.connection.all(sql, parameters, item_hit)?)
    }
}

fn end_hit(row: &Row<'_>) -> Answer<EndHit> {
    Ok(EndHit {
        end: EndId::from_bytes(row.get(0)?),
        item: ItemId::from_bytes(row.get(1)?),
        end_tag: row.get(2)?,
        item_tag: row.get(3)?,
        item_kind: word(row, 4, ItemKind::from_word)?,
        interface: row.get(5)?,
        sex: word(row, 6, Sex::from_word)?,
    })
}

fn item_hit(row: &Row<'_>) -> Answer<ItemHit> {
    Ok(ItemHit {
        item: ItemId::from_bytes(row.get(0)?),
        tag: row.get(1)?,
        kind: word(row, 2, ItemKind::from_word)?,
        ends: number(row.get(3)?),
    })
}

fn word<T>(
    row: &Row<'_>,
    column: usize,
    read: impl Fn(&str) -> Result<T, matewell_lab::LabError>,
) -> Answer<T> {
    let text: String = row.get(column)?;
    read(&text).map_err(|_| DatabaseError::Cell { column, expected: "a word of this program" })
}
