//! A table being read: its columns, its records, and what is found on the way.

use crate::{
    columns::FoundColumns,
    dates,
    draft::{Duplicate, Skipped},
    error::{Problem, Severity},
    mapping::{Answers, ColumnMapping, DayOrder, DecimalSign, Field, Mapping},
    number::decimal_evidence,
    place::Place,
    question::{Question, Topic},
    table::{Cell, Row, Table, Value},
    words::tokens,
};
use jiff::tz::TimeZone;
use matewell_quantity::split_number_and_unit;
use std::collections::{BTreeMap, BTreeSet};

/// Words in front of a row that sums others up.
const TOTALS: [&str; 13] = [
    "total",
    "totals",
    "subtotal",
    "sum",
    "sums",
    "average",
    "mean",
    "count",
    "summe",
    "gesamt",
    "gesamtsumme",
    "mittelwert",
    "anzahl",
];

pub(crate) struct Sheet<'a> {
    pub(crate) table: &'a Table,
    mapping: &'a Mapping,
    columns: FoundColumns,
    pub(crate) problems: Vec<Problem>,
    pub(crate) questions: BTreeMap<Topic, Question>,
    pub(crate) duplicates: Vec<Duplicate>,
    pub(crate) assumptions: BTreeSet<String>,
    pub(crate) skipped: Vec<Skipped>,
    pub(crate) decimal: Option<DecimalSign>,
    pub(crate) day_order: Option<DayOrder>,
    pub(crate) zone: Option<TimeZone>,
    records: Vec<&'a Row>,
}

impl<'a> Sheet<'a> {
    pub(crate) fn open(table: &'a Table, mapping: &'a Mapping) -> Self {
        let columns = mapping.find_columns(table);
        let mut sheet = Self {
            table,
            mapping,
            columns,
            problems: Vec::new(),
            questions: BTreeMap::new(),
            duplicates: Vec::new(),
            assumptions: BTreeSet::new(),
            skipped: Vec::new(),
            decimal: mapping.answers.decimal,
            day_order: mapping.answers.day_order,
            zone: None,
            records: Vec::new(),
        };
        sheet.find_records();
        sheet.check_columns();
        sheet.take_decimal();
        sheet.take_day_order();
        sheet.take_zone();
        sheet
    }

