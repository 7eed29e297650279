//! Facts of a case: what follows when an end was found bad.

use crate::{EndId, FactId, ItemId, LabError, Moment, Subject};

/// What may have passed from end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Taint {
    /// A bent, proud or burred contact.
    Deformation,
    /// Loose metal or dust.
    Particles,
    /// A film, such as oil.
    Residue,
    /// Not told apart.
    Unknown,
}

impl Taint {
    /// Every value.
    pub const ALL: &'static [Self] = &[Self::Deformation, Self::Particles, Self::Residue, Self::Unknown];

    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Deformation => "deformation",
            Self::Particles => "particles",
            Self::Residue => "residue",
            Self::Unknown => "unknown",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|t| t.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "what may have passed on",
            expected: Self::ALL.iter().map(|t| t.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }
}

/// An end found bad, as a case takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseSource {
    /// The end.
    pub end: EndId,
    /// Last known good; the earliest moment at which it may have been bad.
    pub last_known_good: Moment,
    /// First evidence that it is bad.
    pub first_evidence: Moment,
}

/// A gauge or a wrench that was off, as a case takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseTool {
    /// The tool.
    pub tool: ItemId,
    /// Last known good; the earliest moment at which it may have been off.
    pub last_known_good: Moment,
    /// First evidence that it is off.
    pub first_evidence: Moment,
}

/// An exposed end or gauge that a case takes in. Exposed is not damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseReach {
    /// The end, or the gauge as an item.
    pub on: Subject,
    /// Earliest arrival, counted from last known good.
    pub arrived_at: Moment,
    /// Earliest arrival counted from first evidence; `None`: only possible.
    pub definite_at: Option<Moment>,
    /// Fewest contacts from a source.
    pub hops: u32,
}

/// A case was opened. The id of this fact names the case for ever.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseOpened {
    /// What people call it.
    pub name: String,
    /// Why.
    pub because: String,
    /// The ends found bad.
    pub sources: Vec<CaseSource>,
    /// The tools that were off.
    pub tools: Vec<CaseTool>,
    /// What may have passed on.
    pub taint: Taint,
    /// The exposed ends and gauges it takes in.
    pub reached: Vec<CaseReach>,
    /// The results it takes in, by the fact that noted them.
    pub results: Vec<FactId>,
    /// The holds it set or took over.
    pub holds: Vec<FactId>,
}

/// A case takes in more, or sets ends aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseChanged {
    /// The case.
    pub case: FactId,
    /// Exposed ends and gauges it takes in as well, or anew.
    pub reached: Vec<CaseReach>,
    /// Results it takes in as well.
    pub results: Vec<FactId>,
    /// Ends and gauges that are no longer its business.
    pub set_aside: Vec<Subject>,
    /// The holds it set or took over with this.
    pub holds: Vec<FactId>,
    /// Why.
    pub because: String,
}

/// What was decided about an end or a gauge of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndDisposition {
    /// Verified: the look, gauging or zero check that says so.
    Cleared {
        /// The verification.
        evidence: FactId,
    },
    /// It is damaged.
    Damaged,
    /// Left as it is until a date. Lifts no hold.
    Waived {
        /// Until when.
        until: Moment,
    },
}

impl EndDisposition {
    /// The word used in files.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Cleared { .. } => "cleared",
            Self::Damaged => "damaged",
            Self::Waived { .. } => "waived",
        }
    }
}

/// An end or a gauge of a case was decided about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndDisposed {
    /// The case.
    pub case: FactId,
    /// The end, or the gauge as an item.
    pub on: Subject,
    /// The decision.
    pub disposition: EndDisposition,
    /// Why.
    pub because: String,
}

/// What was decided about a result in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ResultDisposition {
    /// The reason says why the result stands.
    NoEffect,
    /// It is measured again.
    ReMeasure,
    /// Whoever relies on it is told.
    Notify,
}

impl ResultDisposition {
    /// Every value.
    pub const ALL: &'static [Self] = &[Self::NoEffect, Self::ReMeasure, Self::Notify];

    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NoEffect => "no-effect",
            Self::ReMeasure => "re-measure",
            Self::Notify => "notify",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|d| d.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "what was decided about the result",
            expected: Self::ALL.iter().map(|d| d.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }
}

/// A result of a case was decided about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultDisposed {
    /// The case.
    pub case: FactId,
    /// The fact that noted the result.
    pub result: FactId,
    /// The decision.
    pub disposition: ResultDisposition,
    /// Why: for `no-effect` what was compared with what.
    pub because: String,
}

/// A case was closed: work may go on. The person of the fact authorises it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseClosed {
    /// The case.
    pub case: FactId,
    /// Why work may go on, and what keeps it from happening again.
    pub because: String,
}
