//! The floor as a grid of heights, and the water that would stand on it.

use std::collections::BinaryHeap;

use super::frontier::Reached;
use super::{Bounds, Triangles};
use crate::model::{Point, Vector};

/// Height of a cell without floor: water falls out there.
pub const NO_FLOOR_MM: f64 = f64::NEG_INFINITY;

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
}

/// Floor heights on a square grid in the vehicle frame's x and y.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightGrid {
    /// Corner of the first cell, lowest x and y, mm.
    pub origin: (f64, f64),
    /// Side of a cell, mm.
    pub step_mm: f64,
    /// Cells along x and along y; a cell's index is `x + y * size.0`.
    pub size: (usize, usize),
    /// Height of each cell, mm; [`NO_FLOOR_MM`] where there is none.
    pub height_mm: Vec<f64>,
}

impl HeightGrid {
    /// The highest surface over each cell's centre, and at least the height of every edge that crosses
    /// the cell: so upright sheet thinner than a cell still dams, and a leaning rim keeps its height.
    ///
    /// None when there are no triangles. The step grows where it would take more than 250,000 cells.
    pub fn of(surfaces: &[&Triangles], step_mm: f64) -> Option<HeightGrid> {
        let bounds =
            surfaces.iter().filter_map(|surface| surface.bounds()).reduce(|a, b| a.with(&b))?;
        let (width, depth) = (bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
        let step_mm =
            step_mm.max((width * depth / MOST_CELLS).sqrt()).max((width + depth) / 4000.0);
        let cells = |length: f64| (length / step_mm).ceil().max(1.0) as usize;
        // A rim of empty cells all round, so that a wall on the very edge still lies in the grid.
        let size = (cells(width) + 2, cells(depth) + 2);
        let mut grid = HeightGrid {
            origin: (bounds.low.x - step_mm, bounds.low.y - step_mm),
            step_mm,
            size,
            height_mm: vec![NO_FLOOR_MM; size.0 * size.1],
        };
        for surface in surfaces {
            for triangle in surface.each() {
                grid.lay(&triangle);
            }
        }
        Some(grid)
    }

    /// A grid from given heights, row by row from the lowest y; for tests and comparisons.
    pub fn from_heights(step_mm: f64, size: (usize, usize), height_mm: Vec<f64>) -> HeightGrid {
        HeightGrid { origin: (0.0, 0.0), step_mm, size, height_mm }
    }

    /// The cell over which a point lies; none outside the grid.
    pub fn cell(&self, x_mm: f64, y_mm: f64) -> Option<usize> {
        let column = ((x_mm - self.origin.0) / self.step_mm).floor();
        let row = ((y_mm - self.origin.1) / self.step_mm).floor();
        let inside =
            column >= 0.0 && row >= 0.0 && column < self.size.0 as f64 && row < self.size.1 as f64;
        inside.then(|| column as usize + row as usize * self.size.0)
    }

    /// The middle of a cell's floor.
    pub fn centre(&self, cell: usize) -> Point {
        let (column, row) = (cell % self.size.0, cell / self.size.0);
        Point::new(
            self.origin.0 + (column as f64 + 0.5) * self.step_mm,
            self.origin.1 + (row as f64 + 0.5) * self.step_mm,
            self.height_mm[cell],
        )
    }

    /// The cells that share a side with `cell`.
    pub fn neighbours(&self, cell: usize) -> impl Iterator<Item = usize> + use<> {
        let (columns, rows) = self.size;
        let (column, row) = (cell % columns, cell / columns);
        [
            (column > 0).then(|| cell.wrapping_sub(1)),
            (column + 1 < columns).then(|| cell + 1),
            (row > 0).then(|| cell.wrapping_sub(columns)),
            (row + 1 < rows).then(|| cell + columns),
        ]
        .into_iter()
        .flatten()
    }

    /// Water filled to the brim: the level in each cell, measured along the unit vector `up`, when
    /// everything that can stand does. Water leaves at `outlets`, at the grid's edge and beside
    /// cells without floor.
    ///
    /// Method: priority-flood with 4 neighbours (a seam doesn't leak diagonally).
    pub fn flood(&self, up: &Vector, outlets: &[usize]) -> Floods {
        let open: Vec<Outlet> =
            outlets.iter().map(|&cell| Outlet { cell, rim_mm: NO_FLOOR_MM }).collect();
        self.flood_over(up, &open)
    }

    /// Like [`flood`](Self::flood), where water must first rise to an outlet's rim.
    pub fn flood_over(&self, up: &Vector, outlets: &[Outlet]) -> Floods {
        let floor_mm: Vec<f64> = (0..self.height_mm.len())
            .map(|cell| {
                if self.height_mm[cell] == NO_FLOOR_MM {
                    NO_FLOOR_MM
                } else {
                    up.dot(&self.centre(cell).coords)
                }
            })
            .collect();
        let mut level_mm = vec![NO_FLOOR_MM; floor_mm.len()];
        let mut reached = vec![false; floor_mm.len()];
        let mut front = BinaryHeap::new();
        let mut brim: Vec<f64> = vec![f64::INFINITY; floor_mm.len()];
        for outlet in outlets.iter().filter(|outlet| floor_mm[outlet.cell] != NO_FLOOR_MM) {
            let centre = self.centre(outlet.cell);
            let rim = if outlet.rim_mm.is_finite() {
                up.dot(&Vector::new(centre.x, centre.y, outlet.rim_mm))
            } else {
                NO_FLOOR_MM
            };
            let level = floor_mm[outlet.cell].max(rim);
            brim[outlet.cell] = brim[outlet.cell].min(level);
        }
        for cell in 0..floor_mm.len() {
            let mut neighbours = 0;
            let mut beside_none = false;
            for neighbour in self.neighbours(cell) {
                neighbours += 1;
                beside_none |= floor_mm[neighbour] == NO_FLOOR_MM;
            }
            if (neighbours < 4 || beside_none) && floor_mm[cell] != NO_FLOOR_MM {
                brim[cell] = floor_mm[cell];
            }
        }
        // Cells that water can leave by are entered at their brim; a lower way in may still come first.
        front.extend(
            brim.iter()
                .enumerate()
                .filter(|(_, level)| level.is_finite())
                .map(|(cell, level)| Reached { key: *level, cell }),
        );
        while let Some(Reached { key: level, cell }) = front.pop() {
            if std::mem::replace(&mut reached[cell], true) {
                continue;
            }
            level_mm[cell] = level;
            for neighbour in self.neighbours(cell) {
                if !reached[neighbour] && floor_mm[neighbour] != NO_FLOOR_MM {
                    front.push(Reached { key: level.max(floor_mm[neighbour]), cell: neighbour });
                }
            }
        }
        Floods { up: *up, floor_mm, level_mm }
    }

    fn lay(&mut self, triangle: &[Point; 3]) {
        self.lay_edges(triangle);
        let [a, b, c] = triangle;
        let flat = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if flat.abs() < 1e-9 {
            return; // upright: its edges are all that can be seen from above
        }
        let Some(bounds) = Bounds::of(triangle.iter()) else { return };
        for row in
            self.span(bounds.low.y - self.origin.1, bounds.high.y - self.origin.1, self.size.1)
        {
            let y = self.origin.1 + (row as f64 + 0.5) * self.step_mm;
            for column in
                self.span(bounds.low.x - self.origin.0, bounds.high.x - self.origin.0, self.size.0)
            {
                let x = self.origin.0 + (column as f64 + 0.5) * self.step_mm;
                let wb = ((x - a.x) * (c.y - a.y) - (y - a.y) * (c.x - a.x)) / flat;
                let wc = ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) / flat;
                if wb >= -1e-9 && wc >= -1e-9 && wb + wc <= 1.0 + 1e-9 {
                    self.raise(column, row, a.z + wb * (b.z - a.z) + wc * (c.z - a.z));
                }
            }
        }
    }

