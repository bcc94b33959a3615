//! The pieces that a solid is made of, and how each kind of shape comes apart into them.

use std::sync::Arc;

use parry3d::query::PointQuery;
use parry3d::shape::{Cylinder, SharedShape, TriMesh, TriMeshFlags, Triangle};

use super::hull::hull;
use super::skin::Sided;
use super::solid::ShapeError;
use super::triangles::{Bounds, Triangles, bar_pose, triangulate};
use crate::frame::{parry_from_point, parry_from_pose, point_from_parry};
use crate::model::{Point, Pose, Vector, outline_area_mm2};

/// One convex piece, or one mesh, of a solid.
#[derive(Clone)]
pub(crate) struct Piece {
    /// From the piece's own frame to the solid's.
    pub(crate) pose: Pose,
    /// The same for parry.
    parry_pose: parry3d::math::Pose,
    pub(crate) shape: SharedShape,
    /// The box round it, solid's frame.
    pub(crate) bounds: Bounds,
    /// Points on it, solid's frame: corners, or a ring at each end of a bar.
    pub(crate) samples: Vec<Point>,
    /// For a mesh, whether it is closed and so has an inside.
    pub(crate) mesh: Option<bool>,
    /// For an open mesh, what it is taken for; a sheet without thickness when left out.
    pub(super) sided: Option<Sided>,
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
    fn of(surface: &Triangles) -> Faces {
        let triangles: Vec<Triangle> = surface
            .each()
            .map(|corners| {
                let [a, b, c] = corners.map(|corner| parry_from_point(&corner));
                Triangle::new(a, b, c)
            })
            .collect();
        let planes = triangles
            .iter()
            .filter(|face| !sliver(face))
            .filter_map(|face| face.normal().map(|normal| (normal, normal.dot(face.a))))
            .collect();
        Faces { triangles, planes }
    }

    /// The nearest point of the surface, and whether the point is inside; none is an answer too where it
    /// is outside and farther than `up_to_mm`.
    fn project(
        &self,
        point: parry3d::math::Vector,
        up_to_mm: f64,
    ) -> Option<(parry3d::math::Vector, bool)> {
        let mut highest = None;
        let mut over_mm = f64::NEG_INFINITY;
        for (normal, offset) in &self.planes {
            let height = normal.dot(point) - offset;
            if height > up_to_mm.max(0.0) {
                return None;
            }
            if height >= over_mm {
                (highest, over_mm) = (Some(*normal), height);
            }
        }
        if let Some(normal) = highest.filter(|_| over_mm <= 0.0) {
            return Some((point - normal * over_mm, true));
        }
        // The nearest point lies on a face that looks towards the point, and no face is nearer than its
        // plane: most of them need no closer look.
        let mut nearest = None;
        let mut least = f64::INFINITY;
        for face in &self.triangles {
            let [a, b, c] = [face.a, face.b, face.c];
            let normal = (b - a).cross(c - a);
            let height = normal.dot(point - a);
            if height < 0.0 || height * height > least * normal.length_squared() {
                continue;
            }
            let on = face.project_local_point(point, false).point;
            let away = (on - point).length_squared();
            if away < least {
                least = away;
                nearest = Some(on);
            }
        }
        // Rounding may leave none that looks towards a point on the very surface.
        let nearest = nearest.or_else(|| {
            let points = self.triangles.iter().map(|f| f.project_local_point(point, false).point);
            points.min_by(|a, b| {
                (*a - point).length_squared().total_cmp(&(*b - point).length_squared())
            })
        });
        Some((nearest.unwrap_or(point), false))
    }
}

/// Whether a triangle is so narrow that its normal is rounding's.
fn sliver(face: &Triangle) -> bool {
    let [ab, bc, ca] = [face.b - face.a, face.c - face.b, face.a - face.c];
    let longest = ab.length_squared().max(bc.length_squared()).max(ca.length_squared());
    ab.cross(ca).length() <= 1e-9 * longest
}

/// The box round a shape in a pose.
fn bounds_of(shape: &SharedShape, pose: &Pose) -> Bounds {
    let around = shape.compute_aabb(&parry_from_pose(pose));
    Bounds { low: point_from_parry(around.mins), high: point_from_parry(around.maxs) }
}

