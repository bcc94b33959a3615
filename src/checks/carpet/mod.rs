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

pub use details::CarpetDetails;

use super::hold::Shake;
use super::{Boot, Check, DrawnLine};
use crate::geometry::Solid;
use crate::model::{Point, Pose};

/// Distances beyond this are not told apart, mm.
const LOOK_MM: f64 = 60.0;

/// Closest pairs to draw: pump point, other point, gap in mm.
pub(crate) type Gaps = Vec<(Point, Point, f64)>;

/// The checks of the carpet-line headline, and the closest pairs to draw.
pub(crate) fn check(
    boot: &Boot,
    pump: &[Solid],
    pose: &Pose,
    lines: &[DrawnLine],
    shake: Option<&Shake>,
) -> (Vec<Check>, Gaps) {
    let (mut checks, gaps) = clearance::check(boot, pump, shake);
    checks.extend(movers::check(boot, pump));
    checks.extend(lift::check(boot, pump, lines));
    checks.push(sight::check(boot, pump, pose));
    checks.push(seen::check(boot, pump, pose));
    checks.extend(space::check(boot, pump, pose));
    checks.push(service::check(boot, pump, pose));
    (checks, gaps)
}
