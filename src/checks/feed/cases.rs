//! The cases in which the fluid must reach the pump: attitudes and accelerations, rams in and out, cold
//! and hot.

use super::{Fill, Surface};
use crate::checks::Boot;
use crate::checks::water::SLOPES;
use crate::model::{Point, Pose, Vector};

/// A way in which gravity seems to pull in the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attitude {
    /// In words.
    pub words: &'static str,
    /// Up as fluid sees it, against the effective gravity, vehicle frame; its length is that gravity's
    /// in g.
    pub up: Vector,
}

/// What a load presses with when driving, and up as fluid sees it then, in g. Forward 0.9, rearward 0.5
/// and sideways 0.7 g are the published light-vehicle cargo factors up to 2 t; fluid rises towards
/// where a load would slide.
const DRIVING: [(&str, [f64; 3]); 4] = [
    ("braking at 0.9 g", [-0.9, 0.0, 1.0]),
    ("speeding up at 0.5 g", [0.5, 0.0, 1.0]),
    ("in a right bend at 0.7 g", [0.0, -0.7, 1.0]),
    ("in a left bend at 0.7 g", [0.0, 0.7, 1.0]),
];

/// The parked slopes, level first, then braking, speeding up and bends.
pub fn attitudes() -> Vec<Attitude> {
    let parked = SLOPES.iter().map(|slope| Attitude { words: slope.words, up: slope.up() });
    let driving = DRIVING.iter().map(|(words, up)| Attitude { words, up: Vector::from(*up) });
    parked.chain(driving).collect()
}

/// One case: the fluid's surface for one attitude, one state of the rams and one temperature.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Case {
    pub(super) words: String,
    pub(super) attitude: usize,
    pub(super) rams_out: bool,
    /// Warmer than when the level was set.
    pub(super) warmer_k: f64,
    /// Up as fluid sees it, pump's frame, unit length.
    pub(super) up_pump: Vector,
    /// Effective gravity, g.
    pub(super) gravity_g: f64,
    /// Shut tight: the surface of all the fluid.
    pub(super) shut: Surface,
    /// As it is: what reaches the breather or an opening has run out.
    pub(super) surface: Surface,
}

impl Case {
    /// How far the surface stands over a point along effective gravity, mm.
    pub(super) fn above(&self, point: &Point) -> f64 {
        self.surface.height_mm - self.up_pump.dot(&point.coords)
    }

    /// How far a point stands over the surface of all the fluid, mm.
    pub(super) fn clear(&self, point: &Point) -> f64 {
        self.up_pump.dot(&point.coords) - self.shut.height_mm
    }
}

/// Every case, level ground with the rams in at the temperature of filling first.
pub(super) fn every(boot: &Boot, pose: &Pose, fill: &Fill) -> Vec<Case> {
    let limits = &boot.layout().limits;
    let reservoir = boot.reservoir.triangles();
    let tank = &boot.pump().reservoir;
    let temperatures = [
        (String::new(), 0.0),
        (format!(", cold at {:.0} °C", limits.cold_c), limits.cold_c - limits.fill_c),
        (format!(", hot at {:.0} °C", limits.hot_c), limits.hot_c - limits.fill_c),
    ];
    let attitudes = attitudes();
    let mut cases = Vec::with_capacity(attitudes.len() * 6);
    for (temperature, warmer_k) in &temperatures {
        for rams_out in [false, true] {
            let volume_mm3 = fill.tank_mm3(rams_out, *warmer_k);
            let rams = if rams_out { "rams out" } else { "rams in" };
            for (index, attitude) in attitudes.iter().enumerate() {
                let gravity_g = attitude.up.norm();
                let up_pump = pose.rotation.inverse() * (attitude.up / gravity_g);
                let shut = Surface::of(reservoir, &up_pump, volume_mm3);
                let openings = std::iter::once(&tank.breather).chain(&tank.openings);
                cases.push(Case {
                    words: format!("{}, {rams}{temperature}", attitude.words),
                    attitude: index,
                    rams_out,
                    warmer_k: *warmer_k,
                    up_pump,
                    gravity_g,
                    shut,
                    surface: spilled(reservoir, &up_pump, volume_mm3, shut, openings),
                });
            }
        }
    }
    cases
}

/// The surface once what reaches an opening has run out; the shut one where none is reached.
fn spilled<'a>(
    reservoir: &crate::geometry::Triangles,
    up_pump: &Vector,
    volume_mm3: f64,
    shut: Surface,
    openings: impl Iterator<Item = &'a Point> + Clone,
) -> Surface {
    let reached = openings.clone().any(|point| up_pump.dot(&point.coords) < shut.height_mm);
    if reached { Surface::open(reservoir, up_pump, volume_mm3, openings) } else { shut }
}
