//! What stands over each cell of a plan: the upright spans of material, lowest first.

use super::folds::{Lay, lays};
use super::{Triangles, edges};
use crate::model::Point;

/// Spans with less air between them than this are one, mm: water doesn't pass such a joint in any
/// amount that matters here. Common practice, no source.
const JOINT_MM: f64 = 1.0;

/// An edge within this of a grid line runs along it, mm; far above rounding at 20 m.
const ON_LINE_MM: f64 = 1e-7;

/// Material over a cell, from its underside to its top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) low_mm: f64,
    pub(super) high_mm: f64,
}

/// The lines of a plan: cell `i` along x lies between `x[i]` and `x[i + 1]`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lines<'a> {
    pub(super) x: &'a [f64],
    pub(super) y: &'a [f64],
}

impl Lines<'_> {
    fn columns(&self) -> usize {
        self.x.len() - 1
    }
}

/// The place of the cell that holds `at`; none outside.
pub(super) fn place(lines: &[f64], at: f64) -> Option<usize> {
    let after = lines.partition_point(|line| *line <= at);
    (after > 0 && after < lines.len()).then(|| after - 1)
}

fn middle(lines: &[f64], index: usize) -> f64 {
    f64::midpoint(lines[index], lines[index + 1])
}

/// A piece of one surface over one cell.
#[derive(Debug, Clone, Copy)]
struct Part {
    cell: u32,
    span: Span,
}

/// The spans over every cell, merged, lowest first, with the place where each cell's begin.
///
/// A closed surface fills a cell between where an upright ray through the cell's middle enters and
/// leaves it. Besides, a cell takes the heights of the edges that cross it, each as its [`Lay`] says: steep
/// sheet thinner than a cell still dams with all the height that it has there, and a rim and a ridge keep
/// theirs. Where sheet goes on plane under an edge, the height over the cell's middle is all that there is.
/// An edge of a closed surface that runs along a grid line belongs, with the height of its middle, to the
/// side on which its triangle lies, so that a ridge dams with its whole height wherever it runs; that of an
/// upright face to neither.
pub(super) fn spans(surfaces: &[&Triangles], lines: &Lines) -> (Vec<u32>, Vec<Span>) {
    let cells = lines.columns() * (lines.y.len() - 1);
    let mut parts: Vec<Part> = Vec::new();
    let mut scratch = Scratch::default();
    let mut hits: Vec<Hit> = Vec::new();
    for surface in surfaces {
        let closed = edges(surface).closed();
        hits.clear();
        for (triangle, lays) in surface.each().zip(lays(surface)) {
            scratch.lay((&triangle, lays), lines, closed, &mut hits);
            parts.append(&mut scratch.parts);
        }
        if closed {
            fill(&hits, &mut parts);
        } else {
            let sheet = |&(cell, z, _): &Hit| Part { cell, span: Span { low_mm: z, high_mm: z } };
            parts.extend(hits.iter().map(sheet));
        }
    }
    merged(parts, cells)
}

/// Where an upright ray through a cell's middle meets a surface: the cell, the height, and whether a ray
/// from below enters there.
type Hit = (u32, f64, bool);

/// The hits with those of one cell side by side. Counted, not sorted: there are about two for each cell.
fn by_cell(hits: &[Hit]) -> Vec<Hit> {
    let first = hits.iter().map(|hit| hit.0).min().unwrap_or(0);
    let last = hits.iter().map(|hit| hit.0).max().unwrap_or(0);
    let mut next = vec![0_u32; (last - first) as usize + 2];
    for hit in hits {
        next[(hit.0 - first) as usize + 1] += 1;
    }
    for cell in 1..next.len() {
        next[cell] += next[cell - 1];
    }
    let mut sorted = vec![(0, 0.0, false); hits.len()];
    for hit in hits {
        let at = &mut next[(hit.0 - first) as usize];
        sorted[*at as usize] = *hit;
        *at += 1;
    }
    sorted
}

