//! The figures of one thing, typed.

use bevy_egui::egui::{Align, Frame, Margin, RichText, Stroke, Ui};

use super::{Desk, fields};
use crate::checks::Verdict;
use crate::model::{
    AnchorKind, BendRule, Bundle, Cable, FeedReading, Layout, Line, LineClip, LineKind, Motion,
    MoverKind, Pull, Role, TrimKind, Vector,
};
use crate::scene::edit::Gesture;
use crate::scene::thing::{Kind, Thing};
use crate::scene::view::Form;

/// Changes nearer together than this are one step of undo, s.
const ONE_STEP_S: f64 = 1.2;

/// The form, while a thing is being typed.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    let Some(mut form) = desk.view.form.take() else { return };
    let Some(known) = Thing::get(desk.document.layout(), form.kind, form.index) else { return };
    if form.base != known {
        // Taken back, or changed elsewhere.
        form = Form { thing: known.clone(), base: known, wrong: Vec::new(), ..form };
    }
    let before = form.thing.clone();
    let mut asked = None;
    let frame = Frame::new()
        .fill(desk.palette.card)
        .stroke(Stroke::new(1.0, desk.palette.accent))
        .corner_radius(6.0)
        .inner_margin(Margin::same(8));
    let shown = frame.show(ui, |ui| {
        ui.set_width(ui.available_width() - 4.0);
        // Boxes keep their state by the thing that they are about.
        ui.push_id(("form", form.kind, form.index), |ui| {
            let title = crate::scene::figures::capital(form.kind.word());
            ui.label(RichText::new(title).strong());
            let layout = desk.document.layout().clone();
            one(ui, desk, &layout, &mut form.thing);
            for wrong in &form.wrong {
                let colour = desk.palette.verdict(Verdict::Fail);
                ui.label(RichText::new(wrong).size(12.0).color(colour));
            }
            asked = buttons(ui, form.kind);
        });
    });
    if !form.ready {
        // Its list may lie far below.
        shown.response.scroll_to_me(Some(Align::Min));
        form.ready = true;
    }
    if form.thing != before || (form.thing != form.base && form.wrong.is_empty()) {
        let gesture = gesture(desk, &form);
        form.touched_s = desk.now_s;
        let (thing, index) = (form.thing.clone(), form.index);
        let change = |layout: &mut Layout| thing.put_into(layout, index);
        match desk.document.measure("change", gesture, change) {
            Ok(()) => {
                form.base = form.thing.clone();
                form.wrong.clear();
            }
            Err(wrong) => form.wrong = wrong,
        }
    }
    desk.view.form = Some(form);
    match asked {
        Some(Asked::Done) => desk.view.form = None,
        Some(Asked::Copy) => copy(desk, false),
        Some(Asked::Mirror) => copy(desk, true),
        Some(Asked::Delete) => delete(desk),
        Some(Asked::Show) => show_it(desk),
        None => {}
    }
}

#[derive(Debug, Clone, Copy)]
enum Asked {
    Done,
    Copy,
    Mirror,
    Delete,
    Show,
}

fn buttons(ui: &mut Ui, kind: Kind) -> Option<Asked> {
    let mut asked = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let all = [
            ("Done", "Close the form", Asked::Done),
            ("Show", "Bring it into the picture", Asked::Show),
            ("Copy", "Another one like it", Asked::Copy),
            ("Mirror", "Another one on the other side of the car", Asked::Mirror),
            ("Delete", "Take it out (undo brings it back)", Asked::Delete),
        ];
        for (words, tip, act) in all {
            if matches!(act, Asked::Show | Asked::Mirror) && !kind.in_the_boot() {
                continue;
            }
            if ui.button(words).on_hover_text(tip).clicked() {
                asked = Some(act);
            }
        }
    });
    asked
}

fn gesture(desk: &mut Desk, form: &Form) -> Gesture {
    if desk.now_s - form.touched_s < ONE_STEP_S {
        desk.document.last_gesture()
    } else {
        desk.document.gesture()
    }
}

fn copy(desk: &mut Desk, mirrored: bool) {
    let Some(form) = &desk.view.form else { return };
    let thing = if mirrored { form.base.mirrored() } else { Some(form.base.clone()) };
    let Some(thing) = thing else {
        desk.view.warn("A scan can't be mirrored: take in a scan of the other side");
        return;
    };
    add(desk, thing, if mirrored { "mirror" } else { "copy" });
}

