//! The floor as a grid of heights, storey over storey.

use super::columns::{Lines, Span, place, spans};
use super::floor_gaps::enclosed;
use super::grid_lines::lines;
use super::narrow::{Fill, Narrow, ShutOpening, fills, raised, sealed};
use super::{Basins, Finer, Floods, Triangles};
use crate::model::{Point, Vector};

/// Height of a cell without floor: water falls out there.
pub const NO_FLOOR_MM: f64 = f64::NEG_INFINITY;

/// What rises by more than this, mm per mm, between squares side by side is a step, not a slope.
pub(super) const STEEPEST: f64 = 1.5;

/// Most cells of a grid; a larger floor gets larger cells.
const MOST_CELLS: f64 = 250_000.0;

/// A way out for water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet {
    /// The cell it opens.
    pub cell: usize,
    /// Height that water must rise to before it runs off, z in mm; [`NO_FLOOR_MM`] for a hole in the
    /// floor itself.
    pub rim_mm: f64,
    /// Whose it is: a number of the caller's, such as a drain's place in its list.
    pub of: usize,
}

/// A stretch of floor with other material over it: a cell of a lower storey.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lower {
    cell: u32,
    floor_mm: f64,
    ceiling_mm: f64,
}

/// Floor heights on a grid in the vehicle frame's x and y, in as many storeys as there are.
///
/// A cell with an index below [`cells`](Self::cells) is the highest surface over its square; those
/// from there on are floors under something, one for each stretch of air. Water passes between cells
/// whose squares share a side and whose air meets.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightGrid {
    /// Lines between the columns, ascending x, mm; one more than there are columns.
    pub x_lines: Vec<f64>,
    /// Lines between the rows, ascending y, mm.
    pub y_lines: Vec<f64>,
    /// Widest that a square may be, mm.
    pub step_mm: f64,
    /// Squares along x and along y; a square's index is `x + y * size.0`.
    pub size: (usize, usize),
    /// Height of the highest surface over each square, mm; [`NO_FLOOR_MM`] where there is none. Where
    /// there is floor is settled when the grid is made; heights may be changed.
    pub height_mm: Vec<f64>,
    /// Underside of the lowest material over each square, mm; where that isn't known, below everything.
    under_mm: Vec<f64>,
    lower: Vec<Lower>,
    /// Where each square's lower cells begin in `lower`; empty when there are none at all.
    lower_start: Vec<u32>,
    /// Whether a square without floor has floor all round it.
    pub(super) enclosed: Vec<bool>,
    /// Squares where water leaves the grid, ascending.
    open: Vec<u32>,
    /// Which squares lie at the edge of the grid, or have no floor or lower storeys, or are beside such.
    rough: Vec<bool>,
    /// What was taken as shut.
    shut: Vec<ShutOpening>,
}

impl HeightGrid {
    /// The storeys over each square: spans of material as an upright ray through its middle meets
    /// them, and at least the whole height of every triangle with an edge across the square, so that
    /// upright sheet thinner than a square still dams, and a leaning rim keeps its height.
    ///
    /// Lines are drawn along upright faces of measured shapes, and between them so many that no square
    /// is wider than `step_mm`: an upright box stands on whole squares.
    ///
    /// None when there are no triangles. The step grows where it would take more than 250,000 squares.
    pub fn of(surfaces: &[&Triangles], step_mm: f64) -> Option<HeightGrid> {
        HeightGrid::finer(surfaces, step_mm, &[])
    }

    /// Like [`of`](Self::of), with squares half as wide round the places in `finer`.
    pub fn finer(surfaces: &[&Triangles], step_mm: f64, finer: &[Finer]) -> Option<HeightGrid> {
        HeightGrid::tight(surfaces, step_mm, finer, None)
    }

