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
/// Titles, addresses and blank lines above it are passed over. Of two rows of
/// which the upper groups the columns of the lower, the lower is the header.
pub fn guess_header_row(table: &Table) -> Option<u32> {
    let mut best: Option<(usize, u32)> = None;
    for row in table.rows.iter().take(LOOK_AT) {
        let score = header_score(table, row);
        if score >= 2 && best.is_none_or(|(known, _)| score > known) {
            best = Some((score, row.number));
        }
    }
    best.map(|(_, row)| row)
}

/// Texts of the row that name a field of any kind of record, less the cells that
/// no header has (numbers, dates).
fn header_score(table: &Table, row: &Row) -> usize {
    let strange = |value: &Value| !matches!(value, Value::Empty | Value::Text(_));
    let strange = row.cells.iter().filter(|cell| strange(&cell.value)).count();
    let is_known = |text: &String| {
        // A sentence is a title or a note, not a header.
        text.chars().count() <= 60 && Kind::ALL.iter().any(|kind| best_phrase(text, *kind).is_some())
    };
    let known = if table.group_row(row.number).is_some() {
        // One more, to go before the upper row, which may hold as many.
        table.headers(row.number).iter().filter(|text| is_known(text)).count() + 1
    } else {
        let texts = row.cells.iter().filter(|cell| matches!(cell.value, Value::Text(_)));
        texts.filter(|cell| is_known(&cell.shown())).count()
    };
    known.saturating_sub(strange)
}
