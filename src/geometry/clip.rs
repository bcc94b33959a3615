//! Closed surfaces cut by a plane: the volume below, the height that holds a volume, the section.

use super::Triangles;
use crate::model::{Point, Vector};

/// Volume, mm³, of a closed surface's inside below the plane `up · p = height_mm`; `up` is a unit
/// vector.
///
/// Each triangle's part below the plane spans a pyramid with a point of the plane; the cut face
/// itself spans none, so it need not be built. Exact to rounding.
///
/// ```
/// use dryberth::geometry::{Triangles, clip::volume_below_mm3};
/// use dryberth::model::{Point, Vector};
/// let cube = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 10.0, 10.0));
/// assert!((volume_below_mm3(&cube, &Vector::z(), 4.0) - 400.0).abs() < 1e-9);
/// ```
pub fn volume_below_mm3(surface: &Triangles, up: &Vector, height_mm: f64) -> f64 {
    let apex = Point::from(up * height_mm);
    let mut six_volumes = 0.0;
    for triangle in surface.each() {
        let (corners, count) = below(&triangle, up, height_mm);
        for last in 2..count {
            let (a, b, c) = (corners[0] - apex, corners[last - 1] - apex, corners[last] - apex);
            six_volumes += a.dot(&b.cross(&c));
        }
    }
    six_volumes / 6.0
}

/// The height along the unit vector `up`, mm, at which the volume below is `volume_mm3`; within
/// 1e-9 of the volume of the whole.
///
/// None when the volume is negative, larger than the whole, or the surface encloses none.
/// Method: bisection with secant steps; the volume never falls as the plane rises.
///
/// ```
/// use dryberth::geometry::{Triangles, clip::height_of_volume_mm};
/// use dryberth::model::{Point, Vector};
/// let cube = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 10.0, 10.0));
/// let height = height_of_volume_mm(&cube, &Vector::z(), 250.0).unwrap();
/// assert!((height - 2.5).abs() < 1e-6);
/// ```
pub fn height_of_volume_mm(surface: &Triangles, up: &Vector, volume_mm3: f64) -> Option<f64> {
    let (mut low, mut high) = extent_mm(surface, up)?;
    let whole = surface.volume_mm3();
    if !(0.0..=whole).contains(&volume_mm3) || whole <= 0.0 {
        return None;
    }
    let close = whole * 1e-9;
    let (mut below_low, mut below_high) = (0.0 - volume_mm3, whole - volume_mm3);
    for round in 0..200 {
        // Every third step halves, so a flat stretch can't stall the secant.
        let secant = low - below_low * (high - low) / (below_high - below_low);
        let middle = f64::midpoint(low, high);
        let height = if round % 3 == 2 || !secant.is_finite() { middle } else { secant };
        let off = volume_below_mm3(surface, up, height) - volume_mm3;
        if off.abs() <= close || high - low < 1e-10 {
            return Some(height);
        }
        if off < 0.0 {
            (low, below_low) = (height, off);
        } else {
            (high, below_high) = (height, off);
        }
    }
    Some(f64::midpoint(low, high))
}

/// Lowest and highest point along `up`, mm.
pub fn extent_mm(surface: &Triangles, up: &Vector) -> Option<(f64, f64)> {
    let mut heights = surface.vertices.iter().map(|vertex| up.dot(&vertex.coords));
    let first = heights.next()?;
    Some(heights.fold((first, first), |(low, high), h| (low.min(h), high.max(h))))
}

/// The section of a closed convex surface with the plane `up · p = height_mm`, corners in order;
/// empty when they don't meet. Of a hollow-sided surface it is the section's convex hull order.
pub fn section(surface: &Triangles, up: &Vector, height_mm: f64) -> Vec<Point> {
    let mut corners: Vec<Point> = Vec::new();
    for triangle in surface.each() {
        for side in 0..3 {
            let (a, b) = (triangle[side], triangle[(side + 1) % 3]);
            let (ha, hb) = (up.dot(&a.coords) - height_mm, up.dot(&b.coords) - height_mm);
            if (ha < 0.0) != (hb < 0.0) {
                let corner = a + (b - a) * (ha / (ha - hb));
                if corners.iter().all(|known| (known - corner).norm() > 1e-6) {
                    corners.push(corner);
                }
            }
        }
    }
    if corners.len() < 3 {
        return Vec::new();
    }
    let count = corners.len() as f64;
    let middle = corners.iter().fold(Vector::zeros(), |sum, p| sum + p.coords) / count;
    let (u, v) = super::triangles::across(up);
    corners.sort_by(|a, b| {
        let angle = |p: &Point| {
            let offset = p.coords - middle;
            v.dot(&offset).atan2(u.dot(&offset))
        };
        angle(a).total_cmp(&angle(b))
    });
    corners
}