    /// Like [`finer`](Self::finer), with openings too narrow to be told from none taken as shut, where
    /// that doesn't seal a space.
    pub(crate) fn tight(
        surfaces: &[&Triangles],
        step_mm: f64,
        finer: &[Finer],
        narrow: Option<&Narrow>,
    ) -> Option<HeightGrid> {
        let bounds =
            surfaces.iter().filter_map(|surface| surface.bounds()).reduce(|a, b| a.with(&b))?;
        let (width, depth) = (bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
        let step_mm =
            step_mm.max((width * depth / MOST_CELLS).sqrt()).max((width + depth) / 4000.0);
        let x_lines = lines(surfaces, 0, &bounds, step_mm, finer);
        let y_lines = lines(surfaces, 1, &bounds, step_mm, finer);
        let lines = Lines { x: &x_lines, y: &y_lines };
        let (start, spans) = spans(surfaces, &lines);
        let fills = narrow.map_or_else(Vec::new, |narrow| fills(&lines, &start, &spans, narrow));
        Some(HeightGrid::without((x_lines, y_lines), step_mm, (&start, &spans), fills))
    }

    /// The grid with some floors raised, but for those that would seal a space.
    fn without(
        lines: (Vec<f64>, Vec<f64>),
        step_mm: f64,
        (start, spans): (&[u32], &[Span]),
        mut fills: Vec<Fill>,
    ) -> HeightGrid {
        let of = |start: &[u32], spans: &[Span]| {
            HeightGrid::of_spans(lines.0.clone(), lines.1.clone(), step_mm, start, spans)
        };
        let mut before: Option<Vec<bool>> = None;
        while !fills.is_empty() {
            let (start_now, spans_now) = raised(start, spans, &fills);
            let mut grid = of(&start_now, &spans_now);
            let now = sealed(&grid);
            let many = fills.len();
            if now.contains(&true) {
                let before = before.get_or_insert_with(|| sealed(&of(start, spans)));
                let newly = |cell: usize| now[cell] && !before[cell];
                let seals = |square: usize| {
                    let squares = grid.neighbours(square).chain([square]);
                    squares.flat_map(|square| grid.storeys(square)).any(newly)
                };
                if (0..grid.cells()).any(newly) {
                    fills.retain(|fill| !seals(fill.cell as usize));
                }
            }
            if fills.len() == many {
                grid.shut = fills.iter().map(|fill| fill.opening(&grid, spans)).collect();
                return grid;
            }
        }
        of(start, spans)
    }

    /// Squares of openings that were taken as shut, in the order of their cells.
    pub fn shut_openings(&self) -> &[ShutOpening] {
        &self.shut
    }

    fn of_spans(
        x_lines: Vec<f64>,
        y_lines: Vec<f64>,
        step_mm: f64,
        start: &[u32],
        spans: &[Span],
    ) -> HeightGrid {
        let size = (x_lines.len() - 1, y_lines.len() - 1);
        let cells = size.0 * size.1;
        let mut height_mm = vec![NO_FLOOR_MM; cells];
        let mut under_mm = vec![f64::NEG_INFINITY; cells];
        let mut lower = Vec::new();
        let mut lower_start = vec![0_u32; cells + 1];
        for cell in 0..cells {
            let column = &spans[start[cell] as usize..start[cell + 1] as usize];
            if let Some(top) = column.last() {
                height_mm[cell] = top.high_mm;
                under_mm[cell] = column[0].low_mm;
            }
            for pair in column.windows(2) {
                lower.push(Lower {
                    cell: cell as u32,
                    floor_mm: pair[0].high_mm,
                    ceiling_mm: pair[1].low_mm,
                });
            }
            lower_start[cell + 1] = lower.len() as u32;
        }
        if lower.is_empty() {
            lower_start.clear();
        }
        let storeys = (lower, lower_start);
        HeightGrid { under_mm, ..HeightGrid::new(x_lines, y_lines, step_mm, height_mm, storeys) }
    }

    /// With what follows from the heights alone.
    fn new(
        x_lines: Vec<f64>,
        y_lines: Vec<f64>,
        step_mm: f64,
        height_mm: Vec<f64>,
        (lower, lower_start): (Vec<Lower>, Vec<u32>),
    ) -> HeightGrid {
        let size = (x_lines.len() - 1, y_lines.len() - 1);
        let enclosed = enclosed(size, &height_mm);
        let (open, rough) = (Vec::new(), Vec::new());
        let grid = HeightGrid {
            x_lines,
            y_lines,
            step_mm,
            size,
            under_mm: vec![f64::NEG_INFINITY; height_mm.len()],
            height_mm,
            lower,
            lower_start,
            enclosed,
            open,
            rough,
            shut: Vec::new(),
        };
        grid.settled()
    }

    /// With the squares noted where water leaves it.
    fn settled(mut self) -> HeightGrid {
        self.rough = (0..self.squares()).map(|square| self.is_rough(square)).collect();
        self.open = (0..self.squares())
            .filter(|&square| self.rough[square] && self.open(square))
            .map(|square| square as u32)
            .collect();
        self
    }

    /// The grid with those openings that were taken as shut open again that have no floor under them: water
    /// that comes there falls through. Its cells are the same ones. None where there is no such opening.
    pub(crate) fn with_slits(&self) -> Option<HeightGrid> {
        let (slits, shut): (Vec<ShutOpening>, Vec<ShutOpening>) =
            self.shut.iter().partition(|opening| opening.floorless);
        if slits.is_empty() {
            return None;
        }
        let mut grid = HeightGrid { shut, ..self.clone() };
        let squares = || slits.iter().map(|slit| self.square(slit.cell));
        squares().for_each(|square| grid.height_mm[square] = NO_FLOOR_MM);
        grid.enclosed = enclosed(grid.size, &grid.height_mm);
        // With sheet all round it is a slit still.
        squares().for_each(|square| grid.enclosed[square] = false);
        Some(grid.settled())
    }

    /// A grid of one storey from given heights, row by row from the lowest y; for tests and
    /// comparisons.
    pub fn from_heights(step_mm: f64, size: (usize, usize), height_mm: Vec<f64>) -> HeightGrid {
        let lines = |count: usize| (0..=count).map(|line| line as f64 * step_mm).collect();
        let one_storey = (Vec::new(), Vec::new());
        HeightGrid::new(lines(size.0), lines(size.1), step_mm, height_mm, one_storey)
    }

    /// How many squares there are.
    pub fn squares(&self) -> usize {
        self.height_mm.len()
    }

    /// How many cells there are in all storeys.
    pub fn cells(&self) -> usize {
        self.height_mm.len() + self.lower.len()
    }

    /// The square of a cell.
    pub fn square(&self, cell: usize) -> usize {
        cell.checked_sub(self.squares()).map_or(cell, |low| self.lower[low].cell as usize)
    }

    /// The cells over a square, the highest first.
    pub fn storeys(&self, square: usize) -> impl Iterator<Item = usize> + use<> {
        let low = self.lower_of(square);
        let squares = self.squares();
        std::iter::once(square).chain(low.rev().map(move |low| squares + low))
    }

    /// The cells over a square that have something over them.
    pub(super) fn low_cells(&self, square: usize) -> std::ops::Range<usize> {
        let low = self.lower_of(square);
        self.squares() + low.start..self.squares() + low.end
    }

    fn lower_of(&self, square: usize) -> std::ops::Range<usize> {
        if self.lower_start.is_empty() {
            0..0
        } else {
            self.lower_start[square] as usize..self.lower_start[square + 1] as usize
        }
    }

    /// Height of a cell's floor, mm.
    pub fn floor_mm(&self, cell: usize) -> f64 {
        cell.checked_sub(self.squares())
            .map_or_else(|| self.height_mm[cell], |low| self.lower[low].floor_mm)
    }

    /// Height of what is over a cell's floor, mm; infinite under the open sky.
    pub fn ceiling_mm(&self, cell: usize) -> f64 {
        cell.checked_sub(self.squares()).map_or(f64::INFINITY, |low| self.lower[low].ceiling_mm)
    }

    /// The square over which a point lies; none outside the grid.
    pub fn cell(&self, x_mm: f64, y_mm: f64) -> Option<usize> {
        Some(place(&self.x_lines, x_mm)? + place(&self.y_lines, y_mm)? * self.size.0)
    }

    /// The cell in whose air a point is, or whose floor is the highest under it; none off the grid
    /// and where every floor lies above it.
    pub fn cell_under(&self, point: &Point) -> Option<usize> {
        let square = self.cell(point.x, point.y)?;
        self.storeys(square).find(|cell| {
            let floor = self.floor_mm(*cell);
            floor.is_finite() && floor <= point.z + 1e-9
        })
    }

    /// Whether a point has no floor under it: it lies off the grid, or under everything over its square.
    pub fn is_under_all(&self, point: &Point) -> bool {
        self.cell(point.x, point.y).is_none_or(|square| {
            !self.height_mm[square].is_finite() || self.under_mm[square] > point.z + 1e-9
        })
    }

    /// The middle of a cell's floor.
    pub fn centre(&self, cell: usize) -> Point {
        let square = self.square(cell);
        let (column, row) = (square % self.size.0, square / self.size.0);
        Point::new(
            f64::midpoint(self.x_lines[column], self.x_lines[column + 1]),
            f64::midpoint(self.y_lines[row], self.y_lines[row + 1]),
            self.floor_mm(cell),
        )
    }

    /// Length along x and along y of a cell's square, mm.
    pub fn sides_mm(&self, cell: usize) -> (f64, f64) {
        let square = self.square(cell);
        let (column, row) = (square % self.size.0, square / self.size.0);
        (self.x_lines[column + 1] - self.x_lines[column], self.y_lines[row + 1] - self.y_lines[row])
    }

    /// The squares whose middles lie within `reach_mm` of a place, along x and along y.
    pub fn squares_round(&self, x_mm: f64, y_mm: f64, reach_mm: f64) -> Vec<usize> {
        let near = |lines: &[f64], at: f64| {
            let off = |index: &usize| {
                (f64::midpoint(lines[*index], lines[*index + 1]) - at).abs() <= reach_mm
            };
            let first = lines.partition_point(|line| *line < at - reach_mm).saturating_sub(1);
            let last = lines.partition_point(|line| *line <= at + reach_mm).min(lines.len() - 1);
            (first..last).filter(off).collect::<Vec<usize>>()
        };
        let columns = near(&self.x_lines, x_mm);
        near(&self.y_lines, y_mm)
            .iter()
            .flat_map(|row| columns.iter().map(move |column| column + row * self.size.0))
            .collect()
    }

    /// The squares that share a side with `square`.
    pub fn neighbours(&self, square: usize) -> impl Iterator<Item = usize> + use<> {
        let (columns, rows) = self.size;
        let (column, row) = (square % columns, square / columns);
        [
            (row > 0).then(|| square.wrapping_sub(columns)),
            (column > 0).then(|| square.wrapping_sub(1)),
            (column + 1 < columns).then(|| square + 1),
            (row + 1 < rows).then(|| square + columns),
        ]
        .into_iter()
        .flatten()
    }

    /// The cells that water can pass to from `cell`: beside it, with air that meets its own.
    pub fn beside(&self, cell: usize) -> impl Iterator<Item = usize> + '_ {
        let (floor, ceiling) = (self.floor_mm(cell), self.ceiling_mm(cell));
        self.neighbours(self.square(cell)).flat_map(move |square| {
            self.storeys(square).filter(move |&other| {
                let beyond = self.floor_mm(other);
                beyond.is_finite()
                    && beyond.max(floor) < self.ceiling_mm(other).min(ceiling)
                    && !self.parted(cell, other)
            })
        })
    }

