//! A table of readings for a study: named columns, one unit, either decimal
//! sign.
//!
//! The header says which column is which and in which unit: `reading (um)`,
//! `reading_um`, `reading [µm]`, `reading / um`, `reading in um`. A header
//! without a unit is asked, and so is a number such as `1,250` in a table
//! whose other numbers do not show the decimal sign.

use crate::{
    error::{IntakeError, Problem, Severity},
    mapping::DecimalSign,
    number::{NumberTrouble, decimal_evidence, read_number},
    place::Place,
    read::{Limits, read_tables_within},
    table::{Row, Table, Value},
    unit::{KNOWN_UNITS, Unit},
};
use matewell_quantity::split_number_and_unit;
use std::fmt;

/// Rows looked at from the top to find the header.
const LOOK_AT: usize = 20;
/// Problems that are listed; the rest is counted.
const MOST_PROBLEMS: usize = 12;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// A word: who, which part.
    Text,
    /// A number in the unit of the table.
    Quantity,
}

/// A column that a study reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Its name.
    pub name: &'static str,
    /// Other headers it may have, in lower case.
    pub also: &'static [&'static str],
    /// What it holds.
    pub holds: Holds,
    /// Whether the study is impossible without it.
    pub needed: bool,
}

/// What a person said about the file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadingsAsked {
    /// Unit of the numbers, where the header has none.
    pub unit: Option<String>,
    /// The decimal sign, where the numbers do not show it.
    pub decimal: Option<DecimalSign>,
    /// Headers of columns by name.
    pub columns: Vec<(String, String)>,
}

/// One row of readings; the places follow the wanted columns.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// The row as the file numbers it.
    pub number: u32,
    /// Words; empty where the column holds numbers or is not there.
    pub texts: Vec<String>,
    /// Numbers in the unit of the table.
    pub numbers: Vec<Option<f64>>,
}

/// A table that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// How the file was read, in words.
    pub read_as: String,
    /// Unit of all numbers: `um` for every length, `N.m` for every torque,
    /// else the unit as the table has it.
    pub unit: &'static str,
    /// The header that was taken for each wanted column.
    pub headers: Vec<Option<String>>,
    /// The rows.
    pub rows: Vec<ReadingRow>,
}

/// Why a table is not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingsError {
    /// The option that would settle it: `file`, `unit`, `decimal`, `columns`.
    pub field: &'static str,
    /// What is wrong, with places; at least one.
    pub problems: Vec<Problem>,
    /// How many more there are.
    pub more: usize,
}

impl std::error::Error for ReadingsError {}

impl fmt::Display for ReadingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, problem) in self.problems.iter().enumerate() {
            if number > 0 {
                write!(f, "; ")?;
            }
            write!(f, "{problem}")?;
        }
        if self.more > 0 {
            write!(f, "; and {} more", self.more)?;
        }
        Ok(())
    }
}

impl ReadingsError {
    fn one(field: &'static str, place: Place, expected: impl Into<String>, found: impl Into<String>) -> Self {
        let problem =
            Problem { severity: Severity::Error, place, expected: expected.into(), found: found.into() };
        Self { field, problems: vec![problem], more: 0 }
    }
}

/// Reads the first table of a file as readings.
///
/// # Errors
///
/// [`IntakeError`] as text in a problem when the file is no table;
/// [`ReadingsError`] naming row, column, what was expected and what was found.
pub fn read_readings(
    bytes: &[u8],
    file_name: &str,
    limits: &Limits,
    wanted: &[Wanted],
    asked: &ReadingsAsked,
) -> Result<Readings, ReadingsError> {
    let refused = |error: &IntakeError| {
        ReadingsError::one("file", Place::sheet(file_name), "a table of readings", error.to_string())
    };
    let tables = read_tables_within(bytes, file_name, limits).map_err(|e| refused(&e))?;
    let Some(table) = tables.iter().find(|t| !t.rows.is_empty()) else {
        return Err(ReadingsError::one(
            "file",
            Place::sheet(file_name),
            "a header and rows of readings",
            "an empty file",
        ));
    };
    readings_of(table, wanted, asked)
}

