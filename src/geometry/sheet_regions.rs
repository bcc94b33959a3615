//! The space in front of a sheet, parted by what of it is nearest: its faces, folds and corners.

use std::collections::BTreeMap;

use super::{Bounds, Triangles};
use crate::model::{Point, Vector};

/// Corners nearer to one another than this are one, so that faces measured one by one meet, mm.
const WELD_MM: f64 = 0.1;

/// The space in front of one face, fold or corner: what lies in it is nearest to that one, unless a
/// hollow brings something else nearer.
#[derive(Clone)]
pub(super) struct Region {
    /// A point and the inward normal of each plane that bounds it.
    pub(super) sides: Vec<(Point, Vector)>,
    pub(super) nearest: Feature,
    /// The part of the sheet that it stands on.
    pub(super) foot: Bounds,
}

#[derive(Clone)]
pub(super) enum Feature {
    Face { at: Point, normal: Vector, face: usize },
    Fold { at: Point, along: Vector },
    Corner { at: Point },
}

impl Feature {
    /// A convex function that is the distance to it for points of its region.
    pub(super) fn distance_mm(&self, point: &Point) -> f64 {
        match self {
            Feature::Face { at, normal, .. } => normal.dot(&(point - at)),
            Feature::Fold { at, along } => {
                let offset = point - at;
                (offset - along * along.dot(&offset)).norm()
            }
            Feature::Corner { at } => (point - at).norm(),
        }
    }
}

/// A fold that is hollow seen from the front: its ends, and the way out in front between its faces.
#[derive(Clone)]
pub(super) struct Hollow {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) front: Vector,
}

/// Regions of every face, of every fold that is convex seen from the front, and of every such corner.
///
/// **Source** for front and behind at a corner: Bærentzen and Aanæs, signed distance by the angle-weighted
/// pseudonormal (2005), from memory.
pub(super) fn regions(triangles: &Triangles, face_of: &[usize]) -> (Vec<Region>, Vec<Hollow>) {
    let (ids, points) = welded(&triangles.vertices);
    let normals: Vec<Option<Vector>> =
        triangles.each().map(|[a, b, c]| (b - a).cross(&(c - a)).try_normalize(1e-12)).collect();
    let mut found = Vec::new();
    let mut hollows = Vec::new();
    // Each directed edge with its triangle; and each corner's neighbours, and whether it is inside.
    let mut edges: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    // Normals weighted by the angle that a face has at a corner: they tell front from behind there.
    let mut fronts = vec![Vector::zeros(); points.len()];
    for (index, corners) in triangles.indices.iter().enumerate() {
        let Some(normal) = normals[index] else { continue };
        let corner = corners.map(|corner| ids[corner as usize]);
        let at = triangles.corners(index);
        let mut sides: Vec<(Point, Vector)> =
            (0..3).map(|side| (at[side], normal.cross(&(at[(side + 1) % 3] - at[side])))).collect();
        sides.push((at[0], normal));
        let nearest = Feature::Face { at: at[0], normal, face: face_of[index] };
        let Some(foot) = Bounds::of(at.iter()) else { continue };
        found.push(Region { sides, nearest, foot });
        for side in 0..3 {
            let (to, from) = (at[(side + 1) % 3] - at[side], at[(side + 2) % 3] - at[side]);
            fronts[corner[side]] += normal * to.angle(&from);
            edges.insert((corner[side], corner[(side + 1) % 3]), index);
        }
    }
    let mut inner: BTreeMap<usize, Option<Vec<usize>>> = BTreeMap::new();
    for (&(from, to), &index) in &edges {
        let back = edges.get(&(to, from)).copied();
        for (corner, other) in [(from, to), (to, from)] {
            let spokes = inner.entry(corner).or_insert_with(|| Some(Vec::new()));
            match (back, spokes.as_mut()) {
                (Some(_), Some(spokes)) => spokes.push(other),
                _ => *spokes = None,
            }
        }
        let Some(back) = back.filter(|_| from < to) else { continue };
        let (Some(near), Some(far)) = (normals[index], normals[back]) else { continue };
        let (a, b) = (points[from], points[to]);
        let Some(along) = (b - a).try_normalize(1e-12) else { continue };
        // Out of each face across the edge.
        let (out_near, out_far) = (along.cross(&near), -along.cross(&far));
        if out_near.dot(&far) <= 1e-9 {
            if out_near.dot(&far) < -1e-9 {
                hollows.push(Hollow { from: a, to: b, front: near + far });
            }
            continue;
        }
        let Some(foot) = Bounds::of([a, b].iter()) else { continue };
        let sides = vec![(a, along), (b, -along), (a, out_near), (a, out_far)];
        found.push(Region { sides, nearest: Feature::Fold { at: a, along }, foot });
    }
    for (corner, spokes) in inner {
        let Some(spokes) = spokes else { continue };
        let at = points[corner];
        // In a pit the space nearest to the corner lies behind it.
        let spokes = spokes.iter().map(|other| (at, at - points[*other]));
        let sides: Vec<(Point, Vector)> = spokes.chain([(at, fronts[corner])]).collect();
        let Some(foot) = Bounds::of([at].iter()) else { continue };
        found.push(Region { sides, nearest: Feature::Corner { at }, foot });
    }
    (found, hollows)
}

/// A number for each corner, equal for corners that are one, and the corners by number.
fn welded(corners: &[Point]) -> (Vec<usize>, Vec<Point>) {
    let mut points: Vec<Point> = Vec::new();
    let mut cells: BTreeMap<[i64; 3], Vec<usize>> = BTreeMap::new();
    let cell = |at: &Point, shift: [i64; 3]| -> [i64; 3] {
        std::array::from_fn(|axis| (at[axis] / WELD_MM).floor() as i64 + shift[axis])
    };
    let ids = corners
        .iter()
        .map(|corner| {
            for x in -1..=1 {
                for y in -1..=1 {
                    for z in -1..=1 {
                        let known = cells.get(&cell(corner, [x, y, z])).into_iter().flatten();
                        for &id in known {
                            if (points[id] - corner).norm() <= WELD_MM {
                                return id;
                            }
                        }
                    }
                }
            }
            points.push(*corner);
            cells.entry(cell(corner, [0; 3])).or_default().push(points.len() - 1);
            points.len() - 1
        })
        .collect();
    (ids, points)
}
