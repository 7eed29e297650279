//! Rows of a log: mates, gaugings, cleanings, inspections.

use crate::{
    dates::{self, DateTrouble},
    depth::{DepthColumn, DepthTrouble, PinPosition, read_pin_position},
    draft::KnownTags,
    error::Severity,
    mapping::{DecimalSign, Field},
    question::Topic,
    records::{CleaningRow, GaugingRow, InspectionRow, MateRow},
    rows::{OutcomeWord, Resolution, When},
    sheet::Sheet,
    table::{Row, Value},
    words::tokens,
    zone::{self, Moment},
};

/// The fields of every log.
const HELD: [Field; 6] =
    [Field::Date, Field::Time, Field::Person, Field::EndTag, Field::EndName, Field::Note];

fn extra(sheet: &Sheet<'_>, row: &Row, more: &[Field]) -> Vec<(String, String)> {
    let held: Vec<Field> = HELD.iter().chain(more).copied().collect();
    sheet.extra(row, &held)
}

pub(crate) fn read_mates(sheet: &mut Sheet<'_>, known: &dyn KnownTags) -> Vec<MateRow> {
    let mut rows = Vec::new();
    for row in sheet.records() {
        let when = read_when(sheet, row);
        let ends = (read_end(sheet, row, 1, known), read_end(sheet, row, 2, known));
        let person = read_person(sheet, row);
        let wrench = read_tool(sheet, row, Field::Wrench, known);
        let (note, _) = sheet.text(row, Field::Note, None);
        let (Some(when), (Some(end_a), Some(end_b)), Some(person)) = (when, ends, person) else { continue };
        let place = sheet.place(row, None);
        if end_a == end_b {
            sheet.error(place, "two different ends", format!("{end_a} mated with itself"));
            continue;
        }
        let extra = extra(sheet, row, &[Field::Wrench]);
        rows.push(MateRow { when, end_a, end_b, person, wrench, note, extra, place });
    }
    // Which end is written first says nothing.
    crate::duplicates::weigh(sheet, rows, |row| {
        let mut row = row.clone();
        if row.end_a > row.end_b {
            std::mem::swap(&mut row.end_a, &mut row.end_b);
        }
        row.place = crate::place::Place::sheet("");
        row
    })
}

pub(crate) fn read_gaugings(sheet: &mut Sheet<'_>, known: &dyn KnownTags) -> Vec<GaugingRow> {
    if sheet.all(Field::PinDepth).is_empty() {
        let place = crate::place::Place::sheet(&sheet.table.sheet);
        sheet.error(place, "a column of pin depths", "none");
    }
    let mut rows = Vec::new();
    for row in sheet.records() {
        let when = read_when(sheet, row);
        let end = read_end(sheet, row, 1, known);
        let person = read_person(sheet, row);
        let gauge = read_tool(sheet, row, Field::Gauge, known);
        let readings = read_readings(sheet, row);
        let stated_uncertainty_um = read_length_um(sheet, row, Field::Uncertainty);
        let (note, _) = sheet.text(row, Field::Note, None);
        let (Some(when), Some(end), Some(person), Some(readings)) = (when, end, person, readings) else {
            continue;
        };
        let extra = extra(sheet, row, &[Field::Gauge, Field::PinDepth, Field::Uncertainty]);
        let place = sheet.place(row, None);
        rows.push(GaugingRow {
            when,
            end,
            gauge,
            person,
            readings,
            stated_uncertainty_um,
            note,
            extra,
            place,
        });
    }
    crate::duplicates::weigh(sheet, rows, |row| GaugingRow {
        place: crate::place::Place::sheet(""),
        ..row.clone()
    })
}

pub(crate) fn read_cleanings(sheet: &mut Sheet<'_>, known: &dyn KnownTags) -> Vec<CleaningRow> {
    let mut rows = Vec::new();
    for row in sheet.records() {
        let when = read_when(sheet, row);
        let end = read_end(sheet, row, 1, known);
        let person = read_person(sheet, row);
        let (method, _) = sheet.text(row, Field::Method, None);
        let (note, _) = sheet.text(row, Field::Note, None);
        let (Some(when), Some(end), Some(person)) = (when, end, person) else { continue };
        let extra = extra(sheet, row, &[Field::Method]);
        let place = sheet.place(row, None);
        rows.push(CleaningRow { when, end, person, method, note, extra, place });
    }
    crate::duplicates::weigh(sheet, rows, |row| CleaningRow {
        place: crate::place::Place::sheet(""),
        ..row.clone()
    })
}

