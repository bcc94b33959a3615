//! How far apart two solids are, or how deep they overlap.

use parry3d::query::{self, ClosestPoints};

use super::Solid;
use super::nearest::{Convex, Nearest, mesh_to_mesh};
use super::piece::Piece;
use super::skin::deepest_behind;
use super::way_out::way_out;
use crate::frame::{parry_from_pose, point_from_parry};
use crate::model::{Point, Pose, Vector};

/// A signed gap with its witness points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Distance between the surfaces, mm; negative is the depth of overlap.
    pub distance_mm: f64,
    /// The point on the first solid.
    pub on_first: Point,
    /// The point on the second solid.
    pub on_second: Point,
}

/// The gap between two solids, if it is at most `up_to_mm`; none when they are farther apart.
///
/// Touching is 0. A closed mesh is solid: something wholly inside it overlaps it. An open one is a sheet;
/// one that was given a front overlaps by the deepest corner behind it. Overlap depth is the
/// length of the shortest straight move that sets the first free. Between two convex solids it is exact;
/// where a mesh or a hollow-sided prism takes part it is the shortest that was found, proven free, so
/// never less than the true one. Its witness points are those that touch last, the first where it is
/// now.
/// Cost: one GJK query per pair of convex pieces, a walk down the tree of a mesh; of an overlap with a
/// mesh some hundred such walks. See `gaps` under tests/bench.
///
/// ```
/// use dryberth::geometry::{Solid, gap};
/// use dryberth::model::{Point, Pose, Shape};
/// let cube = |x: f64| {
///     let shape = Shape::Box { from: Point::new(x, 0.0, 0.0), to: Point::new(x + 2.0, 2.0, 2.0) };
///     Solid::of(&shape, &Pose::identity(), |_| None).unwrap()
/// };
/// // Cubes with half-edge 1, centres 3 apart: the gap is 1; centres 1.5 apart: depth 0.5.
/// assert!((gap(&cube(0.0), &cube(3.0), 10.0).unwrap().distance_mm - 1.0).abs() < 1e-9);
/// assert!((gap(&cube(0.0), &cube(1.5), 10.0).unwrap().distance_mm + 0.5).abs() < 1e-9);
/// assert!(gap(&cube(0.0), &cube(30.0), 10.0).is_none());
/// ```
pub fn gap(first: &Solid, second: &Solid, up_to_mm: f64) -> Option<Gap> {
    let found = rough_gap(first, second, up_to_mm)?;
    let convex = |solid: &Solid| solid.pieces.len() == 1 && solid.pieces[0].mesh.is_none();
    let sided = |solid: &Solid| solid.pieces.iter().any(|piece| piece.sided.is_some());
    let known = convex(first) && convex(second) || sided(first) || sided(second);
    if found.distance_mm >= 0.0 || known {
        return Some(found);
    }
    let least_mm = -found.distance_mm;
    let hint = (found.on_second - found.on_first).try_normalize(1e-9);
    let hints: Vec<Vector> = hint.into_iter().collect();
    Some(match way_out(first, second, least_mm, &hints) {
        Some(out) if out.by.norm() > least_mm => {
            Gap { distance_mm: -out.by.norm(), on_first: out.on_first, on_second: out.on_second }
        }
        _ => found,
    })
}

/// Like [`gap`], but where a mesh or a hollow-sided prism takes part, overlap depth is a bound below the
/// true one, found at once: the depth between the surfaces' parts or of the deepest corner, whichever is
/// larger. What is apart is as exact as in [`gap`].
pub fn rough_gap(first: &Solid, second: &Solid, up_to_mm: f64) -> Option<Gap> {
    if first.bounds().distance_mm(second.bounds()) > up_to_mm + skins_mm(first, second) {
        return None;
    }
    nearest_pair(first, &second.pieces, &Pose::identity(), up_to_mm)
}

