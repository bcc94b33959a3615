//! Questions that putting the pump somewhere asks: what a ray meets, how near things are, what it
//! would come to stand on.

use super::Boot;
use crate::geometry::{RayHit, Solid, Triangles, rough_gap};
use crate::model::{Place, Point, Vector};

/// What a ray from the eye met.
#[derive(Debug, Clone, PartialEq)]
pub struct Picked {
    /// Name of the body or trim.
    pub name: String,
    /// Where, and the normal there.
    pub hit: RayHit,
}

impl Boot {
    /// The first body, mover or, when `with_trim`, trim that a ray meets; for picking in a scene.
    pub fn pick(&self, from: &Point, towards: &Vector, with_trim: bool) -> Option<Picked> {
        let towards = towards.try_normalize(1e-12)?;
        let far_mm = 20_000.0;
        let bodies = self.bodies().map(|(body, solid)| (&body.name, solid));
        let movers = self
            .movers()
            .flat_map(|(mover, solids)| solids.iter().map(move |solid| (&mover.name, solid)));
        let met = bodies
            .chain(movers)
            .filter_map(|(name, solid)| Some((name, solid.ray(from, &towards, far_mm)?)));
        let sheets = self
            .trims()
            .filter(|_| with_trim)
            .filter_map(|(trim, sheet)| Some((&trim.name, sheet_ray(sheet, from, &towards)?)));
        met.chain(sheets)
            .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm))
            .map(|(name, hit)| Picked { name: name.clone(), hit })
    }

    /// The pump at `place` let down along z until it touches the first body or mover below; none
    /// when there is nothing below. Where it overlaps something it is first lifted clear.
    ///
    /// Method: conservative advancement; the pump never sinks farther than its smallest gap.
    pub fn drop_down(&self, place: &Place) -> Option<Place> {
        let mut place = *place;
        let bounds = self.pump_bounds(&place)?;
        let lowest =
            self.bodies.iter().map(|body| body.solid.bounds().low.z).fold(f64::INFINITY, f64::min);
        let mut budget_mm = bounds.high.z - lowest + 500.0;
        for _ in 0..400 {
            let nearest = self.smallest_gap_mm(&place, 200.0).unwrap_or(200.0);
            if nearest < 0.0 {
                place.at.z += -nearest + 1e-3;
                continue;
            }
            if nearest < 0.01 {
                // Touching: settled when something is under it, else it slides past a wall.
                let mut lower = place;
                lower.at.z -= 0.5;
                match self.smallest_gap_mm(&lower, 5.0) {
                    Some(below) if below < nearest - 0.2 => return Some(place),
                    _ => {
                        place = lower;
                        budget_mm -= 0.5;
                    }
                }
            } else {
                place.at.z -= nearest;
                budget_mm -= nearest;
            }
            if budget_mm < 0.0 {
                return None;
            }
        }
        Some(place)
    }

    /// Smallest gap between the pump at `place` and any body or mover where it was measured, mm,
    /// if it is at most `up_to_mm`; negative when they overlap, and then a bound below the depth where a
    /// mesh takes part: a push or a drag asks many times and needs to know whether, not how deep.
    pub fn smallest_gap_mm(&self, place: &Place, up_to_mm: f64) -> Option<f64> {
        let pump = self.pump_at(place);
        let solids = self
            .bodies
            .iter()
            .map(|body| &body.solid)
            .chain(self.movers.iter().flat_map(|m| &m.solids));
        let mut best: Option<f64> = None;
        for solid in solids {
            for part in &pump {
                let reach_mm = best.unwrap_or(up_to_mm).max(0.0);
                if let Some(found) = rough_gap(part, solid, reach_mm) {
                    best = Some(best.map_or(found.distance_mm, |best| best.min(found.distance_mm)));
                }
            }
        }
        best
    }

    /// The pump's solids where a spot puts them.
    pub fn pump_at(&self, place: &Place) -> Vec<Solid> {
        let pose = place.pose();
        self.pump_solids.iter().map(|solid| solid.moved(&pose)).collect()
    }

    fn pump_bounds(&self, place: &Place) -> Option<crate::geometry::Bounds> {
        self.pump_at(place).iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b))
    }
}

fn sheet_ray(sheet: &Triangles, from: &Point, towards: &Vector) -> Option<RayHit> {
    sheet
        .each()
        .filter_map(|[a, b, c]| {
            let normal = (b - a).cross(&(c - a)).try_normalize(1e-12)?;
            let along = normal.dot(towards);
            if along.abs() < 1e-9 {
                return None;
            }
            let distance_mm = normal.dot(&(a - from)) / along;
            let point = from + towards * distance_mm;
            let within = [(a, b), (b, c), (c, a)]
                .iter()
                .all(|(p, q)| normal.dot(&(q - p).cross(&(point - p))) >= -1e-6);
            (distance_mm > 0.0 && within).then_some(RayHit {
                distance_mm,
                point,
                normal: if along > 0.0 { -normal } else { normal },
            })
        })
        .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
}
