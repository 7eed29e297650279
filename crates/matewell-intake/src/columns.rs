//! The columns of a saved mapping, found again in another file.

use crate::{
    mapping::Mapping,
    table::{Table, squeeze},
};
use std::collections::BTreeSet;

/// Rows looked at from the top for the header.
const LOOK_AT: usize = 40;

/// Where the columns of a mapping stand in a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundColumns {
    /// The header row of this table, if any row holds at least one header of the mapping.
    pub header_row: Option<u32>,
    /// The headers of this table.
    pub headers: Vec<String>,
    /// For each column of the mapping the column of the table, from 0.
    pub at: Vec<Option<usize>>,
    /// Columns of the table that the mapping does not know.
    pub strange: Vec<usize>,
}

/// Headers are the same when their letters are; case and white space do not count.
fn same(header: &str) -> String {
    squeeze(header).to_lowercase()
}

impl Mapping {
    /// Finds the columns by their headers; the row of the header may have moved.
    pub fn find_columns(&self, table: &Table) -> FoundColumns {
        let mut best: Option<(usize, FoundColumns)> = None;
        let early = table.rows.iter().take(LOOK_AT).map(|row| row.number);
        for row in [self.header_row].into_iter().chain(table.header_row).chain(early) {
            let found = self.find_at(table, row);
            let hits = found.at.iter().flatten().count();
            if hits > 0 && best.as_ref().is_none_or(|(known, _)| hits > *known) {
                best = Some((hits, found));
            }
        }
        best.map_or_else(
            || FoundColumns {
                header_row: None,
                headers: Vec::new(),
                at: vec![None; self.columns.len()],
                strange: Vec::new(),
            },
            |(_, found)| found,
        )
    }

    fn find_at(&self, table: &Table, row: u32) -> FoundColumns {
        let headers = table.headers(row);
        let mut free: BTreeSet<usize> = (0..headers.len()).collect();
        let at = self
            .columns
            .iter()
            .map(|column| {
                let wanted = same(&column.header);
                let hit =
                    free.iter().copied().find(|at| headers.get(*at).is_some_and(|h| same(h) == wanted))?;
                free.remove(&hit);
                Some(hit)
            })
            .collect();
        FoundColumns { header_row: Some(row), headers, at, strange: free.into_iter().collect() }
    }
}
