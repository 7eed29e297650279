//! A number, and everything that limits it.

use matewell_quantity::{Frequency, Length};
use std::fmt;

/// A value with all findings about its validity, not only the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer<T> {
    /// The value.
    pub value: T,
    /// What limits it; empty when nothing does.
    pub findings: Vec<Finding>,
}

impl<T> Answer<T> {
    /// A value that nothing limits.
    pub fn plain(value: T) -> Self {
        Self { value, findings: Vec::new() }
    }

    /// Whether a finding forbids using the value as a prediction.
    pub fn is_outside_validity(&self) -> bool {
        self.findings.iter().any(Finding::forbids)
    }

    /// The same findings around another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Answer<U> {
        Answer { value: f(self.value), findings: self.findings }
    }
}

/// Which dimension of an interface nobody has given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Dimension {
    /// Inside diameter of the outer conductor.
    Outer,
    /// Diameter of the centre conductor.
    Inner,
    /// Diameter of the pin.
    Pin,
}

impl Dimension {
    /// The word used in texts.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outer => "outer conductor diameter",
            Self::Inner => "centre conductor diameter",
            Self::Pin => "pin diameter",
        }
    }
}

/// Why a number is weaker than it looks.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// A second mode can travel: the single-mode formula says nothing here.
    AboveTe11 {
        /// The frequency asked.
        frequency: Frequency,
        /// The TE₁₁ cut-off of the empty or filled line.
        cutoff: Frequency,
    },
    /// The frequency is above what the interface is rated for.
    AboveRated {
        /// The frequency asked.
        frequency: Frequency,
        /// The rated upper frequency.
        rated: Frequency,
    },
    /// The gap is more than one and a half times the shoulder step `(d − dp)/2`.
    GapNotSmallAgainstStep {
        /// The gap.
        gap: Length,
        /// The step height.
        step: Length,
    },
    /// The groove is shallower than half its width: the lumped model does not
    /// hold and the short-line value is given instead.
    GrooveTooShallow {
        /// The gap.
        gap: Length,
        /// The step height.
        step: Length,
    },
    /// The shoulders meet before the outer planes do. No electrical number
    /// makes that acceptable.
    PinsInterfere {
        /// The (negative) gap.
        gap: Length,
    },
    /// Gaps of a few micrometres make contact unpredictably.
    GapVeryTight {
        /// The gap.
        gap: Length,
        /// Below this it is called very tight.
        limit: Length,
    },
    /// The gap model was checked in air lines only.
    FilledLineNotChecked {
        /// The permittivity of the line.
        relative_permittivity: f64,
    },
    /// A dimension nobody has given: there is no prediction.
    UnknownInterface {
        /// Which dimension.
        missing: Dimension,
    },
    /// The value is not far from zero against its uncertainty, so the first
    /// order fails and a Monte Carlo result is given beside it.
    FirstOrderFails {
        /// Value over standard uncertainty.
        ratio: f64,
    },
    /// A length that is not short against the wavelength.
    NotShort {
        /// Electrical length in degrees.
        degrees: f64,
    },
    /// Outside the range the source of the formula claims.
    OutsideClaimedRange {
        /// Which parameter.
        what: &'static str,
        /// Its value.
        found: f64,
    },
    /// Two or more steps at one plane are put together from single steps.
    StepsTakenApart,
    /// The formula is from memory; see the checks for how far it was verified.
    FormulaFromMemory {
        /// Which formula.
        what: &'static str,
    },
    /// The skin depth is not small against the conductor's radius.
    SkinDepthNotSmall {
        /// The skin depth.
        skin_depth: Length,
        /// The smaller conductor's radius.
        radius: Length,
    },
    /// A value below zero was taken as zero.
    NegativeTakenAsZero {
        /// Which quantity.
        what: &'static str,
        /// Its value.
        found: f64,
    },
    /// No reflection: the return loss is infinite and has no number.
    NoReflection,
    /// Everything is reflected: no VSWR and no mismatch loss exist.
    TotalReflection {
        /// The magnitude.
        magnitude: f64,
    },
    /// The terms of the chain are not certainly independent, so that the root
    /// sum of squares may be too small.
    PhasesMayAlign,
    /// The reflection stays below the need up to the limit.
    NeedNotReached,
}

impl Finding {
    /// Whether the value must not be used as a prediction.
    pub fn forbids(&self) -> bool {
        matches!(self, Self::AboveTe11 { .. } | Self::PinsInterfere { .. } | Self::UnknownInterface { .. })
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AboveTe11 { frequency, cutoff } => {
                write!(f, "{frequency} is above the TE11 cut-off {cutoff}: a second mode can travel")
            }
            Self::AboveRated { frequency, rated } => write!(f, "{frequency} is above the rated {rated}"),
            Self::GapNotSmallAgainstStep { gap, step } => {
                write!(f, "the gap {gap} is not small against the shoulder step {step}")
            }
            Self::GrooveTooShallow { gap, step } => {
                write!(f, "the step {step} is shallower than half the gap {gap}: short-line value given")
            }
            Self::PinsInterfere { gap } => {
                write!(f, "the gap is {gap}: the centre conductors press together")
            }
            Self::GapVeryTight { gap, limit } => {
                write!(f, "the gap {gap} is below {limit}: contact can be unpredictable")
            }
            Self::FilledLineNotChecked { relative_permittivity } => {
                write!(
                    f,
                    "the gap model was checked in air only, not at permittivity {relative_permittivity}"
                )
            }
            Self::UnknownInterface { missing } => write!(f, "the {} is not known", missing.word()),
            Self::FirstOrderFails { ratio } => {
                write!(f, "the value is only {ratio:.2} standard uncertainties from zero: Monte Carlo used")
            }
            Self::NotShort { degrees } => write!(f, "the section is {degrees:.1}° long, not short"),
            Self::OutsideClaimedRange { what, found } => {
                write!(f, "{what} = {found:.4} is outside the range the formula claims")
            }
            Self::StepsTakenApart => f.write_str("steps at one plane are put together from single steps"),
            Self::FormulaFromMemory { what } => write!(f, "{what} is from memory"),
            Self::SkinDepthNotSmall { skin_depth, radius } => {
                write!(f, "the skin depth {skin_depth} is not small against the radius {radius}")
            }
            Self::NegativeTakenAsZero { what, found } => write!(f, "{what} = {found} was taken as zero"),
            Self::NoReflection => f.write_str("no reflection: the return loss is infinite"),
            Self::TotalReflection { magnitude } => {
                write!(f, "|Γ| = {magnitude} reflects everything: VSWR is undefined")
            }
            Self::PhasesMayAlign => f.write_str("phases may align: the root sum of squares may be too small"),
            Self::NeedNotReached => f.write_str("the reflection stays below the need up to the limit"),
        }
    }
}
