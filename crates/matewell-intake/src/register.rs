//! Rows of a register: one per item with its ends side by side, or one per end.

use crate::{
    draft::{InterfaceNames, KnownTags, NameLookup},
    items::{Items, OneRow},
    mapping::{DecimalSign, Field, TorqueUnit},
    question::Topic,
    records::{EndRow, RegisterRow},
    rows::{BodyMaterial, Cost, Grade, ItemKind, Sex, Slots},
    sheet::Sheet,
    table::{Row, Value},
};
use matewell_quantity::Torque;

const HELD: [Field; 18] = [
    Field::ItemTag,
    Field::ItemKind,
    Field::Description,
    Field::Model,
    Field::Serial,
    Field::Location,
    Field::Cost,
    Field::Currency,
    Field::EndTag,
    Field::EndName,
    Field::Interface,
    Field::Sex,
    Field::Grade,
    Field::Slotting,
    Field::BodyMaterial,
    Field::GaugeUncertainty,
    Field::Repeatability,
    Field::Note,
];

/// Three capital letters.
pub(crate) fn is_currency(text: &str) -> bool {
    text.len() == 3 && text.chars().all(|c| c.is_ascii_uppercase())
}

pub(crate) fn read_register(
    sheet: &mut Sheet<'_>,
    names: &dyn InterfaceNames,
    known: &dyn KnownTags,
) -> Vec<RegisterRow> {
    let numbered = (1..=4_u8).filter(|end| sheet.column(Field::Interface, Some(*end)).is_some());
    let numbered: Vec<u8> = numbered.collect();
    let mut items = Items::default();
    for row in sheet.records() {
        let before = sheet.problems.len();
        let Some((mut item, kind_said)) = read_item(sheet, row) else { continue };
        if numbered.is_empty() {
            item.ends.extend(read_end(sheet, row, None, &item.item_tag, names));
        } else {
            for end in &numbered {
                let end = read_end(sheet, row, Some(*end), &item.item_tag, names);
                item.ends.extend(end);
            }
        }
        let troubled = sheet.problems.len() > before;
        items.add(sheet, row, OneRow { item, kind_said, troubled }, numbered.is_empty());
    }
    items.finish(sheet, known)
}

fn word<T: Copy>(
    sheet: &mut Sheet<'_>,
    row: &Row,
    field: Field,
    end: Option<u8>,
    read: fn(&str) -> Option<T>,
    offered: &str,
    empty: T,
) -> T {
    let (text, at) = sheet.text(row, field, end);
    if text.is_empty() || text == "-" {
        return empty;
    }
    read(&text).unwrap_or_else(|| {
        sheet.error(sheet.place(row, at), format!("one of {offered}"), text);
        empty
    })
}

/// The item of a row, and whether its kind was written.
fn read_item(sheet: &mut Sheet<'_>, row: &Row) -> Option<(RegisterRow, bool)> {
    let (item_tag, at) = sheet.text(row, Field::ItemTag, None);
    if item_tag.is_empty() {
        sheet.error(
            sheet.place(row, at),
            "the tag of an item",
            if at.is_none() { "no such column" } else { "" },
        );
        return None;
    }
    let kind_said = !matches!(sheet.text(row, Field::ItemKind, None).0.as_str(), "" | "-");
    let item_kind =
        word(sheet, row, Field::ItemKind, None, ItemKind::from_text, &ItemKind::offered(), ItemKind::Other);
    let mut text = |field| sheet.text(row, field, None).0;
    let (description, model, serial, location, note) = (
        text(Field::Description),
        text(Field::Model),
        text(Field::Serial),
        text(Field::Location),
        text(Field::Note),
    );
    let cost = read_cost(sheet, row);
    let gauge_standard_uncertainty_um = crate::log::read_length_um(sheet, row, Field::GaugeUncertainty);
    let repeatability_um = crate::log::read_length_um(sheet, row, Field::Repeatability);
    let wrench_set_point = read_torque(sheet, row);
    let held: Vec<Field> = HELD.iter().copied().chain([Field::Torque]).collect();
    let (extra, place) = (sheet.extra(row, &held), sheet.place(row, None));
    let item = RegisterRow {
        item_tag,
        item_kind,
        description,
        model,
        serial,
        location,
        note,
        cost,
        ends: Vec::new(),
        gauge_standard_uncertainty_um,
        repeatability_um,
        wrench_set_point,
        extra,
        place,
    };
    Some((item, kind_said))
}