    /// Raises every cell that a triangle's edges cross, by points no farther apart than half a cell
    /// in plan.
    fn lay_edges(&mut self, [a, b, c]: &[Point; 3]) {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let plan = (from.x - to.x).hypot(from.y - to.y);
            let parts = (2.0 * plan / self.step_mm).ceil().clamp(1.0, 8000.0) as usize;
            for part in 0..=parts {
                let point = from + (to - from) * (part as f64 / parts as f64);
                if let Some(cell) = self.cell(point.x, point.y) {
                    self.raise(cell % self.size.0, cell / self.size.0, point.z);
                }
            }
        }
    }

    fn span(&self, low: f64, high: f64, count: usize) -> std::ops::Range<usize> {
        let first = (low / self.step_mm - 0.5).floor().max(0.0) as usize;
        let last = (high / self.step_mm + 0.5).ceil().max(0.0) as usize;
        first.min(count)..last.min(count)
    }

    fn raise(&mut self, column: usize, row: usize, height: f64) {
        let cell = &mut self.height_mm[column + row * self.size.0];
        *cell = cell.max(height);
    }
}

/// Water filled to the brim for one attitude and one state of the drains.
#[derive(Debug, Clone, PartialEq)]
pub struct Floods {
    /// Up, unit length, vehicle frame.
    pub up: Vector,
    /// Each cell's floor measured along `up`, mm.
    pub floor_mm: Vec<f64>,
    /// Each cell's level measured along `up`, mm; the floor's own where it is dry.
    pub level_mm: Vec<f64>,
}

