//! Closing the window: at once when everything is saved, else after a question.

use bevy::app::AppExit;
use bevy::prelude::MessageWriter;
use bevy_egui::egui::Context;

use super::{Desk, dialog};

/// Closes, or asks first. `asked` says that the window was told to close in this frame.
pub(crate) fn show(ctx: &Context, desk: &mut Desk, asked: bool, exit: &mut MessageWriter<AppExit>) {
    if asked {
        desk.keep_name();
        if !desk.document.any_unsaved() {
            exit.write(AppExit::Success);
            return;
        }
        desk.view.closing = true;
    }
    if !desk.view.closing {
        return;
    }
    let unsaved: Vec<String> = (0..desk.document.spots().len())
        .filter(|&spot| desk.document.unsaved(spot))
        .map(|spot| desk.document.spots()[spot].name.clone())
        .collect();
    dialog(ctx, "closing", "Save before closing?", 380.0, |ui| {
        ui.label("Not in the file yet:");
        for name in &unsaved {
            ui.label(format!("   {name}"));
        }
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            let save = ui.button("Save and close");
            if ui.memory(|memory| memory.focused().is_none()) {
                save.request_focus();
            }
            if save.clicked() {
                save_all(desk);
                if desk.document.any_unsaved() {
                    desk.view.closing = false;
                } else {
                    exit.write(AppExit::Success);
                }
            }
            if ui.button("Close without saving").clicked() {
                exit.write(AppExit::Success);
            }
            if ui.button("Go on working").clicked() {
                desk.view.closing = false;
            }
        });
    });
}

/// Saves every unsaved spot; stops at the first that can't be, and says why.
fn save_all(desk: &mut Desk) {
    let current = desk.document.current();
    for spot in 0..desk.document.spots().len() {
        if desk.document.unsaved(spot) {
            desk.document.turn_to(spot);
            desk.save();
            if desk.document.unsaved(spot) {
                return;
            }
        }
    }
    desk.document.turn_to(current);
}
