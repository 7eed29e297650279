//! What can a person do? Use cases: load, ask the pure core, write.
