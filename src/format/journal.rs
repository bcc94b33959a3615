//! Unsaved work kept beside a layout's file, so that a crash loses no more than the last moments.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::atomic::write_atomically;
use super::error::FileError;
use super::layout_file::LayoutFile;
use super::read::layout_from_text;
use crate::model::Layout;

/// The first line of a journal.
const HEAD: &str = "// Dryberth: unsaved work on ";

/// Where the unsaved work on a layout is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Journal {
    path: PathBuf,
    of: String,
}

/// Unsaved work that was found.
#[derive(Debug, Clone)]
pub struct Unsaved {
    /// The layout as it was worked on.
    pub layout: Layout,
    /// When it was last kept.
    pub kept: Option<SystemTime>,
}

impl Journal {
    /// The journal of a layout's file: hidden beside it, as `.NAME.unsaved`; for a demo built into
    /// the program in `folder`, such as one for temporary files.
    pub fn of(file: &LayoutFile, folder: &Path) -> Journal {
        let path = match file.path() {
            Some(path) => {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                path.with_file_name(format!(".{name}.unsaved"))
            }
            None => folder.join(format!(".dryberth {}.unsaved", file.name())),
        };
        Journal { path, of: file.name() }
    }

    /// The file that it is kept in.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Keeps a layout: written beside, synced and renamed, so that a crash leaves the last journal or
    /// this one.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn keep(&self, text: &str) -> Result<(), FileError> {
        write_atomically(&self.path, format!("{HEAD}{}\n{text}", self.of).as_bytes())
    }

    /// The unsaved work that was kept; none when there is none or it can't be used.
    pub fn find(&self) -> Option<Unsaved> {
        let text = fs::read_to_string(&self.path).ok()?;
        let (head, text) = text.split_once('\n')?;
        if !head.starts_with(HEAD) {
            return None;
        }
        let layout = layout_from_text(&self.path.display().to_string(), text).ok()?;
        let kept = fs::metadata(&self.path).and_then(|known| known.modified()).ok();
        Some(Unsaved { layout, kept })
    }

    /// Takes it away: everything is saved, or nothing of it is wanted.
    pub fn clear(&self) {
        // A journal that is gone already is as good.
        let _ = fs::remove_file(&self.path);
    }

    /// Puts it aside as `….old` instead of taking it away.
    pub fn put_aside(&self) {
        let mut name = self.path.file_name().unwrap_or_default().to_os_string();
        name.push(".old");
        let _ = fs::rename(&self.path, self.path.with_file_name(name));
    }
}
