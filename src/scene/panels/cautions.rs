//! The cautions that are shown when a layout is opened: those that stand on every document.

use bevy_egui::egui::{Context, Label, RichText};

use super::{Desk, dialog};
use crate::documents::cautions::{CAUTIONS, PLANNING_AID};

/// The dialog with the cautions.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.cautions {
        return;
    }
    let mut understood = false;
    dialog(ctx, "cautions", "Before anything is unbolted", 470.0, |ui| {
        ui.spacing_mut().item_spacing.y = 7.0;
        for (number, caution) in CAUTIONS.iter().enumerate() {
            ui.horizontal_top(|ui| {
                let words = RichText::new(format!("{}", number + 1)).strong();
                ui.add_sized([16.0, 18.0], Label::new(words.color(desk.palette.accent)));
                ui.vertical(|ui| ui.label(*caution));
            });
        }
        ui.separator();
        ui.label(RichText::new(PLANNING_AID).strong());
        ui.add_space(2.0);
        ui.vertical_centered(|ui| {
            let button = ui.button("Understood");
            // Enter is enough.
            if ui.memory(|memory| memory.focused().is_none()) {
                button.request_focus();
            }
            understood = button.clicked();
        });
    });
    if understood {
        desk.view.cautions = false;
    }
}
