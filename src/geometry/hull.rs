//! The convex hull of points, thin ones too.

use parry3d::shape::ConvexPolyhedron;
use parry3d::transformation::try_convex_hull;

use super::Triangles;
use crate::frame::{parry_from_point, point_from_parry};
use crate::model::{Point, Vector};

/// Points thinner than this share of their length are stretched before their hull is looked for.
/// parry 0.31 takes points for flat whose least spread is below some 3e-4 of their length.
const THIN: f64 = 0.01;

/// Stretched points are put onto a grid of this step, as a share of their spread, so that rounding
/// doesn't part what lies in one plane: 2⁻³⁰, for a wall of 2 m some 0.000002 mm.
const SNAP: f64 = 1.0 / 1_073_741_824.0;

/// The hull of points as parry's convex polyhedron, and its closed surface, outward; none when they lie
/// in a plane.
///
/// A hull follows every affine map of its points: thin ones are stretched until they are as thick as they
/// are long, and only which corners make a triangle is taken from there. The surface's triangles are
/// the hull's own; those of the polyhedron's faces leave out corners that hardly stand out.
pub(super) fn hull(points: &[Point]) -> Option<(ConvexPolyhedron, Triangles)> {
    let given: Vec<_> = points.iter().map(parry_from_point).collect();
    let (corners, indices) = match stretched(points) {
        Some(stretched) => {
            let (found, indices) = try_convex_hull(&stretched).ok()?;
            // What comes back is what was given, to the last bit, in some order.
            let corner = |at| stretched.iter().position(|point| point == at).map(|at| given[at]);
            (found.iter().map(corner).collect::<Option<Vec<_>>>()?, indices)
        }
        None => try_convex_hull(&given).ok()?,
    };
    let polyhedron = ConvexPolyhedron::from_convex_mesh(corners.clone(), &indices)?;
    let vertices = corners.into_iter().map(point_from_parry).collect();
    Some((polyhedron, Triangles { vertices, indices }))
}

/// Thin points stretched to one size every way; none where they are thick enough, or lie in a plane.
///
/// Method: the map that takes a large tetrahedron of the points (the farthest from the first one, from the
/// straight through both, from the plane through the three) to one with right angles.
fn stretched(points: &[Point]) -> Option<Vec<parry3d::math::Vector>> {
    let first = points.first()?;
    let farthest = |score: &dyn Fn(&Vector) -> f64| {
        let offsets = points.iter().map(|point| point - first);
        offsets.max_by(|a, b| score(a).total_cmp(&score(b))).unwrap_or_default()
    };
    let along = farthest(&Vector::norm);
    let across = farthest(&|offset| along.cross(offset).norm());
    let normal = along.cross(&across);
    let through = farthest(&|offset| normal.dot(offset).abs());
    let six_volumes = normal.dot(&through);
    let thick_mm = six_volumes.abs() / normal.norm();
    if !(thick_mm > 0.0 && thick_mm < THIN * along.norm()) {
        return None;
    }
    // Shares of the three edges; the last edge turned so that the map doesn't mirror.
    let turn = six_volumes.signum();
    let shares = [across.cross(&through), through.cross(&along), normal * turn];
    let snapped = |share: f64| (share / SNAP).round() * SNAP;
    let stretch = |point: &Point| {
        let offset = point - first;
        let share = shares.map(|share| snapped(share.dot(&offset) / six_volumes));
        parry_from_point(&Point::new(share[0], share[1], share[2]))
    };
    Some(points.iter().map(stretch).collect())
}

#[cfg(test)]
mod tests {
    use super::super::{edges, gap};
    use super::*;
    use crate::geometry::{HeightGrid, Solid};
    use crate::model::{Pose, Shape};

    fn corners(low: &Point, high: &Point) -> Vec<Point> {
        let (x, y, z) = ([low.x, high.x], [low.y, high.y], [low.z, high.z]);
        let at = |corner: usize| Point::new(x[corner & 1], y[corner >> 1 & 1], z[corner >> 2]);
        (0..8).map(at).collect()
    }

    fn solid(shape: &Shape, pose: &Pose) -> Solid {
        Solid::of(shape, pose, |_| None).expect("a sound shape")
    }

