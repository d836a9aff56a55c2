//! What the person sees: verdicts and jobs turned into text.

pub mod palette;
