//! Workbooks: XLSX, XLSM and ODS, checked before and while they are read.

use crate::{
    dates::serial_to_civil,
    error::IntakeError,
    read::Limits,
    table::{Cell, Row, Table, Value},
};
use calamine::{Data, ExcelDateTime, Ods, Reader, Xlsx};
use std::{
    collections::BTreeMap,
    io::{Cursor, Read},
    panic::{AssertUnwindSafe, catch_unwind},
};

const ODS_CONTENT: &str = "content.xml";

/// Reads all sheets of a packed workbook.
pub(crate) fn read_workbook(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Table>, IntakeError> {
    let parts = check_packing(bytes, file, limits)?;
    let kind = if parts.is_ods {
        Kind::Ods
    } else if parts.is_xlsx {
        Kind::Xlsx
    } else {
        let found = "an archive that is neither an XLSX nor an ODS workbook".to_owned();
        return Err(IntakeError::UnknownFormat { file: file.to_owned(), found });
    };
    // The workbook reader indexes and unwraps in places that a damaged file
    // reaches; a damaged file must not take the server down.
    let read = catch_unwind(AssertUnwindSafe(|| match kind {
        Kind::Xlsx => read_xlsx(bytes, file, limits),
        Kind::Ods => read_ods(bytes, file, limits),
    }));
    read.unwrap_or_else(|_| Err(broken(file, "a part that contradicts itself")))
}

#[derive(Clone, Copy)]
enum Kind {
    Xlsx,
    Ods,
}

struct Parts {
    is_xlsx: bool,
    is_ods: bool,
}

fn broken(file: &str, found: impl std::fmt::Display) -> IntakeError {
    IntakeError::BrokenWorkbook { file: file.to_owned(), found: found.to_string() }
}

/// Unpacks every part once, counting, so that no part can be larger than it
/// says; checks the content of an ODS file on the way.
fn check_packing(bytes: &[u8], file: &str, limits: &Limits) -> Result<Parts, IntakeError> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(file, error))?;
    let mut parts = Parts { is_xlsx: false, is_ods: false };
    let mut left = limits.unpacked_bytes;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|error| broken(file, error))?;
        let name = part.name().map_err(|error| broken(file, error))?.into_owned();
        let mut part = part.take(left + 1);
        let unpacked = if name == ODS_CONTENT {
            parts.is_ods = true;
            let mut content = Vec::new();
            let unpacked = part.read_to_end(&mut content).map_err(|error| broken(file, error))? as u64;
            if unpacked <= left {
                check_ods_content(&content, file, limits)?;
            }
            unpacked
        } else {
            std::io::copy(&mut part, &mut std::io::sink()).map_err(|error| broken(file, error))?
        };
        if unpacked > left {
            return Err(IntakeError::UnpacksTooLarge {
                file: file.to_owned(),
                limit: limits.unpacked_bytes,
                part: name,
            });
        }
        left -= unpacked;
        parts.is_xlsx |= name == "[Content_Types].xml";
    }
    Ok(parts)
}

/// The workbook reader waits for the end of a table for ever when the content
/// is cut short, and lays out repeated rows before it counts them. Both are
/// looked at here first.
fn check_ods_content(content: &[u8], file: &str, limits: &Limits) -> Result<(), IntakeError> {
    use quick_xml::events::Event;
    let mut reader = quick_xml::Reader::from_reader(content);
    let mut buffer = Vec::new();
    let mut depth = 0_u32;
    let mut cells = 0_u64;
    let mut grid = OdsGrid::default();
    loop {
        buffer.clear();
        let event = reader.read_event_into(&mut buffer).map_err(|error| broken(file, error))?;
        let (start, opens) = match &event {
            Event::Start(start) => (Some(start), true),
            Event::Empty(start) => (Some(start), false),
            _ => (None, false),
        };
        if let Some(start) = start {
            depth += u32::from(opens);
            if depth > 256 {
                return Err(broken(file, "elements nested more than 256 deep"));
            }
            let repeated = |key: &str| -> Result<u64, IntakeError> {
                for attribute in start.attributes() {
                    let attribute = attribute.map_err(|error| broken(file, error))?;
                    if attribute.key.as_ref() == key {
                        return attribute.value.trim().parse().map_err(|error| broken(file, error));
                    }
                }
                Ok(1)
            };
            match start.name().as_ref() {
                "table:table" => grid = OdsGrid::default(),
                "table:table-row" => grid.row(repeated("table:number-rows-repeated")?),
                "table:table-cell" | "table:covered-table-cell" => {
                    let holds = start.attributes().any(|attribute| {
                        attribute
                            .is_ok_and(|a| matches!(a.key.as_ref(), "office:value-type" | "table:formula"))
                    });
                    grid.cell(repeated("table:number-columns-repeated")?, holds);
                }
                "text:p" => grid.holds_text(),
                // A run of spaces is written as a count.
                "text:s" => {
                    let spaces = repeated("text:c")?;
                    cells = cells.saturating_add(spaces / 64);
                }
                _ => {}
            }
        }
        match event {
            Event::End(_) => {
                depth = depth.checked_sub(1).ok_or_else(|| broken(file, "an end without a start"))?;
            }
            Event::Eof => break,
            _ => {}
        }
        if grid.columns > limits.columns {
            return Err(too_many(file, ODS_CONTENT, "columns", limits.columns));
        }
        if cells.saturating_add(grid.rows().saturating_mul(grid.columns)) > limits.cells {
            return Err(too_many(file, ODS_CONTENT, "cells", limits.cells));
        }
    }
    if depth != 0 {
        return Err(broken(file, "a content that is cut short"));
    }
    Ok(())
}

