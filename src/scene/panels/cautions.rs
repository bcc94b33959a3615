//! The cautions that are shown when a layout is opened.

use bevy_egui::egui::{Context, Label, RichText};

use super::{Desk, dialog};

/// What to mind before anything is unbolted.
const CAUTIONS: [&str; 8] = [
    "Support the roof: it can fall when the pressure goes or a line is opened.",
    "Let the pressure out before opening a line. Fluid under pressure goes through skin.",
    "Disconnect the battery and wait as the maker says before working near airbags or roll-over \
     protection.",
    "Keep fingers clear of moving roof parts, and nobody else near the switch.",
    "Put the fuse close to the supply.",
    "Keep sparks away from the battery and don't block its vent.",
    "Don't drill where tank, lines or looms lie behind.",
    "Test the emergency release after the move, before the trim goes back.",
];

/// The closing word under the cautions.
const PLANNING_AID: &str = "The figures are a planning aid. The car maker's instructions, local \
    rules and a licensed technician's judgement come first.";

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