/// Reads a table that is already there as readings.
///
/// # Errors
///
/// As [`read_readings`].
pub fn readings_of(
    table: &Table,
    wanted: &[Wanted],
    asked: &ReadingsAsked,
) -> Result<Readings, ReadingsError> {
    for (name, _) in &asked.columns {
        if !wanted.iter().any(|w| w.name == name) {
            let known: Vec<&str> = wanted.iter().map(|w| w.name).collect();
            return Err(ReadingsError::one(
                "columns",
                Place::sheet(&table.sheet),
                format!("names among {}", known.join(", ")),
                format!("\"{name}\""),
            ));
        }
    }
    let (header, found) = header(table, wanted, asked)?;
    let unit = unit(table, header, wanted, &found, asked)?;
    let rows: Vec<&Row> = table.rows.iter().filter(|r| r.number > header.number && !r.is_blank()).collect();
    if rows.is_empty() {
        return Err(ReadingsError::one(
            "file",
            Place::row(&table.sheet, header.number),
            "rows of readings below the header",
            "none",
        ));
    }
    let body = Body { table, header, wanted, found: &found, unit: &unit };
    let sign = body.decimal_sign(&rows, asked)?;
    let mut problems = Vec::new();
    let mut read = Vec::with_capacity(rows.len());
    for row in rows {
        match body.row(row, sign) {
            Ok(row) => read.push(row),
            Err(mut those) => problems.append(&mut those),
        }
    }
    if problems.is_empty() {
        let headers =
            found.iter().map(|c| c.as_ref().map(|c| header.cell(c.at).shown().trim().to_owned())).collect();
        return Ok(Readings { read_as: table.read_as.clone(), unit: unit.base, headers, rows: read });
    }
    let ambiguous = problems.iter().all(|p| p.expected.starts_with(TWO_WAYS));
    let more = problems.len().saturating_sub(MOST_PROBLEMS);
    problems.truncate(MOST_PROBLEMS);
    Err(ReadingsError { field: if ambiguous { "decimal" } else { "file" }, problems, more })
}

/// A column that was found, with the unit its header names.
#[derive(Clone)]
struct Found {
    at: usize,
    unit: Option<Unit>,
}

fn folded(text: &str) -> String {
    text.trim().to_lowercase().replace(['_', '-'], " ")
}

/// The unit text behind a name in a header; `None` when the header is another.
fn behind<'a>(header: &'a str, name: &str) -> Option<&'a str> {
    let plain = header.trim();
    let head = plain.get(..name.len())?;
    if folded(head) != folded(name) {
        return None;
    }
    let rest = plain.get(name.len()..)?;
    if rest.is_empty() {
        return Some("");
    }
    let trimmed = rest.trim_start_matches([' ', '_', '/', ',', ':', '(', '[']);
    if trimmed.len() == rest.len() {
        return None;
    }
    let trimmed = trimmed.strip_prefix("in ").unwrap_or(trimmed);
    Some(trimmed.trim_end_matches([')', ']', ' ']).trim())
}

fn names(wanted: &Wanted) -> impl Iterator<Item = &'static str> {
    std::iter::once(wanted.name).chain(wanted.also.iter().copied())
}

fn columns(
    table: &Table,
    row: &Row,
    wanted: &[Wanted],
    asked: &ReadingsAsked,
) -> Result<Vec<Option<Found>>, ReadingsError> {
    let mut all = Vec::new();
    for want in wanted {
        let said =
            asked.columns.iter().find(|(name, _)| name == want.name).map(|(_, header)| header.as_str());
        let mut found: Option<Found> = None;
        for (at, cell) in row.cells.iter().enumerate() {
            let header = cell.shown();
            let unit_text = match said {
                Some(said) if folded(said) == folded(&header) => {
                    // What stands in brackets is the unit, whatever the name.
                    let bracket = header.find(['(', '[']).and_then(|b| header.get(b + 1..));
                    Some(bracket.unwrap_or("").trim_end_matches([')', ']', ' ']).trim().to_owned())
                }
                Some(_) => None,
                None => names(want).find_map(|name| behind(&header, name)).map(str::to_owned),
            };
            let Some(unit_text) = unit_text else { continue };
            let place = || Place::cell(&table.sheet, row.number, at, &header);
            let unit = match (want.holds, unit_text.as_str()) {
                (_, "") => None,
                // "part number" is another column than "part".
                (Holds::Text, _) if said.is_none() => continue,
                (Holds::Text, _) => None,
                (Holds::Quantity, text) => match Unit::find(text) {
                    Some(unit) => Some(unit),
                    None => {
                        return Err(ReadingsError::one(
                            "unit",
                            place(),
                            format!("a unit among {KNOWN_UNITS}"),
                            format!("\"{text}\""),
                        ));
                    }
                },
            };
            if let Some(first) = &found {
                let first = crate::place::column_letters(first.at);
                return Err(ReadingsError::one(
                    "columns",
                    place(),
                    format!("one column for {}", want.name),
                    format!("a second one besides column {first}"),
                ));
            }
            found = Some(Found { at, unit });
        }
        all.push(found);
    }
    Ok(all)
}