/// The size a table will take when its repeats are laid out.
#[derive(Default)]
struct OdsGrid {
    finished: u64,
    waiting: u64,
    repeat: u64,
    row_holds: bool,
    column: u64,
    last_cell: u64,
    columns: u64,
}

impl OdsGrid {
    fn row(&mut self, repeat: u64) {
        self.close_row();
        self.repeat = repeat;
        self.column = 0;
        self.last_cell = 0;
    }

    /// Empty rows only count when a row with content follows them.
    fn close_row(&mut self) {
        if self.row_holds {
            self.finished = self.finished.saturating_add(self.waiting).saturating_add(self.repeat);
            self.waiting = 0;
        } else {
            self.waiting = self.waiting.saturating_add(self.repeat);
        }
        self.row_holds = false;
    }

    fn cell(&mut self, repeat: u64, holds: bool) {
        self.column = self.column.saturating_add(repeat);
        self.last_cell = self.column;
        if holds {
            self.holds_text();
        }
    }

    fn holds_text(&mut self) {
        self.row_holds = true;
        if self.columns < self.last_cell {
            self.columns = self.last_cell;
        }
    }

    fn rows(&self) -> u64 {
        let open = if self.row_holds { self.waiting.saturating_add(self.repeat) } else { 0 };
        self.finished.saturating_add(open)
    }
}

fn too_many(file: &str, sheet: &str, what: &'static str, limit: u64) -> IntakeError {
    IntakeError::TooMany { file: file.to_owned(), sheet: sheet.to_owned(), what, limit }
}

/// Collects cells in any order and keeps the limits.
struct Collector<'a> {
    file: &'a str,
    sheet: &'a str,
    limits: &'a Limits,
    /// Cells of all sheets so far.
    cells: &'a mut u64,
    rows: BTreeMap<u32, Vec<Cell>>,
}

impl Collector<'_> {
    fn put(&mut self, row: u32, column: u32, cell: Cell) -> Result<(), IntakeError> {
        if cell.value == Value::Empty && !cell.from_formula {
            return Ok(());
        }
        if u64::from(row) >= self.limits.rows {
            return Err(too_many(self.file, self.sheet, "rows", self.limits.rows));
        }
        if u64::from(column) >= self.limits.columns {
            return Err(too_many(self.file, self.sheet, "columns", self.limits.columns));
        }
        let cells = self.rows.entry(row).or_default();
        let column = column as usize;
        if cells.len() <= column {
            *self.cells += (column + 1 - cells.len()) as u64;
            if *self.cells > self.limits.cells {
                return Err(too_many(self.file, self.sheet, "cells", self.limits.cells));
            }
            cells.resize(column + 1, Cell::EMPTY);
        }
        if let Some(slot) = cells.get_mut(column) {
            *slot = cell;
        }
        Ok(())
    }

    fn into_table(self, read_as: &str) -> Table {
        let rows = self
            .rows
            .into_iter()
            .map(|(row, cells)| Row { number: row + 1, cells })
            .filter(|row| !row.is_blank())
            .collect();
        Table {
            file: self.file.to_owned(),
            sheet: self.sheet.to_owned(),
            read_as: read_as.to_owned(),
            rows,
            header_row: None,
        }
    }
}

fn sheet_names(sheets: Vec<String>, file: &str, limits: &Limits) -> Result<Vec<String>, IntakeError> {
    if sheets.len() as u64 > limits.sheets {
        return Err(too_many(file, file, "sheets", limits.sheets));
    }
    Ok(sheets)
}

