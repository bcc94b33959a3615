//! A scan's triangles made fit for use: equal corners made one, what has no area and what is there
//! twice left out, and the edges counted.

use crate::geometry::Triangles;
use crate::model::Point;

/// A triangle lower than this share of its longest side has no area: far below what any scanner
/// resolves, far above the rounding of f64.
const FLAT: f64 = 1e-9;

/// What cleaning took out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct Cleaned {
    /// Corners that stood where another one stands.
    pub equal_corners: usize,
    /// Triangles without area.
    pub without_area: usize,
    /// Triangles with the same three corners as another one, whichever way they face.
    pub twice: usize,
    /// Corners that no triangle uses.
    pub unused_corners: usize,
}

/// How the triangles hang together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct Edges {
    /// Edges in all.
    pub all: usize,
    /// Edges of one triangle only: the rim of a hole or of the scan.
    pub open: usize,
    /// Edges of three or more triangles.
    pub crowded: usize,
    /// Edges of two triangles that face opposite ways.
    pub at_odds: usize,
}

impl Edges {
    /// Whether the surface encloses a volume: every edge has two triangles that agree.
    pub fn closed(&self) -> bool {
        self.all > 0 && self.open + self.crowded + self.at_odds == 0
    }
}

/// The same surface cleaned, and what was taken out. Corners are equal when all their bits are, so
/// nothing moves. Sorts the corners and the triangles: n log n, with 12 bytes for each beside them.
pub fn cleaned(mut surface: Triangles) -> (Triangles, Cleaned) {
    let mut counts = Cleaned { equal_corners: weld(&mut surface), ..Cleaned::default() };
    let before = surface.indices.len();
    let vertices = &surface.vertices;
    surface.indices.retain(|corners| has_area(corners.map(|corner| vertices[corner as usize])));
    counts.without_area = before - surface.indices.len();
    counts.twice = drop_repeats(&mut surface.indices);
    // Corners that were one with another are counted once, as that.
    counts.unused_corners = drop_unused(&mut surface) - counts.equal_corners;
    (surface, counts)
}

/// The middle of an edge that keeps the surface from being closed: an open one before others; none when
/// it is closed. Sorts the edges: n log n.
pub fn fault_at(surface: &Triangles) -> Option<Point> {
    let mut list = listed(surface);
    list.sort_unstable();
    let mut other = None;
    for edge in list.chunk_by(|one, next| (one.0, one.1) == (next.0, next.1)) {
        let (from, to) = (edge[0].0, edge[0].1);
        let middle =
            nalgebra::center(&surface.vertices[from as usize], &surface.vertices[to as usize]);
        match edge {
            [_] => return Some(middle),
            [one, next] if one.2 != next.2 => {}
            _ => {
                other.get_or_insert(middle);
            }
        }
    }
    other
}

/// Every triangle's edges: lower corner, higher corner, whether it runs from the lower to the higher.
fn listed(surface: &Triangles) -> Vec<(u32, u32, bool)> {
    let mut list: Vec<(u32, u32, bool)> = Vec::with_capacity(surface.indices.len() * 3);
    for &[a, b, c] in &surface.indices {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            list.push((from.min(to), from.max(to), from < to));
        }
    }
    list
}

/// Counts the edges. Sorts them: n log n, 12 bytes for each.
pub fn edges(surface: &Triangles) -> Edges {
    let mut list = listed(surface);
    list.sort_unstable();
    let mut found = Edges::default();
    for edge in list.chunk_by(|one, next| (one.0, one.1) == (next.0, next.1)) {
        found.all += 1;
        match edge {
            [_] => found.open += 1,
            [one, other] if one.2 == other.2 => found.at_odds += 1,
            [_, _] => {}
            _ => found.crowded += 1,
        }
    }
    found
}

/// Lets every triangle use the first of the corners that stand at its own; says how many corners
/// are out of use by that.
fn weld(surface: &mut Triangles) -> usize {
    let vertices = &surface.vertices;
    // Adding zero makes -0 and 0 one key.
    let key = |corner: u32| {
        let at = &vertices[corner as usize];
        [at.x + 0.0, at.y + 0.0, at.z + 0.0].map(f64::to_bits)
    };
    let mut order: Vec<u32> = (0..vertices.len() as u32).collect();
    order.sort_unstable_by_key(|&corner| (key(corner), corner));
    let mut first_of: Vec<u32> = (0..vertices.len() as u32).collect();
    let mut equal = 0;
    for group in order.chunk_by(|&one, &next| key(one) == key(next)) {
        for &corner in &group[1..] {
            first_of[corner as usize] = group[0];
            equal += 1;
        }
    }
    for corner in surface.indices.iter_mut().flatten() {
        *corner = first_of[*corner as usize];
    }
    equal
}

