//! How much usable boot space the pump takes, in litres and in luggage blocks.

use super::seen::spread;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Bounds, Solid};
use crate::model::{Point, Pose};
use crate::units::MM3_PER_LITRE;

/// Points laid over the box round the pump to weigh its volume with.
const LAID: usize = 16_384;

/// How far off a volume weighed by those points may be, share of it. Cubes cut by a box at any height
/// or turn come out within half of that (tests/one_door/room.rs).
const VOLUME_SHARE: f64 = 0.02;

/// What to measure when the usable space is not known.
const MEASURE: &str = "the usable boot space was not measured: add it to the layout as boxes, prisms \
                       or hulls inside the trim (boot_space)";

/// The pump's volume as points in its own frame, each standing for the same share.
#[derive(Default)]
pub(crate) struct Filling {
    points: Vec<Point>,
    each_mm3: f64,
}

impl Filling {
    /// Fills the pump's solids; where two overlap it counts once.
    pub(crate) fn of(pump: &[Solid]) -> Filling {
        let Some(around) = pump.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b))
        else {
            return Filling::default();
        };
        let size = around.high - around.low;
        let points = spread(LAID)
            .map(|[x, y, z]| {
                around.low + nalgebra::Vector3::new(x * size.x, y * size.y, z * size.z)
            })
            .filter(|point| pump.iter().any(|solid| solid.holds(point)))
            .collect();
        Filling { points, each_mm3: size.x * size.y * size.z / LAID as f64 }
    }
}

/// Litres and blocks lost. Fixings are not counted. Limits: common practice, no source.
///
/// Litres: the share of evenly spread points of the pump's volume that lies in the usable space.
/// Blocks: see [`Packing`](super::blocks::Packing).
pub(super) fn check(boot: &Boot, pump: &[Solid], pose: &Pose) -> [Check; 2] {
    let limits = &boot.layout().limits;
    let reading = |id, unit, limit, tolerance| Reading {
        id,
        subject: "boot".to_string(),
        unit,
        limit,
        comfort: 0.0,
        tolerance,
    };
    let around = pump.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b));
    let at = around.map(|bounds| bounds.centre());
    let Some(packing) = &boot.packing else {
        return [
            reading("space", "l", limits.space_litres, 0.0).unknown(MEASURE.to_string(), at),
            reading("blocks", "blocks", limits.blocks, 0.0).unknown(MEASURE.to_string(), at),
        ];
    };
    let litres = litres_inside(boot, pose, around.as_ref());
    let why = if litres > 0.0 {
        format!("the pump takes {litres:.1} l of the {:.0} l measured", boot.boot_litres)
    } else {
        format!("the pump takes nothing of the {:.0} l measured", boot.boot_litres)
    };
    let space =
        reading("space", "l", limits.space_litres, VOLUME_SHARE * litres).judge(litres, why, at);
    let before = packing.count();
    let after = around.map_or(before, |around| packing.count_beside(pump, &around));
    let lost = before.saturating_sub(after);
    let why = format!(
        "{after} luggage blocks of 200 × 100 × 50 mm go in as packed here on a 50 mm grid, {before} \
         without the pump"
    );
    let blocks = reading("blocks", "blocks", limits.blocks, 0.0).judge(lost as f64, why, at);
    [space, blocks]
}

fn litres_inside(boot: &Boot, pose: &Pose, around: Option<&Bounds>) -> f64 {
    let near: Vec<&Solid> = boot
        .boot_space
        .iter()
        .filter(|solid| around.is_some_and(|pump| solid.bounds().distance_mm(pump) <= 0.0))
        .collect();
    if near.is_empty() {
        return 0.0;
    }
    let filling = &boot.pump_filling;
    let inside = filling
        .points
        .iter()
        .map(|point| pose * point)
        .filter(|point| near.iter().any(|solid| solid.holds(point)))
        .count();
    inside as f64 * filling.each_mm3 / MM3_PER_LITRE
}

/// Litres of the usable space, overlaps counted once; by the same kind of points.
pub(crate) fn litres(space: &[Solid]) -> f64 {
    let filling = Filling::of(space);
    filling.points.len() as f64 * filling.each_mm3 / MM3_PER_LITRE
}
