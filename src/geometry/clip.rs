//! Closed surfaces cut by a plane: the volume below, the height that holds a volume, the section.

use std::collections::BTreeMap;

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
    let over: Vec<f64> =
        surface.vertices.iter().map(|vertex| up.dot(&vertex.coords) - height_mm).collect();
    let mut six_volumes = 0.0;
    for index in &surface.indices {
        let [ha, hb, hc] = index.map(|corner| over[corner as usize]);
        let under = (ha <= 0.0, hb <= 0.0, hc <= 0.0);
        if under == (false, false, false) {
            continue;
        }
        let [a, b, c] = index.map(|corner| surface.vertices[corner as usize] - apex);
        six_volumes += match under {
            (true, true, true) => a.dot(&b.cross(&c)),
            (true, false, false) => tip(&a, &b, &c, ha, hb, hc),
            (false, true, false) => tip(&b, &c, &a, hb, hc, ha),
            (false, false, true) => tip(&c, &a, &b, hc, ha, hb),
            // Two corners below: the whole less the tip above.
            (false, true, true) => a.dot(&b.cross(&c)) - tip(&a, &b, &c, ha, hb, hc),
            (true, false, true) => a.dot(&b.cross(&c)) - tip(&b, &c, &a, hb, hc, ha),
            (true, true, false) => a.dot(&b.cross(&c)) - tip(&c, &a, &b, hc, ha, hb),
            (false, false, false) => 0.0,
        };
    }
    six_volumes / 6.0
}

/// Six volumes of the pyramid from the apex over the part of a triangle that is on `a`'s side of the
/// plane, where `a` is alone on it: the whole's, less the shares of both sides that are cut off.
fn tip(a: &Vector, b: &Vector, c: &Vector, ha: f64, hb: f64, hc: f64) -> f64 {
    a.dot(&b.cross(c)) * (ha / (ha - hb)) * (ha / (ha - hc))
}

/// How far the volume under a height found by [`height_of_volume_mm`] may be off, as a share of the
/// whole, and in mm³ (0.001 ml) whichever is less.
const CLOSE: (f64, f64) = (1e-9, 1.0);

/// The height along the unit vector `up`, mm, at which the volume below is `volume_mm3`: within 1e-9 of
/// the volume of the whole and within 0.001 ml.
///
/// None when the volume is negative, larger than the whole, or the surface encloses none.
/// Method: Newton steps on the volume and its derivative, the section's area, kept in a bracket that
/// is halved when a step leaves it; the volume never falls as the plane rises. Triangles wholly below
/// the bracket are summed once, those above it are let go, so a search costs about three looks at the
/// whole surface.
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
    let close = (whole * CLOSE.0).min(CLOSE.1);
    let mut search = Search::of(surface, up);
    let mut height = f64::midpoint(low, high);
    for _ in 0..200 {
        let (below_mm3, area_mm2) = search.at(height);
        let off = below_mm3 - volume_mm3;
        if off.abs() <= close || high - low < 1e-10 {
            return Some(height);
        }
        if off < 0.0 {
            low = height;
        } else {
            high = height;
        }
        search.narrow(low, high);
        let step = height - off / area_mm2;
        let inside = step > low && step < high;
        height = if inside { step } else { f64::midpoint(low, high) };
    }
    Some(height)
}

/// What is known of a surface while the plane of a volume is looked for.
struct Search<'a> {
    surface: &'a Triangles,
    up: &'a Vector,
    /// A point of the surface, from which everything is measured, and its height.
    from: Point,
    from_mm: f64,
    /// Each corner's height.
    heights: Vec<f64>,
    /// Triangles that the plane may still cut.
    active: Vec<u32>,
    /// Six volumes with `from`, and twice the area across `up`, of the triangles wholly below.
    six_volumes: f64,
    twice_area: f64,
}

impl<'a> Search<'a> {
    fn of(surface: &'a Triangles, up: &'a Vector) -> Search<'a> {
        let from = surface.vertices.first().copied().unwrap_or_else(Point::origin);
        let heights = surface.vertices.iter().map(|vertex| up.dot(&vertex.coords)).collect();
        let active = (0..surface.indices.len() as u32).collect();
        let from_mm = up.dot(&from.coords);
        Search { surface, up, from, from_mm, heights, active, six_volumes: 0.0, twice_area: 0.0 }
    }

    fn corners(&self, triangle: u32) -> ([Vector; 3], [f64; 3]) {
        let index = self.surface.indices[triangle as usize];
        (
            index.map(|corner| self.surface.vertices[corner as usize] - self.from),
            index.map(|corner| self.heights[corner as usize]),
        )
    }

    /// Lets go of what the plane can't cut between two heights.
    fn narrow(&mut self, low: f64, high: f64) {
        let mut active = std::mem::take(&mut self.active);
        active.retain(|&triangle| {
            let ([a, b, c], heights) = self.corners(triangle);
            let (least, most) = (
                heights[0].min(heights[1]).min(heights[2]),
                heights[0].max(heights[1]).max(heights[2]),
            );
            if most <= low {
                self.six_volumes += a.dot(&b.cross(&c));
                self.twice_area += self.up.dot(&(a.cross(&b) + b.cross(&c) + c.cross(&a)));
                return false;
            }
            least < high
        });
        self.active = active;
    }

    /// Volume below a height within the bracket, mm³, and area of the section there, mm².
    fn at(&self, height: f64) -> (f64, f64) {
        let lift = height - self.from_mm;
        let apex = self.up * lift;
        let mut six_volumes = self.six_volumes - lift * self.twice_area;
        let mut twice_section = 0.0;
        for &triangle in &self.active {
            let (corners, heights) = self.corners(triangle);
            let under = heights.map(|corner| corner <= height);
            let count = under.iter().filter(|under| **under).count();
            let [a, b, c] = corners.map(|corner| corner - apex);
            if count == 3 {
                six_volumes += a.dot(&b.cross(&c));
                continue;
            }
            if count == 0 {
                continue;
            }
            // Turned so that the first corner is the one alone on its side.
            let alone = under.iter().position(|under| *under == (count == 1)).unwrap_or(0);
            let turned = |of: [Vector; 3]| [of[alone], of[(alone + 1) % 3], of[(alone + 2) % 3]];
            let [a, b, c] = turned([a, b, c]);
            let [ha, hb, hc] = [heights[alone], heights[(alone + 1) % 3], heights[(alone + 2) % 3]];
            let p = a + (b - a) * ((height - ha) / (hb - ha));
            let q = a + (c - a) * ((height - ha) / (hc - ha));
            let across = self.up.dot(&p.cross(&q));
            if count == 1 {
                six_volumes += a.dot(&p.cross(&q));
                twice_section -= across;
            } else {
                six_volumes += p.dot(&b.cross(&c)) + p.dot(&c.cross(&q));
                twice_section += across;
            }
        }
        (six_volumes / 6.0, twice_section / 2.0)
    }
}

