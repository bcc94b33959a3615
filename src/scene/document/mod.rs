//! The document: the opened file, the boot made ready, the spots and what was done to them.
//!
//! It is the truth; the entities of the scene are a view of it. It changes only by an [`Edit`].

mod disk;
mod wrong;

use std::sync::Arc;

use bevy::prelude::Resource;
use undo::Record;

use super::beside::Work;
use super::edit::{Draft, Edit, Gesture};
use crate::checks::{Boot, Meshes, PrepareError};
use crate::format::{LayoutFile, Opened};
use crate::model::{Layout, Place, Pump, Spot};

/// A layout that is open in the window.
#[derive(Resource)]
pub struct Document {
    pump: Arc<Pump>,
    meshes: Arc<Meshes>,
    file: LayoutFile,
    boot: Arc<Boot>,
    boot_age: u64,
    draft: Draft,
    /// Rises with every change of what was measured.
    layout_age: u64,
    /// The age of the layout that the boot was made of.
    boot_of: u64,
    /// Rises with every change at all.
    age: u64,
    saved: Draft,
    record: Record<Edit>,
    gestures: u64,
}

impl Document {
    /// Opens a layout with the boot that was made ready for it. A layout without spots gets one
    /// above the middle of what was measured.
    pub fn new(opened: Opened, boot: Boot) -> Document {
        let mut opened = opened;
        let mut list = std::mem::take(&mut opened.layout.spots);
        if list.is_empty() {
            list.push(first_spot(&boot));
        }
        let draft = Draft { layout: Arc::new(opened.layout), list, current: 0 };
        Document {
            pump: Arc::new(opened.pump),
            meshes: Arc::new(opened.meshes),
            file: opened.file,
            boot: Arc::new(boot),
            boot_age: 0,
            saved: draft.clone(),
            draft,
            layout_age: 0,
            boot_of: 0,
            age: 0,
            record: Record::new(),
            gestures: 0,
        }
    }

    /// Another layout instead of this one; ages go on, so that everything drawn is drawn anew.
    pub(crate) fn go_on_with(&mut self, opened: Opened, boot: Boot) {
        let (boot_age, layout_age) = (self.boot_age + 1, self.layout_age + 1);
        let age = self.age + 1;
        *self = Document::new(opened, boot);
        (self.boot_age, self.layout_age, self.boot_of, self.age) =
            (boot_age, layout_age, layout_age, age);
    }

    /// What was measured, as it stands now; the boot follows when it has been made ready.
    pub fn layout(&self) -> &Layout {
        &self.draft.layout
    }

    /// The layout with its spots as they stand now.
    pub fn whole(&self) -> Layout {
        Layout { spots: self.draft.list.clone(), ..(*self.draft.layout).clone() }
    }

