//! The workshop's settings and a job's file.

use std::path::Path;

use super::atomic::write_atomically;
use super::error::FileError;
use super::layout_file::{read_capped, utf8};
use super::read::{nothing_wrong, parse};
use crate::model::{Job, Step, Workshop};

/// Largest settings or job file, bytes.
const LARGEST_TEXT: u64 = 1 << 20;

/// Largest logo, bytes.
const LARGEST_LOGO: u64 = 4 << 20;

/// Reads a workshop's settings from RON text; `file` is its name for messages.
///
/// # Errors
/// As for [`layout_from_text`](super::layout_from_text).
pub fn workshop_from_text(file: &str, text: &str) -> Result<Workshop, FileError> {
    let workshop: Workshop = parse(file, text)?;
    nothing_wrong(file, text, &workshop.problems())?;
    Ok(workshop)
}

/// Reads a job from RON text; `file` is its name for messages.
///
/// # Errors
/// As for [`layout_from_text`](super::layout_from_text).
pub fn job_from_text(file: &str, text: &str) -> Result<Job, FileError> {
    let job: Job = parse(file, text)?;
    nothing_wrong(file, text, &job.problems())?;
    Ok(job)
}

/// Reads a job's file.
///
/// # Errors
/// When it can't be read or holds something that can't be used.
pub fn open_job(path: &Path) -> Result<Job, FileError> {
    let name = path.display().to_string();
    job_from_text(&name, &utf8(&name, read_capped(path, &name, LARGEST_TEXT, "a job file")?)?)
}

/// Reads a workshop's settings and the bytes of its logo.
///
/// # Errors
/// When the file can't be read, holds something that can't be used, or names a logo that isn't a PNG
/// file beside it.
pub fn open_workshop(path: &Path) -> Result<(Workshop, Option<Vec<u8>>), FileError> {
    let name = path.display().to_string();
    let text = utf8(&name, read_capped(path, &name, LARGEST_TEXT, "a settings file")?)?;
    let workshop = workshop_from_text(&name, &text)?;
    let logo = match &workshop.logo {
        None => None,
        Some(file) => {
            let relative = super::layout_file::jailed(&name, file, &["png"])
                .map_err(|error| error.at(&text, &[Step::Field("logo")]))?;
            let beside = path.parent().unwrap_or(Path::new("")).join(relative);
            let shown = beside.display().to_string();
            let bytes = read_capped(&beside, &shown, LARGEST_LOGO, "a logo")?;
            if !bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
                return Err(FileError::one(shown, "a file that is no PNG picture", "a PNG file"));
            }
            Some(bytes)
        }
    };
    Ok((workshop, logo))
}

/// Writes a file beside, syncs it and renames it, so that a crash leaves the old one or the new one.
///
/// # Errors
/// When it can't be written.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    write_atomically(path, bytes)
}
