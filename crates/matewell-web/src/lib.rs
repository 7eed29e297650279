//! The built page, embedded.
