//! A shape made ready for questions.

use std::sync::Arc;

use parry3d::bounding_volume::Aabb;
use parry3d::query::{PointQuery, Ray, RayCast, intersection_test};
use parry3d::shape::{
    ConvexPolyhedron, Cuboid, Cylinder, SharedShape, TriMesh, TriMeshFlags, Triangle,
};

use super::triangles::{Bounds, Triangles, bar_pose, triangulate};
use crate::frame::{
    parry_from_point, parry_from_pose, parry_from_vector, point_from_parry, vector_from_parry,
};
use crate::model::{Point, Pose, Shape, Vector, outline_area_mm2};

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

/// One convex piece, or one mesh, of a solid.
#[derive(Clone)]
pub(crate) struct Piece {
    /// From the piece's own frame to the solid's.
    pub(crate) pose: Pose,
    pub(crate) shape: SharedShape,
    /// The box round it, solid's frame.
    pub(crate) bounds: Bounds,
    /// Points on it, solid's frame: corners, or a ring at each end of a bar.
    pub(crate) samples: Vec<Point>,
    /// For a mesh, whether it is closed and so has an inside.
    pub(crate) mesh: Option<bool>,
    /// For a convex polyhedron, its faces: distance to a point from them is exact on edges and
    /// corners too, where the support-map projection is not.
    faces: Option<Arc<Faces>>,
}

/// The faces of a convex polyhedron in its own frame.
struct Faces {
    triangles: Vec<Triangle>,
    /// Outward normal and offset of each.
    planes: Vec<(parry3d::math::Vector, f64)>,
}

impl Faces {
    fn of(hull: &ConvexPolyhedron) -> Faces {
        let (vertices, indices) = hull.to_trimesh();
        let triangles: Vec<Triangle> = indices
            .iter()
            .map(|index| {
                let [a, b, c] = index.map(|corner| vertices[corner as usize]);
                Triangle::new(a, b, c)
            })
            .collect();
        let planes = triangles
            .iter()
            .filter_map(|face| face.normal().map(|normal| (normal, normal.dot(face.a))))
            .collect();
        Faces { triangles, planes }
    }

    /// The nearest point of the surface, and whether the point is inside.
    fn project(&self, point: parry3d::math::Vector) -> (parry3d::math::Vector, bool) {
        let over = |(normal, offset): &(parry3d::math::Vector, f64)| normal.dot(point) - offset;
        let highest = self.planes.iter().max_by(|a, b| over(a).total_cmp(&over(b)));
        if let Some(plane) = highest.filter(|plane| over(plane) <= 0.0) {
            return (point - plane.0 * over(plane), true);
        }
        let nearest =
            self.triangles.iter().map(|face| face.project_local_point(point, false).point).min_by(
                |a, b| (*a - point).length_squared().total_cmp(&(*b - point).length_squared()),
            );
        (nearest.unwrap_or(point), false)
    }
}

/// The box round a shape in a pose.
fn bounds_of(shape: &SharedShape, pose: &Pose) -> Bounds {
    let around = shape.compute_aabb(&parry_from_pose(pose));
    Bounds { low: point_from_parry(around.mins), high: point_from_parry(around.maxs) }
}

impl Piece {
    fn of(pose: Pose, shape: SharedShape, samples: Vec<Point>) -> Piece {
        let bounds = bounds_of(&shape, &pose);
        Piece { pose, shape, bounds, samples, mesh: None, faces: None }
    }

    /// The straight between two points, without thickness.
    pub(crate) fn straight(from: &Point, to: &Point) -> Piece {
        let shape = SharedShape::segment(parry_from_point(from), parry_from_point(to));
        Piece::of(Pose::identity(), shape, vec![*from, *to])
    }

    fn moved(&self, by: &Pose) -> Piece {
        let pose = by * self.pose;
        Piece {
            pose,
            shape: self.shape.clone(),
            bounds: bounds_of(&self.shape, &pose),
            samples: self.samples.iter().map(|sample| by * sample).collect(),
            mesh: self.mesh,
            faces: self.faces.clone(),
        }
    }

    fn holds(&self, point: &Point) -> bool {
        let pose = parry_from_pose(&self.pose);
        let at = pose.inverse_transform_point(parry_from_point(point));
        match &self.faces {
            Some(faces) => faces.planes.iter().all(|(normal, offset)| normal.dot(at) <= *offset),
            None => self.mesh != Some(false) && self.shape.contains_local_point(at),
        }
    }

    /// Outward normals and offsets of its flat faces, in its own frame.
    fn planes(&self) -> Vec<(Vector, f64)> {
        if let Some(cuboid) = self.shape.as_cuboid() {
            let half = vector_from_parry(cuboid.half_extents);
            return (0..3)
                .flat_map(|axis| {
                    let mut out = Vector::zeros();
                    out[axis] = 1.0;
                    [(out, half[axis]), (-out, half[axis])]
                })
                .collect();
        }
        let faces = self.faces.iter().flat_map(|faces| &faces.planes);
        faces.map(|(normal, offset)| (vector_from_parry(*normal), *offset)).collect()
    }

