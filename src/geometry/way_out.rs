//! The shortest straight move that sets one solid free of another.

use parry3d::query::details::closest_points_support_map_support_map;
use parry3d::query::{self, ClosestPoints};
use parry3d::shape::Triangle;

use super::Solid;
use super::barred::BarredMoves;
use super::gap::{buried, surfaces};
use super::nearest::{Convex, Nearest};
use super::piece::Piece;
use super::toward::{ROOM_MM, toward};
use crate::frame::{parry_from_pose, vector_from_parry};
use crate::model::{Point, Pose, Vector};

/// A move that sets the first solid free of the second, and where they touch then.
#[derive(Debug, Clone, Copy)]
pub(super) struct WayOut {
    pub(super) by: Vector,
    /// The point of the first solid that touches last, where it is now.
    pub(super) on_first: Point,
    /// The point of the second that it touches.
    pub(super) on_second: Point,
}

/// Steps of one slide towards the place where the solid is now.
const MOST_STEPS: usize = 40;

/// As far as surfaces are looked at from one step to the next, mm.
const LOOK_MM: (f64, f64) = (0.5, 8.0);

/// Starts that are followed to their ends.
const FOLLOWED: usize = 3;

/// Triangles that one step of a slide looks at, about: where a mesh is denser, it looks less far.
const MOST_NEAR: usize = 600;

/// Slides from free moves that the search finds; after these the moves are taken as they are.
const MOST_FOLLOWED: usize = 8;

/// How near the shortest move found comes to the shortest there is, mm.
const CLOSE_MM: f64 = 0.01;

/// A plane that keeps a pair of convex parts apart: moves `by` with `towards · by >= -room_mm` are free.
struct Kept {
    towards: Vector,
    room_mm: f64,
    on_first: Point,
    on_second: Point,
}

/// The shortest straight move of `first` found that sets it free of `second`; `least_mm` is a bound
/// below it, `hints` are directions to try first. None when none was found.
///
/// Every move found is free in truth, so the depth is never less than the true one. Method: along some
/// twenty directions, outwards until free; from the best of these places the solid slides back towards
/// where it is now. Each step of a slide goes to the nearest place within the planes that keep each
/// near pair of convex parts apart, which is free since the parts are convex. Then all shorter moves are
/// searched ([`BarredMoves`]) until none is left that is shorter by 0.01 mm; between two meshes, and where the search would take too much work
/// ([`BarredMoves::search`]), the move is the best found.
pub(super) fn way_out(
    first: &Solid,
    second: &Solid,
    least_mm: f64,
    hints: &[Vector],
) -> Option<WayOut> {
    let meshed = |solid: &Solid| solid.pieces.iter().any(|piece| piece.mesh.is_some());
    if !meshed(first) || meshed(second) {
        return way_out_of_first(first, second, least_mm, hints);
    }
    // The one without a mesh is moved, the other way.
    let back: Vec<Vector> = hints.iter().map(|hint| -hint).collect();
    let found = way_out_of_first(second, first, least_mm, &back)?;
    let (on_first, on_second) = (found.on_second, found.on_first);
    // What touches last is met where the other one stands, moved along.
    Some(WayOut { by: -found.by, on_first, on_second })
}

