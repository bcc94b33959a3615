//! What a boot needs before its figures mean something, and what of it is measured.

use bevy_egui::egui::{Label, RichText, Sense, Ui};

use super::room::{self, Room};
use crate::checks::Verdict;
use crate::model::{Layout, LineKind, MoverKind, Role, TrimKind};
use crate::scene::marks;
use crate::scene::panels::{Desk, form, heading};
use crate::scene::thing::{Kind, Thing};

/// One thing that a boot needs before its figures mean something.
struct Step {
    words: &'static str,
    /// What stays open without it.
    without: &'static str,
    done: bool,
    /// The first thing that was measured for it.
    first: Option<(Kind, usize)>,
    /// What its button adds.
    adds: Option<fn(&Room) -> Thing>,
}

fn steps_of(layout: &Layout) -> Vec<Step> {
    let role = |wanted: Role| {
        layout.bodies.iter().position(|body| body.role == wanted).map(|at| (Kind::Body, at))
    };
    let mover = |wanted: MoverKind| {
        layout.movers.iter().position(|mover| mover.kind == wanted).map(|at| (Kind::Mover, at))
    };
    let trim = |wanted: TrimKind| {
        layout.trims.iter().position(|trim| trim.kind == wanted).map(|at| (Kind::Trim, at))
    };
    let line = |wanted: fn(&LineKind) -> bool| {
        layout.lines.iter().position(|line| wanted(&line.kind)).map(|at| (Kind::Line, at))
    };
    let any = |kind: Kind| (kind.count(layout) > 0).then_some((kind, 0));
    let step = |words, without, first: Option<(Kind, usize)>, adds: fn(&Room) -> Thing| Step {
        words,
        without,
        done: first.is_some(),
        first,
        adds: Some(adds),
    };
    let origin = Step {
        words: "Origin in words",
        without: "nobody can measure it again",
        done: !layout.origin.trim().is_empty(),
        first: None,
        adds: None,
    };
    vec![
        origin,
        step("Floor", "no water, nothing to stand on", role(Role::Floor), room::floor),
        step("Walls", "pumps through panels", role(Role::Panel), room::wall),
        step("Wheel arches", "gaps beside them", role(Role::WheelArch), room::arch),
        step("Lid hinge", "what it sweeps", mover(MoverKind::Hinge), room::hinge),
        step("Carpet", "what shows", trim(TrimKind::Carpet), room::carpet),
        step("Tray or board", "whether it goes back", trim(TrimKind::Board), room::board),
        step("Brackets", "what it could stand on", role(Role::Bracket), room::bracket),
        step("Options", "other cars of the model", any(Kind::Option), room::option),
        step("Drains", "where water goes", any(Kind::Drain), room::drain),
        step("Leak points", "drips", any(Kind::Leak), room::leak),
        step("Hose exits", "whether hoses reach", line(is_hose), room::hose),
        step("Feed cable", "volts lost", line(is_cable), room::cable),
        step("Release cord", "the emergency release", line(is_cord), room::cord),
        step("Anchors", "what holds it", any(Kind::Anchor), room::anchor),
        step("Rams", "how far the level moves", any(Kind::Ram), room::ram),
        step("Viewpoints", "what is seen", any(Kind::Viewpoint), room::viewpoint),
        step("Luggage space", "litres lost", any(Kind::Space), room::space),
    ]
}

fn is_hose(kind: &LineKind) -> bool {
    matches!(kind, LineKind::Hose)
}

fn is_cable(kind: &LineKind) -> bool {
    matches!(kind, LineKind::Cable(_))
}

fn is_cord(kind: &LineKind) -> bool {
    matches!(kind, LineKind::Cord)
}

/// What a boot needs, in the order in which it is measured, with what is missing.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk) {
    let steps = steps_of(desk.document.layout());
    let done = steps.iter().filter(|step| step.done).count();
    heading(ui, &desk.palette, &format!("Measured: {done} of {}", steps.len()));
    let mut next = true;
    let (mut asked, mut opened) = (None, None);
    for step in &steps {
        ui.horizontal(|ui| {
            let (verdict, colour) = if step.done {
                (Verdict::Pass, desk.palette.verdict(Verdict::Pass))
            } else {
                (Verdict::Unknown, desk.palette.verdict(Verdict::Unknown))
            };
            marks::mark(ui, 11.0, verdict, colour);
            let mut words = RichText::new(step.words).size(13.0);
            if !step.done && next {
                words = words.strong();
            }
            let tip = if step.first.is_some() {
                "Measured; a click opens the first".to_string()
            } else if step.done {
                "Measured".to_string()
            } else {
                format!("Not measured yet. Not known without it: {}", step.without)
            };
            let sense = if step.first.is_some() { Sense::click() } else { Sense::hover() };
            let label = ui.add(Label::new(words).sense(sense)).on_hover_text(tip);
            if label.clicked() {
                opened = step.first;
            }
            if let Some(adds) = step.adds {
                let words = if step.done { "+" } else { "Add" };
                let tip = format!("Add: {}", step.words.to_lowercase());
                if ui.small_button(words).on_hover_text(tip).clicked() {
                    asked = Some(adds);
                }
            }
            if !step.done {
                next = false;
            }
        });
    }
    if let Some((kind, index)) = opened {
        form::open(desk, kind, index);
    }
    if let Some(adds) = asked {
        let thing = adds(&Room::of(desk));
        form::add(desk, thing, "add");
    }
}
