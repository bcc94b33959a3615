//! Measuring a boot in: what is measured, what isn't yet, and what can't be answered because of it.

use bevy_egui::egui::{CollapsingHeader, Label, RichText, Sense, Ui};

use super::{Desk, fields, form, heading};
use crate::checks::Verdict;
use crate::geometry::Bounds;
use crate::model::{
    AnchorKind, Layout, LineKind, Motion, Mover, MoverKind, Point, Role, Shape, TrimKind, Vector,
};
use crate::scene::figures;
use crate::scene::marks;
use crate::scene::thing::{Kind, Known, Thing, body};

/// The left panel's second page.
pub(crate) fn show(ui: &mut Ui, desk: &mut Desk) {
    form::show(ui, desk);
    steps(ui, desk);
    unknown(ui, desk);
    about(ui, desk);
    super::limits::show(ui, desk);
    super::handover::show(ui, desk);
    lists(ui, desk);
    if ui
        .button("Take in a scan…")
        .on_hover_text("A .glb, .obj, .stl or .ply file as a body")
        .clicked()
    {
        desk.view.import = Some(crate::scene::import::Import::default());
    }
}

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

/// The boot's inside as far as it is known, to place new things in.
pub(crate) struct Room {
    bounds: Bounds,
    known: Known,
}

impl Room {
    fn of(desk: &Desk) -> Room {
        let bounds = desk
            .document
            .boot()
            .bodies()
            .map(|(_, solid)| *solid.bounds())
            .reduce(|a, b| a.with(&b));
        let usual =
            Bounds { low: Point::new(0.0, -500.0, 0.0), high: Point::new(800.0, 500.0, 400.0) };
        let taken: Vec<&str> =
            desk.document.layout().lines.iter().map(|line| line.to.as_str()).collect();
        let ports = &desk.document.pump().ports;
        let port = ports
            .iter()
            .find(|port| !taken.contains(&port.name.as_str()))
            .or(ports.first())
            .map(|port| port.name.clone())
            .unwrap_or_default();
        let known = Known::of(desk.document.layout(), &port);
        Room { bounds: bounds.unwrap_or(usual), known }
    }

