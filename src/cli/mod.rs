//! Commands: arguments in, core called, output chosen.

use std::ffi::OsString;
use std::process::ExitCode;

/// Runs one command line and says how it ended.
pub fn run(_args: impl IntoIterator<Item = OsString>) -> ExitCode {
    ExitCode::SUCCESS
}
