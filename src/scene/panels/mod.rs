//! The window's panels, drawn with egui round the picture of the boot.

mod bar;
mod cautions;
mod closing;
mod contents;
mod fixing;
mod keys;
mod pose;
mod spots;
mod verdict;
mod viewport;

use bevy::app::AppExit;
use bevy::input::keyboard::{KeyboardFocusLost, KeyboardInput};
use bevy::prelude::{
    App, IntoScheduleConfigs, Local, MessageReader, MessageWriter, PreUpdate, Query, Res, ResMut,
    Result, Time,
};
use bevy::window::{RequestRedraw, WindowCloseRequested};
use bevy_egui::egui::{self, LayerId, Ui, UiBuilder};
use bevy_egui::{EguiContexts, EguiInput, EguiPreUpdateSet, EguiPrimaryContextPass};

use super::document::Document;
use super::figures;
use super::orbit::Orbit;
use super::scores::Scores;
use super::theme::{self, Palette};
use super::view::View;

/// Everything that a panel may look at and change.
pub(crate) struct Desk<'a> {
    pub(crate) document: &'a mut Document,
    pub(crate) scores: &'a mut Scores,
    pub(crate) view: &'a mut View,
    pub(crate) orbit: &'a mut Orbit,
    pub(crate) palette: Palette,
    /// Seconds since the window opened.
    pub(crate) now_s: f64,
    /// Whether something moves by itself and needs another frame.
    pub(crate) moving: bool,
}

impl Desk<'_> {
    /// Writes the current spot into the file and says how that went.
    pub(crate) fn save(&mut self) {
        let name = self.document.spot().name.clone();
        match self.document.save() {
            Ok(path) => {
                let path = std::path::absolute(&path).unwrap_or(path);
                self.view.say(format!("Saved “{name}” to {}", path.display()));
            }
            Err(error) => self.view.warn(format!("Not saved. {error}")),
        }
    }

    /// Takes the last step back.
    pub(crate) fn undo(&mut self) {
        if let Some(words) = self.document.undo() {
            self.view.say(format!("Took back: {words}"));
        }
    }

    /// Does it again.
    pub(crate) fn redo(&mut self) {
        if let Some(words) = self.document.redo() {
            self.view.say(format!("Did again: {words}"));
        }
    }

    /// Lets the pump down on what is below it, less the room that drags keep.
    pub(crate) fn drop_down(&mut self) {
        let place = self.document.spot().place;
        let Some(mut down) = self.document.boot().drop_down(&place) else {
            self.view.warn("Nothing lies below the pump here");
            return;
        };
        let room_mm = self.view.stand_off_mm;
        // Rounded up, so that rounding never pushes it into what it rests on.
        down.at.z = ((down.at.z + room_mm) * 10.0 - 1e-6).ceil() / 10.0;
        let gesture = self.document.gesture();
        self.document.place(down, gesture);
        let room = figures::length(room_mm, self.view.inches);
        self.view.say(if room_mm > 0.0 {
            format!("Dropped to {room} above what is below; the room is set on the left")
        } else {
            "Dropped on what is below".to_string()
        });
    }

    /// Turns to another spot.
    pub(crate) fn turn_to(&mut self, spot: usize) {
        if spot != self.document.current() {
            self.document.turn_to(spot);
            self.view.marker = None;
            self.view.naming = None;
        }
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(EguiPrimaryContextPass, draw)
        .add_systems(PreUpdate, rest.after(EguiPreUpdateSet::ProcessInput));
}

/// Leaves out the report of the modifier keys that comes with every frame, unless they changed:
/// egui takes any event as a reason for another frame, and the window would never rest.
fn rest(mut inputs: Query<&mut EguiInput>, mut last: Local<egui::Modifiers>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            egui::Event::ModifiersChanged(now) => std::mem::replace(&mut *last, *now) != *now,
            _ => true,
        });
    }
}

fn draw(
    mut contexts: EguiContexts,
    mut document: ResMut<Document>,
    mut scores: ResMut<Scores>,
    mut view: ResMut<View>,
    mut orbit: ResMut<Orbit>,
    mut hold: Local<viewport::Grip>,
    mut worn: Local<Option<bool>>,
    mut held: Local<keys::Modifiers>,
    mut boot_age: Local<u64>,
    mut keyboard: MessageReader<KeyboardInput>,
    mut keyboard_lost: MessageReader<KeyboardFocusLost>,
    mut close: MessageReader<WindowCloseRequested>,
    time: Res<Time>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut exit: MessageWriter<AppExit>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if *worn != Some(view.dark) {
        theme::wear(&ctx, view.dark);
        *worn = Some(view.dark);
    }
    if *boot_age != document.boot_age() {
        *boot_age = document.boot_age();
        view.say("The boot is ready with the options that are ticked");
    }
    if let Some(refusal) = scores.take_refusal() {
        view.warn(refusal);
    }
    let mut desk = Desk {
        palette: Palette::of(view.dark),
        document: &mut document,
        scores: &mut scores,
        view: &mut view,
        orbit: &mut orbit,
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
    bar::top(&mut root, &mut desk);
    bar::bottom(&mut root, &desk);
    contents::show(&mut root, &mut desk);
    verdict::show(&mut root, &mut desk);
    spots::show(&mut root, &mut desk);
    pose::show(&mut root, &mut desk);
    viewport::show(&mut root, &mut desk, &mut hold);
    cautions::show(&ctx, &mut desk);
    closing::show(&ctx, &mut desk, close.read().count() > 0, &mut exit);
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
