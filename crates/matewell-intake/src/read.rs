//! From bytes to tables, within limits.

use crate::{error::IntakeError, header::guess_header_row, table::Table, text_file::read_text, workbook};

/// How much a file may hold. A file beyond any of these is refused as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub bytes: u64,
    /// Bytes of all parts of a workbook after unpacking.
    pub unpacked_bytes: u64,
    /// Sheets of a workbook.
    pub sheets: u64,
    /// Highest row number.
    pub rows: u64,
    /// Columns.
    pub columns: u64,
    /// Cells of all sheets together, gaps between used cells included.
    pub cells: u64,
}

impl Limits {
    /// 64 MB packed, 512 MB unpacked, 64 sheets, the row count of a workbook
    /// sheet, 2048 columns, 4 million cells (about 32 bytes each plus their
    /// text: some 130 MB).
    pub const USUAL: Self = Self {
        bytes: 64_000_000,
        unpacked_bytes: 512_000_000,
        sheets: 64,
        rows: 1_048_576,
        columns: 2_048,
        cells: 4_000_000,
    };
}

/// Reads all tables of a file: one per sheet of a workbook, one of a text file.
/// The kind of file is told from its bytes, not its name.
///
/// # Errors
///
/// [`IntakeError`] when the file is too large, of another kind, or broken.
/// A file without any cell gives tables without rows.
pub fn read_tables(bytes: &[u8], file_name: &str) -> Result<Vec<Table>, IntakeError> {
    read_tables_within(bytes, file_name, &Limits::USUAL)
}

/// As [`read_tables`], within other limits.
///
/// # Errors
///
/// As [`read_tables`].
pub fn read_tables_within(bytes: &[u8], file_name: &str, limits: &Limits) -> Result<Vec<Table>, IntakeError> {
    let found = bytes.len() as u64;
    if found > limits.bytes {
        return Err(IntakeError::FileTooLarge { file: file_name.to_owned(), limit: limits.bytes, found });
    }
    let unknown =
        |found: &str| Err(IntakeError::UnknownFormat { file: file_name.to_owned(), found: found.to_owned() });
    let mut tables = match bytes {
        [b'P', b'K', 3, 4, ..] => workbook::read_workbook(bytes, file_name, limits)?,
        [b'P', b'K', ..] => return unknown("an empty or split archive"),
        [0xd0, 0xcf, 0x11, 0xe0, ..] => {
            return unknown(
                "an old binary workbook (XLS) or one with a password: save it as XLSX without a password",
            );
        }
        [b'%', b'P', b'D', b'F', ..] => return unknown("a PDF document"),
        _ => vec![read_text(bytes, file_name, limits)?],
    };
    for table in &mut tables {
        table.header_row = guess_header_row(table);
    }
    Ok(tables)
}
