//! Where the pump stands, in numbers: typed, dragged, turned and dropped.

use bevy_egui::egui::{Button, DragValue, Frame, Margin, Panel, Response, RichText, Ui};

use super::Desk;
use crate::model::Place;
use crate::scene::grip::turned;
use crate::units::MM_PER_INCH;

/// The bar under the picture with the pump's position and turn.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(10, 5));
    Panel::bottom("pose").frame(frame).resizable(false).show(root, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            position(ui, desk);
            ui.add_space(6.0);
            attitude(ui, desk);
            ui.add_space(6.0);
            for (words, by, tip) in [
                ("−15°", -15.0, "Turn to the right (E; with Shift 1°)"),
                ("+15°", 15.0, "Turn to the left (Q; with Shift 1°)"),
            ] {
                if ui.button(words).on_hover_text(tip).clicked() {
                    let place =
                        turned(desk.document.boot(), &desk.document.spot().place, (0.0, 0.0, by));
                    let gesture = desk.document.gesture();
                    desk.document.place(place, gesture);
                }
            }
            if ui
                .add(Button::new("Drop"))
                .on_hover_text("Let the pump down on what is below it (End)")
                .clicked()
            {
                desk.drop_down();
            }
        });
    });
}

fn position(ui: &mut Ui, desk: &mut Desk) {
    let place = desk.document.spot().place;
    let scale = if desk.view.inches { MM_PER_INCH } else { 1.0 };
    let (decimals, speed) = if desk.view.inches { (2, 0.02) } else { (1, 0.5) };
    let names = [
        ("x", "Forward of the origin (arrow up and down)"),
        ("y", "To the left of the origin (arrow left and right)"),
        ("z", "Above the origin (Page up and down)"),
    ];
    for (axis, (name, tip)) in names.into_iter().enumerate() {
        let shown = place.at[axis] / scale;
        let mut value = shown;
        ui.label(RichText::new(name).color(desk.palette.faint));
        let widget = DragValue::new(&mut value)
            .speed(speed)
            .range(-20_000.0 / scale..=20_000.0 / scale)
            .fixed_decimals(decimals);
        let response = ui.add_sized([54.0, 22.0], widget).on_hover_text(tip);
        let mut to = place;
        to.at[axis] = value * scale;
        typed(desk, &response, to, changed(shown, value));
    }
    ui.label(RichText::new(if desk.view.inches { "in" } else { "mm" }).color(desk.palette.faint));
}

fn attitude(ui: &mut Ui, desk: &mut Desk) {
    let place = desk.document.spot().place;
    let names = [
        ("roll", "Lean to the right (A and D)"),
        ("pitch", "Nose down (W and S)"),
        ("yaw", "Turn to the left (Q and E)"),
    ];
    for (axis, (name, tip)) in names.into_iter().enumerate() {
        let turn = [place.turn_deg.0, place.turn_deg.1, place.turn_deg.2];
        let mut value = turn[axis];
        ui.label(RichText::new(name).color(desk.palette.faint));
        let widget =
            DragValue::new(&mut value).speed(0.5).range(-180.0..=180.0).max_decimals(1).suffix("°");
        let response = ui.add_sized([46.0, 22.0], widget).on_hover_text(tip);
        let mut by = [0.0; 3];
        by[axis] = value - turn[axis];
        let mut to = turned(desk.document.boot(), &place, (by[0], by[1], by[2]));
        // As typed, not as wrapped.
        match axis {
            0 => to.turn_deg.0 = value,
            1 => to.turn_deg.1 = value,
            _ => to.turn_deg.2 = value,
        }
        typed(desk, &response, to, changed(turn[axis], value));
    }
}

fn changed(before: f64, after: f64) -> bool {
    (before - after).abs() > 1e-9
}

/// One drag of a number, or one stay in it, is one gesture.
fn typed(desk: &mut Desk, response: &Response, to: Place, changed: bool) {
    if response.drag_started() || response.gained_focus() {
        desk.document.gesture();
    }
    if changed && response.changed() {
        let gesture = desk.document.last_gesture();
        desk.document.place(to, gesture);
    }
}
