//! Rows with the same content as an earlier one.

use crate::{
    draft::Duplicate,
    mapping::DuplicateRule,
    place::Place,
    question::Topic,
    records::{CleaningRow, GaugingRow, InspectionRow, MateRow},
    sheet::Sheet,
};
use std::collections::HashMap;

/// A row that knows where it stands.
pub(crate) trait Placed: PartialEq {
    fn place(&self) -> &Place;
    /// Something that equal contents share, to look among few rows only.
    fn bucket(&self) -> (i64, String);
}

macro_rules! placed {
    ($($row:ty, $end:ident);+) => {$(
        impl Placed for $row {
            fn place(&self) -> &Place {
                &self.place
            }
            fn bucket(&self) -> (i64, String) {
                (self.when.at_us, self.$end.clone())
            }
        }
    )+};
}

placed!(MateRow, end_a; GaugingRow, end; CleaningRow, end; InspectionRow, end);

/// Lists the repeated rows and keeps or drops them as answered. `content` gives
/// a row without its place.
pub(crate) fn weigh<R: Placed>(sheet: &mut Sheet<'_>, rows: Vec<R>, content: impl Fn(&R) -> R) -> Vec<R> {
    let mut kept: Vec<R> = Vec::with_capacity(rows.len());
    let mut seen: HashMap<(i64, String), Vec<(R, Place)>> = HashMap::new();
    for row in rows {
        let bare = content(&row);
        let bucket = seen.entry(bare.bucket()).or_default();
        let first = bucket.iter().find(|(known, _)| *known == bare).map(|(_, place)| place.clone());
        let Some(first) = first else {
            bucket.push((bare, row.place().clone()));
            kept.push(row);
            continue;
        };
        if repeated(sheet, row.place(), Some(first), true) {
            kept.push(row);
        }
    }
    kept
}

/// Lists one repeated row; whether it is kept, which only a row that may be there twice can be.
pub(crate) fn repeated(
    sheet: &mut Sheet<'_>,
    place: &Place,
    first: Option<Place>,
    may_be_twice: bool,
) -> bool {
    let rule = sheet.answers().duplicates;
    let shown = first.as_ref().map_or_else(
        || "an item that is registered already".to_owned(),
        |first| format!("the same as in {first}"),
    );
    match rule {
        None => sheet.ask(Topic::Duplicates, place.clone(), shown),
        Some(DuplicateRule::Refuse) => sheet.error(place.clone(), "a row of its own", shown),
        Some(DuplicateRule::Skip | DuplicateRule::Keep) => {}
    }
    let kept = may_be_twice && rule == Some(DuplicateRule::Keep);
    sheet.duplicates.push(Duplicate { place: place.clone(), first, kept });
    kept
}