pub(crate) fn read_inspections(sheet: &mut Sheet<'_>, known: &dyn KnownTags) -> Vec<InspectionRow> {
    let mut rows = Vec::new();
    for row in sheet.records() {
        let when = read_when(sheet, row);
        let end = read_end(sheet, row, 1, known);
        let person = read_person(sheet, row);
        let seen = read_seen(sheet, row);
        let magnification = read_magnification(sheet, row);
        let (note, _) = sheet.text(row, Field::Note, None);
        let (Some(when), Some(end), Some(person), Some((outcome, seen))) = (when, end, person, seen) else {
            continue;
        };
        let extra = extra(sheet, row, &[Field::Finding, Field::Magnification]);
        let place = sheet.place(row, None);
        rows.push(InspectionRow { when, end, person, outcome, seen, magnification, note, extra, place });
    }
    crate::duplicates::weigh(sheet, rows, |row| InspectionRow {
        place: crate::place::Place::sheet(""),
        ..row.clone()
    })
}

fn read_when(sheet: &mut Sheet<'_>, row: &Row) -> Option<When> {
    let Some((at, _)) = sheet.column(Field::Date, None) else {
        sheet.error(sheet.place(row, None), "a column with the date", "none");
        return None;
    };
    let place = sheet.place(row, Some(at));
    sheet.note_formula(row.cell(at));
    let found = row.cell(at).shown();
    let mut written = match dates::read_date(row.cell(at), sheet.day_order) {
        Ok(written) => written,
        Err(DateTrouble::NeedsDayOrder) => {
            sheet.ask(Topic::DayOrder, place, found);
            return None;
        }
        Err(DateTrouble::Wrong(expected)) => {
            sheet.error(place, expected, found);
            return None;
        }
    };
    if written.was_serial {
        let words = "numbers in the date column are serial dates of the 1900 calendar of spreadsheets";
        sheet.assumptions.insert(words.to_owned());
    }
    if let Some((at, _)) = sheet.column(Field::Time, None)
        && !row.cell(at).is_blank()
    {
        match dates::read_time(row.cell(at)) {
            Ok((time, offset)) if written.time.is_none() => {
                written.time = Some(time);
                written.offset = offset;
            }
            Ok((time, _)) if written.time == Some(time) => {}
            Ok(_) => {
                let found = format!("{found} and {}", row.cell(at).shown());
                sheet.error(sheet.place(row, Some(at)), "one time of day", found);
                return None;
            }
            Err(DateTrouble::Wrong(expected)) => {
                sheet.error(sheet.place(row, Some(at)), expected, row.cell(at).shown());
                return None;
            }
            Err(DateTrouble::NeedsDayOrder) => return None,
        }
    }
    let Some(time) = written.time else {
        return zone::midnight(written.date).map(|at_us| When { at_us, resolution: Resolution::Day });
    };
    let instant = |at_us| Some(When { at_us, resolution: Resolution::Instant });
    let shown = || written.date.to_datetime(time).to_string();
    match zone::moment(written, time, sheet.zone.as_ref()) {
        Moment::At(at) => instant(at),
        Moment::Twice(at) => {
            let expected = "a time that was there once (the clock went back; the first is taken)";
            sheet.problem(Severity::Warning, place, expected, shown());
            instant(at)
        }
        Moment::Never => {
            sheet.error(place, "a time that was there (the clock went forward)", shown());
            None
        }
        Moment::Outside => {
            sheet.error(place, "a time from 1990 to 2100", shown());
            None
        }
        Moment::NeedsZone => {
            // An answer that is no zone is a problem already.
            if sheet.answers().time_zone.is_none() {
                sheet.ask(Topic::TimeZone, place, shown());
            }
            None
        }
    }
}

