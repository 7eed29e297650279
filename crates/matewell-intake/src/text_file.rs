//! Text files: which encoding, which separator, which cells.

use crate::{
    error::IntakeError,
    harmless::plain_cell,
    read::Limits,
    table::{Cell, Row, Table},
};

/// Records looked at to find the separator.
const SAMPLE: usize = 60;

/// Reads comma, semicolon, tab or bar separated text.
pub(crate) fn read_text(bytes: &[u8], file: &str, limits: &Limits) -> Result<Table, IntakeError> {
    let (text, encoding) = decode(bytes, file)?;
    let (hint, skip_first) = separator_hint(&text);
    let separator = hint.unwrap_or_else(|| guess_separator(&text));
    let mut rows = Vec::new();
    let mut cells = 0_u64;
    let mut too_many: Option<(&'static str, u64)> = None;
    records(&text, separator, |number, fields| {
        if skip_first && number == 1 {
            return true;
        }
        if fields.iter().all(|field| field.trim().is_empty()) {
            return true;
        }
        let trailing = fields.iter().rev().take_while(|field| field.is_empty()).count();
        let used = fields.len() - trailing;
        cells += used as u64;
        let limit = if u64::from(number) > limits.rows {
            Some(("rows", limits.rows))
        } else if used as u64 > limits.columns {
            Some(("columns", limits.columns))
        } else if cells > limits.cells {
            Some(("cells", limits.cells))
        } else {
            None
        };
        if limit.is_some() {
            too_many = limit;
            return false;
        }
        let cells = fields.iter().take(used).map(|field| Cell::text(plain_cell(field))).collect();
        rows.push(Row { number, cells });
        true
    });
    if let Some((what, limit)) = too_many {
        return Err(IntakeError::TooMany { file: file.to_owned(), sheet: file.to_owned(), what, limit });
    }
    let name = match separator {
        '\t' => "tab",
        ';' => "semicolon",
        '|' => "bar",
        _ => "comma",
    };
    Ok(Table {
        file: file.to_owned(),
        sheet: file.to_owned(),
        read_as: format!("text, {encoding}, separated by {name}"),
        rows,
        header_row: None,
    })
}

/// UTF-8 with or without mark, UTF-16 with mark, otherwise Windows-1252, which
/// agrees with Latin-1 in all printable characters.
fn decode(bytes: &[u8], file: &str) -> Result<(String, &'static str), IntakeError> {
    let marked = |encoding: &'static encoding_rs::Encoding, rest: &[u8], name| {
        let (text, broken) = encoding.decode_without_bom_handling(rest);
        if broken {
            let found = format!("a file marked as {name} with bytes that are not {name}");
            return Err(IntakeError::UnknownFormat { file: file.to_owned(), found });
        }
        Ok((text.into_owned(), name))
    };
    match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => return marked(encoding_rs::UTF_8, rest, "UTF-8"),
        [0xff, 0xfe, rest @ ..] => return marked(encoding_rs::UTF_16LE, rest, "UTF-16"),
        [0xfe, 0xff, rest @ ..] => return marked(encoding_rs::UTF_16BE, rest, "UTF-16"),
        _ => {}
    }
    if bytes.contains(&0) {
        let found = "bytes that are not text".to_owned();
        return Err(IntakeError::UnknownFormat { file: file.to_owned(), found });
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok((text.to_owned(), "UTF-8")),
        Err(_) => {
            Ok((encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(), "Windows-1252"))
        }
    }
}

/// A first line `sep=;` names the separator; it is no data.
fn separator_hint(text: &str) -> (Option<char>, bool) {
    let first = text.lines().next().unwrap_or("").trim_end_matches('\r');
    let Some(rest) = first.strip_prefix("sep=") else { return (None, false) };
    let mut chars = rest.chars();
    match (chars.next(), chars.next()) {
        (Some(c @ (',' | ';' | '\t' | '|')), None) => (Some(c), true),
        _ => (None, false),
    }
}

/// The separator that gives most records the same number of fields. The
/// semicolon is looked at before the comma: a file with decimal commas has both.
fn guess_separator(text: &str) -> char {
    let mut best = (',', 0.0_f64);
    for separator in ['\t', ';', ',', '|'] {
        let mut counts = std::collections::BTreeMap::<usize, usize>::new();
        let mut seen = 0_usize;
        records(text, separator, |_, fields| {
            if fields.iter().any(|field| !field.trim().is_empty()) {
                *counts.entry(fields.len()).or_insert(0) += 1;
                seen += 1;
            }
            seen < SAMPLE
        });
        let agreeing = counts.iter().filter(|(fields, _)| **fields > 1).map(|(_, n)| *n).max().unwrap_or(0);
        let share = if seen == 0 { 0.0 } else { agreeing as f64 / seen as f64 };
        if share > best.1 {
            best = (separator, share);
        }
    }
    best.0
}

/// Splits text into records by the quoting rules of RFC 4180, lenient where
/// spreadsheets are: a quote inside an unquoted field is a character, text
/// behind a closing quote belongs to the field, a missing last quote ends with
/// the text. Blank lines count as rows, as a spreadsheet counts them.
///
/// Calls `take` with the row number and the fields until it answers `false`.
pub(crate) fn records(text: &str, separator: char, mut take: impl FnMut(u32, &[String]) -> bool) {
    let mut fields: Vec<String> = Vec::new();
    let mut field = String::new();
    let mut number = 1_u32;
    let mut quoted = false;
    let mut started = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if quoted {
            if c != '"' {
                field.push(c);
            } else if chars.peek() == Some(&'"') {
                chars.next();
                field.push('"');
            } else {
                quoted = false;
            }
        } else if c == '"' && field.is_empty() && !started {
            quoted = true;
            started = true;
        } else if c == separator {
            fields.push(std::mem::take(&mut field));
            started = false;
        } else if c == '\n' || c == '\r' {
            if c == '\r' && chars.peek() == Some(&'\n') {
                chars.next();
            }
            fields.push(std::mem::take(&mut field));
            started = false;
            if !take(number, &fields) {
                return;
            }
            fields.clear();
            number = number.saturating_add(1);
        } else {
            field.push(c);
            started = true;
        }
    }
    if !field.is_empty() || !fields.is_empty() || started {
        fields.push(field);
        take(number, &fields);
    }
}
