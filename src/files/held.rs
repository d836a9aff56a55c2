//! A job file that is being worked on: read, kept from other writers, saved after every answer.

use super::lock::{Keep, Lock};
use super::save::{self, SaveError, write_whole};
use super::{Failure, LARGEST, Loaded, parse_bytes, patched, read, shown, to_yaml};
use crate::call::job::{Job, items};
use std::io;
use std::path::{Path, PathBuf};

/// A job file, held. Nobody else who asks for it gets it until this is dropped; readers are not kept out.
#[derive(Debug)]
pub struct Held {
    path: PathBuf,
    bytes: Vec<u8>,
    loaded: Loaded,
    _lock: Lock,
}

impl Held {
    /// Takes, reads and checks a job file; another writer who needs it for a moment is waited for.
    ///
    /// # Errors
    /// As [`load`](super::load), and where another writer keeps it.
    pub fn open(path: &Path, keep: Keep) -> Result<Held, Failure> {
        let name = shown(path);
        // A file that is not there, or is a folder, is not worth a lock.
        read(path, &name)?;
        let lock = self::lock(path, &name, keep)?;
        let bytes = read(path, &name)?;
        let loaded = parse_bytes(&name, &bytes)?;
        Ok(Held { path: path.to_owned(), bytes, loaded, _lock: lock })
    }

    /// Makes a new job file and keeps it for long; one that is there already is not touched.
    ///
    /// # Errors
    /// Where a file is there already, or none can be made.
    pub fn create(path: &Path, job: &Job) -> Result<Held, Failure> {
        let name = shown(path);
        let lock = self::lock(path, &name, Keep::Long)?;
        if std::fs::symlink_metadata(path).is_ok() {
            return Err(Failure::Exists(name));
        }
        let text = to_yaml(job);
        let loaded = parse_bytes(&name, text.as_bytes())?;
        write_whole(path, text.as_bytes())?;
        Ok(Held { path: path.to_owned(), bytes: text.into_bytes(), loaded, _lock: lock })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What it says, and means.
    pub fn loaded(&self) -> &Loaded {
        &self.loaded
    }

    /// Saves a job that was checked already: whole, in one step, with the text and the comments of what did not change. A
    /// history that makes the file larger than a job may be loses its oldest entries.
    ///
    /// # Errors
    /// Where the job makes no sense, or cannot be written, or another program has changed the file meanwhile; the file is
    /// then as it was.
    pub fn save(&mut self, job: &Job) -> Result<(), Failure> {
        let name = shown(&self.path);
        let failed = |step, source| SaveError { path: self.path.clone(), step, source };
        if read(&self.path, &name).ok().as_deref() != Some(self.bytes.as_slice()) {
            let source = io::Error::other("another program has changed it in the meantime");
            return Err(failed("looking at it again", source).into());
        }
        let old = std::str::from_utf8(&self.bytes).unwrap_or_default();
        let mut job = job.clone();
        let text = loop {
            let text = patched(old, &self.loaded.job, &job);
            if text.len() as u64 <= LARGEST {
                break text;
            }
            let history = items(&job.history);
            if history.is_empty() {
                return Err(failed("measuring it", io::Error::other("it would be larger than 1 MiB")).into());
            }
            let left = history[history.len().div_ceil(2)..].to_vec();
            job.history = (!left.is_empty()).then_some(left);
        };
        let loaded = parse_bytes(&name, text.as_bytes())?;
        write_whole(&self.path, text.as_bytes())?;
        self.bytes = text.into_bytes();
        self.loaded = loaded;
        Ok(())
    }
}

fn lock(path: &Path, name: &str, keep: Keep) -> Result<Lock, Failure> {
    let name = name.to_owned();
    match Lock::take(path, keep) {
        Ok(Some(lock)) => {
            save::sweep(path);
            Ok(lock)
        }
        Ok(None) => Err(Failure::Busy { name }),
        Err(source) => Err(Failure::Lock { name, source }),
    }
}
