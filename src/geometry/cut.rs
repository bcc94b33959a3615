//! A surface cut at the faces of a box: what lies outside dropped, or what lies inside.

use std::collections::BTreeMap;

use crate::geometry::Triangles;
use crate::geometry::clean::drop_unused;
use crate::geometry::triangles::Bounds;
use crate::model::Point;

/// A corner this near a face lies on it, mm: far below any measurement, so that no sliver is made.
const ON_MM: f64 = 1e-6;

/// What of a surface lies in a box or on its faces. Triangles are cut exactly there; two that share
/// an edge get the same new corner on it. The openings are left open.
#[must_use]
pub fn cropped(mut surface: Triangles, keep: &Bounds) -> Triangles {
    for (axis, at_mm, outward) in faces(keep) {
        let side = |point: &Point| side(point, axis, at_mm, outward);
        split(&mut surface, axis, at_mm);
        let vertices = &surface.vertices;
        surface
            .indices
            .retain(|corners| corners.iter().all(|&corner| side(&vertices[corner as usize]) <= 0));
    }
    drop_unused(&mut surface);
    surface
}

/// What of a surface lies outside a box or on its faces. Triangles are cut exactly there; the
/// planes of the faces also divide the triangles that they cross farther out, which moves nothing.
#[must_use]
pub fn cut_away(mut surface: Triangles, gone: &Bounds) -> Triangles {
    for (axis, at_mm, _) in faces(gone) {
        split(&mut surface, axis, at_mm);
    }
    let inside = gone.grown(-ON_MM);
    let vertices = &surface.vertices;
    surface.indices.retain(|corners| {
        let [a, b, c] = corners.map(|corner| vertices[corner as usize].coords);
        !inside.holds(&Point::from((a + b + c) / 3.0))
    });
    drop_unused(&mut surface);
    surface
}

/// Axis, place and direction of each face.
fn faces(of: &Bounds) -> [(usize, f64, f64); 6] {
    let face = |axis: usize, high: bool| {
        if high { (axis, of.high[axis], 1.0) } else { (axis, of.low[axis], -1.0) }
    };
    [face(0, false), face(0, true), face(1, false), face(1, true), face(2, false), face(2, true)]
}

/// -1 inside of a face, 0 on it, 1 outside.
fn side(point: &Point, axis: usize, at_mm: f64, outward: f64) -> i32 {
    let over = (point[axis] - at_mm) * outward;
    i32::from(over > ON_MM) - i32::from(over < -ON_MM)
}

/// Divides every triangle that crosses a plane along it.
fn split(surface: &mut Triangles, axis: usize, at_mm: f64) {
    let mut on_edge: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for index in 0..surface.indices.len() {
        let corners = surface.indices[index];
        let sides =
            corners.map(|corner| side(&surface.vertices[corner as usize], axis, at_mm, 1.0));
        if !(sides.contains(&1) && sides.contains(&-1)) {
            continue;
        }
        let mut crossing = |from: u32, to: u32, vertices: &mut Vec<Point>| {
            *on_edge.entry((from.min(to), from.max(to))).or_insert_with(|| {
                let (low, high) =
                    (vertices[from.min(to) as usize], vertices[from.max(to) as usize]);
                let share = (at_mm - low[axis]) / (high[axis] - low[axis]);
                let mut point = low + (high - low) * share;
                point[axis] = at_mm;
                vertices.push(point);
                vertices.len() as u32 - 1
            })
        };
        let vertices = &mut surface.vertices;
        if let Some(on) = sides.iter().position(|&side| side == 0) {
            let [a, b, c] = [corners[on], corners[(on + 1) % 3], corners[(on + 2) % 3]];
            let new = crossing(b, c, vertices);
            surface.indices[index] = [a, b, new];
            surface.indices.push([a, new, c]);
        } else {
            // The corner that is alone on its side.
            let sum: i32 = sides.iter().sum();
            let lone = sides.iter().position(|&side| side != sum).unwrap_or(0);
            let [a, b, c] = [corners[lone], corners[(lone + 1) % 3], corners[(lone + 2) % 3]];
            let (ab, ac) = (crossing(a, b, vertices), crossing(a, c, vertices));
            surface.indices[index] = [a, ab, ac];
            surface.indices.push([ab, b, c]);
            surface.indices.push([ab, c, ac]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::clean::edges;
    use crate::model::Vector;

    fn area(surface: &Triangles) -> f64 {
        surface.each().map(|[a, b, c]| (b - a).cross(&(c - a)).norm() / 2.0).sum()
    }

    fn bounds(low: [f64; 3], high: [f64; 3]) -> Bounds {
        Bounds { low: Point::from(low), high: Point::from(high) }
    }

    #[test]
    fn a_cut_box_keeps_the_faces_that_are_left() {
        let cuboid = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 20.0, 30.0));
        // The lower part up to z = 12: floor and four walls, no lid.
        let low = cropped(cuboid.clone(), &bounds([-1.0; 3], [99.0, 99.0, 12.0]));
        assert!((area(&low) - (200.0 + 12.0 * 60.0)).abs() < 1e-9);
        let (top, rim) = (low.bounds().expect("a rest"), edges(&low));
        assert_eq!((top.high.z, rim.crowded, rim.at_odds), (12.0, 0, 0));
        assert!(rim.open >= 4);
        // A bite out of the corner at the origin: three faces lose 3 × 4, 4 × 5 and 3 × 5.
        let bitten = cut_away(cuboid.clone(), &bounds([-1.0; 3], [3.0, 4.0, 5.0]));
        assert!((area(&bitten) - (2200.0 - 12.0 - 20.0 - 15.0)).abs() < 1e-9);
        assert!(edges(&bitten).crowded == 0 && edges(&bitten).open >= 6);
        // A bite from the middle of a face is a hole; the rest still hangs together.
        let holed = cut_away(cuboid.clone(), &bounds([2.0, 3.0, 29.0], [5.0, 7.0, 31.0]));
        assert!((area(&holed) - (2200.0 - 12.0)).abs() < 1e-9);
        // Cuts that meet nothing leave all of it, closed; the face itself stays.
        let whole = cut_away(cuboid.clone(), &bounds([2.0, 3.0, 30.0], [5.0, 7.0, 31.0]));
        assert!(edges(&whole).closed() && (whole.volume_mm3() - 6000.0).abs() < 1e-9);
        assert!(cropped(cuboid, &bounds([50.0; 3], [60.0; 3])).indices.is_empty());
    }

    #[test]
    fn a_round_bar_cut_in_the_middle_hangs_together() {
        let bar = Triangles::cylinder(&Point::origin(), &Point::new(30.0, 40.0, 50.0), 7.0);
        let whole = area(&bar);
        let gone = bounds([10.0, 10.0, 10.0], [20.0, 30.0, 40.0]);
        let (rest, piece) = (cut_away(bar.clone(), &gone), cropped(bar, &gone));
        assert!((area(&rest) + area(&piece) - whole).abs() < 1e-9 * whole);
        assert_eq!((edges(&rest).crowded, edges(&rest).at_odds), (0, 0));
        let inner = gone.grown(1e-9);
        assert!(piece.vertices.iter().all(|point| inner.holds(point)));
        let middle = rest.each().all(|[a, b, c]| {
            let middle = Point::from((a.coords + b.coords + c.coords) / 3.0) + Vector::zeros();
            !gone.grown(-1e-5).holds(&middle)
        });
        assert!(middle);
    }
}
