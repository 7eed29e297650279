//! The dry run: what a table would write, and everything that stands against it.

use crate::{
    error::{NotReady, Problem, Severity},
    mapping::{Kind, Mapping},
    place::Place,
    question::Question,
    records::Rows,
    sheet::Sheet,
    table::Table,
};

/// What a name of an interface leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NameLookup {
    /// The key of the one interface of this name.
    Found(String),
    /// The keys of several.
    Ambiguous(Vec<String>),
    /// None.
    Unknown,
}

/// The names of interfaces, as the data sheets know them.
pub trait InterfaceNames {
    /// Looks a name up.
    fn resolve(&self, name: &str) -> NameLookup;

    /// Whether an interface of this key has neither pin nor socket. Without
    /// this knowledge the sex of every end must be written.
    fn is_sexless(&self, _key: &str) -> bool {
        false
    }
}

/// The tags that the lab has registered already.
pub trait KnownTags {
    /// How many ends a tag fits: the tag of an end fits one, that of a cable two.
    fn ends(&self, tag: &str) -> usize;

    /// Whether an item has this tag.
    fn item(&self, tag: &str) -> bool;

    /// The tags of the ends that a tag fits, to be listed in a message.
    fn end_tags(&self, _tag: &str) -> Vec<String> {
        Vec::new()
    }
}

/// A row with the same content as an earlier one, or an item that is registered already.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duplicate {
    /// The later row.
    pub place: Place,
    /// The earlier row; none when the item is in the register already.
    pub first: Option<Place>,
    /// Whether the later row is among the rows to be written.
    pub kept: bool,
}

/// A row that is no record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skipped {
    /// Which.
    pub place: Place,
    /// Why.
    pub because: &'static str,
}

/// What a table would write. Nothing of it is written while an error or an
/// open question stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    rows: Rows,
    /// Everything that is wrong, in the order of the file.
    pub problems: Vec<Problem>,
    /// What must be asked.
    pub questions: Vec<Question>,
    /// Rows with the same content.
    pub duplicates: Vec<Duplicate>,
    /// What was taken from the context, in words.
    pub assumptions: Vec<String>,
    /// Rows that are no records: totals, repeated headers.
    pub skipped: Vec<Skipped>,
}

impl Draft {
    pub(crate) fn new(rows: Rows, sheet: Sheet<'_>) -> Self {
        let Sheet { mut problems, questions, duplicates, assumptions, skipped, .. } = sheet;
        problems.sort_by_key(|problem| problem.place.row);
        Self {
            rows,
            problems,
            questions: questions.into_values().collect(),
            duplicates,
            assumptions: assumptions.into_iter().collect(),
            skipped,
        }
    }

    /// The rows understood so far, to be shown.
    pub const fn rows(&self) -> &Rows {
        &self.rows
    }

    /// Number of problems that stand against writing.
    pub fn errors(&self) -> usize {
        self.problems.iter().filter(|problem| problem.severity == Severity::Error).count()
    }

    /// The rows, to be written.
    ///
    /// # Errors
    ///
    /// [`NotReady`] while an error or an open question stands.
    pub fn into_rows(self) -> Result<Rows, NotReady> {
        let errors = self.errors();
        if errors == 0 && self.questions.is_empty() {
            return Ok(self.rows);
        }
        let problem = self.problems.iter().find(|problem| problem.severity == Severity::Error);
        let first = problem.map(ToString::to_string);
        let first = first.or_else(|| self.questions.first().map(ToString::to_string));
        let first = first.map(|first| format!("; first: {first}")).unwrap_or_default();
        Err(NotReady { errors, questions: self.questions.len(), first })
    }
}

/// Reads a table by a mapping. The columns are found again by their headers,
/// so a saved mapping reads next month's file as well.
pub fn draft(table: &Table, mapping: &Mapping, names: &dyn InterfaceNames, known: &dyn KnownTags) -> Draft {
    let mut sheet = Sheet::open(table, mapping);
    let rows = match mapping.kind {
        Kind::Register => Rows::Register(crate::register::read_register(&mut sheet, names, known)),
        Kind::Mates => Rows::Mates(crate::log::read_mates(&mut sheet, known)),
        Kind::Gaugings => Rows::Gaugings(crate::log::read_gaugings(&mut sheet, known)),
        Kind::Cleanings => Rows::Cleanings(crate::log::read_cleanings(&mut sheet, known)),
        Kind::Inspections => Rows::Inspections(crate::log::read_inspections(&mut sheet, known)),
    };
    Draft::new(rows, sheet)
}
