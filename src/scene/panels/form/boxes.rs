//! The boxes of one thing of any kind.

use bevy_egui::egui::Ui;

use super::{Extra, line, motion, others};
use crate::model::{AnchorKind, Layout, Point, Role, Shape, TrimKind, Vector};
use crate::scene::grip;
use crate::scene::panels::{Desk, fields};
use crate::scene::thing::{self, Thing};

/// The boxes of one thing; what else was asked for.
pub(super) fn one(
    ui: &mut Ui,
    desk: &mut Desk,
    layout: &Layout,
    thing: &mut Thing,
) -> Option<Extra> {
    if let Some(name) = thing.name_mut() {
        fields::words(ui, desk, "Name", name, "what the workshop calls it");
    }
    match thing {
        Thing::Option(option) => {
            fields::words(ui, desk, "Code", &mut option.code, "short, for rules; may be left out");
            fields::words(ui, desk, "What it is", &mut option.about, "");
            ui.checkbox(&mut option.fitted, "Usually fitted");
            let has = layout.bodies.iter().any(|body| body.option.as_ref() == Some(&option.name));
            let words = if has { "Add another module" } else { "Add its module" };
            let tip =
                "A body that only cars with this option have; its size and place are typed next";
            if ui.button(words).on_hover_text(tip).clicked() {
                return Some(Extra::Add(Thing::Body(module(desk, &option.name))));
            }
            if !has {
                others::hint(ui, desk, "Nothing in the boot comes with it yet.");
            }
        }
        Thing::Body(body) => {
            let roles = Role::ALL.map(|role| (role, role.words()));
            fields::choice(ui, desk, "Role", &roles, &mut body.role);
            fields::shape(ui, desk, &mut body.shape);
            fields::place(ui, desk, &mut body.place);
            fields::option(ui, desk, layout, &mut body.option);
            ui.checkbox(&mut body.sharp, "Has a sharp edge");
            fields::maybe_length(ui, desk, "known to ±", 3.0, &mut body.tolerance_mm);
            fields::words(ui, desk, "Note", &mut body.note, "how it was measured");
        }
        Thing::Trim(trim) => {
            let kinds = [(TrimKind::Carpet, "carpet"), (TrimKind::Board, "board")];
            fields::choice(ui, desk, "Kind", &kinds, &mut trim.kind);
            fields::length(ui, desk, "thickness", &mut trim.thickness_mm);
            if trim.kind == TrimKind::Carpet {
                fields::length(ui, desk, "gives", &mut trim.give_mm);
            } else {
                trim.give_mm = 0.0;
            }
            let mut gone = None;
            for (index, face) in trim.faces.iter_mut().enumerate() {
                ui.push_id(("face", index), |ui| {
                    let title = format!("face {}, corners", index + 1);
                    fields::corners(ui, desk, &title, face);
                    ui.horizontal(|ui| {
                        if ui.small_button("Turn over").clicked() {
                            face.reverse();
                        }
                        if ui.small_button("Take face out").clicked() {
                            gone = Some(index);
                        }
                    });
                });
            }
            if let Some(index) = gone {
                trim.faces.remove(index);
            }
            if ui.small_button("Another face").clicked() {
                let up = Vector::new(0.0, 0.0, 50.0);
                let next = trim
                    .faces
                    .last()
                    .map(|face| face.iter().map(|corner| corner + up).collect())
                    .unwrap_or_default();
                trim.faces.push(next);
            }
            fields::option(ui, desk, layout, &mut trim.option);
        }
        Thing::Mover(mover) => motion::mover(ui, desk, layout, mover),
        Thing::Drain(drain) => {
            fields::point(ui, desk, "centre, on top of the sheet", &mut drain.at);
            fields::length(ui, desk, "diameter", &mut drain.diameter_mm);
            ui.checkbox(&mut drain.blocked, "Found blocked");
        }
        Thing::Leak(leak) => {
            fields::point(ui, desk, "drips from", &mut leak.at);
            let mut known = leak.rate_l_min.is_some();
            if ui.checkbox(&mut known, "How much comes in is known").changed() {
                leak.rate_l_min = known.then_some(1.0);
            }
            if let Some(rate) = &mut leak.rate_l_min {
                fields::figure(ui, desk, "comes in", "l/min", 0.0..=100.0, rate);
            }
        }
        Thing::Anchor(anchor) => {
            anchor_kind(ui, desk, &mut anchor.kind);
            fields::point(ui, desk, "where", &mut anchor.at);
            fields::direction(ui, desk, "out of the metal", &mut anchor.normal);
            fields::figure(ui, desk, "strength", "N", 1.0..=100_000.0, &mut anchor.strength_n);
            if matches!(anchor.kind, AnchorKind::Stud { .. }) {
                fields::maybe_length(ui, desk, "stands free", 20.0, &mut anchor.free_mm);
            }
            if matches!(anchor.kind, AnchorKind::Loop) {
                fields::maybe_length(ui, desk, "wide inside", 30.0, &mut anchor.inside_mm);
            }
            fields::option(ui, desk, layout, &mut anchor.option);
        }
        Thing::Line(line) => return line::line(ui, desk, layout, line),
        Thing::Ram(ram) => {
            fields::length(ui, desk, "rod", &mut ram.rod_mm);
            fields::length(ui, desk, "stroke", &mut ram.stroke_mm);
            fields::maybe_length(ui, desk, "bore", 20.0, &mut ram.bore_mm);
            let mut count = f64::from(ram.count);
            fields::figure(ui, desk, "how many", "", 1.0..=20.0, &mut count);
            ram.count = count.round() as u32;
        }
        Thing::Viewpoint(viewpoint) => fields::point(ui, desk, "the eye", &mut viewpoint.at),
        Thing::Space(shape) => fields::shape(ui, desk, shape),
        Thing::Rule(rule) => others::rule(ui, desk, layout, rule),
        Thing::Car(car) => others::car(ui, desk, layout, car),
        Thing::Opening(opening) => others::opening(ui, desk, opening),
        Thing::Edge(edge) => others::edge(ui, desk, edge),
        Thing::Unbolt(unbolt) => others::unbolt(ui, desk, layout, unbolt),
    }
    None
}