/// Adds a thing and opens its form.
pub(crate) fn add(desk: &mut Desk, mut thing: Thing, words: &'static str) {
    thing.call_apart(desk.document.layout());
    let kind = thing.kind();
    let index = kind.count(desk.document.layout());
    let gesture = desk.document.gesture();
    let added = thing.clone();
    match desk.document.measure(words, gesture, |layout| {
        added.add_to(layout);
    }) {
        Ok(()) => {
            open(desk, kind, index);
            let name = thing.name().unwrap_or(kind.word()).to_string();
            desk.view.say(format!("Added {name}; type its figures or drag its handles"));
        }
        Err(wrong) => desk.view.warn(wrong.join("; ")),
    }
}

/// Opens the form of a thing.
pub(crate) fn open(desk: &mut Desk, kind: Kind, index: usize) {
    let Some(thing) = Thing::get(desk.document.layout(), kind, index) else { return };
    desk.view.lists.insert(kind);
    desk.view.tab = crate::scene::view::Tab::Measure;
    let base = thing.clone();
    desk.view.form = Some(Form {
        kind,
        index,
        thing,
        base,
        wrong: Vec::new(),
        touched_s: f64::NEG_INFINITY,
        ready: false,
    });
}

/// Takes the thing of the open form out.
pub(crate) fn delete(desk: &mut Desk) {
    let Some(form) = desk.view.form.take() else { return };
    let gesture = desk.document.gesture();
    let (kind, index) = (form.kind, form.index);
    let gone = |layout: &mut Layout| Thing::take_out(layout, kind, index);
    match desk.document.measure("delete", gesture, gone) {
        Ok(()) => {
            let name = form.base.title(index);
            desk.view.say(format!("Took out {name}; Ctrl+Z brings it back"));
        }
        Err(wrong) => {
            desk.view.warn(wrong.join("; "));
            desk.view.form = Some(form);
        }
    }
}

fn show_it(desk: &mut Desk) {
    let Some(form) = &desk.view.form else { return };
    if let Some(at) = form.base.at() {
        let name = form.base.name().unwrap_or("luggage space").to_string();
        desk.view.point_at(at, &name, desk.now_s);
        desk.orbit.go_to(&at);
    }
}