fn read_person(sheet: &mut Sheet<'_>, row: &Row) -> Option<String> {
    let (person, at) = sheet.text(row, Field::Person, None);
    if !person.is_empty() {
        return Some(person);
    }
    if let Some(answer) = sheet.answers().person.clone().filter(|answer| !answer.trim().is_empty()) {
        return Some(answer.trim().to_owned());
    }
    sheet.ask(Topic::Person, sheet.place(row, at), "nothing");
    None
}

/// The tag of an end: a tag that fits exactly one end, or the tag of an item
/// with the name of its end beside it.
fn read_end(sheet: &mut Sheet<'_>, row: &Row, number: u8, known: &dyn KnownTags) -> Option<String> {
    let (tag, at) = sheet.text(row, Field::EndTag, Some(number));
    let (name, _) = sheet.text(row, Field::EndName, Some(number));
    let place = sheet.place(row, at);
    if tag.is_empty() {
        let found = if at.is_none() { "no such column" } else { "" };
        sheet.error(place, "the tag of an end", found);
        return None;
    }
    if !name.is_empty() {
        let joined = ["", "-", "/", ".", ":", "_", " "].map(|joint| format!("{tag}{joint}{name}"));
        let fits: Vec<&String> = joined.iter().filter(|tag| known.ends(tag) == 1).collect();
        match fits.as_slice() {
            [one] => return Some((*one).clone()),
            [] => {}
            several => {
                let listed: Vec<&str> = several.iter().map(|tag| tag.as_str()).collect();
                sheet.error(
                    place,
                    "a tag that fits one end",
                    format!("{tag} {name}, which fits {}", listed.join(", ")),
                );
                return None;
            }
        }
    }
    let shown = if name.is_empty() { tag.clone() } else { format!("{tag} {name}") };
    let found = match (known.ends(&tag), known.item(&tag)) {
        // A name beside the tag must not be dropped: it was meant to say which.
        (1, _) if name.is_empty() || known.end_tags(&tag).iter().all(|end| *end == tag) => return Some(tag),
        (1, _) => format!("{shown}, which is no end of {tag}"),
        (0, true) => format!("{shown}, an item without ends"),
        (0, false) => format!("{shown}, which is not registered"),
        (count, _) => format!("{shown}, which fits {count} ends"),
    };
    let ends = known.end_tags(&tag);
    let found = if ends.is_empty() { found } else { format!("{found} (its ends: {})", ends.join(", ")) };
    sheet.error(place, "the tag of one registered end", found);
    None
}

/// The tag of a gauge or a wrench; nothing where none stands.
fn read_tool(sheet: &mut Sheet<'_>, row: &Row, field: Field, known: &dyn KnownTags) -> Option<String> {
    let (tag, at) = sheet.text(row, field, None);
    if tag.is_empty() || matches!(tag.as_str(), "-" | "\u{2013}" | "none" | "None") {
        return None;
    }
    if !known.item(&tag) {
        let expected = if field == Field::Gauge {
            "the tag of a registered gauge"
        } else {
            "the tag of a registered torque wrench"
        };
        sheet.error(sheet.place(row, at), expected, format!("{tag}, which is not registered"));
    }
    Some(tag)
}

fn read_readings(sheet: &mut Sheet<'_>, row: &Row) -> Option<Vec<PinPosition>> {
    let mut readings = Vec::new();
    let mut whole = true;
    let mut first = None;
    for (at, column) in sheet.all(Field::PinDepth) {
        first = first.or(Some(at));
        let text = sheet.cell_text(row, at);
        let is_number = matches!(row.cell(at).value, Value::Number(_));
        if matches!(row.cell(at).value, Value::Fault(_)) {
            whole = false;
        }
        let known = DepthColumn {
            unit: column.unit.or(sheet.answers().depth_unit),
            word: column.word,
            positive_means: sheet.answers().positive_means,
            decimal: if is_number { Some(DecimalSign::Point) } else { sheet.decimal },
        };
        for part in text.split(';').map(str::trim).filter(|part| !part.is_empty() && *part != "-") {
            let place = sheet.place(row, Some(at));
            match read_pin_position(part, known) {
                Ok(reading) => readings.push(reading),
                Err(trouble) => {
                    whole = false;
                    match trouble {
                        DepthTrouble::NeedsUnit => sheet.ask(Topic::DepthUnit, place, part),
                        DepthTrouble::NeedsConvention => sheet.ask(Topic::PositiveMeans, place, part),
                        DepthTrouble::NeedsDecimalSign => sheet.ask(Topic::Decimal, place, part),
                        DepthTrouble::Wrong(expected) => sheet.error(place, expected, part),
                    }
                }
            }
        }
    }
    if readings.is_empty() && whole && first.is_some() {
        sheet.error(sheet.place(row, first), "at least one reading of the pin depth", "");
    }
    (whole && !readings.is_empty()).then_some(readings)
}

