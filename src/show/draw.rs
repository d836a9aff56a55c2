//! Diagram.
