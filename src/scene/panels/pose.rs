//! Where the pump stands, in numbers: typed, dragged, turned and dropped.

use bevy_egui::egui::{Button, Frame, Margin, Panel, Response, RichText, Ui, Vec2};

use super::Desk;
use super::number::Number;
use crate::model::{Place, Vector};
use crate::scene::grip::turned;
use crate::units::MM_PER_INCH;

/// How far from the origin a pump may be typed, mm.
const FARTHEST_MM: f64 = 20_000.0;

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
                ("−15°", -15.0, "Turn to the right (E over the picture; with Shift 1°)"),
                ("+15°", 15.0, "Turn to the left (Q over the picture; with Shift 1°)"),
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
                .on_hover_text("Let the pump down until it rests on what is below it (End)")
                .clicked()
            {
                desk.drop_down();
            }
            ui.menu_button("Push", |ui| {
                for (words, way) in [
                    ("forward", Vector::x()),
                    ("back", -Vector::x()),
                    ("to the left", Vector::y()),
                    ("to the right", -Vector::y()),
                    ("up", Vector::z()),
                    ("down", -Vector::z()),
                ] {
                    if ui.button(crate::scene::figures::capital(words)).clicked() {
                        desk.push(&way, words);
                    }
                }
            })
            .response
            .on_hover_text("Push the pump until it touches something");
            if ui
                .button("Snap")
                .on_hover_text(
                    "Put the pump's holes over its bolts' anchors, or the nearest ones (N)",
                )
                .clicked()
            {
                desk.snap();
            }
            ui.checkbox(&mut desk.view.stops, "Stops").on_hover_text(
                "A drag stops where the pump would touch something; else it passes through",
            );
        });
    });
}

fn position(ui: &mut Ui, desk: &mut Desk) {
    let place = desk.document.spot().place;
    let scale = if desk.view.inches { MM_PER_INCH } else { 1.0 };
    let unit = if desk.view.inches { "in" } else { "mm" };
    let (decimals, speed) = if desk.view.inches { (2, 0.02) } else { (1, 0.5) };
    let names = [
        ("x", "Forward of the origin (arrow up and down)"),
        ("y", "To the left of the origin (arrow left and right)"),
        ("z", "Above the origin (Page up and down)"),
    ];
    for (axis, (name, tip)) in names.into_iter().enumerate() {
        ui.label(RichText::new(name).color(desk.palette.faint));
        let number = Number {
            name,
            unit,
            with_unit: false,
            range: -FARTHEST_MM / scale..=FARTHEST_MM / scale,
            decimals,
            speed,
            size: Vec2::new(58.0, 22.0),
        };
        let (response, value) = number.show(ui, desk.view, place.at[axis] / scale);
        let response = response.on_hover_text(tip);
        let to = value.map(|value| {
            let mut to = place;
            to.at[axis] = value * scale;
            to
        });
        typed(desk, &response, to);
    }
    ui.label(RichText::new(unit).color(desk.palette.faint));
}

fn attitude(ui: &mut Ui, desk: &mut Desk) {
    let place = desk.document.spot().place;
    let names = [
        ("roll", "Leaning sideways: more leans it to the right (A and D over the picture)"),
        ("pitch", "Nose up or down: more puts its front down (W and S over the picture)"),
        ("yaw", "Turned about the upright: more turns it to the left (Q and E over the picture)"),
    ];
    for (axis, (name, tip)) in names.into_iter().enumerate() {
        let turn = [place.turn_deg.0, place.turn_deg.1, place.turn_deg.2];
        ui.label(RichText::new(name).color(desk.palette.faint)).on_hover_text(tip);
        let number = Number {
            name,
            unit: "°",
            with_unit: true,
            range: -180.0..=180.0,
            decimals: 1,
            speed: 0.5,
            size: Vec2::new(50.0, 22.0),
        };
        let (response, value) = number.show(ui, desk.view, turn[axis]);
        let response = response.on_hover_text(tip);
        let to = value.map(|value| {
            let mut by = [0.0; 3];
            by[axis] = value - turn[axis];
            let mut to = turned(desk.document.boot(), &place, (by[0], by[1], by[2]));
            // As typed, not as wrapped.
            match axis {
                0 => to.turn_deg.0 = value,
                1 => to.turn_deg.1 = value,
                _ => to.turn_deg.2 = value,
            }
            to
        });
        typed(desk, &response, to);
    }
}

/// One drag of a number, or one stay in it, is one gesture.
fn typed(desk: &mut Desk, response: &Response, to: Option<Place>) {
    if response.drag_started() || response.gained_focus() {
        desk.document.gesture();
    }
    if let Some(to) = to {
        let gesture = desk.document.last_gesture();
        desk.document.place(to, gesture);
    }
}
