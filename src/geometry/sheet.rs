//! A thin surface with a front, such as a carpet in its place, and how far something stands out of it.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;
use parry3d::query::ClosestPoints;
use parry3d::query::details::closest_points_support_map_support_map;
use parry3d::shape::{Segment, Triangle};

use super::clip::keep_inside;
use super::sheet_regions::{Feature, Hollow, Region, regions};
use super::{Bounds, Solid, Triangles, across};
use crate::frame::{parry_from_point, point_from_parry};
use crate::model::{Point, Vector};

/// Farthest in front of the surface that is looked at, mm.
const FAR_MM: f64 = 500.0;

/// How closely the farthest point is found where a face, a fold and a hollow meet, mm.
const CLOSE_MM: f64 = 0.02;

/// Flat faces that meet in folds, each with a front; ready for questions.
#[derive(Clone)]
pub struct Sheet {
    triangles: Triangles,
    /// The flat face that each triangle is part of.
    face_of: Vec<usize>,
    faces: usize,
    regions: Vec<Region>,
    /// Folds that are hollow seen from the front, and so stick out behind.
    hollows: Vec<Hollow>,
    solid: Option<Solid>,
}

/// How far something stands out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandOut {
    /// In front of the surface along its normal, mm; negative when all of it stays behind.
    pub proud_mm: f64,
    /// The point that stands out farthest.
    pub at: Point,
    /// Which of the things asked about it belongs to, counted from 0.
    pub of: usize,
}

impl Sheet {
    /// Flat faces, each a list of corners counter-clockwise as seen from the front. Faces that share two
    /// neighbouring corners, within 0.1 mm, meet in a fold.
    pub fn of(faces: &[Vec<Point>]) -> Sheet {
        let mut triangles = Triangles::default();
        let mut face_of = Vec::new();
        for (index, face) in faces.iter().enumerate() {
            let flat = Triangles::polygon(face);
            face_of.extend(std::iter::repeat_n(index, flat.indices.len()));
            triangles.append(&flat);
        }
        let (regions, hollows) = regions(&triangles, &face_of);
        let solid = Solid::sheet(&triangles);
        Sheet { triangles, face_of, faces: faces.len(), regions, hollows, solid }
    }

    /// The same sheet moved without a turn.
    #[must_use]
    pub(crate) fn shifted(&self, by: &Vector) -> Sheet {
        let pose = crate::model::Pose::translation(by.x, by.y, by.z);
        let triangles = self.triangles.moved(&pose);
        let (regions, hollows) = regions(&triangles, &self.face_of);
        let solid = self.solid.as_ref().map(|solid| solid.moved(&pose));
        let face_of = self.face_of.clone();
        Sheet { triangles, regions, hollows, solid, face_of, faces: self.faces }
    }

    /// Its triangles.
    pub fn triangles(&self) -> &Triangles {
        &self.triangles
    }

    /// Lowest and highest of some flat polygons over the faces, along their normals; none when nothing
    /// lies over or under any. Over a hollow it is the highest over any face there.
    fn over_faces<'a>(
        &self,
        parts: impl Iterator<Item = (usize, &'a [Point])>,
    ) -> Option<(f64, StandOut)> {
        let mut found: Option<(f64, StandOut)> = None;
        for (of, part) in parts {
            for region in &self.regions {
                let Feature::Face { at, normal, .. } = &region.nearest else { continue };
                // The last side is the face itself; behind it counts here.
                let columns = &region.sides[..region.sides.len() - 1];
                for point in clipped(part, columns) {
                    let proud_mm = normal.dot(&(point - at));
                    if proud_mm.abs() > FAR_MM {
                        continue;
                    }
                    let (lowest, highest) =
                        found.get_or_insert((proud_mm, StandOut { proud_mm, at: point, of }));
                    *lowest = lowest.min(proud_mm);
                    if proud_mm > highest.proud_mm {
                        *highest = StandOut { proud_mm, at: point, of };
                    }
                }
            }
        }
        found
    }

    /// How far a rigid thing of these solids stands out; none when no part of it is behind the surface, or
    /// when it is nowhere over or under it: what stands wholly in front pushes nothing.
    ///
    /// Along flat faces and convex folds and corners it is exact for their triangles, in hollows within
    /// 0.02 mm: the distance from the point to the nearest place of the surface. Beside the rim nothing
    /// counts.
    pub fn stand_out(&self, solids: &[&Solid]) -> Option<StandOut> {
        let corners: Vec<(usize, [Point; 3])> = solids
            .iter()
            .enumerate()
            .flat_map(|(of, solid)| solid.triangles().each().map(move |corners| (of, corners)))
            .collect();
        self.stand_out_of(corners.iter().map(|(of, corners)| (*of, &corners[..])), 0.0)
    }

