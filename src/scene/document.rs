//! The document: the opened file, the boot made ready, the spots and what was done to them.
//!
//! It is the truth; the entities of the scene are a view of it. It changes only by an [`Edit`].

use std::path::PathBuf;
use std::sync::Arc;

use bevy::prelude::Resource;
use undo::Record;

use super::edit::{Edit, Gesture, Spots};
use crate::checks::{Boot, Meshes, PrepareError};
use crate::format::{FileError, LayoutFile, Opened};
use crate::model::{Layout, Place, Pump, Spot};

/// A layout that is open in the window.
#[derive(Resource)]
pub struct Document {
    layout: Arc<Layout>,
    pump: Arc<Pump>,
    meshes: Arc<Meshes>,
    file: LayoutFile,
    boot: Arc<Boot>,
    boot_age: u64,
    spots: Spots,
    saved: Vec<Spot>,
    /// The name under which each spot of the list stands in the file, if it does.
    filed: Vec<Option<String>>,
    record: Record<Edit>,
    gestures: u64,
}

impl Document {
    /// Opens a layout with the boot that was made ready for it. A layout without spots gets one
    /// above the middle of what was measured.
    pub fn new(opened: Opened, boot: Boot) -> Document {
        let saved = opened.layout.spots.clone();
        let filed = saved.iter().map(|spot| Some(spot.name.clone())).collect();
        let mut list = saved.clone();
        if list.is_empty() {
            list.push(first_spot(&boot));
        }
        Document {
            layout: Arc::new(opened.layout),
            pump: Arc::new(opened.pump),
            meshes: Arc::new(opened.meshes),
            file: opened.file,
            boot: Arc::new(boot),
            boot_age: 0,
            spots: Spots { list, current: 0 },
            saved,
            filed,
            record: Record::new(),
            gestures: 0,
        }
    }

    /// The layout as read.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The pump.
    pub fn pump(&self) -> &Pump {
        &self.pump
    }

    /// The boot with the options that are fitted now.
    pub fn boot(&self) -> &Arc<Boot> {
        &self.boot
    }

    /// Rises by one whenever the boot is another one.
    pub fn boot_age(&self) -> u64 {
        self.boot_age
    }

    /// All spots.
    pub fn spots(&self) -> &[Spot] {
        &self.spots.list
    }

    /// Which spot is worked on.
    pub fn current(&self) -> usize {
        self.spots.current
    }

    /// The spot that is worked on.
    ///
    /// # Panics
    /// Never: the document always holds a spot, and `current` is one of them.
    pub fn spot(&self) -> &Spot {
        self.spots.list.get(self.spots.current).expect("a document always has its current spot")
    }

    /// Turns to another spot; no change of the layout, so nothing to undo.
    pub fn turn_to(&mut self, spot: usize) {
        if spot < self.spots.list.len() {
            self.spots.current = spot;
        }
    }

    /// Makes a change.
    pub fn edit(&mut self, edit: Edit) {
        self.record.edit(&mut self.spots, edit);
    }

    /// Puts the current spot's pump somewhere else; nothing when it is there already.
    pub fn place(&mut self, place: Place, gesture: Gesture) {
        if place != self.spot().place {
            self.edit(Edit::Place { spot: self.current(), place, gesture });
        }
    }

    /// A new gesture: edits that carry it are undone together.
    pub fn gesture(&mut self) -> Gesture {
        self.gestures += 1;
        Gesture(self.gestures)
    }

    /// The newest gesture, to go on with it.
    pub fn last_gesture(&self) -> Gesture {
        Gesture(self.gestures)
    }

