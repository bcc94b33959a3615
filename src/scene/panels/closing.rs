//! Closing the window: at once when everything is saved, else after a question.

use bevy::app::AppExit;
use bevy::prelude::MessageWriter;
use bevy_egui::egui::{Align2, Context, Vec2, Window};

use super::Desk;

/// Closes, or asks first. `asked` says that the window was told to close in this frame.
pub(crate) fn show(ctx: &Context, desk: &mut Desk, asked: bool, exit: &mut MessageWriter<AppExit>) {
    if asked {
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
    Window::new("Save before closing?")
        .id("closing".into())
        .collapsible(false)
        .resizable(false)
        .anchor(Align2::CENTER_CENTER, Vec2::ZERO)
        .show(ctx, |ui| {
            ui.set_width(380.0);
            ui.label("Not in the file yet:");
            for name in &unsaved {
                ui.label(format!("   {name}"));
            }
            ui.add_space(6.0);
            ui.horizontal(|ui| {
                if ui.button("Save and close").clicked() {
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
