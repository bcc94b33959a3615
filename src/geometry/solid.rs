//! A shape made ready for questions.

use parry3d::bounding_volume::Aabb;
use parry3d::query::{Ray, RayCast, intersection_test};
use parry3d::shape::{Cuboid, SharedShape, Triangle};

use super::piece::{Piece, bar_piece, convex_piece, mesh_piece, prism_pieces};
use super::triangles::{Bounds, Triangles};
use crate::frame::{parry_from_point, parry_from_pose, parry_from_vector, vector_from_parry};
use crate::model::{Point, Pose, Shape, Vector};

/// Why a shape can't be made ready.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ShapeError {
    /// A mesh that was not handed over.
    #[error("the mesh `{0}` was not read")]
    MeshMissing(String),
    /// A mesh without triangles that have an area.
    #[error("the mesh `{0}` holds no triangle with an area")]
    MeshEmpty(String),
    /// Points that don't enclose a volume.
    #[error("the {0} doesn't enclose a volume")]
    Flat(&'static str),
}

/// A shape made ready: convex pieces or a mesh, its triangles, its bounds.
#[derive(Clone)]
pub struct Solid {
    pub(crate) pieces: Vec<Piece>,
    triangles: Triangles,
    bounds: Bounds,
}

/// Where a ray meets a solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RayHit {
    /// Distance along the ray, mm.
    pub distance_mm: f64,
    /// The point met.
    pub point: Point,
    /// Out of the solid, unit length.
    pub normal: Vector,
}

impl Solid {
    /// Makes `shape` ready where `pose` puts it. `mesh` gives the triangles of a mesh file, in the
    /// vehicle frame.
    ///
    /// # Errors
    /// When a mesh is missing or empty, or points don't enclose a volume.
    pub fn of(
        shape: &Shape,
        pose: &Pose,
        mesh: impl FnOnce(&str) -> Option<Triangles>,
    ) -> Result<Solid, ShapeError> {
        let (pieces, triangles) = match shape {
            Shape::Box { from, to } => {
                let half = (to - from).abs() / 2.0;
                let centre = nalgebra::center(from, to);
                let triangles = Triangles::cuboid(from, to);
                let piece = Piece::of(
                    Pose::translation(centre.x, centre.y, centre.z),
                    SharedShape::new(Cuboid::new(parry_from_vector(&half))),
                    triangles.vertices.clone(),
                );
                (vec![piece], triangles)
            }
            Shape::Cylinder { from, to, radius_mm } => {
                (vec![bar_piece(from, to, *radius_mm)], Triangles::cylinder(from, to, *radius_mm))
            }
            Shape::Prism { along, outline, from_mm, to_mm } => {
                prism_pieces(*along, outline, *from_mm, *to_mm)?
            }
            Shape::Hull { points } => {
                let (piece, triangles) = convex_piece(points, "hull")?;
                (vec![piece], triangles)
            }
            Shape::Mesh { file } => {
                let given = mesh(file).ok_or_else(|| ShapeError::MeshMissing(file.clone()))?;
                let piece = mesh_piece(file, given)?;
                (vec![piece.0], piece.1)
            }
        };
        Solid::assembled(pieces, triangles, pose).ok_or(ShapeError::Flat("shape"))
    }

    /// What this solid sweeps between two poses, near enough: the hull of each piece in both, which
    /// covers the way but for the bulge of a turn. A mesh is given in both poses instead.
    pub(crate) fn swept(&self, from: &Pose, to: &Pose) -> Vec<Solid> {
        let meshed = self.pieces.iter().any(|piece| piece.mesh.is_some());
        let hulls: Option<Vec<Solid>> = (!meshed)
            .then(|| {
                self.pieces
                    .iter()
                    .map(|piece| Solid::hull_between(&piece.samples, from, to))
                    .collect()
            })
            .flatten();
        hulls.unwrap_or_else(|| vec![self.moved(from), self.moved(to)])
    }

