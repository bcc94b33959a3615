//! What the sheets say that no check computes: the way in, the release, the spot from before.

use bevy_egui::egui::{CollapsingHeader, ComboBox, TextEdit, Ui};

use super::{Desk, fields};
use crate::model::Handover;

/// The handover page; tape edges and what can be unbolted are lists of their own, below.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    CollapsingHeader::new("Handover").id_salt("handover").show(ui, |ui| {
        let mut handover = desk.document.layout().handover.clone();
        ui.horizontal(|ui| {
            fields::label(ui, desk, "before");
            let now = handover.before.clone().unwrap_or_else(|| "not known".into());
            let wide = (ui.available_width() - 8.0).max(60.0);
            ComboBox::from_id_salt("before")
                .width(wide)
                .truncate()
                .selected_text(now)
                .show_ui(ui, |ui| {
                    ui.selectable_value(&mut handover.before, None, "not known");
                    for spot in desk.document.spots() {
                        let name = Some(spot.name.clone());
                        ui.selectable_value(&mut handover.before, name, &spot.name);
                    }
                })
                .response
                .on_hover_text(
                    "The spot at which the factory put the pump, for the picture from before",
                );
        });
        let access = "To get at the pump, in order";
        lines(ui, desk, access, "take out the boot board", &mut handover.access);
        let release = "Closing the roof by hand, for the customer";
        lines(ui, desk, release, "pull the red cord", &mut handover.release);
        keep(desk, handover);
    });
}

/// Lines of text in order, each with buttons that move it up, take it out, put one after it.
fn lines(ui: &mut Ui, desk: &Desk, title: &str, hint: &str, lines: &mut Vec<String>) {
    fields::label(ui, desk, title);
    let mut act: Option<(usize, Act)> = None;
    for (index, line) in lines.iter_mut().enumerate() {
        ui.push_id((title, index), |ui| {
            let wide = ui.available_width() - 6.0;
            let edit = TextEdit::multiline(line).desired_rows(1).desired_width(wide);
            ui.add(edit.char_limit(600).hint_text(hint));
            // A sheet's line is one line.
            if line.contains('\n') {
                *line = line.replace('\n', " ");
            }
            ui.horizontal(|ui| {
                fields::label(ui, desk, &format!("{}", index + 1));
                let earlier = bevy_egui::egui::Button::new("Earlier").small();
                if ui.add_enabled(index > 0, earlier).clicked() {
                    act = Some((index, Act::Earlier));
                }
                if ui.small_button("Another after it").clicked() {
                    act = Some((index, Act::After));
                }
                if ui.small_button("Take out").clicked() {
                    act = Some((index, Act::Out));
                }
            });
        });
    }
    if lines.is_empty() && ui.small_button("Add a line").clicked() {
        lines.push(hint.to_string());
    }
    match act {
        Some((index, Act::Earlier)) => lines.swap(index - 1, index),
        Some((index, Act::After)) => lines.insert(index + 1, hint.to_string()),
        Some((index, Act::Out)) => drop(lines.remove(index)),
        None => {}
    }
}

#[derive(Debug, Clone, Copy)]
enum Act {
    Earlier,
    After,
    Out,
}

/// What was typed goes into the layout when it is sound; else it is said what is wrong.
fn keep(desk: &mut Desk, handover: Handover) {
    if handover == desk.document.layout().handover {
        return;
    }
    let gesture = desk.step("handover");
    let done = desk.document.measure("handover", gesture, |layout| layout.handover = handover);
    if let Err(wrong) = done {
        desk.view.warn(wrong.join("; "));
    }
}