    /// How far a round line along these points stands out; as [`stand_out`](Self::stand_out).
    pub fn stand_out_of_line(&self, points: &[Point], radius_mm: f64) -> Option<StandOut> {
        self.stand_out_of(points.windows(2).enumerate(), radius_mm)
    }

    /// Of flat convex polygons or straights with a skin of `radius_mm` round them.
    fn stand_out_of<'a>(
        &self,
        parts: impl Iterator<Item = (usize, &'a [Point])> + Clone,
        radius_mm: f64,
    ) -> Option<StandOut> {
        let near = self.triangles.bounds()?.grown(FAR_MM);
        let parts = parts.filter(|(_, part)| {
            Bounds::of(part.iter()).is_some_and(|bounds| bounds.distance_mm(&near) <= 0.0)
        });
        let Some((lowest_mm, highest)) = self.over_faces(parts.clone()) else {
            let nowhere = StandOut { proud_mm: -FAR_MM, at: near.centre(), of: 0 };
            let behind = self.nearest_behind(parts, nowhere);
            let found = behind.proud_mm > -FAR_MM;
            return found.then_some(StandOut { proud_mm: behind.proud_mm + radius_mm, ..behind });
        };
        if lowest_mm - radius_mm >= 0.0 {
            return None;
        }
        let mut best: Option<StandOut> = None;
        for (of, part) in parts.clone() {
            for region in &self.regions {
                self.farthest(of, part, region, &mut best);
            }
        }
        let best = best.unwrap_or_else(|| {
            let highest = StandOut { proud_mm: highest.proud_mm.min(0.0), ..highest };
            self.nearest_behind(parts, highest)
        });
        Some(StandOut { proud_mm: best.proud_mm + radius_mm, ..best })
    }

    /// What of things wholly behind comes nearest: over a face, or at a fold that sticks out behind.
    fn nearest_behind<'a>(
        &self,
        parts: impl Iterator<Item = (usize, &'a [Point])>,
        highest: StandOut,
    ) -> StandOut {
        let mut nearest = highest;
        for (of, part) in parts {
            for Hollow { from, to, front } in &self.hollows {
                let up_to_mm = -nearest.proud_mm;
                if let Some((distance_mm, at)) = distance_to_straight(part, from, to, up_to_mm)
                    && distance_mm < up_to_mm
                    && front.dot(&(at - from)) < 0.0
                {
                    nearest = StandOut { proud_mm: -distance_mm, at, of };
                }
            }
        }
        nearest
    }

    /// The farthest point of a polygon in a region.
    fn farthest(&self, of: usize, part: &[Point], region: &Region, best: &mut Option<StandOut>) {
        let beaten = |best: &Option<StandOut>| best.map_or(1e-9, |best| best.proud_mm);
        let far = |bounds: Bounds| bounds.distance_mm(&region.foot) > FAR_MM;
        if Bounds::of(part.iter()).is_none_or(far) {
            return;
        }
        let most = |polygon: &[Point]| {
            polygon.iter().map(|at| region.nearest.distance_mm(at)).fold(0.0, f64::max)
        };
        if most(part) <= beaten(best) {
            return;
        }
        let mut open = vec![clipped(part, &region.sides)];
        while let Some(polygon) = open.pop() {
            let bound_mm = most(&polygon);
            if polygon.is_empty() || bound_mm <= beaten(best) + CLOSE_MM.min(bound_mm * 1e-9) {
                continue;
            }
            for at in &polygon {
                let proud_mm = region.nearest.distance_mm(at);
                if proud_mm > beaten(best) && proud_mm <= FAR_MM {
                    // In a hollow another face may be nearer.
                    let proud_mm = proud_mm.min(self.distance_mm(at));
                    if proud_mm > beaten(best) {
                        *best = Some(StandOut { proud_mm, at: *at, of });
                    }
                }
            }
            // The distance to the sheet changes by no more than the way between two points.
            let middle = middle_of(&polygon);
            let reach_mm = polygon.iter().map(|at| (at - middle).norm()).fold(0.0, f64::max);
            let bound_mm = bound_mm.min(self.distance_mm(&middle) + reach_mm);
            if bound_mm > beaten(best) + CLOSE_MM
                && let Some(halves) = halved(&polygon)
            {
                open.extend(halves);
            }
        }
    }

    fn distance_mm(&self, point: &Point) -> f64 {
        self.solid.as_ref().map_or(f64::INFINITY, |solid| solid.distance_to_point_mm(point).abs())
    }

