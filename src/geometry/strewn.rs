//! Points strewn over a triangle, and how far points are from one.

use parry3d::query::PointQuery;
use parry3d::shape::Triangle;

use crate::frame::parry_from_point;
use crate::model::Point;

/// A triangle whose longest side is this many times the limit or more carries more points along, as
/// if it were divided, into so many parts at most.
const CARRIED_EVERY: f64 = 2.0;
const MOST_CARRIED_PARTS: usize = 6;

/// Most parts into which the measurement divides a triangle's side.
const MOST_PARTS: usize = 6;

/// The middles of a triangle's sides, and points inside it.
pub(super) fn strewn(corners: &[Point; 3], step_mm: f64) -> impl Iterator<Item = Point> {
    let [a, b, c] = *corners;
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    let parts = ((longest / step_mm).ceil() as usize).clamp(1, MOST_PARTS);
    let half = |from: &Point, to: &Point| nalgebra::center(from, to);
    lattice(corners, parts).chain([half(&a, &b), half(&b, &c), half(&c, &a)])
}

/// The points of a triangle that are carried along: the middle of its longest side, and inside it one
/// or, where it is large beside the limit, more.
pub(super) fn carried(corners: &[Point; 3], limit_mm: f64) -> impl Iterator<Item = Point> {
    let [a, b, c] = *corners;
    let (ab, bc, ca) = ((b - a).norm_squared(), (c - b).norm_squared(), (a - c).norm_squared());
    let longest = ab.max(bc).max(ca);
    let middle = if ab >= longest {
        nalgebra::center(&a, &b)
    } else if bc >= longest {
        nalgebra::center(&b, &c)
    } else {
        nalgebra::center(&c, &a)
    };
    let parts =
        ((longest.sqrt() / (CARRIED_EVERY * limit_mm)) as usize).clamp(1, MOST_CARRIED_PARTS);
    std::iter::once(middle).chain(lattice(corners, parts))
}

/// Points inside a triangle whose sides are divided into `parts`.
fn lattice(&[a, b, c]: &[Point; 3], parts: usize) -> impl Iterator<Item = Point> + use<> {
    let third = move |index: usize| (index as f64 + 1.0 / 3.0) / parts as f64;
    (0..parts)
        .flat_map(move |i| (0..parts - i).map(move |j| a + (b - a) * third(i) + (c - a) * third(j)))
}

/// Across a triangle, as long as twice its area.
pub(super) fn normal([a, b, c]: &[Point; 3]) -> crate::model::Vector {
    (b - a).cross(&(c - a))
}

/// Height over the longest side as a share of that side.
pub(super) fn height_share(corners: &[Point; 3]) -> f64 {
    let [a, b, c] = corners;
    let longest = (b - a).norm_squared().max((c - b).norm_squared()).max((a - c).norm_squared());
    normal(corners).norm() / longest.max(f64::MIN_POSITIVE)
}

/// How far a point is from a triangle.
pub(super) fn distance_mm(corners: &[Point; 3], point: &Point) -> f64 {
    let [a, b, c] = corners.each_ref().map(parry_from_point);
    Triangle::new(a, b, c).distance_to_local_point(parry_from_point(point), true)
}
