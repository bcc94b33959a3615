//! The smallest gap between the pump and each mover, over its whole travel.

use super::LOOK_MM;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{Solid, travel_gap};
use crate::model::{Motion, Mover};
use crate::units::root_sum_of_squares;

/// How closely the smallest gap is found, mm.
const CLOSE_MM: f64 = 0.1;

/// One check for each mover.
pub(super) fn check(boot: &Boot, pump: &[Solid]) -> Vec<Check> {
    boot.movers().map(|(mover, solids)| judge(boot, pump, mover, solids)).collect()
}

fn judge(boot: &Boot, pump: &[Solid], mover: &Mover, solids: &[Solid]) -> Check {
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
    let Some(found) = travel_gap(pump, solids, &mover.motion, look_mm, CLOSE_MM) else {
        let at = pump.first().map(|part| part.bounds().centre());
        let why =
            format!("{} stays more than {LOOK_MM:.0} mm away over its whole travel", mover.name);
        return reading.judge(look_mm, why, at);
    };
    let gap_mm = found.gap.distance_mm;
    let when = match mover.motion {
        Motion::Swing { .. } => format!("{:.0}° from where it was measured", found.travel),
        Motion::Slide { .. } => format!("{:.0} mm from where it was measured", found.travel),
    };
    let why = if gap_mm < 0.0 {
        format!("{} hits the pump, {when}", mover.name)
    } else {
        format!("{} passes the pump at {gap_mm:.0} mm, {when}; it needs {limit:.0} mm", mover.name)
    };
    reading.judge(gap_mm, why, Some(found.gap.on_second))
}
