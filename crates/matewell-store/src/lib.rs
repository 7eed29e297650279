//! Keeps facts: the append-only log, its hash chain, and the indexes that make questions quick.
