//! The invented lab: the Larkmoor Receiver Workshop, written by a deterministic generator.