/// A module that an option brings, beside the pump.
fn module(desk: &Desk, option: &str) -> crate::model::Body {
    let beside = grip::middle_at(desk.document.boot(), &desk.document.spot().place);
    let from = Point::from(beside.coords + Vector::new(0.0, 0.0, 150.0));
    let from = from.map(|value| (value / 10.0).round() * 10.0 + 0.0);
    let shape = Shape::Box { from, to: from + Vector::new(160.0, 120.0, 40.0) };
    let mut body = thing::body(option, Role::Module, shape);
    body.option = Some(option.to_string());
    body
}

fn anchor_kind(ui: &mut Ui, desk: &mut Desk, kind: &mut AnchorKind) {
    let number = |kind: &AnchorKind| match kind {
        AnchorKind::Stud { .. } => 0_u8,
        AnchorKind::Hole { .. } => 1,
        AnchorKind::Slot { .. } => 2,
        AnchorKind::Loop => 3,
        AnchorKind::Face => 4,
        AnchorKind::Edge { .. } => 5,
        AnchorKind::Bar { .. } => 6,
    };
    let mut chosen = number(kind);
    fields::choice(
        ui,
        desk,
        "Kind",
        &[
            (0, "stud"),
            (1, "hole"),
            (2, "slot"),
            (3, "loop or eye"),
            (4, "flat face"),
            (5, "edge"),
            (6, "bar"),
        ],
        &mut chosen,
    );
    if chosen != number(kind) {
        *kind = match chosen {
            0 => AnchorKind::Stud { thread_mm: 6.0 },
            1 => AnchorKind::Hole { diameter_mm: 7.0 },
            2 => AnchorKind::Slot { length_mm: 20.0, width_mm: 8.0 },
            3 => AnchorKind::Loop,
            4 => AnchorKind::Face,
            5 => AnchorKind::Edge { thickness_mm: 2.0 },
            _ => AnchorKind::Bar { girth_mm: 100.0 },
        };
    }
    match kind {
        AnchorKind::Stud { thread_mm } => fields::length(ui, desk, "thread", thread_mm),
        AnchorKind::Hole { diameter_mm } => fields::length(ui, desk, "diameter", diameter_mm),
        AnchorKind::Slot { length_mm, width_mm } => {
            fields::length(ui, desk, "long", length_mm);
            fields::length(ui, desk, "wide", width_mm);
        }
        AnchorKind::Edge { thickness_mm } => fields::length(ui, desk, "thickness", thickness_mm),
        AnchorKind::Bar { girth_mm } => fields::length(ui, desk, "once round it", girth_mm),
        AnchorKind::Loop | AnchorKind::Face => {}
    }
}
