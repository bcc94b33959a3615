//! What lines are routed round, and where they can be at all.

use super::boot::{BootBody, BootMover, BootTrim, FieldOwner};
use crate::geometry::{Bounds, Obstacle, Solid};
use crate::model::{Layout, Point, Posed};

/// Cells of the field that lines are routed through, mm.
pub(super) const ROUTE_STEP_MM: f64 = 10.0;

/// How far a mover may come out of what it is taken to sweep, mm.
const SWEPT_WITHIN_MM: f64 = 0.5;

/// How far round exits and planned pumps lines may go where nothing was measured, mm.
const ROUND_MM: f64 = 300.0;

/// What lines are routed round, and whose it is: bodies, and what movers sweep over their travel.
pub(super) fn routing_obstacles(
    layout: &Layout,
    bodies: &[BootBody],
    movers: &[BootMover],
) -> (Vec<Obstacle>, Vec<FieldOwner>) {
    let limits = &layout.limits;
    let extra = |gap_mm: f64| (gap_mm - limits.gap_line_mm).max(0.0);
    let mut obstacles = Vec::new();
    let mut owners = Vec::new();
    for body in bodies {
        let measured = &layout.bodies[body.index];
        let extra_mm = extra(layout.required_gap_mm(Posed::Line, measured.role));
        let sharp_mm = if measured.sharp { extra(limits.gap_sharp_mm) } else { 0.0 };
        obstacles.push(Obstacle { solid: body.solid.clone(), extra_mm: extra_mm.max(sharp_mm) });
        owners.push(FieldOwner::Body(body.index));
    }
    for mover in movers {
        for swept in mover.course.sweeps(&mover.solids, SWEPT_WITHIN_MM) {
            obstacles.push(Obstacle { solid: swept, extra_mm: extra(limits.gap_mover_mm) });
            owners.push(FieldOwner::Mover(mover.index));
        }
    }
    (obstacles, owners)
}

/// The surfaces of the trims that have an area, for lines to stay behind, and which trim each is of, by its
/// place among `trims`.
pub(super) fn routing_sheets(trims: &[BootTrim]) -> (Vec<Obstacle>, Vec<usize>) {
    let surface = |trim: &BootTrim| Solid::sheet(&trim.triangles);
    trims
        .iter()
        .enumerate()
        .filter_map(|(index, trim)| Some((surface(trim)?, index)))
        .map(|(solid, index)| (Obstacle { solid, extra_mm: 0.0 }, index))
        .unzip()
}

/// Where lines can be at all: round their exits as far as they reach, and no farther than anything was
/// measured or the pump is planned to stand, and some way round that.
pub(super) fn routing_bounds<'a>(
    layout: &Layout,
    pump: &[Solid],
    obstacles: impl Iterator<Item = &'a Obstacle>,
) -> Bounds {
    let nowhere = Bounds { low: Point::origin(), high: Point::origin() };
    let measured = obstacles
        .map(|obstacle| *obstacle.solid.bounds())
        .reduce(|a, b| a.with(&b))
        .unwrap_or(nowhere);
    let exits = layout.lines.iter().map(|line| Bounds { low: line.from.at, high: line.from.at });
    let planned = layout.spots.iter().flat_map(|spot| {
        let pose = spot.place.pose();
        pump.iter().map(move |solid| solid.bounds().turned(&pose))
    });
    let measured = exits.chain(planned).fold(measured, |all, more| all.with(&more.grown(ROUND_MM)));
    let reached = layout
        .lines
        .iter()
        .map(|line| {
            let exit = Bounds { low: line.from.at, high: line.from.at };
            exit.grown(line.free_mm)
        })
        .reduce(|a, b| a.with(&b))
        .unwrap_or(nowhere);
    let low = measured.low.sup(&reached.low);
    let high = measured.high.inf(&reached.high);
    if (0..3).all(|axis| low[axis] < high[axis]) { Bounds { low, high } } else { reached }
}
