//! For whoever looks over one's shoulder: the boot, the spot's name and what it comes to, nothing else.

use bevy_egui::egui::{Align, Color32, Frame, Layout, Margin, Panel, RichText, Ui};

use super::Desk;
use crate::scene::{figures, marks};

/// The strip under the picture.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(24, 14));
    Panel::bottom("present").frame(frame).resizable(false).show(root, |ui| {
        let palette = desk.palette;
        let name = desk.document.spot().name.clone();
        let spot = desk.document.current();
        ui.horizontal(|ui| {
            ui.label(RichText::new(&name).size(30.0).strong().color(palette.ink));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if ui.button("Back (Esc)").clicked() {
                    desk.view.present = false;
                    desk.view.spin = false;
                }
                let spin = if desk.view.spin { "Stand still" } else { "Go round" };
                if ui.button(spin).clicked() {
                    desk.view.spin = !desk.view.spin;
                }
                if desk.document.spots().len() > 1 && ui.button("Next spot").clicked() {
                    let next = (spot + 1) % desk.document.spots().len();
                    desk.turn_to(next);
                }
            });
        });
        let Some(card) = desk.scores.of(spot).map(|landed| landed.card.clone()) else { return };
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 14.0;
            for headline in &card.headlines {
                let colour: Color32 = palette.verdict(headline.verdict);
                ui.horizontal(|ui| {
                    marks::mark(ui, 22.0, headline.verdict, colour);
                    let words =
                        format!("{} {}", headline.id.title(), figures::score(headline.score));
                    ui.label(RichText::new(words).size(22.0).color(palette.ink));
                });
            }
        });
        ui.label(
            RichText::new(
                "A planning aid. The car maker's instructions, local rules and a licensed \
                 technician's judgement come first.",
            )
            .size(13.0)
            .color(palette.faint),
        );
    });
}
