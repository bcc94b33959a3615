//! The boot's inside as far as it is known, and the usual things placed in it, to be typed over.

use std::sync::Arc;

use crate::checks::Boot;
use crate::geometry::Bounds;
use crate::model::{
    AnchorKind, LineKind, Motion, Mover, MoverKind, Point, Role, Shape, TrimKind, Vector,
};
use crate::scene::panels::Desk;
use crate::scene::thing::{Kind, Known, Thing, body, usual_cable};

/// The boot's inside as far as it is known, to place new things in.
pub(super) struct Room {
    bounds: Bounds,
    boot: Arc<Boot>,
    pub(super) known: Known,
}

impl Room {
    pub(super) fn of(desk: &Desk) -> Room {
        let boot = Arc::clone(desk.document.boot());
        let known = Known::of(desk.document.layout(), &boot);
        Room { bounds: inside(&boot), boot, known }
    }

    /// Height of the floor at a place, mm: the highest body that is one there; as low as the room where none
    /// is.
    fn floor_mm(&self, x: f64, y: f64) -> f64 {
        let from = Point::new(x, y, self.bounds.high.z + 1.0);
        first_hit(&self.boot, &from, &-Vector::z(), |role| role == Role::Floor)
            .map_or(self.bounds.low.z, |hit| hit.z)
    }

    /// The room within carpets and boards that stand along its sides.
    fn within_trims(&self) -> Bounds {
        let mut free = self.bounds;
        let (middle, size) = (free.centre(), free.high - free.low);
        for bounds in self.boot.trims().filter_map(|(_, sheet)| sheet.bounds()) {
            for axis in 0..3 {
                // A sheet across the axis, not one along it.
                let thin = bounds.high[axis] - bounds.low[axis] < size[axis] / 6.0;
                let wide = (0..3)
                    .filter(|other| *other != axis)
                    .all(|other| bounds.high[other] - bounds.low[other] > size[other] / 4.0);
                if !thin || !wide {
                    continue;
                }
                if bounds.low[axis] > middle[axis] {
                    free.high[axis] = free.high[axis].min(bounds.low[axis]);
                } else if bounds.high[axis] < middle[axis] {
                    free.low[axis] = free.low[axis].max(bounds.high[axis]);
                }
            }
        }
        free
    }

    pub(super) fn at(&self, x: f64, y: f64, z: f64) -> Point {
        share_of(&self.bounds, x, y, z)
    }
}

/// A point at shares of a room's length, width and height, in whole mm.
fn share_of(room: &Bounds, x: f64, y: f64, z: f64) -> Point {
    let (low, high) = (room.low, room.high);
    let share = |low: f64, high: f64, share: f64| (low + (high - low) * share).round() + 0.0;
    Point::new(share(low.x, high.x, x), share(low.y, high.y, y), share(low.z, high.z, z))
}

/// The room between the walls and over the floor, seen from its middle; where no wall is that way, as far as
/// anything was measured.
fn inside(boot: &Boot) -> Bounds {
    let all = boot.bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
    let usual = Bounds { low: Point::new(0.0, -500.0, 0.0), high: Point::new(800.0, 500.0, 400.0) };
    let Some(mut room) = all else { return usual };
    let middle = room.centre();
    let wall = |role| matches!(role, Role::Panel | Role::Bulkhead);
    if let Some(floor) = first_hit(boot, &middle, &-Vector::z(), |role| role == Role::Floor) {
        room.low.z = floor.z;
    }
    // Low enough to meet a sill, high enough to pass over what lies on the floor.
    let mut from = middle;
    from.z = room.low.z + (room.high.z - room.low.z) * 0.2;
    for axis in 0..2 {
        let mut way = Vector::zeros();
        way[axis] = 1.0;
        if let Some(met) = first_hit(boot, &from, &way, wall) {
            room.high[axis] = met[axis];
        }
        if let Some(met) = first_hit(boot, &from, &-way, wall) {
            room.low[axis] = met[axis];
        }
    }
    room
}

/// Where a ray first meets a body of such a role.
fn first_hit(
    boot: &Boot,
    from: &Point,
    way: &Vector,
    wanted: impl Fn(Role) -> bool,
) -> Option<Point> {
    boot.bodies()
        .filter(|(body, _)| wanted(body.role))
        .filter_map(|(_, solid)| solid.ray(from, way, 10_000.0))
        .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
        .map(|hit| hit.point)
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
    let at = room.at(0.05, 0.9, 0.0);
    let mut thing = Thing::new(Kind::Drain, at, &room.known);
    if let Thing::Drain(drain) = &mut thing {
        drain.at.z = (room.floor_mm(drain.at.x, drain.at.y) * 10.0).round() / 10.0 + 0.0;
    }
    thing
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
    let free = room.within_trims();
    let (from, to) = (share_of(&free, 0.05, 0.05, 0.05), share_of(&free, 0.95, 0.95, 0.95));
    Thing::Space(Shape::Box { from, to })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::opening::begin;
    use crate::scene::view::Start;

    /// A boot as it is begun: 800 long, 1200 wide, 400 high, a sill of 100.
    fn begun(add: impl FnOnce(&Room, &mut crate::model::Layout)) -> Room {
        let folder = tempfile::tempdir().expect("a folder");
        let start = Start { name: "Test car".into(), ..Start::default() };
        let path = begin(&start, folder.path()).expect("it can be begun");
        let mut opened = crate::format::open(&path).expect("it can be opened");
        let room = |opened: &crate::format::Opened| {
            let boot = Arc::new(opened.boot(&[]).expect("it is ready"));
            let known = Known::of(&opened.layout, &boot);
            Room { bounds: inside(&boot), boot, known }
        };
        let first = room(&opened);
        add(&first, &mut opened.layout);
        room(&opened)
    }

    #[test]
    fn new_things_lie_on_the_floor_and_within_the_walls() {
        let room = begun(|_, _| {});
        let (low, high) = (room.bounds.low, room.bounds.high);
        assert!((low - Point::new(0.0, -600.0, 0.0)).norm() < 0.1, "{low}");
        assert!((high.xy() - nalgebra::Point2::new(800.0, 600.0)).norm() < 0.1, "{high}");
        let Thing::Drain(drain) = drain(&room) else { panic!("a drain") };
        assert!(drain.at.z.abs() < 0.1 && drain.at.x > 1.0, "{:?}", drain.at);
        let Thing::Body(arch) = arch(&room) else { panic!("a body") };
        let Shape::Box { from, to } = arch.shape else { panic!("a box") };
        for at in [from, to] {
            assert!(at.z > -0.1 && at.y < 600.1 && at.x < 800.1, "{at}");
        }
    }

    #[test]
    fn luggage_lies_within_the_carpet() {
        let room = begun(|room, layout| {
            carpet(room).add_to(layout);
            board(room).add_to(layout);
        });
        let Thing::Space(Shape::Box { from, to }) = space(&room) else { panic!("a box") };
        // The carpet stands at 0.8 of the width, the board lies at 0.05 of the height.
        assert!(from.y.max(to.y) < 360.0 && from.z.min(to.z) > 20.0, "{from} {to}");
    }
}
