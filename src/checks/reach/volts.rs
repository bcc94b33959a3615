//! Voltage lost in a feed cable.

use crate::model::Cable;

/// Largest resistance of a class 5 plain copper conductor at 20 °C, mΩ/m, by cross-section, mm².
/// Source: IEC 60228, as three public reference pages quote it; 16 mm² and above from memory.
const CLASS_5_MOHM_M: [(f64, f64); 13] = [
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
];

/// Resistance, mΩ/m, of a class 5 plain copper conductor of `area_mm2` at `conductor_c`.
///
/// A cross-section between two of the standard's takes the smaller one's, scaled by area; below
/// 0.5 mm² likewise. Temperature: R = R20 (230 + T) / 250, the rule that the standard's own factors
/// follow.
///
/// ```
/// use dryberth::checks::reach::conductor_mohm_m;
/// assert!((conductor_mohm_m(2.5, 20.0) - 7.98).abs() < 1e-9);
/// // 2.5 mm² at 60 °C: 7.98 / 0.862 = 9.26.
/// assert!((conductor_mohm_m(2.5, 60.0) - 9.26).abs() < 0.005);
/// ```
pub fn conductor_mohm_m(area_mm2: f64, conductor_c: f64) -> f64 {
    let (size, resistance) = CLASS_5_MOHM_M
        .iter()
        .rev()
        .find(|(size, _)| *size <= area_mm2 + 1e-9)
        .copied()
        .unwrap_or(CLASS_5_MOHM_M[0]);
    resistance * size / area_mm2 * (230.0 + conductor_c) / 250.0
}

/// Voltage lost at `current_a` between supply and pump, V; the last `free_mm` is the run from exit
/// to plug. Both conductors count, and the joints.
pub fn volts_lost(cable: &Cable, free_mm: f64, current_a: f64) -> f64 {
    let one_way_m = (cable.upstream_mm + free_mm) / 1000.0;
    let loop_mohm = 2.0 * one_way_m * conductor_mohm_m(cable.area_mm2, cable.conductor_c);
    current_a * (loop_mohm + cable.joints_mohm) / 1000.0
}
