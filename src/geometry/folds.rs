//! What of an edge of a surface stands in the cells of a plan that it crosses.

use super::Triangles;
use super::height_grid::STEEPEST;
use crate::model::Point;

/// Faces whose rises differ by less than this over their edge go on plane, mm per mm: over the 2.5 mm to the
/// middle of a cell, half of it is less than 0.1 mm.
const LITTLE_FOLD: f64 = 0.05;

/// What of an edge a cell takes that it crosses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lay {
    /// All the height that its triangle has there: steep sheet, which dams however thin.
    Whole,
    /// The height of the middle of its piece there: the rim of sheet that isn't steep, and a ridge.
    Middle,
    /// None: sheet goes on under it, and has the height over the cell's middle.
    Nothing,
}

/// For each triangle, what of its three edges, from its first corner on, stands in the cells of a plan.
///
/// Two faces that share an edge and lie on both sides of it as seen from above, neither of them steeper than
/// a slope may be, are one sheet: their edge is no wall, and would be one if its highest point in a cell stood
/// for the cell. Where both fall away from it, it is a ridge. An edge of more than two faces counts
/// as steep. Cost: n log n, for sorting the edges.
pub(super) fn lays(surface: &Triangles) -> Vec<[Lay; 3]> {
    let mut list: Vec<(u32, u32, u32)> = Vec::with_capacity(surface.indices.len() * 3);
    for (triangle, corners) in surface.indices.iter().enumerate() {
        for side in 0..3 {
            let (from, to) = (corners[side], corners[(side + 1) % 3]);
            list.push((from.min(to), from.max(to), (triangle * 3 + side) as u32));
        }
    }
    list.sort_unstable();
    let mut found = vec![[Lay::Whole; 3]; surface.indices.len()];
    for edge in list.chunk_by(|one, next| (one.0, one.1) == (next.0, next.1)) {
        let ends = [edge[0].0, edge[0].1].map(|corner| &surface.vertices[corner as usize]);
        let fall = |place: u32| {
            let corners = surface.indices[place as usize / 3];
            Fall::of(ends, corners.map(|corner| &surface.vertices[corner as usize]))
        };
        let lay = match edge {
            [one] => fall(one.2).map_or(Lay::Whole, |_| Lay::Middle),
            [one, other] => match (fall(one.2), fall(other.2)) {
                (None, None) => Lay::Whole,
                (Some(a), Some(b)) if a.left != b.left && !a.ridge(&b) => Lay::Nothing,
                _ => Lay::Middle,
            },
            _ => Lay::Whole,
        };
        for &(.., place) in edge {
            found[place as usize / 3][place as usize % 3] = lay;
        }
    }
    found
}

/// How a face that isn't steep falls away from one of its edges, as seen from above.
#[derive(Debug, Clone, Copy)]
struct Fall {
    /// Per mm of plan, square to the edge; below 0 where it rises.
    away: f64,
    /// Whether it lies to the left of the edge.
    left: bool,
}

impl Fall {
    /// None for a steep face.
    fn of([from, to]: [&Point; 2], [a, b, c]: [&Point; 3]) -> Option<Fall> {
        let normal = (b - a).cross(&(c - a));
        let (up, level) = (normal.z.abs(), normal.xy().norm());
        if level > STEEPEST * up || up < 1e-9 {
            return None;
        }
        let along = (to - from).xy();
        let middle = (a.coords + b.coords + c.coords).xy() / 3.0 - from.coords.xy();
        let left = along.x * middle.y - along.y * middle.x > 0.0;
        let (x, y) = if left { (-along.y, along.x) } else { (along.y, -along.x) };
        let away = (x * normal.x + y * normal.y) / (normal.z * along.norm());
        Some(Fall { away, left })
    }

    /// Whether the edge to another face is the highest of both, and folded.
    fn ridge(&self, other: &Fall) -> bool {
        let level = -1e-9;
        self.away >= level && other.away >= level && self.away + other.away > LITTLE_FOLD
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two faces over the squares left and right of x = 0, with these heights at x = −10, 0 and 10.
    fn roof(heights: [f64; 3]) -> Triangles {
        let corner = |x: f64, y: f64, z: f64| Point::new(x, y, z);
        let [left, middle, right] = heights;
        Triangles {
            vertices: vec![
                corner(0.0, 0.0, middle),
                corner(0.0, 10.0, middle),
                corner(-10.0, 5.0, left),
                corner(10.0, 5.0, right),
            ],
            indices: vec![[0, 1, 2], [1, 0, 3]],
        }
    }

    #[test]
    fn only_a_ridge_and_steep_sheet_stand_over_a_cells_middle() {
        let shared = |heights: [f64; 3]| lays(&roof(heights))[0][0];
        assert_eq!(shared([3.0, 0.0, -3.0]), Lay::Nothing, "plane");
        assert_eq!(shared([3.0, 0.0, -6.0]), Lay::Nothing, "folded, but falling on");
        assert_eq!(shared([3.0, 0.0, 3.0]), Lay::Nothing, "a valley");
        assert_eq!(shared([-3.0, 0.0, -3.0]), Lay::Middle, "a ridge");
        assert_eq!(shared([0.0, 0.0, -3.0]), Lay::Middle, "where level sheet begins to fall");
        assert_eq!(shared([0.0, 0.0, -40.0]), Lay::Middle, "a rim over steep sheet");
        assert_eq!(shared([40.0, 0.0, -40.0]), Lay::Whole, "steep");
        let rim = lays(&roof([3.0, 0.0, -3.0]))[0][1];
        assert_eq!(rim, Lay::Middle, "an edge of one face");
    }
}
