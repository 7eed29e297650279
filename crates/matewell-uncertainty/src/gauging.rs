//! Pin depth by a gauge: session, budget, decision, and the correction of
//! sessions whose gauge turns out to have been off.
//!
//! All lengths are in one unit of the caller's choice, the same throughout.
//! A position is measured along the axis from the outer mating plane; above
//! zero the pin protrudes, below zero it is recessed. Show the side as a word
//! ([`Side::of`]), never as a bare sign.

mod decision;
mod model;
mod session;
mod was_off;

pub use decision::{
    Finding, PairDecision, ProtrusionDecision, ProtrusionLimit, ProtrusionOutcome, ProtrusionPolicy,
    RecessionDecision, RecessionOutcome, RecessionRule, ZeroAfter, decide_pair, decide_protrusion,
    decide_recession,
};
pub use model::{GaugeModel, Scope, Term};
pub use session::{Gauging, Session, SessionIds, ZeroMove};
pub use was_off::{Decided, GaugeOff, PastSession, Recomputed, correct_session, recompute};

/// Which side of the mating plane a pin lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Behind the plane.
    Recessed,
    /// In the plane.
    Flush,
    /// Before the plane: it touches first.
    Protruding,
}

impl Side {
    /// Side and magnitude of a position.
    pub fn of(position: f64) -> (Self, f64) {
        let side = if position > 0.0 {
            Self::Protruding
        } else if position < 0.0 {
            Self::Recessed
        } else {
            Self::Flush
        };
        (side, position.abs())
    }

    /// The word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Recessed => "recessed",
            Self::Flush => "flush",
            Self::Protruding => "protruding",
        }
    }
}
