//! Triangle lists: the form in which every shape is drawn, clipped and flooded.

use std::collections::BTreeMap;

use crate::model::{Axis, Point, Pose, Vector};

/// Sides of the polygon that stands for a circle. At 96 sides its edge is within 0.05 % of the
/// radius of the circle.
const ROUND_SIDES: usize = 96;

/// An axis-aligned box round something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lowest x, y and z.
    pub low: Point,
    /// Highest x, y and z.
    pub high: Point,
}

impl Bounds {
    /// The box round some points; none when there are none.
    pub fn of<'a>(mut points: impl Iterator<Item = &'a Point>) -> Option<Bounds> {
        let first = *points.next()?;
        Some(points.fold(Bounds { low: first, high: first }, |bounds, point| Bounds {
            low: bounds.low.inf(point),
            high: bounds.high.sup(point),
        }))
    }

    /// The box round both.
    #[must_use]
    pub fn with(&self, other: &Bounds) -> Bounds {
        Bounds { low: self.low.inf(&other.low), high: self.high.sup(&other.high) }
    }

    /// The box with every side moved out by `by_mm`.
    #[must_use]
    pub fn grown(&self, by_mm: f64) -> Bounds {
        let by = Vector::repeat(by_mm);
        Bounds { low: self.low - by, high: self.high + by }
    }

    /// The box moved by a vector.
    #[must_use]
    pub fn shifted(&self, by: &Vector) -> Bounds {
        Bounds { low: self.low + by, high: self.high + by }
    }

    /// A box that holds it when `by` has moved it.
    #[must_use]
    pub fn turned(&self, by: &Pose) -> Bounds {
        let turn = by.rotation.to_rotation_matrix();
        let half = turn.matrix().abs() * ((self.high - self.low) / 2.0);
        let middle = by * self.centre();
        Bounds { low: middle - half, high: middle + half }
    }

    /// Whether all of another box is in it; touching its sides from inside is being in it.
    pub fn covers(&self, other: &Bounds) -> bool {
        self.holds(&other.low) && self.holds(&other.high)
    }

    /// Distance between two boxes, mm; 0 when they touch or overlap.
    pub fn distance_mm(&self, other: &Bounds) -> f64 {
        let apart = |axis: usize| {
            (other.low[axis] - self.high[axis]).max(self.low[axis] - other.high[axis]).max(0.0)
        };
        Vector::new(apart(0), apart(1), apart(2)).norm()
    }

    /// Distance from the box to a point, mm; 0 inside.
    pub fn distance_to_point_mm(&self, point: &Point) -> f64 {
        self.distance_mm(&Bounds { low: *point, high: *point })
    }

    /// Its middle.
    pub fn centre(&self) -> Point {
        nalgebra::center(&self.low, &self.high)
    }

    /// Its eight corners.
    pub fn corners(&self) -> [Point; 8] {
        std::array::from_fn(|turn| {
            let side = |axis: usize| {
                if turn >> axis & 1 == 0 { self.low[axis] } else { self.high[axis] }
            };
            Point::new(side(0), side(1), side(2))
        })
    }

    /// Whether a point is in it or on it.
    pub fn holds(&self, point: &Point) -> bool {
        (0..3).all(|axis| (self.low[axis]..=self.high[axis]).contains(&point[axis]))
    }
}

/// Corners and the triangles between them, counter-clockwise as seen from outside.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Triangles {
    /// Corners, mm.
    pub vertices: Vec<Point>,
    /// Three corners each.
    pub indices: Vec<[u32; 3]>,
}

impl Triangles {
    /// A box between two opposite corners, in any order.
    pub fn cuboid(from: &Point, to: &Point) -> Triangles {
        let (low, high) = (from.inf(to), from.sup(to));
        Triangles::extruded(
            Axis::Z,
            &[(low.x, low.y), (high.x, low.y), (high.x, high.y), (low.x, high.y)],
            &[[0, 1, 2], [0, 2, 3]],
            low.z,
            high.z,
        )
    }

    /// A round bar of 96 sides whose cross-section has the area of the circle.
    pub fn cylinder(from: &Point, to: &Point, radius_mm: f64) -> Triangles {
        let step = std::f64::consts::TAU / ROUND_SIDES as f64;
        let radius_mm = radius_mm * (step / step.sin()).sqrt();
        let outline: Vec<(f64, f64)> = (0..ROUND_SIDES)
            .map(|side| {
                let angle = step * side as f64;
                (radius_mm * angle.cos(), radius_mm * angle.sin())
            })
            .collect();
        let fan: Vec<[usize; 3]> = (1..ROUND_SIDES - 1).map(|i| [0, i, i + 1]).collect();
        let length_mm = (to - from).norm();
        Triangles::extruded(Axis::Z, &outline, &fan, 0.0, length_mm).moved(&bar_pose(from, to))
    }

