//! Does the repository keep its own rules? The tests of this crate read the tree.