/// The quick gap when `by` has moved the second solid, without moving it as a whole; where it is more than
/// `up_to_mm`, a bound below it that is no less than that, mm.
pub(super) fn rough_gap_moved(
    first: &Solid,
    second: &Solid,
    by: &Pose,
    up_to_mm: f64,
) -> Result<Gap, f64> {
    let boxes_mm = first.bounds().distance_mm(&second.bounds().turned(by));
    let apart_mm = boxes_mm - skins_mm(first, second);
    if apart_mm > up_to_mm {
        return Err(apart_mm);
    }
    nearest_pair(first, &second.pieces, by, up_to_mm).ok_or(up_to_mm)
}

/// How far what belongs to two solids may reach out of their open meshes, mm.
fn skins_mm(first: &Solid, second: &Solid) -> f64 {
    first.pieces.iter().chain(&second.pieces).map(Piece::skin_mm).sum()
}

fn nearest_pair(first: &Solid, second: &[Piece], by: &Pose, up_to_mm: f64) -> Option<Gap> {
    let still = *by == Pose::identity();
    let mut best: Option<Gap> = None;
    for b in second {
        let (pose, bounds) =
            if still { (b.pose, b.bounds) } else { (by * b.pose, b.bounds_at(&(by * b.pose))) };
        for a in &first.pieces {
            let reach_mm = best.map_or(up_to_mm, |gap| gap.distance_mm.clamp(0.0, up_to_mm));
            if a.bounds.distance_mm(&bounds) <= reach_mm + a.skin_mm() + b.skin_mm()
                && let Some(found) = piece_gap(a, b, by, &pose, reach_mm)
                && best.is_none_or(|best| found.distance_mm < best.distance_mm)
            {
                best = Some(found);
            }
        }
    }
    best
}

/// The gap between a solid and the straight between two points, if it is at most `up_to_mm`; 0 or
/// less when they meet, none when they are farther apart.
///
/// ```
/// use dryberth::geometry::{Solid, gap_to_straight};
/// use dryberth::model::{Point, Pose, Shape};
/// let shape = Shape::Box { from: Point::origin(), to: Point::new(2.0, 2.0, 2.0) };
/// let cube = Solid::of(&shape, &Pose::identity(), |_| None).unwrap();
/// let (from, to) = (Point::new(1.0, 5.0, -9.0), Point::new(1.0, 5.0, 9.0));
/// assert!((gap_to_straight(&cube, &from, &to, 10.0).unwrap() - 3.0).abs() < 1e-9);
/// ```
pub fn gap_to_straight(solid: &Solid, from: &Point, to: &Point, up_to_mm: f64) -> Option<f64> {
    let straight = Piece::straight(from, to);
    let mut best: Option<f64> = None;
    for piece in &solid.pieces {
        let reach_mm = best.unwrap_or(up_to_mm).max(0.0);
        if piece.bounds.distance_mm(&straight.bounds) <= reach_mm
            && let Some(found) =
                piece_gap(&straight, piece, &Pose::identity(), &piece.pose, reach_mm)
        {
            best = Some(best.map_or(found.distance_mm, |best| best.min(found.distance_mm)));
        }
    }
    best
}

/// The gap between a piece and another that `by` has moved to `pose`; skins with a front or a thickness
/// counted.
fn piece_gap(a: &Piece, b: &Piece, by: &Pose, pose: &Pose, up_to_mm: f64) -> Option<Gap> {
    if a.sided.is_none() && b.sided.is_none() {
        return bare_gap(a, b, by, pose, up_to_mm);
    }
    let thick_mm = a.half_thick_mm() + b.half_thick_mm();
    let found = bare_gap(a, b, by, pose, up_to_mm + thick_mm)
        .map(|gap| Gap { distance_mm: gap.distance_mm - thick_mm, ..gap });
    let behind = deepest_behind(a, &b.moved(by));
    // Of two depths the larger; what is behind is not apart.
    let both = found.into_iter().chain(behind);
    both.min_by(|x, y| x.distance_mm.total_cmp(&y.distance_mm))
        .filter(|gap| gap.distance_mm <= up_to_mm)
}

