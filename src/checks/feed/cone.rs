//! How far the pump may lean, whichever way, before it draws air or its breather leaks.

use super::{Fill, Surface};
use crate::checks::Boot;
use crate::model::{Point, Vector};

/// Directions of lean that are tried.
const WAYS: usize = 72;

/// Steps of lean on the way out, degrees; the first that fails is then narrowed down.
const STEP_DEG: f64 = 5.0;

/// Farthest lean that is looked at, degrees.
const MOST_DEG: f64 = 90.0;

/// How near the answer is narrowed down, degrees.
const CLOSE_DEG: f64 = 0.02;

/// How far the pump may lean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cone {
    /// In whichever direction, degrees.
    pub(super) half_angle_deg: f64,
    /// The direction in which it may lean least: what goes down, in the pump's frame, degrees from x
    /// towards y.
    pub(super) towards_deg: f64,
}

/// The largest lean at which, whichever way it goes, inlet and pickup stay under the fluid and the
/// breather over it, level ground, rams in and out, as filled; and no more than its maker allows.
///
/// Method: 72 directions, out in steps of 5° and then halved; between two directions the true limit
/// may be a little less.
pub(super) fn of(boot: &Boot, fill: &Fill) -> Cone {
    let maker_deg = boot.pump().max_tilt_deg;
    let mut cone = Cone { half_angle_deg: f64::INFINITY, towards_deg: 0.0 };
    for way in 0..WAYS {
        let towards = std::f64::consts::TAU * way as f64 / WAYS as f64;
        let up = |lean_deg: f64| {
            let (sin, cos) = lean_deg.to_radians().sin_cos();
            Vector::new(-sin * towards.cos(), -sin * towards.sin(), cos)
        };
        // Only what is less than the least so far matters.
        let most_deg = cone.half_angle_deg.min(MOST_DEG);
        let limit_deg = limit_deg(most_deg, |lean_deg| feeds(boot, fill, &up(lean_deg)));
        if limit_deg < cone.half_angle_deg {
            cone = Cone { half_angle_deg: limit_deg, towards_deg: towards.to_degrees() };
        }
    }
    Cone { half_angle_deg: cone.half_angle_deg.min(maker_deg), ..cone }
}

/// The least lean that fails, degrees; 0 when upright fails already, `most_deg` when none up to there
/// does.
fn limit_deg(most_deg: f64, good: impl Fn(f64) -> bool) -> f64 {
    if !good(0.0) {
        return 0.0;
    }
    let mut low = 0.0;
    loop {
        let next = (low + STEP_DEG).min(most_deg);
        if next <= low {
            return most_deg;
        }
        if !good(next) {
            let mut high = next;
            while high - low > CLOSE_DEG {
                let middle = f64::midpoint(low, high);
                if good(middle) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            return low;
        }
        low = next;
    }
}

/// Whether the pump is fed and tight at this lean, rams in and out.
fn feeds(boot: &Boot, fill: &Fill, up_pump: &Vector) -> bool {
    let tank = &boot.pump().reservoir;
    let height = |point: &Point| up_pump.dot(&point.coords);
    [false, true].iter().all(|rams_out| {
        let volume_mm3 = fill.tank_mm3(*rams_out, 0.0);
        let surface = Surface::of(boot.reservoir.triangles(), up_pump, volume_mm3).height_mm;
        let openings = std::iter::once(&tank.breather).chain(&tank.openings);
        surface > height(&tank.inlet)
            && surface > height(&tank.pickup)
            && openings.map(height).all(|opening| opening > surface)
    })
}