    /// Whether the sheet that carries one of two cells side by side goes on as a slope over the other, far
    /// below: thinner than it rises within a square, it leaves air between their middles that isn't there.
    pub(super) fn parted(&self, a: usize, b: usize) -> bool {
        self.under_sheet_of(a, b) || self.under_sheet_of(b, a)
    }

    /// Whether `low` lies under the sheet that carries `carried` in the square beside.
    fn under_sheet_of(&self, carried: usize, low: usize) -> bool {
        if low < self.squares() {
            return false;
        }
        let (along, across) = self.sides_mm(carried);
        let (along_low, across_low) = self.sides_mm(low);
        // Half of each square lies between their middles.
        let rise_mm = STEEPEST * f64::midpoint(along.max(across), along_low.max(across_low));
        let floor_mm = self.floor_mm(carried);
        if floor_mm - self.floor_mm(low) <= rise_mm {
            return false;
        }
        let square = self.square(low);
        let over = if low + 1 < self.low_cells(square).end { low + 1 } else { square };
        (self.floor_mm(over) - floor_mm).abs() <= rise_mm
    }

    /// Whether water that reaches a cell leaves the grid there: at its edge, and beside squares
    /// without floor, unless those have floor all round.
    pub(super) fn open(&self, cell: usize) -> bool {
        let square = self.square(cell);
        let mut count = 0;
        let mut falls = false;
        for beside in self.neighbours(square) {
            count += 1;
            falls |= self.falls(beside);
        }
        count < 4 || falls
    }

