//! The window's panels, drawn with egui round the picture of the boot.

mod bar;
mod cautions;
mod closing;
mod compare;
mod contents;
mod fields;
mod fixing;
mod form;
mod gaps;
mod handover;
mod help;
mod import;
mod keys;
mod limits;
mod lost;
mod measure;
mod mounts;
mod movers;
mod naming;
mod notes;
mod number;
mod open;
mod pose;
mod present;
mod spots;
mod start;
mod tank;
mod tools;
mod unsaved;
mod verdict;
mod viewport;

use std::path::Path;

use bevy::app::AppExit;
use bevy::input::keyboard::{KeyboardFocusLost, KeyboardInput};
use bevy::prelude::{
    App, IntoScheduleConfigs, Local, MessageReader, MessageWriter, PreUpdate, Query, Res, ResMut,
    Result, Time, Update,
};
use bevy::window::{RequestRedraw, WindowCloseRequested};
use bevy::winit::EventLoopProxyWrapper;
use bevy_egui::egui::{self, FontId, LayerId, Modal, Ui, UiBuilder};
use bevy_egui::{EguiContexts, EguiInput, EguiPreUpdateSet, EguiPrimaryContextPass};

use super::chances::Chances;
use super::document::Document;
use super::edit::Gesture;
use super::keeper::Keeper;
use super::moves;
use super::opening::Opening;
use super::orbit::Orbit;
use super::scores::{Extras, ScoreSystems, Scores};
use super::theme::{self, Palette};
use super::thing;
use super::view::{Failed, View};
use crate::checks::Boot;
use crate::geometry::gap;
use crate::model::{Layout, Place, Vector};

/// Everything that a panel may look at and change.
pub(crate) struct Desk<'a> {
    pub(crate) document: &'a mut Document,
    pub(crate) scores: &'a mut Scores,
    pub(crate) chances: &'a mut Chances,
    pub(crate) view: &'a mut View,
    pub(crate) orbit: &'a mut Orbit,
    pub(crate) opening: &'a mut Opening,
    pub(crate) keeper: &'a mut Keeper,
    pub(crate) palette: Palette,
    /// Seconds since the window opened.
    pub(crate) now_s: f64,
    /// Whether something moves by itself and needs another frame.
    pub(crate) moving: bool,
}