impl Floods {
    /// Depth of water in a cell, mm.
    pub fn depth_mm(&self, cell: usize) -> f64 {
        if self.floor_mm[cell] == NO_FLOOR_MM {
            0.0
        } else {
            (self.level_mm[cell] - self.floor_mm[cell]).max(0.0)
        }
    }

    /// All the water that stands, litres, on a grid of `step_mm`.
    pub fn litres(&self, step_mm: f64) -> f64 {
        // Depth is measured along up; over a cell of step² in plan it stands depth / up.z high.
        let mm: f64 = (0..self.level_mm.len()).map(|cell| self.depth_mm(cell)).sum();
        mm * step_mm * step_mm / self.up.z.max(0.1) / crate::units::MM3_PER_LITRE
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tray_fills_to_its_rim_and_drains_through_a_hole() {
        let floor = Triangles::cuboid(&Point::origin(), &Point::new(200.0, 200.0, 2.0));
        let walls: Vec<Triangles> = [
            ([0.0, 0.0, 0.0], [200.0, 2.0, 30.0]),
            ([0.0, 198.0, 0.0], [200.0, 200.0, 30.0]),
            ([0.0, 0.0, 0.0], [2.0, 200.0, 40.0]),
            ([198.0, 0.0, 0.0], [200.0, 200.0, 40.0]),
        ]
        .iter()
        .map(|(from, to)| Triangles::cuboid(&Point::from(*from), &Point::from(*to)))
        .collect();
        let mut all: Vec<&Triangles> = walls.iter().collect();
        all.push(&floor);
        let grid = HeightGrid::of(&all, 5.0).expect("a tray");
        let middle = grid.cell(100.0, 100.0).expect("inside");
        let full = grid.flood(&Vector::z(), &[]);
        assert!((full.level_mm[middle] - 30.0).abs() < 1e-9, "it stands to the lower rim");
        assert!((full.depth_mm(middle) - 28.0).abs() < 1e-9);
        let drained = grid.flood(&Vector::z(), &[middle]);
        assert!(drained.litres(5.0) < 1e-9);
    }
}