/// Fills a closed surface between the hits of the rays through the cells' middles.
fn fill(hits: &[Hit], parts: &mut Vec<Part>) {
    for column in by_cell(hits).chunk_by_mut(|a, b| a.0 == b.0) {
        // Entering before leaving at one height, so that touching parts are one.
        column.sort_unstable_by(|a, b| a.1.total_cmp(&b.1).then(b.2.cmp(&a.2)));
        let mut depth = 0_i32;
        let mut entered = 0.0;
        let mut last: Option<(f64, bool)> = None;
        for &(cell, z, enters) in column.iter() {
            // A ray through a shared edge meets two triangles; it passes the skin once.
            if last.is_some_and(|(before, way)| way == enters && z - before < 1e-6) {
                continue;
            }
            last = Some((z, enters));
            if enters {
                if depth == 0 {
                    entered = z;
                }
                depth += 1;
            } else if depth > 0 {
                depth -= 1;
                if depth == 0 {
                    parts.push(Part { cell, span: Span { low_mm: entered, high_mm: z } });
                }
            }
        }
    }
}

/// All parts by cell, those that touch made one.
fn merged(mut parts: Vec<Part>, cells: usize) -> (Vec<u32>, Vec<Span>) {
    let mut start = vec![0_u32; cells + 1];
    for part in &parts {
        start[part.cell as usize + 1] += 1;
    }
    for cell in 0..cells {
        start[cell + 1] += start[cell];
    }
    let mut next = start.clone();
    let mut sorted = vec![Span { low_mm: 0.0, high_mm: 0.0 }; parts.len()];
    for part in parts.drain(..) {
        let at = &mut next[part.cell as usize];
        sorted[*at as usize] = part.span;
        *at += 1;
    }
    let mut begins = Vec::with_capacity(cells + 1);
    let mut spans: Vec<Span> = Vec::with_capacity(cells);
    for cell in 0..cells {
        let first = spans.len();
        begins.push(first as u32);
        let here = &mut sorted[start[cell] as usize..start[cell + 1] as usize];
        if here.len() > 1 {
            here.sort_unstable_by(|a, b| a.low_mm.total_cmp(&b.low_mm));
        }
        for span in here.iter() {
            match spans[first..].last_mut() {
                Some(below) if span.low_mm - below.high_mm < JOINT_MM => {
                    below.high_mm = below.high_mm.max(span.high_mm);
                }
                _ => spans.push(*span),
            }
        }
    }
    begins.push(spans.len() as u32);
    (begins, spans)
}

/// Room that is used again for each triangle.
#[derive(Default)]
struct Scratch {
    crossings: Vec<f64>,
    parts: Vec<Part>,
}

impl Scratch {
    /// One triangle's parts in the cells that its edges cross, and its hits with the cells' middles.
    fn lay(
        &mut self,
        (triangle, lays): (&[Point; 3], [Lay; 3]),
        lines: &Lines,
        closed: bool,
        hits: &mut Vec<Hit>,
    ) {
        self.parts.clear();
        for (side, lay) in lays.into_iter().enumerate().filter(|(_, lay)| *lay != Lay::Nothing) {
            let [from, to, beyond] = [0, 1, 2].map(|turn| &triangle[(side + turn) % 3]);
            self.edge([from, to], (beyond, lay), lines, closed);
        }
        let plane = Plane::of(triangle);
        self.join(lines, plane.as_ref());
        if let Some(plane) = plane {
            plane.hits(lines, hits);
        }
    }

    /// The heights of one edge in each cell that it crosses; `beyond` is the third corner of its triangle.
    fn edge(
        &mut self,
        [from, to]: [&Point; 2],
        (beyond, lay): (&Point, Lay),
        lines: &Lines,
        closed: bool,
    ) {
        self.crossings.clear();
        self.crossings.push(0.0);
        for (axis, lines) in [(0, lines.x), (1, lines.y)] {
            let (a, b) = (from[axis], to[axis]);
            let first = lines.partition_point(|line| *line <= a.min(b));
            let last = lines.partition_point(|line| *line < a.max(b));
            if first < last {
                self.crossings.extend(lines[first..last].iter().map(|line| (line - a) / (b - a)));
            }
        }
        self.crossings.push(1.0);
        self.crossings.sort_unstable_by(f64::total_cmp);
        for piece in 1..self.crossings.len() {
            let (begin, end) = (self.crossings[piece - 1], self.crossings[piece]);
            let at = |share: f64| from + (to - from) * share;
            let (low, high) = (at(begin), at(end));
            let middle = nalgebra::center(&low, &high);
            let along = |axis: usize, lines: &[f64]| {
                beside(lines, middle[axis], closed.then_some(beyond[axis]))
            };
            let ((columns, on_x), (rows, on_y)) = (along(0, lines.x), along(1, lines.y));
            let span = if lay == Lay::Middle || closed && (on_x || on_y) {
                Span { low_mm: middle.z, high_mm: middle.z }
            } else {
                Span { low_mm: low.z.min(high.z), high_mm: low.z.max(high.z) }
            };
            for row in rows.into_iter().flatten() {
                for column in columns.into_iter().flatten() {
                    let cell = (column + row * lines.columns()) as u32;
                    self.parts.push(Part { cell, span });
                }
            }
        }
    }

