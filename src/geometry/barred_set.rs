//! The straight moves after which one convex part still meets another: one convex set.

use parry3d::shape::Triangle;

use super::across;
use super::piece::Piece;
use crate::frame::vector_from_parry;
use crate::model::{Point, Pose, Vector};

/// Moves after which one convex part still meets another: their Minkowski difference. Touching counts as
/// meeting.
pub(super) struct Barred {
    /// Unit normal, lower and upper offset of each pair of opposite planes. The set lies within them; it
    /// fills them unless `round` is given.
    slabs: Vec<(Vector, f64, f64)>,
    /// A cylinder and the faces of the other part, asked themselves.
    round: Option<RoundToFaces>,
}

/// What a convex part gives to its planes.
pub(super) struct Features {
    corners: Vec<Point>,
    /// One of each pair of opposite directions.
    normals: Vec<Vector>,
    edges: Vec<Vector>,
    /// Its surface as triangles; empty where a cylinder never meets it.
    faces: Vec<[Point; 3]>,
    /// The cylinder that a prism stands round.
    round: Option<Round>,
}

/// A cylinder along z about the origin of its frame.
#[derive(Clone, Copy)]
struct Round {
    pose: Pose,
    radius_mm: f64,
    half_mm: f64,
}

/// Sides of the prism round a cylinder that bounds its sets.
const ROUND_SIDES: u32 = 16;

impl Barred {
    /// The moves of `first` that leave it meeting `second`.
    ///
    /// Method: the faces of a Minkowski difference of convex polyhedra lie along a face of either or along
    /// an edge of both. A cylinder takes part as a prism round it; whether it truly meets the other
    /// part is then worked out on that part's faces.
    pub(super) fn between(first: &Features, second: &Features) -> Barred {
        let pairs = first.edges.len() * second.edges.len();
        let mut slabs = Vec::with_capacity(first.normals.len() + second.normals.len() + pairs);
        let mut keep = |axis: &Vector| {
            let Some(axis) = axis.try_normalize(1e-9) else { return };
            let (low_a, high_a) = extent(&first.corners, &axis);
            let (low_b, high_b) = extent(&second.corners, &axis);
            slabs.push((axis, low_b - high_a, high_b - low_a));
        };
        second.normals.iter().chain(&first.normals).for_each(&mut keep);
        for a in &first.edges {
            for b in &second.edges {
                keep(&a.cross(b));
            }
        }
        let round = match (first.round, second.round) {
            (Some(round), None) => RoundToFaces::of(round, second, 1.0),
            (None, Some(round)) => RoundToFaces::of(round, first, -1.0),
            _ => None,
        };
        Barred { slabs, round }
    }

    /// How many pairs of planes bound it.
    pub(super) fn slabs(&self) -> usize {
        self.slabs.len()
    }

    /// Whether it fills its planes, so that [`side`](Self::side) is a face of it.
    pub(super) fn flat(&self) -> bool {
        self.round.is_none()
    }

    /// How far outside a move lies, at least; 0 or less when it is inside or on the skin, and then minus a
    /// bound below how far inside. No more is worked out once it is beyond `enough`.
    pub(super) fn out_mm(&self, by: &Vector, enough: f64) -> f64 {
        let mut most = f64::NEG_INFINITY;
        for (normal, low, high) in &self.slabs {
            let along = normal.dot(by);
            most = most.max(along - high).max(low - along);
            if most > enough {
                return most;
            }
        }
        match &self.round {
            Some(round) if most <= 0.0 => {
                // The planes stand off by at most the prism's overhang.
                if round.met(by) {
                    (most + round.overhang_mm()).min(0.0)
                } else {
                    f64::MIN_POSITIVE
                }
            }
            _ => most,
        }
    }

    /// The plane that a move outside lies farthest beyond: its direction outwards and how far.
    pub(super) fn side(&self, by: &Vector) -> (Vector, f64) {
        let mut side = (Vector::zeros(), f64::NEG_INFINITY);
        for (normal, low, high) in &self.slabs {
            let along = normal.dot(by);
            if along - high > side.1 {
                side = (*normal, along - high);
            }
            if low - along > side.1 {
                side = (-normal, low - along);
            }
        }
        side
    }

