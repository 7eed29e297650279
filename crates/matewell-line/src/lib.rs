//! What happens in a coaxial line and at its interface?
//!
//! Geometry and frequency come in as arguments, with their uncertainty; out
//! come impedance, cut-off, loss, the reflection of a gap or a recess, and
//! what that does to a measurement. Every answer carries its findings
//! ([`Answer`]), so that a number outside the validity of its formula is never
//! silent.
//!
//! In reading order: [`constants`], the line and its filling, cut-off, loss,
//! two-ports, what goes wrong at an interface, and what that costs.

mod air;
mod answer;
mod chain;
pub mod constants;
mod convert;
mod cost;
mod coupling;
mod cutoff;
mod error;
mod gap;
mod impedance;
mod loss;
mod mismatch;
mod monte_carlo;
pub mod published;
mod section;
mod shift;
mod step;
mod sweep;
mod twoport;
mod uncertain;
mod usable;

pub use air::{STANDARD_AIR_PERMITTIVITY, air_permittivity};
pub use answer::{Answer, Dimension, Finding};
pub use chain::{ChainReflection, Link, chain_reflection};
pub use convert::{
    MatchForms, magnitude_from_impedances, magnitude_from_mismatch_loss, magnitude_from_return_loss,
    magnitude_from_vswr, match_forms,
};
pub use cost::{BudgetLine, Distribution, Measurand, budget_line};
pub use coupling::{Grip, grip_factor, preload_n};
pub use cutoff::{characteristic_impedance_at, te11_cutoff, te11_cutoff_approximate};
pub use error::LineError;
pub use gap::{GAP_MODEL_HALF_WIDTH, GAP_MODEL_ID, GapReflection, JointGeometry, gap_reflection};
pub use impedance::{
    Line, characteristic_impedance, impedance_sensitivities_ohm_per_m, off_centre_impedance,
};
pub use loss::{LossyLine, lossy_line, planar_attenuation_db_per_m, skin_depth};
pub use mismatch::{
    Knowledge, LevelLimits, insertion_error_db, insertion_limits, interaction_limits, power_uncertainty,
    power_uncertainty_db,
};
pub use monte_carlo::{DRAWS, FIRST_ORDER_RATIO, Quantified, Spread};
pub use section::{SectionReflection, dielectric_recess, off_centre_reflection};
pub use shift::{Member, PlaneShift, plane_shift, thermal_gap_change, thermal_growth};
pub use step::{
    PAIR_HALF_WIDTH, STEP_CLAIM_F_PER_M, StepReflection, inner_step_capacitance, interface_step,
    outer_step_capacitance, slotted_contact_impedance_change,
};
pub use sweep::{
    GapPoint, LossPoint, linear_frequencies, sweep_dielectric_recess, sweep_gap, sweep_interface_step,
    sweep_loss, sweep_off_centre,
};
pub use twoport::TwoPort;
pub use uncertain::{BaseUnit, IntoUncertain, Uncertain};
pub use usable::{Defect, LimitedBy, UsableLimits, UsableUpTo, gap_usable_up_to, usable_up_to};

/// The example of the read-me is a test.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadMe;
