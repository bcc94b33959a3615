//! How the window shows the document: what is hidden, which units, which theme. Not part of the
//! layout, so never saved and never undone.

use std::collections::{BTreeMap, BTreeSet};

use bevy::prelude::Resource;

use super::thing::{Kind, Thing};
use crate::checks::Boot;
use crate::checks::water::DrainState;
use crate::format::Unsaved;
use crate::geometry::Solid;
use crate::model::{Mover, MoverKind, Point, Pose, Vector, Weights};

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
    /// The pump as the other spots have it.
    pub ghosts: bool,
    /// The tightest bend of each line.
    pub bends: bool,
    /// How far the pump pushes carpets and boards out.
    pub lift: bool,
    /// Where the pump rests, and what pushes it there.
    pub rests: bool,
    /// How hard it can be shaken each way before it moves.
    pub rock: bool,
    /// The space that moving parts go through.
    pub swept: bool,
    /// Where carpets and boards would have to be cut.
    pub cut_outs: bool,
    /// What each fixing and rest takes in a load case.
    pub loads: bool,
}

/// A plane that cuts the picture open: what lies on its far side along the axis isn't drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// 0 forward, 1 left, 2 up.
    pub axis: usize,
    /// Where along it, mm.
    pub at_mm: f64,
    /// Whether the other side is kept.
    pub flipped: bool,
}

/// What a click into the picture does.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Tool {
    /// Moves the pump and the eye.
    #[default]
    Hand,
    /// Measures between two points.
    Points(Vec<Point>),
    /// Measures between two bodies, each by its name; the pump has none.
    Bodies(Vec<Option<String>>),
}

/// What the left panel shows.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Tab {
    /// What is in the boot and how it is drawn.
    #[default]
    Boot,
    /// What is measured, and what isn't yet.
    Measure,
}

/// A thing whose figures are being typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Its kind.
    pub kind: Kind,
    /// Its place in its list.
    pub index: usize,
    /// As it is being typed; the layout has it as soon as it is sound.
    pub thing: Thing,
    /// As the layout had it when it was last the same.
    pub base: Thing,
    /// Why the layout doesn't have it.
    pub wrong: Vec<String>,
    /// When it was last changed, s since the window opened.
    pub(crate) touched_s: f64,
    /// Whether it has been brought into sight.
    pub(crate) ready: bool,
}

/// What a new boot begins with, while it is being typed; lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// The car's model, in the workshop's words.
    pub name: String,
    /// Which point the origin is.
    pub origin: String,
    /// The file to be made.
    pub file: String,
    /// Floor from sill to bulkhead.
    pub long_mm: f64,
    /// Between the side panels.
    pub wide_mm: f64,
    /// From the floor to the lid's seal.
    pub high_mm: f64,
    /// The rear sill over the floor.
    pub sill_mm: f64,
    /// Why it can't be begun.
    pub wrong: Option<String>,
    /// Enter was pressed: it is begun when what was typed has been taken.
    pub(crate) enter: bool,
    pub(crate) ready: bool,
}

/// A layout that is being chosen to be opened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choosing {
    /// Layouts near by: the model and the file.
    pub found: Vec<(String, std::path::PathBuf)>,
    /// The path as typed or chosen.
    pub path: String,
    /// Why it can't be opened.
    pub wrong: Option<String>,
    pub(crate) ready: bool,
}

