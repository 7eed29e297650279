//! What touched what, in which order, and what is at risk?
