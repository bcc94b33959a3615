//! Everything that a picture or a model of the boot shows, as named triangles.

use crate::checks::{Boot, Scorecard, Verdict};
use crate::geometry::Triangles;
use crate::model::{LineKind, MoverKind, Part, Point, Pose, Role, Spot, TrimKind, Vector};

/// What a part of a picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// A rigid thing of the car.
    Body(Role),
    /// Something that moves, where it was measured.
    Mover(MoverKind),
    /// A carpet or board in its refitted place.
    Trim(TrimKind),
    /// A solid of the pump.
    Pump(Part),
    /// A hose, cable or cord as routed.
    Line,
    /// A tie, strap or bolt.
    Fixing,
    /// Standing water.
    Water,
}

/// One named part with its colour.
#[derive(Debug, Clone, PartialEq)]
pub struct BootPart {
    /// Its name in the layout or pump.
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// Its surface: vehicle frame, mm; the pump's own frame for [`PartKind::Pump`].
    pub surface: Triangles,
    /// Red, green and blue as on a screen.
    pub colour: [u8; 3],
}

/// Sides of a hose's tube.
const TUBE_SIDES: usize = 16;

/// Parts of the boot with the pump at a spot, in the layout's order: bodies, movers, trims, pump, lines,
/// fixings, water that stands on level ground with the drains as found.
///
/// The pump's solids are in its own frame; the spot's place turns them into the boot. Lines are drawn
/// as `card` routed them.
pub fn boot_parts(boot: &Boot, spot: &Spot, card: &Scorecard) -> Vec<BootPart> {
    let mut parts = Vec::new();
    let mut add = |name: &str, kind, surface: Triangles, colour| {
        if !surface.indices.is_empty() {
            parts.push(BootPart { name: name.to_string(), kind, surface, colour });
        }
    };
    for (body, solid) in boot.bodies() {
        let colour = body_colour(body.role, body.option.is_some());
        add(&body.name, PartKind::Body(body.role), solid.triangles().clone(), colour);
    }
    for (mover, solids) in boot.movers() {
        let mut all = Triangles::default();
        solids.iter().for_each(|solid| all.append(solid.triangles()));
        add(&mover.name, PartKind::Mover(mover.kind), all, mover_colour(mover.kind));
    }
    for (trim, hidden_side) in boot.trims() {
        let surface = slab(hidden_side, trim.thickness_mm);
        add(&trim.name, PartKind::Trim(trim.kind), surface, trim_colour(trim.kind));
    }
    for (solid, ready) in boot.pump().solids.iter().zip(boot.pump_solids()) {
        let surface = ready.triangles().clone();
        add(&solid.name, PartKind::Pump(solid.part), surface, part_colour(solid.part));
    }
    for line in &card.drawn.lines {
        let kind = boot.lines().find(|known| known.name == line.name).map(|known| known.kind);
        let colour = if line.verdict == Verdict::Fail { FAILS } else { line_colour(kind) };
        add(&line.name, PartKind::Line, tube(&line.centreline, line.radius_mm), colour);
    }
    let pose = spot.place.pose();
    for (index, fixing) in spot.fixings.iter().enumerate() {
        let mount = boot.pump().mounts.iter().find(|mount| mount.name == fixing.mount);
        let anchor = boot.anchors().find(|anchor| anchor.name == fixing.anchor);
        if let (Some(mount), Some(anchor)) = (mount, anchor) {
            let (from, to) = (pose * mount.at, anchor.at);
            let name =
                format!("{} {}: {} to {}", fixing.kind.words(), index + 1, mount.name, anchor.name);
            add(&name, PartKind::Fixing, fixing_surface(&fixing.kind, &from, &to), FIXING);
        }
    }
    add("standing water", PartKind::Water, standing_water(boot), WATER);
    parts
}

fn fixing_surface(kind: &crate::model::FixingKind, from: &Point, to: &Point) -> Triangles {
    use crate::model::FixingKind;
    let radius_mm = match kind {
        FixingKind::Bolt { .. } => 5.0,
        FixingKind::Tie { width_mm } => width_mm / 2.0,
        FixingKind::Strap { .. } => 8.0,
        FixingKind::Clamp { .. } => 6.0,
        FixingKind::Wedge { .. } => 12.0,
    };
    if (to - from).norm() < 0.5 { Triangles::default() } else { tube(&[*from, *to], radius_mm) }
}

/// A sheet given a thickness on the side that its faces look to; both sides where it has none.
fn slab(hidden_side: &Triangles, thickness_mm: f64) -> Triangles {
    let mut all = hidden_side.clone().reversed();
    let count = hidden_side.indices.len();
    for (index, [a, b, c]) in hidden_side.each().enumerate() {
        let Some(normal) = (b - a).cross(&(c - a)).try_normalize(1e-12) else { continue };
        let by = normal * thickness_mm.max(0.1);
        let at = all.vertices.len() as u32;
        all.vertices.extend([a + by, b + by, c + by]);
        all.indices.push([at, at + 1, at + 2]);
        // A side wall wherever the edge is the sheet's own, not one between two of its triangles.
        for (from, to) in [(0, 1), (1, 2), (2, 0)] {
            let [p, q] = [from, to].map(|side| hidden_side.indices[index][side]);
            let shared = (0..count).any(|other| {
                let corners = hidden_side.indices[other];
                other != index && corners.contains(&p) && corners.contains(&q)
            });
            if !shared {
                let [p, q] = [p, q].map(|corner| hidden_side.vertices[corner as usize]);
                let at = all.vertices.len() as u32;
                all.vertices.extend([p, q, q + by, p + by]);
                all.indices.extend([[at, at + 1, at + 2], [at, at + 2, at + 3]]);
            }
        }
    }
    all
}

