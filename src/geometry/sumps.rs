//! What of a tank's inside hangs together below a level: ridges part it.

use parry3d::query::PointQuery;
use parry3d::shape::Triangle;

use super::clip::{extent_mm, section, volume_below_mm3};
use super::joined::{join, root};
use super::triangles::Triangles;
use crate::frame::parry_from_point;
use crate::model::{Point, Vector};

/// How close a ridge's height is found, mm.
const CLOSE_MM: f64 = 1e-3;

/// Parts smaller than this don't count, mm³ (0.5 ml).
const TRACE_MM3: f64 = 500.0;

/// A closed surface made ready to be asked which parts of its inside hang together below a level.
#[derive(Clone)]
pub(crate) struct Sumps {
    surface: Triangles,
    /// Pairs of triangles and the edge that they share.
    joints: Vec<[u32; 4]>,
}

/// A part of the inside below a level: the surface round it, open at the level.
struct Part {
    round: Triangles,
    volume_mm3: f64,
}

impl Sumps {
    pub(crate) fn of(surface: &Triangles) -> Sumps {
        let mut edges: Vec<[u32; 3]> = Vec::with_capacity(surface.indices.len() * 3);
        for (triangle, corners) in surface.indices.iter().enumerate() {
            for side in 0..3 {
                let (a, b) = (corners[side], corners[(side + 1) % 3]);
                edges.push([a.min(b), a.max(b), triangle as u32]);
            }
        }
        edges.sort_unstable();
        let joints = edges
            .windows(2)
            .filter(|pair| pair[0][..2] == pair[1][..2])
            .map(|pair| [pair[0][2], pair[1][2], pair[0][0], pair[0][1]])
            .collect();
        Sumps { surface: surface.clone(), joints }
    }

    /// How high `volume_mm3` of fluid stands, at the least, in the part of the inside where `point` is, along
    /// the unit vector `up`, mm; none where all of it hangs together at `level_mm`, its common level.
    ///
    /// Where a ridge parts it, the other parts may have taken what they hold up to the ridge, whatever ran
    /// over it before: only what is left is sure to be where the point is. That may be nothing: the lowest
    /// place of its part then. Exact for two parts; of more, all others count as full.
    /// Cost: a look at each triangle below the level, and some forty where there are parts.
    pub(crate) fn sure_mm(
        &self,
        up: &Vector,
        level_mm: f64,
        volume_mm3: f64,
        point: &Point,
    ) -> Option<f64> {
        let (parts, own) = self.parts(up, level_mm, point)?;
        let others = |parts: &[Part], own: usize| {
            let apart = parts.iter().enumerate().filter(|(part, _)| *part != own);
            apart.map(|(_, part)| part.volume_mm3).filter(|mm3| *mm3 > TRACE_MM3).sum::<f64>()
        };
        if others(&parts, own) <= 0.0 {
            return None;
        }
        // The height up to which they stay apart: as long as the others hold no less than lower down.
        let (_, top_mm) = extent_mm(&self.surface, up)?;
        let (mut low, mut high) = (level_mm, top_mm);
        let others_mm3 = others(&parts, own);
        let mut last = (parts, own, others_mm3);
        while high - low > CLOSE_MM {
            let middle = f64::midpoint(low, high);
            match self.parts(up, middle, point) {
                Some((now, own)) if others(&now, own) >= last.2 => {
                    let others_mm3 = others(&now, own);
                    last = (now, own, others_mm3);
                    low = middle;
                }
                _ => high = middle,
            }
        }
        let (parts, own, others_mm3) = last;
        let left_mm3 = (volume_mm3 - others_mm3).max(0.0);
        let round = &parts[own].round;
        let (mut bottom, mut brim) = (extent_mm(round, up)?.0, low);
        for _ in 0..60 {
            let middle = f64::midpoint(bottom, brim);
            if volume_below_mm3(round, up, middle) < left_mm3 {
                bottom = middle;
            } else {
                brim = middle;
            }
        }
        Some(brim.min(level_mm))
    }