    /// A flat outline, counter-clockwise, with its triangles, drawn out along an axis.
    pub(crate) fn extruded(
        along: Axis,
        outline: &[(f64, f64)],
        faces: &[[usize; 3]],
        from_mm: f64,
        to_mm: f64,
    ) -> Triangles {
        let (low, high) = (from_mm.min(to_mm), from_mm.max(to_mm));
        let count = outline.len();
        let place = |(a, b): (f64, f64), c: f64| match along {
            Axis::X => Point::new(c, a, b),
            Axis::Y => Point::new(b, c, a),
            Axis::Z => Point::new(a, b, c),
        };
        let mut vertices: Vec<Point> = outline.iter().map(|&corner| place(corner, low)).collect();
        vertices.extend(outline.iter().map(|&corner| place(corner, high)));
        let mut indices = Vec::with_capacity(faces.len() * 2 + count * 2);
        for &[a, b, c] in faces {
            indices.push([a as u32, c as u32, b as u32]);
            indices.push([(a + count) as u32, (b + count) as u32, (c + count) as u32]);
        }
        for side in 0..count {
            let next = (side + 1) % count;
            let (a, b) = (side as u32, next as u32);
            let (c, d) = ((next + count) as u32, (side + count) as u32);
            indices.push([a, b, c]);
            indices.push([a, c, d]);
        }
        Triangles { vertices, indices }
    }

    /// A flat polygon's triangles; it may be concave.
    pub fn polygon(corners: &[Point]) -> Triangles {
        let normal = crate::model::newell_normal(corners);
        let (u, v) = across(&normal);
        let flat: Vec<(f64, f64)> =
            corners.iter().map(|corner| (u.dot(&corner.coords), v.dot(&corner.coords))).collect();
        let indices =
            triangulate(&flat).iter().map(|&[a, b, c]| [a as u32, b as u32, c as u32]).collect();
        Triangles { vertices: corners.to_vec(), indices }
    }

    /// The corners of triangle `index`.
    pub fn corners(&self, index: usize) -> [Point; 3] {
        self.indices[index].map(|corner| self.vertices[corner as usize])
    }

    /// Every triangle's corners.
    pub fn each(&self) -> impl ExactSizeIterator<Item = [Point; 3]> + '_ {
        (0..self.indices.len()).map(|index| self.corners(index))
    }

    /// The same triangles moved by a pose.
    #[must_use]
    pub fn moved(&self, pose: &Pose) -> Triangles {
        Triangles {
            vertices: self.vertices.iter().map(|vertex| pose * vertex).collect(),
            indices: self.indices.clone(),
        }
    }

    /// Adds another list to this one.
    pub fn append(&mut self, other: &Triangles) {
        let offset = self.vertices.len() as u32;
        self.vertices.extend_from_slice(&other.vertices);
        self.indices.extend(other.indices.iter().map(|index| index.map(|corner| corner + offset)));
    }

    /// The box round it; none when it is empty.
    pub fn bounds(&self) -> Option<Bounds> {
        Bounds::of(self.vertices.iter())
    }

    /// Enclosed volume, mm³, positive when the triangles face outward; meaningless when not closed.
    pub fn volume_mm3(&self) -> f64 {
        let Some(origin) = self.vertices.first().copied() else { return 0.0 };
        self.each()
            .map(|[a, b, c]| (a - origin).dot(&(b - origin).cross(&(c - origin))) / 6.0)
            .sum()
    }

    /// Whether every edge is shared by two triangles that run along it in opposite ways.
    pub fn closed(&self) -> bool {
        if self.indices.is_empty() {
            return false;
        }
        let mut edges: BTreeMap<(u32, u32), i64> = BTreeMap::new();
        for &[a, b, c] in &self.indices {
            for (from, to) in [(a, b), (b, c), (c, a)] {
                let count = edges.entry((from.min(to), from.max(to))).or_default();
                // Forward uses count 1, backward ones 1 << 32: closed when both are exactly one.
                *count += if from < to { 1 } else { 1 << 32 };
            }
        }
        edges.values().all(|&count| count == 1 + (1 << 32))
    }

    /// The same surface with equal corners made one and triangles without area left out.
    #[must_use]
    pub fn welded(&self) -> Triangles {
        let mut known: BTreeMap<[u64; 3], u32> = BTreeMap::new();
        let mut vertices = Vec::new();
        let renumbered: Vec<u32> = self
            .vertices
            .iter()
            .map(|vertex| {
                // Adding zero makes -0 and 0 one key.
                let key = [vertex.x + 0.0, vertex.y + 0.0, vertex.z + 0.0].map(f64::to_bits);
                *known.entry(key).or_insert_with(|| {
                    vertices.push(*vertex);
                    vertices.len() as u32 - 1
                })
            })
            .collect();
        let indices = self
            .indices
            .iter()
            .map(|index| index.map(|corner| renumbered[corner as usize]))
            .filter(|[a, b, c]| a != b && b != c && c != a)
            .collect();
        Triangles { vertices, indices }
    }

    /// The same triangles facing the other way.
    #[must_use]
    pub fn reversed(mut self) -> Triangles {
        for index in &mut self.indices {
            index.swap(1, 2);
        }
        self
    }
}

