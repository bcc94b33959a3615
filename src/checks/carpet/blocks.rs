//! Luggage blocks of 200 × 100 × 50 mm (1 litre, ISO 3832) packed into the usable boot space.

use crate::geometry::{Bounds, Solid};
use crate::model::{Point, Vector};

/// Side of a cell of the grid that blocks lie on, mm: the block's shortest side, which its other
/// two are multiples of.
const CELL_MM: f64 = 50.0;

/// Cells beyond which the grid is begun at the low end only; a large boot has 10,000.
const MANY_CELLS: usize = 30_000;

/// A block's sides in cells, every way it can lie along the axes.
const WAYS: [[usize; 3]; 6] = [[4, 2, 1], [2, 4, 1], [4, 1, 2], [2, 1, 4], [1, 4, 2], [1, 2, 4]];

/// Cells that a block takes.
const BLOCK_CELLS: usize = 8;

/// Where the grid begins on each axis: against the low end, against the high end, half a cell off.
const STARTS: usize = 3;

/// Blocks as packed.
///
/// Method: blocks lie along the axes on a grid of 50 mm cells; a cell may be used when it lies
/// wholly inside one measured solid and nothing of a body, or of a mover on its way, is in it, so
/// every block counted does go in. Cells are gone through layer by layer from the floor, row by row;
/// each takes the first of the six ways to lie that fits. All orders that begin with each way, and
/// grids begun at three places along each axis, are tried, and the fullest counts. That is a packing,
/// not the best one: the true count is never lower.
///
/// With the pump in, the blocks that it touches are taken out and the room round it is filled again
/// on the same grid. Luggage that would have to be packed anew elsewhere is not.
pub(crate) struct Packing {
    low: Point,
    size: [usize; 3],
    /// Cells that may be used.
    usable: Vec<bool>,
    blocks: Vec<Block>,
}

#[derive(Clone, Copy)]
struct Block {
    at: [usize; 3],
    way: [usize; 3],
}

impl Packing {
    /// Packs `space`; `obstacles` are in the way. None when there is no space.
    pub(crate) fn of<'a>(
        space: &[Solid],
        obstacles: impl Iterator<Item = &'a Solid>,
    ) -> Option<Packing> {
        let around = space.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b))?;
        let near: Vec<&Solid> =
            obstacles.filter(|solid| solid.bounds().distance_mm(&around) <= 0.0).collect();
        let mut best: Option<Packing> = None;
        let many = Packing::grid(&around, [0; 3]).cells() > MANY_CELLS;
        for start in 0..if many { 1 } else { STARTS * STARTS * STARTS } {
            let starts = [start % STARTS, start / STARTS % STARTS, start / (STARTS * STARTS)];
            let mut packing = Packing::grid(&around, starts);
            packing.usable = (0..packing.cells())
                .map(|cell| {
                    let cell = packing.bounds(packing.place(cell));
                    space.iter().any(|solid| solid.holds_box(&cell))
                        && !near.iter().any(|solid| solid.meets_box(&cell))
                })
                .collect();
            let most = packing.usable.iter().filter(|usable| **usable).count() / BLOCK_CELLS;
            if best.as_ref().is_some_and(|best| most <= best.count()) {
                continue;
            }
            packing.blocks = packing.fullest(&packing.usable);
            if best.as_ref().is_none_or(|best| packing.count() > best.count()) {
                best = Some(packing);
            }
        }
        best
    }

    /// How many blocks go in.
    pub(crate) fn count(&self) -> usize {
        self.blocks.len()
    }

    /// How many go in beside the pump.
    pub(crate) fn count_beside(&self, pump: &[Solid], around: &Bounds) -> usize {
        let taken: Vec<bool> = (0..self.cells())
            .map(|cell| {
                let bounds = self.bounds(self.place(cell));
                self.usable[cell]
                    && bounds.distance_mm(around) <= 0.0
                    && pump.iter().any(|solid| solid.meets_box(&bounds))
            })
            .collect();
        let mut free: Vec<bool> =
            self.usable.iter().zip(&taken).map(|(usable, taken)| *usable && !taken).collect();
        let mut kept = 0;
        for block in &self.blocks {
            if self.cells_of(*block).all(|cell| free[cell]) {
                self.cells_of(*block).for_each(|cell| free[cell] = false);
                kept += 1;
            }
        }
        // A packing with the pump in is one without it too.
        (kept + self.fullest(&free).len()).min(self.count())
    }

    fn grid(around: &Bounds, starts: [usize; 3]) -> Packing {
        let extent = around.high - around.low;
        // A millionth of slack: 400 mm measured is eight cells whatever the rounding. No boot is
        // longer than 5 m, nor wider or higher than 2.2 m.
        let count = |axis: usize, length: f64| {
            let most = if axis == 0 { 100.0 } else { 44.0 };
            (length / CELL_MM + 1e-6).floor().clamp(0.0, most) as usize
        };
        let mut low = around.low;
        let mut size = [0; 3];
        for axis in 0..3 {
            let whole = count(axis, extent[axis]);
            let left_mm = (extent[axis] - whole as f64 * CELL_MM).max(0.0);
            let (shift_mm, cells) = match starts[axis] {
                0 => (0.0, whole),
                1 => (left_mm, whole),
                _ => (CELL_MM / 2.0, count(axis, extent[axis] - CELL_MM / 2.0)),
            };
            low[axis] += shift_mm;
            size[axis] = cells;
        }
        Packing { low, size, usable: Vec::new(), blocks: Vec::new() }
    }

    fn cells(&self) -> usize {
        self.size[0] * self.size[1] * self.size[2]
    }

    fn place(&self, cell: usize) -> [usize; 3] {
        let [x, y, _] = self.size;
        [cell % x, cell / x % y, cell / (x * y)]
    }

    fn bounds(&self, [x, y, z]: [usize; 3]) -> Bounds {
        let low = self.low + Vector::new(x as f64, y as f64, z as f64) * CELL_MM;
        Bounds { low, high: low + Vector::repeat(CELL_MM) }
    }

    fn cells_of(&self, block: Block) -> impl Iterator<Item = usize> + use<> {
        let [columns, rows, _] = self.size;
        let Block { at: [x, y, z], way: [dx, dy, dz] } = block;
        (z..z + dz).flat_map(move |z| {
            (y..y + dy).flat_map(move |y| (x..x + dx).map(move |x| x + columns * (y + rows * z)))
        })
    }

    /// The fullest packing of some free cells, over every order of the ways to lie.
    fn fullest(&self, free: &[bool]) -> Vec<Block> {
        let Some(first) = free.iter().position(|free| *free) else { return Vec::new() };
        let mut best = Vec::new();
        for turn in 0..WAYS.len() {
            let blocks = self.filled(free.to_vec(), first, turn);
            if blocks.len() > best.len() {
                best = blocks;
            }
        }
        best
    }

    fn filled(&self, mut free: Vec<bool>, first: usize, turn: usize) -> Vec<Block> {
        let mut blocks = Vec::new();
        for cell in first..free.len() {
            if !free[cell] {
                continue;
            }
            let at = self.place(cell);
            let fits = |block: &Block| {
                (0..3).all(|axis| at[axis] + block.way[axis] <= self.size[axis])
                    && self.cells_of(*block).all(|cell| free[cell])
            };
            let ways = (0..WAYS.len()).map(|way| WAYS[(turn + way) % WAYS.len()]);
            if let Some(block) = ways.map(|way| Block { at, way }).find(fits) {
                self.cells_of(block).for_each(|cell| free[cell] = false);
                blocks.push(block);
            }
        }
        blocks
    }
}
