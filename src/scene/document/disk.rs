//! The document and its file: what differs, saving, another file on disk.

use std::path::PathBuf;
use std::sync::Arc;

use super::Document;
use crate::format::FileError;
use crate::scene::edit::Draft;

impl Document {
    /// Whether a spot differs from what the file holds.
    pub fn unsaved(&self, spot: usize) -> bool {
        self.draft.list.get(spot).is_some_and(|spot| !self.saved.list.contains(spot))
    }

    /// Whether what was measured differs from what the file holds.
    pub fn measured_unsaved(&self) -> bool {
        !Arc::ptr_eq(&self.draft.layout, &self.saved.layout)
            && self.draft.layout != self.saved.layout
    }

    /// Whether anything does.
    pub fn any_unsaved(&self) -> bool {
        self.draft.list != self.saved.list || self.measured_unsaved()
    }

    /// Writes everything into the layout's file and says which file that is.
    ///
    /// # Errors
    /// When the file can't be written; everything then stays unsaved.
    pub fn save(&mut self) -> Result<PathBuf, FileError> {
        let path = self.file.save_layout(&self.whole())?;
        self.saved = self.draft.clone();
        Ok(path)
    }

    /// A name for a copy of the layout's file beside it that no file has yet; none for the embedded
    /// demo, which lies in no folder.
    pub(crate) fn copy_name(&self) -> Option<String> {
        let path = self.file.path()?;
        let stem = path.file_stem()?.to_string_lossy().into_owned();
        (2_u32..100).map(|number| format!("{stem}-{number}.ron")).find(|name| {
            let taken = path.with_file_name(name).try_exists();
            matches!(taken, Ok(false))
        })
    }

    /// Writes the layout to a new file of this name beside the opened one, goes on from that, and says
    /// which file it is. On failure gives why, in a sentence.
    pub(crate) fn save_copy(&mut self, name: &str) -> Result<PathBuf, String> {
        let name = name.trim();
        if name.is_empty() || name.contains(['/', '\\']) {
            return Err("A file name is needed, without a folder".to_string());
        }
        let ending = if name.ends_with(".ron") { "" } else { ".ron" };
        let path = self.file.path().ok_or("The built-in demo has no folder of its own")?;
        let path = path.with_file_name(format!("{name}{ending}"));
        let path =
            self.file.save_layout_copy(&path, &self.whole()).map_err(|error| error.to_string())?;
        self.saved = self.draft.clone();
        Ok(path)
    }

    /// Goes on from what the file on disk says now, as one step that can be taken back.
    ///
    /// # Errors
    /// When the file on disk can't be used; nothing is changed then.
    pub(crate) fn take_from_disk(&mut self) -> Result<(), String> {
        let path = self.file.path().ok_or("The built-in demo lies in no file")?.to_path_buf();
        let opened = crate::format::open(&path).map_err(|error| error.to_string())?;
        self.pump = Arc::new(opened.pump);
        let mut meshes = (*self.meshes).clone();
        meshes.extend(opened.meshes);
        self.meshes = Arc::new(meshes);
        let gesture = self.gesture();
        self.measured("what was on disk", gesture, opened.layout)
            .map_err(|wrong| wrong.join("; "))?;
        // The pump or a mesh may be another one even where the layout reads the same.
        self.layout_age += 1;
        self.file = opened.file;
        self.saved = self.draft.clone();
        Ok(())
    }

    /// Goes on with what is worked on here, though the file on disk says something else now; the next
    /// saving writes it there.
    ///
    /// # Errors
    /// When the file on disk is no sound layout.
    pub(crate) fn keep_mine(&mut self, on_disk: String) -> Result<(), String> {
        self.file.rebase(on_disk).map_err(|error| error.to_string())?;
        let mut theirs = crate::format::layout_from_text(&self.file.name(), self.file.text())
            .map_err(|error| error.to_string())?;
        let list = std::mem::take(&mut theirs.spots);
        self.saved = Draft { list, layout: Arc::new(theirs), current: 0 };
        Ok(())
    }

    /// Name of the layout's file; none for the embedded demo.
    pub fn file_name(&self) -> Option<String> {
        self.file
            .path()
            .map(|path| path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned())
    }
}
