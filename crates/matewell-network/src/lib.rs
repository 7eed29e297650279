//! What do S-parameters say? Touchstone text, sanity, time domain, which joint changed.