    /// Where solids stand out of the flat faces by more than `give_mm`: the outlines of what would have to
    /// be cut out, corners in order in the face's plane, for each face in turn; holes run the other way.
    pub fn cut_outs(&self, solids: &[&Solid], give_mm: f64) -> Vec<Vec<Point>> {
        let mut shadows: Vec<Vec<Vec<[f64; 2]>>> = vec![Vec::new(); self.faces];
        let mut frames: Vec<Option<(Point, Vector, Vector)>> = vec![None; self.faces];
        for region in &self.regions {
            let Feature::Face { at, normal, face } = &region.nearest else { continue };
            let (from, u, v) = *frames[*face].get_or_insert_with(|| {
                let (u, v) = across(normal);
                (*at, u, v)
            });
            let mut sides = region.sides.clone();
            if let Some(last) = sides.last_mut() {
                last.0 += normal * give_mm;
            }
            for solid in solids {
                for corners in solid.triangles().each() {
                    let part = clipped(&corners, &sides);
                    let flat: Vec<[f64; 2]> =
                        part.iter().map(|at| [u.dot(&(at - from)), v.dot(&(at - from))]).collect();
                    let twice_area = twice_area(&flat);
                    if flat.len() >= 3 && twice_area.abs() > 1e-6 {
                        let turned =
                            if twice_area < 0.0 { flat.into_iter().rev().collect() } else { flat };
                        shadows[*face].push(turned);
                    }
                }
            }
        }
        let mut outlines = Vec::new();
        for (shadow, frame) in shadows.iter().zip(frames) {
            let Some((from, u, v)) = frame.filter(|_| !shadow.is_empty()) else { continue };
            for shape in shadow.simplify_shape(FillRule::NonZero) {
                for contour in shape {
                    outlines.push(contour.iter().map(|[a, b]| from + u * *a + v * *b).collect());
                }
            }
        }
        outlines
    }
}

fn twice_area(flat: &[[f64; 2]]) -> f64 {
    (0..flat.len())
        .map(|index| {
            let ([ax, ay], [bx, by]) = (flat[index], flat[(index + 1) % flat.len()]);
            ax * by - bx * ay
        })
        .sum()
}

fn middle_of(polygon: &[Point]) -> Point {
    let sum = polygon.iter().fold(Vector::zeros(), |sum, at| sum + at.coords);
    Point::from(sum / polygon.len().max(1) as f64)
}

/// The part of a convex polygon, or of a straight, inside planes.
fn clipped(part: &[Point], sides: &[(Point, Vector)]) -> Vec<Point> {
    // Most parts lie beside the region: wholly outside one plane.
    let outside =
        |(at, inward): &(Point, Vector)| part.iter().all(|corner| inward.dot(&(corner - at)) < 0.0);
    if sides.iter().any(outside) {
        return Vec::new();
    }
    let mut kept = part.to_vec();
    for (at, inward) in sides {
        kept = keep_inside(&kept, at, inward);
        if kept.is_empty() {
            break;
        }
    }
    kept
}

/// A convex polygon cut in two across its longest side; none when it is too small to matter.
fn halved(polygon: &[Point]) -> Option<[Vec<Point>; 2]> {
    let bounds = Bounds::of(polygon.iter())?;
    let size = bounds.high - bounds.low;
    let axis = size.imax();
    if size[axis] < CLOSE_MM {
        return None;
    }
    let middle = bounds.centre();
    let mut inward = Vector::zeros();
    inward[axis] = 1.0;
    Some([keep_inside(polygon, &middle, &inward), keep_inside(polygon, &middle, &-inward)])
}

/// How far a triangle or a straight is from the straight between two points, if it is at most
/// `up_to_mm`, and its nearest point.
fn distance_to_straight(
    part: &[Point],
    a: &Point,
    b: &Point,
    up_to_mm: f64,
) -> Option<(f64, Point)> {
    let straight = Segment::new(parry_from_point(a), parry_from_point(b));
    let here = parry3d::math::Pose::IDENTITY;
    let corners: Vec<_> = part.iter().map(parry_from_point).collect();
    let met = match corners[..] {
        [p, q] => {
            let other = Segment::new(p, q);
            closest_points_support_map_support_map(&here, &other, &straight, up_to_mm)
        }
        [p, q, r] => {
            let other = Triangle::new(p, q, r);
            closest_points_support_map_support_map(&here, &other, &straight, up_to_mm)
        }
        _ => return None,
    };
    match met {
        ClosestPoints::WithinMargin(on, foot) => Some(((on - foot).length(), point_from_parry(on))),
        ClosestPoints::Intersecting => Some((0.0, *a)),
        ClosestPoints::Disjoint => None,
    }
}
