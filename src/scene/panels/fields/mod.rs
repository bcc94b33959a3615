//! The boxes that a form is made of: lengths, points, directions, choices.

mod solid;
mod table;

pub(crate) use solid::{corners, pairs, shape};
pub(crate) use table::table;

use bevy_egui::egui::{ComboBox, RichText, TextEdit, Ui, Vec2};

use super::Desk;
use super::number::Number;
use crate::model::{Layout, Place, Point, Vector};
use crate::units::MM_PER_INCH;

/// How far from the origin a thing may be typed, mm.
const FARTHEST_MM: f64 = 20_000.0;

/// Words as labels have them.
pub(crate) fn faint(desk: &Desk, words: &str) -> RichText {
    RichText::new(words).size(12.5).color(desk.palette.faint)
}

/// A label before or over a box.
pub(crate) fn label(ui: &mut Ui, desk: &Desk, words: &str) {
    ui.label(faint(desk, words));
}

/// Width of the labels before boxes, so that the boxes of a form stand under one another.
const COLUMN: f32 = 104.0;

/// A label before a box, as wide as the others unless it needs more; with a button that says what it means
/// where it isn't plain by itself.
fn column(ui: &mut Ui, desk: &mut Desk, words: &str, wide: f32) {
    ui.spacing_mut().item_spacing.x = 4.0;
    let before = ui.cursor().left();
    label(ui, desk, words);
    if let Some(meaning) = super::help::word(words)
        && ui.small_button("?").on_hover_text(meaning.means).clicked()
    {
        desk.view.help = Some(meaning.id);
    }
    let used = ui.cursor().left() - before;
    if used < wide {
        ui.add_space(wide - used);
    }
}

/// The unit that lengths are shown in.
fn unit(desk: &Desk) -> &'static str {
    if desk.view.inches { "in" } else { "mm" }
}

/// A title over boxes that have no room for their unit.
fn titled(ui: &mut Ui, desk: &Desk, title: &str) {
    label(ui, desk, &format!("{title}, {}", unit(desk)));
}

/// A line of text.
pub(crate) fn words(ui: &mut Ui, desk: &Desk, title: &str, text: &mut String, hint: &str) {
    label(ui, desk, title);
    let wide = ui.available_width() - 6.0;
    ui.add(TextEdit::singleline(text).desired_width(wide).char_limit(300).hint_text(hint));
}

/// A length in the unit that the window shows, with its title before it.
pub(crate) fn length(ui: &mut Ui, desk: &mut Desk, title: &str, value: &mut f64) {
    length_after(ui, desk, COLUMN, title, value);
}

/// The same after titles of another width, points.
pub(crate) fn length_after(ui: &mut Ui, desk: &mut Desk, wide: f32, title: &str, value: &mut f64) {
    ui.horizontal(|ui| {
        column(ui, desk, title, wide);
        length_box(ui, desk, title, value, 64.0);
        label(ui, desk, unit(desk));
    });
}

/// Only its box.
fn length_box(ui: &mut Ui, desk: &mut Desk, name: &str, value: &mut f64, wide: f32) {
    bounded_box(ui, desk, name, -FARTHEST_MM, value, wide);
}

/// The box of a length that can't be less than `least_mm`; what is less is refused in words.
fn bounded_box(
    ui: &mut Ui,
    desk: &mut Desk,
    name: &str,
    least_mm: f64,
    value: &mut f64,
    wide: f32,
) {
    let inches = desk.view.inches;
    let scale = if inches { MM_PER_INCH } else { 1.0 };
    let number = Number {
        name,
        unit: unit(desk),
        with_unit: false,
        range: least_mm / scale..=FARTHEST_MM / scale,
        decimals: if inches { 2 } else { 1 },
        speed: if inches { 0.02 } else { 0.5 },
        size: Vec2::new(wide, 22.0),
    };
    let (shown, typed) = if least_mm > 0.0 {
        number.refusing(ui, desk.view, *value / scale)
    } else {
        number.show(ui, desk.view, *value / scale)
    };
    if let Some(typed) = typed {
        *value = typed * scale;
    }
    shown.on_hover_text(format!("{name}, {}", unit(desk)));
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
        column(ui, desk, title, COLUMN);
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
        if ui.checkbox(&mut given, faint(desk, title)).changed() {
            *value = given.then_some(usual_mm);
        }
        if let Some(value) = value {
            length_box(ui, desk, title, value, 60.0);
            label(ui, desk, unit(desk));
        }
    });
}

/// Three coordinates in a row, their title over them.
pub(crate) fn point(ui: &mut Ui, desk: &mut Desk, title: &str, point: &mut Point) {
    if !title.is_empty() {
        titled(ui, desk, &format!("{title}: x, y, z"));
    }
    ui.horizontal(|ui| coordinates(ui, desk, title, point, COORDINATE));
}

/// Width of the box of a coordinate, points.
const COORDINATE: f32 = 55.0;

fn coordinates(ui: &mut Ui, desk: &mut Desk, title: &str, point: &mut Point, wide: f32) {
    ui.spacing_mut().item_spacing.x = 3.0;
    for (axis, letter) in ["x", "y", "z"].into_iter().enumerate() {
        let name = format!("{letter} of {title}");
        length_box(ui, desk, &name, &mut point[axis], wide);
    }
}

/// The heads of columns of coordinates as wide as their boxes, with the unit.
fn heads(ui: &mut Ui, desk: &Desk, heads: &[&str], wide: f32) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        for head in heads {
            let words = faint(desk, &format!("{head}, {}", unit(desk)));
            ui.add_sized(Vec2::new(wide, 14.0), bevy_egui::egui::Label::new(words));
        }
    });
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