    #[test]
    fn a_hull_of_a_thin_boxs_corners_is_that_box() {
        // Sheet of 0.8 mm and less as long as a car is wide, a rod, and a plain block; closed forms of a box.
        let floor =
            Triangles::cuboid(&Point::new(-9.0, -999.0, -9.0), &Point::new(99.0, 999.0, 0.0));
        let ball = solid(
            &Shape::Cylinder {
                from: Point::new(40.0, 3.0, 20.0),
                to: Point::new(60.0, 3.0, 20.0),
                radius_mm: 8.0,
            },
            &Pose::identity(),
        );
        for size in
            [[0.8, 1280.0, 100.0], [0.05, 1900.0, 60.0], [1.0, 1500.0, 1.2], [20.0, 30.0, 40.0]]
        {
            let low = Point::new(3.0, -size[1] / 2.0, -4.0);
            let high = low + Vector::from(size);
            let (cuboid, hull) =
                (Shape::Box { from: low, to: high }, Shape::Hull { points: corners(&low, &high) });
            let upright = Pose::identity();
            let (a, b) = (solid(&cuboid, &upright), solid(&hull, &upright));
            assert!(edges(b.triangles()).closed() && b.triangles().vertices.len() == 8, "{size:?}");
            let volume = size.iter().product::<f64>();
            assert!((b.triangles().volume_mm3() / volume - 1.0).abs() < 1e-9, "{size:?}");
            let grid = |wall: &Solid| HeightGrid::of(&[&floor, wall.triangles()], 5.0);
            assert_eq!(grid(&a), grid(&b), "{size:?}");
            let turns = [[0.0, 0.0, 0.0], [0.4, -0.2, 0.7], [1.1, 0.3, 0.01]];
            for [roll, pitch, yaw] in turns {
                let pose = Pose::new(Vector::new(0.0, 0.0, 1.0), Vector::new(roll, pitch, yaw));
                let (a, b) = (solid(&cuboid, &pose), solid(&hull, &pose));
                let (one, other) = (gap(&a, &ball, 1e4), gap(&b, &ball, 1e4));
                let off = one.expect("near").distance_mm - other.expect("near").distance_mm;
                assert!(off.abs() < 1e-6, "{size:?}: {off}");
                for point in [Point::new(3.2, 100.0, 10.0), Point::new(50.0, -20.0, 7.0)] {
                    let point = pose * point;
                    let off = [&a, &b].map(|solid| solid.distance_to_point_mm(&point));
                    assert!((off[0] - off[1]).abs() < 1e-6, "{size:?} {off:?}");
                }
            }
        }
    }

    #[test]
    fn thin_hulls_turned_anyhow_are_closed_and_hold_every_corner() {
        // A strip with a bead along it: 24 corners, 0.3 to 1.5 mm thick, up to 2.4 m long.
        for seed in 1..200_u32 {
            let share =
                |of: u32| f64::from(seed.wrapping_mul(2_654_435_761).rotate_left(of) >> 8) / 1.7e7;
            let (long, thick) = (200.0 + 2200.0 * share(1), 0.3 + 1.2 * share(9));
            let pose = Pose::new(
                Vector::new(700.0 * share(3), 400.0, -300.0 * share(5)),
                Vector::new(3.0 * share(7), 6.0 * share(11), share(13)),
            );
            let points: Vec<Point> = (0..24)
                .map(|corner| {
                    let turn = std::f64::consts::TAU * f64::from(corner / 2) / 12.0;
                    let up = thick * f64::from(corner % 2);
                    pose * Point::new(long / 2.0 * turn.cos(), 60.0 * turn.sin(), up)
                })
                .collect();
            let (_, surface) = hull(&points).expect("it encloses a volume");
            assert!(edges(&surface).closed(), "{seed}");
            // A dodecagon's area is 3 a b for half axes a and b.
            let volume = 3.0 * (long / 2.0) * 60.0 * thick;
            assert!((surface.volume_mm3() / volume - 1.0).abs() < 1e-6, "{seed}");
            assert_eq!(surface.vertices.len(), 24, "{seed}");
        }
    }
}