    /// Makes one part of what one triangle has in a cell: it hangs together there.
    fn join(&mut self, lines: &Lines, plane: Option<&Plane>) {
        self.parts.sort_unstable_by_key(|part| part.cell);
        self.parts.dedup_by(|next, kept| {
            let same = next.cell == kept.cell;
            if same {
                kept.span.low_mm = kept.span.low_mm.min(next.span.low_mm);
                kept.span.high_mm = kept.span.high_mm.max(next.span.high_mm);
            }
            same
        });
        let Some(plane) = plane else { return };
        for part in &mut self.parts {
            let (row, column) =
                (part.cell as usize / lines.columns(), part.cell as usize % lines.columns());
            if let Some(z) = plane.height(middle(lines.x, column), middle(lines.y, row)) {
                part.span.low_mm = part.span.low_mm.min(z);
                part.span.high_mm = part.span.high_mm.max(z);
            }
        }
    }
}

/// The cells that a point of an edge belongs to along one axis, and whether it lies on a line: one; on a line
/// both for a sheet, and for a closed surface that on the side of `beyond`, its triangle's third corner, none
/// for a triangle that stands on the line.
fn beside(lines: &[f64], at: f64, beyond: Option<f64>) -> ([Option<usize>; 2], bool) {
    let near = lines.partition_point(|line| *line <= at - ON_LINE_MM);
    let on_line = lines.get(near).is_some_and(|line| (line - at).abs() <= ON_LINE_MM);
    if !on_line {
        return ([place(lines, at), None], false);
    }
    let (before, behind) = (near.checked_sub(1), (near + 1 < lines.len()).then_some(near));
    let cells = match beyond {
        None => [before, behind],
        Some(beyond) if beyond < at - ON_LINE_MM => [before, None],
        Some(beyond) if beyond > at + ON_LINE_MM => [behind, None],
        Some(_) => [None, None],
    };
    (cells, true)
}

/// A triangle seen from above; not for upright ones.
struct Plane {
    corners: [Point; 3],
    twice_area: f64,
}

impl Plane {
    fn of(triangle: &[Point; 3]) -> Option<Plane> {
        let [a, b, c] = triangle;
        let twice_area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        // Upright ones have no height over a point: their edges are all that there is of them.
        (twice_area.abs() >= 1e-9).then_some(Plane { corners: *triangle, twice_area })
    }

    /// Height over a point, when the triangle lies over it.
    fn height(&self, x: f64, y: f64) -> Option<f64> {
        let [a, b, c] = &self.corners;
        let wb = ((x - a.x) * (c.y - a.y) - (y - a.y) * (c.x - a.x)) / self.twice_area;
        let wc = ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) / self.twice_area;
        (wb >= -1e-9 && wc >= -1e-9 && wb + wc <= 1.0 + 1e-9)
            .then(|| a.z + wb * (b.z - a.z) + wc * (c.z - a.z))
    }

    /// Where upright rays through the cells' middles meet it; true where a ray from below enters.
    fn hits(&self, lines: &Lines, hits: &mut Vec<Hit>) {
        let [a, b, c] = &self.corners;
        let enters = self.twice_area < 0.0;
        let (low, high) = (a.y.min(b.y).min(c.y), a.y.max(b.y).max(c.y));
        let rows = reach(lines.y, low, high);
        for row in rows {
            let y = middle(lines.y, row);
            // The part of the row that the triangle covers, a hair wider.
            let mut covered = (f64::INFINITY, f64::NEG_INFINITY);
            for (p, q) in [(a, b), (b, c), (c, a)] {
                if (p.y - y) * (q.y - y) <= 0.0 {
                    let ends = if (p.y - q.y).abs() > 1e-12 {
                        let x = p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
                        (x, x)
                    } else {
                        (p.x.min(q.x), p.x.max(q.x))
                    };
                    covered = (covered.0.min(ends.0), covered.1.max(ends.1));
                }
            }
            if covered.0 > covered.1 {
                continue;
            }
            for column in reach(lines.x, covered.0 - 1e-6, covered.1 + 1e-6) {
                if let Some(z) = self.height(middle(lines.x, column), y) {
                    hits.push(((column + row * lines.columns()) as u32, z, enters));
                }
            }
        }
    }
}

