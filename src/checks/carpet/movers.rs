//! The smallest gap between the pump and each mover, over its whole travel.

use super::LOOK_MM;
use crate::checks::{Boot, BootMover, Check, Reading};
use crate::geometry::{Solid, travel_gap_or_overlap};
use crate::model::Mover;
use crate::units::root_sum_of_squares;

/// How closely the smallest gap is found, mm.
const CLOSE_MM: f64 = 0.05;

/// One check for each mover; with `rough`, any overlap stands for the deepest.
pub(super) fn check(boot: &Boot, pump: &[Solid], rough: bool) -> Vec<Check> {
    boot.movers
        .iter()
        .map(|ready| judge(boot, pump, &boot.layout().movers[ready.index], ready, rough))
        .collect()
}

fn judge(boot: &Boot, pump: &[Solid], mover: &Mover, ready: &BootMover, rough: bool) -> Check {
    let limits = &boot.layout().limits;
    let limit = limits.gap_mover_mm;
    let look_mm = limit + LOOK_MM;
    let measured_mm = mover.tolerance_mm.unwrap_or(limits.tape_mm);
    let reading = Reading {
        id: "travel",
        subject: mover.name.clone(),
        unit: "mm",
        limit,
        comfort: limit + 15.0,
        tolerance: root_sum_of_squares(&[measured_mm, limits.bench_mm]),
    };
    let (solids, course) = (&ready.solids, &ready.course);
    let Some(found) = travel_gap_or_overlap(pump, solids, course, look_mm, CLOSE_MM, rough) else {
        let at = pump.first().map(|part| part.bounds().centre());
        let why =
            format!("{} stays more than {LOOK_MM:.0} mm away over its whole travel", mover.name);
        return reading.judge(look_mm, why, at);
    };
    let gap_mm = found.gap.distance_mm;
    let when = when(boot, mover, ready, found.travel);
    let why = if gap_mm < 0.0 {
        let first = if rough { "at least " } else { "" };
        format!("{} hits the pump, {first}{when}", mover.name)
    } else {
        format!("{} passes the pump at {gap_mm:.0} mm, {when}; it needs {limit:.0} mm", mover.name)
    };
    reading.judge(gap_mm, why, Some(found.gap.on_second))
}

/// The place in the travel, in words: the mover's own, and that of what leads it.
fn when(boot: &Boot, mover: &Mover, ready: &BootMover, travel: f64) -> String {
    let own = ready.course.own_travel(travel);
    let here = format!("{own:.0}{} from where it was measured", mover.motion.unit());
    let lead = ready.course.lead();
    let led = boot.layout().movers.iter().find(|other| other.name == lead);
    match led.filter(|led| led.name != mover.name) {
        Some(led) => format!("{here}, with {lead} at {travel:.0}{}", led.motion.unit()),
        None => here,
    }
}