fn way_out_of_first(
    first: &Solid,
    second: &Solid,
    least_mm: f64,
    hints: &[Vector],
) -> Option<WayOut> {
    let quest = Quest { first, second };
    let extent = (first.bounds().high - first.bounds().low).norm();
    let beyond = extent + (second.bounds().high - second.bounds().low).norm();
    let step_mm = (extent / 24.0).clamp(1.0, 20.0);
    let mut best: Option<(f64, Vector)> = None;
    let mut starts: Vec<(f64, Vector)> = Vec::new();
    for towards in hints.iter().copied().chain(directions(first)) {
        let up_to_mm = best.map_or(beyond, |(best_mm, _)| best_mm * 1.4 + step_mm).min(beyond);
        let Some(free_mm) = quest.first_free(&towards, least_mm, step_mm, up_to_mm) else {
            continue;
        };
        starts.push((free_mm, towards * free_mm));
        if best.is_none_or(|(best_mm, _)| free_mm < best_mm) {
            best = Some((free_mm, towards * free_mm));
        }
        if free_mm <= least_mm + 0.01 {
            break;
        }
    }
    starts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best: Option<(f64, Vector)> = None;
    let barred = starts.first().and_then(|(mm, _)| BarredMoves::of(first, second, mm + LOOK_MM.1));
    let flat = barred.as_ref().filter(|barred| barred.flat());
    let follow = |from: Vector, best: &mut Option<(f64, Vector)>| {
        let end = quest.slide(from, best.map_or(f64::INFINITY, |(best_mm, _)| best_mm), flat);
        if best.is_none_or(|(best_mm, _)| end.norm() < best_mm) {
            *best = Some((end.norm(), end));
        }
    };
    let near_enough =
        |best: &Option<(f64, Vector)>| best.is_some_and(|(mm, _)| mm <= least_mm + 0.01);
    for (_, start) in starts.iter().take(FOLLOWED) {
        if !near_enough(&best) {
            follow(*start, &mut best);
        }
    }
    // Rough ground has a hollow beside each hollow: look for nearer ways until there is none.
    if !near_enough(&best)
        && let Some((mm, _)) = best
        && let Some(barred) = &barred
    {
        let mut followed = 0;
        let inner = first.pieces.first().map(|piece| middle_of(&piece.samples));
        let deep_mm =
            |by: &Vector| inner.map_or(0.0, |at| -second.distance_to_point_mm(&(at + by)));
        barred.search(
            least_mm,
            mm,
            CLOSE_MM,
            |by| quest.free(by),
            deep_mm,
            |start| {
                followed += 1;
                if followed <= MOST_FOLLOWED {
                    follow(start, &mut best);
                } else if best.is_none_or(|(mm, _)| start.norm() < mm) {
                    best = Some((start.norm(), start));
                }
                best.map_or(mm, |(mm, _)| mm)
            },
        );
    }
    let (_, by) = best?;
    // Contact may be too close to have planes; the move is free all the same.
    let kept = quest.kept(&by, 1.0).unwrap_or_default();
    let last = kept.iter().min_by(|a, b| a.room_mm.total_cmp(&b.room_mm));
    let (on_first, on_second) = match last {
        Some(kept) => (kept.on_first - by, kept.on_second),
        None => (first.bounds().centre(), first.bounds().centre() + by),
    };
    Some(WayOut { by, on_first, on_second })
}

/// Directions to try: the first solid's own axes, those of the frame, and between them.
fn directions(first: &Solid) -> Vec<Vector> {
    let mut found = Vec::new();
    let turn = first.pieces.first().map_or_else(Pose::identity, |piece| piece.pose).rotation;
    for axis in [Vector::z(), Vector::x(), Vector::y()] {
        for way in [axis, turn * axis] {
            found.extend([way, -way]);
        }
    }
    for x in [-1.0, 1.0] {
        for y in [-1.0, 1.0] {
            for z in [1.0, -1.0] {
                found.push(Vector::new(x, y, z).normalize());
            }
        }
    }
    found
}

/// The mean of some points; inside when they are the corners of something convex.
fn middle_of(points: &[Point]) -> Point {
    let sum = points.iter().fold(Vector::zeros(), |sum, point| sum + point.coords);
    Point::from(sum / points.len().max(1) as f64)
}

struct Quest<'a> {
    first: &'a Solid,
    second: &'a Solid,
}

