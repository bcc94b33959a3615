//! For whoever looks over one's shoulder: the boot, the spot's name and what it comes to, nothing else.

use bevy_egui::egui::{Align, Color32, Frame, Label, Layout, Margin, Panel, RichText, Ui, Vec2};

use super::Desk;
use crate::scene::{figures, marks};

/// Height of the row with the spot's name, points.
const NAME: f32 = 38.0;

/// The strip under the picture.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(24, 14));
    Panel::bottom("present").frame(frame).resizable(false).show(root, |ui| {
        let palette = desk.palette;
        let name = desk.document.spot().name.clone();
        let spot = desk.document.current();
        let row = Vec2::new(ui.available_width(), NAME);
        ui.allocate_ui_with_layout(row, Layout::right_to_left(Align::Center), |ui| {
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
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let words = RichText::new(&name).size(30.0).strong().color(palette.ink);
                ui.add(Label::new(words).truncate());
            });
        });
        let Some(card) = desk.scores.of(spot).map(|landed| landed.card.clone()) else { return };
        let fresh = desk.scores.fresh(desk.document, spot);
        let dim = |colour: Color32| if fresh { colour } else { colour.gamma_multiply(0.8) };
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            for headline in &card.headlines {
                let colour = dim(palette.verdict(headline.verdict));
                marks::mark(ui, 22.0, headline.verdict, colour);
                let title = RichText::new(headline.id.title()).size(22.0).color(dim(palette.ink));
                ui.label(title);
                let words =
                    format!("{} {}", headline.verdict.word(), figures::score(headline.score));
                ui.label(RichText::new(words).size(17.0).color(colour));
                ui.add_space(16.0);
            }
            if !fresh {
                ui.label(RichText::new("older, being worked out").size(15.0).color(palette.faint));
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
