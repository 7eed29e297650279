//! Which row is the header?

use crate::{
    mapping::Kind,
    phrases::best_phrase,
    table::{Row, Table, Value},
};

/// Rows looked at from the top.
const LOOK_AT: usize = 40;

/// The number of the row with the most words of a connector record, if one has at least two.
///
/// Titles, addresses and blank lines above it are passed over.
pub fn guess_header_row(table: &Table) -> Option<u32> {
    let mut best: Option<(usize, u32)> = None;
    for row in table.rows.iter().take(LOOK_AT) {
        let score = header_score(row);
        if score >= 2 && best.is_none_or(|(known, _)| score > known) {
            best = Some((score, row.number));
        }
    }
    best.map(|(_, row)| row)
}

/// Texts of the row that name a field of any kind of record, less the cells that
/// no header has (numbers, dates).
fn header_score(row: &Row) -> usize {
    let mut known = 0_usize;
    let mut strange = 0_usize;
    for cell in &row.cells {
        match &cell.value {
            Value::Empty => {}
            Value::Text(text) => {
                // A sentence is a title or a note, not a header.
                let is_short = text.chars().count() <= 60;
                if is_short && Kind::ALL.iter().any(|kind| best_phrase(text, *kind).is_some()) {
                    known += 1;
                }
            }
            _ => strange += 1,
        }
    }
    known.saturating_sub(strange)
}