    /// Whether all of the hull of some moves lies in it.
    pub(super) fn holds(&self, moves: &[Vector; 6]) -> bool {
        if let Some(round) = &self.round {
            return moves.iter().all(|by| round.met(by));
        }
        self.slabs.iter().all(|(normal, low, high)| {
            moves.iter().all(|by| {
                let along = normal.dot(by);
                *low <= along && along <= *high
            })
        })
    }
}

impl Features {
    /// The features of a convex piece; none for a mesh. Those of a cylinder are a prism's round it.
    pub(super) fn of(piece: &Piece) -> Option<Features> {
        let turned = |vector: parry3d::math::Vector| piece.pose * vector_from_parry(vector);
        if let Some(cylinder) = piece.shape.as_cylinder() {
            let axis = piece.pose * Vector::y();
            let (u, v) = across(&axis);
            let turn = nalgebra::Rotation3::from_basis_unchecked(&[u, v, u.cross(&v)]);
            let round = Round {
                pose: Pose::from_parts(piece.pose.translation, turn.into()),
                radius_mm: cylinder.radius,
                half_mm: cylinder.half_height,
            };
            return Some(Features::round(round));
        }
        if let Some(hull) = piece.shape.as_convex_polyhedron() {
            let points = hull.points();
            let mut normals = Vec::new();
            hull.faces().iter().for_each(|face| once(&mut normals, turned(face.normal)));
            let mut edges = Vec::new();
            for edge in hull.edges() {
                let [from, to] = edge.vertices.map(|corner| points[corner as usize]);
                once(&mut edges, turned(to - from));
            }
            let (vertices, triangles) = hull.to_trimesh();
            let at = |corner: u32| {
                piece.pose * Point::from(vector_from_parry(vertices[corner as usize]))
            };
            let faces = triangles.into_iter().map(|face| face.map(at)).collect();
            let corners = piece.samples.clone();
            return Some(Features { corners, normals, edges, faces, round: None });
        }
        piece.shape.as_cuboid()?;
        let axes: Vec<Vector> =
            [Vector::x(), Vector::y(), Vector::z()].iter().map(|axis| piece.pose * axis).collect();
        let corners = piece.samples.clone();
        Some(Features {
            corners,
            normals: axes.clone(),
            edges: axes,
            faces: Vec::new(),
            round: None,
        })
    }

    /// The features of a triangle.
    pub(super) fn of_triangle(triangle: &Triangle, pose: &Pose) -> Features {
        let [a, b, c] = [triangle.a, triangle.b, triangle.c]
            .map(|at| pose * Point::from(vector_from_parry(at)));
        let edges = vec![b - a, c - b, a - c];
        let normals = vec![(b - a).cross(&(c - a))];
        Features { corners: vec![a, b, c], normals, edges, faces: vec![[a, b, c]], round: None }
    }

    fn round(round: Round) -> Features {
        let axis = round.pose * Vector::z();
        let step = std::f64::consts::TAU / f64::from(ROUND_SIDES);
        let way = |turn: f64| {
            let angle = turn * step;
            round.pose * Vector::new(angle.cos(), angle.sin(), 0.0)
        };
        let middle = Point::from(round.pose.translation.vector);
        let corner_mm = round.radius_mm / (step / 2.0).cos();
        let (mut corners, mut normals, mut edges) = (Vec::new(), vec![axis], vec![axis]);
        for side in 0..ROUND_SIDES {
            let at = middle + way(f64::from(side)) * corner_mm;
            corners.extend([at + axis * round.half_mm, at - axis * round.half_mm]);
            if side < ROUND_SIDES / 2 {
                let normal = way(f64::from(side) + 0.5);
                edges.push(axis.cross(&normal));
                normals.push(normal);
            }
        }
        Features { corners, normals, edges, faces: Vec::new(), round: Some(round) }
    }
}

/// A cylinder and the faces of a convex part, one of which a move carries.
struct RoundToFaces {
    round: Round,
    /// 1 when the move carries the cylinder, -1 when it carries the other.
    sign: f64,
    /// In the cylinder's frame.
    faces: Vec<[Vector; 3]>,
    /// Planes between which the part lies, in the cylinder's frame; none for a single triangle.
    slabs: Vec<(Vector, f64, f64)>,
}

