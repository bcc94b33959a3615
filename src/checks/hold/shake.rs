//! How the unit rings on its fixings, and how far a rough road shakes it.

use std::f64::consts::TAU;

use nalgebra::{Matrix3, Matrix6, SymmetricEigen, Vector6};

use super::inertia::inertia_kg_mm2;
use super::points::Fixed;
use super::random::{BODY_PROFILE, density_at, miles_rms};
use super::rests::Rest;
use super::strength::tie_thick_mm;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::Solid;
use crate::model::{FixingKind, Limits, Point, Vector};

/// Modulus of a cable tie's nylon 66 as it is in a car, neither dry nor wet, N/mm². From memory.
const NYLON_N_MM2: f64 = 1500.0;

/// How far webbing stretches at its working strength, as a share of its length. Common practice, no
/// source.
const WEBBING_STRETCH: f64 = 0.01;

/// Stiffness across over stiffness along of foam and of a rubber foot pressed on. Common practice, no
/// source.
const ACROSS: f64 = 0.4;

/// Shortest free run that a tie or strap is taken to have, mm.
const SHORTEST_MM: f64 = 20.0;

/// Below this nothing holds it: it swings, Hz.
const FREE_HZ: f64 = 0.5;

/// Motion is given as three times its r.m.s.: exceeded 0.27 % of the time when normal.
const SIGMAS: f64 = 3.0;

/// A spring between the pump and the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spring {
    /// Where it takes hold of the pump.
    pub at: Point,
    /// Its stiff direction, unit length.
    pub along: Vector,
    /// Stiffness along it, N/mm.
    pub along_n_mm: f64,
    /// Stiffness across it, N/mm.
    pub across_n_mm: f64,
}

/// One natural vibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mode {
    /// Its frequency, Hz; 0 when nothing resists.
    pub hz: f64,
    /// Motion of the centre of gravity and turn about it a mm, scaled so that the pump's mass in it
    /// is 1 kg.
    pub shape: (Vector, Vector),
}

/// Vibrations of a rigid pump on springs.
#[derive(Debug, Clone, PartialEq)]
pub struct Shake {
    centre: Point,
    mass_kg: f64,
    resonance: f64,
    /// The six of them, slowest first.
    pub modes: [Mode; 6],
}

impl Shake {
    /// The six natural vibrations of a pump of `mass_kg` and `inertia_kg_mm2` about its centre of
    /// gravity `centre`, in the boot's frame. None when mass or inertia aren't positive.
    ///
    /// Method: the symmetric form of the generalised eigenproblem, by Cholesky's factor of the inertia
    /// and nalgebra's symmetric eigenvalues. Springs don't know which way they can't push: everything
    /// is taken as drawn up tight.
    ///
    /// ```
    /// use dryberth::checks::hold::{Shake, Spring};
    /// use dryberth::model::{Point, Vector};
    /// // 4 kg on one spring of 100 N/mm every way through its middle: √(k/m) / 2π = 25.16 Hz.
    /// let spring = Spring { at: Point::origin(), along: Vector::z(), along_n_mm: 100.0, across_n_mm: 100.0 };
    /// let inertia = nalgebra::Matrix3::identity() * 1e4;
    /// let shake = Shake::of(&[spring], &Point::origin(), 4.0, &inertia, 10.0).unwrap();
    /// assert!(shake.modes[2].hz < 1e-3 && (shake.modes[3].hz - 25.16).abs() < 5e-3);
    /// ```
    pub fn of(
        springs: &[Spring],
        centre: &Point,
        mass_kg: f64,
        inertia_kg_mm2: &Matrix3<f64>,
        resonance: f64,
    ) -> Option<Shake> {
        let mut mass = Matrix6::zeros();
        mass.fixed_view_mut::<3, 3>(0, 0).copy_from(&(Matrix3::identity() * mass_kg));
        mass.fixed_view_mut::<3, 3>(3, 3).copy_from(inertia_kg_mm2);
        let factor = mass.cholesky()?.l();
        let back = factor.try_inverse()?;
        let stiffness = stiffness(springs, centre);
        let symmetric = back * stiffness * back.transpose();
        let symmetric = (symmetric + symmetric.transpose()) / 2.0;
        let found = SymmetricEigen::new(symmetric);
        let shapes = back.transpose() * found.eigenvectors;
        let mut modes: Vec<Mode> = (0..6)
            .map(|index| {
                // N/mm over kg: 1000 / s².
                let hz = (found.eigenvalues[index].max(0.0) * 1000.0).sqrt() / TAU;
                let shape: Vector6<f64> = shapes.column(index).into();
                let (shift, turn) = (shape.fixed_rows::<3>(0), shape.fixed_rows::<3>(3));
                Mode { hz, shape: (shift.into(), turn.into()) }
            })
            .collect();
        modes.sort_by(|a, b| a.hz.total_cmp(&b.hz));
        let modes: [Mode; 6] = modes.try_into().ok()?;
        modes.iter().all(|mode| mode.hz.is_finite()).then_some(Shake {
            centre: *centre,
            mass_kg,
            resonance,
            modes,
        })
    }