/// A round tube along points, closed at both ends; empty when they are fewer than two.
pub(super) fn tube(points: &[Point], radius_mm: f64) -> Triangles {
    let mut centreline: Vec<Point> = Vec::with_capacity(points.len());
    for point in points {
        if centreline.last().is_none_or(|last| (point - last).norm() > 1e-6) {
            centreline.push(*point);
        }
    }
    if centreline.len() < 2 {
        return Triangles::default();
    }
    let mut tube = Triangles::default();
    let mut across: Option<Vector> = None;
    let last = centreline.len() - 1;
    for index in 0..=last {
        let ahead = centreline[(index + 1).min(last)] - centreline[index.saturating_sub(1)];
        let along = ahead.try_normalize(1e-12).unwrap_or_else(Vector::x);
        // The ring is carried along without twisting.
        let started =
            across.unwrap_or_else(|| if along.z.abs() < 0.9 { Vector::z() } else { Vector::x() });
        let side = (started - along * along.dot(&started)).try_normalize(1e-9);
        let side = side.unwrap_or_else(|| {
            along.cross(&Vector::y()).try_normalize(1e-9).unwrap_or_else(Vector::y)
        });
        across = Some(side);
        let other = along.cross(&side);
        for step in 0..TUBE_SIDES {
            let angle = std::f64::consts::TAU * step as f64 / TUBE_SIDES as f64;
            let out = (side * angle.cos() + other * angle.sin()) * radius_mm;
            tube.vertices.push(centreline[index] + out);
        }
    }
    let ring = |index: usize, step: usize| (index * TUBE_SIDES + step % TUBE_SIDES) as u32;
    for index in 0..last {
        for step in 0..TUBE_SIDES {
            let (a, b) = (ring(index, step), ring(index, step + 1));
            let (c, d) = (ring(index + 1, step + 1), ring(index + 1, step));
            tube.indices.extend([[a, b, c], [a, c, d]]);
        }
    }
    for step in 1..TUBE_SIDES - 1 {
        tube.indices.push([ring(0, 0), ring(0, step + 1), ring(0, step)]);
        tube.indices.push([ring(last, 0), ring(last, step), ring(last, step + 1)]);
    }
    tube
}

/// The surface of the water that stands on level ground with the drains as found, more than 1 mm deep;
/// neighbouring cells of a row at one level are one rectangle.
fn standing_water(boot: &Boot) -> Triangles {
    let mut surface = Triangles::default();
    let (Some(grid), Some(case)) = (boot.floor(), boot.water().first()) else { return surface };
    for corners in case.surface(grid) {
        let at = surface.vertices.len() as u32;
        surface.vertices.extend(corners);
        surface.indices.extend([[at, at + 1, at + 2], [at, at + 2, at + 3]]);
    }
    surface
}

impl BootPart {
    /// Its surface in the boot, with the pump standing as `pump_pose` puts it.
    pub fn in_boot(&self, pump_pose: &Pose) -> Triangles {
        match self.kind {
            PartKind::Pump(_) => self.surface.moved(pump_pose),
            _ => self.surface.clone(),
        }
    }
}

const fn rgb(hex: u32) -> [u8; 3] {
    [(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]
}

/// A line that fails.
const FAILS: [u8; 3] = rgb(0xB3352B);
/// Ties, straps, bolts.
const FIXING: [u8; 3] = rgb(0xD9A62E);
/// Standing water.
const WATER: [u8; 3] = rgb(0x2F7FB8);

/// As the window shows them.
fn body_colour(role: Role, optional: bool) -> [u8; 3] {
    match role {
        Role::Module if optional => rgb(0x8D6FB0),
        Role::Floor => rgb(0x9FAEB5),
        Role::Panel => rgb(0xC3CACB),
        Role::WheelArch => rgb(0x8E9EA3),
        Role::Bulkhead => rgb(0xB5B0A5),
        Role::Bracket => rgb(0xB8924A),
        Role::Module => rgb(0x6F86A6),
        Role::Battery => rgb(0x4B5660),
        Role::Terminal => rgb(0xB4573F),
        Role::Loom => rgb(0x4A4550),
        Role::Other => rgb(0xAD9E8C),
    }
}

fn part_colour(part: Part) -> [u8; 3] {
    match part {
        Part::Motor => rgb(0x1C8088),
        Part::Tank => rgb(0xF3E6B4),
        Part::Block => rgb(0xE4E9EA),
        Part::Frame => rgb(0x46555C),
        Part::Plug => rgb(0x23292D),
    }
}

fn mover_colour(kind: MoverKind) -> [u8; 3] {
    match kind {
        MoverKind::Hinge => rgb(0x7E9483),
        MoverKind::Lid => rgb(0xA9B7AC),
        MoverKind::Roof => rgb(0x6C7A70),
        MoverKind::Tray => rgb(0x94A08A),
    }
}

fn trim_colour(kind: TrimKind) -> [u8; 3] {
    match kind {
        TrimKind::Carpet => rgb(0x6E6259),
        TrimKind::Board => rgb(0x8C7B66),
    }
}

fn line_colour(kind: Option<LineKind>) -> [u8; 3] {
    match kind {
        Some(LineKind::Cable(_)) => rgb(0xA5483B),
        Some(LineKind::Cord) => rgb(0xC9B04A),
        _ => rgb(0x3C4347),
    }
}
