//! How the window shows the document: what is hidden, which units, which theme. Not part of the
//! layout, so never saved and never undone.

use std::collections::{BTreeMap, BTreeSet};

use bevy::prelude::Resource;

use crate::checks::Boot;
use crate::checks::water::DrainState;
use crate::geometry::Solid;
use crate::model::{Mover, MoverKind, Point};

/// Which kinds of thing are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layers {
    /// Carpet and boards.
    pub trims: bool,
    /// Standing water.
    pub water: bool,
    /// Hoses, cables and the release cord.
    pub lines: bool,
    /// Anchors and the fixings that go to them.
    pub anchors: bool,
    /// Drains and leak points.
    pub drains: bool,
    /// The closest gaps with their numbers.
    pub gaps: bool,
    /// What stands between the eye and the pump drawn clear.
    pub see_through: bool,
}

/// A place that the user asked to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Marker {
    /// Where.
    pub at: Point,
    /// What is there.
    pub words: String,
    /// When it was asked for, s since the window opened.
    pub since_s: f64,
    /// The trim it is about, which then isn't drawn clear.
    pub trim: Option<String>,
}

/// A save that went wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failed {
    /// Why, as the file's error says.
    pub why: String,
    /// Name of another file, while it is being typed.
    pub name: Option<String>,
    /// Why that file was not written either.
    pub wrong: Option<String>,
    /// Whether the box for the name has been given the keyboard.
    pub(crate) ready: bool,
}

impl Failed {
    pub(crate) fn because(why: String) -> Failed {
        Failed { why, name: None, wrong: None, ready: false }
    }
}

/// How the window shows the document.
#[derive(Resource, Debug, Clone)]
pub struct View {
    /// Light on dark instead of dark on light.
    pub dark: bool,
    /// Lengths in inches instead of millimetres.
    pub inches: bool,
    /// Names of bodies, trims and movers that are not drawn and not picked.
    pub hidden: BTreeSet<String>,
    /// Names of what is drawn clear now because it stands before the pump.
    pub cleared: BTreeSet<String>,
    /// What is drawn.
    pub layers: Layers,
    /// Which of the boot's water cases is drawn.
    pub water_case: usize,
    /// Travel of each mover by name, degrees or mm from where it was measured.
    pub travel: BTreeMap<String, f64>,
    /// Room kept between the pump and the surface it is dragged over, mm.
    pub stand_off_mm: f64,
    /// A picture is being taken: nothing follows the pointer.
    pub still: bool,
    /// Whether the cautions are open.
    pub cautions: bool,
    /// Whether it is being asked what to do with unsaved spots before closing.
    pub closing: bool,
    /// The save that went wrong, until that was read.
    pub failed: Option<Failed>,
    /// What was done last, and whether it went wrong.
    pub said: Option<(String, bool)>,
    /// The place being shown.
    pub marker: Option<Marker>,
    /// The headlines whose checks are all shown, by their index.
    pub open: BTreeSet<usize>,
    /// Name being typed for the current spot: spot index and text.
    pub naming: Option<(usize, String)>,
}

impl View {
    /// The view that a boot is opened with.
    pub(crate) fn of(boot: &Boot, dark: bool) -> View {
        let travel = boot
            .movers()
            .map(|(mover, solids)| (mover.name.clone(), open_end(mover, solids)))
            .collect();
        View {
            dark,
            inches: false,
            hidden: BTreeSet::new(),
            cleared: BTreeSet::new(),
            layers: Layers {
                trims: true,
                water: true,
                lines: true,
                anchors: true,
                drains: true,
                gaps: true,
                see_through: true,
            },
            water_case: all_blocked_level(boot),
            travel,
            // Half way to comfort: a pump set down by a drag is clear of what it stands on.
            stand_off_mm: boot.layout().limits.gap_mm + 5.0,
            still: false,
            cautions: true,
            closing: false,
            failed: None,
            said: None,
            marker: None,
            open: BTreeSet::new(),
            naming: None,
        }
    }

    /// Shows a place.
    pub(crate) fn point_at(&mut self, at: Point, words: &str, now_s: f64) {
        self.marker = Some(Marker { at, words: words.to_string(), since_s: now_s, trim: None });
    }

    /// Shows a place of a trim, and the trim itself.
    pub(crate) fn point_at_trim(&mut self, at: Point, words: &str, trim: &str, now_s: f64) {
        self.point_at(at, words, now_s);
        self.layers.trims = true;
        self.hidden.remove(trim);
        if let Some(marker) = &mut self.marker {
            marker.trim = Some(trim.to_string());
        }
    }

    /// Whether a dialog is shown; keys and pointer then belong to it.
    pub fn dialog_up(&self) -> bool {
        self.cautions || self.closing || self.failed.is_some()
    }

    /// Says what was done.
    pub(crate) fn say(&mut self, words: impl Into<String>) {
        self.said = Some((words.into(), false));
    }

    /// Says what went wrong.
    pub(crate) fn warn(&mut self, words: impl Into<String>) {
        self.said = Some((words.into(), true));
    }
}

/// Lid and hinges are shown where they stand highest, so that one sees past them; other movers as
/// measured.
pub(crate) fn open_end(mover: &Mover, solids: &[Solid]) -> f64 {
    let (from, to) = mover.motion.travel();
    let height = |travel: f64| {
        Boot::mover_at(&mover.motion, solids, travel)
            .iter()
            .map(|solid| solid.bounds().centre().z)
            .sum::<f64>()
    };
    match mover.kind {
        MoverKind::Lid | MoverKind::Hinge if height(from) > height(to) => from,
        MoverKind::Lid | MoverKind::Hinge => to,
        MoverKind::Roof | MoverKind::Tray => 0.0_f64.clamp(from.min(to), from.max(to)),
    }
}

/// The boot's water case with all drains blocked on level ground, or the first one.
fn all_blocked_level(boot: &Boot) -> usize {
    boot.water()
        .iter()
        .position(|case| case.drains == DrainState::AllBlocked && case.slope.up().z >= 1.0)
        .unwrap_or(0)
}