    /// The hull of some points in two poses; none when all of them lie in one plane.
    pub(super) fn hull_between(points: &[Point], from: &Pose, to: &Pose) -> Option<Solid> {
        let both = [from, to];
        let corners: Vec<Point> =
            both.iter().flat_map(|pose| points.iter().map(move |corner| **pose * corner)).collect();
        let (piece, triangles) = convex_piece(&corners, "sweep").ok()?;
        Solid::assembled(vec![piece], triangles, &Pose::identity())
    }

    /// The corners of parts of a mesh's surface, each no longer than 60 mm or a single triangle; at most `most`
    /// of them, or one: then some are longer. None for what isn't a mesh.
    pub(super) fn mesh_parts(&self, most: usize) -> Vec<Vec<Point>> {
        if self.pieces.iter().all(|piece| piece.mesh.is_none()) {
            return Vec::new();
        }
        parts_of(self.triangles.each().collect(), most)
    }

    /// A thin surface, such as a carpet, without an inside; none when it has no area.
    pub fn sheet(surface: &Triangles) -> Option<Solid> {
        let (piece, surface) = mesh_piece("sheet", surface.clone()).ok()?;
        Solid::assembled(vec![piece], surface, &Pose::identity())
    }

    fn assembled(pieces: Vec<Piece>, triangles: Triangles, pose: &Pose) -> Option<Solid> {
        let triangles = triangles.moved(pose);
        let bounds = triangles.bounds()?;
        let pieces = pieces.iter().map(|piece| piece.moved(pose)).collect();
        Some(Solid { pieces, triangles, bounds })
    }

    /// The same solid moved by `pose`.
    #[must_use]
    pub fn moved(&self, pose: &Pose) -> Solid {
        let triangles = self.triangles.moved(pose);
        let bounds = triangles.bounds().unwrap_or(self.bounds);
        let pieces = self.pieces.iter().map(|piece| piece.moved(pose)).collect();
        Solid { pieces, triangles, bounds }
    }

    /// Its surface.
    pub fn triangles(&self) -> &Triangles {
        &self.triangles
    }

    /// The box round it.
    pub fn bounds(&self) -> &Bounds {
        &self.bounds
    }

    /// Whether it is an open mesh, a skin without an inside.
    pub fn open(&self) -> bool {
        self.pieces.iter().any(|piece| piece.mesh == Some(false))
    }

    /// Whether it is one convex piece: a box, a bar, a hull, a prism without a hollow side.
    pub(crate) fn is_convex(&self) -> bool {
        self.pieces.len() == 1 && self.pieces[0].mesh.is_none()
    }

    /// Corners and ring points of its surface.
    pub fn samples(&self) -> impl Iterator<Item = &Point> {
        self.pieces.iter().flat_map(|piece| &piece.samples)
    }

    /// Distance from its surface to a point, mm; negative inside. An open mesh has no inside.
    pub fn distance_to_point_mm(&self, point: &Point) -> f64 {
        self.nearest(point).0
    }

    /// Signed distance to a point, mm, and the nearest point of the surface.
    pub fn nearest(&self, point: &Point) -> (f64, Point) {
        let mut best = (f64::INFINITY, *point);
        for piece in &self.pieces {
            if piece.bounds.distance_to_point_mm(point) > best.0.max(0.0) {
                continue;
            }
            let (nearest, inside) = piece.project(point);
            let distance_mm = (nearest - point).norm() * if inside { -1.0 } else { 1.0 };
            if distance_mm < best.0 {
                best = (distance_mm, nearest);
            }
        }
        best
    }

    /// Whether a point lies in it. An open mesh has no inside.
    ///
    /// ```
    /// use dryberth::geometry::Solid;
    /// use dryberth::model::{Point, Pose, Shape};
    /// let shape = Shape::Box { from: Point::origin(), to: Point::new(2.0, 2.0, 2.0) };
    /// let cube = Solid::of(&shape, &Pose::identity(), |_| None).unwrap();
    /// assert!(cube.holds(&Point::new(1.0, 1.0, 1.9)) && !cube.holds(&Point::new(1.0, 1.0, 2.1)));
    /// ```
    pub fn holds(&self, point: &Point) -> bool {
        self.pieces.iter().any(|piece| piece.bounds.holds(point) && piece.holds(point))
    }

