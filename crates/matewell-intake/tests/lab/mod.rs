//! The invented lab that the tests read for: its interfaces, its tags.

#![allow(dead_code, reason = "each test file takes what it needs")]

use matewell_intake::{
    Draft, InterfaceNames, KnownTags, Mapping, NameLookup, Table, Topic, draft, guess_kind, guess_mapping,
    read_tables,
};

pub(crate) struct Names;
impl InterfaceNames for Names {
    fn resolve(&self, name: &str) -> NameLookup {
        match name {
            "SMA" | "sma" => NameLookup::Found("sma".to_owned()),
            "N" => NameLookup::Ambiguous(vec!["n-50".to_owned(), "n-75".to_owned()]),
            "N 50" | "n-50" => NameLookup::Found("n-50".to_owned()),
            _ => NameLookup::Unknown,
        }
    }
}

pub(crate) struct Lab;
impl KnownTags for Lab {
    fn ends(&self, tag: &str) -> usize {
        match tag {
            "CB-17" => 2,
            "CB-17A" | "CB-17B" | "AD-3" => 1,
            _ => 0,
        }
    }
    fn item(&self, tag: &str) -> bool {
        ["CB-17", "AD-3", "TW-1", "PG-2"].contains(&tag)
    }
}

#[expect(clippy::unwrap_used, reason = "a helper of tests: a file that cannot be read fails the test")]
pub(crate) fn guess(bytes: &[u8], answers: &[(Topic, &str)]) -> (Table, Mapping) {
    let table = read_tables(bytes, "t.csv").unwrap().remove(0);
    let mut mapping = guess_mapping(&table, guess_kind(&table).unwrap());
    for (topic, answer) in answers {
        mapping.answers.set(*topic, answer).unwrap();
    }
    (table, mapping)
}

pub(crate) fn read(text: &str, answers: &[(Topic, &str)]) -> Draft {
    read_bytes(text.as_bytes(), answers)
}

pub(crate) fn read_bytes(bytes: &[u8], answers: &[(Topic, &str)]) -> Draft {
    let (table, mapping) = guess(bytes, answers);
    draft(&table, &mapping, &Names, &Lab)
}

pub(crate) fn problems(draft: &Draft) -> Vec<String> {
    draft.problems.iter().map(ToString::to_string).collect()
}
