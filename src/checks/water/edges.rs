//! Where sheet ends under a drop: at an edge of the floor, and down an upright face to its foot.

use super::tracks::{DROP_MM, DripTrack, Follow, LEVEL, MOST_STEPS, Next, STEP_MM};
use crate::geometry::{Brink, RayHit};
use crate::model::{Point, Vector};

/// A face on which rain runs down beside the floor rather than over it rises by more than 1.5 mm for each
/// mm of plan, as a step of the height grid does: upward part of its normal.
const UPRIGHT: f64 = 0.5547;

/// How often a step is halved to find where sheet ends in it: to within 0.05 mm.
const EDGE_HALVINGS: usize = 7;

/// How far beside a wall the floor of a drop at it is looked for, in steps of the grid.
const NEAR_STEPS: f64 = 2.2;

impl Follow<'_> {
    /// Where a drop that runs from `from` over an edge of the floor leaves it, and where it falls from: the
    /// sheet ends anywhere in the last square.
    pub(super) fn over_brink(&self, from: &Point, brink: &Brink) -> [Point; 2] {
        let upper_mm = brink.border.z;
        let least_mm = f64::midpoint(brink.lower_mm, upper_mm).max(upper_mm - 2.0 * STEP_MM);
        let under = |share: f64| {
            let at = Point::new(
                from.x + (brink.border.x - from.x) * share,
                from.y + (brink.border.y - from.y) * share,
                upper_mm + STEP_MM,
            );
            let hit = self.ahead(&at, &-Vector::z(), 3.0 * STEP_MM);
            hit.filter(|(met, hit)| self.holds(*met) && hit.point.z >= least_mm)
                .map(|(_, hit)| hit.point)
        };
        let (mut on, mut off) = (0.0, 1.0);
        let mut edge = under(on).unwrap_or(*from);
        for _ in 0..EDGE_HALVINGS {
            let middle = f64::midpoint(on, off);
            match under(middle) {
                Some(point) => (on, edge) = (middle, point),
                None => off = middle,
            }
        }
        if (edge - brink.border).dot(&brink.out).abs() < 2.0 * DROP_MM / 10.0 {
            // It ends at the border, as measured faces do.
            (edge.x, edge.y) = (brink.border.x, brink.border.y);
        }
        [edge, self.hangs_at(&edge, &brink.out)]
    }

    /// Where a drop at an edge hangs: half a drop out from it, nearer where something stands there.
    fn hangs_at(&self, edge: &Point, out: &Vector) -> Point {
        let free_mm = self.ahead(&(edge + self.up * 1e-3), out, DROP_MM);
        let free_mm = free_mm.map_or(DROP_MM, |(_, hit)| hit.distance_mm / 2.0);
        edge + out * free_mm
    }

    /// The cell that a drop on sheet comes to and where: its own, or, on an upright face, the one at the
    /// face's foot, down which it runs; the squares that the face itself stands in are up to a step wide.
    ///
    /// What else comes of it where it doesn't come to a floor: the face ends, or something stands in the way.
    pub(super) fn foot(
        &self,
        track: &mut DripTrack,
        hit: &RayHit,
        normal: &Vector,
    ) -> Result<(usize, Point), Next> {
        let grid = self.water.drip_grid();
        let beside = |at: &Point, normal: &Vector| {
            let off = [0.01, 0.6, 1.2, 1.8].map(|steps| normal * (steps * grid.step_mm));
            off.iter().find_map(|off| grid.cell_under(&(at + off)))
        };
        let (mut at, mut normal) = (hit.point, *normal);
        if normal.z > UPRIGHT {
            return self.cell_near(&at).map(|cell| (cell, at)).ok_or(Next::Ends);
        }
        if let Some(cell) = beside(&at, &normal).filter(|cell| grid.floor_mm(*cell) >= at.z - 1.0) {
            return Ok((cell, at));
        }
        // Down the face to the floor beside it.
        for _ in 0..MOST_STEPS {
            let Some(down) = (normal * normal.dot(&self.up) - self.up).try_normalize(1e-6) else {
                break;
            };
            let cell = beside(&at, &normal);
            let left_mm = cell.map(|cell| (at.z - grid.floor_mm(cell)) / (-down.z).max(0.1));
            let step_mm = left_mm.map_or(STEP_MM, |left| left.clamp(0.0, STEP_MM));
            // Something on the face stops it or leads it on.
            let from = at + normal * DROP_MM;
            if let Some((met, there)) = self.ahead(&from, &down, step_mm)
                && !self.holds(met)
            {
                self.push(track, met, there.point);
                return Err(Next::Over(met, there));
            }
            if let (Some(cell), true) = (cell, left_mm.is_some_and(|left| left <= STEP_MM)) {
                let on = at + down * step_mm;
                let foot = Point::new(on.x, on.y, grid.floor_mm(cell));
                track.points.push(foot);
                return Ok((cell, foot));
            }
            let on_face = |far_mm: f64| {
                let over = at + down * far_mm + normal * STEP_MM;
                let found = self.ahead(&over, &-normal, 2.0 * STEP_MM);
                found.filter(|(met, hit)| self.holds(*met) && hit.normal.dot(&self.up) > -LEVEL)
            };
            let Some((_, there)) = on_face(STEP_MM) else {
                // The face ends within this step.
                let (mut on, mut off) = (0.0, STEP_MM);
                for _ in 0..EDGE_HALVINGS {
                    let middle = f64::midpoint(on, off);
                    if on_face(middle).is_some() { on = middle } else { off = middle }
                }
                let end = at + down * off;
                track.points.push(at + down * on);
                track.points.push(self.hangs_at(&end, &normal));
                return Err(Next::Falls);
            };
            let turned = (there.normal - normal).norm() > 1e-6;
            at = there.point;
            normal = there.normal;
            if turned {
                track.points.push(at);
            }
            if normal.z > UPRIGHT {
                return self.cell_near(&at).map(|cell| (cell, at)).ok_or(Next::Ends);
            }
        }
        Err(Next::Ends)
    }

    /// The cell on whose floor a drop lies: the storey of its square whose floor is at its height; where a
    /// wall beside it takes up that square, the nearest one in sight of it.
    fn cell_near(&self, at: &Point) -> Option<usize> {
        let grid = self.water.drip_grid();
        let off_mm = |cell: usize| (grid.floor_mm(cell) - at.z).abs();
        if let Some(square) = grid.cell(at.x, at.y) {
            let cell = grid.storeys(square).min_by(|a, b| off_mm(*a).total_cmp(&off_mm(*b)))?;
            let (along, across) = grid.sides_mm(cell);
            if off_mm(cell) <= along.max(across) / UPRIGHT {
                return Some(cell);
            }
        }
        let over = at + self.up;
        let apart_mm = |cell: usize| (grid.centre(cell).xy() - at.xy()).norm();
        grid.squares_round(at.x, at.y, NEAR_STEPS * grid.step_mm)
            .into_iter()
            .flat_map(|square| grid.storeys(square))
            .filter(|cell| off_mm(*cell) <= NEAR_STEPS * grid.step_mm)
            .filter(|cell| {
                let there = grid.centre(*cell) + self.up;
                !self.bodies.iter().any(|body| body.solid.blocks(&over, &there))
            })
            .min_by(|a, b| apart_mm(*a).total_cmp(&apart_mm(*b)))
    }
}
