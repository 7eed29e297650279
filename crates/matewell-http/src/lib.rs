//! Which URL does what? Routes, problem details, live events.
