//! What do JSON answers and exports look like? Versioned shapes, converted by hand.