    /// Whether the straight between two points meets its surface.
    pub fn blocks(&self, from: &Point, to: &Point) -> bool {
        let way = to - from;
        let Some(towards) = way.try_normalize(1e-9) else { return false };
        let ray = Ray::new(parry_from_point(from), parry_from_vector(&towards));
        let far_mm = way.norm();
        let near = |bounds: &Bounds| {
            Aabb::new(parry_from_point(&bounds.low), parry_from_point(&bounds.high))
                .intersects_local_ray(&ray, far_mm)
        };
        near(&self.bounds)
            && self.pieces.iter().any(|piece| {
                near(&piece.bounds)
                    && piece
                        .shape
                        .cast_ray(&parry_from_pose(&piece.pose), &ray, far_mm, false)
                        .is_some()
            })
    }

    /// Whether any of it lies in an upright box; touching is not lying in it.
    pub fn meets_box(&self, bounds: &Bounds) -> bool {
        if self.bounds.distance_mm(bounds) > 0.0 {
            return false;
        }
        let (pose, cuboid) = box_piece(bounds);
        self.pieces.iter().any(|piece| {
            piece.bounds.distance_mm(bounds) <= 0.0
                && (piece.mesh == Some(true) && piece.holds(&bounds.centre())
                    || meet(&pose, &cuboid, &piece.pose, &*piece.shape))
        })
    }

    /// Whether an upright box lies wholly in it; touching its surface from inside is lying in it.
    pub fn holds_box(&self, bounds: &Bounds) -> bool {
        let corners = bounds.grown(-SHY_MM).corners();
        let within = |piece: &Piece| corners.iter().all(|corner| piece.holds(corner));
        if self.pieces.iter().any(|piece| piece.mesh.is_none() && within(piece)) {
            return true;
        }
        // A hollow-sided solid is several pieces: the box lies in it when it begins inside and no
        // part of the skin cuts it.
        let hollow = self.pieces.len() > 1 || self.pieces.iter().any(|piece| piece.mesh.is_some());
        let (pose, cuboid) = box_piece(bounds);
        hollow
            && self.holds(&bounds.centre())
            && !self.triangles.each().any(|triangle| {
                Bounds::of(triangle.iter()).is_some_and(|near| near.distance_mm(bounds) <= 0.0) && {
                    let [a, b, c] = triangle.map(|corner| parry_from_point(&corner));
                    meet(&pose, &cuboid, &Pose::identity(), &Triangle::new(a, b, c))
                }
            })
    }

    /// Where a ray of unit direction first meets its surface, within `up_to_mm`.
    pub fn ray(&self, from: &Point, towards: &Vector, up_to_mm: f64) -> Option<RayHit> {
        let ray = Ray::new(parry_from_point(from), parry_from_vector(towards));
        self.pieces
            .iter()
            .filter_map(|piece| {
                let pose = parry_from_pose(&piece.pose);
                piece.shape.cast_ray_and_get_normal(&pose, &ray, up_to_mm, false)
            })
            .min_by(|a, b| a.time_of_impact.total_cmp(&b.time_of_impact))
            .map(|hit| RayHit {
                distance_mm: hit.time_of_impact,
                point: from + towards * hit.time_of_impact,
                normal: vector_from_parry(hit.normal),
            })
    }
}

/// How far inside its sides a box is taken to end, so that touching is not overlapping, mm.
const SHY_MM: f64 = 1e-6;

/// Whether two shapes overlap; yes where that can't be told.
fn meet(
    pose_a: &Pose,
    a: &dyn parry3d::shape::Shape,
    pose_b: &Pose,
    b: &dyn parry3d::shape::Shape,
) -> bool {
    intersection_test(&parry_from_pose(pose_a), a, &parry_from_pose(pose_b), b)
        .map_or(true, |found| found.intersecting)
}

