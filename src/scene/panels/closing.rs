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
            desk.close_journal();
            exit.write(AppExit::Success);
            return;
        }
        desk.view.closing = true;
    }
    if !desk.view.closing {
        return;
    }
    let mut unsaved: Vec<String> = (0..desk.document.spots().len())
        .filter(|&spot| desk.document.unsaved(spot))
        .map(|spot| desk.document.spots()[spot].name.clone())
        .collect();
    if desk.document.measured_unsaved() {
        unsaved.push("what was measured".into());
    }
    if unsaved.is_empty() {
        unsaved.push("spots that were taken out".into());
    }
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
                desk.save();
                if desk.document.any_unsaved() {
                    desk.view.closing = false;
                } else {
                    desk.close_journal();
                    exit.write(AppExit::Success);
                }
            }
            if ui.button("Close without saving").clicked() {
                desk.close_journal();
                exit.write(AppExit::Success);
            }
            if ui.button("Go on working").clicked() {
                desk.view.closing = false;
            }
        });
    });
}
