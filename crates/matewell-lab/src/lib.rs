//! What exists and what happened? Items, ends, facts, and the record of an end at a moment.
