//! Which way each cell's water runs, and over which cells the hollows spill into one another.

use super::{HeightGrid, NO_FLOOR_MM};

/// No basin: there is no floor.
pub(super) const NONE: u32 = u32::MAX;

/// Two neighbouring cells of two basins.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pass {
    pub(super) basins: (u32, u32),
    /// Height of the higher cell.
    pub(super) height_mm: f64,
    /// The higher cell.
    pub(super) cell: u32,
}

impl Pass {
    pub(super) fn beyond(&self, basin: u32) -> u32 {
        if self.basins.0 == basin { self.basins.1 } else { self.basins.0 }
    }
}

/// Which cells water can pass between.
pub(super) struct Links<'a> {
    pub(super) grid: &'a HeightGrid,
    pub(super) floor_mm: &'a [f64],
}

impl Links<'_> {
    /// The cell that each one's water runs to; itself at a pit.
    pub(super) fn descents(&self) -> Vec<u32> {
        let columns = self.grid.size.0;
        let floor = self.floor_mm;
        let (rough, squares) = (self.grid.rough(), self.grid.squares());
        let mut towards = Vec::with_capacity(floor.len());
        for (row, rough) in rough.chunks(columns.max(1)).enumerate() {
            let first = row * columns;
            let here = &floor[first..first + columns];
            let before = &floor[first.saturating_sub(columns)..][..columns];
            let behind = &floor[(first + columns).min(squares - columns)..][..columns];
            for column in 0..columns {
                let cell = (first + column) as u32;
                if rough[column] {
                    towards.push(self.descent(cell as usize));
                    continue;
                }
                // Neighbours by rising index; a later one must be strictly lower. Which is lowest
                // can't be foretold, so nothing branches on it.
                let (mut low, mut to) = (here[column], cell);
                let up = before[column];
                (low, to) = if up <= low { (up, cell - columns as u32) } else { (low, to) };
                let left = here[column - 1];
                let lower = (left < low) | ((left <= low) & (to == cell));
                (low, to) = if lower { (left, cell - 1) } else { (low, to) };
                let right = here[column + 1];
                (low, to) = if right < low { (right, cell + 1) } else { (low, to) };
                let to = if behind[column] < low { cell + columns as u32 } else { to };
                towards.push(to);
            }
        }
        towards.extend((self.grid.squares()..floor.len()).map(|cell| self.descent(cell)));
        towards
    }

    /// The cell that one's water runs to, whatever is beside it: the lowest, ties to the lower index.
    fn descent(&self, cell: usize) -> u32 {
        let floor = self.floor_mm;
        if floor[cell] == NO_FLOOR_MM {
            return NONE;
        }
        let mut to = cell;
        self.each_beside(cell, |next| {
            if (floor[next], next) < (floor[to], to) {
                to = next;
            }
        });
        to as u32
    }

    /// Calls `visit` with every cell that water can pass to from `cell`.
    fn each_beside(&self, cell: usize, mut visit: impl FnMut(usize)) {
        let grid = self.grid;
        let (columns, rows) = grid.size;
        let square = grid.square(cell);
        let (column, row) = (square % columns, square / columns);
        let top = cell < grid.squares();
        let (floor, ceiling) = (grid.floor_mm(cell), grid.ceiling_mm(cell));
        let mut look = |next: usize| {
            if grid.height_mm[next] == NO_FLOOR_MM {
                return;
            }
            if top || (grid.height_mm[next] < ceiling && !grid.parted(cell, next)) {
                visit(next);
            }
            for low in grid.low_cells(next) {
                if grid.floor_mm(low).max(floor) < grid.ceiling_mm(low).min(ceiling)
                    && !grid.parted(cell, low)
                {
                    visit(low);
                }
            }
        };
        if row > 0 {
            look(square - columns);
        }
        if column > 0 {
            look(square - 1);
        }
        if column + 1 < columns {
            look(square + 1);
        }
        if row + 1 < rows {
            look(square + columns);
        }
    }

    /// Pairs of neighbouring cells of different basins, in the order of their cells. Of several between
    /// two basins the first of the lowest is there; most of the others are left out.
    pub(super) fn passes(&self, of: &[u32]) -> Vec<Pass> {
        let mut passes = Passes::of(self.floor_mm);
        let (columns, rows) = self.grid.size;
        let (rough, squares) = (self.grid.rough(), self.grid.squares());
        for row in 0..rows {
            let first = row * columns;
            let here = &of[first..first + columns];
            let below = &of[(first + columns).min(squares - columns)..][..columns];
            for column in 0..columns {
                let cell = first + column;
                if rough[cell] {
                    self.passes_from(cell, of, &mut passes);
                    continue;
                }
                let basin = here[column];
                if here[column + 1] != basin {
                    passes.add((basin, here[column + 1]), cell, cell + 1);
                }
                if below[column] != basin {
                    passes.add((basin, below[column]), cell, cell + columns);
                }
            }
        }
        for cell in self.grid.squares()..of.len() {
            self.passes_from(cell, of, &mut passes);
        }
        passes.done()
    }

    fn passes_from(&self, cell: usize, of: &[u32], passes: &mut Passes) {
        self.each_beside(cell, |next| {
            if next > cell && of[next] != of[cell] {
                passes.add((of[cell], of[next]), cell, next);
            }
        });
    }

    /// The lowest cell of each basin where water leaves the grid.
    pub(super) fn open(&self, of: &[u32], basins: usize) -> Vec<Option<u32>> {
        let mut open: Vec<Option<u32>> = vec![None; basins];
        for &square in self.grid.open_squares() {
            let square = square as usize;
            for cell in std::iter::once(square).chain(self.grid.low_cells(square)) {
                if of[cell] == NONE {
                    continue;
                }
                let known = &mut open[of[cell] as usize];
                if known.is_none_or(|known| self.floor_mm[cell] < self.floor_mm[known as usize]) {
                    *known = Some(cell as u32);
                }
            }
        }
        open
    }
}