fn read_xlsx(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Table>, IntakeError> {
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|error| broken(file, error))?;
    let names = sheet_names(book.sheet_names(), file, limits)?;
    let mut cells = 0;
    let mut tables = Vec::with_capacity(names.len());
    for sheet in &names {
        let mut into = Collector { file, sheet, limits, cells: &mut cells, rows: BTreeMap::new() };
        let mut reader = match book.worksheet_cells_reader(sheet) {
            Ok(reader) => reader,
            // Charts have a name among the sheets but no cells.
            Err(calamine::XlsxError::NotAWorksheet(_)) => continue,
            Err(error) => return Err(broken(file, error)),
        };
        while let Some(record) =
            reader.next_cell_with_formula_metadata().map_err(|error| broken(file, error))?
        {
            let (row, column) = record.pos;
            into.put(row, column, cell_of(Data::from(record.value), record.formula.is_some()))?;
        }
        tables.push(into.into_table("workbook (XLSX)"));
    }
    Ok(tables)
}

fn read_ods(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Table>, IntakeError> {
    let mut book = Ods::new(Cursor::new(bytes)).map_err(|error| broken(file, error))?;
    let names = sheet_names(book.sheet_names(), file, limits)?;
    let mut cells = 0;
    let mut tables = Vec::with_capacity(names.len());
    for sheet in &names {
        let mut into = Collector { file, sheet, limits, cells: &mut cells, rows: BTreeMap::new() };
        let range = book.worksheet_range(sheet).map_err(|error| broken(file, error))?;
        let formulas = book.worksheet_formula(sheet).map_err(|error| broken(file, error))?;
        let (top, left) = range.start().unwrap_or((0, 0));
        for (row, column, value) in range.used_cells() {
            let row = top.saturating_add(u32::try_from(row).unwrap_or(u32::MAX));
            let column = left.saturating_add(u32::try_from(column).unwrap_or(u32::MAX));
            let from_formula = formulas.get_value((row, column)).is_some_and(|formula| !formula.is_empty());
            into.put(row, column, cell_of(value.clone(), from_formula))?;
        }
        tables.push(into.into_table("workbook (ODS)"));
    }
    Ok(tables)
}

fn cell_of(data: Data, from_formula: bool) -> Cell {
    let value = match data {
        Data::Empty => Value::Empty,
        Data::String(text) if text.is_empty() => Value::Empty,
        Data::String(text) | Data::DurationIso(text) => Value::Text(text),
        Data::Int(number) => Value::Number(number as f64),
        Data::Float(number) if number.is_finite() => Value::Number(number),
        Data::Float(number) => Value::Fault(number.to_string()),
        Data::Bool(truth) => Value::Truth(truth),
        Data::DateTime(moment) => moment_of(moment),
        Data::DateTimeIso(text) => iso_moment(text),
        Data::Error(error) => Value::Fault(error.to_string()),
    };
    Cell { value, from_formula }
}

fn moment_of(moment: ExcelDateTime) -> Value {
    let serial = moment.as_f64();
    if moment.is_duration() {
        return Value::Number(serial);
    }
    // The calendar of the workbook (1900 or 1904) is known to the reader only.
    let (year, month, day, hour, minute, second, milli) = moment.to_ymd_hms_milli();
    let has_time = serial.fract() != 0.0;
    let part = |number: u8| i8::try_from(number).unwrap_or(-1);
    let civil = i16::try_from(year).ok().and_then(|year| {
        let nanoseconds = i32::from(milli) * 1_000_000;
        let exact = jiff::civil::DateTime::new(
            year,
            part(month),
            part(day),
            part(hour),
            part(minute),
            part(second),
            nanoseconds,
        );
        // A serial is a binary fraction of a day: 14:05 may come back as 14:04:59.999.
        exact.ok().and_then(|exact| exact.round(jiff::Unit::Second).ok())
    });
    match civil.or_else(|| serial_to_civil(serial)) {
        Some(civil) => Value::Moment { civil, has_time },
        None if serial.is_finite() => Value::Number(serial),
        None => Value::Fault(serial.to_string()),
    }
}

fn iso_moment(text: String) -> Value {
    let has_time = text.contains(['T', ':']);
    match text.trim_end_matches('Z').parse::<jiff::civil::DateTime>() {
        // A stated offset must not be lost: such a cell stays text.
        Ok(civil) if !text.ends_with('Z') => Value::Moment { civil, has_time },
        _ => Value::Text(text),
    }
}