    /// The squares where water that reaches them leaves the grid, ascending.
    pub(super) fn open_squares(&self) -> &[u32] {
        &self.open
    }

    /// Which squares lie at the edge of the grid, or have no floor or lower storeys, or are beside such.
    pub(super) fn rough(&self) -> &[bool] {
        &self.rough
    }

    fn is_rough(&self, square: usize) -> bool {
        let rough = |square: usize| {
            self.height_mm[square] == NO_FLOOR_MM || !self.low_cells(square).is_empty()
        };
        let mut beside = 0;
        rough(square)
            || self.neighbours(square).any(|square| {
                beside += 1;
                rough(square)
            })
            || beside < 4
    }

    /// Whether water that comes over a square falls past everything.
    pub(super) fn falls(&self, square: usize) -> bool {
        self.height_mm[square] == NO_FLOOR_MM && !self.enclosed[square]
    }

    /// Water filled to the brim: the level in each cell, measured along the unit vector `up`, when
    /// everything that can stand does. Water leaves at `outlets`, at the grid's edge and beside
    /// squares without floor.
    ///
    /// Method: see [`Basins`]; between cells that share a side only (a seam doesn't leak diagonally).
    pub fn flood(&self, up: &Vector, outlets: &[usize]) -> Floods {
        let open: Vec<Outlet> = outlets
            .iter()
            .enumerate()
            .map(|(of, &cell)| Outlet { cell, rim_mm: NO_FLOOR_MM, of })
            .collect();
        self.flood_over(up, &open)
    }

