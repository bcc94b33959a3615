//! The boxes that a form is made of: lengths, points, directions, choices.

use bevy_egui::egui::{ComboBox, RichText, TextEdit, Ui, Vec2};

use super::Desk;
use super::number::Number;
use crate::model::{Axis, Layout, Place, Point, Shape, Vector};
use crate::scene::thing::axis_words;
use crate::units::MM_PER_INCH;

/// How far from the origin a thing may be typed, mm.
const FARTHEST_MM: f64 = 20_000.0;

/// A label before or over a box.
pub(crate) fn label(ui: &mut Ui, desk: &Desk, words: &str) {
    ui.label(RichText::new(words).size(12.5).color(desk.palette.faint));
}

/// Width of the labels before boxes, so that the boxes of a form stand under one another.
const COLUMN: f32 = 104.0;

/// A label before a box, as wide as the others unless it needs more.
fn column(ui: &mut Ui, desk: &Desk, words: &str) {
    ui.spacing_mut().item_spacing.x = 4.0;
    let before = ui.cursor().left();
    label(ui, desk, words);
    let used = ui.cursor().left() - before;
    if used < COLUMN {
        ui.add_space(COLUMN - used);
    }
}

/// A line of text.
pub(crate) fn words(ui: &mut Ui, desk: &Desk, title: &str, text: &mut String, hint: &str) {
    label(ui, desk, title);
    let wide = ui.available_width() - 6.0;
    ui.add(TextEdit::singleline(text).desired_width(wide).char_limit(300).hint_text(hint));
}

/// A length in the unit that the window shows, with its title before it.
pub(crate) fn length(ui: &mut Ui, desk: &mut Desk, title: &str, value: &mut f64) {
    ui.horizontal(|ui| {
        column(ui, desk, title);
        length_box(ui, desk, title, value, 64.0);
        let unit = if desk.view.inches { "in" } else { "mm" };
        label(ui, desk, unit);
    });
}

/// Only its box.
fn length_box(ui: &mut Ui, desk: &mut Desk, name: &str, value: &mut f64, wide: f32) {
    let inches = desk.view.inches;
    let scale = if inches { MM_PER_INCH } else { 1.0 };
    let number = Number {
        name,
        unit: if inches { "in" } else { "mm" },
        with_unit: false,
        range: -FARTHEST_MM / scale..=FARTHEST_MM / scale,
        decimals: if inches { 2 } else { 1 },
        speed: if inches { 0.02 } else { 0.5 },
        size: Vec2::new(wide, 22.0),
    };
    if let (_, Some(typed)) = number.show(ui, desk.view, *value / scale) {
        *value = typed * scale;
    }
}

/// A figure in its own unit.
pub(crate) fn figure(
    ui: &mut Ui,
    desk: &mut Desk,
    title: &str,
    unit: &str,
    range: std::ops::RangeInclusive<f64>,
    value: &mut f64,
) {
    ui.horizontal(|ui| {
        column(ui, desk, title);
        let number = Number {
            name: title,
            unit,
            with_unit: false,
            range,
            decimals: 1,
            speed: 0.2,
            size: Vec2::new(64.0, 22.0),
        };
        if let (_, Some(typed)) = number.show(ui, desk.view, *value) {
            *value = typed;
        }
        label(ui, desk, unit);
    });
}

/// A length that may be left out.
pub(crate) fn maybe_length(
    ui: &mut Ui,
    desk: &mut Desk,
    title: &str,
    usual_mm: f64,
    value: &mut Option<f64>,
) {
    ui.horizontal(|ui| {
        let mut given = value.is_some();
        if ui.checkbox(&mut given, "").changed() {
            *value = given.then_some(usual_mm);
        }
        label(ui, desk, title);
        if let Some(value) = value {
            length_box(ui, desk, title, value, 60.0);
        }
    });
}

/// Three coordinates in a row, their title over them.
pub(crate) fn point(ui: &mut Ui, desk: &mut Desk, title: &str, point: &mut Point) {
    if !title.is_empty() {
        label(ui, desk, title);
    }
    ui.horizontal(|ui| coordinates(ui, desk, title, point));
}

fn coordinates(ui: &mut Ui, desk: &mut Desk, title: &str, point: &mut Point) {
    ui.spacing_mut().item_spacing.x = 3.0;
    for (axis, letter) in ["x", "y", "z"].into_iter().enumerate() {
        let name = format!("{letter} of {title}");
        length_box(ui, desk, &name, &mut point[axis], 55.0);
    }
}

