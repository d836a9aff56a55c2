//! One writer at a time: a lock file beside the job, held by the operating system and gone with the process.
//!
//! The job itself cannot be locked: a save puts a new file in its place, and where locks bind readers nobody could look
//! at a job while it is walked.

use super::save;
use same_file::Handle;
use std::fs::{File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A job kept from other writers until this is dropped.
#[derive(Debug)]
pub(super) struct Lock {
    path: PathBuf,
    _file: File,
}

/// For how long a job is kept.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Keep {
    /// For one change.
    Moment,
    /// While a person works on it.
    Long,
}

/// What a lock file says while its job is kept for long.
const LONG: &[u8] = b"long";
/// How long to wait for somebody who keeps it for a moment.
const PATIENCE: Duration = Duration::from_secs(30);
/// How long to sleep between two tries.
const PAUSE: Duration = Duration::from_millis(10);

impl Lock {
    /// Takes the lock of the job at `job`, to keep it for a moment or for long. Somebody else who keeps it for a moment is
    /// waited for; nothing where that takes too long, or somebody keeps it for long.
    pub fn take(job: &Path, keep: Keep) -> io::Result<Option<Lock>> {
        let (target, folder) = save::target(job)?;
        let name = target.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let path = folder.join(format!(".{name}.lock"));
        let start = Instant::now();
        loop {
            if let Some(mut file) = attempt(&path)? {
                file.set_len(0)?;
                if keep == Keep::Long {
                    file.write_all(LONG)?;
                }
                return Ok(Some(Lock { path, _file: file }));
            }
            if start.elapsed() >= PATIENCE || std::fs::read(&path).is_ok_and(|said| said == LONG) {
                return Ok(None);
            }
            std::thread::sleep(PAUSE);
        }
    }
}

/// One try. Whoever had the lock before takes its file away, so the file that was locked must still be the one there.
fn attempt(path: &Path) -> io::Result<Option<File>> {
    let file = File::options().create(true).truncate(false).write(true).open(path)?;
    match file.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Ok(None),
        Err(TryLockError::Error(error)) => return Err(error),
    }
    let locked = Handle::from_file(file.try_clone()?)?;
    Ok(Handle::from_path(path).is_ok_and(|there| there == locked).then_some(file))
}

impl Drop for Lock {
    fn drop(&mut self) {
        // A lock file that stays behind is taken over by the next writer.
        let _ = std::fs::remove_file(&self.path);
    }
}
