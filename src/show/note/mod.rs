//! The note.