/// A positive length in micrometres.
pub(crate) fn read_length_um(sheet: &mut Sheet<'_>, row: &Row, field: Field) -> Option<f64> {
    let (at, column) = sheet.column(field, None)?;
    let text = sheet.cell_text(row, at);
    let text = text.trim_start_matches('\u{b1}').trim();
    if text.is_empty() {
        return None;
    }
    let is_number = matches!(row.cell(at).value, Value::Number(_));
    let known = DepthColumn {
        unit: column.unit.or(sheet.answers().depth_unit),
        // A magnitude: the word only keeps the reader from asking whose sign it is.
        word: Some(crate::words::DepthWord::Recessed),
        positive_means: None,
        decimal: if is_number { Some(DecimalSign::Point) } else { sheet.decimal },
    };
    let place = sheet.place(row, Some(at));
    match read_pin_position(text, known) {
        Ok(PinPosition::Recessed(length)) => return Some(length.micrometres()),
        Err(DepthTrouble::NeedsUnit) => sheet.ask(Topic::DepthUnit, place, text),
        Err(DepthTrouble::NeedsDecimalSign) => sheet.ask(Topic::Decimal, place, text),
        _ => sheet.error(place, "a positive length such as 3 \u{b5}m", text),
    }
    None
}

/// What was seen, part by part, and the worst of it.
fn read_seen(sheet: &mut Sheet<'_>, row: &Row) -> Option<(OutcomeWord, Vec<String>)> {
    let (text, at) = sheet.text(row, Field::Finding, None);
    let parts = text.split([',', ';', '/', '+', '&']).map(str::trim).filter(|part| !part.is_empty());
    let seen: Vec<String> = parts.map(str::to_owned).collect();
    let mut worst = None;
    for part in &seen {
        let Some(outcome) = outcome_of(part) else {
            let place = sheet.place(row, at);
            sheet.error(place, format!("words for one of {}", OutcomeWord::offered()), part.clone());
            return None;
        };
        worst = worst.max(Some(outcome));
    }
    if worst.is_none() {
        sheet.error(sheet.place(row, at), format!("one of {}", OutcomeWord::offered()), "");
    }
    worst.map(|worst| (worst, seen))
}

/// The outcome a phrase speaks of: as a whole, or by the worst of its words
/// when none of them denies.
fn outcome_of(part: &str) -> Option<OutcomeWord> {
    if let Some(outcome) = OutcomeWord::from_text(part) {
        return Some(outcome);
    }
    let words = tokens(part);
    let denies = |word: &String| {
        matches!(word.as_str(), "no" | "not" | "non" | "without" | "kein" | "keine" | "nicht" | "ohne")
    };
    if words.iter().any(denies) {
        return None;
    }
    words.iter().filter_map(|word| OutcomeWord::from_text(word)).max()
}

fn read_magnification(sheet: &mut Sheet<'_>, row: &Row) -> Option<f64> {
    let (text, at) = sheet.text(row, Field::Magnification, None);
    let bare = text.trim_matches(|c: char| matches!(c, 'x' | 'X' | '\u{d7}' | ':' | ' '));
    if bare.is_empty() {
        return None;
    }
    let is_number = at.is_some_and(|at| matches!(row.cell(at).value, Value::Number(_)));
    let decimal = if is_number { Some(DecimalSign::Point) } else { sheet.decimal };
    match crate::number::read_number(bare, decimal) {
        Ok(number) if number > 0.0 && number <= 10_000.0 => Some(number),
        _ => {
            sheet.error(sheet.place(row, at), "a magnification such as 40", text);
            None
        }
    }
}