    /// Takes the last step back. Says what it was.
    pub fn undo(&mut self) -> Option<&'static str> {
        let words = self.undo_words()?;
        self.record.undo(&mut self.spots);
        // A spot that is no longer in the list must not lend its place in the file to the next one.
        self.filed.resize(self.spots.list.len(), None);
        Some(words)
    }

    /// Does the step that was taken back last again. Says what it was.
    pub fn redo(&mut self) -> Option<&'static str> {
        let words = self.redo_words()?;
        self.record.redo(&mut self.spots);
        Some(words)
    }

    /// What an undo would take back.
    pub fn undo_words(&self) -> Option<&'static str> {
        let last = self.record.head().checked_sub(1)?;
        self.record.get_entry(last).map(|entry| entry.as_ref().words())
    }

    /// What a redo would bring back.
    pub fn redo_words(&self) -> Option<&'static str> {
        self.record.get_entry(self.record.head()).map(|entry| entry.as_ref().words())
    }

    /// Whether a spot differs from what the file holds.
    pub fn unsaved(&self, spot: usize) -> bool {
        self.spots.list.get(spot).is_some_and(|spot| !self.saved.contains(spot))
    }

    /// Whether any spot does.
    pub fn any_unsaved(&self) -> bool {
        (0..self.spots.list.len()).any(|spot| self.unsaved(spot))
    }

    /// Writes the current spot into the layout's file and says which file that is.
    ///
    /// # Errors
    /// When the file can't be written; the spot then stays unsaved.
    pub fn save(&mut self) -> Result<PathBuf, FileError> {
        let spot = self.spot().clone();
        let filed_as = self.filed_as(&spot);
        let path = self.file.save_spot_over(&filed_as, &spot)?;
        self.note_saved(&filed_as, spot);
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

    /// Writes the layout with the current spot to a new file of this name beside the opened one, goes
    /// on from that, and says which file it is. On failure gives why, in a sentence.
    pub(crate) fn save_copy(&mut self, name: &str) -> Result<PathBuf, String> {
        let name = name.trim();
        if name.is_empty() || name.contains(['/', '\\']) {
            return Err("A file name is needed, without a folder".to_string());
        }
        let ending = if name.ends_with(".ron") { "" } else { ".ron" };
        let path = self.file.path().ok_or("The built-in demo has no folder of its own")?;
        let path = path.with_file_name(format!("{name}{ending}"));
        let spot = self.spot().clone();
        let filed_as = self.filed_as(&spot);
        let path =
            self.file.save_copy(&path, &filed_as, &spot).map_err(|error| error.to_string())?;
        self.note_saved(&filed_as, spot);
        Ok(path)
    }

    /// The name under which the current spot stands in the file.
    fn filed_as(&mut self, spot: &Spot) -> String {
        self.filed.resize(self.spots.list.len(), None);
        self.filed[self.spots.current].clone().unwrap_or_else(|| spot.name.clone())
    }

    fn note_saved(&mut self, filed_as: &str, spot: Spot) {
        self.filed[self.spots.current] = Some(spot.name.clone());
        self.saved.retain(|known| known.name != filed_as && known.name != spot.name);
        self.saved.push(spot);
    }

    /// Name of the layout's file; none for the embedded demo.
    pub fn file_name(&self) -> Option<String> {
        self.file
            .path()
            .map(|path| path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned())
    }

    /// What makes the boot ready with other options; to be called off the frame.
    pub(crate) fn preparation(
        &self,
        fitted: Vec<String>,
    ) -> impl FnOnce() -> Result<Boot, PrepareError> + Send + 'static {
        let layout = Arc::clone(&self.layout);
        let pump = Arc::clone(&self.pump);
        let meshes = Arc::clone(&self.meshes);
        move || Boot::prepare((*layout).clone(), (*pump).clone(), &meshes, &fitted)
    }

    /// Goes on with another boot.
    pub(crate) fn set_boot(&mut self, boot: Boot) {
        self.boot = Arc::new(boot);
        self.boot_age += 1;
    }

    /// A name that no spot has yet.
    pub(crate) fn free_name(&self, stem: &str) -> String {
        let taken = |name: &str| self.spots.list.iter().any(|spot| spot.name == name);
        (2_u32..)
            .map(|number| format!("{stem} {number}"))
            .find(|name| !taken(name))
            .unwrap_or_else(|| stem.to_string())
    }
}

fn first_spot(boot: &Boot) -> Spot {
    let bounds = boot.bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
    let place = bounds.map_or_else(Place::default, |bounds| {
        let mut at = bounds.centre();
        at.z = bounds.high.z + 100.0;
        let above = Place { at, ..Place::default() };
        boot.drop_down(&above).unwrap_or(above)
    });
    Spot { name: "Spot 1".into(), place, fixings: Vec::new(), note: String::new(), tap_hz: None }
}
