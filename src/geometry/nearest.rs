//! The nearest points of a convex shape and a triangle mesh, through the mesh's tree.

use parry3d::math::{Pose as ParryPose, Real, Vector as ParryVector};
use parry3d::partitioning::BvhNode;
use parry3d::query::ClosestPoints;
use parry3d::query::details::closest_points_support_map_support_map;
use parry3d::shape::{Shape, SupportMap, TriMesh, Triangle};

/// How two surfaces stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Nearest {
    /// Farther apart than was asked about.
    Beyond,
    /// Apart, or touching: the distance, and the points in the frame of the first.
    Apart { distance_mm: f64, on_first: ParryVector, on_second: ParryVector },
    /// They cross.
    Crossing,
}

impl Nearest {
    /// The same with first and second exchanged.
    pub(super) fn flipped(self) -> Nearest {
        match self {
            Nearest::Apart { distance_mm, on_first, on_second } => {
                Nearest::Apart { distance_mm, on_first: on_second, on_second: on_first }
            }
            other => other,
        }
    }

    fn of(met: ClosestPoints) -> Nearest {
        match met {
            ClosestPoints::Intersecting => Nearest::Crossing,
            ClosestPoints::Disjoint => Nearest::Beyond,
            ClosestPoints::WithinMargin(on_first, on_second) => {
                Nearest::Apart { distance_mm: (on_second - on_first).length(), on_first, on_second }
            }
        }
    }
}

/// The nearest points of a mesh at `pose` in the frame of another mesh and that other, as far as
/// `up_to_mm`; points in the frame of the other.
///
/// Method: each triangle of the first that may be near enough is asked in turn, the nearer branch of its
/// tree first; best when the first is the smaller.
pub(super) fn mesh_to_mesh(
    first: &TriMesh,
    pose: &ParryPose,
    second: &TriMesh,
    up_to_mm: f64,
) -> Nearest {
    let round = second.local_aabb();
    let (middle, half) = (round.center(), round.half_extents());
    let frames = Frames::new(middle, half, pose);
    let reach_mm = up_to_mm + up_to_mm.abs() * 1e-12 + 1e-9;
    let found = first.bvh().find_best(
        reach_mm,
        |node, _| frames.below(node),
        |index, reach_mm| {
            let triangle = triangle_of(first, pose, index);
            let nearest = Convex::of(&triangle)?.to_mesh(second, &ParryPose::IDENTITY, reach_mm);
            match nearest {
                Nearest::Beyond => None,
                Nearest::Crossing => Some((-1.0, nearest)),
                Nearest::Apart { distance_mm, .. } => Some((distance_mm, nearest)),
            }
        },
    );
    found.map_or(Nearest::Beyond, |(_, (_, nearest))| nearest)
}

/// A triangle of a mesh that stands at `pose`.
fn triangle_of(mesh: &TriMesh, pose: &ParryPose, index: u32) -> Triangle {
    let vertices = mesh.vertices();
    let [a, b, c] = mesh.indices()[index as usize]
        .map(|corner| pose.transform_point(vertices[corner as usize]));
    Triangle::new(a, b, c)
}

/// A convex shape with the box round it in its own frame.
pub(super) struct Convex<'a> {
    map: &'a dyn SupportMap,
    middle: ParryVector,
    half: ParryVector,
}

