//! The boxes of a solid by its typed dimensions, and of corners and outlines.

use bevy_egui::egui::Ui;

use super::{
    COORDINATE, bounded_box, choice, coordinates, heads, label, length, length_box, point, titled,
};
use crate::model::{Axis, Point, Shape, Vector};
use crate::scene::panels::Desk;
use crate::scene::thing::axis_words;

/// The least side of a box that can be typed, mm.
const THINNEST_MM: f64 = 0.1;

/// A solid by its typed dimensions, and what kind of solid it is.
pub(crate) fn shape(ui: &mut Ui, desk: &mut Desk, shape: &mut Shape) {
    let kinds: &[(u8, &str)] =
        &[(0, "box"), (1, "round bar"), (2, "outline drawn out"), (3, "hull of points")];
    let before = number_of(shape);
    let mut kind = before;
    if before < 4 {
        choice(ui, desk, "Shape", kinds, &mut kind);
    }
    if kind != before {
        *shape = turned_into(shape, kind);
    }
    match shape {
        Shape::Box { from, to } => {
            point(ui, desk, "one corner", from);
            point(ui, desk, "the corner opposite", to);
            titled(ui, desk, "long, wide, high");
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 3.0;
                for (axis, name) in ["length", "width", "height"].into_iter().enumerate() {
                    let way = if to[axis] < from[axis] { -1.0 } else { 1.0 };
                    let was = (to[axis] - from[axis]).abs();
                    let mut size = was;
                    bounded_box(ui, desk, name, THINNEST_MM, &mut size, COORDINATE);
                    if (size - was).abs() > 1e-9 {
                        to[axis] = from[axis] + way * size;
                    }
                }
            });
        }
        Shape::Cylinder { from, to, radius_mm } => {
            point(ui, desk, "centre of one end", from);
            point(ui, desk, "centre of the other end", to);
            let mut across = *radius_mm * 2.0;
            length(ui, desk, "diameter", &mut across);
            *radius_mm = across / 2.0;
        }
        Shape::Prism { along, outline, from_mm, to_mm } => {
            let axes = [Axis::X, Axis::Y, Axis::Z].map(|axis| (axis, axis_words(axis)));
            choice(ui, desk, "Along", &axes, along);
            length(ui, desk, "from", from_mm);
            length(ui, desk, "to", to_mm);
            let title = match along {
                Axis::X => "outline (left, up)",
                Axis::Y => "outline (up, forward)",
                Axis::Z => "outline (forward, left)",
            };
            pairs(ui, desk, title, outline);
        }
        Shape::Hull { points } => corners(ui, desk, "points", points),
        Shape::Mesh { file } => {
            label(ui, desk, &format!("Scan: {file}"));
        }
    }
}

/// A list of corners, each with a button that takes it out and one that puts another after it.
pub(crate) fn corners(ui: &mut Ui, desk: &mut Desk, title: &str, points: &mut Vec<Point>) {
    label(ui, desk, title);
    // Both buttons have to fit beside them.
    let wide = ((ui.available_width() - 62.0) / 3.0).clamp(40.0, COORDINATE);
    heads(ui, desk, &["x", "y", "z"], wide);
    let mut act: Option<(usize, bool)> = None;
    for (index, point) in points.iter_mut().enumerate() {
        ui.push_id((title, index), |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().button_padding.x = 3.0;
                coordinates(ui, desk, title, point, wide);
                if ui.small_button("+").on_hover_text("Another corner after this one").clicked() {
                    act = Some((index, true));
                }
                if ui.small_button("−").on_hover_text("Take this corner out").clicked() {
                    act = Some((index, false));
                }
            });
        });
    }
    match act {
        Some((index, true)) => {
            let next = points[(index + 1) % points.len()];
            let middle = Point::from((points[index].coords + next.coords) / 2.0);
            points.insert(index + 1, middle.map(|value| (value * 10.0).round() / 10.0));
        }
        Some((index, false)) => drop(points.remove(index)),
        None => {}
    }
}

/// The corners of an outline, each with a button that takes it out and one that puts another after it.
pub(crate) fn pairs(ui: &mut Ui, desk: &mut Desk, title: &str, outline: &mut Vec<(f64, f64)>) {
    titled(ui, desk, title);
    let mut act: Option<(usize, bool)> = None;
    for (index, corner) in outline.iter_mut().enumerate() {
        ui.push_id(("outline", index), |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 3.0;
                length_box(ui, desk, "the outline's first number", &mut corner.0, 60.0);
                length_box(ui, desk, "the outline's second number", &mut corner.1, 60.0);
                if ui.small_button("+").on_hover_text("Another corner after this one").clicked() {
                    act = Some((index, true));
                }
                if ui.small_button("−").on_hover_text("Take this corner out").clicked() {
                    act = Some((index, false));
                }
            });
        });
    }
    match act {
        Some((index, true)) => {
            let (a, b) = (outline[index], outline[(index + 1) % outline.len()]);
            outline.insert(index + 1, (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1)));
        }
        Some((index, false)) => drop(outline.remove(index)),
        None => {}
    }
}

fn number_of(shape: &Shape) -> u8 {
    match shape {
        Shape::Box { .. } => 0,
        Shape::Cylinder { .. } => 1,
        Shape::Prism { .. } => 2,
        Shape::Hull { .. } => 3,
        Shape::Mesh { .. } => 4,
    }
}

/// Another kind of solid in the same room.
fn turned_into(shape: &Shape, kind: u8) -> Shape {
    let corners: Vec<Point> = match shape {
        Shape::Box { from, to } => vec![*from, *to],
        Shape::Cylinder { from, to, radius_mm } => {
            let round = Vector::new(*radius_mm, *radius_mm, *radius_mm);
            vec![from - round, from + round, to - round, to + round]
        }
        Shape::Prism { along, outline, from_mm, to_mm } => outline
            .iter()
            .flat_map(|&(a, b)| {
                [*from_mm, *to_mm].map(|out| match along {
                    Axis::X => Point::new(out, a, b),
                    Axis::Y => Point::new(b, out, a),
                    Axis::Z => Point::new(a, b, out),
                })
            })
            .collect(),
        Shape::Hull { points } => points.clone(),
        Shape::Mesh { .. } => return shape.clone(),
    };
    let Some(bounds) = crate::geometry::Bounds::of(corners.iter()) else { return shape.clone() };
    let (low, high) = (bounds.low, bounds.high);
    match kind {
        0 => Shape::Box { from: low, to: high },
        1 => {
            let middle = bounds.centre();
            let radius_mm = ((high.x - low.x).min(high.y - low.y) / 2.0).max(1.0);
            let end = |z| Point::new(middle.x, middle.y, z);
            Shape::Cylinder { from: end(low.z), to: end(high.z.max(low.z + 1.0)), radius_mm }
        }
        2 => Shape::Prism {
            along: Axis::Z,
            outline: vec![(low.x, low.y), (high.x, low.y), (high.x, high.y), (low.x, high.y)],
            from_mm: low.z,
            to_mm: high.z,
        },
        _ => Shape::Hull { points: bounds.corners().to_vec() },
    }
}
