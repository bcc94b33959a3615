//! Whether a tool gets at the nuts.

use super::fit::{MountAt, thread_mm};
use super::points::Fixed;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Solid, gap_to_straight};
use crate::model::{Anchor, FixingKind, Point, Vector};
use crate::units::root_sum_of_squares;

/// How high over the nut is looked, mm.
const LOOK_MM: f64 = 120.0;

/// Half the width of a ring spanner or socket over the thread's diameter. Common practice, no source.
const TOOL_OVER_THREAD: f64 = 1.25;

/// The bolt whose nut has the least free height over it for a tool; none without a usable bolt.
///
/// Figure: mm along the bolt, over the pump's foot, in which a circle of 1.25 thread diameters stays
/// clear of bodies and of the pump but for what the foot is part of. The limit is a spanner laid on the
/// nut, comfort a short socket.
pub(super) fn check(boot: &Boot, pump: &[Solid], fixed: &[Fixed]) -> Option<Check> {
    let limits = &boot.layout().limits;
    let worst = fixed
        .iter()
        .filter(|fixed| fixed.in_reach && matches!(fixed.fixing.kind, FixingKind::Bolt { .. }))
        .map(|fixed| (free_mm(boot, pump, fixed.anchor, &fixed.mount), fixed))
        .min_by(|a, b| a.0.0.total_cmp(&b.0.0))?;
    let ((free_mm, blocked_by), fixed) = worst;
    let reading = Reading {
        id: "tool",
        subject: fixed.fixing.mount.clone(),
        unit: "mm",
        limit: limits.spanner_mm,
        comfort: 2.0 * limits.spanner_mm,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let why = match blocked_by {
        Some(what) => format!(
            "{free_mm:.0} mm free for a tool over the nut of {}, then comes {what}; a spanner needs {} mm",
            fixed.fixing.mount, limits.spanner_mm
        ),
        None => format!("every nut is free for {free_mm:.0} mm or more"),
    };
    Some(reading.judge(free_mm, why, Some(fixed.mount.at)))
}

/// Free height over the nut of a bolt, mm, and what ends it.
pub(super) fn free_mm(
    boot: &Boot,
    pump: &[Solid],
    anchor: &Anchor,
    mount: &MountAt,
) -> (f64, Option<String>) {
    let radius_mm = TOOL_OVER_THREAD * thread_mm(anchor.kind, mount.mount.hole_mm).unwrap_or(6.0);
    let up = -mount.towards;
    let nut = mount.at + up * (mount.thick_mm() + 0.5);
    let parts = pump.iter().zip(&boot.pump().solids).filter(|(solid, _)| {
        // The foot itself: it ends at or under the nut.
        solid.distance_to_point_mm(&mount.at).abs() > 1.0
    });
    let parts = parts.map(|(solid, part)| (solid, format!("the pump's {}", part.name)));
    let bodies = boot.bodies().map(|(body, solid)| (solid, body.name.clone()));
    // What lies wholly under the nut, as what the foot stands on, is in no tool's way.
    let rises = |solid: &Solid| {
        solid.triangles().vertices.iter().any(|vertex| (vertex - nut).dot(&up) > 1e-6)
    };
    parts
        .chain(bodies)
        .filter(|(solid, _)| rises(solid))
        .filter_map(|(solid, name)| {
            first_met_mm(solid, &nut, &up, radius_mm, LOOK_MM).map(|free_mm| (free_mm, Some(name)))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((LOOK_MM, None))
}

/// How far from `from` along `up` a rod of `radius_mm` comes before it meets a solid, mm; none when it
/// doesn't within `look_mm`. Method: bisection on the gap between the solid and the rod's axis.
pub(super) fn first_met_mm(
    solid: &Solid,
    from: &Point,
    up: &Vector,
    radius_mm: f64,
    look_mm: f64,
) -> Option<f64> {
    let meets = |far_mm: f64| {
        gap_to_straight(solid, from, &(from + up * far_mm), radius_mm)
            .is_some_and(|gap_mm| gap_mm < radius_mm - 1e-6)
    };
    if !meets(look_mm) {
        return None;
    }
    let (mut clear, mut met) = (0.0, look_mm);
    for _ in 0..12 {
        let middle = f64::midpoint(clear, met);
        if meets(middle.max(1e-3)) { met = middle } else { clear = middle }
    }
    Some(clear)
}
