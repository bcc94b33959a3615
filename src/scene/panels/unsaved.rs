//! What to do when a spot could not be saved: why, and another file to write it to.

use bevy_egui::egui::{Context, Key, RichText, TextEdit};

use super::{Desk, dialog};
use crate::checks::Verdict;
use crate::scene::view::Failed;

/// The dialog, while a save has failed.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    let Some(mut failed) = desk.view.failed.take() else { return };
    let (mut close, mut write) = (false, false);
    dialog(ctx, "failed save", "Not saved", 440.0, |ui| {
        ui.label(&failed.why);
        ui.add_space(4.0);
        if let Some(name) = &mut failed.name {
            ui.label("Save the whole layout beside it, as a new file named:");
            let response = ui.add(TextEdit::singleline(name).desired_width(f32::INFINITY));
            if !failed.ready {
                response.request_focus();
                failed.ready = true;
            }
            write = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        }
        if let Some(wrong) = &failed.wrong {
            let colour = desk.palette.verdict(Verdict::Fail);
            ui.label(RichText::new(wrong).color(colour));
        }
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            let offered = desk.document.copy_name();
            let words = if failed.name.is_some() { "Save" } else { "Save as…" };
            let button = bevy_egui::egui::Button::new(words);
            let response = ui
                .add_enabled(offered.is_some(), button)
                .on_disabled_hover_text("The built-in demo has no folder of its own");
            if response.clicked() {
                if failed.name.is_some() {
                    write = true;
                } else {
                    failed.name = offered;
                }
            }
            let response = ui.button("Close");
            if !failed.ready && failed.name.is_none() {
                response.request_focus();
            }
            close = response.clicked();
        });
    });
    if write {
        match desk.save_copy(failed.name.as_deref().unwrap_or_default()) {
            Ok(()) => close = true,
            Err(why) => failed = Failed { wrong: Some(why), ready: false, ..failed },
        }
    }
    if !close {
        desk.view.failed = Some(failed);
    }
}
