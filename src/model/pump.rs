//! The unit that is being moved.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Point, Shape, Vector};

/// What a solid of the pump is; it decides its shade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// The electric motor.
    Motor,
    /// The fluid reservoir.
    Tank,
    /// The valve block.
    Block,
    /// Feet, mounts, frame.
    Frame,
    /// A plug or connector.
    Plug,
}

/// A solid of the pump, in the pump's frame.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PumpSolid {
    /// What the workshop calls it.
    pub name: String,
    /// What it is.
    pub part: Part,
    /// Its solid; not a mesh.
    pub shape: Shape,
}

/// Where a line meets the pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Port {
    /// What the workshop calls it.
    pub name: String,
    /// Where the line begins, on the pump's surface.
    pub at: Point,
    /// The way the line leaves the pump.
    pub towards: Vector,
}

/// A part that must stay out of water.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LivePart {
    /// What the workshop calls it.
    pub name: String,
    /// Its points; the lowest at the spot's attitude counts.
    pub points: Vec<Point>,
}

/// A place where a fixing can take hold of the pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mount {
    /// What the workshop calls it.
    pub name: String,
    /// Where the fixing meets the pump.
    pub at: Point,
    /// Out of the pump.
    pub towards: Vector,
    /// Diameter of its hole along `towards`, mm; no hole if left out.
    #[serde(default)]
    pub hole_mm: Option<f64>,
    /// How thick the foot or flange round the hole is, mm; 5 if left out.
    #[serde(default)]
    pub thick_mm: Option<f64>,
    /// Once round the foot or bar there, mm, where a tie or strap may be led round it; through its hole
    /// only if left out.
    #[serde(default)]
    pub girth_mm: Option<f64>,
}

/// The reservoir and the openings of it, in the pump's frame.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reservoir {
    /// The inside, a closed solid; a mesh must have no hole.
    pub inside: Shape,
    /// A point on the level line as it is read with the pump upright and the rams in.
    pub level_line: Point,
    /// Where the gear pump draws from the tank.
    pub inlet: Point,
    /// The foot of the pickup, which must stay below the surface.
    pub pickup: Point,
    /// The breather, which must stay above the surface.
    pub breather: Point,
    /// Points of the rim of an opening that is never shut, such as an open top; fluid that reaches the
    /// lowest of them, or the breather, runs out. None for a tank with a cap.
    #[serde(default)]
    pub openings: Vec<Point>,
    /// The filler's mouth.
    pub filler: Point,
    /// Fluid density, kg/l.
    pub density_kg_l: f64,
}

/// The pump unit as measured on the bench; frame: x forward, y left, z up as it stands upright.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// File schema.
    pub schema: u32,
    /// What the workshop calls it.
    pub name: String,
    /// Where the figures come from.
    #[serde(default)]
    pub about: String,
    /// Mass filled to the level line, kg.
    pub mass_kg: f64,
    /// Centre of gravity, filled.
    pub centre_of_gravity: Point,
    /// Its solids.
    pub solids: Vec<PumpSolid>,
    /// Its tank.
    pub reservoir: Reservoir,
    /// Hose ports, plug and release valve.
    pub ports: Vec<Port>,
    /// Parts that must stay dry.
    pub live: Vec<LivePart>,
    /// Where fixings can take hold.
    pub mounts: Vec<Mount>,
    /// Largest lean that its maker allows, degrees.
    pub max_tilt_deg: f64,
    /// Current while running, A.
    pub running_a: f64,
    /// Current when stalled, A.
    pub stall_a: f64,
    /// Torque with which the motor starts, N m; taken from the stall current if left out.
    #[serde(default)]
    pub start_torque_nm: Option<f64>,
}

impl Pump {
    /// Everything in it that can't be used, in file order; empty when it is sound.
    pub fn problems(&self) -> Vec<super::Problem> {
        let mut to = Inspector::default();
        to.name(&self.name);
        to.range("mass_kg", self.mass_kg, 0.05, 200.0, "kg");
        to.point("centre_of_gravity", &self.centre_of_gravity);
        if self.solids.is_empty() {
            to.field("solids", |at| at.report("no solid", "at least one solid"));
        }
        to.each("solids", &self.solids, |at, solid| {
            at.name(&solid.name);
            at.field("shape", |at| {
                solid.shape.inspect(at);
                no_mesh(at, &solid.shape);
            });
        });
        to.unique("solids", self.solids.iter().map(|solid| solid.name.as_str()));
        to.field("reservoir", |at| self.reservoir.inspect(at));
        to.each("ports", &self.ports, |at, port| {
            at.name(&port.name);
            at.point("at", &port.at);
            at.direction("towards", &port.towards);
        });
        to.unique("ports", self.ports.iter().map(|port| port.name.as_str()));
        to.each("live", &self.live, |at, part| {
            at.name(&part.name);
            if part.points.is_empty() {
                at.field("points", |at| at.report("no point", "at least one point"));
            }
            at.each("points", &part.points, |at, point| at.point_here(point));
        });
        to.unique("live", self.live.iter().map(|part| part.name.as_str()));
        to.each("mounts", &self.mounts, |at, mount| {
            at.name(&mount.name);
            at.point("at", &mount.at);
            at.direction("towards", &mount.towards);
            if let Some(hole_mm) = mount.hole_mm {
                at.range("hole_mm", hole_mm, 2.0, 50.0, "mm");
            }
            if let Some(thick_mm) = mount.thick_mm {
                at.range("thick_mm", thick_mm, 0.3, 100.0, "mm");
            }
            if let Some(girth_mm) = mount.girth_mm {
                at.range("girth_mm", girth_mm, 5.0, 2_000.0, "mm");
            }
        });
        to.unique("mounts", self.mounts.iter().map(|mount| mount.name.as_str()));
        to.range("max_tilt_deg", self.max_tilt_deg, 0.0, 180.0, "degrees");
        to.range("running_a", self.running_a, 0.1, 1_000.0, "A");
        to.range("stall_a", self.stall_a, 0.1, 2_000.0, "A");
        if let Some(torque_nm) = self.start_torque_nm {
            to.range("start_torque_nm", torque_nm, 0.0, 500.0, "N m");
        }
        to.finish()
    }
}

impl Reservoir {
    fn inspect(&self, to: &mut Inspector) {
        to.field("inside", |at| self.inside.inspect(at));
        to.point("level_line", &self.level_line);
        to.point("inlet", &self.inlet);
        to.point("pickup", &self.pickup);
        to.point("breather", &self.breather);
        to.each("openings", &self.openings, |at, point| at.point_here(point));
        to.point("filler", &self.filler);
        to.range("density_kg_l", self.density_kg_l, 0.5, 2.0, "kg/l");
    }
}

fn no_mesh(to: &mut Inspector, shape: &Shape) {
    if let Shape::Mesh { file } = shape {
        to.report(
            format!("the mesh `{file}`"),
            "Box, Cylinder, Prism or Hull: a pump is measured, not scanned",
        );
    }
}
