//! A boot small enough to work out by hand: one floor, one pump, and what a test adds.

use dryberth::checks::{Boot, Meshes};
use dryberth::model::{
    BendRule, Body, Exit, Layout, Limits, Line, LineKind, LivePart, Mount, Part, Place, Point,
    Port, Pump, PumpSolid, Reservoir, Role, SCHEMA, Shape, Spot, Vector, Weights,
};

/// A box between two corners.
pub(crate) fn boxed(from: [f64; 3], to: [f64; 3]) -> Shape {
    Shape::Box { from: Point::from(from), to: Point::from(to) }
}

/// A body that is measured where it stands.
pub(crate) fn body(name: &str, role: Role, shape: Shape) -> Body {
    Body {
        name: name.into(),
        role,
        shape,
        place: Place::default(),
        option: None,
        skin: None,
        sharp: false,
        tolerance_mm: None,
        note: String::new(),
    }
}

/// A hose of 10 mm with bends of 40 mm on the centreline and no straight lead.
pub(crate) fn hose(from: [f64; 3], towards: [f64; 3], free_mm: f64) -> Line {
    Line {
        name: "hose".into(),
        kind: LineKind::Hose,
        from: Exit { at: Point::from(from), towards: Vector::from(towards) },
        to: "port".into(),
        free_mm,
        od_mm: 10.0,
        bore_mm: None,
        bend_mm: 40.0,
        bend_rule: BendRule::Centre,
        lead_mm: Some(0.0),
        option: None,
        bundle: None,
        clips: Vec::new(),
        pull: None,
        measured: None,
    }
}

/// A pump of 4 kg, a box of 200 × 100 × 100 mm standing on the middle of its foot, with a tank of
/// 80 × 80 × 80 mm filled to half, a port at the end of its x side and a mount on top.
pub(crate) fn pump() -> Pump {
    Pump {
        schema: SCHEMA,
        name: "box pump".into(),
        about: String::new(),
        mass_kg: 4.0,
        centre_of_gravity: Point::new(0.0, 0.0, 50.0),
        solids: vec![PumpSolid {
            name: "case".into(),
            part: Part::Block,
            shape: boxed([-100.0, -50.0, 0.0], [100.0, 50.0, 100.0]),
        }],
        reservoir: Reservoir {
            inside: boxed([-40.0, -40.0, 10.0], [40.0, 40.0, 90.0]),
            level_line: Point::new(0.0, 0.0, 50.0),
            inlet: Point::new(0.0, 0.0, 15.0),
            pickup: Point::new(0.0, 0.0, 12.0),
            breather: Point::new(0.0, 0.0, 90.0),
            openings: Vec::new(),
            filler: Point::new(0.0, 0.0, 100.0),
            density_kg_l: 0.85,
        },
        ports: vec![Port {
            name: "port".into(),
            at: Point::new(100.0, 0.0, 60.0),
            towards: Vector::x(),
        }],
        live: vec![LivePart { name: "plug".into(), points: vec![Point::new(0.0, 0.0, 80.0)] }],
        mounts: vec![Mount {
            name: "top".into(),
            at: Point::new(0.0, 0.0, 100.0),
            towards: Vector::z(),
            hole_mm: None,
            thick_mm: None,
            girth_mm: None,
        }],
        max_tilt_deg: 25.0,
        running_a: 20.0,
        stall_a: 60.0,
        start_torque_nm: None,
    }
}

/// A layout of one floor of 2 × 2 m whose top is z = 0, and one spot: the pump standing at the
/// origin, nose forward.
pub(crate) fn layout() -> Layout {
    Layout {
        schema: SCHEMA,
        name: "small boot".into(),
        about: String::new(),
        origin: "middle of the floor".into(),
        pump: "pump.ron".into(),
        weights: Weights::default(),
        // Nothing here asks for a finer floor, and it is quicker made.
        limits: Limits { water_step_mm: 20.0, ..Limits::default() },
        options: Vec::new(),
        bodies: vec![body(
            "floor",
            Role::Floor,
            boxed([-1000.0, -1000.0, -10.0], [1000.0, 1000.0, 0.0]),
        )],
        trims: Vec::new(),
        movers: Vec::new(),
        drains: Vec::new(),
        leaks: Vec::new(),
        anchors: Vec::new(),
        lines: Vec::new(),
        rams: Vec::new(),
        viewpoints: Vec::new(),
        boot_space: Vec::new(),
        spots: vec![Spot {
            name: "here".into(),
            place: Place::default(),
            fixings: Vec::new(),
            note: String::new(),
            tap_hz: None,
        }],
        ..Layout::default()
    }
}

/// Makes a layout ready with the box pump.
pub(crate) fn ready(layout: Layout) -> Boot {
    Boot::prepare(layout, pump(), &Meshes::new(), &[]).expect("a sound layout")
}
