//! May it be used, with what, why, and what next? Standing of an end and the mate check.
