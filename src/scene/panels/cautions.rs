//! The cautions that are shown when a layout is opened.

use bevy_egui::egui::{Align2, Context, Key, RichText, Vec2, Window};

use super::Desk;

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

/// The closable panel with the cautions.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.cautions {
        return;
    }
    let mut open = true;
    let mut understood = false;
    Window::new("Before anything is unbolted")
        .id("cautions".into())
        .collapsible(false)
        .resizable(false)
        .anchor(Align2::CENTER_CENTER, Vec2::ZERO)
        .open(&mut open)
        .show(ctx, |ui| {
            ui.set_width(470.0);
            ui.spacing_mut().item_spacing.y = 7.0;
            for (number, caution) in CAUTIONS.iter().enumerate() {
                ui.horizontal_top(|ui| {
                    let words = format!("{}", number + 1);
                    ui.add_sized(
                        [16.0, 18.0],
                        bevy_egui::egui::Label::new(
                            RichText::new(words).strong().color(desk.palette.accent),
                        ),
                    );
                    ui.vertical(|ui| ui.label(*caution));
                });
            }
            ui.separator();
            ui.label(RichText::new(PLANNING_AID).strong());
            ui.add_space(2.0);
            ui.vertical_centered(|ui| {
                let button = ui.button("Understood");
                understood = button.clicked();
            });
        });
    let enter = !ctx.egui_wants_keyboard_input()
        && ctx.input(|input| input.key_pressed(Key::Enter))
        && ctx.memory(|memory| memory.focused().is_none());
    if !open || understood || enter {
        desk.view.cautions = false;
    }
}