impl<'a> Convex<'a> {
    /// None for a shape that isn't convex.
    pub(super) fn of(shape: &'a dyn Shape) -> Option<Convex<'a>> {
        let map = shape.as_support_map()?;
        let round = shape.compute_local_aabb();
        Some(Convex { map, middle: round.center(), half: round.half_extents() })
    }

    /// The nearest points of this shape and a triangle, both in this shape's frame.
    pub(super) fn to_triangle(&self, triangle: &Triangle, up_to_mm: f64) -> Nearest {
        let met = closest_points_support_map_support_map(
            &ParryPose::IDENTITY,
            self.map,
            triangle,
            up_to_mm,
        );
        Nearest::of(met)
    }

    /// A bound below the distance to a triangle: the box round this shape against the box round the
    /// triangle, and against the triangle's plane.
    fn below(&self, triangle: &Triangle) -> f64 {
        let low = triangle.a.min(triangle.b).min(triangle.c) - self.middle;
        let high = triangle.a.max(triangle.b).max(triangle.c) - self.middle;
        let boxes = (low - self.half).max(-high - self.half).max(ParryVector::ZERO).length();
        let across = (triangle.b - triangle.a).cross(triangle.c - triangle.a);
        let size = across.length();
        if size < 1e-12 {
            return boxes;
        }
        let over =
            (across.dot(self.middle - triangle.a).abs() - across.abs().dot(self.half)) / size;
        boxes.max(over)
    }

    /// The nearest points of this shape and `mesh` at `pose` in this shape's frame, as far as
    /// `up_to_mm`.
    ///
    /// Method: a walk down the mesh's tree, the nearer branch first; a branch is left out when its
    /// box is farther than the best found, seen along the mesh's axes or along this shape's. GJK
    /// (in parry) for the triangles that remain.
    pub(super) fn to_mesh(&self, mesh: &TriMesh, pose: &ParryPose, up_to_mm: f64) -> Nearest {
        let frames = Frames::of(self, pose);
        let reach_mm = up_to_mm + up_to_mm.abs() * 1e-12 + 1e-9;
        let found = mesh.bvh().find_best(
            reach_mm,
            |node, _| frames.below(node),
            |index, reach_mm| {
                let triangle = triangle_of(mesh, pose, index);
                if self.below(&triangle) >= reach_mm {
                    return None;
                }
                match self.to_triangle(&triangle, reach_mm) {
                    Nearest::Beyond => None,
                    // Below everything, so that the walk ends.
                    Nearest::Crossing => Some((-1.0, Nearest::Crossing)),
                    apart @ Nearest::Apart { distance_mm, .. } => Some((distance_mm, apart)),
                }
            },
        );
        found.map_or(Nearest::Beyond, |(_, (_, nearest))| nearest)
    }

    /// Whether more than `most` triangles of `mesh` have a box within `near_mm`.
    pub(super) fn crowded(
        &self,
        mesh: &TriMesh,
        pose: &ParryPose,
        near_mm: f64,
        most: usize,
    ) -> bool {
        let frames = Frames::of(self, pose);
        mesh.bvh().leaves(|node| frames.below(node) <= near_mm).nth(most).is_some()
    }

    /// Calls `each` with every triangle of `mesh` that may be within `near_mm`, in this shape's frame.
    pub(super) fn triangles_near(
        &self,
        mesh: &TriMesh,
        pose: &ParryPose,
        near_mm: f64,
        mut each: impl FnMut(&Triangle),
    ) {
        let frames = Frames::of(self, pose);
        for index in mesh.bvh().leaves(|node| frames.below(node) <= near_mm) {
            let triangle = triangle_of(mesh, pose, index);
            if self.below(&triangle) <= near_mm {
                each(&triangle);
            }
        }
    }
}

/// The box round a convex shape seen from a mesh's frame, and the other way round.
struct Frames {
    /// The shape's box along the mesh's axes.
    middle_there: ParryVector,
    half_there: ParryVector,
    /// The mesh's axes along the shape's, and their absolute values; columns.
    columns: [ParryVector; 3],
    absolute: [ParryVector; 3],
    /// From the middle of the shape's box to the mesh's origin, shape's axes.
    shift: ParryVector,
    half: ParryVector,
}

impl Frames {
    fn of(convex: &Convex, pose: &ParryPose) -> Frames {
        Frames::new(convex.middle, convex.half, pose)
    }

    /// A box about `middle` and a mesh at `pose` in the box's frame.
    fn new(middle: ParryVector, half: ParryVector, pose: &ParryPose) -> Frames {
        let columns =
            [ParryVector::X, ParryVector::Y, ParryVector::Z].map(|axis| pose.rotation * axis);
        let absolute = columns.map(|column| column.abs());
        let middle_there = pose.inverse_transform_point(middle);
        let half_there =
            ParryVector::new(absolute[0].dot(half), absolute[1].dot(half), absolute[2].dot(half));
        Frames {
            middle_there,
            half_there,
            columns,
            absolute,
            shift: pose.translation - middle,
            half,
        }
    }

    /// A bound below the distance from the shape to whatever is in a node of the mesh's tree.
    #[inline]
    fn below(&self, node: &BvhNode) -> Real {
        let (low, high) = (node.mins(), node.maxs());
        let (middle, half) = ((low + high) * 0.5, (high - low) * 0.5);
        let there = ((middle - self.middle_there).abs() - half - self.half_there)
            .max(ParryVector::ZERO)
            .length_squared();
        let at = self.shift
            + self.columns[0] * middle.x
            + self.columns[1] * middle.y
            + self.columns[2] * middle.z;
        let reach =
            self.absolute[0] * half.x + self.absolute[1] * half.y + self.absolute[2] * half.z;
        let here = (at.abs() - reach - self.half).max(ParryVector::ZERO).length_squared();
        there.max(here).sqrt()
    }
}
