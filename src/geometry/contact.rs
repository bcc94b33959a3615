//! Where two solids touch, and which way they push each other.

use super::Solid;
use super::triangles::{Bounds, across};
use crate::model::{Point, Vector};

/// A point at which one solid touches another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Where.
    pub at: Point,
    /// The way the second solid pushes the first, unit length.
    pub push: Vector,
}

/// How much farther apart than their closest points two faces may be and still bear, mm: a face that
/// leans bears along its lowest edge only.
const BEARING_MM: f64 = 0.05;

/// Two faces whose normals are opposite to within 1.1° lie on each other.
const FLUSH: f64 = -0.9998;

/// Faces that don't face each other at all are left out: cosine between their normals.
const FACING: f64 = -0.05;

/// How far a face must go on round a point for its normal to count there, mm.
const ROUND_MM: f64 = 1.0;

/// Edges cross only farther from their ends than this, mm.
const END_MM: f64 = 1e-3;

/// Points nearer to each other than this, with the same push, are one, mm.
const SAME_MM: f64 = 0.05;

/// Points at which `first` touches `second`, or stands off or overlaps by at most `within_mm`; empty
/// when nothing is that near.
///
/// Faces on faces give the corners of the area that they share, edges on faces the ends of the line,
/// corners on faces themselves, edges crossing edges their crossing; a corner against an edge or
/// another corner pushes nowhere certain and gives nothing. Corners inside an area that others bound
/// are left out: they add nothing to what the area can push.
///
/// Method: every triangle of one that faces a triangle of the other is clipped to it and to the
/// thickness of `within_mm`; what lies within 0.05 mm of the closest bears. Round bars are prisms of 96
/// sides. Cost: pairs of triangles near both.
///
/// ```
/// use dryberth::geometry::{Solid, contacts};
/// use dryberth::model::{Point, Pose, Shape};
/// let cube = |from: [f64; 3], to: [f64; 3]| {
///     let shape = Shape::Box { from: Point::from(from), to: Point::from(to) };
///     Solid::of(&shape, &Pose::identity(), |_| None).unwrap()
/// };
/// // A bar lying across a rail: they share a square of 10 mm.
/// let bar = cube([-50.0, -5.0, 0.0], [50.0, 5.0, 8.0]);
/// let rail = cube([-5.0, -50.0, -8.0], [5.0, 50.0, 0.0]);
/// let found = contacts(&bar, &rail, 1.0);
/// assert_eq!(found.len(), 4);
/// assert!(found.iter().all(|it| it.push.z > 0.999 && (it.at.x.abs() - 5.0).abs() < 1e-6));
/// ```
pub fn contacts(first: &Solid, second: &Solid, within_mm: f64) -> Vec<Contact> {
    if first.bounds().distance_mm(second.bounds()) > within_mm {
        return Vec::new();
    }
    let ours = near_faces(first, second.bounds(), within_mm);
    let theirs = near_faces(second, first.bounds(), within_mm);
    let mut areas: Vec<Area> = Vec::new();
    for (index, a) in ours.iter().enumerate() {
        for (other, b) in theirs.iter().enumerate() {
            let facing = a.normal.dot(&b.normal);
            if facing > FACING || a.bounds.distance_mm(&b.bounds) > within_mm {
                continue;
            }
            let flush = facing <= FLUSH;
            areas.extend(Area::of((index, other), a, b, 1.0, flush, within_mm));
            if !flush {
                areas.extend(Area::of((index, other), b, a, -1.0, flush, within_mm));
            }
        }
    }
    let closest = areas.iter().flat_map(|area| &area.corners).map(|corner| corner.1);
    let closest_mm = closest.fold(f64::INFINITY, f64::min);
    let mut found: Vec<Contact> = Vec::new();
    let mut met: Vec<(usize, usize)> = Vec::new();
    for area in &areas {
        let bearing = cut(&area.corners, |corner| closest_mm + BEARING_MM - corner.1);
        // Where a face of the second bears, the first's own slope there doesn't count.
        if bearing.is_empty() || area.sign < 0.0 && met.contains(&area.pair) {
            continue;
        }
        let face = if area.sign > 0.0 { second } else { first };
        let mut any = false;
        for (at, _) in bearing {
            if area.flush || goes_on(face, &at, &area.normal) {
                add(&mut found, Contact { at, push: area.normal * area.sign });
                any = true;
            }
        }
        if any {
            met.push(area.pair);
        }
    }
    crossings(first, second, &ours, &theirs, within_mm, &mut found);
    outlines(found)
}

