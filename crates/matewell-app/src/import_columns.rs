//! Which column of a spreadsheet stands for what: shown with examples, and
//! corrected by a person.

use crate::AppError;
use matewell_intake::{Confidence, DepthWord, Field, Mapping, Table, column_letters, header_unit};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How many cells are shown of a column.
const EXAMPLES: usize = 3;

/// A column and what it was taken for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportColumnJson {
    /// Letters of the column, where the file has it.
    pub letters: Option<String>,
    /// Its header.
    pub header: String,
    /// What it was taken for, a word of `fields`; nothing is kept as text.
    pub field: Option<String>,
    /// The end it speaks of, from 1, if a row has several.
    pub end: Option<u8>,
    /// How sure that is: `weak`, `good`, or `confirmed` by a person.
    pub confidence: String,
    /// The words of the header that led to it.
    pub because: String,
    /// The first cells under the header that hold something.
    pub examples: Vec<String>,
}

/// The word of a value that a mapping file writes.
fn word_of<T: Serialize>(value: T) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

/// Every word that a column may be taken for.
pub(crate) fn field_words() -> Vec<String> {
    Field::ALL.iter().map(word_of).collect()
}

pub(crate) fn columns_of(table: &Table, mapping: &Mapping) -> Vec<ImportColumnJson> {
    let found = mapping.find_columns(table);
    let header_row = found.header_row.unwrap_or(mapping.header_row);
    mapping
        .columns
        .iter()
        .enumerate()
        .map(|(number, column)| {
            let at = found.at.get(number).copied().flatten();
            let examples = at.map_or_else(Vec::new, |at| {
                let below = table.rows.iter().filter(|row| row.number > header_row);
                let cells = below.map(|row| row.cell(at)).filter(|cell| !cell.is_blank());
                cells.take(EXAMPLES).map(|cell| cell.shown().chars().take(60).collect()).collect()
            });
            ImportColumnJson {
                letters: at.map(column_letters),
                header: column.header.clone(),
                field: column.field.map(word_of),
                end: column.end,
                confidence: word_of(column.confidence),
                because: column.because.clone(),
                examples,
            }
        })
        .collect()
}

fn bad(message: String) -> AppError {
    AppError::Field { field: "column", message }
}

/// Sets what a person said of the columns: header, then `field`, `field:end`
/// or `none`. A column that only was guessed to be the same gives way.
pub(crate) fn correct(mapping: &mut Mapping, said: &[(String, String)]) -> Result<(), AppError> {
    for (header, meaning) in said {
        let (word, end) = match meaning.trim().split_once(':') {
            Some((word, end)) => {
                let number = end.parse().ok().filter(|n| (1..=99).contains(n));
                let end: u8 = number.ok_or_else(|| {
                    bad(format!("expected the number of an end behind the colon, found \"{end}\""))
                })?;
                (word, Some(end))
            }
            None => (meaning.trim(), None),
        };
        let field = if word == "none" {
            None
        } else {
            let field = Field::ALL.iter().copied().find(|f| word_of(f) == word);
            Some(field.ok_or_else(|| {
                bad(format!("expected none or one of {}, found \"{word}\"", field_words().join(", ")))
            })?)
        };
        if !mapping.set(header, field, end) {
            let headers: Vec<&str> = mapping.columns.iter().map(|c| c.header.as_str()).collect();
            return Err(bad(format!("expected a header of {}, found \"{header}\"", headers.join(", "))));
        }
        for column in &mut mapping.columns {
            if column.header == *header {
                let is_depth = matches!(
                    field,
                    Some(
                        Field::PinDepth | Field::Uncertainty | Field::GaugeUncertainty | Field::Repeatability
                    )
                );
                column.unit = if is_depth { header_unit(header) } else { None };
                column.word = if is_depth { DepthWord::from_text(header) } else { None };
            } else if field.is_some()
                && field != Some(Field::PinDepth)
                && (column.field, column.end) == (field, end)
                && column.confidence != Confidence::Confirmed
            {
                column.field = None;
                column.end = None;
                column.confidence = Confidence::Weak;
                column.because.clear();
            }
        }
    }
    Ok(())
}
