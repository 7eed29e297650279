//! What is a length, a frequency, a torque?
//!
//! Newtypes over `f64` in SI base units. The unit lives in the type; names
//! carry units only at the edges (JSON, SQL, CSV, command line). Every
//! constructor refuses NaN and infinity, so a value that exists is finite.
//!
//! Text with a unit is read by [`std::str::FromStr`]: `18GHz`, `0.9N.m`,
//! `8in.lbf`, `12um`, `0.5mil`. A number without a unit is an error, never a
//! guess.

mod error;
mod number;
mod units;

pub use error::QuantityError;
pub use number::{greater, lesser, parse_number};
pub use units::{
    Frequency, Impedance, KELVIN_OFFSET_CELSIUS, Length, METRES_PER_INCH, NEWTON_METRES_PER_INCH_POUND_FORCE,
    TemperatureCelsius, Torque, split_number_and_unit,
};
