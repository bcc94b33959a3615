//! What a feed cable leaves at the pump, what it would take, and how to fuse it.

use serde::Serialize;

use super::volts::{conductor_mohm_m, volts_lost};
use crate::model::{Cable, FeedReading, Line, LineKind, Pump};

/// Cross-sections that are sold, mm². Source: IEC 60228.
const SIZES_MM2: [f64; 13] =
    [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0];

/// Blade and bolt-down fuses that are sold, A. Common practice, no source.
const FUSES_A: [f64; 15] =
    [3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0];

/// Share of the continuous load that a fuse carries at least. Source: a parts trade's fuse guide, 125 % of
/// the continuous load (a how-to page whose text says 1.5 reckons with 1.25: the factor is stated).
pub const FUSE_FACTOR: f64 = 1.25;

/// What a cable of a cross-section carries, A, insulation for 70 °C, by mm². ISO 10133 table A.1, from
/// memory.
const CARRIES_A: [(f64, f64); 7] =
    [(0.75, 10.0), (1.0, 14.0), (1.5, 18.0), (2.5, 25.0), (4.0, 35.0), (6.0, 45.0), (10.0, 65.0)];

/// What a feed cable comes to at a spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Supply {
    /// Resistance of supply, joints and both conductors, mΩ.
    pub loop_mohm: f64,
    /// Whether it was read at the plug; else it is from lengths and the standard's resistances.
    pub read_at_plug: bool,
    /// Volts at the pump while it runs.
    pub running_v: f64,
    /// Volts at the pump when it stalls; 0 where the supply couldn't give that current.
    pub stalled_v: f64,
    /// Lost while it runs, % of the supply.
    pub lost_pct: f64,
    /// The smallest cross-section sold that would meet the limit, mm²; none where no size would.
    pub enough_mm2: Option<f64>,
    /// The fuse to fit close to the supply, A; none where none is sold.
    pub fuse_a: Option<f64>,
    /// What the cable carries, A, where the table (from memory) has it; 0 for a thinner one.
    pub carries_a: Option<f64>,
    /// What to splice in, mm; 0 where it reaches.
    pub splice_mm: f64,
}

/// The smallest fuse sold that carries [`FUSE_FACTOR`] times a continuous load, A.
///
/// ```
/// use dryberth::checks::reach::fuse_a;
/// // 2 A × 1.25 = 2.5 A: 3 A. 50 A × 1.25 = 62.5 A: 70 A, where a list has that size.
/// assert_eq!(fuse_a(2.0), Some(3.0));
/// assert_eq!(fuse_a(50.0), Some(70.0));
/// ```
pub fn fuse_a(running_a: f64) -> Option<f64> {
    FUSES_A.iter().copied().find(|size| *size >= FUSE_FACTOR * running_a - 1e-9)
}

/// The smallest cross-section sold with which a cable loses no more than `limit_pct` of its supply at
/// `current_a` over its length upstream and `free_mm` more, mm².
///
/// ```
/// use dryberth::checks::reach::enough_mm2;
/// use dryberth::model::Cable;
/// let cable = Cable { area_mm2: 2.5, upstream_mm: 0.0, supply_v: 12.0, joints_mohm: 0.0, conductor_c: 20.0 };
/// // 20 A over 3 m: 2.5 mm² loses 8.0 %; 3 % = 0.36 V allow 3.0 mΩ/m: 10 mm² at 1.91, not 6 at 3.30.
/// assert_eq!(enough_mm2(&cable, 3000.0, 20.0, 3.0), Some(10.0));
/// ```
pub fn enough_mm2(cable: &Cable, free_mm: f64, current_a: f64, limit_pct: f64) -> Option<f64> {
    let allowed_v = cable.supply_v * limit_pct / 100.0;
    SIZES_MM2.into_iter().find(|area_mm2| {
        volts_lost(&Cable { area_mm2: *area_mm2, ..*cable }, free_mm, current_a) <= allowed_v
    })
}

/// Resistance between supply and pump, mΩ: as read at the plug if it was, and then as long as it is now.
pub(super) fn loop_mohm(cable: &Cable, line: &Line) -> f64 {
    match line.measured {
        Some(FeedReading { plug_v, current_a }) => {
            1000.0 * (cable.supply_v - plug_v).max(0.0) / current_a
        }
        None => volts_lost(cable, line.free_mm, 1000.0),
    }
}

/// Share of what the standard allows a conductor to have at 20 °C that a reading is never below: the standard's
/// figures are the largest ones, and a cold cable has less. Common practice, no source.
const LEAST_SHARE: f64 = 0.75;

