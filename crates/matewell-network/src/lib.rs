//! What do S-parameters say? Touchstone text, sanity, time domain, which joint changed.
//!
//! Reading order: [`touchstone`] turns bytes into numbers with every doubt
//! named; [`sweep`] is the checked result; [`sanity`] asks whether it can be
//! believed; [`window`], [`transform`] and [`gate`] show it in time;
//! [`joints`] says which joint of a chain changed; [`reconnect`] whether
//! a joint scatters or has moved; [`mask`], [`cable`] and [`trend`] judge one
//! quantity over frequency or over time.
//!
//! Nothing here opens a file, reads a clock or releases a connector: good
//! S-parameters do not show that an end is mechanically safe.

pub mod cable;
pub mod error;
pub mod gate;
pub mod joints;
pub mod mask;
pub mod published;
pub mod reconnect;
pub mod sanity;
pub mod sweep;
pub mod touchstone;
pub mod transform;
pub mod trend;
mod turning;
pub mod window;

pub use error::NetworkError;
pub use sweep::Sweep;

/// The example of the room's README, compiled and run with the tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