fn header<'a>(
    table: &'a Table,
    wanted: &[Wanted],
    asked: &ReadingsAsked,
) -> Result<(&'a Row, Vec<Option<Found>>), ReadingsError> {
    let mut best: Option<(usize, &Row, Vec<Option<Found>>)> = None;
    let mut first_error = None;
    for row in table.rows.iter().take(LOOK_AT) {
        match columns(table, row, wanted, asked) {
            Ok(found) => {
                let complete = wanted.iter().zip(&found).all(|(w, f)| !w.needed || f.is_some());
                if complete {
                    return Ok((row, found));
                }
                let score = found.iter().flatten().count();
                if best.as_ref().is_none_or(|(known, _, _)| score > *known) {
                    best = Some((score, row, found));
                }
            }
            Err(error) => {
                first_error.get_or_insert(error);
            }
        }
    }
    if let Some(error) = first_error {
        return Err(error);
    }
    let (row, missing) = match &best {
        Some((_, row, found)) => (
            row.number,
            wanted.iter().zip(found).filter(|(w, f)| w.needed && f.is_none()).map(|(w, _)| *w).collect(),
        ),
        None => (1, wanted.to_vec()),
    };
    let missing: Vec<String> = missing
        .iter()
        .map(|w| {
            let all: Vec<&str> = names(w).collect();
            format!("{} (a header such as {})", w.name, all.join(", "))
        })
        .collect();
    let there = best.map(|(_, row, _)| {
        let headers: Vec<String> =
            row.cells.iter().filter(|c| !c.is_blank()).map(|c| format!("\"{}\"", c.shown().trim())).collect();
        headers.join(", ")
    });
    Err(ReadingsError::one(
        "columns",
        Place::row(&table.sheet, row),
        format!("a column for {}", missing.join(" and for ")),
        there.filter(|t| !t.is_empty()).unwrap_or_else(|| "none".to_owned()),
    ))
}

/// The unit of the table: of the headers, else of the cells, else as asked.
fn unit(
    table: &Table,
    header: &Row,
    wanted: &[Wanted],
    found: &[Option<Found>],
    asked: &ReadingsAsked,
) -> Result<Unit, ReadingsError> {
    let asked_unit = match asked.unit.as_deref().map(str::trim).filter(|u| !u.is_empty()) {
        None => None,
        Some(text) => Some(Unit::find(text).ok_or_else(|| {
            ReadingsError::one(
                "unit",
                Place::sheet(&table.sheet),
                format!("a unit among {KNOWN_UNITS}"),
                format!("\"{text}\""),
            )
        })?),
    };
    let quantities: Vec<(&Wanted, &Found)> = wanted
        .iter()
        .zip(found)
        .filter(|(w, _)| w.holds == Holds::Quantity)
        .filter_map(|(w, f)| Some((w, f.as_ref()?)))
        .collect();
    let mut known: Option<Unit> = None;
    for (_, column) in &quantities {
        let Some(unit) = column.unit else { continue };
        let place = || Place::cell(&table.sheet, header.number, column.at, &header.cell(column.at).shown());
        if let Some(known) = known
            && known.base != unit.base
        {
            return Err(ReadingsError::one(
                "file",
                place(),
                format!("the same kind of unit in every column ({})", known.name),
                unit.name,
            ));
        }
        if let Some(asked) = asked_unit
            && asked.name != unit.name
        {
            return Err(ReadingsError::one(
                "unit",
                place(),
                format!("the unit asked for, {}", asked.name),
                format!("{} in the header", unit.name),
            ));
        }
        known.get_or_insert(unit);
    }
    if let Some(unit) = known.or(asked_unit) {
        return Ok(unit);
    }
    for (_, column) in &quantities {
        let in_cells = table
            .rows
            .iter()
            .filter(|r| r.number > header.number)
            .find_map(|r| Unit::find(split_number_and_unit(&r.cell(column.at).shown()).1));
        if let Some(unit) = in_cells {
            return Ok(unit);
        }
    }
    let (want, column) = quantities.first().map_or((wanted.first(), 0), |(w, f)| (Some(*w), f.at));
    let name = want.map_or("reading", |w| w.name);
    let shown = header.cell(column).shown();
    Err(ReadingsError::one(
        "unit",
        Place::cell(&table.sheet, header.number, column, &shown),
        format!("a unit in the header, such as \"{name} (um)\", or the option unit (1 for a plain number)"),
        format!("\"{}\"", shown.trim()),
    ))
}

/// Begins the words of a number that can be read in two ways.
const TWO_WAYS: &str = "a number that can be read in one way";

struct Body<'a> {
    table: &'a Table,
    header: &'a Row,
    wanted: &'a [Wanted],
    found: &'a [Option<Found>],
    unit: &'a Unit,
}

