//! Where the pump rests on something, found from the geometry.

use super::holding::Holding;
use crate::checks::Boot;
use crate::geometry::{Contact, Solid, contacts, gap, outlines};
use crate::model::{Point, Vector};

/// How near a face must be to another to rest on it, mm.
const TOUCHING_MM: f64 = 1.5;

/// Most rests that a balance of forces takes; more are thinned out evenly.
const MOST: usize = 32;

/// A point where the pump rests on something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Where.
    pub at: Point,
    /// The way it pushes the pump, unit length.
    pub push: Vector,
    /// Whether another rest pushes against it: between the two the pump could jam, and that isn't counted
    /// on, so it has no friction.
    pub opposed: bool,
}

impl Rest {
    pub(super) fn holding(&self, friction: f64) -> Holding {
        let friction = if self.opposed { 0.0 } else { friction };
        Holding::Push { at: self.at, along: self.push, friction }
    }
}

/// Cosine between two pushes from which they count as against each other: 120°.
const AGAINST: f64 = -0.5;

/// Where the pump rests on bodies: faces on faces, edges on faces, corners on faces, edges across
/// edges. What the pump runs into by more than 1.5 mm doesn't hold it. Method: [`contacts`].
pub(super) fn rests(boot: &Boot, pump: &[Solid]) -> Vec<Rest> {
    let mut found: Vec<Contact> = Vec::new();
    for (_, body) in boot.bodies() {
        for part in pump {
            if part.bounds().distance_mm(body.bounds()) > TOUCHING_MM {
                continue;
            }
            let apart = gap(part, body, TOUCHING_MM);
            if apart.is_some_and(|apart| apart.distance_mm >= -TOUCHING_MM) {
                found.extend(contacts(part, body, TOUCHING_MM));
            }
        }
    }
    let met = outlines(found);
    let opposed = |push: &Vector| met.iter().any(|other| other.push.dot(push) < AGAINST);
    let rest = |it: &Contact| Rest { at: it.at, push: it.push, opposed: opposed(&it.push) };
    thinned(met.iter().map(rest).collect())
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
