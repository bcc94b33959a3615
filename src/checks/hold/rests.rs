//! Where the pump rests on something, found from the geometry.

use super::load::Holding;
use crate::checks::Boot;
use crate::geometry::Solid;
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

/// Corners of the pump that touch a body, and corners of bodies that touch the pump.
pub(super) fn rests(boot: &Boot, pump: &[Solid]) -> Vec<Rest> {
    let mut found: Vec<Rest> = Vec::new();
    for (_, body) in boot.bodies() {
        for part in pump {
            if part.bounds().distance_mm(body.bounds()) > TOUCHING_MM {
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
        if let (false, Some(out)) = (known, outward(face, corner)) {
            found.push(Rest { at: *corner, push: out * sign });
        }
    }
}

/// Out of a solid near a point of its surface: the slope of its distance.
fn outward(face: &Solid, point: &Point) -> Option<Vector> {
    // Beyond the touching range, so that a flat face's own slope shows and not a rounding error.
    let step_mm = TOUCHING_MM * 0.5;
    let slope = |axis: usize| {
        let mut offset = Vector::zeros();
        offset[axis] = step_mm;
        face.distance_to_point_mm(&(point + offset)) - face.distance_to_point_mm(&(point - offset))
    };
    Vector::new(slope(0), slope(1), slope(2)).try_normalize(1e-6)
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