/// Passes as they are found: a border between two basins is many cells long, and only its lowest place
/// counts.
struct Passes<'a> {
    floor_mm: &'a [f64],
    found: Vec<Pass>,
    /// The pass of some pair of basins that was seen last, by a few bits of the pair.
    lately: Vec<u32>,
}

/// How many pairs of basins are remembered; a power of two.
const REMEMBERED: usize = 4096;

impl Passes<'_> {
    fn of(floor_mm: &[f64]) -> Passes<'_> {
        Passes { floor_mm, found: Vec::new(), lately: vec![NONE; REMEMBERED] }
    }

    fn add(&mut self, basins: (u32, u32), cell: usize, next: usize) {
        if basins.0 == NONE || basins.1 == NONE {
            return;
        }
        let floor = self.floor_mm;
        let higher = if floor[next] > floor[cell] { next } else { cell };
        let pass = Pass { basins, height_mm: floor[higher], cell: higher as u32 };
        let (low, high) = (basins.0.min(basins.1), basins.0.max(basins.1));
        let slot = (low.wrapping_mul(61) ^ high.wrapping_mul(1021)) as usize % REMEMBERED;
        if let Some(known) = self.found.get_mut(self.lately[slot] as usize) {
            let same = known.basins == basins || known.basins == (basins.1, basins.0);
            if same && known.height_mm <= pass.height_mm {
                return;
            }
            if same {
                // Not in its place: passes stay in the order of their cells.
                known.basins = (NONE, NONE);
            }
        }
        self.lately[slot] = self.found.len() as u32;
        self.found.push(pass);
    }

    fn done(mut self) -> Vec<Pass> {
        self.found.retain(|pass| pass.basins.0 != NONE);
        self.found
    }
}

/// The basin of each cell, numbered in the order of their first cells, and the pits.
pub(super) fn labelled(floor_mm: &[f64], towards: Vec<u32>) -> (Vec<u32>, Vec<u32>) {
    let mut of = vec![NONE; floor_mm.len()];
    let mut pits = Vec::new();
    let mut way: Vec<u32> = Vec::new();
    for cell in 0..floor_mm.len() as u32 {
        if towards[cell as usize] == NONE {
            continue;
        }
        let mut at = cell;
        // Every step goes to a lower floor, or an equal one with a lower index: no way is a ring.
        let basin = loop {
            let known = of[at as usize];
            if known != NONE {
                break known;
            }
            way.push(at);
            let next = towards[at as usize];
            if next == at {
                pits.push(at);
                break pits.len() as u32 - 1;
            }
            at = next;
        };
        for cell in way.drain(..) {
            of[cell as usize] = basin;
        }
    }
    (of, pits)
}

/// Places of the passes by the basins that they join, and where each basin's begin.
pub(super) fn by_basin(basins: usize, passes: &[Pass]) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0_u32; basins + 1];
    for pass in passes {
        start[pass.basins.0 as usize + 1] += 1;
        start[pass.basins.1 as usize + 1] += 1;
    }
    for basin in 0..basins {
        start[basin + 1] += start[basin];
    }
    let mut next = start.clone();
    let mut sorted = vec![0_u32; 2 * passes.len()];
    for (index, pass) in passes.iter().enumerate() {
        for basin in [pass.basins.0, pass.basins.1] {
            let at = &mut next[basin as usize];
            sorted[*at as usize] = index as u32;
            *at += 1;
        }
    }
    (start, sorted)
}