    /// The lowest natural frequency, Hz.
    pub fn lowest_hz(&self) -> f64 {
        self.modes[0].hz
    }

    /// The same with every stiffness changed so that the lowest frequency is `hz`, as tapping gave it.
    #[must_use]
    pub fn tapped(mut self, hz: f64) -> Shake {
        let lowest_hz = self.lowest_hz();
        if lowest_hz > FREE_HZ {
            self.modes.iter_mut().for_each(|mode| mode.hz *= hz / lowest_hz);
        }
        self
    }

    /// Whether something resists every motion.
    pub fn held(&self) -> bool {
        self.lowest_hz() > FREE_HZ
    }

    /// How far a point of the pump moves against the car along `way` (unit length), three times r.m.s.,
    /// mm, on the body's random vibration of ISO 16750-3 (from memory), shaken along the direction in
    /// which it moves most; none when something isn't held.
    ///
    /// Method: Miles' equation for each vibration, its share by mass, added by squares. Beyond 10 to
    /// 1000 Hz the profile's ends go on.
    pub fn motion_mm(&self, at: &Point, way: &Vector) -> Option<f64> {
        if !self.held() {
            return None;
        }
        let arm = at - self.centre;
        let mut squares = Matrix3::zeros();
        for mode in &self.modes {
            let density = density_at(&BODY_PROFILE, mode.hz);
            let rms_m_s2 = miles_rms(mode.hz, self.resonance, density);
            let rms_mm = 1000.0 * rms_m_s2 / (TAU * mode.hz).powi(2);
            let here = (mode.shape.0 + mode.shape.1.cross(&arm)).dot(way);
            // Shaken along d, this vibration takes its part mass · (shape · d) of it.
            let share = mode.shape.0 * (here * self.mass_kg * rms_mm);
            squares += share * share.transpose();
        }
        Some(SIGMAS * squares.symmetric_eigenvalues().max().max(0.0).sqrt())
    }

    /// R.m.s. acceleration of the centre of gravity along each axis of the car, shaken along it, m/s²;
    /// none when something isn't held.
    pub fn rms_m_s2(&self) -> Option<[f64; 3]> {
        self.held().then(|| {
            std::array::from_fn(|axis| {
                let squares = self.modes.iter().map(|mode| {
                    let density = density_at(&BODY_PROFILE, mode.hz);
                    let share = self.mass_kg * mode.shape.0[axis].powi(2);
                    (share * miles_rms(mode.hz, self.resonance, density)).powi(2)
                });
                squares.sum::<f64>().sqrt()
            })
        })
    }
}

/// Stiffness against motions of the centre of gravity (N/mm) and turns about it.
fn stiffness(springs: &[Spring], centre: &Point) -> Matrix6<f64> {
    let mut sum = Matrix6::zeros();
    for spring in springs {
        let along = spring.along * spring.along.transpose();
        let own = along * (spring.along_n_mm - spring.across_n_mm)
            + Matrix3::identity() * spring.across_n_mm;
        // Motion at the spring: shift + turn × arm = [1, −arm×] (shift, turn).
        let arm = (spring.at - centre).cross_matrix();
        let mixed = -own * arm;
        let parts = [
            (0, 0, own),
            (0, 3, mixed),
            (3, 0, mixed.transpose()),
            (3, 3, arm.transpose() * own * arm),
        ];
        for (row, column, part) in parts {
            let mut view = sum.fixed_view_mut::<3, 3>(row, column);
            view += part;
        }
    }
    sum
}

/// The springs that usable fixings and rests make.
pub(super) fn springs(limits: &Limits, fixed: &[Fixed], rests: &[Rest]) -> Vec<Spring> {
    let mut springs: Vec<Spring> =
        fixed.iter().filter(|fixed| fixed.in_reach).filter_map(|it| spring(limits, it)).collect();
    // Nothing presses a pump to its rests but fixings.
    if !springs.is_empty() {
        springs.extend(rests.iter().map(|rest| Spring {
            at: rest.at,
            along: rest.push,
            along_n_mm: limits.rest_n_mm,
            across_n_mm: ACROSS * limits.rest_n_mm,
        }));
    }
    springs
}