    /// The parts below a level, and which one a point is in or nearest to; none when nothing is below.
    fn parts(&self, up: &Vector, level_mm: f64, point: &Point) -> Option<(Vec<Part>, usize)> {
        let under: Vec<bool> =
            self.surface.vertices.iter().map(|at| up.dot(&at.coords) < level_mm).collect();
        let below = |corner: u32| under[corner as usize];
        let count = self.surface.indices.len();
        let mut joined: Vec<u32> = (0..count as u32).collect();
        for [a, b, from, to] in &self.joints {
            if below(*from) || below(*to) {
                join(&mut joined, *a, *b);
            }
        }
        let mut parts: Vec<Part> = Vec::new();
        let mut part_of = vec![usize::MAX; count];
        for (triangle, corners) in self.surface.indices.iter().enumerate() {
            if !corners.iter().any(|corner| below(*corner)) {
                continue;
            }
            let first = root(&mut joined, triangle as u32) as usize;
            if part_of[first] == usize::MAX {
                part_of[first] = parts.len();
                let vertices = self.surface.vertices.clone();
                let round = Triangles { vertices, indices: Vec::new() };
                parts.push(Part { round, volume_mm3: 0.0 });
            }
            parts[part_of[first]].round.indices.push(*corners);
        }
        for part in &mut parts {
            part.round = part.round.welded();
            part.volume_mm3 = volume_below_mm3(&part.round, up, level_mm);
        }
        if parts.len() > 1 {
            parts = self.with_islands(parts, up, level_mm);
        }
        let off = |part: &Part| {
            let at = parry_from_point(point);
            let apart = part.round.each().map(|corners| {
                let [a, b, c] = corners.map(|corner| parry_from_point(&corner));
                (Triangle::new(a, b, c).project_local_point(at, false).point - at).length_squared()
            });
            apart.fold(f64::INFINITY, f64::min)
        };
        let own = (0..parts.len()).min_by(|a, b| off(&parts[*a]).total_cmp(&off(&parts[*b])))?;
        Some((parts, own))
    }

    /// Parts of the surface that stand up from within another part's fluid, such as a pillar, joined to it.
    fn with_islands(&self, parts: Vec<Part>, up: &Vector, level_mm: f64) -> Vec<Part> {
        let across = [Vector::x(), Vector::y(), Vector::z()]
            .into_iter()
            .min_by(|a, b| a.dot(up).abs().total_cmp(&b.dot(up).abs()))
            .unwrap_or_else(Vector::x);
        let u = across.cross(up).normalize();
        let v = up.cross(&u);
        let flat = |at: &Point| (u.dot(&at.coords), v.dot(&at.coords));
        let loops: Vec<Vec<Vec<(f64, f64)>>> = parts
            .iter()
            .map(|part| {
                let cut = section(&part.round, up, level_mm);
                cut.iter().map(|corners| corners.iter().map(flat).collect()).collect()
            })
            .collect();
        let (mut outer, mut inner): (Vec<Part>, Vec<(Part, Vec<Vec<(f64, f64)>>)>) =
            (Vec::new(), Vec::new());
        let mut outlines: Vec<Vec<Vec<(f64, f64)>>> = Vec::new();
        for (part, loops) in parts.into_iter().zip(loops) {
            // An island's own inside is not fluid: round it its loops run the other way.
            if part.volume_mm3 < 0.0 || loops.iter().all(|corners| area(corners) < 0.0) {
                inner.push((part, loops));
            } else {
                outer.push(part);
                outlines.push(loops);
            }
        }
        for (part, loops) in inner {
            let corner = loops.first().and_then(|corners| corners.first()).copied();
            let corner = corner.or_else(|| part.round.vertices.first().map(flat));
            let holds = |loops: &Vec<Vec<(f64, f64)>>| {
                corner.is_some_and(|at| {
                    loops.iter().filter(|corners| winds_round(corners, at)).count() % 2 == 1
                })
            };
            let Some(into) = outlines.iter().position(holds).or((!outer.is_empty()).then_some(0))
            else {
                continue;
            };
            outer[into].round.append(&part.round);
            outer[into].volume_mm3 += part.volume_mm3;
        }
        outer
    }
}

