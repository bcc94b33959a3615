//! The load cases, and the largest share of one that the fixings can balance.

use super::balance::{Held, Load, Mounting};
use super::holding::Holding;
use crate::checks::Boot;
use crate::model::{Part, Point, Pose, Pump, Shape, Vector};

/// Accelerations that a mounting has to take, as multiples of g in the vehicle frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadCase {
    /// In words.
    pub words: &'static str,
    /// The force on the pump over its weight: x forward, y left, z up.
    pub load_g: [f64; 3],
}

/// The load cases. Source of 0.9 forward, 0.5 rearward, 0.7 sideways and 1 down: published
/// light-vehicle cargo factors for a gross mass up to 2 t; the 2 g bump is common practice, no
/// source.
pub const CASES: [LoadCase; 6] = [
    LoadCase { words: "hanging at 1 g", load_g: [0.0, 0.0, -1.0] },
    LoadCase { words: "braking at 0.9 g", load_g: [0.9, 0.0, -1.0] },
    LoadCase { words: "pulling away at 0.5 g", load_g: [-0.5, 0.0, -1.0] },
    LoadCase { words: "cornering at 0.7 g to the left", load_g: [0.0, -0.7, -1.0] },
    LoadCase { words: "cornering at 0.7 g to the right", load_g: [0.0, 0.7, -1.0] },
    LoadCase { words: "a 2 g bump", load_g: [0.0, 0.0, -2.0] },
];

/// A crash-type case, as multiples of g: 20 along the car, 8 across. For information only. Source: UN
/// R67 and R110 for vehicles of classes M1 and N1, from memory.
pub const CRASH: [LoadCase; 4] = [
    LoadCase { words: "20 g forward", load_g: [20.0, 0.0, -1.0] },
    LoadCase { words: "20 g rearward", load_g: [-20.0, 0.0, -1.0] },
    LoadCase { words: "8 g to the left", load_g: [0.0, 8.0, -1.0] },
    LoadCase { words: "8 g to the right", load_g: [0.0, -8.0, -1.0] },
];

/// Torque per ampere of a small 12 V motor: no faster than 3,000 turns a minute without load, so
/// 12 V / 314 rad/s. Common practice, no source.
const TORQUE_NM_A: f64 = 0.038;

/// A load in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// In words.
    pub words: String,
    /// Force and moment on the pump.
    pub load: Load,
}

/// The load cases that count: those of [`CASES`], and the motor starting either way round while the
/// unit hangs at 1 g.
pub(super) fn cases(boot: &Boot, pose: &Pose) -> Vec<Case> {
    let pump = boot.pump();
    let of_g = |case: &LoadCase| Case {
        words: case.words.to_string(),
        load: Load::of_g(pump.mass_kg, case.load_g),
    };
    let mut cases: Vec<Case> = CASES.iter().map(of_g).collect();
    let torque = pose * motor_axis(pump) * (start_torque_nm(pump) * 1000.0);
    for (words, sign) in [("starting", 1.0), ("starting the other way round", -1.0)] {
        let weight = Load::of_g(pump.mass_kg, CASES[0].load_g);
        let load = Load { moment_nmm: torque * sign, ..weight };
        cases.push(Case { words: format!("the motor {words}"), load });
    }
    cases
}

/// The crash-type cases.
pub(super) fn crash_cases(pump: &Pump) -> Vec<Case> {
    let of_g = |case: &LoadCase| Case {
        words: case.words.to_string(),
        load: Load::of_g(pump.mass_kg, case.load_g),
    };
    CRASH.iter().map(of_g).collect()
}

/// Torque with which the motor turns the unit when it starts, N m: as measured, or what its stall
/// current gives at 0.038 N m/A. It's what speeds its rotor up; once it runs, the pump's own torque
/// stays inside the unit.
pub fn start_torque_nm(pump: &Pump) -> f64 {
    pump.start_torque_nm.unwrap_or(TORQUE_NM_A * pump.stall_a)
}

/// The motor's axis in the pump's frame, unit length: that of its largest round bar, x without one.
fn motor_axis(pump: &Pump) -> Vector {
    let bars = pump.solids.iter().filter(|solid| solid.part == Part::Motor);
    let bars = bars.filter_map(|solid| match &solid.shape {
        Shape::Cylinder { from, to, radius_mm } => Some((to - from, *radius_mm)),
        _ => None,
    });
    bars.max_by(|a, b| a.1.total_cmp(&b.1))
        .and_then(|(along, _)| along.try_normalize(1e-9))
        .unwrap_or_else(Vector::x)
}

/// Factors beyond this are not told apart in the verdict.
pub(super) const MOST: f64 = 50.0;

/// The largest factor on `case` that `holdings` can balance without exceeding any strength, for a
/// pump of `mass_kg` with its centre of gravity at `centre`; at most 50, 0 when it is not held at
/// all. None when the solver fails.
///
/// Method, error and cost: [`Mounting`].
///
/// ```
/// use dryberth::checks::hold::{CASES, Holding, load_factor};
/// use dryberth::model::{Point, Vector};
/// // 4 kg hanging on one tie straight above that takes 80 N: 80 / 39.2266.
/// let tie = Holding::Pull { at: Point::origin(), along: Vector::z(), working_n: 80.0 };
/// let factor = load_factor(&[tie], &Point::new(0.0, 0.0, -50.0), 4.0, &CASES[0]).unwrap();
/// assert!((factor - 80.0 / 39.2266).abs() < 1e-9);
/// ```
pub fn load_factor(
    holdings: &[Holding],
    centre: &Point,
    mass_kg: f64,
    case: &LoadCase,
) -> Option<f64> {
    let mut mounting = Mounting::of(holdings, centre, mass_kg);
    let load = Load::of_g(mass_kg, case.load_g);
    Some(match mounting.carries(&Load::default(), &load).ok()?.held {
        Held::Nothing => 0.0,
        Held::Factor(factor) => factor.min(MOST),
        Held::AnyMultiple => MOST,
    })
}
