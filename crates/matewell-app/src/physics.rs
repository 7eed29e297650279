//! Questions about lines and joints that need no lab data.
//!
//! Each function takes the texts a person typed and the data sheets, and gives
//! the answer both doors print. Every number that was used is in `inputs`, with
//! where it is from; every limit of the number is in `findings`.

mod answer;
mod costs;
mod geometry;
mod interfaces;
mod joints;
mod lines;
mod picture;
mod read;
mod surroundings;

pub use costs::{chain, convert, cost, mismatch, usable};
pub use interfaces::interfaces;
pub use joints::{gap, recess, shift, step};
pub use lines::{cutoff, impedance, loss, off_centre};
pub use picture::picture;
pub use surroundings::{air, slots, thermal};