impl Desk<'_> {
    /// Writes everything into the file and says how that went.
    pub(crate) fn save(&mut self) {
        self.keep_name();
        match self.document.save() {
            Ok(path) => self.say_saved(&path),
            Err(error) => {
                self.view.warn("Not saved");
                self.view.failed = Some(Failed::because(error.to_string()));
            }
        }
    }

    /// Writes the layout with the current spot to a new file beside the opened one and goes on from
    /// that. Gives why not.
    pub(crate) fn save_copy(&mut self, name: &str) -> Result<(), String> {
        let path = self.document.save_copy(name)?;
        self.say_saved(&path);
        Ok(())
    }

    fn say_saved(&mut self, path: &Path) {
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
        self.view.on_disk = None;
        self.view.say(format!("Saved to {}", path.display()));
    }

    /// Nothing is left to keep; what was found after a crash and not decided on stays.
    pub(crate) fn close_journal(&mut self) {
        if self.view.recovered.is_none() {
            self.keeper.close(self.document);
        }
    }

    /// Takes the last step back.
    pub(crate) fn undo(&mut self) {
        let before = self.document.whole();
        if let Some(words) = self.document.undo() {
            self.say_step("Took back", words, &before);
        }
    }

    /// Does it again.
    pub(crate) fn redo(&mut self) {
        let before = self.document.whole();
        if let Some(words) = self.document.redo() {
            self.say_step("Did again", words, &before);
        }
    }

    fn say_step(&mut self, what: &str, words: &str, before: &Layout) {
        let named = thing::difference(before, &self.document.whole());
        let named = named.map_or_else(String::new, |named| format!(", {named}"));
        self.view.say(format!("{what}: {words}{named}"));
    }

    /// Lets the pump down until it rests on what is below it.
    pub(crate) fn drop_down(&mut self) {
        let place = self.document.spot().place;
        let Some(mut down) = self.document.boot().drop_down(&place) else {
            self.view.warn("Nothing lies below the pump here");
            return;
        };
        // Rounded up, so that rounding never pushes it into what it rests on.
        down.at.z = (down.at.z * 10.0 - 1e-6).ceil() / 10.0;
        let gesture = self.document.gesture();
        self.document.place(down, gesture);
        let boot = self.document.boot();
        let mut words = match rests_on(boot, &down) {
            Some(name) => format!("Dropped; it rests on {name}"),
            None => "Dropped onto what is below".to_string(),
        };
        if let Some(short_mm) = moves::rubber_short_mm(boot, self.document.spot(), &down) {
            let by = super::figures::length(short_mm, self.view.inches);
            words.push_str(&format!(
                ", its feet flat: raise it by {by} for the rubber under its bolts (Page up)"
            ));
        }
        self.view.say(words);
    }

    /// Pushes the pump along a direction until it touches something.
    pub(crate) fn push(&mut self, way: &Vector, words: &str) {
        let place = self.document.spot().place;
        match moves::push(self.document.boot(), &place, way) {
            Some(to) => {
                let gesture = self.document.gesture();
                self.document.place(to, gesture);
                let far = super::figures::length((to.at - place.at).norm(), self.view.inches);
                self.view.say(format!("Pushed {far} {words}, up to what is there"));
            }
            None => self
                .view
                .warn(format!("Not pushed {words}: nothing is there, or it touches already")),
        }
    }

    /// Puts the pump's holes over the anchors near them.
    pub(crate) fn snap(&mut self) {
        let spot = self.document.spot().clone();
        match moves::snap(self.document.boot(), &spot) {
            Some(snapped) => {
                let gesture = self.document.gesture();
                self.document.place(snapped.place, gesture);
                let off = super::figures::length(snapped.off_mm, self.view.inches);
                let pairs: Vec<String> = snapped
                    .pairs
                    .iter()
                    .map(|(mount, anchor)| format!("{mount} over {anchor}"))
                    .collect();
                let inches = self.view.inches;
                let over = super::figures::length(snapped.over_mm.abs(), inches);
                let height = if snapped.lifted_mm.abs() > 0.05 {
                    let by = super::figures::length(snapped.lifted_mm.abs(), inches);
                    let way = if snapped.lifted_mm > 0.0 { "up" } else { "down" };
                    format!("{way} by {by}, {over} over the anchors for the rubber")
                } else if snapped.over_mm < 0.0 {
                    format!("{over} behind the anchors")
                } else {
                    format!("{over} over the anchors")
                };
                let pairs = pairs.join(", ");
                self.view.say(format!("Snapped, {height}, off by {off} at most: {pairs}"));
            }
            None => self.view.warn(format!(
                "Nothing to snap to: no anchor within {}",
                super::figures::length(moves::SNAP_MM, self.view.inches)
            )),
        }
    }

    /// The gesture of a change in words: that of the last step when it was the same kind of change, so that
    /// typing is undone as one.
    pub(crate) fn step(&mut self, words: &str) -> Gesture {
        if self.document.undo_words() == Some(words) {
            self.document.last_gesture()
        } else {
            self.document.gesture()
        }
    }

    /// Turns to another spot.
    pub(crate) fn turn_to(&mut self, spot: usize) {
        if spot != self.document.current() {
            self.keep_name();
            self.document.turn_to(spot);
            self.view.marker = None;
        }
    }
}

/// How what is said begins while a boot is made ready.
pub(crate) const MAKING_READY: &str = "Making the boot ready";

/// The longest that a click may take, s.
const CLICK_S: f64 = 3.0;

/// How far the pump is let down to feel what carries it, mm.
const FEEL_MM: f64 = 0.4;