/// A triangle with what is asked of it again and again.
struct Face {
    corners: [Point; 3],
    index: [u32; 3],
    normal: Vector,
    bounds: Bounds,
}

fn near_faces(solid: &Solid, other: &Bounds, within_mm: f64) -> Vec<Face> {
    let all = solid.triangles();
    (0..all.indices.len())
        .filter_map(|index| {
            let corners = all.corners(index);
            let bounds = Bounds::of(corners.iter())?;
            if bounds.distance_mm(other) > within_mm {
                return None;
            }
            let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
            let normal = normal.try_normalize(1e-9)?;
            Some(Face { corners, index: all.indices[index], normal, bounds })
        })
        .collect()
}

/// Corners with their height over the face they lie against, mm.
type Heighted = Vec<(Point, f64)>;

/// Part of one triangle over another.
struct Area {
    pair: (usize, usize),
    corners: Heighted,
    /// Out of the face that it lies against.
    normal: Vector,
    /// 1 when that face is the second solid's.
    sign: f64,
    flush: bool,
}

impl Area {
    /// The part of `over` that lies over `face`, at most `within_mm` off it.
    fn of(
        pair: (usize, usize),
        over: &Face,
        face: &Face,
        sign: f64,
        flush: bool,
        within_mm: f64,
    ) -> Option<Area> {
        let height = |at: &Point| face.normal.dot(&(at - face.corners[0]));
        let mut corners: Heighted = over.corners.iter().map(|at| (*at, height(at))).collect();
        corners = cut(&corners, |corner| within_mm - corner.1);
        corners = cut(&corners, |corner| corner.1 + within_mm);
        for side in 0..3 {
            let (from, to) = (face.corners[side], face.corners[(side + 1) % 3]);
            let inward = face.normal.cross(&(to - from)).try_normalize(1e-12)?;
            corners = cut(&corners, |corner| inward.dot(&(corner.0 - from)) + 1e-9);
        }
        // Flush faces that meet in a line or a point share nothing to bear on.
        if corners.is_empty() || flush && spread_mm2(&corners) < 0.01 {
            return None;
        }
        Some(Area { pair, corners, normal: face.normal, sign, flush })
    }
}

/// Area of a flat polygon, mm².
fn spread_mm2(corners: &[(Point, f64)]) -> f64 {
    let first = corners[0].0;
    let twice: Vector =
        corners.windows(2).map(|pair| (pair[0].0 - first).cross(&(pair[1].0 - first))).sum();
    twice.norm() / 2.0
}

/// The part of a convex polygon on which `inside` isn't negative; `inside` is linear.
fn cut(corners: &[(Point, f64)], inside: impl Fn(&(Point, f64)) -> f64) -> Heighted {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    for (index, corner) in corners.iter().enumerate() {
        let next = &corners[(index + 1) % corners.len()];
        let (here, there) = (inside(corner), inside(next));
        if here >= 0.0 {
            kept.push(*corner);
        }
        if (here < 0.0) != (there < 0.0) {
            let share = here / (here - there);
            let at = corner.0 + (next.0 - corner.0) * share;
            kept.push((at, corner.1 + (next.1 - corner.1) * share));
        }
    }
    kept
}

/// Whether a surface goes on round a point with about this normal, rather than ending in an edge.
fn goes_on(solid: &Solid, at: &Point, normal: &Vector) -> bool {
    let foot = solid.nearest(at).1;
    let (u, v) = across(normal);
    [u, -u, v, -v]
        .iter()
        .all(|way| solid.distance_to_point_mm(&(foot + way * ROUND_MM)).abs() < 0.3 * ROUND_MM)
}

/// An edge between two faces that isn't flat.
struct Edge {
    from: Point,
    to: Point,
    normals: [Vector; 2],
}

fn edges(faces: &[Face]) -> Vec<Edge> {
    let mut sides: Vec<(u32, u32, usize)> = Vec::new();
    for (number, face) in faces.iter().enumerate() {
        let [a, b, c] = face.index;
        for (from, to) in [(a, b), (b, c), (c, a)] {
            sides.push((from.min(to), from.max(to), number));
        }
    }
    sides.sort_unstable();
    sides
        .windows(2)
        .filter(|pair| pair[0].0 == pair[1].0 && pair[0].1 == pair[1].1)
        .filter_map(|pair| {
            let (one, two) = (&faces[pair[0].2], &faces[pair[1].2]);
            // Facets of a round bar are not edges.
            if one.normal.dot(&two.normal) > 0.97 {
                return None;
            }
            let corner = |number: u32| {
                one.index.iter().position(|index| *index == number).map(|at| one.corners[at])
            };
            let (from, to) = (corner(pair[0].0)?, corner(pair[0].1)?);
            Some(Edge { from, to, normals: [one.normal, two.normal] })
        })
        .collect()
}