/// The boxes of one thing.
fn one(ui: &mut Ui, desk: &mut Desk, layout: &Layout, thing: &mut Thing) {
    if let Some(name) = thing.name_mut() {
        fields::words(ui, desk, "Name", name, "what the workshop calls it");
    }
    match thing {
        Thing::Option(option) => {
            fields::words(ui, desk, "Code", &mut option.code, "short, for rules; may be left out");
            fields::words(ui, desk, "What it is", &mut option.about, "");
            ui.checkbox(&mut option.fitted, "Usually fitted");
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
        Thing::Mover(mover) => mover_fields(ui, desk, layout, mover),
        Thing::Drain(drain) => {
            fields::point(ui, desk, "centre, on the sheet", &mut drain.at);
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
            fields::option(ui, desk, layout, &mut anchor.option);
        }
        Thing::Line(line) => line_fields(ui, desk, layout, line),
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
        Thing::Rule(rule) => super::form_more::rule(ui, desk, layout, rule),
        Thing::Car(car) => super::form_more::car(ui, desk, layout, car),
        Thing::Opening(opening) => super::form_more::opening(ui, desk, opening),
        Thing::Edge(edge) => super::form_more::edge(ui, desk, edge),
        Thing::Unbolt(unbolt) => super::form_more::unbolt(ui, desk, layout, unbolt),
    }
}

fn mover_fields(ui: &mut Ui, desk: &mut Desk, layout: &Layout, mover: &mut crate::model::Mover) {
    let kinds = [
        (MoverKind::Hinge, "hinge arm"),
        (MoverKind::Lid, "boot lid"),
        (MoverKind::Roof, "folding roof"),
        (MoverKind::Tray, "tray"),
    ];
    fields::choice(ui, desk, "Kind", &kinds, &mut mover.kind);
    let mut gone = None;
    let many = mover.shapes.len() > 1;
    for (index, shape) in mover.shapes.iter_mut().enumerate() {
        ui.push_id(("shape", index), |ui| {
            fields::shape(ui, desk, shape);
            if many && ui.small_button("Take this solid out").clicked() {
                gone = Some(index);
            }
        });
    }
    if let Some(index) = gone {
        mover.shapes.remove(index);
    }
    if ui.small_button("Another solid").clicked()
        && let Some(last) = mover.shapes.last().cloned()
    {
        mover.shapes.push(last);
    }
    let mut slides = matches!(mover.motion, Motion::Slide { .. });
    let before = slides;
    fields::choice(ui, desk, "Motion", &[(false, "turns"), (true, "slides")], &mut slides);
    if slides != before {
        mover.motion = if slides {
            Motion::Slide { along: Vector::x(), from_mm: 0.0, to_mm: 300.0 }
        } else {
            let through = Thing::Mover(mover.clone()).at().unwrap_or_default();
            Motion::Swing { through, along: Vector::y(), from_deg: 0.0, to_deg: -80.0 }
        };
    }
    match &mut mover.motion {
        Motion::Swing { through, along, from_deg, to_deg } => {
            fields::point(ui, desk, "a point on the axis", through);
            fields::direction(ui, desk, "axis", along);
            fields::figure(ui, desk, "from", "°", -360.0..=360.0, from_deg);
            fields::figure(ui, desk, "to", "°", -360.0..=360.0, to_deg);
        }
        Motion::Slide { along, from_mm, to_mm } => {
            fields::direction(ui, desk, "way", along);
            fields::length(ui, desk, "from", from_mm);
            fields::length(ui, desk, "to", to_mm);
        }
    }
    super::form_more::drive(ui, desk, layout, mover);
    fields::option(ui, desk, layout, &mut mover.option);
    fields::maybe_length(ui, desk, "known to ±", 3.0, &mut mover.tolerance_mm);
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

fn line_fields(ui: &mut Ui, desk: &mut Desk, layout: &Layout, line: &mut crate::model::Line) {
    let number = |kind: &LineKind| match kind {
        LineKind::Hose => 0_u8,
        LineKind::Cable(_) => 1,
        LineKind::Cord => 2,
    };
    let mut chosen = number(&line.kind);
    let kinds = [(0, "hose"), (1, "feed cable"), (2, "release cord")];
    fields::choice(ui, desk, "Kind", &kinds, &mut chosen);
    if chosen != number(&line.kind) {
        line.kind = match chosen {
            0 => LineKind::Hose,
            1 => LineKind::Cable(Cable {
                area_mm2: 6.0,
                upstream_mm: 1000.0,
                supply_v: 12.6,
                joints_mohm: 3.0,
                conductor_c: 40.0,
            }),
            _ => LineKind::Cord,
        };
    }
    fields::point(ui, desk, "leaves the car at", &mut line.from.at);
    fields::direction(ui, desk, "towards", &mut line.from.towards);
    let ports: Vec<String> =
        desk.document.pump().ports.iter().map(|port| port.name.clone()).collect();
    ui.horizontal(|ui| {
        fields::label(ui, desk, "goes to");
        bevy_egui::egui::ComboBox::from_id_salt("port").selected_text(line.to.as_str()).show_ui(
            ui,
            |ui| {
                for port in ports {
                    ui.selectable_value(&mut line.to, port.clone(), port);
                }
            },
        );
    });
    fields::length(ui, desk, "free length", &mut line.free_mm);
    fields::length(ui, desk, "outside diameter", &mut line.od_mm);
    if matches!(line.kind, LineKind::Hose) {
        fields::maybe_length(ui, desk, "inside diameter", line.od_mm / 2.0, &mut line.bore_mm);
    }
    fields::length(ui, desk, "bend radius", &mut line.bend_mm);
    let rules = [(BendRule::Inside, "inside of the bend"), (BendRule::Centre, "centreline")];
    fields::choice(ui, desk, "given on the", &rules, &mut line.bend_rule);
    let usual = 1.5 * line.od_mm;
    fields::maybe_length(ui, desk, "straight lead", usual, &mut line.lead_mm);
    if let LineKind::Cable(cable) = &mut line.kind {
        fields::figure(ui, desk, "copper", "mm²", 0.1..=200.0, &mut cable.area_mm2);
        fields::length(ui, desk, "upstream", &mut cable.upstream_mm);
        fields::figure(ui, desk, "supply", "V", 1.0..=60.0, &mut cable.supply_v);
        fields::figure(ui, desk, "joints", "mΩ", 0.0..=10_000.0, &mut cable.joints_mohm);
        fields::figure(ui, desk, "conductor", "°C", -60.0..=200.0, &mut cable.conductor_c);
        read_at_plug(ui, desk, cable.supply_v, &mut line.measured);
    }
    if matches!(line.kind, LineKind::Cord) {
        release_pull(ui, desk, line);
    }
    bundle(ui, desk, &mut line.bundle);
    clips(ui, desk, layout, &mut line.clips);
    fields::option(ui, desk, layout, &mut line.option);
}

/// What was read at the plug, if it was.
fn read_at_plug(ui: &mut Ui, desk: &mut Desk, supply_v: f64, reading: &mut Option<FeedReading>) {
    let usual = FeedReading { plug_v: supply_v * 0.97, current_a: desk.document.pump().running_a };
    given(ui, desk, "read at the plug, pump running", usual, reading);
    if let Some(reading) = reading {
        fields::figure(ui, desk, "at the plug", "V", 0.1..=supply_v.max(0.1), &mut reading.plug_v);
        fields::figure(ui, desk, "current", "A", 0.1..=1_000.0, &mut reading.current_a);
    }
}

/// How the release is pulled, if it was measured.
fn release_pull(ui: &mut Ui, desk: &mut Desk, line: &mut Line) {
    let usual = Pull { cone_deg: 30.0, handle: line.from.at };
    given(ui, desk, "pull and handle measured", usual, &mut line.pull);
    if let Some(pull) = &mut line.pull {
        fields::figure(ui, desk, "lever's cone", "°", 0.0..=90.0, &mut pull.cone_deg);
        fields::point(ui, desk, "hand takes the handle at", &mut pull.handle);
    }
}

fn bundle(ui: &mut Ui, desk: &mut Desk, bundle: &mut Option<Bundle>) {
    let usual = Bundle { name: "bundle".into(), bend_mm: 60.0 };
    given(ui, desk, "tied into a bundle", usual, bundle);
    if let Some(bundle) = bundle {
        fields::words(ui, desk, "bundle", &mut bundle.name, "what the workshop calls it");
        fields::length(ui, desk, "its bend radius", &mut bundle.bend_mm);
    }
}

/// The clips that a line goes through, from exit to pump.
fn clips(ui: &mut Ui, desk: &mut Desk, layout: &Layout, clips: &mut Vec<LineClip>) {
    let mut gone = None;
    for (index, clip) in clips.iter_mut().enumerate() {
        ui.push_id(("clip", index), |ui| {
            ui.horizontal(|ui| {
                fields::label(ui, desk, &format!("clip {} at", index + 1));
                bevy_egui::egui::ComboBox::from_id_salt("anchor")
                    .width(150.0)
                    .truncate()
                    .selected_text(clip.anchor.as_str())
                    .show_ui(ui, |ui| {
                        for anchor in &layout.anchors {
                            let name = anchor.name.clone();
                            ui.selectable_value(&mut clip.anchor, name, &anchor.name);
                        }
                    });
                if ui.button("✖").on_hover_text("Take this clip out").clicked() {
                    gone = Some(index);
                }
            });
            fields::direction(ui, desk, "runs", &mut clip.towards);
            ui.horizontal(|ui| {
                fields::label(ui, desk, "at");
                let now = clip.spot.clone().unwrap_or_else(|| "every spot".into());
                bevy_egui::egui::ComboBox::from_id_salt("spot")
                    .width(170.0)
                    .truncate()
                    .selected_text(now)
                    .show_ui(ui, |ui| {
                        ui.selectable_value(&mut clip.spot, None, "every spot");
                        for spot in &layout.spots {
                            let name = Some(spot.name.clone());
                            ui.selectable_value(&mut clip.spot, name, &spot.name);
                        }
                    });
            });
        });
    }
    if let Some(index) = gone {
        clips.remove(index);
    }
    if let Some(anchor) = layout.anchors.first()
        && ui.button("Add a clip").clicked()
    {
        let towards = -Vector::x();
        clips.push(LineClip { anchor: anchor.name.clone(), towards, spot: None });
    }
}

/// A box that says whether something was given; `usual` when it is ticked.
fn given<T>(ui: &mut Ui, desk: &Desk, title: &str, usual: T, value: &mut Option<T>) {
    ui.horizontal(|ui| {
        let mut is = value.is_some();
        if ui.checkbox(&mut is, "").changed() {
            *value = is.then_some(usual);
        }
        fields::label(ui, desk, title);
    });
}