    pub(crate) const fn answers(&self) -> &'a Answers {
        &self.mapping.answers
    }

    pub(crate) fn records(&self) -> Vec<&'a Row> {
        self.records.clone()
    }

    fn find_records(&mut self) {
        let Some(header_row) = self.columns.header_row else { return };
        let header = self.table.rows.iter().find(|row| row.number == header_row);
        let rows = self.table.rows.iter().filter(|row| row.number > header_row && !row.is_blank());
        let mut rows: Vec<&Row> = rows.collect();
        let mut skipped = Vec::new();
        while let Some(last) = rows.last().filter(|row| is_totals(row)) {
            skipped.push((last.number, "a row of totals below the records"));
            rows.pop();
        }
        rows.retain(|row| {
            let repeats = header.is_some_and(|header| header.cells == row.cells);
            if repeats {
                skipped.push((row.number, "the header once more"));
            }
            !repeats
        });
        skipped.sort_unstable();
        let place = |row| Place::row(&self.table.sheet, row);
        self.skipped =
            skipped.into_iter().map(|(row, because)| Skipped { place: place(row), because }).collect();
        self.records = rows;
    }

    /// Columns that the mapping needs and the table does not have.
    fn check_columns(&mut self) {
        let missing: Vec<&ColumnMapping> = self
            .mapping
            .columns
            .iter()
            .zip(&self.columns.at)
            .filter(|(column, at)| column.field.is_some() && at.is_none())
            .map(|(column, _)| column)
            .collect();
        for column in missing {
            let found = if self.columns.headers.is_empty() {
                "no header row".to_owned()
            } else {
                self.columns.headers.join(" | ")
            };
            let place = self
                .columns
                .header_row
                .map_or_else(|| Place::sheet(&self.table.sheet), |row| Place::row(&self.table.sheet, row));
            self.error(place, format!("a column \"{}\" as in the mapping", column.header), found);
        }
        let strange: Vec<&str> = self
            .columns
            .strange
            .iter()
            .filter_map(|at| self.columns.headers.get(*at))
            .map(String::as_str)
            .collect();
        if !strange.is_empty() {
            let names = strange.join(", ");
            self.assumptions
                .insert(format!("columns that the mapping does not know are kept as extra text: {names}"));
        }
    }

    fn take_decimal(&mut self) {
        if self.decimal.is_some() {
            return;
        }
        let numeric = [
            Field::PinDepth,
            Field::Uncertainty,
            Field::Cost,
            Field::GaugeUncertainty,
            Field::Repeatability,
            Field::Torque,
            Field::Magnification,
        ];
        let columns: Vec<usize> =
            numeric.iter().flat_map(|field| self.all(*field)).map(|(at, _)| at).collect();
        let mut signs = BTreeSet::new();
        for row in &self.records {
            for at in &columns {
                if let Value::Text(text) = &row.cell(*at).value {
                    signs.extend(
                        text.split([';', ' '])
                            .filter_map(|part| decimal_evidence(split_number_and_unit(part).0)),
                    );
                }
            }
        }
        if let (Some(sign), 1) = (signs.first(), signs.len()) {
            self.decimal = Some(*sign);
            let word = if *sign == DecimalSign::Comma { "comma" } else { "point" };
            self.assumptions.insert(format!("numbers have a decimal {word}, as the file shows"));
        }
    }

    fn take_day_order(&mut self) {
        let Some((at, _)) = self.column(Field::Date, None).filter(|_| self.day_order.is_none()) else {
            return;
        };
        let mut orders = BTreeMap::new();
        for row in &self.records {
            if let Value::Text(text) = &row.cell(at).value
                && let Some(order) = dates::day_order_evidence(text)
            {
                orders.entry(order).or_insert((row.number, text.clone()));
            }
        }
        if let (Some((order, (row, text))), 1) = (orders.first_key_value(), orders.len()) {
            let words = if *order == DayOrder::DayFirst { "the day" } else { "the month" };
            self.day_order = Some(*order);
            self.assumptions
                .insert(format!("in dates with slashes {words} comes first, as row {row} shows ({text})"));
        }
    }

    fn take_zone(&mut self) {
        let Some(text) = &self.answers().time_zone else { return };
        self.zone = crate::zone::read_zone(text);
        if self.zone.is_none() {
            let place = Place::sheet(&self.table.sheet);
            self.error(place, "UTC, an offset such as +01:00 or an IANA name as time zone", text.clone());
        }
    }

    /// The columns of a field, in the order of the file.
    pub(crate) fn all(&self, field: Field) -> Vec<(usize, &'a ColumnMapping)> {
        let columns = self.mapping.columns.iter().zip(&self.columns.at);
        columns
            .filter(|(column, _)| column.field == Some(field))
            .filter_map(|(column, at)| at.map(|at| (at, column)))
            .collect()
    }

    /// The column of a field; `end` as in the mapping, where none fits any.
    pub(crate) fn column(&self, field: Field, end: Option<u8>) -> Option<(usize, &'a ColumnMapping)> {
        self.all(field).into_iter().find(|(_, column)| end.is_none() || column.end == end)
    }

    /// The place of a cell, or of the row where there is no such column.
    pub(crate) fn place(&self, row: &Row, at: Option<usize>) -> Place {
        match at {
            Some(at) => {
                let header = self.columns.headers.get(at).map_or("", String::as_str);
                self.table.place(row.number, at, header)
            }
            None => Place::row(&self.table.sheet, row.number),
        }
    }

    /// The trimmed text of a field, with its column; empty where nothing stands.
    pub(crate) fn text(&mut self, row: &Row, field: Field, end: Option<u8>) -> (String, Option<usize>) {
        let Some((at, _)) = self.column(field, end) else { return (String::new(), None) };
        (self.cell_text(row, at), Some(at))
    }

    /// The trimmed text of a cell. An error of the spreadsheet is a problem.
    pub(crate) fn cell_text(&mut self, row: &Row, at: usize) -> String {
        let cell = row.cell(at);
        if let Value::Fault(code) = &cell.value {
            self.error(self.place(row, Some(at)), "a value", format!("the error {code}"));
            return String::new();
        }
        self.note_formula(cell);
        cell.shown().trim().to_owned()
    }

    pub(crate) fn note_formula(&mut self, cell: &Cell) {
        if cell.from_formula {
            self.assumptions.insert("formulas count with the value that the workbook stored last".to_owned());
        }
    }

    /// The cells whose column has no field, or a field that this kind of record does not hold.
    pub(crate) fn extra(&self, row: &Row, held: &[Field]) -> Vec<(String, String)> {
        let mapped: BTreeSet<usize> =
            held.iter().flat_map(|field| self.all(*field)).map(|(at, _)| at).collect();
        (0..row.cells.len())
            .filter(|at| !mapped.contains(at) && !row.cell(*at).is_blank())
            .map(|at| {
                let header = self.columns.headers.get(at).cloned();
                let header = header.unwrap_or_else(|| format!("column {}", crate::place::column_letters(at)));
                (header, row.cell(at).shown())
            })
            .collect()
    }

    pub(crate) fn error(&mut self, place: Place, expected: impl Into<String>, found: impl Into<String>) {
        self.problem(Severity::Error, place, expected, found);
    }

    pub(crate) fn problem(
        &mut self,
        severity: Severity,
        place: Place,
        expected: impl Into<String>,
        found: impl Into<String>,
    ) {
        let found = found.into();
        let found = if found.is_empty() { "nothing".to_owned() } else { found };
        self.problems.push(Problem { severity, place, expected: expected.into(), found });
    }

    pub(crate) fn ask(&mut self, topic: Topic, place: Place, example: impl Into<String>) {
        let fresh = || Question { topic, place, example: example.into(), cells: 0 };
        self.questions.entry(topic).or_insert_with(fresh).cells += 1;
    }
}

/// Whether the first text of a row is a word for sums, and the row is thin.
fn is_totals(row: &Row) -> bool {
    let first = row.cells.iter().find(|cell| !cell.is_blank());
    let Some(Value::Text(text)) = first.map(|cell| &cell.value) else { return false };
    let words = tokens(text);
    words.len() <= 4 && words.first().is_some_and(|word| TOTALS.contains(&word.as_str()))
}
