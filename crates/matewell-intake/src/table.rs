//! Tables as they stand in the file: cells with their type, rows with their number.

use crate::place::Place;
use jiff::civil;

/// What a cell holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing.
    Empty,
    /// Text as typed, not trimmed.
    Text(String),
    /// A number of a workbook; always finite.
    Number(f64),
    /// A truth value of a workbook.
    Truth(bool),
    /// A date or a time that the workbook marks as one.
    Moment {
        /// Date and time on the wall.
        civil: civil::DateTime,
        /// Whether the cell has a time of day besides the date.
        has_time: bool,
    },
    /// An error of the spreadsheet, such as `#REF!`.
    Fault(String),
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What it holds.
    pub value: Value,
    /// Whether the workbook computes it. The value is the one that was stored last.
    pub from_formula: bool,
}

impl Cell {
    /// A cell without content.
    pub const EMPTY: Self = Self { value: Value::Empty, from_formula: false };

    /// A text cell; an empty text is an empty cell.
    pub fn text(text: impl Into<String>) -> Self {
        let text = text.into();
        let value = if text.is_empty() { Value::Empty } else { Value::Text(text) };
        Self { value, from_formula: false }
    }

    /// Nothing, or white space only.
    pub fn is_blank(&self) -> bool {
        match &self.value {
            Value::Empty => !self.from_formula,
            Value::Text(text) => text.trim().is_empty(),
            _ => false,
        }
    }

    /// The content in words, as an export would print it.
    pub fn shown(&self) -> String {
        match &self.value {
            Value::Empty => String::new(),
            Value::Text(text) => text.clone(),
            Value::Number(number) => number.to_string(),
            Value::Truth(true) => "TRUE".to_owned(),
            Value::Truth(false) => "FALSE".to_owned(),
            Value::Moment { civil, has_time: true } => civil.to_string(),
            Value::Moment { civil, has_time: false } => civil.date().to_string(),
            Value::Fault(code) => code.clone(),
        }
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// As the spreadsheet numbers it, from 1.
    pub number: u32,
    /// Cells from column A on; shorter rows end early.
    pub cells: Vec<Cell>,
}

impl Row {
    /// The cell in a column that counts from 0.
    pub fn cell(&self, column: usize) -> &Cell {
        const NOTHING: &Cell = &Cell::EMPTY;
        self.cells.get(column).unwrap_or(NOTHING)
    }

    /// Whether nothing stands in it.
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(Cell::is_blank)
    }
}

/// One sheet, or one text file.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The name of the file as given.
    pub file: String,
    /// The name of the sheet; for a text file the name of the file.
    pub sheet: String,
    /// How the file was read, in words: encoding and separator of a text file.
    pub read_as: String,
    /// All rows that hold something, in order of their number.
    pub rows: Vec<Row>,
    /// The number of the row that looks like the header, if any does.
    pub header_row: Option<u32>,
}

impl Table {
    /// Number of columns of the widest row.
    pub fn width(&self) -> usize {
        self.rows.iter().map(|row| row.cells.len()).max().unwrap_or(0)
    }

    /// The headers of a header row, one per column and each different.
    ///
    /// A row above that only groups columns (`End 1` over two columns) is put
    /// in front of each of its headers. A repeated header gets ` (2)` behind
    /// it, a missing one is called after its column letters.
    pub fn headers(&self, header_row: u32) -> Vec<String> {
        let Some(at) = self.rows.iter().position(|row| row.number == header_row) else {
            return Vec::new();
        };
        let Some(header) = self.rows.get(at) else { return Vec::new() };
        let groups = at
            .checked_sub(1)
            .and_then(|above| self.rows.get(above))
            .filter(|above| above.number + 1 == header_row)
            .map(|above| group_names(above, self.width()))
            .unwrap_or_default();
        let mut names: Vec<String> = Vec::with_capacity(self.width());
        let mut counts = std::collections::BTreeMap::<String, u32>::new();
        for column in 0..self.width() {
            let own = squeeze(&header.cell(column).shown());
            let own = match groups.get(column) {
                Some(group) if !group.is_empty() => squeeze(&format!("{group} {own}")),
                _ => own,
            };
            let own =
                if own.is_empty() { format!("column {}", crate::place::column_letters(column)) } else { own };
            let count = counts.entry(own.clone()).or_insert(0);
            *count += 1;
            let mut name = if *count == 1 { own.clone() } else { format!("{own} ({count})") };
            // "Note (2)" may itself stand in the file.
            while names.contains(&name) {
                *count += 1;
                name = format!("{own} ({count})");
            }
            names.push(name);
        }
        names
    }

    /// The place of a cell; `column` counts from 0.
    pub fn place(&self, row: u32, column: usize, header: &str) -> Place {
        Place::cell(&self.sheet, row, column, header)
    }
}

/// White space and line breaks within a header become one space.
pub(crate) fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The group above each column, filled to the right, when the row is one of
/// groups (`End 1`, `Port B`); otherwise nothing.
fn group_names(row: &Row, width: usize) -> Vec<String> {
    let is_group = |text: &str| {
        crate::words::end_number(&crate::words::tokens(text)).is_some_and(|found| found.1.is_empty())
    };
    let texts: Vec<String> = (0..width).map(|column| squeeze(&row.cell(column).shown())).collect();
    let groups = texts.iter().filter(|text| is_group(text)).count();
    if groups == 0 || row.cells.iter().filter(|cell| !cell.is_blank()).count() > 2 * groups {
        return Vec::new();
    }
    let mut current = String::new();
    texts
        .into_iter()
        .map(|text| {
            if is_group(&text) {
                current = text;
            } else if !text.is_empty() {
                current.clear();
            }
            current.clone()
        })
        .collect()
}
