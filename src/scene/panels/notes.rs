//! What goes on the job's sheet: lengths to cut, millilitres to fill, fixings to buy.

use bevy_egui::egui::{Align2, Context, RichText, ScrollArea, Vec2, Window};

use super::Desk;
use crate::checks::HeadlineId;
use crate::scene::figures;

/// The window in the corner, while it is asked for.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    if !desk.view.notes || desk.view.present {
        return;
    }
    let spot = desk.document.current();
    let details = desk.scores.of(spot).and_then(|landed| landed.card.details.clone());
    let inches = desk.view.inches;
    let palette = desk.palette;
    let at = desk.orbit.rect.left_top() + Vec2::new(8.0, 48.0);
    let mut open = true;
    Window::new("To write down")
        .anchor(Align2::LEFT_TOP, at - ctx.viewport_rect().left_top())
        .collapsible(false)
        .resizable(false)
        .open(&mut open)
        .show(ctx, |ui| {
            ui.set_width(360.0);
            let Some(details) = details else {
                ui.label(RichText::new("Working it out…").color(palette.faint));
                return;
            };
            let high = (desk.orbit.rect.height() - 130.0).max(120.0);
            ScrollArea::vertical().max_height(high).show(ui, |ui| {
                let mut any = false;
                for id in HeadlineId::ALL {
                    let notes = details.notes(id);
                    if notes.is_empty() {
                        continue;
                    }
                    any = true;
                    ui.label(RichText::new(id.title()).strong());
                    for note in notes {
                        let title = figures::capital(&note.title);
                        ui.label(RichText::new(title).size(12.5).color(palette.faint));
                        ui.label(figures::reason(&note.text, inches));
                    }
                    ui.add_space(4.0);
                }
                if !any {
                    ui.label(RichText::new("Nothing to write down").color(palette.faint));
                }
            });
        });
    if !open {
        desk.view.notes = false;
    }
}