impl Edge {
    /// Whether something along `push` can push out of this edge: between its two faces' normals.
    fn gives(&self, push: &Vector) -> bool {
        let between = self.normals[0].dot(&self.normals[1]) - 1e-6;
        self.normals.iter().all(|normal| normal.dot(push) >= between)
    }
}

/// Adds where an edge of one crosses an edge of the other.
fn crossings(
    first: &Solid,
    second: &Solid,
    ours: &[Face],
    theirs: &[Face],
    within_mm: f64,
    found: &mut Vec<Contact>,
) {
    // Meshes have no edges to speak of, only facets.
    if first.pieces.iter().chain(&second.pieces).any(|piece| piece.mesh.is_some()) {
        return;
    }
    let others = edges(theirs);
    for one in edges(ours) {
        for other in &others {
            let (a, b) = (one.to - one.from, other.to - other.from);
            let across = a.cross(&b);
            if across.norm() < 0.1 * a.norm() * b.norm() {
                continue;
            }
            // Parameters of the closest points of the two straights.
            let between = other.from - one.from;
            let size = across.norm_squared();
            let s = between.cross(&b).dot(&across) / size;
            let t = between.cross(&a).dot(&across) / size;
            // A corner pushes nowhere certain.
            let within = |share: f64, long_mm: f64| {
                share * long_mm > END_MM && (1.0 - share) * long_mm > END_MM
            };
            if !within(s, a.norm()) || !within(t, b.norm()) {
                continue;
            }
            let (on_first, on_second) = (one.from + a * s, other.from + b * t);
            if (on_first - on_second).norm() > within_mm {
                continue;
            }
            let straight = across.normalize();
            let outward = straight.dot(&(other.normals[0] + other.normals[1]));
            let push = if outward < 0.0 { -straight } else { straight };
            if other.gives(&push) && one.gives(&-push) {
                add(found, Contact { at: nalgebra::center(&on_first, &on_second), push });
            }
        }
    }
}

fn add(found: &mut Vec<Contact>, contact: Contact) {
    let same = |known: &Contact| {
        (known.at - contact.at).norm() < SAME_MM && known.push.dot(&contact.push) > 0.99
    };
    if !found.iter().any(same) {
        found.push(contact);
    }
}

/// Of contacts that lie in one plane and push alike, those that bound the rest.
pub(crate) fn outlines(found: Vec<Contact>) -> Vec<Contact> {
    let mut left = found;
    let mut kept = Vec::new();
    while let Some(first) = left.first().copied() {
        let (group, rest): (Vec<Contact>, Vec<Contact>) = left.into_iter().partition(|it| {
            it.push.dot(&first.push) > 1.0 - 1e-6
                && first.push.dot(&(it.at - first.at)).abs() < 2.0 * BEARING_MM
        });
        left = rest;
        kept.extend(outline(&group));
    }
    kept
}

