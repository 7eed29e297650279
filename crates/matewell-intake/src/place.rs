//! Where something stands in a file, as the person sees it in the spreadsheet.

use std::fmt;

/// A sheet, a row, a column. Rows count from 1, columns are letters.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The name of the sheet; for a text file the name of the file.
    pub sheet: String,
    /// The row as the spreadsheet numbers it.
    pub row: Option<u32>,
    /// The column letters.
    pub column: Option<String>,
    /// The header of the column.
    pub header: Option<String>,
}

impl Place {
    /// A whole sheet.
    pub fn sheet(sheet: &str) -> Self {
        Self { sheet: sheet.to_owned(), row: None, column: None, header: None }
    }

    /// A row of a sheet.
    pub fn row(sheet: &str, row: u32) -> Self {
        Self { row: Some(row), ..Self::sheet(sheet) }
    }

    /// A cell; `column` counts from 0.
    pub fn cell(sheet: &str, row: u32, column: usize, header: &str) -> Self {
        let header = if header.is_empty() { None } else { Some(header.to_owned()) };
        Self { column: Some(column_letters(column)), header, ..Self::row(sheet, row) }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sheet \"{}\"", self.sheet)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        if let Some(header) = &self.header {
            write!(f, " (\"{header}\")")?;
        }
        Ok(())
    }
}

/// The letters of a column that counts from 0: `A`, `Z`, `AA`, `XFD`.
pub fn column_letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    loop {
        let digit = u8::try_from(rest % 26).unwrap_or(0);
        letters.push(char::from(b'A' + digit));
        if rest < 26 {
            break;
        }
        rest = rest / 26 - 1;
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_lettered_as_a_spreadsheet_does() {
        for (column, letters) in [
            (0, "A"),
            (25, "Z"),
            (26, "AA"),
            (51, "AZ"),
            (52, "BA"),
            (701, "ZZ"),
            (702, "AAA"),
            (16_383, "XFD"),
        ] {
            assert_eq!(column_letters(column), letters);
        }
    }
}