/// The cells between two places along an axis.
fn reach(lines: &[f64], low: f64, high: f64) -> std::ops::Range<usize> {
    let first = lines.partition_point(|line| *line <= low).saturating_sub(1);
    let last = lines.partition_point(|line| *line < high).min(lines.len() - 1);
    first..last.max(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Point;

    #[test]
    fn a_shelf_over_a_floor_leaves_air_between() {
        let floor = Triangles::cuboid(&Point::new(0.0, 0.0, -5.0), &Point::new(40.0, 20.0, 0.0));
        let shelf = Triangles::cuboid(&Point::new(10.0, 0.0, 30.0), &Point::new(20.0, 20.0, 33.0));
        let x: Vec<f64> = (0..=4).map(|line| f64::from(line) * 10.0).collect();
        let y = [0.0, 10.0, 20.0];
        let (start, found) = spans(&[&floor, &shelf], &Lines { x: &x, y: &y });
        assert_eq!(start, [0, 1, 3, 4, 5, 6, 8, 9, 10]);
        assert_eq!(found[1], Span { low_mm: -5.0, high_mm: 0.0 });
        assert_eq!(found[2], Span { low_mm: 30.0, high_mm: 33.0 });
    }

    #[test]
    fn a_sloping_plate_has_the_height_of_each_cells_middle() {
        // 100 × 60 mm, 2 mm thick, falling by 0.3 along x and 0.1 along y: the diagonal of its top crosses
        // cells whose highest point is up to 2 mm over their middle.
        let top = |x: f64, y: f64| 100.0 - 0.3 * x - 0.1 * y;
        let mut plate = Triangles::cuboid(&Point::origin(), &Point::new(100.0, 60.0, 2.0));
        for corner in &mut plate.vertices {
            corner.z += top(corner.x, corner.y) - 2.0;
        }
        let x: Vec<f64> = (0..=20).map(|line| f64::from(line) * 5.0).collect();
        let y: Vec<f64> = (0..=12).map(|line| f64::from(line) * 5.0).collect();
        let (start, found) = spans(&[&plate], &Lines { x: &x, y: &y });
        assert_eq!(start.len(), 241);
        for cell in 0..240 {
            assert_eq!(start[cell] as usize, cell);
            let (column, row) = (cell % 20, cell / 20);
            // At its rim a cell may have that of the edge.
            if (1..19).contains(&column) && (1..11).contains(&row) {
                let expected = top(middle(&x, column), middle(&y, row));
                assert!((found[cell].high_mm - expected).abs() < 1e-9, "{column} {row}");
                assert!((found[cell].low_mm - expected + 2.0).abs() < 1e-9, "{column} {row}");
            }
        }
    }

    #[test]
    fn a_thin_wall_takes_its_whole_height_in_the_cells_it_crosses() {
        let wall = Triangles::cuboid(&Point::new(12.0, -50.0, 0.0), &Point::new(13.0, 70.0, 80.0));
        let x = [0.0, 10.0, 20.0];
        let y = [0.0, 10.0, 20.0];
        let (start, found) = spans(&[&wall], &Lines { x: &x, y: &y });
        assert_eq!(start, [0, 0, 1, 1, 2]);
        assert!(found.iter().all(|span| *span == Span { low_mm: 0.0, high_mm: 80.0 }));
    }
}