impl Piece {
    pub(super) fn of(pose: Pose, shape: SharedShape, samples: Vec<Point>) -> Piece {
        let bounds = bounds_of(&shape, &pose);
        let parry_pose = parry_from_pose(&pose);
        Piece { pose, parry_pose, shape, bounds, samples, mesh: None, sided: None, faces: None }
    }

    /// The straight between two points, without thickness.
    pub(crate) fn straight(from: &Point, to: &Point) -> Piece {
        let shape = SharedShape::segment(parry_from_point(from), parry_from_point(to));
        Piece::of(Pose::identity(), shape, vec![*from, *to])
    }

    /// The box round it when it stands at `pose`.
    pub(super) fn bounds_at(&self, pose: &Pose) -> Bounds {
        bounds_of(&self.shape, pose)
    }

    pub(super) fn moved(&self, by: &Pose) -> Piece {
        let pose = by * self.pose;
        Piece {
            pose,
            parry_pose: parry_from_pose(&pose),
            shape: self.shape.clone(),
            bounds: bounds_of(&self.shape, &pose),
            samples: self.samples.iter().map(|sample| by * sample).collect(),
            mesh: self.mesh,
            sided: self.sided.clone(),
            faces: self.faces.clone(),
        }
    }

    pub(super) fn holds(&self, point: &Point) -> bool {
        let at = self.parry_pose.inverse_transform_point(parry_from_point(point));
        match &self.faces {
            Some(faces) => faces.planes.iter().all(|(normal, offset)| normal.dot(at) <= *offset),
            None => self.mesh != Some(false) && self.shape.contains_local_point(at),
        }
    }

    /// The nearest point of the surface, and whether `point` is inside.
    pub(crate) fn project(&self, point: &Point) -> (Point, bool) {
        self.project_within(point, f64::INFINITY).unwrap_or((*point, false))
    }

    /// The same; none is an answer too where `point` is outside and farther than `up_to_mm`.
    pub(crate) fn project_within(&self, point: &Point, up_to_mm: f64) -> Option<(Point, bool)> {
        let pose = &self.parry_pose;
        let at = pose.inverse_transform_point(parry_from_point(point));
        let (on, inside) = match (&self.faces, self.shape.as_trimesh()) {
            (Some(faces), _) => faces.project(at, up_to_mm)?,
            // From outside the box round it no point is inside, however deep.
            (None, Some(mesh))
                if up_to_mm.is_finite() && self.bounds.distance_to_point_mm(point) > 0.0 =>
            {
                let most = up_to_mm.max(0.0) * (1.0 + 1e-12) + 1e-9;
                let found = mesh.project_local_point_with_max_dist(at, false, most)?;
                (found.point, found.is_inside)
            }
            (None, _) => {
                let found = self.shape.project_local_point(at, false);
                (found.point, found.is_inside)
            }
        };
        Some((point_from_parry(pose.transform_point(on)), inside && self.mesh != Some(false)))
    }
}

pub(super) fn bar_piece(from: &Point, to: &Point, radius_mm: f64) -> Piece {
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

/// The hull of points as a piece, and its closed surface.
pub(super) fn convex_piece(
    points: &[Point],
    what: &'static str,
) -> Result<(Piece, Triangles), ShapeError> {
    let (hull, surface) = hull(points).ok_or(ShapeError::Flat(what))?;
    let faces = Some(Arc::new(Faces::of(&surface)));
    let samples = surface.vertices.clone();
    Ok((Piece { faces, ..Piece::of(Pose::identity(), SharedShape::new(hull), samples) }, surface))
}

pub(super) fn prism_pieces(
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
        return Ok((vec![convex_piece(&whole.vertices, "prism")?.0], whole));
    }
    let count = outline.len();
    let pieces = faces
        .iter()
        .map(|face| {
            let corners: Vec<Point> = face
                .iter()
                .flat_map(|&corner| [whole.vertices[corner], whole.vertices[corner + count]])
                .collect();
            Ok(convex_piece(&corners, "prism")?.0)
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

pub(super) fn mesh_piece(file: &str, given: Triangles) -> Result<(Piece, Triangles), ShapeError> {
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
