//! The table of a study: text, a workbook, or JSON.

use crate::{AppError, error::field};
use matewell_intake::{
    Cell, DecimalSign, Limits, Readings, ReadingsAsked, Row, Table, Value, Wanted, read_readings, readings_of,
};
use matewell_wire::TableTexts;
use serde::Deserialize;

/// Largest table of a study in bytes.
pub const TABLE_BYTES: usize = 2_000_000;

/// More than any study by hand, less than would keep the service busy.
const LIMITS: Limits = Limits {
    bytes: TABLE_BYTES as u64,
    unpacked_bytes: 32_000_000,
    sheets: 16,
    rows: 20_000,
    columns: 64,
    cells: 200_000,
};

/// The bytes of a table and what the file is called.
#[derive(Debug, Clone, Copy)]
pub struct StudyFile<'a> {
    /// The content.
    pub bytes: &'a [u8],
    /// The name, for messages.
    pub name: &'a str,
}

/// `{"columns": ["appraiser", "part", "reading (um)"], "rows": [["ada", "CB-001A", 12.5]]}`
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct JsonTable {
    columns: Vec<String>,
    rows: Vec<Vec<JsonCell>>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum JsonCell {
    Number(f64),
    Text(String),
    Nothing(()),
}

fn said(texts: TableTexts<'_>) -> Result<ReadingsAsked, AppError> {
    let decimal = match texts.decimal.map(str::trim) {
        None | Some("") => None,
        Some("comma" | ",") => Some(DecimalSign::Comma),
        Some("point" | ".") => Some(DecimalSign::Point),
        Some(other) => return Err(field("decimal")(format!("expected comma or point, found \"{other}\""))),
    };
    let mut columns = Vec::new();
    for pair in texts.columns.unwrap_or_default().split(';').map(str::trim).filter(|p| !p.is_empty()) {
        let Some((name, header)) = pair.split_once('=') else {
            return Err(field("columns")(format!(
                "expected NAME=HEADER such as part=Connector, found \"{pair}\""
            )));
        };
        columns.push((name.trim().to_owned(), header.trim().to_owned()));
    }
    Ok(ReadingsAsked { unit: texts.unit.map(str::to_owned), decimal, columns })
}

/// Reads the table of a study.
pub(super) fn read(
    file: &StudyFile<'_>,
    wanted: &[Wanted],
    texts: TableTexts<'_>,
) -> Result<Readings, AppError> {
    let said = said(texts)?;
    let is_json = file.bytes.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'{');
    let found = if is_json {
        readings_of(&json_table(file)?, wanted, &said)
    } else {
        read_readings(file.bytes, file.name, &LIMITS, wanted, &said)
    };
    found.map_err(|error| AppError::Field { field: error.field, message: error.to_string() })
}

fn json_table(file: &StudyFile<'_>) -> Result<Table, AppError> {
    if file.bytes.len() > TABLE_BYTES {
        let found = file.bytes.len();
        return Err(field("file")(format!(
            "{}: expected at most {TABLE_BYTES} bytes, found {found}",
            file.name
        )));
    }
    let table: JsonTable = serde_json::from_slice(file.bytes).map_err(|e| {
        field("file")(format!("{}: expected {{\"columns\": […], \"rows\": [[…]]}}, found: {e}", file.name))
    })?;
    if table.rows.len() as u64 > LIMITS.rows || table.columns.len() as u64 > LIMITS.columns {
        return Err(field("file")(format!(
            "{}: expected at most {} rows and {} columns, found {} and {}",
            file.name,
            LIMITS.rows,
            LIMITS.columns,
            table.rows.len(),
            table.columns.len()
        )));
    }
    let cell = |value| Cell { value, from_formula: false };
    let mut rows = vec![Row { number: 1, cells: table.columns.into_iter().map(Cell::text).collect() }];
    for (number, row) in (2..).zip(table.rows) {
        let cells = row
            .into_iter()
            .map(|c| match c {
                JsonCell::Number(number) => cell(Value::Number(number)),
                JsonCell::Text(text) => Cell::text(text),
                JsonCell::Nothing(()) => cell(Value::Empty),
            })
            .collect();
        rows.push(Row { number, cells });
    }
    Ok(Table {
        file: file.name.to_owned(),
        sheet: file.name.to_owned(),
        read_as: "JSON".to_owned(),
        rows,
        header_row: Some(1),
    })
}
