//! Which act clears which kind of taint, and what passes by touch: the lab's
//! policy, as the contact room wants it.

use crate::AppError;
use matewell_contact::{TaintKind, TaintSet};
use matewell_sheets::{PolicySheet, Sourced};

/// Kinds of taint with their words.
pub(crate) const KINDS: [(TaintKind, &str); 4] = [
    (TaintKind::Deformation, "deformation"),
    (TaintKind::Particles, "particles"),
    (TaintKind::Residue, "residue"),
    (TaintKind::Unknown, "unknown"),
];

/// The word of a kind.
pub(crate) fn word(kind: TaintKind) -> &'static str {
    KINDS.iter().find(|(k, _)| *k == kind).map_or("unknown", |(_, word)| word)
}

/// The kind for a word.
pub(crate) fn kind_from(field: &'static str, text: &str) -> Result<TaintKind, AppError> {
    KINDS.iter().find(|(_, word)| *word == text.trim()).map(|(kind, _)| *kind).ok_or_else(|| {
        AppError::Field {
            field,
            message: format!(
                "expected one of {}, found \"{}\"",
                KINDS.map(|(_, word)| word).join(", "),
                text.chars().take(64).collect::<String>()
            ),
        }
    })
}

/// What was done to an end or a gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Care {
    Cleaned,
    LookedGood,
    GaugedSafe,
    Released,
    ZeroInOrder,
    Certified,
}

/// Every kind.
pub(crate) const ALL: TaintSet = TaintSet::NONE
    .with(TaintKind::Deformation)
    .with(TaintKind::Particles)
    .with(TaintKind::Residue)
    .with(TaintKind::Unknown);

fn set(flags: &[(&Sourced, TaintKind)]) -> TaintSet {
    flags.iter().filter(|(flag, _)| flag.value > 0.5).fold(TaintSet::NONE, |set, (_, kind)| set.with(*kind))
}

/// What an act clears.
pub(crate) fn cleared_by(care: Care, policy: &PolicySheet) -> TaintSet {
    match care {
        Care::Cleaned => set(&[
            (&policy.clean_clears_particles, TaintKind::Particles),
            (&policy.clean_clears_residue, TaintKind::Residue),
        ]),
        Care::LookedGood => set(&[
            (&policy.look_clears_particles, TaintKind::Particles),
            (&policy.look_clears_residue, TaintKind::Residue),
            (&policy.look_clears_deformation, TaintKind::Deformation),
        ]),
        Care::GaugedSafe => set(&[
            (&policy.gauging_clears_deformation, TaintKind::Deformation),
            (&policy.gauging_clears_unknown, TaintKind::Unknown),
        ]),
        Care::ZeroInOrder => set(&[(&policy.zero_check_clears_deformation, TaintKind::Deformation)]),
        Care::Released | Care::Certified => ALL,
    }
}

/// What passes by touch. A kind not told apart always does.
pub(crate) fn transmits(policy: &PolicySheet) -> TaintSet {
    set(&[
        (&policy.touch_passes_deformation, TaintKind::Deformation),
        (&policy.touch_passes_particles, TaintKind::Particles),
        (&policy.touch_passes_residue, TaintKind::Residue),
    ])
    .with(TaintKind::Unknown)
}