    fn at(&self, x: f64, y: f64, z: f64) -> Point {
        let (low, high) = (self.bounds.low, self.bounds.high);
        let share = |low: f64, high: f64, share: f64| (low + (high - low) * share).round();
        Point::new(share(low.x, high.x, x), share(low.y, high.y, y), share(low.z, high.z, z))
    }
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
        step("Floor", "no water, nothing to stand on", role(Role::Floor), new_floor),
        step("Walls", "pumps through panels", role(Role::Panel), new_wall),
        step("Wheel arches", "gaps beside them", role(Role::WheelArch), new_arch),
        step("Lid hinge", "what it sweeps", mover(MoverKind::Hinge), new_hinge),
        step("Carpet", "what shows", trim(TrimKind::Carpet), new_carpet),
        step("Tray or board", "whether it goes back", trim(TrimKind::Board), new_board),
        step("Brackets", "what it could stand on", role(Role::Bracket), new_bracket),
        step("Options", "other cars of the model", any(Kind::Option), new_option),
        step("Drains", "where water goes", any(Kind::Drain), new_drain),
        step("Leak points", "drips", any(Kind::Leak), new_leak),
        step("Hose exits", "whether hoses reach", line(is_hose), new_hose),
        step("Feed cable", "volts lost", line(is_cable), new_cable),
        step("Release cord", "the emergency release", line(is_cord), new_cord),
        step("Anchors", "what holds it", any(Kind::Anchor), new_anchor),
        step("Rams", "how far the level moves", any(Kind::Ram), new_ram),
        step("Viewpoints", "what is seen", any(Kind::Viewpoint), new_viewpoint),
        step("Luggage space", "litres lost", any(Kind::Space), new_space),
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

fn steps(ui: &mut Ui, desk: &mut Desk) {
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

/// The checks of the current spot that can't be answered, and what to measure for each.
fn unknown(ui: &mut Ui, desk: &mut Desk) {
    let open: Vec<(String, String)> = desk
        .scores
        .of(desk.document.current())
        .into_iter()
        .flat_map(|landed| landed.card.headlines.iter().flat_map(|headline| &headline.checks))
        .filter(|check| check.verdict == Verdict::Unknown)
        .map(|check| (figures::title(check), check.why.clone()))
        .collect();
    if open.is_empty() {
        return;
    }
    heading(ui, &desk.palette, &format!("Not known for this spot ({})", open.len()));
    for (title, why) in open {
        ui.horizontal(|ui| {
            marks::mark(ui, 10.0, Verdict::Unknown, desk.palette.verdict(Verdict::Unknown));
            let words = RichText::new(&title).size(12.5);
            ui.add(Label::new(words).truncate()).on_hover_text(format!("{title}: {why}"));
        });
    }
}

fn about(ui: &mut Ui, desk: &mut Desk) {
    CollapsingHeader::new("About this boot").id_salt("about").show(ui, |ui| {
        let layout = desk.document.layout();
        let (mut name, mut origin, mut about) =
            (layout.name.clone(), layout.origin.clone(), layout.about.clone());
        let mut weights = layout.weights;
        fields::words(ui, desk, "Model", &mut name, "in the workshop's words");
        fields::words(ui, desk, "Origin", &mut origin, "which point, in words");
        fields::words(ui, desk, "About", &mut about, "who measured it, and how");
        for (title, weight) in [
            ("weight of reach", &mut weights.reach),
            ("of the carpet line", &mut weights.carpet),
            ("of feed", &mut weights.feed),
            ("of water", &mut weights.water),
            ("of hold", &mut weights.hold),
        ] {
            fields::figure(ui, desk, title, "", 0.0..=1000.0, weight);
        }
        let layout = desk.document.layout();
        let same = name == layout.name
            && origin == layout.origin
            && about == layout.about
            && weights == layout.weights;
        if !same {
            let gesture = desk.step("about this boot");
            let done = desk.document.measure("about this boot", gesture, |layout| {
                layout.name = name;
                layout.origin = origin;
                layout.about = about;
                layout.weights = weights;
            });
            if let Err(wrong) = done {
                desk.view.warn(wrong.join("; "));
            }
        }
    });
}

fn lists(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Everything by kind");
    for kind in Kind::ALL {
        let layout = desk.document.layout();
        let count = kind.count(layout);
        let names: Vec<String> = (0..count)
            .filter_map(|index| Thing::get(layout, kind, index))
            .enumerate()
            .map(|(index, thing)| thing.title(index))
            .collect();
        let open = desk.view.lists.contains(&kind);
        let header = CollapsingHeader::new(format!("{} ({count})", kind.plural()))
            .id_salt(("list", kind))
            .open(Some(open));
        let response = header.show(ui, |ui| {
            for (index, name) in names.iter().enumerate() {
                let chosen = desk
                    .view
                    .form
                    .as_ref()
                    .is_some_and(|form| form.kind == kind && form.index == index);
                let words = figures::capital(name);
                if ui.selectable_label(chosen, words).on_hover_text("Change it").clicked() {
                    form::open(desk, kind, index);
                }
            }
            let words = format!("Add: {}", kind.word());
            if ui.small_button(words).clicked() {
                let room = Room::of(desk);
                let thing = Thing::new(kind, room.at(0.5, 0.5, 0.4), &room.known);
                form::add(desk, thing, "add");
            }
        });
        if response.header_response.clicked() {
            if open {
                desk.view.lists.remove(&kind);
            } else {
                desk.view.lists.insert(kind);
            }
        }
    }
}

fn new_floor(room: &Room) -> Thing {
    let (from, to) = (room.at(0.0, 0.0, 0.0), room.at(1.0, 1.0, 0.0) - Vector::new(0.0, 0.0, 3.0));
    Thing::Body(body("floor", Role::Floor, Shape::Box { from, to }))
}

fn new_wall(room: &Room) -> Thing {
    let from = room.at(0.0, 1.0, 0.0);
    let to = room.at(1.0, 1.0, 1.0) + Vector::new(0.0, 6.0, 0.0);
    Thing::Body(body("quarter panel, left", Role::Panel, Shape::Box { from, to }))
}

fn new_arch(room: &Room) -> Thing {
    let (from, to) = (room.at(0.6, 0.87, 0.0), room.at(1.0, 1.0, 0.7));
    Thing::Body(body("wheel arch, left", Role::WheelArch, Shape::Box { from, to }))
}

fn new_bracket(room: &Room) -> Thing {
    let from = room.at(0.3, 0.78, 0.4);
    let to = from + Vector::new(220.0, 120.0, 4.0);
    Thing::Body(body("bracket", Role::Bracket, Shape::Box { from, to }))
}

fn new_hinge(room: &Room) -> Thing {
    let from = room.at(0.6, 0.93, 0.95);
    Thing::Mover(Mover {
        name: "boot-lid hinge arm, left".into(),
        kind: MoverKind::Hinge,
        shapes: vec![Shape::Box { from, to: from + Vector::new(20.0, 20.0, 160.0) }],
        motion: Motion::Swing { through: from, along: Vector::y(), from_deg: 0.0, to_deg: -80.0 },
        driven: None,
        option: None,
        tolerance_mm: None,
    })
}

fn trim(name: &str, kind: TrimKind, face: Vec<Point>) -> Thing {
    let (thickness_mm, give_mm) = if kind == TrimKind::Carpet { (5.0, 8.0) } else { (4.0, 0.0) };
    Thing::Trim(crate::model::Trim {
        name: name.into(),
        kind,
        faces: vec![face],
        thickness_mm,
        give_mm,
        option: None,
    })
}

fn new_carpet(room: &Room) -> Thing {
    // Its normal looks into the boot, to the right.
    let face = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.9), (0.0, 0.9)];
    let face = face.into_iter().map(|(x, z)| room.at(x, 0.8, z)).collect();
    trim("side carpet, left", TrimKind::Carpet, face)
}

