//! Open meshes with a front, or with a thickness.

use std::collections::BTreeMap;
use std::sync::Arc;

use parry3d::query::PointQueryWithLocation;
use parry3d::shape::{SharedShape, TriMesh, TriMeshFlags, TrianglePointLocation};

use super::Solid;
use super::gap::Gap;
use super::piece::Piece;
use crate::frame::{parry_from_point, parry_from_pose, point_from_parry};
use crate::model::{Point, Skin};

/// What an open mesh is taken for, and where its rim is.
#[derive(Clone)]
pub(super) struct Sided {
    skin: Skin,
    /// For each triangle, its corners (bits 0 to 2) and its edges ab, bc, ac (bits 3 to 5) on the rim.
    rim: Arc<Vec<u8>>,
}

impl Solid {
    /// The same solid with its open mesh, if it has one, taken for a `skin`.
    #[must_use]
    pub fn with_skin(mut self, skin: Skin) -> Solid {
        self.pieces = self.pieces.into_iter().map(|piece| piece.with_skin(skin)).collect();
        self
    }

    /// How far behind the front of its open mesh a point lies, mm; none where it isn't behind it, or where
    /// it has no front. Beside the rim is not behind.
    pub fn behind_mm(&self, point: &Point) -> Option<f64> {
        let behind = |piece: &Piece| piece.behind(point).map(|(deep_mm, _)| deep_mm);
        self.pieces.iter().filter_map(behind).max_by(f64::total_cmp)
    }
}

impl Piece {
    fn with_skin(mut self, skin: Skin) -> Piece {
        let Some(mesh) = self.shape.as_trimesh().filter(|_| self.mesh == Some(false)) else {
            return self;
        };
        let rim = Arc::new(rim(mesh.indices()));
        let (corners, indices) = (mesh.vertices().to_vec(), mesh.indices().to_vec());
        if let Ok(shape) = TriMesh::with_flags(corners, indices, TriMeshFlags::ORIENTED) {
            self.shape = SharedShape::new(shape);
        }
        self.sided = Some(Sided { skin, rim });
        self
    }

    /// Half its thickness when it is a sheet with two sides, mm.
    pub(super) fn half_thick_mm(&self) -> f64 {
        match &self.sided {
            Some(Sided { skin: Skin::TwoSided { thick_mm }, .. }) => thick_mm / 2.0,
            _ => 0.0,
        }
    }

    /// How far what belongs to it reaches out of its mesh, mm.
    pub(super) fn skin_mm(&self) -> f64 {
        match &self.sided {
            Some(Sided { skin: Skin::Faced { deep_mm }, .. }) => *deep_mm,
            _ => self.half_thick_mm(),
        }
    }

    /// How far behind its front a point lies, and the nearest place of the skin.
    fn behind(&self, point: &Point) -> Option<(f64, Point)> {
        let Sided { skin: Skin::Faced { deep_mm }, rim } = self.sided.as_ref()? else {
            return None;
        };
        if self.bounds.distance_to_point_mm(point) > *deep_mm {
            return None;
        }
        let pose = parry_from_pose(&self.pose);
        let (found, (triangle, location)) = self
            .shape
            .as_trimesh()?
            .project_point_and_get_location(&pose, parry_from_point(point), false);
        let bit = match location {
            TrianglePointLocation::OnVertex(corner) => corner,
            TrianglePointLocation::OnEdge(edge, _) => 3 + edge,
            _ => 8,
        };
        let on_rim = bit < 8 && rim.get(triangle as usize).is_some_and(|bits| bits >> bit & 1 == 1);
        let on = point_from_parry(found.point);
        let away_mm = (on - point).norm();
        (found.is_inside && !on_rim && away_mm <= *deep_mm).then_some((away_mm, on))
    }
}

/// The deepest corner of either piece behind the front of the other, as a gap.
pub(super) fn deepest_behind(a: &Piece, b: &Piece) -> Option<Gap> {
    let deepest = |skin: &Piece, other: &Piece| {
        skin.sided.as_ref()?;
        let found = other.samples.iter().filter_map(|at| Some((skin.behind(at)?, *at)));
        found.max_by(|x, y| x.0.0.total_cmp(&y.0.0))
    };
    let of_a = deepest(b, a).map(|((deep_mm, on), at)| Gap {
        distance_mm: -deep_mm,
        on_first: at,
        on_second: on,
    });
    let of_b = deepest(a, b).map(|((deep_mm, on), at)| Gap {
        distance_mm: -deep_mm,
        on_first: on,
        on_second: at,
    });
    of_a.into_iter().chain(of_b).min_by(|x, y| x.distance_mm.total_cmp(&y.distance_mm))
}