/// One end; none where no interface stands.
fn read_end(
    sheet: &mut Sheet<'_>,
    row: &Row,
    end: Option<u8>,
    item: &str,
    names: &dyn InterfaceNames,
) -> Option<EndRow> {
    let (name, at) = sheet.text(row, Field::Interface, end);
    let (tag, _) = sheet.text(row, Field::EndTag, end);
    if name.is_empty() || name == "-" {
        if !tag.is_empty() {
            sheet.error(sheet.place(row, at), "an interface beside the tag of the end", "");
        }
        return None;
    }
    let place = sheet.place(row, at);
    let (sex_text, sex_at) = sheet.text(row, Field::Sex, end);
    let mut sex = Sex::from_text(&sex_text);
    let mut lookup = names.resolve(&name);
    // "SMA (f)": the sex behind the name.
    if lookup == NameLookup::Unknown
        && let Some((front, last)) = name.trim_end_matches(')').rsplit_once([' ', '(', '-'])
        && let Some(found) = Sex::from_text(last)
    {
        if sex.is_some_and(|sex| sex != found) {
            sheet.error(place, "the same sex in both columns", format!("{name} and {sex_text}"));
            return None;
        }
        sex = Some(found);
        lookup = names.resolve(front.trim_end_matches([' ', '(', '-', ',']));
    }
    let interface = match lookup {
        NameLookup::Found(key) => key,
        NameLookup::Ambiguous(keys) => {
            sheet.error(place, format!("the name of one interface: {}", keys.join(" or ")), name);
            return None;
        }
        NameLookup::Unknown => {
            sheet.error(place, "the name of an interface in the data sheets", name);
            return None;
        }
    };
    if sex.is_none() && sex_text.is_empty() && names.is_sexless(&interface) {
        sex = Some(Sex::Neutral);
    }
    let Some(sex) = sex else {
        sheet.error(sheet.place(row, sex_at.or(at)), format!("one of {}", Sex::offered()), sex_text);
        return None;
    };
    let grade = word(sheet, row, Field::Grade, end, Grade::from_text, &Grade::offered(), Grade::Unknown);
    let body = word(
        sheet,
        row,
        Field::BodyMaterial,
        end,
        BodyMaterial::from_text,
        &BodyMaterial::offered(),
        BodyMaterial::Unknown,
    );
    let slots = word(sheet, row, Field::Slotting, end, Slots::from_text, &Slots::offered(), Slots::Unknown);
    let (end_name, _) = sheet.text(row, Field::EndName, end);
    let tag = match (tag.is_empty(), end_name.is_empty(), end) {
        (false, ..) => tag,
        (true, false, _) => format!("{item}/{end_name}"),
        (true, true, Some(number)) => format!("{item}/{number}"),
        (true, true, None) => item.to_owned(),
    };
    if sheet.column(Field::EndTag, end).is_none() {
        sheet
            .assumptions
            .insert("ends without a tag are called after their item and their number".to_owned());
    }
    Some(EndRow { tag, interface, sex, grade, body, slots, place })
}

fn number(sheet: &mut Sheet<'_>, row: &Row, at: usize, text: &str, expected: &str) -> Option<f64> {
    let is_number = matches!(row.cell(at).value, Value::Number(_));
    let decimal = if is_number { Some(DecimalSign::Point) } else { sheet.decimal };
    let place = sheet.place(row, Some(at));
    match crate::number::read_number(text, decimal) {
        Ok(number) if number >= 0.0 => return Some(number),
        Err(crate::number::NumberTrouble::Ambiguous) => sheet.ask(Topic::Decimal, place, text),
        _ => sheet.error(place, expected, text),
    }
    None
}

fn read_cost(sheet: &mut Sheet<'_>, row: &Row) -> Option<Cost> {
    const EXPECTED: &str = "an amount such as 420.00 EUR";
    let (text, at) = sheet.text(row, Field::Cost, None);
    let at = at?;
    if text.is_empty() || text == "-" {
        return None;
    }
    let letters: String = text.chars().filter(char::is_ascii_alphabetic).collect::<String>().to_uppercase();
    let (mut written, _) = sheet.text(row, Field::Currency, None);
    if written.is_empty() {
        written = if text.contains('\u{20ac}') { "EUR".to_owned() } else { letters.clone() };
    }
    if written.is_empty() {
        written = sheet.answers().currency.clone().unwrap_or_default();
    }
    let bare: String = text.chars().filter(|c| !c.is_alphabetic() && *c != '\u{20ac}' && *c != ' ').collect();
    let amount = number(sheet, row, at, &bare, EXPECTED)?;
    let hundredths = (amount * 100.0).round();
    if hundredths > 1e13 || (hundredths - amount * 100.0).abs() > 1e-3 {
        sheet.error(sheet.place(row, Some(at)), EXPECTED, text);
        return None;
    }
    if written.is_empty() {
        sheet.ask(Topic::Currency, sheet.place(row, Some(at)), text);
        return None;
    }
    if !is_currency(&written) {
        sheet.error(sheet.place(row, Some(at)), "a currency of three letters (ISO 4217)", written);
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "at most 1e13, checked above")]
    let hundredths = hundredths as i64;
    Some(Cost { hundredths, currency: written })
}

fn read_torque(sheet: &mut Sheet<'_>, row: &Row) -> Option<Torque> {
    const EXPECTED: &str = "a torque such as 0.9 N.m";
    let (text, at) = sheet.text(row, Field::Torque, None);
    let at = at?;
    if text.is_empty() || text == "-" {
        return None;
    }
    let place = sheet.place(row, Some(at));
    let (bare, unit) = matewell_quantity::split_number_and_unit(&text);
    let value = number(sheet, row, at, bare, EXPECTED)?;
    let torque = if unit.is_empty() {
        match sheet.answers().torque_unit {
            Some(TorqueUnit::NewtonMetre) => Torque::from_newton_metres(value),
            Some(TorqueUnit::CentinewtonMetre) => Torque::from_centinewton_metres(value),
            Some(TorqueUnit::InchPoundForce) => Torque::from_inch_pounds_force(value),
            None => {
                sheet.ask(Topic::TorqueUnit, place, text);
                return None;
            }
        }
    } else {
        format!("{value} {unit}").parse()
    };
    torque.map_err(|_| sheet.error(place, EXPECTED, text)).ok()
}
