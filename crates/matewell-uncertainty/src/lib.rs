//! How sure is a number?
//!
//! A value with its uncertainty split by the input it came from, so that two
//! results that share a gauge, a master or a certificate are correlated
//! exactly as far as they share it.

mod error;
mod estimate;

pub use error::UncertaintyError;
pub use estimate::{Component, Estimate, InputId};