    /// The file.
    pub(crate) fn file(&self) -> &LayoutFile {
        &self.file
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

    /// Rises with every change of what was measured.
    pub(crate) fn layout_age(&self) -> u64 {
        self.layout_age
    }

    /// Rises with every change at all.
    pub fn age(&self) -> u64 {
        self.age
    }

    /// Whether the boot is older than what was measured.
    pub fn boot_stale(&self) -> bool {
        self.boot_of != self.layout_age
    }

    /// All spots.
    pub fn spots(&self) -> &[Spot] {
        &self.draft.list
    }

    /// Which spot is worked on.
    pub fn current(&self) -> usize {
        self.draft.current
    }

    /// The spot that is worked on.
    ///
    /// # Panics
    /// Never: the document always holds a spot, and `current` is one of them.
    pub fn spot(&self) -> &Spot {
        self.draft.list.get(self.draft.current).expect("a document always has its current spot")
    }

    /// Turns to another spot; no change of the layout, so nothing to undo.
    pub fn turn_to(&mut self, spot: usize) {
        if spot < self.draft.list.len() {
            self.draft.current = spot;
        }
    }

    /// Makes a change.
    pub fn edit(&mut self, edit: Edit) {
        self.noting(|record, draft| {
            record.edit(draft, edit);
        });
    }

    fn noting(&mut self, act: impl FnOnce(&mut Record<Edit>, &mut Draft)) {
        let before = Arc::clone(&self.draft.layout);
        act(&mut self.record, &mut self.draft);
        self.age += 1;
        if !Arc::ptr_eq(&before, &self.draft.layout) && before != self.draft.layout {
            self.layout_age += 1;
        }
    }

    /// Changes what was measured, when it is sound; else says what is wrong with it.
    ///
    /// # Errors
    /// The problems, each with where it stands, what was found and what was expected.
    pub fn measure(
        &mut self,
        words: &'static str,
        gesture: Gesture,
        change: impl FnOnce(&mut Layout),
    ) -> Result<(), Vec<String>> {
        let mut layout = self.whole();
        change(&mut layout);
        self.measured(words, gesture, layout)
    }

    /// Goes on with another layout, when it is sound; else says what is wrong with it.
    pub(crate) fn measured(
        &mut self,
        words: &'static str,
        gesture: Gesture,
        mut layout: Layout,
    ) -> Result<(), Vec<String>> {
        let mut problems = layout.problems();
        problems.extend(layout.problems_with(&self.pump));
        if !problems.is_empty() {
            return Err(problems.iter().map(|it| wrong::sentence(&layout, it)).collect());
        }
        let mut list = std::mem::take(&mut layout.spots);
        if list.is_empty() {
            list.push(first_spot(&self.boot));
        }
        let current = self.draft.current.min(list.len() - 1);
        let same = layout == *self.draft.layout;
        let layout = if same { Arc::clone(&self.draft.layout) } else { Arc::new(layout) };
        let draft = Draft { layout, list, current };
        if draft != self.draft {
            self.edit(Edit::Boot { draft, words, gesture });
        }
        Ok(())
    }

    /// Calls a spot something else; what names it elsewhere in the layout follows.
    pub(crate) fn name_spot(&mut self, spot: usize, name: &str) {
        let old = self.draft.list.get(spot).map(|known| known.name.clone());
        let layout = &self.draft.layout;
        let named = layout.handover.before == old
            || layout.trials.iter().any(|trial| Some(&trial.spot) == old.as_ref());
        if !named {
            self.edit(Edit::Name { spot, name: name.to_string() });
            return;
        }
        let gesture = self.gesture();
        let done = self.measure("rename", gesture, |layout| {
            if layout.handover.before == old {
                layout.handover.before = Some(name.to_string());
            }
            for trial in &mut layout.trials {
                if Some(&trial.spot) == old.as_ref() {
                    trial.spot = name.to_string();
                }
            }
            if let Some(known) = layout.spots.get_mut(spot) {
                known.name = name.to_string();
            }
        });
        if done.is_err() {
            // Only a layout that wasn't sound before; the name is still kept.
            self.edit(Edit::Name { spot, name: name.to_string() });
        }
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
        self.noting(|record, draft| {
            record.undo(draft);
        });
        Some(words)
    }

    /// Does the step that was taken back last again. Says what it was.
    pub fn redo(&mut self) -> Option<&'static str> {
        let words = self.redo_words()?;
        self.noting(|record, draft| {
            record.redo(draft);
        });
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

    /// Adds the triangles of a mesh file, so that a body may name it.
    pub(crate) fn add_mesh(&mut self, file: &str, triangles: crate::geometry::Triangles) {
        let mut meshes = (*self.meshes).clone();
        meshes.insert(file.to_string(), triangles);
        self.meshes = Arc::new(meshes);
    }

    /// What makes the boot ready with these options; to be called off the frame. Options that the
    /// layout no longer lists are left out; given up when `work` says so.
    pub(crate) fn preparation(
        &self,
        fitted: &[String],
        work: Arc<Work>,
    ) -> impl FnOnce() -> (u64, Result<Boot, PrepareError>) + Send + 'static {
        let layout = self.whole();
        let pump = Arc::clone(&self.pump);
        let meshes = Arc::clone(&self.meshes);
        let age = self.layout_age;
        let known = |name: &&String| layout.options.iter().any(|option| option.name == **name);
        let fitted: Vec<String> = fitted.iter().filter(known).cloned().collect();
        move || {
            let go_on = |share: f64| work.go_on(share);
            (age, Boot::prepare_watched(layout, (*pump).clone(), &meshes, &fitted, &go_on))
        }
    }

    /// Goes on with another boot, made of the layout of that age.
    pub(crate) fn set_boot(&mut self, boot: Boot, layout_age: u64) {
        self.boot = Arc::new(boot);
        self.boot_of = layout_age;
        self.boot_age += 1;
    }

    /// Gives up on a boot of the layout of that age: it can't be made ready.
    pub(crate) fn no_boot(&mut self, layout_age: u64) {
        self.boot_of = layout_age;
    }

    /// A name that no spot has yet.
    pub(crate) fn free_name(&self, stem: &str) -> String {
        let taken = |name: &str| self.draft.list.iter().any(|spot| spot.name == name);
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