    /// The nearest point of the surface, and whether `point` is inside.
    pub(crate) fn project(&self, point: &Point) -> (Point, bool) {
        let pose = parry_from_pose(&self.pose);
        let at = parry_from_point(point);
        match &self.faces {
            Some(faces) => {
                let (nearest, inside) = faces.project(pose.inverse_transform_point(at));
                (point_from_parry(pose.transform_point(nearest)), inside)
            }
            None => {
                let found = self.shape.project_point(&pose, at, false);
                (point_from_parry(found.point), found.is_inside && self.mesh != Some(false))
            }
        }
    }
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
                let piece = convex_piece(points, "hull")?;
                let triangles = convex_triangles(&piece);
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
                    .map(|piece| {
                        let corners: Vec<Point> = [from, to]
                            .iter()
                            .flat_map(|pose| {
                                piece.samples.iter().map(move |corner| **pose * corner)
                            })
                            .collect();
                        let piece = convex_piece(&corners, "sweep").ok()?;
                        let triangles = convex_triangles(&piece);
                        Solid::assembled(vec![piece], triangles, &Pose::identity())
                    })
                    .collect()
            })
            .flatten();
        hulls.unwrap_or_else(|| vec![self.moved(from), self.moved(to)])
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

    /// Outward normals of the flat faces whose planes pass within `near_mm` of a point that lies within
    /// `near_mm` of their piece. Round and meshed pieces have none to give.
    pub(crate) fn faces_at(&self, point: &Point, near_mm: f64) -> Vec<Vector> {
        let mut normals = Vec::new();
        for piece in &self.pieces {
            if piece.bounds.distance_to_point_mm(point) > near_mm {
                continue;
            }
            let local = piece.pose.inverse_transform_point(point);
            for (normal, offset) in piece.planes() {
                if (normal.dot(&local.coords) - offset).abs() <= near_mm {
                    normals.push(piece.pose * normal);
                }
            }
        }
        normals
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

fn bar_piece(from: &Point, to: &Point, radius_mm: f64) -> Piece {
    let length_mm = (to - from).norm();
    // parry's cylinder stands along y about its middle; ours along z from its end.
    let upright = Pose::from_parts(
        nalgebra::Translation3::new(0.0, 0.0, length_mm / 2.0),
        nalgebra::UnitQuaternion::from_axis_angle(&Vector::x_axis(), std::f64::consts::FRAC_PI_2),
    );
    let bar = bar_pose(from, to);
    let mut samples = Vec::with_capacity(32);
    for turn in 0..16 {
        let angle = std::f64::consts::TAU * f64::from(turn) / 16.0;
        let (x, y) = (radius_mm * angle.cos(), radius_mm * angle.sin());
        samples.push(bar * Point::new(x, y, 0.0));
        samples.push(bar * Point::new(x, y, length_mm));
    }
    let shape = SharedShape::new(Cylinder::new(length_mm / 2.0, radius_mm));
    Piece::of(bar * upright, shape, samples)
}

fn convex_piece(points: &[Point], what: &'static str) -> Result<Piece, ShapeError> {
    let corners: Vec<_> = points.iter().map(parry_from_point).collect();
    let hull = ConvexPolyhedron::from_convex_hull(&corners).ok_or(ShapeError::Flat(what))?;
    let samples = hull.points().iter().map(|&point| point_from_parry(point)).collect();
    let faces = Some(Arc::new(Faces::of(&hull)));
    Ok(Piece { faces, ..Piece::of(Pose::identity(), SharedShape::new(hull), samples) })
}

fn convex_triangles(piece: &Piece) -> Triangles {
    let Some(hull) = piece.shape.as_convex_polyhedron() else { return Triangles::default() };
    let (vertices, indices) = hull.to_trimesh();
    Triangles { vertices: vertices.into_iter().map(point_from_parry).collect(), indices }
}

fn prism_pieces(
    along: crate::model::Axis,
    outline: &[(f64, f64)],
    from_mm: f64,
    to_mm: f64,
) -> Result<(Vec<Piece>, Triangles), ShapeError> {
    let mut outline = outline.to_vec();
    if outline_area_mm2(&outline) < 0.0 {
        outline.reverse();
    }
    let faces = triangulate(&outline);
    if faces.is_empty() {
        return Err(ShapeError::Flat("prism"));
    }
    let whole = Triangles::extruded(along, &outline, &faces, from_mm, to_mm);
    if convex(&outline) {
        return Ok((vec![convex_piece(&whole.vertices, "prism")?], whole));
    }
    let count = outline.len();
    let pieces = faces
        .iter()
        .map(|face| {
            let corners: Vec<Point> = face
                .iter()
                .flat_map(|&corner| [whole.vertices[corner], whole.vertices[corner + count]])
                .collect();
            convex_piece(&corners, "prism")
        })
        .collect::<Result<_, _>>()?;
    Ok((pieces, whole))
}

fn convex(outline: &[(f64, f64)]) -> bool {
    let count = outline.len();
    (0..count).all(|i| {
        let (a, b, c) = (outline[i], outline[(i + 1) % count], outline[(i + 2) % count]);
        (b.0 - a.0) * (c.1 - b.1) - (b.1 - a.1) * (c.0 - b.0) >= -1e-9
    })
}

fn mesh_piece(file: &str, given: Triangles) -> Result<(Piece, Triangles), ShapeError> {
    let mut surface = given.welded();
    if surface.indices.is_empty() {
        return Err(ShapeError::MeshEmpty(file.to_string()));
    }
    let closed = surface.closed();
    if closed && surface.volume_mm3() < 0.0 {
        surface = surface.reversed();
    }
    let flags = if closed { TriMeshFlags::ORIENTED } else { TriMeshFlags::empty() };
    let vertices = surface.vertices.iter().map(parry_from_point).collect();
    let mesh = TriMesh::with_flags(vertices, surface.indices.clone(), flags)
        .map_err(|_| ShapeError::MeshEmpty(file.to_string()))?;
    let whole = Piece::of(Pose::identity(), SharedShape::new(mesh), surface.vertices.clone());
    let piece = Piece { mesh: Some(closed), ..whole };
    Ok((piece, surface))
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
