//! What exists and what happened?
//!
//! Items, their ends, and facts about them. A fact is added and never edited;
//! a correction is a new fact. The record of an end at a moment is folded from
//! its facts and is never the truth itself.
//!
//! This room judges nothing: whether an end may be used is the question of
//! the room `verdict`.

mod case;
mod case_record;
mod error;
mod fact;
mod id;
mod item;
mod item_record;
mod kit;
mod look;
mod moment;
mod pin;
mod policy;
mod record;
mod series;

pub use case::{
    CaseChanged, CaseClosed, CaseOpened, CaseReach, CaseSource, CaseTool, EndDisposed, EndDisposition,
    ResultDisposed, ResultDisposition, Taint,
};
pub use case_record::{CaseEnd, CaseRecord, CaseResult, Decided, EndState, Missing, case_record, verifies};
pub use error::LabError;
pub use fact::{
    Certificate, Corrected, Correction, Fact, FactBody, FactSource, FollowedUp, GaugeZero, Gauged,
    GaugingSession, Held, Inspected, InspectionOutcome, Mated, OffsetTakenOut, Overridden, Parted, Refused,
    Released, Replaced, ResultNoted, Retired, Stored, Subject, SweepJudged, SweepNoted, ToolCheck,
    ToolChecked, TorqueRanges, WrenchCheck, kind_word,
};
pub use id::{EndId, FactId, ItemId, MachineId};
pub use item::{
    Body, Cost, End, GaugeMethod, GaugeSpec, Grade, Item, ItemKind, Registered, Sex, Slots, WrenchSpec,
};
pub use item_record::{ItemRecord, PutAway, item_record};
pub use kit::{
    KitCheckOnRecord, KitChecked, KitMade, KitRecord, PieceFound, Reservation, Reserved, Whereabouts,
    all_reservations, kit_record, kits_named, reservations,
};
pub use look::{FaceMark, FaceZone, LookPhoto, PhotoKind};
pub use moment::{MICROSECONDS_PER_DAY, Moment, Resolution};
pub use pin::PinPosition;
pub use policy::{OwnPolicyValue, PolicyChange, PolicyTakenUp, PolicyValue};
pub use record::{
    EndRecord, GaugingOnRecord, InspectionOnRecord, MatedWhileHeld, OpenHold, ToolRecord, end_record,
    end_record_with, in_order, item_retired, standing_facts, tool_record,
};
pub use series::{Begun, Cleaning, PinSeries, SeriesPhase, SeriesPoint, pin_series};