    /// Like [`flood`](Self::flood), where water must first rise to an outlet's rim.
    pub fn flood_over(&self, up: &Vector, outlets: &[Outlet]) -> Floods {
        Basins::of(self, up).filled(self, outlets).0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tray() -> Vec<Triangles> {
        [
            ([0.0, 0.0, 0.0], [200.0, 200.0, 2.0]),
            ([0.0, 0.0, 0.0], [200.0, 2.0, 30.0]),
            ([0.0, 198.0, 0.0], [200.0, 200.0, 30.0]),
            ([0.0, 0.0, 0.0], [2.0, 200.0, 40.0]),
            ([198.0, 0.0, 0.0], [200.0, 200.0, 40.0]),
        ]
        .iter()
        .map(|(from, to)| Triangles::cuboid(&Point::from(*from), &Point::from(*to)))
        .collect()
    }

    #[test]
    fn a_tray_fills_to_its_rim_and_drains_through_a_hole() {
        let parts = tray();
        let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 5.0).expect("a tray");
        let middle = grid.cell(100.0, 100.0).expect("inside");
        let full = grid.flood(&Vector::z(), &[]);
        assert!((full.level_mm[middle] - 30.0).abs() < 1e-9, "it stands to the lower rim");
        assert!((full.depth_mm(middle) - 28.0).abs() < 1e-9);
        // Lines run along the walls: 196 × 196 × 28 mm to the last drop.
        assert!((full.litres(&grid) - 0.196 * 0.196 * 28.0).abs() < 1e-9);
        let drained = grid.flood(&Vector::z(), &[middle]);
        assert!(drained.litres(&grid) < 1e-9);
    }

    #[test]
    fn a_shelf_in_a_tray_has_water_over_and_under_it() {
        // A shelf with its own rim, 20 mm over the floor, from wall to wall on one side.
        let mut parts = tray();
        let boxes =
            [([2.0, 2.0, 18.0], [80.0, 198.0, 20.0]), ([78.0, 2.0, 18.0], [80.0, 198.0, 36.0])];
        parts.extend(
            boxes
                .iter()
                .map(|(from, to)| Triangles::cuboid(&Point::from(*from), &Point::from(*to))),
        );
        let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 5.0).expect("a tray");
        let floods = grid.flood(&Vector::z(), &[]);
        let above = grid.cell_under(&Point::new(40.0, 100.0, 25.0)).expect("on the shelf");
        let below = grid.cell_under(&Point::new(40.0, 100.0, 10.0)).expect("under the shelf");
        assert!(below >= grid.squares() && above < grid.squares());
        // Over the side walls, 30 high, both run off; under the shelf it stands to the shelf.
        assert!((floods.depth_mm(above) - 10.0).abs() < 1e-9);
        assert!((floods.depth_mm(below) - 16.0).abs() < 1e-9);
    }
}