/// Lowest and highest point along `up`, mm.
pub fn extent_mm(surface: &Triangles, up: &Vector) -> Option<(f64, f64)> {
    let mut heights = surface.vertices.iter().map(|vertex| up.dot(&vertex.coords));
    let first = heights.next()?;
    Some(heights.fold((first, first), |(low, high), h| (low.min(h), high.max(h))))
}

/// The section of a closed surface with the plane `up · p = height_mm`: its loops, each in order,
/// counter-clockwise as seen from above round what is inside, the longest first; empty when they don't
/// meet. Corners that triangles share must be one. A loop of an open surface ends where its rim is cut.
///
/// ```
/// use dryberth::geometry::{Triangles, clip::section};
/// use dryberth::model::{Point, Vector};
/// let cube = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 10.0, 10.0));
/// let loops = section(&cube, &Vector::z(), 4.0);
/// assert!(loops.len() == 1 && loops[0].iter().all(|corner| (corner.z - 4.0).abs() < 1e-12));
/// ```
pub fn section(surface: &Triangles, up: &Vector, height_mm: f64) -> Vec<Vec<Point>> {
    let over = |corner: u32| up.dot(&surface.vertices[corner as usize].coords) - height_mm;
    let edge = |from: u32, to: u32| (from.min(to), from.max(to));
    let at = |(from, to): (u32, u32)| {
        let (a, b) = (surface.vertices[from as usize], surface.vertices[to as usize]);
        let (ha, hb) = (over(from), over(to));
        a + (b - a) * (ha / (ha - hb))
    };
    // From the edge by which a triangle's cut comes in to the one by which it goes out.
    let mut next: BTreeMap<(u32, u32), (u32, u32)> = BTreeMap::new();
    for corners in &surface.indices {
        let (mut comes, mut goes) = (None, None);
        for side in 0..3 {
            let (a, b) = (corners[side], corners[(side + 1) % 3]);
            match (over(a) < 0.0, over(b) < 0.0) {
                (true, false) => comes = Some(edge(a, b)),
                (false, true) => goes = Some(edge(a, b)),
                _ => {}
            }
        }
        if let (Some(comes), Some(goes)) = (comes, goes) {
            next.insert(goes, comes);
        }
    }
    let mut loops = Vec::new();
    while let Some((first, mut to)) = next.pop_first() {
        let mut corners: Vec<Point> = vec![at(first)];
        while to != first {
            let corner = at(to);
            if corners.last().is_none_or(|last| (last - corner).norm() > 1e-9) {
                corners.push(corner);
            }
            match next.remove(&to) {
                Some(on) => to = on,
                None => break,
            }
        }
        if corners.len() > 2 {
            loops.push(corners);
        }
    }
    let length = |corners: &Vec<Point>| -> f64 {
        corners.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
    };
    loops.sort_by(|a, b| length(b).total_cmp(&length(a)));
    loops
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
    fn a_section_of_two_legs_is_two_loops_round_their_insides() {
        // An upside-down U, its legs 10 mm wide: 10 × 40 mm each, counter-clockwise from above.
        let outline = [
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 30.0),
            (30.0, 30.0),
            (30.0, 0.0),
            (40.0, 0.0),
            (40.0, 50.0),
            (0.0, 50.0),
        ];
        let faces = super::super::triangles::triangulate(&outline);
        let tank = Triangles::extruded(crate::model::Axis::X, &outline, &faces, 0.0, 40.0);
        let area = |loops: &[Vec<Point>]| -> Vec<f64> {
            let turn = |corners: &Vec<Point>| -> f64 {
                let count = corners.len();
                let side = |index: usize| {
                    let (a, b) = (corners[index], corners[(index + 1) % count]);
                    a.x * b.y - b.x * a.y
                };
                (0..count).map(side).sum::<f64>() / 2.0
            };
            loops.iter().map(turn).collect()
        };
        let low = area(&section(&tank, &Vector::z(), 12.0));
        assert!(low.len() == 2 && low.iter().all(|area| (area - 400.0).abs() < 1e-9), "{low:?}");
        let high = area(&section(&tank, &Vector::z(), 40.0));
        assert!(high.len() == 1 && (high[0] - 1600.0).abs() < 1e-9, "{high:?}");
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
