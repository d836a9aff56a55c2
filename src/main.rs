//! The `lath` binary: parse, dispatch, exit status; nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    lath::cli::run(std::env::args_os())
}
