//! Where the pump rests on something, found from the geometry.

use serde::Serialize;

use super::holding::Holding;
use crate::checks::Boot;
use crate::geometry::{Contact, Solid, contacts, gap, outlines, rough_gap};
use crate::model::{Point, Vector};

/// Most air between a face and what it rests on, mm: what paint and a bedding of felt take up. Common
/// practice, no source.
const AIR_MM: f64 = 0.5;

/// How far a face may run into what it rests on, mm: it is measured, not meant. Common practice, no source.
const INTO_MM: f64 = 1.5;

/// Most air that is worth packing, mm. Common practice, no source.
const PACKED_MM: f64 = 6.0;

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
pub(super) const AGAINST: f64 = -0.5;

/// What lies within 45° below a part is under it: cosine.
const UNDER: f64 = 0.7;

/// Air under the pump that packing would make a rest of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packing {
    /// The pump's part.
    pub part: String,
    /// What lies under it.
    pub body: String,
    /// The air between, mm: packing as thick as that makes a rest of it.
    pub air_mm: f64,
    /// Where, on the body, mm, vehicle frame.
    pub at: Point,
}

/// Where the pump rests on bodies: faces on faces, edges on faces, corners on faces, edges across edges,
/// with at most 0.5 mm of air between. What the pump runs into by more than 1.5 mm doesn't hold it. Besides,
/// what is under it with up to 6 mm of air, nearest first. Method: [`contacts`].
pub(super) fn rests(boot: &Boot, pump: &[Solid]) -> (Vec<Rest>, Vec<Packing>) {
    let mut found: Vec<Contact> = Vec::new();
    let mut packings: Vec<Packing> = Vec::new();
    for (body, solid) in boot.bodies() {
        for (part, named) in pump.iter().zip(&boot.pump().solids) {
            if part.bounds().distance_mm(solid.bounds()) > PACKED_MM {
                continue;
            }
            let Some(rough) = rough_gap(part, solid, PACKED_MM) else { continue };
            // What is too deep by a bound below the depth is too deep.
            if rough.distance_mm < -INTO_MM {
                continue;
            }
            let whole = if rough.distance_mm < 0.0 { gap(part, solid, 0.0) } else { None };
            let apart = whole.unwrap_or(rough);
            if (-INTO_MM..=AIR_MM).contains(&apart.distance_mm) {
                found.extend(contacts(part, solid, INTO_MM));
            } else if apart.distance_mm > AIR_MM {
                let upward = (apart.on_first - apart.on_second).z / apart.distance_mm;
                if upward > UNDER {
                    packings.push(Packing {
                        part: named.name.clone(),
                        body: body.name.clone(),
                        air_mm: apart.distance_mm,
                        at: apart.on_second,
                    });
                }
            }
        }
    }
    packings.sort_by(|a, b| a.air_mm.total_cmp(&b.air_mm));
    let met = outlines(found);
    let opposed = |push: &Vector| met.iter().any(|other| other.push.dot(push) < AGAINST);
    let rest = |it: &Contact| Rest { at: it.at, push: it.push, opposed: opposed(&it.push) };
    (thinned(met.iter().map(rest).collect()), packings)
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
