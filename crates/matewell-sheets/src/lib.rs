//! What do standards and papers say? Embedded data with a source for every number.
