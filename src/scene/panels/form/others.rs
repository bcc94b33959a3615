//! The boxes of things that aren't solids: rules, cars, openings, tape edges, what comes out.

use bevy_egui::egui::{ComboBox, RichText, Ui};

use crate::model::{Axis, Car, Layout, Notch, Opening, OpeningOutline, Place, TapeEdge, Unbolt};
use crate::scene::panels::{Desk, fields};
use crate::scene::thing::axis_words;

/// A small line that says how something is meant.
pub(super) fn hint(ui: &mut Ui, desk: &Desk, words: &str) {
    ui.label(RichText::new(words).size(12.0).color(desk.palette.faint));
}

/// What holds of every car's options.
pub(super) fn rule(ui: &mut Ui, desk: &Desk, layout: &Layout, rule: &mut String) {
    fields::words(ui, desk, "Holds of every car", rule, "not (tow-bar and amplifier)");
    hint(ui, desk, "Words: and, or, not, brackets. Options:");
    for option in &layout.options {
        let words = match option.code.as_str() {
            "" => option.name.clone(),
            code => format!("{} or {code}", option.name),
        };
        hint(ui, desk, &format!("  {words}"));
    }
}

/// A car: its options ticked.
pub(super) fn car(ui: &mut Ui, desk: &Desk, layout: &Layout, car: &mut Car) {
    fields::label(ui, desk, "Has");
    if layout.options.is_empty() {
        hint(ui, desk, "This boot has no options yet.");
    }
    for option in &layout.options {
        let is = |known: &String| {
            *known == option.name || (!option.code.is_empty() && *known == option.code)
        };
        let mut has = car.options.iter().any(is);
        if ui.checkbox(&mut has, crate::scene::figures::capital(&option.name)).changed() {
            car.options.retain(|known| !is(known));
            if has {
                car.options.push(option.name.clone());
            }
        }
    }
}

/// An opening: where its plane stands, its outline, and what the panel is like.
pub(super) fn opening(ui: &mut Ui, desk: &mut Desk, opening: &mut Opening) {
    fields::point(ui, desk, "zero of its outline, in the boot", &mut opening.place.at);
    hint(ui, desk, "Turned from lying level, its face up:");
    for (title, turn) in [
        ("roll", &mut opening.place.turn_deg.0),
        ("pitch", &mut opening.place.turn_deg.1),
        ("yaw", &mut opening.place.turn_deg.2),
    ] {
        fields::figure(ui, desk, title, "°", -360.0..=360.0, turn);
    }
    let mut cut = matches!(opening.outline, OpeningOutline::Cut { .. });
    let before = cut;
    let kinds = [(false, "measured"), (true, "where its plane cuts the bodies")];
    fields::choice(ui, desk, "Outline", &kinds, &mut cut);
    if cut != before {
        opening.outline = if cut {
            OpeningOutline::Cut { around: middle(&opening.outline) }
        } else {
            let corners = [(0.0, 0.0), (240.0, 0.0), (240.0, 160.0), (0.0, 160.0)];
            OpeningOutline::Measured(corners.to_vec())
        };
    }
    match &mut opening.outline {
        OpeningOutline::Measured(outline) => {
            fields::pairs(ui, desk, "corners (right, up), as one looks at its face", outline);
        }
        OpeningOutline::Cut { around } => {
            fields::length(ui, desk, "point inside, right", &mut around.0);
            fields::length(ui, desk, "and up", &mut around.1);
        }
    }
    fields::length(ui, desk, "carpet at its edge", &mut opening.carpet_mm);
    fields::length(ui, desk, "fit, below 0 a gap", &mut opening.fit_mm);
    fields::length(ui, desk, "room round lines", &mut opening.relief_mm);
    fields::figure(ui, desk, "grain from its right", "°", -360.0..=360.0, &mut opening.grain_deg);
    let mut notched = opening.notch.is_some();
    if ui.checkbox(&mut notched, "A notch for a finger").changed() {
        let near = middle(&opening.outline);
        opening.notch = notched.then_some(Notch { near, width_mm: 28.0, depth_mm: 18.0 });
    }
    if let Some(notch) = &mut opening.notch {
        fields::length(ui, desk, "near, right", &mut notch.near.0);
        fields::length(ui, desk, "and up", &mut notch.near.1);
        fields::length(ui, desk, "notch, wide", &mut notch.width_mm);
        fields::length(ui, desk, "notch, deep", &mut notch.depth_mm);
    }
}

/// The mean of an outline's corners.
fn middle(outline: &OpeningOutline) -> (f64, f64) {
    match outline {
        OpeningOutline::Measured(corners) => {
            let count = corners.len().max(1) as f64;
            let sum = corners.iter().fold((0.0, 0.0), |sum, c| (sum.0 + c.0, sum.1 + c.1));
            ((sum.0 / count).round(), (sum.1 / count).round())
        }
        OpeningOutline::Cut { around } => *around,
    }
}

/// An edge or face that a tape is laid against.
pub(super) fn edge(ui: &mut Ui, desk: &mut Desk, edge: &mut TapeEdge) {
    let axes = [Axis::X, Axis::Y, Axis::Z].map(|axis| (axis, axis_words(axis)));
    fields::choice(ui, desk, "Measured along", &axes, &mut edge.axis);
    fields::length(ui, desk, "stands at", &mut edge.at_mm);
}

/// What can be unbolted, how, and where it goes.
pub(super) fn unbolt(ui: &mut Ui, desk: &mut Desk, layout: &Layout, unbolt: &mut Unbolt) {
    ui.horizontal(|ui| {
        fields::label(ui, desk, "Body");
        let wide = (ui.available_width() - 8.0).max(60.0);
        let now = crate::scene::figures::capital(&unbolt.body);
        ComboBox::from_id_salt("unbolted").width(wide).truncate().selected_text(now).show_ui(
            ui,
            |ui| {
                for body in &layout.bodies {
                    let words = crate::scene::figures::capital(&body.name);
                    ui.selectable_value(&mut unbolt.body, body.name.clone(), words);
                }
            },
        );
    });
    fields::words(ui, desk, "How it comes out", &mut unbolt.how, "fasteners and plugs");
    fields::words(ui, desk, "Where it goes", &mut unbolt.refit_words, "in words");
    let mut inside = unbolt.refit.is_some();
    if ui.checkbox(&mut inside, "It stays in the boot, moved").changed() {
        unbolt.refit = inside.then(Place::default);
    }
    if let Some(refit) = &mut unbolt.refit {
        fields::point(ui, desk, "moved by", &mut refit.at);
        for (title, turn) in [
            ("roll", &mut refit.turn_deg.0),
            ("pitch", &mut refit.turn_deg.1),
            ("yaw", &mut refit.turn_deg.2),
        ] {
            fields::figure(ui, desk, title, "°", -360.0..=360.0, turn);
        }
    }
}