/// Corners and edges of each triangle that lie on the rim.
fn rim(indices: &[[u32; 3]]) -> Vec<u8> {
    let key = |a: u32, b: u32| (a.min(b), a.max(b));
    let mut uses: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for &[a, b, c] in indices {
        for edge in [key(a, b), key(b, c), key(a, c)] {
            *uses.entry(edge).or_default() += 1;
        }
    }
    let mut corners: BTreeMap<u32, ()> = BTreeMap::new();
    for ((a, b), _) in uses.iter().filter(|(_, count)| **count == 1) {
        corners.insert(*a, ());
        corners.insert(*b, ());
    }
    indices
        .iter()
        .map(|&[a, b, c]| {
            let mut bits = 0;
            for (bit, corner) in [a, b, c].into_iter().enumerate() {
                bits |= u8::from(corners.contains_key(&corner)) << bit;
            }
            for (bit, edge) in [key(a, b), key(b, c), key(a, c)].into_iter().enumerate() {
                bits |= u8::from(uses.get(&edge) == Some(&1)) << (3 + bit);
            }
            bits
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Triangles, gap};
    use crate::model::{Pose, Shape};

    /// A wall at x = 0, 400 × 400 mm, whose front looks along x; a hundred triangles.
    fn wall(skin: Option<Skin>) -> Solid {
        let mut surface = Triangles::default();
        for i in 0..=10 {
            for j in 0..=10 {
                let at = |k: i32| -200.0 + 40.0 * f64::from(k);
                surface.vertices.push(Point::new(0.0, at(i), at(j)));
            }
        }
        for i in 0..10 {
            for j in 0..10 {
                let a = i * 11 + j;
                surface.indices.extend([[a, a + 11, a + 12], [a, a + 12, a + 1]]);
            }
        }
        let shape = Shape::Mesh { file: "wall".into() };
        let made = Solid::of(&shape, &Pose::identity(), |_| Some(surface)).expect("a wall");
        match skin {
            Some(skin) => made.with_skin(skin),
            None => made,
        }
    }

    fn boxed(from: f64, to: f64, aside: f64) -> Solid {
        let shape = Shape::Box {
            from: Point::new(from, aside - 20.0, -20.0),
            to: Point::new(to, aside + 20.0, 20.0),
        };
        Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
    }

    #[test]
    fn what_stands_behind_a_front_is_in_it_by_its_deepest_corner() {
        let faced = wall(Some(Skin::Faced { deep_mm: 100.0 }));
        let mm = |from: f64, to: f64, aside: f64| {
            gap(&boxed(from, to, aside), &faced, 300.0).map(|gap| gap.distance_mm)
        };
        let near = |found: Option<f64>, expected: f64| {
            assert!(found.is_some_and(|mm| (mm - expected).abs() < 1e-6), "{found:?}, {expected}");
        };
        near(mm(30.0, 60.0, 0.0), 30.0); // in front
        near(mm(-60.0, -30.0, 0.0), -60.0); // wholly behind
        near(mm(-10.0, 90.0, 0.0), -10.0); // through it, mostly in front
        near(mm(-150.0, -120.0, 0.0), 120.0); // deeper than the body goes
        near(mm(-60.0, -30.0, 300.0), (80.0_f64.powi(2) + 30.0_f64.powi(2)).sqrt()); // beside it
    }

    #[test]
    fn without_a_known_side_both_are_as_near_and_thickness_counts_half() {
        for (from, to) in [(30.0, 60.0), (-60.0, -30.0)] {
            let bare = gap(&boxed(from, to, 0.0), &wall(None), 300.0).expect("near");
            assert!((bare.distance_mm - 30.0).abs() < 1e-9);
            let thick = wall(Some(Skin::TwoSided { thick_mm: 8.0 }));
            let found = gap(&boxed(from, to, 0.0), &thick, 300.0).expect("near");
            assert!((found.distance_mm - 26.0).abs() < 1e-9);
        }
    }
}
