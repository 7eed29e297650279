//! Roles and rights.

use crate::{AppError, error::bad};

/// What a request needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Right {
    /// Nothing: the page itself, signing in.
    Open,
    /// To be signed in: what concerns oneself.
    Own,
    /// To see what the lab knows.
    Read,
    /// To write down what happens at the bench.
    Work,
    /// To decide: release, retire, cases, imports, tools that were off.
    Decide,
    /// People, rights, tokens, addresses that are told.
    Administer,
}

impl Right {
    /// Rights that roles give and tokens may be limited to.
    pub const GIVEN: [Self; 4] = [Self::Read, Self::Work, Self::Decide, Self::Administer];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "nothing",
            Self::Own => "a sign-in",
            Self::Read => "read",
            Self::Work => "work",
            Self::Decide => "decide",
            Self::Administer => "administer",
        }
    }

    /// From a word of a scope.
    ///
    /// # Errors
    ///
    /// Another word.
    pub fn from_word(word: &str) -> Result<Self, AppError> {
        Self::GIVEN.into_iter().find(|right| right.word() == word.trim()).ok_or_else(|| {
            bad("scope", format!("expected read, work, decide or administer, found \"{}\"", word.trim()))
        })
    }
}

/// What a person is in the lab.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Sees.
    Reader,
    /// Works at the bench.
    Technician,
    /// Decides.
    Lead,
    /// Looks after people and rights.
    Administrator,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Reader, Self::Technician, Self::Lead, Self::Administrator];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Reader => "reader",
            Self::Technician => "technician",
            Self::Lead => "lead",
            Self::Administrator => "administrator",
        }
    }

    /// From its word.
    ///
    /// # Errors
    ///
    /// Another word.
    pub fn from_word(word: &str) -> Result<Self, AppError> {
        Self::ALL.into_iter().find(|role| role.word() == word.trim()).ok_or_else(|| {
            bad(
                "roles",
                format!("expected reader, technician, lead or administrator, found \"{}\"", word.trim()),
            )
        })
    }

    /// What it gives.
    pub fn rights(self) -> &'static [Right] {
        match self {
            Self::Reader => &[Right::Read],
            Self::Technician => &[Right::Read, Right::Work],
            Self::Lead => &[Right::Read, Right::Work, Right::Decide],
            Self::Administrator => &[Right::Read, Right::Administer],
        }
    }

    /// The words of several, each once.
    pub(crate) fn words(roles: &[Self]) -> String {
        let mut sorted = roles.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        sorted.iter().map(|role| role.word()).collect::<Vec<_>>().join(" ")
    }

    /// From stored words; a word of a newer program gives nothing.
    pub(crate) fn read(words: &str) -> Vec<Self> {
        words.split_whitespace().filter_map(|word| Self::from_word(word).ok()).collect()
    }
}