fn bare_gap(a: &Piece, b: &Piece, by: &Pose, pose: &Pose, up_to_mm: f64) -> Option<Gap> {
    let inside = || {
        let hidden = (a.mesh.is_some() || b.mesh.is_some()) && buried(b, by, a);
        hidden.then(|| deepest(a, &b.moved(by))).flatten()
    };
    match surfaces(b, pose, a, up_to_mm).flipped() {
        Nearest::Apart { distance_mm, on_first, on_second } => {
            let (on_first, on_second) = (point_from_parry(on_first), point_from_parry(on_second));
            Some(inside().unwrap_or(Gap { distance_mm, on_first, on_second }))
        }
        Nearest::Beyond => inside(),
        Nearest::Crossing => {
            let b = b.moved(by);
            let surface = overlap(a, &b);
            let deeper = deepest(a, &b).filter(|inside| inside.distance_mm < surface.distance_mm);
            Some(deeper.unwrap_or(surface))
        }
    }
}

/// How the surfaces of two pieces stand to each other, with `a` at `pose`; convex pieces are filled.
/// Points are in the frame of both solids.
pub(super) fn surfaces(a: &Piece, pose: &Pose, b: &Piece, up_to_mm: f64) -> Nearest {
    let placed = |frame: &Pose, nearest: Nearest| match nearest {
        Nearest::Apart { distance_mm, on_first, on_second } => {
            let frame = parry_from_pose(frame);
            Nearest::Apart {
                distance_mm,
                on_first: frame.transform_point(on_first),
                on_second: frame.transform_point(on_second),
            }
        }
        other => other,
    };
    match (a.shape.as_trimesh(), b.shape.as_trimesh()) {
        (None, None) => {
            let (pose_a, pose_b) = (parry_from_pose(pose), parry_from_pose(&b.pose));
            match query::closest_points(&pose_a, &*a.shape, &pose_b, &*b.shape, up_to_mm) {
                Ok(ClosestPoints::WithinMargin(on_first, on_second)) => Nearest::Apart {
                    distance_mm: (on_first - on_second).length(),
                    on_first,
                    on_second,
                },
                Ok(ClosestPoints::Intersecting) => Nearest::Crossing,
                Ok(ClosestPoints::Disjoint) | Err(_) => Nearest::Beyond,
            }
        }
        (None, Some(mesh)) => match Convex::of(&*a.shape) {
            Some(convex) => {
                let there = parry_from_pose(&pose.inv_mul(&b.pose));
                placed(pose, convex.to_mesh(mesh, &there, up_to_mm))
            }
            None => Nearest::Beyond,
        },
        (Some(mesh), None) => match Convex::of(&*b.shape) {
            Some(convex) => {
                let there = parry_from_pose(&b.pose.inv_mul(pose));
                placed(&b.pose, convex.to_mesh(mesh, &there, up_to_mm)).flipped()
            }
            None => Nearest::Beyond,
        },
        (Some(mesh_a), Some(mesh_b)) if mesh_a.num_triangles() <= mesh_b.num_triangles() => {
            let there = parry_from_pose(&b.pose.inv_mul(pose));
            placed(&b.pose, mesh_to_mesh(mesh_a, &there, mesh_b, up_to_mm))
        }
        (Some(mesh_a), Some(mesh_b)) => {
            let there = parry_from_pose(&pose.inv_mul(&b.pose));
            placed(pose, mesh_to_mesh(mesh_b, &there, mesh_a, up_to_mm)).flipped()
        }
    }
}

/// Whether the surfaces of `a`, moved by `by`, and `b` don't meet because one lies wholly inside the
/// other, a closed mesh. Asked only when they don't meet.
pub(super) fn buried(a: &Piece, by: &Pose, b: &Piece) -> bool {
    let closed = |piece: &Piece| piece.mesh == Some(true);
    if !closed(a) && !closed(b) {
        return false;
    }
    // Surfaces that don't meet are all in or all out: any one point tells.
    let bounds = a.bounds_at(&(by * a.pose));
    let first = |piece: &Piece| piece.samples.first().copied();
    closed(b) && b.bounds.covers(&bounds) && first(a).is_some_and(|at| b.project(&(by * at)).1)
        || closed(a)
            && bounds.covers(&b.bounds)
            && first(b).is_some_and(|at| a.project(&by.inverse_transform_point(&at)).1)
}

