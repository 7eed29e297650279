#![doc = include_str!("../README.md")]

mod check_character;
mod columns;
mod dates;
mod depth;
mod draft;
mod duplicates;
mod end_columns;
mod error;
mod harmless;
mod header;
mod items;
mod log;
mod mapping;
mod number;
mod phrase_lists;
mod phrases;
mod place;
mod question;
mod read;
mod readings;
mod records;
mod register;
mod rows;
mod sheet;
mod table;
mod text_file;
mod unit;
mod words;
mod workbook;
mod zone;

pub use check_character::{CheckSystem, check_character, verify_check_character};
pub use columns::FoundColumns;
pub use dates::serial_to_civil;
pub use depth::{DepthColumn, DepthTrouble, PinPosition, read_pin_position};
pub use draft::{Draft, Duplicate, InterfaceNames, KnownTags, NameLookup, Skipped, draft};
pub use error::{IntakeError, NotReady, Problem, Severity};
pub use harmless::{harmless_cell, plain_cell};
pub use header::guess_header_row;
pub use mapping::{
    Answers, ColumnMapping, Confidence, DayOrder, DecimalSign, DuplicateRule, Field, Kind, Mapping,
    PositiveMeans, TorqueUnit, guess_kind, guess_mapping,
};
pub use number::decimal_evidence;
pub use place::{Place, column_letters};
pub use question::{Question, Topic};
pub use read::{Limits, read_tables, read_tables_within};
pub use readings::{
    Holds, ReadingRow, Readings, ReadingsAsked, ReadingsError, Wanted, read_readings, readings_of,
};
pub use records::{CleaningRow, EndRow, GaugingRow, InspectionRow, MateRow, RegisterRow, Rows};
pub use rows::{BodyMaterial, Cost, Extra, Grade, ItemKind, OutcomeWord, Resolution, Sex, Slots, When};
pub use table::{Cell, Row, Table, Value};
pub use words::{DepthWord, LengthUnit, header_unit};