/// The body that a pump at `place` stands on: the one it would sink into first.
fn rests_on(boot: &Boot, place: &Place) -> Option<String> {
    let gaps = |place: &Place| -> Vec<(String, f64)> {
        let pump = boot.pump_at(place);
        boot.bodies()
            .filter_map(|(body, solid)| {
                let near = pump.iter().filter_map(|part| gap(part, solid, 2.0));
                let least = near.map(|gap| gap.distance_mm).min_by(f64::total_cmp)?;
                Some((body.name.clone(), least))
            })
            .collect()
    };
    let mut lower = *place;
    lower.at.z -= FEEL_MM;
    let before = gaps(place);
    gaps(&lower)
        .into_iter()
        .filter(|(_, least)| *least < 0.0)
        // A wall that it merely stands against does not come nearer.
        .filter_map(|(name, least)| {
            let was = before.iter().find(|(known, _)| *known == name).map_or(2.0, |(_, was)| *was);
            (was - least > FEEL_MM / 4.0).then_some((name, least))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(name, _)| name)
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<viewport::Grip>()
        .add_systems(EguiPrimaryContextPass, draw)
        .add_systems(PreUpdate, rest.after(EguiPreUpdateSet::ProcessInput))
        .add_systems(Update, viewport::carry.before(ScoreSystems));
}

/// Leaves out the report of the modifier keys that comes with every frame, unless they changed:
/// egui takes any event as a reason for another frame, and the window would never rest.
///
/// What is typed after a click in the same frame waits for the next one: only then has the box that
/// was clicked the keyboard.
fn rest(
    mut inputs: Query<&mut EguiInput>,
    mut last: Local<egui::Modifiers>,
    mut later: Local<Vec<egui::Event>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    for mut input in &mut inputs {
        let mut events = std::mem::take(&mut *later);
        events.append(&mut input.events);
        events.retain(|event| match event {
            egui::Event::ModifiersChanged(now) => std::mem::replace(&mut *last, *now) != *now,
            _ => true,
        });
        let released = events
            .iter()
            .position(|event| matches!(event, egui::Event::PointerButton { pressed: false, .. }));
        let typed = released.and_then(|released| {
            events.iter().skip(released).position(is_typed).map(|typed| released + typed)
        });
        if let Some(typed) = typed {
            *later = events.split_off(typed);
            redraw.write(RequestRedraw);
        }
        input.events = events;
    }
}

fn is_typed(event: &egui::Event) -> bool {
    matches!(event, egui::Event::Text(_) | egui::Event::Key { .. } | egui::Event::Paste(_))
}

fn draw(
    mut contexts: EguiContexts,
    mut document: ResMut<Document>,
    (mut scores, mut chances): (ResMut<Scores>, ResMut<Chances>),
    mut view: ResMut<View>,
    mut orbit: ResMut<Orbit>,
    (mut opening, mut keeper): (ResMut<Opening>, ResMut<Keeper>),
    (mut hold, mut worn, mut held, mut boot_age): (
        ResMut<viewport::Grip>,
        Local<Option<bool>>,
        Local<keys::Held>,
        Local<u64>,
    ),
    mut keyboard: MessageReader<KeyboardInput>,
    mut keyboard_lost: MessageReader<KeyboardFocusLost>,
    mut close: MessageReader<WindowCloseRequested>,
    time: Res<Time>,
    wake: Option<Res<EventLoopProxyWrapper>>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut exit: MessageWriter<AppExit>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if *worn != Some(view.dark) {
        theme::wear(&ctx, view.dark);
        // The picture of the boot does not grow with the panels, so they keep their size.
        ctx.options_mut(|options| {
            options.zoom_with_keyboard = false;
            // Where a frame takes long, press and release are seen far apart and are a click still.
            options.input_options.max_click_duration = CLICK_S;
        });
        *worn = Some(view.dark);
    }
    if *boot_age != document.boot_age() {
        *boot_age = document.boot_age();
        if !document.boot_stale() && view.form.is_none() {
            // What was done last stays in sight; only that it is being made ready is over.
            let waits = |said: &(String, bool)| said.0.starts_with(MAKING_READY);
            if view.said.as_ref().is_none_or(waits) {
                view.say("The boot is ready as it stands now");
            }
        }
    }
    scores.catch_up(&document.boot().layout().weights);
    if let Some(why) = scores.take_panic() {
        view.panic = Some(why);
    }
    let asks_hold = view.help.is_some_and(help::about_holding);
    let details = view.notes || view.layers.cut_outs || view.layers.loads || asks_hold;
    scores.extras = Extras { details, rock: view.layers.rock };
    if let Some(refusal) = scores.take_refusal() {
        view.warn(refusal);
    }
    let mut desk = Desk {
        palette: Palette::of(view.dark),
        document: &mut document,
        scores: &mut scores,
        chances: &mut chances,
        view: &mut view,
        orbit: &mut orbit,
        opening: &mut opening,
        keeper: &mut keeper,
        now_s: time.elapsed_secs_f64(),
        moving: false,
    };
    let mut root = Ui::new(
        ctx.clone(),
        "window".into(),
        UiBuilder::new().layer_id(LayerId::background()).max_rect(ctx.viewport_rect()),
    );
    if keyboard_lost.read().count() > 0 {
        held.release();
    }
    keys::act(&ctx, &mut desk, &mut held, keyboard.read());
    if desk.view.present {
        present::show(&mut root, &mut desk);
    } else {
        bar::top(&mut root, &mut desk);
        bar::bottom(&mut root, &mut desk);
        contents::show(&mut root, &mut desk, wake.as_deref());
        verdict::show(&mut root, &mut desk);
        spots::show(&mut root, &mut desk);
        pose::show(&mut root, &mut desk);
    }
    viewport::show(&mut root, &mut desk, &mut hold);
    notes::show(&ctx, &mut desk);
    tank::show(&ctx, &mut desk);
    compare::show(&ctx, &mut desk);
    cautions::show(&ctx, &mut desk);
    start::show(&ctx, &mut desk);
    open::show(&ctx, &mut desk);
    help::show(&ctx, &mut desk);
    if !desk.view.cautions {
        lost::show(&ctx, &mut desk);
    }
    closing::show(&ctx, &mut desk, close.read().count() > 0, &mut exit);
    unsaved::show(&ctx, &mut desk);
    if desk.moving || desk.orbit.gliding() {
        redraw.write(RequestRedraw);
    }
    Ok(())
}

/// A small heading inside a panel.
pub(crate) fn heading(ui: &mut Ui, palette: &Palette, words: &str) {
    ui.add_space(4.0);
    ui.label(egui::RichText::new(words).size(12.0).strong().color(palette.faint));
}

/// A dialog in the middle of the window; nothing behind it can be reached while it is shown.
pub(crate) fn dialog(
    ctx: &egui::Context,
    id: &str,
    title: &str,
    width: f32,
    content: impl FnOnce(&mut Ui),
) {
    let frame = egui::Frame::window(&ctx.global_style());
    Modal::new(egui::Id::new(id)).frame(frame).show(ctx, |ui| {
        ui.set_width(width);
        ui.label(egui::RichText::new(title).size(17.0).strong());
        ui.add_space(4.0);
        content(ui);
    });
}

/// Words as they are when they fit a width, else without their middle: names that begin alike often
/// differ at the end.
pub(crate) fn elided(ui: &Ui, words: &str, size: f32, width: f32) -> String {
    let wide = |words: String| {
        let colour = egui::Color32::BLACK;
        ui.painter().layout_no_wrap(words, FontId::proportional(size), colour).size().x
    };
    let letters: Vec<char> = words.chars().collect();
    let cut = |kept: usize| -> String {
        // The end as whole words where they fit half the width.
        let starts = |at: &usize| *at == 0 || letters[at - 1] == ' ';
        let half = letters.len() - kept / 2;
        let tail = letters.len() - (half..letters.len()).find(starts).unwrap_or(half);
        let head = kept - tail;
        let head: String = letters.iter().take(head).collect();
        let tail: String = letters.iter().skip(letters.len() - tail).collect();
        format!("{}…{}", head.trim_end(), tail)
    };
    if wide(words.to_string()) <= width {
        return words.to_string();
    }
    let (mut fits, mut too_many) = (2, letters.len().max(3));
    while too_many - fits > 1 {
        let middle = usize::midpoint(fits, too_many);
        if wide(cut(middle)) <= width { fits = middle } else { too_many = middle }
    }
    cut(fits.min(letters.len()))
}
