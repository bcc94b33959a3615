//! Where the pump rests on something, found from the geometry.

use super::load::Holding;
use crate::checks::Boot;
use crate::geometry::{Solid, gap};
use crate::model::{Point, Vector};

/// How near a corner must be to a surface to rest on it, mm.
const TOUCHING_MM: f64 = 1.5;

/// Most rests that a balance of forces takes; more are thinned out evenly.
const MOST: usize = 24;

/// A corner that touches a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Where.
    pub at: Point,
    /// The way it pushes the pump, unit length.
    pub push: Vector,
}

impl Rest {
    pub(super) fn holding(&self, friction: f64) -> Holding {
        Holding::Push { at: self.at, along: self.push, friction }
    }
}

/// How squarely two faces must meet to push on each other: the cosine between one's normal and the
/// other's turned round.
const SQUARE: f64 = 0.95;

/// Corners of the pump that touch a body, and corners of bodies that touch the pump. What the pump
/// runs into doesn't hold it.
pub(super) fn rests(boot: &Boot, pump: &[Solid]) -> Vec<Rest> {
    let mut found: Vec<Rest> = Vec::new();
    for (_, body) in boot.bodies() {
        for part in pump {
            if part.bounds().distance_mm(body.bounds()) > TOUCHING_MM {
                continue;
            }
            if gap(part, body, 0.0).is_some_and(|gap| gap.distance_mm < -TOUCHING_MM) {
                continue;
            }
            touches(part, body, 1.0, &mut found);
            touches(body, part, -1.0, &mut found);
        }
    }
    thinned(found)
}

/// Adds the corners of `corners` that touch `face`; `sign` is 1 when the pump has the corners.
fn touches(corners: &Solid, face: &Solid, sign: f64, found: &mut Vec<Rest>) {
    let near = face.bounds().grown(TOUCHING_MM);
    for corner in corners.samples().filter(|corner| near.holds(corner)) {
        if face.distance_to_point_mm(corner).abs() > TOUCHING_MM {
            continue;
        }
        let known = found.iter().any(|rest| (rest.at - corner).norm() < 0.5);
        if let (false, Some(out)) = (known, outward(corners, face, corner)) {
            found.push(Rest { at: *corner, push: out * sign });
        }
    }
}

/// Out of `face` where a corner of `corners` touches it. Near an edge of flat faces the face counts
/// that one of the corner's own faces lies against; a corner against an edge pushes nowhere certain
/// and is left out. Round and meshed faces give the slope of their distance.
fn outward(corners: &Solid, face: &Solid, point: &Point) -> Option<Vector> {
    let there = face.faces_at(point, TOUCHING_MM);
    let here = corners.faces_at(point, 1e-3);
    match (there.as_slice(), here.is_empty()) {
        ([], _) => slope(face, point),
        ([only], true) => Some(*only),
        _ => {
            let squarely = |out: &Vector| {
                here.iter().map(|own| -own.dot(out)).fold(f64::NEG_INFINITY, f64::max)
            };
            let best = there.iter().max_by(|a, b| squarely(a).total_cmp(&squarely(b)))?;
            let lies_against = squarely(best) >= SQUARE;
            // A lone corner on the middle of a flat face has only that face to push it.
            (lies_against || there.len() == 1).then_some(*best)
        }
    }
}

/// Out of a solid near a point of its surface: the slope of its distance.
fn slope(face: &Solid, point: &Point) -> Option<Vector> {
    let step_mm = TOUCHING_MM * 0.5;
    let along = |axis: usize| {
        let mut offset = Vector::zeros();
        offset[axis] = step_mm;
        face.distance_to_point_mm(&(point + offset)) - face.distance_to_point_mm(&(point - offset))
    };
    Vector::new(along(0), along(1), along(2)).try_normalize(1e-6)
}

fn thinned(mut rests: Vec<Rest>) -> Vec<Rest> {
    if rests.len() <= MOST {
        return rests;
    }
    let count = rests.len();
    let mut index = 0;
    rests.retain(|_| {
        let keep = index * MOST / count != (index + 1) * MOST / count;
        index += 1;
        keep
    });
    rests
}
