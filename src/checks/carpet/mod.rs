//! Headline carpet line: does trim go back flat, and is the pump clear of everything?

pub(crate) mod blocks;
pub(crate) mod clearance;
mod details;
mod lift;
mod movers;
pub(crate) mod seen;
mod service;
mod sight;
pub(crate) mod space;

pub use details::{CarpetDetails, TrimLift};

use super::hold::Shake;
use super::{Boot, Check, DrawnFixing, DrawnLine};
use crate::geometry::Solid;
use crate::model::{Point, Pose};

/// Distances beyond this are not told apart, mm.
const LOOK_MM: f64 = 60.0;

/// Closest pairs to draw: pump point, other point, gap in mm.
pub(crate) type Gaps = Vec<(Point, Point, f64)>;

/// What the carpet-line headline is asked about a spot.
pub(crate) struct Asked<'a> {
    pub(crate) pump: &'a [Solid],
    pub(crate) pose: &'a Pose,
    pub(crate) lines: &'a [DrawnLine],
    pub(crate) fixings: &'a [DrawnFixing],
    pub(crate) shake: Option<&'a Shake>,
    pub(crate) details: bool,
    /// Whether bounds below the depths of overlaps will do.
    pub(crate) rough_depths: bool,
}

/// The checks of the carpet-line headline, the closest pairs to draw, and its details when asked for.
pub(crate) fn check(boot: &Boot, asked: &Asked) -> (Vec<Check>, Gaps, CarpetDetails) {
    let Asked { pump, pose, .. } = *asked;
    let bars = lift::bars(asked.fixings);
    let pushers = lift::Pushers::of(boot, pump, &bars, asked.lines);
    let (mut checks, gaps) = clearance::check(boot, asked, &bars);
    checks.extend(movers::check(boot, pump, asked.rough_depths));
    checks.extend(lift::check(boot, &pushers));
    checks.push(sight::check(boot, pump, pose));
    checks.push(seen::check(boot, pump, pose));
    checks.extend(space::check(boot, pump, pose));
    checks.push(service::check(boot, pump, pose));
    let lifts = if asked.details { lift::lifts(boot, &pushers) } else { Vec::new() };
    (checks, gaps, CarpetDetails { lifts })
}