fn new_board(room: &Room) -> Thing {
    let face = [(0.05, 0.05), (0.95, 0.05), (0.95, 0.75), (0.05, 0.75)];
    let face = face.into_iter().map(|(x, y)| room.at(x, y, 0.05)).collect();
    trim("boot board", TrimKind::Board, face)
}

fn new_option(room: &Room) -> Thing {
    Thing::new(Kind::Option, room.at(0.5, 0.5, 0.5), &room.known)
}

fn new_drain(room: &Room) -> Thing {
    Thing::new(Kind::Drain, room.at(0.05, 0.9, 0.0), &room.known)
}

fn new_leak(room: &Room) -> Thing {
    Thing::new(Kind::Leak, room.at(0.03, 0.85, 0.9), &room.known)
}

fn line(room: &Room, name: &str, kind: LineKind, port: String, y: f64) -> Thing {
    let mut thing = Thing::new(Kind::Line, room.at(0.75, y, 0.3), &room.known);
    if let Thing::Line(line) = &mut thing {
        line.name = name.into();
        line.to = port;
        line.kind = kind;
        line.from.towards = -Vector::x();
    }
    thing
}

fn new_hose(room: &Room) -> Thing {
    line(room, "hose 1", LineKind::Hose, room.known.port.clone(), 0.8)
}

fn new_cable(room: &Room) -> Thing {
    let kind = LineKind::Cable(crate::model::Cable {
        area_mm2: 6.0,
        upstream_mm: 1000.0,
        supply_v: 12.6,
        joints_mohm: 3.0,
        conductor_c: 40.0,
    });
    line(room, "feed cable", kind, room.known.port.clone(), 0.84)
}

fn new_cord(room: &Room) -> Thing {
    line(room, "release cord", LineKind::Cord, room.known.port.clone(), 0.87)
}

fn new_anchor(room: &Room) -> Thing {
    let mut thing = Thing::new(Kind::Anchor, room.at(0.35, 0.82, 0.4), &room.known);
    if let Thing::Anchor(anchor) = &mut thing {
        anchor.name = "bracket stud".into();
        anchor.kind = AnchorKind::Stud { thread_mm: 6.0 };
    }
    thing
}

fn new_ram(room: &Room) -> Thing {
    Thing::new(Kind::Ram, room.at(0.5, 0.5, 0.5), &room.known)
}

fn new_viewpoint(room: &Room) -> Thing {
    Thing::new(Kind::Viewpoint, room.at(0.5, 0.5, 0.5), &room.known)
}

fn new_space(room: &Room) -> Thing {
    let (from, to) = (room.at(0.05, 0.1, 0.1), room.at(0.9, 0.75, 0.9));
    Thing::Space(Shape::Box { from, to })
}
