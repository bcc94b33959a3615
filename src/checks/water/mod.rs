//! Headline water: does water stay away from the pump's live parts?

mod details;
mod drips;
mod freeboard;
pub(crate) mod standing;

pub use details::WaterDetails;
pub use standing::{DrainState, SLOPES, Slope, WaterCase};

use super::{Boot, Check};
use crate::model::{Point, Pose};

/// A point of a live part where the spot puts it.
struct LivePoint<'a> {
    part: &'a str,
    at: Point,
}

/// The checks of the water headline.
pub(crate) fn check(boot: &Boot, pose: &Pose) -> Vec<Check> {
    let live: Vec<LivePoint> = boot
        .pump()
        .live
        .iter()
        .flat_map(|part| {
            part.points.iter().map(|point| LivePoint { part: &part.name, at: pose * point })
        })
        .collect();
    let mut checks = freeboard::check(boot, &live);
    checks.push(drips::check(boot, &live));
    checks
}
