//! What the others found, kept by itself.
