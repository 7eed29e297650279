//! Which columns of a register speak of which end.

use crate::{mapping::Field, sheet::Sheet};
use std::collections::BTreeSet;

/// The fields of an end.
const OF_END: [Field; 7] = [
    Field::EndTag,
    Field::EndName,
    Field::Interface,
    Field::Sex,
    Field::Grade,
    Field::Slotting,
    Field::BodyMaterial,
];

/// Fields that one column may say for all ends of an item. The sex is not
/// among them: the two ends of a cable differ too often.
const SHARED: [Field; 4] = [Field::Interface, Field::Grade, Field::Slotting, Field::BodyMaterial];

/// The ends that stand side by side in one row.
pub(crate) struct EndColumns {
    /// Their numbers; none when each row holds one end.
    pub(crate) numbers: Vec<u8>,
    /// The end that columns without a number speak of: `Interface` beside `Interface 2` is the first.
    unnumbered: Option<u8>,
}

fn exact(sheet: &Sheet<'_>, field: Field, end: Option<u8>) -> Option<usize> {
    sheet.all(field).into_iter().find(|(_, column)| column.end == end).map(|(at, _)| at)
}

impl EndColumns {
    pub(crate) fn of(sheet: &Sheet<'_>) -> Self {
        let has = |field, end| exact(sheet, field, Some(end)).is_some();
        let telling = [Field::Interface, Field::Sex, Field::EndTag];
        let numbers = (1..=4).filter(|end| telling.iter().any(|field| has(*field, *end)));
        let mut numbers: Vec<u8> = numbers.collect();
        let numbered_interface = (1..=4).any(|end| has(Field::Interface, end));
        let unnumbered = (numbered_interface && exact(sheet, Field::Interface, None).is_some())
            .then(|| (1..=4).find(|end| !has(Field::Interface, *end)))
            .flatten();
        if let Some(end) = unnumbered.filter(|end| !numbers.contains(end)) {
            numbers.push(end);
            numbers.sort_unstable();
        }
        Self { numbers, unnumbered }
    }

    /// The column of a field for an end, and whether it speaks of that end only.
    pub(crate) fn find(&self, sheet: &Sheet<'_>, field: Field, end: Option<u8>) -> Option<(usize, bool)> {
        let Some(end) = end else { return sheet.column(field, None).map(|(at, _)| (at, true)) };
        if let Some(at) = exact(sheet, field, Some(end)) {
            return Some((at, true));
        }
        let at = exact(sheet, field, None)?;
        if self.unnumbered == Some(end) && !SHARED.contains(&field) {
            return Some((at, true));
        }
        let is_numbered = sheet.all(field).iter().any(|(_, column)| column.end.is_some());
        match (is_numbered, self.unnumbered == Some(end)) {
            (true, true) => Some((at, true)),
            (false, _) if SHARED.contains(&field) => Some((at, false)),
            _ => None,
        }
    }

    /// All columns that are read for an end.
    pub(crate) fn read(&self, sheet: &Sheet<'_>) -> BTreeSet<usize> {
        let ends: Vec<Option<u8>> = if self.numbers.is_empty() {
            vec![None]
        } else {
            self.numbers.iter().copied().map(Some).collect()
        };
        let of_end = |end| OF_END.into_iter().filter_map(move |field| self.find(sheet, field, end));
        ends.into_iter().flat_map(of_end).map(|(at, _)| at).collect()
    }
}
