//! Headline water: does water stay away from the pump's live parts?

mod cases;
mod details;
mod drains;
mod drips;
mod edges;
mod freeboard;
mod outlets;
pub(crate) mod standing;
pub(crate) mod tracks;

pub use cases::{DrainState, SLOPES, Slope, WaterCase};
pub use details::{FilledBy, LiveDepth, NamedPool, PassedBy, TakenAsShut, WaterDetails};
pub use drains::{drain_flow_l_min, drain_head_mm};
pub use tracks::{DripTrack, TrackEnd};

use super::{Boot, Check, DrawnWater, Reading};
use crate::geometry::Solid;
use crate::model::{Point, Pose};

/// A point of a live part where the spot puts it.
struct LivePoint<'a> {
    part: &'a str,
    at: Point,
}

/// What the water headline found.
pub(crate) struct Found {
    pub(crate) checks: Vec<Check>,
    /// The worst case.
    pub(crate) worst: Option<DrawnWater>,
    /// The drips that the pump turns aside.
    pub(crate) drips: Vec<DripTrack>,
}

/// The checks of the water headline for a pump with its solids at `pose`, and what is to be drawn of it.
pub(crate) fn check(boot: &Boot, pose: &Pose, pump: &[Solid]) -> Found {
    let live = live_points(boot, pose);
    let (mut checks, worst) = freeboard::check(boot, &live);
    let drips = drips::turned_aside(boot, pump);
    checks.push(drips::check(boot, &live, &drips));
    checks.extend(drains::check(boot));
    checks.extend(gaps(boot));
    Found { checks, worst, drips }
}

/// What a workshop writes down about water at a spot.
pub(crate) fn details(boot: &Boot, pose: &Pose) -> WaterDetails {
    details::of(boot, &live_points(boot, pose))
}

fn live_points<'a>(boot: &'a Boot, pose: &Pose) -> Vec<LivePoint<'a>> {
    let parts = boot.pump().live.iter();
    parts
        .flat_map(|part| {
            part.points.iter().map(|point| LivePoint { part: &part.name, at: pose * point })
        })
        .collect()
}

/// Gaps in the floor smaller than this are joints, mm².
const LEAST_GAP_MM2: f64 = 100.0;

/// A finding for the largest gap in the floor, if there is any.
fn gaps(boot: &Boot) -> Option<Check> {
    let gaps = boot.floor_gaps();
    let largest = gaps.first().filter(|gap| gap.area_mm2 >= LEAST_GAP_MM2)?;
    let count = gaps.iter().filter(|gap| gap.area_mm2 >= LEAST_GAP_MM2).count();
    let reading = Reading {
        id: "floor",
        subject: "gaps".to_string(),
        unit: "cm²",
        limit: LEAST_GAP_MM2 / 100.0,
        comfort: 0.0,
        tolerance: 0.0,
    };
    let more = if count > 1 { format!(" and {} more", count - 1) } else { String::new() };
    let why = format!(
        "the floor has a gap of {:.0} cm² with floor all round at ({:.0}, {:.0}){more}: measure the \
         sheet there, or list the hole as a drain; it is taken as shut",
        largest.area_mm2 / 100.0,
        largest.at.x,
        largest.at.y
    );
    Some(reading.unknown(why, Some(largest.at)))
}