impl Quest<'_> {
    fn pairs(&self) -> impl Iterator<Item = (&Piece, &Piece)> {
        self.first.pieces.iter().flat_map(|a| self.second.pieces.iter().map(move |b| (a, b)))
    }

    /// Whether the first solid, moved by `by`, is free of the second; touching within rounding isn't.
    fn free(&self, by: &Vector) -> bool {
        self.pairs().all(|(a, b)| {
            let near = a.bounds.shifted(by).distance_mm(&b.bounds) <= 0.0;
            !near || {
                let by = Pose::translation(by.x, by.y, by.z);
                match surfaces(a, &(by * a.pose), b, 0.0) {
                    Nearest::Beyond => !buried(a, &by, b),
                    Nearest::Apart { .. } | Nearest::Crossing => false,
                }
            }
        })
    }

    /// How far along `towards` the first free place lies, looked for from `least_mm` in steps.
    fn first_free(
        &self,
        towards: &Vector,
        least_mm: f64,
        step_mm: f64,
        up_to_mm: f64,
    ) -> Option<f64> {
        let mut taken = 0.0;
        let mut at_mm = least_mm;
        while at_mm <= up_to_mm + step_mm {
            if self.free(&(towards * at_mm)) {
                // Halve back to where it was not free.
                let (mut low, mut high) = (at_mm - if taken > 0.0 { step_mm } else { 0.0 }, at_mm);
                while high - low > 0.05 {
                    let middle = f64::midpoint(low, high);
                    if self.free(&(towards * middle)) { high = middle } else { low = middle }
                }
                return Some(high);
            }
            taken += step_mm;
            at_mm += step_mm;
        }
        None
    }

    /// Slides from a free place towards home as far as it goes; gives up when it can't beat `beat_mm`.
    fn slide(&self, from: Vector, beat_mm: f64, barred: Option<&BarredMoves>) -> Vector {
        // Contact itself has no direction: begin a hair away from it.
        let mut at = from + from.try_normalize(1e-12).unwrap_or_else(Vector::z) * (2.0 * ROOM_MM);
        // Sets are cheap to ask, so they may be looked at from farther.
        let most_mm = if barred.is_some() { 3.0 * LOOK_MM.1 } else { LOOK_MM.1 };
        let mut look_mm = most_mm;
        for step in 0..MOST_STEPS {
            while barred.is_none() && look_mm > LOOK_MM.0 && self.crowded(&at, look_mm) {
                look_mm = (look_mm / 2.0).max(LOOK_MM.0);
            }
            let planes = match barred {
                Some(barred) => barred.kept(&at, look_mm),
                None => self
                    .kept(&at, look_mm)
                    .map(|kept| kept.iter().map(|kept| (kept.towards, kept.room_mm)).collect()),
            };
            let Some(planes) = planes else { break };
            let by = toward(&-at, &planes, look_mm - ROOM_MM);
            let gained_mm = at.norm() - (at + by).norm();
            if gained_mm < 1e-4 {
                break;
            }
            at += by;
            look_mm = (by.norm() * 1.5).clamp(LOOK_MM.0, most_mm);
            // What still gains a little each step won't catch up.
            if step >= 6 && at.norm() - gained_mm * 12.0 > beat_mm {
                break;
            }
        }
        at
    }

    /// Whether many triangles come within `near_mm` of a convex part when the first solid is moved by `by`.
    fn crowded(&self, by: &Vector, near_mm: f64) -> bool {
        self.pairs().any(|(a, b)| {
            let pose =
                parry_from_pose(&b.pose.inv_mul(&(Pose::translation(by.x, by.y, by.z) * a.pose)));
            match (a.shape.as_trimesh(), b.shape.as_trimesh()) {
                (None, Some(mesh)) => Convex::of(&*a.shape)
                    .is_some_and(|it| it.crowded(mesh, &pose.inverse(), near_mm, MOST_NEAR)),
                (Some(mesh), None) => Convex::of(&*b.shape)
                    .is_some_and(|it| it.crowded(mesh, &pose, near_mm, MOST_NEAR)),
                _ => false,
            }
        })
    }

    /// Planes between all pairs of convex parts within `near_mm` when the first solid is moved by `by`;
    /// none when any overlap.
    fn kept(&self, by: &Vector, near_mm: f64) -> Option<Vec<Kept>> {
        let mut kept = Vec::new();
        for (a, b) in self.pairs() {
            if a.bounds.shifted(by).distance_mm(&b.bounds) > near_mm {
                continue;
            }
            let pose = Pose::translation(by.x, by.y, by.z) * a.pose;
            planes(a, &pose, b, near_mm, &mut kept)?;
        }
        Some(kept)
    }
}