/// An upright box as a shape in its pose, a hair smaller than it is.
fn box_piece(bounds: &Bounds) -> (Pose, Cuboid) {
    let centre = bounds.centre();
    let half = (bounds.high - bounds.low) / 2.0 - Vector::repeat(SHY_MM);
    (Pose::translation(centre.x, centre.y, centre.z), Cuboid::new(parry_from_vector(&half)))
}

/// Longest part of a mesh's surface that is taken as its hull where it is moved, mm.
const PART_MM: f64 = 60.0;

/// Triangles in parts near one another: the longest part is halved across its longest side, again and again.
fn parts_of(triangles: Vec<[Point; 3]>, most: usize) -> Vec<Vec<Point>> {
    let length_mm = |part: &[[Point; 3]]| {
        Bounds::of(part.iter().flatten()).map_or(0.0, |bounds| (bounds.high - bounds.low).norm())
    };
    let mut open = vec![(length_mm(&triangles), triangles)];
    let mut done = Vec::new();
    while let Some(longest) = (0..open.len()).max_by(|a, b| open[*a].0.total_cmp(&open[*b].0)) {
        let (length, mut part) = open.swap_remove(longest);
        if length <= PART_MM || part.len() < 2 || open.len() + done.len() + 2 > most {
            done.push(part.into_iter().flatten().collect());
            continue;
        }
        let Some(bounds) = Bounds::of(part.iter().flatten()) else { continue };
        let axis = (bounds.high - bounds.low).imax();
        let middle = |corners: &[Point; 3]| corners[0][axis] + corners[1][axis] + corners[2][axis];
        part.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
        let other = part.split_off(part.len() / 2);
        open.extend([part, other].map(|part| (length_mm(&part), part)));
    }
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solid(shape: &Shape) -> Solid {
        Solid::of(shape, &Pose::identity(), |_| None).expect("a sound shape")
    }

    #[test]
    fn signed_distance_of_each_kind() {
        let cuboid = solid(&Shape::Box { from: Point::origin(), to: Point::new(10.0, 10.0, 10.0) });
        assert!((cuboid.distance_to_point_mm(&Point::new(5.0, 5.0, 14.0)) - 4.0).abs() < 1e-9);
        assert!((cuboid.distance_to_point_mm(&Point::new(5.0, 5.0, 8.0)) + 2.0).abs() < 1e-9);
        let bar = solid(&Shape::Cylinder {
            from: Point::origin(),
            to: Point::new(100.0, 0.0, 0.0),
            radius_mm: 20.0,
        });
        assert!((bar.distance_to_point_mm(&Point::new(50.0, 0.0, 30.0)) - 10.0).abs() < 1e-9);
        assert!((bar.distance_to_point_mm(&Point::new(-7.0, 0.0, 0.0)) - 7.0).abs() < 1e-9);
        let ell = solid(&Shape::Prism {
            along: crate::model::Axis::Z,
            outline: vec![
                (0.0, 0.0),
                (40.0, 0.0),
                (40.0, 10.0),
                (10.0, 10.0),
                (10.0, 40.0),
                (0.0, 40.0),
            ],
            from_mm: 0.0,
            to_mm: 5.0,
        });
        // In the notch of the L: 15 mm from both legs, not inside its hull.
        assert!((ell.distance_to_point_mm(&Point::new(25.0, 25.0, 2.0)) - 15.0).abs() < 1e-9);
    }

    #[test]
    fn a_closed_mesh_has_an_inside_and_an_open_one_has_not() {
        let cube = Triangles::cuboid(&Point::origin(), &Point::new(100.0, 100.0, 100.0));
        let shape = Shape::Mesh { file: "cube".into() };
        let middle = Point::new(50.0, 50.0, 60.0);
        let closed =
            Solid::of(&shape, &Pose::identity(), |_| Some(cube.clone())).expect("closed mesh");
        assert!((closed.distance_to_point_mm(&middle) + 40.0).abs() < 1e-9);
        let mut open = cube;
        open.indices.pop();
        let open = Solid::of(&shape, &Pose::identity(), |_| Some(open)).expect("open mesh");
        assert!(open.open());
        assert!(open.distance_to_point_mm(&middle) > 39.0);
    }
}
