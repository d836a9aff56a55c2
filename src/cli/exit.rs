//! How a command ends: the exit status is part of the interface.

use crate::files::{Failure, SaveError};
use std::process::ExitCode;

/// For the end of the help text.
pub const HELP: &str = "In a house: lath walk. With a job file: lath next JOB, lath record JOB, lath verdict JOB. To see what it does: \
                        lath demo.\n\n\
                        Exit status: 0 done; 1 an internal failure (a bug); 2 wrong usage; 3 a file could not be read, \
                        understood or written; 4 an answer is needed and nobody can be asked; 5 not settled, or \
                        contradictory, and --require-settled was given; 130 stopped by the user.";

/// An exit status.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Exit {
    /// Done.
    Done,
    /// An internal failure: a bug.
    Internal,
    /// Wrong usage.
    Usage,
    /// A file could not be read, understood or written.
    File,
    /// An answer is needed and nobody can be asked.
    NobodyToAsk,
    /// Not settled, or contradictory, and `--require-settled` was given.
    NotSettled,
    /// Stopped by the user.
    Stopped,
}

impl Exit {
    /// The number.
    pub fn status(self) -> u8 {
        match self {
            Exit::Done => 0,
            Exit::Internal => 1,
            Exit::Usage => 2,
            Exit::File => 3,
            Exit::NobodyToAsk => 4,
            Exit::NotSettled => 5,
            Exit::Stopped => 130,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit.status())
    }
}

/// Why a command could not do what it should.
#[derive(thiserror::Error, Debug)]
pub enum Trouble {
    /// A job file that could not be read or understood.
    #[error(transparent)]
    Load(#[from] Failure),
    /// A job file that could not be written.
    #[error(transparent)]
    Save(#[from] SaveError),
    /// What was to be written into a job is no reading, or no box.
    #[error("{0}")]
    Refused(String),
    /// An answer is needed and nobody can be asked.
    #[error("{0}")]
    Nobody(String),
    /// Arguments that do not go together.
    #[error("{0}")]
    Usage(String),
    /// The output could not be written.
    #[error("the output could not be written: {0}")]
    Output(#[from] std::io::Error),
    /// Something that cannot happen did.
    #[error("internal failure, please report it: {0}")]
    Internal(String),
}

impl Trouble {
    /// How the command ends because of it.
    pub fn exit(&self) -> Exit {
        match self {
            Trouble::Load(_) | Trouble::Save(_) | Trouble::Refused(_) => Exit::File,
            Trouble::Usage(_) => Exit::Usage,
            Trouble::Nobody(_) => Exit::NobodyToAsk,
            // Whoever read the output has seen enough.
            Trouble::Output(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Exit::Done,
            Trouble::Output(_) => Exit::File,
            Trouble::Internal(_) => Exit::Internal,
        }
    }
}
