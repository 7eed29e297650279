//! Several rows of one item: what may be left out, what must agree.

use crate::{
    draft::KnownTags,
    mapping::{DuplicateRule, Field},
    place::Place,
    records::{EndRow, RegisterRow},
    sheet::Sheet,
    table::Row,
};
use std::collections::HashMap;

/// A row of the register as it stands, before it is joined with others.
pub(crate) struct OneRow {
    pub(crate) item: RegisterRow,
    /// Whether the kind was written; an empty cell reads as the kind `other`.
    pub(crate) kind_said: bool,
    /// Whether a cell of the row is a problem already.
    pub(crate) troubled: bool,
}

/// What the rows of an item must agree on.
const AGREED: [(Field, &str); 10] = [
    (Field::ItemKind, "kind"),
    (Field::Description, "description"),
    (Field::Model, "model"),
    (Field::Serial, "serial number"),
    (Field::Location, "location"),
    (Field::Note, "note"),
    (Field::Cost, "cost"),
    (Field::GaugeUncertainty, "gauge uncertainty"),
    (Field::Repeatability, "repeatability"),
    (Field::Torque, "set torque"),
];

/// Nine decimals: far below any gauge or wrench, and two units of one value agree.
fn number(value: f64, unit: &str) -> String {
    let text = format!("{value:.9}");
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

/// A field in words; empty where the row says nothing.
fn said(row: &OneRow, field: Field) -> String {
    let item = &row.item;
    let um = |value: Option<f64>| value.map(|value| number(value, "\u{b5}m"));
    let text = match field {
        Field::ItemKind => row.kind_said.then(|| item.item_kind.word().to_owned()),
        Field::Description => Some(item.description.clone()),
        Field::Model => Some(item.model.clone()),
        Field::Serial => Some(item.serial.clone()),
        Field::Location => Some(item.location.clone()),
        Field::Note => Some(item.note.clone()),
        Field::Cost => item
            .cost
            .as_ref()
            .map(|cost| format!("{}.{:02} {}", cost.hundredths / 100, cost.hundredths % 100, cost.currency)),
        Field::GaugeUncertainty => um(item.gauge_standard_uncertainty_um),
        Field::Repeatability => um(item.repeatability_um),
        Field::Torque => item.wrench_set_point.map(|torque| number(torque.newton_metres(), "N\u{b7}m")),
        _ => None,
    };
    text.unwrap_or_default()
}

/// One item and the rows that add to it.
struct Entry {
    rows: Vec<OneRow>,
    /// For each agreed field what was said first, and where.
    first_said: Vec<Option<(String, Place)>>,
    /// The row of each end.
    ends: HashMap<String, usize>,
    /// The first row without an end.
    endless: Option<usize>,
}

#[derive(Default)]
pub(crate) struct Items {
    entries: Vec<Entry>,
    at: HashMap<String, usize>,
}

impl Items {
    /// Takes one more row of the file.
    pub(crate) fn add(&mut self, sheet: &mut Sheet<'_>, row: &Row, later: OneRow, row_per_end: bool) {
        let fresh = self.entries.len();
        let at = *self.at.entry(later.item.item_tag.clone()).or_insert(fresh);
        if at == fresh {
            let first_said = vec![None; AGREED.len()];
            self.entries.push(Entry { rows: Vec::new(), first_said, ends: HashMap::new(), endless: None });
        }
        if let Some(entry) = self.entries.get_mut(at) {
            entry.add(sheet, row, later, row_per_end);
        }
    }

    /// The items in the order of the file, without those that are registered already.
    pub(crate) fn finish(self, sheet: &mut Sheet<'_>, known: &dyn KnownTags) -> Vec<RegisterRow> {
        let mut items = Vec::with_capacity(self.entries.len());
        for entry in self.entries {
            let registered = entry.rows.first().is_some_and(|row| known.item(&row.item.item_tag));
            if registered {
                for row in &entry.rows {
                    never_kept(sheet, &row.item.place, None);
                }
            } else {
                items.extend(entry.joined());
            }
        }
        check_tags(sheet, &items, known);
        items
    }
}

/// Lists a row that is there already. An item cannot be there twice: keeping is no answer here.
fn never_kept(sheet: &mut Sheet<'_>, place: &Place, first: Option<Place>) {
    crate::duplicates::repeated(sheet, place, first, false);
    if sheet.answers().duplicates == Some(DuplicateRule::Keep) {
        let words = "an item cannot be there twice: repeated items and ends are left out";
        sheet.assumptions.insert(words.to_owned());
    }
}

impl Entry {
    fn add(&mut self, sheet: &mut Sheet<'_>, row: &Row, later: OneRow, row_per_end: bool) {
        let known = later.item.ends.iter().filter_map(|end| self.ends.get(&end.tag)).next();
        let like = if later.item.ends.is_empty() { self.endless.as_ref() } else { known };
        let like = like.and_then(|at| self.rows.get(*at));
        if let Some(like) = like.filter(|like| same_content(like, &later)) {
            never_kept(sheet, &later.item.place, Some(like.item.place.clone()));
            return;
        }
        let before = sheet.problems.len();
        compare(&mut self.first_said, sheet, row, &later);
        let tag = &later.item.item_tag;
        if let Some(like) = like {
            compare_ends(sheet, like, &later);
            if sheet.problems.len() == before && !later.troubled {
                let found = format!("{tag} again with other content than in {}", like.item.place);
                sheet.error(later.item.place.clone(), "one row for each item and end", found);
            }
            return;
        }
        if let Some(first) = self.rows.first().filter(|_| !later.troubled) {
            let found = format!("{tag} again, after {}", first.item.place);
            if !row_per_end {
                sheet.error(later.item.place.clone(), "one row for each item", found);
                return;
            }
            if later.item.ends.is_empty() {
                sheet.error(later.item.place.clone(), "an end of its own in each row of an item", found);
                return;
            }
        }
        let at = self.rows.len();
        self.ends.extend(later.item.ends.iter().map(|end| (end.tag.clone(), at)));
        if later.item.ends.is_empty() && !later.troubled {
            self.endless = self.endless.or(Some(at));
        }
        self.rows.push(later);
    }

    /// The item with all its ends.
    fn joined(self) -> Option<RegisterRow> {
        let mut rows = self.rows.into_iter();
        let OneRow { mut item, mut kind_said, .. } = rows.next()?;
        for OneRow { item: later, kind_said: said, .. } in rows {
            if !kind_said && said {
                (item.item_kind, kind_said) = (later.item_kind, true);
            }
            for (mine, theirs) in [
                (&mut item.description, later.description),
                (&mut item.model, later.model),
                (&mut item.serial, later.serial),
                (&mut item.location, later.location),
                (&mut item.note, later.note),
            ] {
                if mine.is_empty() {
                    *mine = theirs;
                }
            }
            item.cost = item.cost.or(later.cost);
            item.gauge_standard_uncertainty_um =
                item.gauge_standard_uncertainty_um.or(later.gauge_standard_uncertainty_um);
            item.repeatability_um = item.repeatability_um.or(later.repeatability_um);
            item.wrench_set_point = item.wrench_set_point.or(later.wrench_set_point);
            for pair in later.extra {
                if !item.extra.contains(&pair) {
                    item.extra.push(pair);
                }
            }
            item.ends.extend(later.ends);
        }
        Some(item)
    }
}

/// Two rows may leave out but not contradict.
fn compare(first_said: &mut [Option<(String, Place)>], sheet: &mut Sheet<'_>, row: &Row, later: &OneRow) {
    for ((field, what), first) in AGREED.iter().zip(first_said) {
        let theirs = said(later, *field);
        if theirs.is_empty() {
            continue;
        }
        match first {
            None => *first = Some((theirs, later.item.place.clone())),
            Some((mine, place)) if *mine != theirs => {
                let at = sheet.column(*field, None).map(|(at, _)| at);
                let expected = format!("the same {what} as in {place}: {mine}");
                sheet.error(sheet.place(row, at), expected, theirs);
            }
            Some(_) => {}
        }
    }
}

/// Whether two rows say the same in every column; where they stand does not count.
fn same_content(one: &OneRow, other: &OneRow) -> bool {
    let bare = |row: &OneRow| {
        let mut item = row.item.clone();
        item.place = Place::sheet("");
        for end in &mut item.ends {
            end.place = Place::sheet("");
        }
        item
    };
    one.kind_said == other.kind_said && bare(one) == bare(other)
}

/// Ends of one tag, and columns without a field.
fn compare_ends(sheet: &mut Sheet<'_>, like: &OneRow, later: &OneRow) {
    for end in &later.item.ends {
        let Some(first) = like.item.ends.iter().find(|first| first.tag == end.tag) else { continue };
        let pairs = [
            ("interface", first.interface.as_str(), end.interface.as_str()),
            ("sex", first.sex.word(), end.sex.word()),
            ("grade", first.grade.word(), end.grade.word()),
            ("material", first.body.word(), end.body.word()),
            ("slotting", first.slots.word(), end.slots.word()),
        ];
        for (what, mine, theirs) in pairs.into_iter().filter(|(_, mine, theirs)| mine != theirs) {
            let expected = format!("the same {what} of {} as in {}: {mine}", end.tag, first.place);
            sheet.error(later.item.place.clone(), expected, theirs);
        }
    }
    for (header, theirs) in &later.item.extra {
        let first = like.item.extra.iter().find(|(known, _)| known == header);
        if let Some((_, mine)) = first.filter(|(_, mine)| mine != theirs) {
            let expected = format!("the same \"{header}\" as in {}: {mine}", like.item.place);
            sheet.error(later.item.place.clone(), expected, theirs.clone());
        }
    }
}

fn check_tags(sheet: &mut Sheet<'_>, items: &[RegisterRow], known: &dyn KnownTags) {
    const EXPECTED: &str = "a tag of its own for each end";
    let mut seen: HashMap<&str, &EndRow> = HashMap::new();
    for end in items.iter().flat_map(|item| &item.ends) {
        if let Some(first) = seen.insert(&end.tag, end) {
            sheet.error(end.place.clone(), EXPECTED, format!("{}, as in {}", end.tag, first.place));
        } else if known.ends(&end.tag) > 0 {
            sheet.error(end.place.clone(), EXPECTED, format!("{}, which is registered already", end.tag));
        }
    }
}