/// Lowest and highest height along `normal` above the plane through `triangle`, of the part of
/// `surface` that lies over or under the triangle; none when no part does. Exact on triangles.
pub fn heights_over(surface: &Triangles, triangle: &[Point; 3]) -> Option<HeightsOver> {
    let normal =
        (triangle[1] - triangle[0]).cross(&(triangle[2] - triangle[0])).try_normalize(1e-12)?;
    let mut found: Option<HeightsOver> = None;
    for candidate in surface.each() {
        let mut part = candidate.to_vec();
        for side in 0..3 {
            let from = triangle[side];
            let inward = normal.cross(&(triangle[(side + 1) % 3] - from));
            part = keep_inside(&part, &from, &inward);
            if part.is_empty() {
                break;
            }
        }
        for point in part {
            let height = normal.dot(&(point - triangle[0]));
            let heights = found.get_or_insert(HeightsOver {
                lowest_mm: height,
                highest_mm: height,
                at: point,
            });
            heights.lowest_mm = heights.lowest_mm.min(height);
            if height > heights.highest_mm {
                heights.highest_mm = height;
                heights.at = point;
            }
        }
    }
    found
}

/// What of a surface lies over a triangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightsOver {
    /// Lowest height above the triangle's plane, mm.
    pub lowest_mm: f64,
    /// Highest height, mm.
    pub highest_mm: f64,
    /// Where it is highest.
    pub at: Point,
}

/// The part of a convex polygon on the side of the plane through `from` that `inward` points to.
pub(super) fn keep_inside(polygon: &[Point], from: &Point, inward: &Vector) -> Vec<Point> {
    let depth = |point: &Point| inward.dot(&(point - from));
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    for (index, a) in polygon.iter().enumerate() {
        let b = &polygon[(index + 1) % polygon.len()];
        let (da, db) = (depth(a), depth(b));
        if da >= 0.0 {
            kept.push(*a);
        }
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            kept.push(a + (b - a) * (da / (da - db)));
        }
    }
    kept
}

/// The part of a triangle below a plane: up to four corners, and how many.
fn below(triangle: &[Point; 3], up: &Vector, height_mm: f64) -> ([Point; 4], usize) {
    let over = triangle.map(|corner| up.dot(&corner.coords) - height_mm);
    let mut corners = [Point::origin(); 4];
    let mut count = 0;
    for index in 0..3 {
        let next = (index + 1) % 3;
        let (a, b) = (over[index], over[next]);
        if a <= 0.0 {
            corners[count] = triangle[index];
            count += 1;
        }
        if (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0) {
            corners[count] = triangle[index] + (triangle[next] - triangle[index]) * (a / (a - b));
            count += 1;
        }
    }
    (corners, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tilted_cube_holds_half_below_its_middle() {
        let cube = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 10.0, 10.0));
        let up = Vector::new(0.3, -0.5, 0.8).normalize();
        let middle = up.dot(&Vector::new(5.0, 5.0, 5.0));
        assert!((volume_below_mm3(&cube, &up, middle) - 500.0).abs() < 1e-9);
        let found = height_of_volume_mm(&cube, &up, 500.0).expect("half of it fits");
        assert!((found - middle).abs() < 1e-6);
        assert!(height_of_volume_mm(&cube, &up, 1001.0).is_none());
    }

    #[test]
    fn heights_over_a_triangle_see_only_what_is_over_it() {
        let floor = [Point::origin(), Point::new(100.0, 0.0, 0.0), Point::new(0.0, 100.0, 0.0)];
        let near = Triangles::cuboid(&Point::new(10.0, 10.0, -5.0), &Point::new(20.0, 20.0, 8.0));
        let over = heights_over(&near, &floor).expect("it is over the triangle");
        assert!((over.lowest_mm + 5.0).abs() < 1e-9 && (over.highest_mm - 8.0).abs() < 1e-9);
        let away = Triangles::cuboid(&Point::new(80.0, 80.0, 0.0), &Point::new(90.0, 90.0, 8.0));
        assert!(heights_over(&away, &floor).is_none());
        // A plate larger than the triangle covers it, though no corner of the plate is over it.
        let plate =
            Triangles::cuboid(&Point::new(-500.0, -500.0, 3.0), &Point::new(500.0, 500.0, 4.0));
        let over = heights_over(&plate, &floor).expect("it covers the triangle");
        assert!((over.highest_mm - 4.0).abs() < 1e-9);
    }
}
