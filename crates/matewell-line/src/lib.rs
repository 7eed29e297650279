//! What happens in a coaxial line and at its interface? Impedance, cut-off, gaps, loss, mismatch.