/// Triangles of a flat counter-clockwise or clockwise outline, returned counter-clockwise.
pub(crate) fn triangulate(outline: &[(f64, f64)]) -> Vec<[usize; 3]> {
    let mut cutter = earcut::Earcut::new();
    let mut found: Vec<usize> = Vec::new();
    cutter.earcut(outline.iter().map(|&(a, b)| [a, b]), &[], &mut found);
    found
        .chunks_exact(3)
        .map(|corner| {
            let [a, b, c] = [corner[0], corner[1], corner[2]];
            let turn = (outline[b].0 - outline[a].0) * (outline[c].1 - outline[a].1)
                - (outline[b].1 - outline[a].1) * (outline[c].0 - outline[a].0);
            if turn < 0.0 { [a, c, b] } else { [a, b, c] }
        })
        .collect()
}

/// The pose that turns a bar from the origin up z into one from `from` to `to`.
pub(crate) fn bar_pose(from: &Point, to: &Point) -> Pose {
    let axis = to - from;
    let turn =
        nalgebra::UnitQuaternion::rotation_between(&Vector::z(), &axis).unwrap_or_else(|| {
            nalgebra::UnitQuaternion::from_axis_angle(&Vector::x_axis(), std::f64::consts::PI)
        });
    Pose::from_parts(nalgebra::Translation3::from(from.coords), turn)
}

/// Two unit vectors at right angles to `normal` and to each other; `u × v` points along `normal`.
pub(crate) fn across(normal: &Vector) -> (Vector, Vector) {
    let unit = normal.try_normalize(1e-12).unwrap_or_else(Vector::z);
    let least = if unit.x.abs() <= unit.y.abs() && unit.x.abs() <= unit.z.abs() {
        Vector::x()
    } else if unit.y.abs() <= unit.z.abs() {
        Vector::y()
    } else {
        Vector::z()
    };
    let u = least.cross(&unit).normalize();
    (u, unit.cross(&u))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_a_bar_and_a_prism_are_closed_with_their_volume() {
        let cuboid = Triangles::cuboid(&Point::new(1.0, 2.0, 3.0), &Point::new(-1.0, 5.0, 7.0));
        assert!(cuboid.closed());
        assert!((cuboid.volume_mm3() - 24.0).abs() < 1e-9);
        let bar = Triangles::cylinder(&Point::origin(), &Point::new(0.0, 30.0, 40.0), 7.0);
        assert!(bar.closed());
        assert!((bar.volume_mm3() - std::f64::consts::PI * 49.0 * 50.0).abs() < 1e-6);
        let outline = [(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 4.0), (0.0, 4.0)];
        for along in [Axis::X, Axis::Y, Axis::Z] {
            let ell = Triangles::extruded(along, &outline, &triangulate(&outline), 5.0, -5.0);
            assert!(ell.closed(), "{along:?}");
            assert!((ell.volume_mm3() - 70.0).abs() < 1e-9, "{along:?}");
        }
    }

    #[test]
    fn an_open_surface_is_told_apart() {
        let mut cuboid = Triangles::cuboid(&Point::origin(), &Point::new(1.0, 1.0, 1.0));
        cuboid.indices.pop();
        assert!(!cuboid.closed());
    }

    #[test]
    fn welding_makes_equal_corners_one() {
        let mut twice = Triangles::default();
        let cuboid = Triangles::cuboid(&Point::origin(), &Point::new(1.0, 1.0, 1.0));
        for [a, b, c] in cuboid.each() {
            let base = twice.vertices.len() as u32;
            twice.vertices.extend([a, b, c]);
            twice.indices.push([base, base + 1, base + 2]);
        }
        assert!(!twice.closed());
        let welded = twice.welded();
        assert_eq!(welded.vertices.len(), 8);
        assert!(welded.closed());
    }
}
