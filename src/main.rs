//! The `lath` binary: parse, dispatch, exit status; nothing else.

#![forbid(unsafe_code)]

use std::process::ExitCode;

/// Wirings are many and small: half the time of listing them went into the system's allocator.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    lath::cli::run(std::env::args_os())
}
