//! How is a fact written down?
//!
//! JSON of version 1: the payload of each kind of fact, and a whole fact as
//! one object for exports and the API. Shapes of this room are converted by
//! hand from and to those of `matewell-lab`, so that renaming a field there
//! changes no file on anybody's disk. Reading is strict: a field nobody knows
//! is an error. What is written is read back to the last bit.

#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadMe;

mod body;
mod case;
mod error;
mod fact;
mod gauging;
mod item;
mod kit;
mod look;
mod moment;
mod payload;
mod policy;
mod quantity;
mod sweep;
mod text;

pub use body::{DEEPEST_CORRECTION, body_from, check_moments, payload_of};
pub use case::{
    CaseChangedJson, CaseClosedJson, CaseOpenedJson, CaseReachJson, CaseSourceJson, CaseToolJson,
    EndDisposedJson, EndDispositionJson, ResultDisposedJson,
};
pub use error::RecordError;
pub use fact::{FactJson, LinkJson, ResolutionJson, VERSION};
pub use item::{CostJson, EndJson, ExtraJson, GaugeSpecJson, ItemJson, WrenchSpecJson};
pub use moment::{EARLIEST_MICROSECONDS, LATEST_MICROSECONDS, moment_from_text, moment_text};
pub use payload::{
    BodyJson, CertificateJson, CleanedJson, CorrectedJson, CorrectionJson, FaceMarkJson, FollowedUpJson,
    GaugeZeroJson, GaugedJson, GaugingSessionJson, HeldJson, InspectedJson, KitCheckedJson, KitMadeJson,
    LookPhotoJson, MatedJson, OffsetTakenOutJson, OverriddenJson, OwnPolicyValueJson, PartedJson,
    PieceFoundJson, PolicyTakenUpJson, PolicyValueJson, RefusedJson, RegisteredJson, ReleasedJson,
    ReplacedJson, ReservedJson, ResultNotedJson, RetiredJson, StoredJson, SweepJudgedJson, SweepNotedJson,
    ToolCheckJson, ToolCheckedJson, WrenchCheckJson,
};
pub use quantity::{LengthJson, PinPositionJson, PinWord};