fn has_area([a, b, c]: [Point; 3]) -> bool {
    let (ab, ac, bc) = (b - a, c - a, c - b);
    let longest = ab.norm_squared().max(ac.norm_squared()).max(bc.norm_squared());
    ab.cross(&ac).norm() > longest * FLAT
}

/// Keeps the first of the triangles that have the same corners.
fn drop_repeats(indices: &mut Vec<[u32; 3]>) -> usize {
    let key = |index: u32| {
        let mut corners = indices[index as usize];
        corners.sort_unstable();
        corners
    };
    let mut order: Vec<u32> = (0..indices.len() as u32).collect();
    order.sort_unstable_by_key(|&index| (key(index), index));
    let mut repeats: Vec<u32> = order
        .chunk_by(|&one, &next| key(one) == key(next))
        .flat_map(|group| group[1..].iter().copied())
        .collect();
    drop(order);
    repeats.sort_unstable();
    let mut next = repeats.iter().peekable();
    let mut index = 0;
    indices.retain(|_| {
        let repeated = next.next_if(|&&repeat| repeat == index).is_some();
        index += 1;
        !repeated
    });
    repeats.len()
}

/// Leaves out the corners that no triangle uses; says how many those were.
pub(crate) fn drop_unused(surface: &mut Triangles) -> usize {
    let mut new_of = vec![u32::MAX; surface.vertices.len()];
    for &corner in surface.indices.iter().flatten() {
        new_of[corner as usize] = 0;
    }
    let before = surface.vertices.len();
    let mut kept = 0;
    for (index, new) in new_of.iter_mut().enumerate().filter(|(_, new)| **new == 0) {
        *new = kept;
        surface.vertices[kept as usize] = surface.vertices[index];
        kept += 1;
    }
    surface.vertices.truncate(kept as usize);
    for corner in surface.indices.iter_mut().flatten() {
        *corner = new_of[*corner as usize];
    }
    before - kept as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    fn soup(surface: &Triangles) -> Triangles {
        let mut soup = Triangles::default();
        for corners in surface.each() {
            let base = soup.vertices.len() as u32;
            soup.vertices.extend(corners);
            soup.indices.push([base, base + 1, base + 2]);
        }
        soup
    }

    #[test]
    fn a_soup_becomes_a_closed_box() {
        let cuboid = Triangles::cuboid(&Point::origin(), &Point::new(1.0, 2.0, 3.0));
        let mut dirty = soup(&cuboid);
        let last = dirty.vertices.len() as u32;
        dirty.vertices.extend([Point::new(9.0, 9.0, 9.0), Point::new(0.5, 0.0, 0.0)]);
        dirty.indices.extend([[0, 0, 1], [2, 1, 0], [3, 4, 5]]);
        // Three different corners on one line.
        dirty.vertices.extend([[7.0, 0.0, 0.0], [8.0, 0.0, 0.0], [9.0, 0.0, 0.0]].map(Point::from));
        dirty.indices.push([last + 2, last + 3, last + 4]);
        let (clean, counts) = cleaned(dirty);
        assert_eq!(
            counts,
            Cleaned { equal_corners: 28, without_area: 2, twice: 2, unused_corners: 5 }
        );
        assert_eq!((clean.vertices.len(), clean.indices.len()), (8, 12));
        assert!(edges(&clean).closed() && clean.closed());
        assert!((clean.volume_mm3() - 6.0).abs() < 1e-12);
    }

    #[test]
    fn edges_are_told_apart() {
        let mut cuboid = Triangles::cuboid(&Point::origin(), &Point::new(1.0, 2.0, 3.0));
        assert_eq!(edges(&cuboid), Edges { all: 18, open: 0, crowded: 0, at_odds: 0 });
        cuboid.indices[0].swap(0, 1);
        assert_eq!(edges(&cuboid), Edges { all: 18, open: 0, crowded: 0, at_odds: 3 });
        cuboid.indices.remove(0);
        assert_eq!(edges(&cuboid), Edges { all: 18, open: 3, crowded: 0, at_odds: 0 });
        cuboid.vertices.extend([Point::new(5.0, 5.0, 5.0), Point::new(6.0, 5.0, 5.0)]);
        let [a, b, _] = cuboid.indices[5];
        cuboid.indices.extend([[a, b, 8], [a, b, 9]]);
        assert_eq!(edges(&cuboid).crowded, 1);
        assert!(!edges(&Triangles::default()).closed());
    }
}