/// The ways that a tape or a square gives, and any other in numbers.
const WAYS: [(&str, [f64; 3]); 6] = [
    ("forward", [1.0, 0.0, 0.0]),
    ("back", [-1.0, 0.0, 0.0]),
    ("left", [0.0, 1.0, 0.0]),
    ("right", [0.0, -1.0, 0.0]),
    ("up", [0.0, 0.0, 1.0]),
    ("down", [0.0, 0.0, -1.0]),
];

/// A direction: by its word, or in numbers.
pub(crate) fn direction(ui: &mut Ui, desk: &mut Desk, title: &str, way: &mut Vector) {
    let same = |known: &[f64; 3]| (*way - Vector::from(*known)).norm() < 1e-9;
    let now = WAYS.iter().find(|(_, known)| same(known)).map_or("as typed", |(words, _)| *words);
    let mut chosen = now;
    ui.horizontal(|ui| {
        label(ui, desk, title);
        ComboBox::from_id_salt(("way", title)).width(90.0).selected_text(now).show_ui(ui, |ui| {
            for (words, _) in WAYS {
                ui.selectable_value(&mut chosen, words, words);
            }
        });
    });
    if chosen != now
        && let Some((_, known)) = WAYS.iter().find(|(words, _)| *words == chosen)
    {
        *way = Vector::from(*known);
    }
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        for (axis, letter) in ["x", "y", "z"].into_iter().enumerate() {
            let name = format!("{letter} of {title}");
            let number = Number {
                name: &name,
                unit: "",
                with_unit: false,
                range: -1000.0..=1000.0,
                decimals: 2,
                speed: 0.01,
                size: Vec2::new(55.0, 22.0),
            };
            if let (_, Some(typed)) = number.show(ui, desk.view, way[axis]) {
                way[axis] = typed;
            }
        }
    });
}

/// One of a few values.
pub(crate) fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    desk: &Desk,
    title: &str,
    known: &[(T, &str)],
    value: &mut T,
) {
    ui.horizontal(|ui| {
        label(ui, desk, title);
        let now = known.iter().find(|(other, _)| other == value).map_or("", |(_, words)| *words);
        let wide = (ui.available_width() - 8.0).min(150.0);
        ComboBox::from_id_salt(("choice", title))
            .width(wide)
            .truncate()
            .selected_text(now)
            .show_ui(ui, |ui| {
                for (other, words) in known {
                    ui.selectable_value(value, *other, *words);
                }
            });
    });
}

/// The option that brings a thing.
pub(crate) fn option(ui: &mut Ui, desk: &Desk, layout: &Layout, value: &mut Option<String>) {
    ui.horizontal(|ui| {
        label(ui, desk, "On");
        let now =
            value.as_ref().map_or("every car".to_string(), |option| format!("cars with {option}"));
        let wide = ui.available_width() - 8.0;
        ComboBox::from_id_salt("only with").width(wide).truncate().selected_text(now).show_ui(
            ui,
            |ui| {
                ui.selectable_value(value, None, "every car");
                for option in &layout.options {
                    let words = format!("cars with {}", option.name);
                    ui.selectable_value(value, Some(option.name.clone()), words);
                }
            },
        );
    });
}

/// Position and turn of a body that isn't where it was measured.
pub(crate) fn place(ui: &mut Ui, desk: &mut Desk, place: &mut Place) {
    let moved = *place != Place::default();
    bevy_egui::egui::CollapsingHeader::new("Moved and turned").default_open(moved).show(ui, |ui| {
        point(ui, desk, "moved by", &mut place.at);
        for (title, turn) in [
            ("roll", &mut place.turn_deg.0),
            ("pitch", &mut place.turn_deg.1),
            ("yaw", &mut place.turn_deg.2),
        ] {
            figure(ui, desk, title, "°", -360.0..=360.0, turn);
        }
    });
}

/// A list of corners, each with a button that takes it out and one that puts another after it.
pub(crate) fn corners(ui: &mut Ui, desk: &mut Desk, title: &str, points: &mut Vec<Point>) {
    label(ui, desk, title);
    let mut act: Option<(usize, bool)> = None;
    for (index, point) in points.iter_mut().enumerate() {
        ui.push_id((title, index), |ui| {
            ui.horizontal(|ui| {
                coordinates(ui, desk, title, point);
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
            let mut size = *to - *from;
            let was = size;
            label(ui, desk, "long, wide, high");
            let mut sizes = Point::from(size);
            ui.horizontal(|ui| coordinates(ui, desk, "size", &mut sizes));
            size = sizes.coords;
            if (size - was).norm() > 1e-9 {
                *to = *from + size;
            }
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

/// The corners of an outline, each with a button that takes it out and one that puts another after it.
pub(crate) fn pairs(ui: &mut Ui, desk: &mut Desk, title: &str, outline: &mut Vec<(f64, f64)>) {
    label(ui, desk, title);
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
