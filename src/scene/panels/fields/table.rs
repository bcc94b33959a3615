//! The boxes of a table of travels: how far one part is where another one is.

use bevy_egui::egui::{Ui, Vec2};

use super::length_box;
use crate::scene::panels::{Desk, number::Number};

/// Pairs of a driver's travel and a part's own, each in degrees or, where it slides, a length.
pub(crate) fn table(
    ui: &mut Ui,
    desk: &mut Desk,
    slides: (bool, bool),
    table: &mut Vec<(f64, f64)>,
) {
    let mut act: Option<(usize, bool)> = None;
    let count = table.len();
    for (index, pair) in table.iter_mut().enumerate() {
        ui.push_id(("travel", index), |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 3.0;
                travel_box(ui, desk, "that part's travel", slides.0, &mut pair.0);
                travel_box(ui, desk, "this part's travel", slides.1, &mut pair.1);
                if ui.small_button("+").on_hover_text("Another pair after this one").clicked() {
                    act = Some((index, true));
                }
                let less = bevy_egui::egui::Button::new("−").small();
                if ui
                    .add_enabled(count > 2, less)
                    .on_hover_text("Take this pair out; two are the least")
                    .clicked()
                {
                    act = Some((index, false));
                }
            });
        });
    }
    match act {
        Some((index, true)) => {
            let a = table[index];
            let between = match table.get(index + 1) {
                Some(b) => (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1)),
                None => (a.0 + 10.0, a.1),
            };
            table.insert(index + 1, between);
        }
        Some((index, false)) => drop(table.remove(index)),
        None => {}
    }
}

fn travel_box(ui: &mut Ui, desk: &mut Desk, name: &str, slides: bool, value: &mut f64) {
    if slides {
        length_box(ui, desk, name, value, 60.0);
        return;
    }
    let number = Number {
        name,
        unit: "°",
        with_unit: true,
        range: -360.0..=360.0,
        decimals: 1,
        speed: 0.2,
        size: Vec2::new(60.0, 22.0),
    };
    if let (_, Some(typed)) = number.show(ui, desk.view, *value) {
        *value = typed;
    }
}