impl Default for Start {
    fn default() -> Start {
        Start {
            name: String::new(),
            origin: "Centre line of the boot, where the rear sill's inner face meets the floor"
                .into(),
            file: "boot.ron".into(),
            long_mm: 800.0,
            wide_mm: 1200.0,
            high_mm: 400.0,
            sill_mm: 100.0,
            wrong: None,
            enter: false,
            ready: false,
        }
    }
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
    /// Travel of each mover that nothing drives, by name, degrees or mm from where it was measured; what
    /// is driven follows.
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
    /// Names of bodies, trims and movers that are drawn faint.
    pub faded: BTreeSet<String>,
    /// The planes that cut the picture open.
    pub section: Option<Section>,
    /// What a click does.
    pub tool: Tool,
    /// What the left panel shows.
    pub tab: Tab,
    /// The thing that is being typed.
    pub form: Option<Form>,
    /// The kinds whose lists are open in the left panel.
    pub(crate) lists: BTreeSet<Kind>,
    /// A new boot that is being begun.
    pub start: Option<Start>,
    /// A layout that is being chosen to be opened.
    pub choosing: Option<Choosing>,
    /// A scan that is being taken in.
    pub import: Option<super::import::Import>,
    /// Unsaved work from before a crash, to be decided on.
    pub recovered: Option<Box<Unsaved>>,
    /// What the file on disk says now, when that isn't what was read.
    pub on_disk: Option<String>,
    /// What a panic beside the frames said.
    pub panic: Option<String>,
    /// The check whose meaning is shown.
    pub help: Option<&'static str>,
    /// Whether what is written down beside the verdicts is shown.
    pub notes: bool,
    /// Whether the section of the reservoir is shown.
    pub tank: bool,
    /// Whether the spots are shown side by side, check by check.
    pub compare: bool,
    /// The spot that differences are taken to there; the best one when none.
    pub compare_to: Option<String>,
    /// Whether its rows show chances instead of differences.
    pub compare_chances: bool,
    /// Weights tried there instead of the layout's own.
    pub weights: Option<Weights>,
    /// The load case whose arrows are drawn, by its place; the worst one when none.
    pub load_case: Option<usize>,
    /// A slope of its own for the water, % along (nose up above 0) and across, instead of a case.
    pub slope: Option<(f64, f64)>,
    /// Large type and nothing else, for whoever looks over one's shoulder.
    pub present: bool,
    /// The eye goes round by itself.
    pub spin: bool,
    /// A drag stops where the pump would touch something.
    pub stops: bool,
}

impl View {
    /// The view that a boot is opened with.
    pub(crate) fn of(boot: &Boot, dark: bool) -> View {
        let travel = boot
            .movers()
            .filter(|(mover, _)| mover.driven.is_none())
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
                ghosts: false,
                bends: true,
                lift: true,
                rests: false,
                rock: false,
                swept: false,
                cut_outs: false,
                loads: false,
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
            faded: BTreeSet::new(),
            section: None,
            tool: Tool::Hand,
            tab: Tab::Boot,
            form: None,
            lists: BTreeSet::new(),
            start: None,
            choosing: None,
            import: None,
            recovered: None,
            on_disk: None,
            panic: None,
            help: None,
            notes: false,
            tank: false,
            compare: false,
            compare_to: None,
            compare_chances: false,
            weights: None,
            load_case: None,
            slope: None,
            present: false,
            spin: false,
            stops: false,
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

    /// Whether a point lies on the side of the section that is drawn.
    pub(crate) fn shows(&self, at: &Point) -> bool {
        self.section.is_none_or(|section| {
            let over = at[section.axis] - section.at_mm;
            if section.flipped { over >= -0.01 } else { over <= 0.01 }
        })
    }

    /// Where a ray comes into what the section leaves, and how far that is along it, mm.
    pub(crate) fn past_section(&self, from: &Point, way: &Vector) -> (Point, f64) {
        let Some(section) = self.section.filter(|_| !self.shows(from)) else { return (*from, 0.0) };
        let along = (section.at_mm - from[section.axis]) / way[section.axis];
        if along.is_finite() && along > 0.0 { (from + way * along, along) } else { (*from, 0.0) }
    }

    /// The pose that carries a mover from where it was measured to where it is drawn.
    pub(crate) fn mover_pose(&self, boot: &Boot, name: &str) -> Pose {
        boot.course(name).map_or_else(Pose::identity, |course| {
            course.pose(self.travel.get(course.lead()).copied().unwrap_or(0.0))
        })
    }

    /// Whether a dialog is shown; keys and pointer then belong to it.
    pub fn dialog_up(&self) -> bool {
        self.cautions
            || self.closing
            || self.failed.is_some()
            || self.start.is_some()
            || self.choosing.is_some()
            || self.recovered.is_some()
            || self.panic.is_some()
            || self.help.is_some()
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