/// A reading at the plug that can't be: less than the copper alone has. What was read and what the copper
/// has, mΩ.
pub(super) fn too_good_mohm(cable: &Cable, line: &Line) -> Option<(f64, f64)> {
    line.measured?;
    let both_m = 2.0 * (cable.upstream_mm + line.free_mm) / 1000.0;
    let copper_mohm = both_m * conductor_mohm_m(cable.area_mm2, 20.0);
    let read_mohm = loop_mohm(cable, line);
    (read_mohm < LEAST_SHARE * copper_mohm).then_some((read_mohm, copper_mohm))
}

/// Current while it runs, A: the pump's own, or what was read if that was more. A unit that runs free
/// draws less than it will.
pub(super) fn running_a(pump: &Pump, line: &Line) -> f64 {
    line.measured.map_or(pump.running_a, |reading| reading.current_a.max(pump.running_a))
}

/// What a cable comes to; none for other lines. `short_mm` is what it is too short by.
pub(super) fn supply(line: &Line, pump: &Pump, limit_pct: f64, short_mm: f64) -> Option<Supply> {
    let LineKind::Cable(cable) = &line.kind else { return None };
    // A splice is as good as the cable and adds its length; its joints are taken as those there are.
    let added_mohm = 2.0 * short_mm / 1000.0 * conductor_mohm_m(cable.area_mm2, cable.conductor_c);
    let loop_mohm = loop_mohm(cable, line) + added_mohm;
    let running_a = running_a(pump, line);
    let left_v = |current_a: f64| (cable.supply_v - current_a * loop_mohm / 1000.0).max(0.0);
    // Thinner than the table is less than its first row; thicker isn't known.
    let known = cable.area_mm2 <= CARRIES_A[CARRIES_A.len() - 1].0 + 1e-9;
    let carries = CARRIES_A.iter().rev().find(|(area, _)| *area <= cable.area_mm2 + 1e-9);
    let carries = carries.filter(|_| known).map(|(_, amperes)| *amperes);
    let carries = carries.or((cable.area_mm2 < CARRIES_A[0].0).then_some(0.0));
    // What was read beyond the conductors' own is in supply and joints, and stays.
    let lengths_mm = cable.upstream_mm + line.free_mm;
    let own_mohm = 2.0 * lengths_mm / 1000.0 * conductor_mohm_m(cable.area_mm2, cable.conductor_c);
    let joints_mohm = match line.measured {
        Some(_) => (loop_mohm - added_mohm - own_mohm).max(0.0),
        None => cable.joints_mohm,
    };
    let as_read = Cable { joints_mohm, ..*cable };
    Some(Supply {
        loop_mohm,
        read_at_plug: line.measured.is_some(),
        running_v: left_v(running_a),
        stalled_v: left_v(pump.stall_a),
        lost_pct: 100.0 * running_a * loop_mohm / 1000.0 / cable.supply_v,
        enough_mm2: enough_mm2(&as_read, line.free_mm + short_mm, running_a, limit_pct),
        fuse_a: fuse_a(running_a),
        carries_a: carries,
        splice_mm: short_mm,
    })
}

impl Supply {
    /// In words.
    pub(super) fn words(&self, running_a: f64, limit_pct: f64) -> String {
        let read = if self.read_at_plug { "read at the plug" } else { "worked out" };
        let size = match self.enough_mm2 {
            Some(size) => format!("{size} mm² would lose no more than {limit_pct} %"),
            None => format!("no cross-section sold would lose no more than {limit_pct} %"),
        };
        let fuse = match (self.fuse_a, self.carries_a) {
            (Some(fuse), Some(carries)) if carries <= 0.0 => format!(
                "a {fuse} A fuse ({FUSE_FACTOR} × the running current) is more than so thin a cable \
                 carries: a thicker cable first"
            ),
            (Some(fuse), Some(carries)) if fuse > carries => format!(
                "a {fuse} A fuse ({FUSE_FACTOR} × the running current) is more than the cable carries \
                 ({carries} A at 70 °C, from memory of ISO 10133): a thicker cable first"
            ),
            (Some(fuse), _) => format!(
                "fuse it close to the supply with {fuse} A ({running_a:.1} A × {FUSE_FACTOR}, next size \
                 up; 125 % of the continuous load, a fuse guide's rule)"
            ),
            (None, _) => "no fuse that is sold carries it".to_string(),
        };
        let splice = if self.splice_mm > 0.0 {
            format!("; splice in {:.0} mm", (self.splice_mm / 10.0).ceil() * 10.0)
        } else {
            String::new()
        };
        format!(
            "{:.2} V running and {:.2} V stalled over {:.1} mΩ ({read}), {:.1} % lost; {size}; \
             {fuse}{splice}",
            self.running_v, self.stalled_v, self.loop_mohm, self.lost_pct
        )
    }
}
