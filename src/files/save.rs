//! Saving so that a reader at any instant sees the old file or the new one, whole.

use super::to_yaml;
use crate::call::job::Job;
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Why a job could not be saved. The file that was there is as it was.
#[derive(thiserror::Error, Debug)]
#[error("{}: cannot be saved ({step}): {source}; the file is as it was", super::shown(path))]
pub struct SaveError {
    /// The file.
    pub path: PathBuf,
    /// What was being done.
    pub step: &'static str,
    /// Why it failed.
    pub source: std::io::Error,
}

/// Writes a job to `path`: a new file beside it, flushed to the disk, with the old file's permissions, put in its
/// place in one step. A link is followed, so that the file it names is replaced and not the link.
///
/// Nobody else is kept out meanwhile: [`Held`](super::Held) is for that.
///
/// # Errors
/// When any step fails; the old file is then untouched and no other file is left.
pub fn save(path: &Path, job: &Job) -> Result<(), SaveError> {
    write_whole(path, to_yaml(job).as_bytes())
}

/// Writes text to `path` in the same way.
///
/// # Errors
/// As [`save`].
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), SaveError> {
    let failed = |step| move |source| SaveError { path: path.to_owned(), step, source };
    let (target, folder) = target(path).map_err(failed("finding the file"))?;
    let mut maker = tempfile::Builder::new();
    let prefix = passing(&target);
    maker.prefix(&prefix).suffix(PASSING);
    ordinary(&mut maker);
    let mut file = maker.tempfile_in(&folder).map_err(failed("making a new file beside it"))?;
    file.write_all(bytes).map_err(failed("writing the new file"))?;
    set_permissions(&target, file.as_file()).map_err(failed("setting permissions"))?;
    file.as_file().sync_all().map_err(failed("flushing the new file"))?;
    file.persist(&target).map_err(|error| failed("putting it in place")(error.error))?;
    sync_folder(&folder).map_err(failed("flushing the folder"))
}

/// How the name of a new file ends until it is in place.
const PASSING: &str = ".tmp";

/// How it begins: as the job is called, so that one that is left behind is known to be this job's.
fn passing(target: &Path) -> OsString {
    let mut name = OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(".lath-");
    name
}

/// Takes away what a writer of this job that was killed had not put in place. Only for whoever keeps the job from other
/// writers: theirs would be gone too. What cannot be taken away hinders nobody.
pub(super) fn sweep(path: &Path) {
    let Ok((target, folder)) = target(path) else { return };
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let begins = passing(&target);
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.as_encoded_bytes();
        if name.starts_with(begins.as_encoded_bytes()) && name.ends_with(PASSING.as_bytes()) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// The file that a name stands for, links followed, and the folder it is in.
pub(super) fn target(path: &Path) -> std::io::Result<(PathBuf, PathBuf)> {
    let target = match std::fs::canonicalize(path) {
        Ok(real) => real,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => path.to_owned(),
        Err(error) => return Err(error),
    };
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    Ok((target, folder))
}

/// A temporary file is for its owner alone; a job file is as open as any file its owner makes.
#[cfg(unix)]
fn ordinary(maker: &mut tempfile::Builder) {
    use std::os::unix::fs::PermissionsExt;
    maker.permissions(std::fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn ordinary(_: &mut tempfile::Builder) {}

/// Gives the new file the permissions of the one it replaces, if there is one.
fn set_permissions(old: &Path, new: &std::fs::File) -> std::io::Result<()> {
    match std::fs::metadata(old) {
        Ok(known) => new.set_permissions(known.permissions()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(error),
    }
}

/// The new name is on the disk only once the folder is.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> std::io::Result<()> {
    std::fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> std::io::Result<()> {
    Ok(())
}