/// The corners of the convex outline of contacts in one plane; on a side nothing is kept.
fn outline(group: &[Contact]) -> Vec<Contact> {
    if group.len() < 3 {
        return group.to_vec();
    }
    let (u, v) = across(&group[0].push);
    let mut flat: Vec<(f64, f64, Contact)> =
        group.iter().map(|it| (u.dot(&it.at.coords), v.dot(&it.at.coords), *it)).collect();
    flat.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let half = |points: &mut dyn Iterator<Item = &(f64, f64, Contact)>| {
        let mut chain: Vec<(f64, f64, Contact)> = Vec::new();
        for point in points {
            while let [.., a, b] = chain.as_slice() {
                let turn = (b.0 - a.0) * (point.1 - a.1) - (b.1 - a.1) * (point.0 - a.0);
                if turn > 1e-6 {
                    break;
                }
                chain.pop();
            }
            chain.push(*point);
        }
        chain.pop();
        chain
    };
    let below = half(&mut flat.iter());
    let above = half(&mut flat.iter().rev());
    below.into_iter().chain(above).map(|(_, _, contact)| contact).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Place, Pose, Shape};

    fn boxed(from: [f64; 3], to: [f64; 3], place: &Place) -> Solid {
        let shape = Shape::Box { from: Point::from(from), to: Point::from(to) };
        Solid::of(&shape, &place.pose(), |_| None).expect("a box")
    }

    fn floor() -> Solid {
        boxed([-500.0, -500.0, -10.0], [500.0, 500.0, 0.0], &Place::default())
    }

    #[test]
    fn a_box_on_a_floor_rests_on_its_four_corners() {
        let cube = boxed([-30.0, -20.0, 0.0], [30.0, 20.0, 40.0], &Place::default());
        let found = contacts(&cube, &floor(), 1.0);
        assert_eq!(found.len(), 4, "{found:?}");
        for it in found {
            assert!((it.push - Vector::z()).norm() < 1e-12);
            assert!((it.at.x.abs() - 30.0).abs() < 1e-6 && (it.at.y.abs() - 20.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_box_larger_than_its_plinth_rests_on_the_plinths_corners() {
        let cube = boxed([-300.0, -200.0, 0.0], [300.0, 200.0, 40.0], &Place::default());
        let plinth = boxed([-30.0, -20.0, -40.0], [30.0, 20.0, 0.0], &Place::default());
        let found = contacts(&cube, &plinth, 1.0);
        assert_eq!(found.len(), 4, "{found:?}");
        assert!(found.iter().all(|it| it.push.z > 0.999 && (it.at.x.abs() - 30.0).abs() < 1e-6));
    }

    #[test]
    fn a_box_rolled_onto_its_edge_rests_on_the_ends_of_the_edge() {
        // Half of 40 × √2 high.
        for deg in [10.0, 45.0, 80.0] {
            let place = Place { at: Point::origin(), turn_deg: (deg, 0.0, 0.0) };
            let cube = boxed([-30.0, 0.0, 0.0], [30.0, 40.0, 40.0], &place);
            let found = contacts(&cube, &floor(), 1.0);
            assert!(!found.is_empty());
            for it in &found {
                assert!((it.push - Vector::z()).norm() < 1e-9, "{deg}: {it:?}");
                assert!(it.at.x.abs() < 30.0 + 1e-6 && it.at.y.abs() < 0.4, "{it:?}");
            }
            for end in [30.0, -30.0] {
                assert!(found.iter().any(|it| (it.at.x - end).abs() < 1e-6), "{deg}: {found:?}");
            }
        }
    }

    #[test]
    fn edges_that_cross_push_square_to_both() {
        // Two bars of square section on their edges, one over the other at right angles.
        let roll = Place { at: Point::origin(), turn_deg: (45.0, 0.0, 0.0) };
        let half = 10.0 * 2.0_f64.sqrt();
        let upper = boxed(
            [-100.0, -10.0, -10.0],
            [100.0, 10.0, 10.0],
            &Place { at: Point::new(0.0, 0.0, half), ..roll },
        );
        let pitch = Place { at: Point::new(0.0, 0.0, -half), turn_deg: (0.0, 45.0, 0.0) };
        let lower = boxed([-10.0, -100.0, -10.0], [10.0, 100.0, 10.0], &pitch);
        let found = contacts(&upper, &lower, 1.0);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].push - Vector::z()).norm() < 1e-9, "{found:?}");
        assert!(found[0].at.coords.norm() < 1e-9, "{found:?}");
    }

    #[test]
    fn a_round_bar_lying_on_a_floor_rests_along_a_narrow_line() {
        let shape = Shape::Cylinder {
            from: Point::new(-50.0, 0.0, 20.0),
            to: Point::new(50.0, 0.0, 20.0),
            radius_mm: 20.0,
        };
        let bar = Solid::of(&shape, &Pose::identity(), |_| None).expect("a bar");
        let found = contacts(&bar, &floor(), 1.0);
        assert!(!found.is_empty());
        for it in &found {
            assert!((it.push - Vector::z()).norm() < 1e-9, "{it:?}");
            assert!((it.at.x.abs() - 50.0).abs() < 1e-6 && it.at.y.abs() < 2.0, "{it:?}");
        }
    }

    #[test]
    fn a_corner_on_a_corner_pushes_nowhere_certain_and_far_is_nothing() {
        let a = boxed([0.0, 0.0, 0.0], [10.0, 10.0, 10.0], &Place::default());
        let b = boxed([-10.0, -10.0, -10.0], [0.0, 0.0, 0.0], &Place::default());
        assert!(contacts(&a, &b, 0.5).is_empty());
        let far = boxed([0.0, 0.0, 50.0], [10.0, 10.0, 60.0], &Place::default());
        assert!(contacts(&far, &b, 0.5).is_empty());
    }
}
