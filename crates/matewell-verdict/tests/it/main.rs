//! Standing and mate check on small histories.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod builder;
mod mates;
mod properties;
mod published;
mod sessions;
mod standing;
