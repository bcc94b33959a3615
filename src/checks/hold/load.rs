//! The largest share of a load case that the fixings can balance, as a linear program.

use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};

use crate::model::{Point, Vector};
use crate::units::STANDARD_GRAVITY_M_S2;

/// What a fixing or a rest can do for the pump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holding {
    /// Pulls and pushes in every direction, up to a strength.
    Bolt {
        /// Where it takes hold of the pump.
        at: Point,
        /// Largest force, N.
        working_n: f64,
    },
    /// Pulls along a line only.
    Pull {
        /// Where it takes hold of the pump.
        at: Point,
        /// From the pump to the anchor, unit length.
        along: Vector,
        /// Largest force, N.
        working_n: f64,
    },
    /// Pushes away from a face only, with friction across it.
    Push {
        /// Where it touches the pump.
        at: Point,
        /// Out of the face, into the pump, unit length.
        along: Vector,
        /// Coefficient of friction.
        friction: f64,
    },
}

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

/// Factors beyond this are not told apart.
const MOST: f64 = 50.0;

/// Sides of the friction pyramid, inscribed in the cone and so on the safe side: at 8 sides it
/// reaches 92 % of the friction in its weakest direction.
const FRICTION_SIDES: u32 = 8;

/// The largest factor on `case` that `holdings` can balance without exceeding any strength, for a
/// pump of `mass_kg` with its centre of gravity at `centre`; at most 50, 0 when it is not held at
/// all. None when the solver fails.
///
/// Method: linear program over the forces, six balances, inner approximations of the strength
/// sphere (26 directions, at least 88.6 % of it) and friction cone (8 sides, at least 92 %), so the
/// factor errs to the safe side.
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
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let factor = problem.add_var(1.0, (0.0, MOST));
    // Rows: force along x, y, z in multiples of the weight; moment about the centre in weights
    // times 100 mm, so that all rows are of one size.
    let weight_n = mass_kg * STANDARD_GRAVITY_M_S2;
    let mut rows: [Vec<(Variable, f64)>; 6] = Default::default();
    for (row, load) in rows.iter_mut().zip(case.load_g) {
        row.push((factor, load));
    }
    for holding in holdings {
        enter(&mut problem, &mut rows, holding, centre, weight_n);
    }
    for row in rows.iter().filter(|row| !row.is_empty()) {
        problem.add_constraint(row.as_slice(), ComparisonOp::Eq, 0.0);
    }
    match problem.solve().ok()? {
        SolveOutcome::Solution(solution) => Some(solution.objective().clamp(0.0, MOST)),
        SolveOutcome::Interrupted(_) => None,
    }
}

/// Adds a holding's force variables to the six balances.
fn enter(
    problem: &mut Problem,
    rows: &mut [Vec<(Variable, f64)>; 6],
    holding: &Holding,
    centre: &Point,
    weight_n: f64,
) {
    let (at, ways, strength) = match *holding {
        Holding::Bolt { at, working_n } => (at, all_ways(), Some(working_n / weight_n)),
        Holding::Pull { at, along, working_n } => (at, vec![along], Some(working_n / weight_n)),
        Holding::Push { at, along, friction } => (at, cone_edges(&along, friction), None),
    };
    let arm = (at - centre) / 100.0;
    let mut shares = Vec::with_capacity(ways.len());
    for way in ways {
        let force = problem.add_var(0.0, (0.0, strength.unwrap_or(f64::INFINITY)));
        let moment = arm.cross(&way);
        for axis in 0..3 {
            rows[axis].push((force, way[axis]));
            rows[axis + 3].push((force, moment[axis]));
        }
        shares.push((force, 1.0));
    }
    if let (Some(strength), true) = (strength, shares.len() > 1) {
        problem.add_constraint(shares.as_slice(), ComparisonOp::Le, strength);
    }
}

/// The 26 directions to the neighbours of a cube, unit length.
fn all_ways() -> Vec<Vector> {
    (0..27)
        .filter_map(|turn: u8| {
            let step = [turn % 3, turn / 3 % 3, turn / 9].map(|step| f64::from(step) - 1.0);
            Vector::from(step).try_normalize(0.5)
        })
        .collect()
}

/// Edges of a friction pyramid about `along`.
fn cone_edges(along: &Vector, friction: f64) -> Vec<Vector> {
    if friction <= 0.0 {
        return vec![*along];
    }
    let (u, v) = crate::geometry::across(along);
    (0..FRICTION_SIDES)
        .map(|side| {
            let angle = std::f64::consts::TAU * f64::from(side) / f64::from(FRICTION_SIDES);
            along + (u * angle.cos() + v * angle.sin()) * friction
        })
        .collect()
}
