//! What a fixing or a rest can do for the pump, as directions of force.

use crate::geometry::across;
use crate::model::{Point, Vector};

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
    /// Pushes like a rest, but no harder than a strength.
    Wedge {
        /// Where it touches the pump.
        at: Point,
        /// Into the pump, unit length.
        along: Vector,
        /// Coefficient of friction.
        friction: f64,
        /// Largest push, N.
        working_n: f64,
    },
}

/// Sides of the friction pyramid, whose edges lie on the cone, so that it lies inside and errs to the
/// safe side: in its weakest direction it reaches cos(π/64) = 99.88 % of the friction.
pub const FRICTION_SIDES: u32 = 64;

impl Holding {
    /// Where it acts on the pump.
    pub fn at(&self) -> Point {
        match *self {
            Holding::Bolt { at, .. }
            | Holding::Pull { at, .. }
            | Holding::Push { at, .. }
            | Holding::Wedge { at, .. } => at,
        }
    }

    /// Its working strength, N; none for a rest.
    pub fn working_n(&self) -> Option<f64> {
        match *self {
            Holding::Bolt { working_n, .. }
            | Holding::Pull { working_n, .. }
            | Holding::Wedge { working_n, .. } => Some(working_n),
            Holding::Push { .. } => None,
        }
    }

    /// How much of its strength a force of it takes, 0 to 1; a push counts by its part along the
    /// face's normal. None for a rest.
    pub fn share(&self, force_n: &Vector) -> Option<f64> {
        match *self {
            Holding::Wedge { along, working_n, .. } => Some(force_n.dot(&along) / working_n),
            _ => self.working_n().map(|working_n| force_n.norm() / working_n),
        }
    }

    /// Directions of its force to begin with.
    pub(super) fn first_ways(&self) -> Vec<Vector> {
        match *self {
            Holding::Bolt { .. } => {
                (0..3).flat_map(|axis| [1.0, -1.0].map(|sign| unit(axis) * sign)).collect()
            }
            Holding::Pull { along, .. } => vec![along],
            Holding::Push { along, friction, .. } | Holding::Wedge { along, friction, .. } => {
                if friction > 0.0 {
                    let quarter = FRICTION_SIDES / 4;
                    (0..4).map(|turn| cone_edge(&along, friction, turn * quarter)).collect()
                } else {
                    vec![along]
                }
            }
        }
    }
}

fn unit(axis: usize) -> Vector {
    let mut unit = Vector::zeros();
    unit[axis] = 1.0;
    unit
}

/// Of the 26 directions from the middle of a cube to its neighbours, unit length, the one that goes
/// farthest along `here`.
pub(super) fn bolt_way(here: &Vector) -> Vector {
    let mut order = [0, 1, 2];
    order.sort_by(|&a, &b| here[b].abs().total_cmp(&here[a].abs()));
    let mut best = (f64::NEG_INFINITY, Vector::zeros());
    let mut way = Vector::zeros();
    for axis in order {
        way[axis] = 1.0_f64.copysign(here[axis]);
        let towards = way.normalize();
        let gain = towards.dot(here);
        if gain > best.0 {
            best = (gain, towards);
        }
    }
    best.1
}

/// An edge of the friction pyramid about `along`.
pub(super) fn cone_edge(along: &Vector, friction: f64, side: u32) -> Vector {
    let (u, v) = across(along);
    let angle = std::f64::consts::TAU * f64::from(side) / f64::from(FRICTION_SIDES);
    along + (u * angle.cos() + v * angle.sin()) * friction
}

/// The side whose edge goes farthest along `here`.
pub(super) fn cone_side(along: &Vector, here: &Vector) -> u32 {
    let (u, v) = across(along);
    let turns = v.dot(here).atan2(u.dot(here)) / std::f64::consts::TAU;
    let side = (turns.rem_euclid(1.0) * f64::from(FRICTION_SIDES)).round();
    side as u32 % FRICTION_SIDES
}