fn spring(limits: &Limits, fixed: &Fixed) -> Option<Spring> {
    let at = fixed.mount.at;
    let every_way =
        |n_mm: f64| Some(Spring { at, along: Vector::z(), along_n_mm: n_mm, across_n_mm: n_mm });
    let run_mm = fixed.length_mm.max(SHORTEST_MM);
    let pull = |n_mm: f64| {
        let along = (fixed.anchor.at - at).try_normalize(1e-6)?;
        Some(Spring { at, along, along_n_mm: n_mm, across_n_mm: 0.0 })
    };
    match fixed.fixing.kind {
        FixingKind::Bolt { .. } => every_way(limits.bolt_n_mm),
        FixingKind::Clamp { .. } => every_way(limits.clamp_n_mm),
        FixingKind::Tie { width_mm } => {
            pull(NYLON_N_MM2 * width_mm * tie_thick_mm(width_mm) / run_mm)
        }
        FixingKind::Strap { working_n } => pull(working_n / WEBBING_STRETCH / run_mm),
        FixingKind::Wedge { .. } => {
            let along = fixed.anchor.normal.try_normalize(1e-9)?;
            let n_mm = limits.wedge_n_mm;
            // What isn't pressed doesn't hold across.
            let across = if fixed.squeeze_n > 0.0 { ACROSS } else { 0.0 };
            Some(Spring { at, along, along_n_mm: n_mm, across_n_mm: across * n_mm })
        }
    }
}

/// How a spot's pump vibrates; none when it has no volume. `pump` are its solids in the boot.
pub(super) fn shake(
    boot: &Boot,
    pump: &[Solid],
    centre: &Point,
    springs: &[Spring],
    tap_hz: Option<f64>,
) -> Option<Shake> {
    let mass_kg = boot.pump().mass_kg;
    let inertia = inertia_kg_mm2(pump, mass_kg)?;
    let resonance = boot.layout().limits.resonance;
    let shake = Shake::of(springs, centre, mass_kg, &inertia, resonance)?;
    Some(match tap_hz {
        Some(hz) => shake.tapped(hz),
        None => shake,
    })
}

/// Lowest natural frequency that a unit hung in a boot should have, Hz: over what bodies of open cars
/// shake at. Common practice, no source.
const LOWEST_HZ: f64 = 20.0;

/// How far a frequency from usual stiffnesses may be off, and one from tapping.
const FREQUENCY_OFF: (f64, f64) = (0.15, 0.02);

/// The lowest natural frequency.
pub(super) fn check(
    shake: Option<&Shake>,
    centre_off_mm: Option<f64>,
    tap_hz: Option<f64>,
    centre: &Point,
) -> Check {
    let lowest_hz = shake.map_or(0.0, Shake::lowest_hz);
    let off = if tap_hz.is_some() { FREQUENCY_OFF.1 } else { FREQUENCY_OFF.0 };
    let reading = Reading {
        id: "shake",
        subject: "lowest frequency".to_string(),
        unit: "Hz",
        limit: LOWEST_HZ,
        comfort: 2.0 * LOWEST_HZ,
        tolerance: off * lowest_hz,
    };
    if centre_off_mm.is_some() {
        let why = "how it rings can't be told before its centre of gravity is known".to_string();
        return reading.unknown(why, Some(*centre));
    }
    let Some(shake) = shake else {
        let why = "the pump's solids enclose no volume: measure them again".to_string();
        return reading.unknown(why, Some(*centre));
    };
    if !shake.held() {
        let why =
            "nothing springs it back in some direction: it can move or turn there".to_string();
        return reading.judge(0.0, why, Some(*centre));
    }
    let from = if tap_hz.is_some() { "tapping" } else { "usual stiffnesses" };
    let motion_mm = [Vector::x(), Vector::y(), Vector::z()]
        .iter()
        .filter_map(|way| shake.motion_mm(centre, way))
        .fold(0.0, f64::max);
    let why = format!(
        "it rings at {lowest_hz:.0} Hz by {from}; rough roads shake its middle by ±{motion_mm:.1} mm"
    );
    reading.judge(lowest_hz, why, Some(*centre))
}
