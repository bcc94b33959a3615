//! What a drain passes, and which drains are where a drain can be.

use crate::checks::{Boot, Check, Reading};
use crate::model::Drain;
use crate::units::STANDARD_GRAVITY_M_S2;

/// Discharge coefficient of a plain hole. Source: 0.62 for a sharp edge (engineering handbooks).
const DISCHARGE: f64 = 0.62;

/// A drain farther than this from any sheet is in mid-air, mm: sheet is dished round a drain, and a
/// hole's middle lies up to half its diameter from its rim.
const MID_AIR_MM: f64 = 10.0;

/// What a hole of `diameter_mm` passes with water `head_mm` deep over its middle, l/min.
///
/// Source: Q = Cd A √(2 g h) with Cd 0.62 (Torricelli; sharp-edged hole).
///
/// ```
/// // A 10 mm hole under 50 mm of water passes 2.894 l/min.
/// let passed = dryberth::checks::water::drain_flow_l_min(10.0, 50.0);
/// assert!((passed - 2.894).abs() < 0.005);
/// ```
pub fn drain_flow_l_min(diameter_mm: f64, head_mm: f64) -> f64 {
    let area_m2 = std::f64::consts::PI / 4.0 * (diameter_mm / 1000.0).powi(2);
    let speed_m_s = (2.0 * STANDARD_GRAVITY_M_S2 * head_mm.max(0.0) / 1000.0).sqrt();
    DISCHARGE * area_m2 * speed_m_s * 60_000.0
}

/// How deep water stands over a hole of `diameter_mm` that `l_min` runs through, mm; the inverse of
/// [`drain_flow_l_min`].
///
/// ```
/// use dryberth::checks::water::{drain_flow_l_min, drain_head_mm};
/// assert!((drain_head_mm(12.0, drain_flow_l_min(12.0, 7.0)) - 7.0).abs() < 1e-9);
/// ```
pub fn drain_head_mm(diameter_mm: f64, l_min: f64) -> f64 {
    let area_m2 = std::f64::consts::PI / 4.0 * (diameter_mm / 1000.0).powi(2);
    let speed_m_s = l_min / 60_000.0 / (DISCHARGE * area_m2);
    1000.0 * speed_m_s.powi(2) / (2.0 * STANDARD_GRAVITY_M_S2)
}

/// Distance from a drain to the nearest sheet that holds water, mm; none without such a sheet.
pub(super) fn off_sheet_mm(boot: &Boot, drain: &Drain) -> Option<f64> {
    boot.bodies()
        .filter(|(body, _)| body.role.holds_water())
        .map(|(_, solid)| solid.distance_to_point_mm(&drain.at).abs())
        .min_by(f64::total_cmp)
}

/// Whether a drain so far from any sheet drains nothing.
pub(crate) fn in_mid_air(off_mm: f64, diameter_mm: f64) -> bool {
    off_mm > MID_AIR_MM + diameter_mm / 2.0
}

/// A finding for each drain in mid-air; nothing when all are where they can be.
pub(super) fn check(boot: &Boot) -> Vec<Check> {
    let layout = boot.layout();
    let astray = layout.drains.iter().filter_map(|drain| {
        let off_mm = off_sheet_mm(boot, drain)?;
        in_mid_air(off_mm, drain.diameter_mm).then_some((drain, off_mm))
    });
    astray
        .map(|(drain, off_mm)| {
            let limit = MID_AIR_MM + drain.diameter_mm / 2.0;
            let reading = Reading {
                id: "drain",
                subject: drain.name.clone(),
                unit: "mm",
                limit,
                comfort: limit / 2.0,
                tolerance: layout.limits.tape_mm,
            };
            let why = format!(
                "{} stands {off_mm:.0} mm from the nearest sheet, in mid-air; it is taken as shut: \
                 measure its place again",
                drain.name
            );
            reading.unknown(why, Some(drain.at))
        })
        .collect()
}