impl Body<'_> {
    fn quantities(&self) -> impl Iterator<Item = &Found> {
        self.wanted
            .iter()
            .zip(self.found)
            .filter(|(w, _)| w.holds == Holds::Quantity)
            .filter_map(|(_, f)| f.as_ref())
    }

    fn place(&self, row: u32, column: usize) -> Place {
        Place::cell(&self.table.sheet, row, column, self.header.cell(column).shown().trim())
    }

    /// The decimal sign that was said, or that the numbers show. Both signs in
    /// one table are a question.
    fn decimal_sign(
        &self,
        rows: &[&Row],
        asked: &ReadingsAsked,
    ) -> Result<Option<DecimalSign>, ReadingsError> {
        let mut seen: Option<(DecimalSign, u32, usize, String)> = None;
        for row in rows {
            for column in self.quantities() {
                let Value::Text(text) = &row.cell(column.at).value else { continue };
                let (number, _) = split_number_and_unit(text);
                let Some(sign) = decimal_evidence(number) else { continue };
                match &seen {
                    Some((known, earlier, _, before)) if *known != sign => {
                        return Err(ReadingsError::one(
                            "file",
                            self.place(row.number, column.at),
                            format!(
                                "one decimal sign in the whole table, as in \"{before}\" in row {earlier}"
                            ),
                            format!("\"{}\"", text.trim()),
                        ));
                    }
                    Some(_) => {}
                    None => seen = Some((sign, row.number, column.at, text.trim().to_owned())),
                }
            }
        }
        match (&seen, asked.decimal) {
            (Some((sign, row, column, text)), Some(said)) if *sign != said => Err(ReadingsError::one(
                "decimal",
                self.place(*row, *column),
                match said {
                    DecimalSign::Comma => "the decimal sign asked for, the comma".to_owned(),
                    DecimalSign::Point => "the decimal sign asked for, the point".to_owned(),
                },
                format!("\"{text}\""),
            )),
            (Some((sign, ..)), _) => Ok(Some(*sign)),
            (None, said) => Ok(said),
        }
    }

    fn row(&self, row: &Row, sign: Option<DecimalSign>) -> Result<ReadingRow, Vec<Problem>> {
        let mut read = ReadingRow { number: row.number, texts: Vec::new(), numbers: Vec::new() };
        let mut problems = Vec::new();
        for (want, found) in self.wanted.iter().zip(self.found) {
            let (mut text, mut number) = (String::new(), None);
            if let Some(column) = found {
                let cell = row.cell(column.at);
                let mut wrong = |expected: String, found: String| {
                    problems.push(Problem {
                        severity: Severity::Error,
                        place: self.place(row.number, column.at),
                        expected,
                        found,
                    });
                };
                if cell.is_blank() {
                    if want.needed {
                        wrong(
                            match want.holds {
                                Holds::Text => format!("the {}", want.name),
                                Holds::Quantity => "a number".to_owned(),
                            },
                            "an empty cell".to_owned(),
                        );
                    }
                } else if want.holds == Holds::Text {
                    cell.shown().trim().clone_into(&mut text);
                } else {
                    match quantity(&cell.value, &cell.shown(), column.unit.unwrap_or(*self.unit), sign) {
                        Ok(value) => number = Some(value),
                        Err((expected, found)) => wrong(expected, found),
                    }
                }
            }
            read.texts.push(text);
            read.numbers.push(number);
        }
        if problems.is_empty() { Ok(read) } else { Err(problems) }
    }
}

/// The value in the base unit of the table, or what was expected and found.
fn quantity(
    value: &Value,
    shown: &str,
    column: Unit,
    sign: Option<DecimalSign>,
) -> Result<f64, (String, String)> {
    let typed = match value {
        Value::Number(number) => *number,
        Value::Text(text) => {
            let (number, own) = split_number_and_unit(text);
            if !own.is_empty() && Unit::find(own).is_none_or(|own| own.name != column.name) {
                return Err((
                    format!("a number in {}, as in the rest of the column", column.name),
                    format!("\"{}\"", text.trim()),
                ));
            }
            read_number(number, sign).map_err(|trouble| match trouble {
                NumberTrouble::NotANumber => ("a number".to_owned(), format!("\"{}\"", text.trim())),
                NumberTrouble::Ambiguous => (
                    format!("{TWO_WAYS}, or the option decimal (comma or point)"),
                    format!("\"{}\"", text.trim()),
                ),
            })?
        }
        _ => return Err(("a number".to_owned(), format!("\"{shown}\""))),
    };
    let value = typed * column.factor;
    if value.is_finite() { Ok(value) } else { Err(("a finite number".to_owned(), format!("\"{shown}\""))) }
}