fn area(corners: &[(f64, f64)]) -> f64 {
    let count = corners.len();
    let side = |index: usize| {
        let (a, b) = (corners[index], corners[(index + 1) % count]);
        a.0 * b.1 - b.0 * a.1
    };
    (0..count).map(side).sum()
}

/// Whether a ray to the right from a place crosses a loop an odd number of times.
fn winds_round(corners: &[(f64, f64)], at: (f64, f64)) -> bool {
    let count = corners.len();
    let crosses = |index: &usize| {
        let (a, b) = (corners[*index], corners[(*index + 1) % count]);
        (a.1 > at.1) != (b.1 > at.1) && a.0 + (b.0 - a.0) * (at.1 - a.1) / (b.1 - a.1) > at.0
    };
    (0..count).filter(crosses).count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::super::triangles::triangulate;
    use super::*;
    use crate::model::Axis;

    /// 50 mm along x; two sumps 40 mm wide beside a ridge 20 mm wide and 30 mm high, 60 mm up to the lid.
    fn ridged() -> Triangles {
        let outline = [
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 30.0),
            (60.0, 30.0),
            (60.0, 0.0),
            (100.0, 0.0),
            (100.0, 60.0),
            (0.0, 60.0),
        ];
        Triangles::extruded(Axis::X, &outline, &triangulate(&outline), 0.0, 50.0)
    }

    #[test]
    fn what_a_ridge_parts_is_sure_only_as_far_as_the_other_side_cant_hold_it() {
        let tank = ridged();
        let sumps = Sumps::of(&tank);
        let point = Point::new(25.0, 80.0, 5.0);
        // 40 × 50 mm² each; the other side holds 60 ml up to the ridge.
        for (level, ml, sure) in [(20.0, 80.0, 10.0), (28.0, 112.0, 26.0), (10.0, 40.0, 0.0)] {
            let found = sumps.sure_mm(&Vector::z(), level, ml * 1e3, &point).expect("two parts");
            assert!((found - sure).abs() < 0.01, "{level}: {found}");
        }
        // Over the ridge all of it is one: 120 ml and 2 mm over 100 × 50 mm².
        assert_eq!(sumps.sure_mm(&Vector::z(), 32.0, 130e3, &point), None);
        // Leaning, the ridge's edge on the point's side is 2 mm over its other one.
        let up = Vector::new(0.0, 0.1, 1.0).normalize();
        let level = up.dot(&Vector::new(0.0, 50.0, 20.0));
        let held = volume_below_mm3(&tank, &up, level);
        let found = sumps.sure_mm(&up, level, held, &point).expect("two parts");
        // Through that edge, z = 36 − 0.1 y: 34 mm on average on the other side, and 1 mm over the ridge.
        let others = 40.0 * 50.0 * 34.0 + 20.0 * 50.0 * 1.0;
        let mean = ((held - others) / 2000.0).max(0.0);
        let expected = up.dot(&Vector::new(0.0, 80.0, mean));
        assert!((found - expected).abs() < 0.01, "{found} {expected}");
    }

    #[test]
    fn a_pillar_parts_nothing() {
        let mut tank = Triangles::cuboid(&Point::origin(), &Point::new(100.0, 100.0, 60.0));
        let pillar = Triangles::cuboid(&Point::new(40.0, 40.0, 5.0), &Point::new(60.0, 60.0, 50.0));
        tank.append(&pillar.reversed());
        let sumps = Sumps::of(&tank);
        for level in [3.0, 20.0, 55.0] {
            let held = volume_below_mm3(&tank, &Vector::z(), level);
            let point = Point::new(20.0, 20.0, 1.0);
            assert_eq!(sumps.sure_mm(&Vector::z(), level, held, &point), None, "{level}");
        }
    }
}
