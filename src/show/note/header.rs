//! What the note says of the call beside its survey and readings: all of it somebody's own words.

/// A proof that a box was dead before it was worked in.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Proof {
    /// The box.
    pub at: String,
    /// When.
    pub time: Option<String>,
    /// The tester, in words.
    pub with: String,
    /// The known source it was tried on.
    pub on: Option<String>,
    /// What was found: `dead` or `live`.
    pub found: String,
}

/// The head of a note. Whatever is `None` was not written down, and the note says so where it matters.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Header {
    /// The call in a few words.
    pub title: Option<String>,
    /// Where.
    pub site: Option<String>,
    /// For whom.
    pub customer: Option<String>,
    /// By whom.
    pub technician: Option<String>,
    /// Their firm.
    pub firm: Option<String>,
    /// Their licence.
    pub licence: Option<String>,
    /// The code edition adopted there.
    pub code: Option<String>,
    /// The day.
    pub date: Option<String>,
    /// What was complained of.
    pub complaint: Option<String>,
    /// What had been changed before.
    pub changed: Option<String>,
    /// The reference to earth, and how it was proven.
    pub reference: Option<String>,
    /// Proofs that boxes were dead.
    pub proofs: Vec<Proof>,
    /// Readings that were suggested and not taken, in words.
    pub skipped: Vec<String>,
    /// What was done and not done, in the technician's words.
    pub done: Vec<String>,
}