/// Adds the planes between the convex parts of two pieces; none when any overlap.
fn planes(a: &Piece, pose_a: &Pose, b: &Piece, near_mm: f64, kept: &mut Vec<Kept>) -> Option<()> {
    let mut keep = |frame: &Pose, nearest: Nearest, turned: bool| match nearest {
        Nearest::Beyond => Some(()),
        Nearest::Crossing => None,
        Nearest::Apart { distance_mm, on_first, on_second } => {
            let there = |at| frame * Point::from(vector_from_parry(at));
            let (mut on_first, mut on_second) = (there(on_first), there(on_second));
            if turned {
                std::mem::swap(&mut on_first, &mut on_second);
            }
            let towards = (on_first - on_second).try_normalize(1e-12)?;
            kept.push(Kept { towards, room_mm: distance_mm, on_first, on_second });
            Some(())
        }
    };
    match (a.shape.as_trimesh(), b.shape.as_trimesh()) {
        (None, None) => {
            let (here, there) = (parry_from_pose(pose_a), parry_from_pose(&b.pose));
            match query::closest_points(&here, &*a.shape, &there, &*b.shape, near_mm).ok()? {
                ClosestPoints::Disjoint => Some(()),
                ClosestPoints::Intersecting => None,
                ClosestPoints::WithinMargin(on_first, on_second) => {
                    let distance_mm = (on_first - on_second).length();
                    let apart = Nearest::Apart { distance_mm, on_first, on_second };
                    keep(&Pose::identity(), apart, false)
                }
            }
        }
        (None, Some(mesh)) => {
            let convex = Convex::of(&*a.shape)?;
            let pose = parry_from_pose(&pose_a.inv_mul(&b.pose));
            let mut clear = Some(());
            convex.triangles_near(mesh, &pose, near_mm, |triangle| {
                if clear.is_some() {
                    clear = keep(pose_a, convex.to_triangle(triangle, near_mm), false);
                }
            });
            clear
        }
        (Some(mesh), None) => {
            let convex = Convex::of(&*b.shape)?;
            let pose = parry_from_pose(&b.pose.inv_mul(pose_a));
            let mut clear = Some(());
            convex.triangles_near(mesh, &pose, near_mm, |triangle| {
                if clear.is_some() {
                    clear = keep(&b.pose, convex.to_triangle(triangle, near_mm), true);
                }
            });
            clear
        }
        (Some(mesh_a), Some(mesh_b)) => {
            let pose = parry_from_pose(&b.pose.inv_mul(pose_a));
            let round_b = mesh_b.local_aabb();
            let corner = round_b.half_extents();
            let cuboid = parry3d::shape::Cuboid::new(corner);
            let mut near: Vec<Triangle> = Vec::new();
            let centred =
                parry3d::math::Pose::from_parts(pose.translation - round_b.center(), pose.rotation);
            let shift = round_b.center();
            Convex::of(&cuboid)?.triangles_near(mesh_a, &centred, near_mm, |triangle| {
                near.push(Triangle::new(
                    triangle.a + shift,
                    triangle.b + shift,
                    triangle.c + shift,
                ));
            });
            let here = parry3d::math::Pose::IDENTITY;
            for triangle in &near {
                let convex = Convex::of(triangle)?;
                let mut clear = Some(());
                convex.triangles_near(mesh_b, &here, near_mm, |other| {
                    if clear.is_some() {
                        let met =
                            closest_points_support_map_support_map(&here, triangle, other, near_mm);
                        let nearest = match met {
                            ClosestPoints::Intersecting => Nearest::Crossing,
                            ClosestPoints::Disjoint => Nearest::Beyond,
                            ClosestPoints::WithinMargin(on_first, on_second) => Nearest::Apart {
                                distance_mm: (on_first - on_second).length(),
                                on_first,
                                on_second,
                            },
                        };
                        clear = keep(&b.pose, nearest, false);
                    }
                });
                clear?;
            }
            Some(())
        }
    }
}
