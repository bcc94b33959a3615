//! The boot's inside as far as it is known, and the usual things placed in it, to be typed over.

use crate::geometry::Bounds;
use crate::model::{
    AnchorKind, LineKind, Motion, Mover, MoverKind, Point, Role, Shape, TrimKind, Vector,
};
use crate::scene::panels::Desk;
use crate::scene::thing::{Kind, Known, Thing, body, usual_cable};

/// The boot's inside as far as it is known, to place new things in.
pub(super) struct Room {
    bounds: Bounds,
    pub(super) known: Known,
}

impl Room {
    pub(super) fn of(desk: &Desk) -> Room {
        let bounds = desk
            .document
            .boot()
            .bodies()
            .map(|(_, solid)| *solid.bounds())
            .reduce(|a, b| a.with(&b));
        let usual =
            Bounds { low: Point::new(0.0, -500.0, 0.0), high: Point::new(800.0, 500.0, 400.0) };
        let known = Known::of(desk.document.layout(), desk.document.boot());
        Room { bounds: bounds.unwrap_or(usual), known }
    }

    pub(super) fn at(&self, x: f64, y: f64, z: f64) -> Point {
        let (low, high) = (self.bounds.low, self.bounds.high);
        let share = |low: f64, high: f64, share: f64| (low + (high - low) * share).round();
        Point::new(share(low.x, high.x, x), share(low.y, high.y, y), share(low.z, high.z, z))
    }
}

pub(super) fn floor(room: &Room) -> Thing {
    let (from, to) = (room.at(0.0, 0.0, 0.0), room.at(1.0, 1.0, 0.0) - Vector::new(0.0, 0.0, 3.0));
    Thing::Body(body("floor", Role::Floor, Shape::Box { from, to }))
}

pub(super) fn wall(room: &Room) -> Thing {
    let from = room.at(0.0, 1.0, 0.0);
    let to = room.at(1.0, 1.0, 1.0) + Vector::new(0.0, 6.0, 0.0);
    Thing::Body(body("quarter panel, left", Role::Panel, Shape::Box { from, to }))
}

pub(super) fn arch(room: &Room) -> Thing {
    let (from, to) = (room.at(0.6, 0.87, 0.0), room.at(1.0, 1.0, 0.7));
    Thing::Body(body("wheel arch, left", Role::WheelArch, Shape::Box { from, to }))
}

pub(super) fn bracket(room: &Room) -> Thing {
    let from = room.at(0.3, 0.78, 0.4);
    let to = from + Vector::new(220.0, 120.0, 4.0);
    Thing::Body(body("bracket", Role::Bracket, Shape::Box { from, to }))
}

pub(super) fn hinge(room: &Room) -> Thing {
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

pub(super) fn carpet(room: &Room) -> Thing {
    // Its normal looks into the boot, to the right.
    let face = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.9), (0.0, 0.9)];
    let face = face.into_iter().map(|(x, z)| room.at(x, 0.8, z)).collect();
    trim("side carpet, left", TrimKind::Carpet, face)
}

pub(super) fn board(room: &Room) -> Thing {
    let face = [(0.05, 0.05), (0.95, 0.05), (0.95, 0.75), (0.05, 0.75)];
    let face = face.into_iter().map(|(x, y)| room.at(x, y, 0.05)).collect();
    trim("boot board", TrimKind::Board, face)
}

pub(super) fn option(room: &Room) -> Thing {
    Thing::new(Kind::Option, room.at(0.5, 0.5, 0.5), &room.known)
}

pub(super) fn drain(room: &Room) -> Thing {
    Thing::new(Kind::Drain, room.at(0.05, 0.9, 0.0), &room.known)
}

pub(super) fn leak(room: &Room) -> Thing {
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

pub(super) fn hose(room: &Room) -> Thing {
    line(room, "hose 1", LineKind::Hose, room.known.port.clone(), 0.8)
}

pub(super) fn cable(room: &Room) -> Thing {
    let kind = LineKind::Cable(usual_cable());
    line(room, "feed cable", kind, room.known.plug.clone(), 0.84)
}

pub(super) fn cord(room: &Room) -> Thing {
    line(room, "release cord", LineKind::Cord, room.known.release.clone(), 0.87)
}

pub(super) fn anchor(room: &Room) -> Thing {
    let mut thing = Thing::new(Kind::Anchor, room.at(0.35, 0.82, 0.4), &room.known);
    if let Thing::Anchor(anchor) = &mut thing {
        anchor.name = "bracket stud".into();
        anchor.kind = AnchorKind::Stud { thread_mm: 6.0 };
    }
    thing
}

pub(super) fn ram(room: &Room) -> Thing {
    Thing::new(Kind::Ram, room.at(0.5, 0.5, 0.5), &room.known)
}

pub(super) fn viewpoint(room: &Room) -> Thing {
    Thing::new(Kind::Viewpoint, room.at(0.5, 0.5, 0.5), &room.known)
}

pub(super) fn space(room: &Room) -> Thing {
    let (from, to) = (room.at(0.05, 0.1, 0.1), room.at(0.9, 0.75, 0.9));
    Thing::Space(Shape::Box { from, to })
}