/// The deepest known point of either piece inside the other, a closed mesh.
fn deepest(a: &Piece, b: &Piece) -> Option<Gap> {
    if let Some((depth_mm, on_first, on_second)) = deepest_inside(a, b) {
        return Some(Gap { distance_mm: -depth_mm, on_first, on_second });
    }
    let (depth_mm, on_second, on_first) = deepest_inside(b, a)?;
    Some(Gap { distance_mm: -depth_mm, on_first, on_second })
}

fn overlap(a: &Piece, b: &Piece) -> Gap {
    let (pose_a, pose_b) = (parry_from_pose(&a.pose), parry_from_pose(&b.pose));
    match query::contact(&pose_a, &*a.shape, &pose_b, &*b.shape, 0.0) {
        Ok(Some(contact)) => Gap {
            distance_mm: contact.dist.min(0.0),
            on_first: point_from_parry(contact.point1),
            on_second: point_from_parry(contact.point2),
        },
        // Touching within rounding: no depth to report.
        Ok(None) | Err(_) => {
            let middle = a.samples.first().copied().unwrap_or_else(Point::origin);
            let on = point_from_parry(
                b.shape
                    .project_point(&pose_b, crate::frame::parry_from_point(&middle), false)
                    .point,
            );
            Gap { distance_mm: 0.0, on_first: on, on_second: on }
        }
    }
}

/// The sample of `inner` that lies deepest inside the closed mesh `outer`: depth, the sample, the
/// nearest point of the mesh.
fn deepest_inside(inner: &Piece, outer: &Piece) -> Option<(f64, Point, Point)> {
    if outer.mesh != Some(true) {
        return None;
    }
    let pose = parry_from_pose(&outer.pose);
    let mut deepest: Option<(f64, Point, Point)> = None;
    // A mesh inside a mesh has many corners; a spread of them will do for a lower bound.
    let stride = (inner.samples.len() / 256).max(1);
    for sample in inner.samples.iter().step_by(stride) {
        let found = outer.shape.project_point(&pose, crate::frame::parry_from_point(sample), false);
        if found.is_inside {
            let edge = point_from_parry(found.point);
            let depth_mm = (edge - sample).norm();
            if deepest.is_none_or(|(deep, _, _)| depth_mm > deep) {
                deepest = Some((depth_mm, *sample, edge));
            }
        }
    }
    deepest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Triangles;
    use crate::model::{Pose, Shape};

    fn boxed(from: [f64; 3], to: [f64; 3]) -> Solid {
        let shape = Shape::Box { from: Point::from(from), to: Point::from(to) };
        Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
    }

    #[test]
    fn a_box_wholly_inside_a_closed_mesh_is_not_clear() {
        let cube = Triangles::cuboid(&Point::origin(), &Point::new(200.0, 200.0, 200.0));
        let mesh = Solid::of(&Shape::Mesh { file: "m".into() }, &Pose::identity(), |_| Some(cube))
            .expect("a mesh");
        let inner = boxed([90.0, 90.0, 90.0], [110.0, 110.0, 110.0]);
        let found = gap(&inner, &mesh, 50.0).expect("an overlap, though the skins are far apart");
        assert!(found.distance_mm <= -90.0, "{found:?}");
        let turned = gap(&mesh, &inner, 50.0).expect("the same the other way round");
        assert!((turned.distance_mm - found.distance_mm).abs() < 1e-9);
    }

    #[test]
    fn parallel_boxes_far_along_each_other_keep_their_true_gap() {
        // Regression: one release overstated the gap of parallel boxes by metres.
        let a = boxed([0.0, 0.0, 0.0], [1000.0, 100.0, 10.0]);
        let b = boxed([400.0, -50.0, 25.0], [1400.0, 60.0, 30.0]);
        assert!((gap(&a, &b, 2000.0).expect("near").distance_mm - 15.0).abs() < 1e-9);
    }

    #[test]
    fn touching_is_zero() {
        let a = boxed([0.0, 0.0, 0.0], [10.0, 10.0, 10.0]);
        let b = boxed([10.0, 0.0, 0.0], [20.0, 10.0, 10.0]);
        assert!(gap(&a, &b, 5.0).expect("touching").distance_mm.abs() < 1e-9);
    }
}