impl RoundToFaces {
    fn of(round: Round, other: &Features, sign: f64) -> Option<RoundToFaces> {
        let turn = round.pose.rotation.inverse();
        let faces: Vec<[Vector; 3]> = other
            .faces
            .iter()
            .map(|face| face.map(|at| round.pose.inverse_transform_point(&at).coords))
            .collect();
        let slabs = match faces.len() {
            0 => return None,
            1 => Vec::new(),
            _ => {
                let slab = |normal: &Vector| {
                    let (low, high) = extent(&other.corners, normal);
                    let middle = normal.dot(&round.pose.translation.vector);
                    (turn * normal, low - middle, high - middle)
                };
                other.normals.iter().map(slab).collect()
            }
        };
        Some(RoundToFaces { round, sign, faces, slabs })
    }

    /// How far the prism round the cylinder reaches beyond it, mm.
    fn overhang_mm(&self) -> f64 {
        let half_side = std::f64::consts::PI / f64::from(ROUND_SIDES);
        self.round.radius_mm * (1.0 / half_side.cos() - 1.0)
    }

    /// Whether the two meet after the move.
    ///
    /// Method: a face is cut off beyond both ends of the cylinder; what is left meets it when, seen along
    /// the axis, it comes as near to the axis as the radius. Or the cylinder lies inside.
    fn met(&self, by: &Vector) -> bool {
        let by = self.round.pose.rotation.inverse_transform_vector(by) * self.sign;
        let inside = !self.slabs.is_empty()
            && self.slabs.iter().all(|(normal, low, high)| {
                let along = normal.dot(&by);
                *low <= along && along <= *high
            });
        inside || self.faces.iter().any(|face| self.meets_face(face, &by))
    }

    fn meets_face(&self, face: &[Vector; 3], by: &Vector) -> bool {
        let mut cut = Cut { corners: [Vector::zeros(); 5], count: 0 };
        face.iter().for_each(|at| cut.push(at - by));
        let half_mm = self.round.half_mm;
        cut.beyond(1.0, half_mm).beyond(-1.0, half_mm).meets_disc(self.round.radius_mm)
    }
}

/// A triangle cut by at most two planes.
struct Cut {
    corners: [Vector; 5],
    count: usize,
}

impl Cut {
    fn push(&mut self, at: Vector) {
        if let Some(free) = self.corners.get_mut(self.count) {
            *free = at;
            self.count += 1;
        }
    }

    fn sides(&self) -> impl Iterator<Item = (&Vector, &Vector)> {
        let corners = &self.corners[..self.count];
        corners
            .iter()
            .enumerate()
            .map(|(index, from)| (from, &corners[(index + 1) % corners.len()]))
    }

    /// Without what lies beyond `most_mm` along z times `sign`.
    fn beyond(self, sign: f64, most_mm: f64) -> Cut {
        let mut kept = Cut { corners: [Vector::zeros(); 5], count: 0 };
        for (from, to) in self.sides() {
            let (over_from, over_to) = (sign * from.z - most_mm, sign * to.z - most_mm);
            if over_from <= 0.0 {
                kept.push(*from);
            }
            if (over_from < 0.0 && over_to > 0.0) || (over_from > 0.0 && over_to < 0.0) {
                kept.push(from + (to - from) * (over_from / (over_from - over_to)));
            }
        }
        kept
    }

    /// Whether its shadow along z comes within `radius_mm` of the z axis.
    fn meets_disc(&self, radius_mm: f64) -> bool {
        let (mut left, mut right) = (false, false);
        for (from, to) in self.sides() {
            let (x, y) = (to.x - from.x, to.y - from.y);
            let length2 = x * x + y * y;
            let along = if length2 > 0.0 { -(from.x * x + from.y * y) / length2 } else { 0.0 };
            let along = along.clamp(0.0, 1.0);
            let (near_x, near_y) = (from.x + x * along, from.y + y * along);
            if near_x * near_x + near_y * near_y <= radius_mm * radius_mm {
                return true;
            }
            // On which side of each edge the axis lies: inside, it is the same side of all.
            let turn = x * -from.y - y * -from.x;
            left |= turn > 0.0;
            right |= turn < 0.0;
        }
        left != right
    }
}

/// Adds a direction unless it or its opposite is there.
fn once(known: &mut Vec<Vector>, towards: Vector) {
    if let Some(towards) = towards.try_normalize(1e-9)
        && known.iter().all(|other| other.cross(&towards).norm() > 1e-7)
    {
        known.push(towards);
    }
}

fn extent(corners: &[Point], axis: &Vector) -> (f64, f64) {
    corners
        .iter()
        .map(|corner| axis.dot(&corner.coords))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
}
