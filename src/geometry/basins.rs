//! Standing water by basins: each cell belongs to the hollow that it runs down to, and hollows spill
//! into one another.

use std::collections::BinaryHeap;
use std::sync::Arc;

use super::frontier::Reached;
use super::{HeightGrid, NO_FLOOR_MM, Outlet};
use crate::model::{Point, Vector};
use crate::units::MM3_PER_LITRE;

/// No basin: there is no floor.
const NONE: u32 = u32::MAX;

/// The floor's hollows at one attitude, and the passes between them.
///
/// Method: each cell points to its lowest neighbour, ties to the lower index, and so to a pit; cells
/// of one pit are a basin. Two basins are joined by the lowest of the passes between neighbouring
/// cells of theirs, a pass being the higher of the two floors. The level in a cell when all that can
/// stand does is the higher of its floor and its basin's level, and that is the lowest height over
/// which a way leads from basin to basin to an outlet: exactly what a priority-flood with 4 neighbours
/// gives, cell for cell, but the state of the outlets touches only the basins. One linear pass over
/// the cells for an attitude, and basins × log for each state of the outlets.
///
/// Source: the order of a minimax spanning tree (R. C. Prim 1957); priority-flood as R. Barnes,
/// C. Lehman, D. Mulla, Computers & Geosciences 62 (2014), from memory.
#[derive(Debug, Clone)]
pub struct Basins {
    up: Vector,
    floor_mm: Arc<Vec<f64>>,
    ceiling_mm: Arc<Vec<f64>>,
    /// Basin of each cell.
    of: Vec<u32>,
    /// Lowest cell of each basin.
    pits: Vec<u32>,
    /// Cells by basin.
    cells_start: Vec<u32>,
    cells: Vec<u32>,
    passes: Vec<Pass>,
    /// Passes by basin.
    passes_start: Vec<u32>,
    passes_of: Vec<u32>,
    /// Lowest cell of each basin at which water leaves the grid.
    open: Vec<Option<u32>>,
}

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

/// Where water that is too much for a basin goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Exit {
    /// Nowhere: the space is sealed.
    None,
    /// Out of the grid, at a cell.
    Open(u32),
    /// Out by an outlet; its place in the list.
    Outlet(u32),
    /// Over a pass.
    Pass(u32),
}

/// Where the water of a full pool goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpillInto {
    /// Out of the grid: over its edge, or where the floor ends.
    Edge,
    /// Out by the outlet of this number.
    Outlet(usize),
    /// Into the pool at this place of the list.
    Pool(usize),
}

/// Water that stands in one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pool {
    /// How much.
    pub litres: f64,
    /// Its surface, measured along up, mm.
    pub level_mm: f64,
    /// Greatest depth, measured along up, mm.
    pub deepest_mm: f64,
    /// The floor there.
    pub deepest: Point,
    /// Where more water would run off: the floor of the cell that holds it back, or of the outlet.
    pub spill: Point,
    /// Where that goes.
    pub into: SpillInto,
    /// How many cells are under water.
    pub cells: usize,
}

/// Levels of every basin for one state of the outlets.
pub(super) struct Solved {
    /// Infinite in a sealed space.
    pub(super) level_mm: Vec<f64>,
    pub(super) exit: Vec<Exit>,
    /// Basins in the order in which they were settled.
    order: Vec<u32>,
}

impl Basins {
    /// The basins of a grid whose up is the unit vector `up`.
    pub fn of(grid: &HeightGrid, up: &Vector) -> Basins {
        let floor_mm = tilted(grid, up);
        let ceiling_mm: Vec<f64> = (grid.squares()..grid.cells())
            .map(|cell| {
                let centre = grid.centre(cell);
                up.dot(&Vector::new(centre.x, centre.y, grid.ceiling_mm(cell)))
            })
            .collect();
        let links = Links { grid, floor_mm: &floor_mm };
        let towards = links.descents();
        let (of, pits) = labelled(&floor_mm, towards);
        let passes = links.passes(&of);
        let open = links.open(&of, pits.len());
        let floors = |cell: usize| (of[cell] != NONE).then_some(of[cell]);
        let (cells_start, cells) = by_basin(pits.len(), of.len(), |cell| [floors(cell), None]);
        let (passes_start, passes_of) = by_basin(pits.len(), passes.len(), |pass| {
            let (a, b) = passes[pass].basins;
            [Some(a), Some(b)]
        });
        Basins {
            up: *up,
            floor_mm: Arc::new(floor_mm),
            ceiling_mm: Arc::new(ceiling_mm),
            of,
            pits,
            cells_start,
            cells,
            passes,
            passes_start,
            passes_of,
            open,
        }
    }

    /// How many basins there are.
    pub fn count(&self) -> usize {
        self.pits.len()
    }

    /// Up, unit length.
    pub fn up(&self) -> &Vector {
        &self.up
    }

    /// Each cell's floor measured along up, mm.
    pub fn floor_mm(&self) -> &[f64] {
        &self.floor_mm
    }

    /// The basin of a cell; none without floor.
    pub(super) fn basin(&self, cell: usize) -> Option<u32> {
        self.of.get(cell).copied().filter(|basin| *basin != NONE)
    }

    pub(super) fn pit_mm(&self, basin: u32) -> f64 {
        self.floor_mm[self.pits[basin as usize] as usize]
    }

    pub(super) fn cells_of(&self, basin: u32) -> &[u32] {
        let basin = basin as usize;
        &self.cells[self.cells_start[basin] as usize..self.cells_start[basin + 1] as usize]
    }

    pub(super) fn passes_of(&self, basin: u32) -> impl Iterator<Item = (u32, &Pass)> {
        let basin = basin as usize;
        self.passes_of[self.passes_start[basin] as usize..self.passes_start[basin + 1] as usize]
            .iter()
            .map(|pass| (*pass, &self.passes[*pass as usize]))
    }

    pub(super) fn pass(&self, pass: u32) -> &Pass {
        &self.passes[pass as usize]
    }

    /// Water over a cell's floor up to a level, mm along up: at most to what is over it.
    pub(super) fn depth_mm(&self, cell: usize, level_mm: f64) -> f64 {
        let held = cell
            .checked_sub(self.of.len() - self.ceiling_mm.len())
            .map_or(level_mm, |low| level_mm.min(self.ceiling_mm[low]));
        (held - self.floor_mm[cell]).max(0.0)
    }

    /// Height of an outlet's rim along up, at least its cell's floor, mm.
    pub(super) fn rim_mm(&self, grid: &HeightGrid, outlet: &Outlet) -> f64 {
        let floor = self.floor_mm[outlet.cell];
        if !outlet.rim_mm.is_finite() {
            return floor;
        }
        let centre = grid.centre(outlet.cell);
        floor.max(self.up.dot(&Vector::new(centre.x, centre.y, outlet.rim_mm)))
    }

    /// Where water leaves each basin by itself, lowest, and how high that is.
    pub(super) fn ways_out(&self, grid: &HeightGrid, outlets: &[Outlet]) -> Vec<(f64, Exit)> {
        let mut out: Vec<(f64, Exit)> = self
            .open
            .iter()
            .map(|cell| match cell {
                Some(cell) => (self.floor_mm[*cell as usize], Exit::Open(*cell)),
                None => (f64::INFINITY, Exit::None),
            })
            .collect();
        for (index, outlet) in outlets.iter().enumerate() {
            let Some(basin) = self.basin(outlet.cell) else { continue };
            let rim = self.rim_mm(grid, outlet);
            let known = &mut out[basin as usize];
            if rim < known.0 {
                *known = (rim, Exit::Outlet(index as u32));
            }
        }
        out
    }

    /// The level of every basin when all that can stand does.
    pub(super) fn solve(&self, grid: &HeightGrid, outlets: &[Outlet]) -> Solved {
        let ways = self.ways_out(grid, outlets);
        let mut best: Vec<f64> = ways.iter().map(|way| way.0).collect();
        let mut exit: Vec<Exit> = ways.into_iter().map(|way| way.1).collect();
        let mut level_mm = vec![f64::INFINITY; best.len()];
        let mut settled = vec![false; best.len()];
        let mut order = Vec::with_capacity(best.len());
        let mut front: BinaryHeap<Reached> = best
            .iter()
            .enumerate()
            .filter(|(_, level)| level.is_finite())
            .map(|(cell, level)| Reached { key: *level, cell })
            .collect();
        while let Some(Reached { key, cell: basin }) = front.pop() {
            if std::mem::replace(&mut settled[basin], true) {
                continue;
            }
            level_mm[basin] = key;
            order.push(basin as u32);
            for (index, pass) in self.passes_of(basin as u32) {
                let next = pass.beyond(basin as u32) as usize;
                let over = key.max(pass.height_mm);
                if !settled[next] && over < best[next] {
                    best[next] = over;
                    exit[next] = Exit::Pass(index);
                    front.push(Reached { key: over, cell: next });
                }
            }
        }
        Solved { level_mm, exit, order }
    }

    /// Water filled to the brim with these outlets, and its pools in the order of their basins.
    ///
    /// A space sealed all round stays dry.
    pub fn filled(&self, grid: &HeightGrid, outlets: &[Outlet]) -> (Floods, Vec<Pool>) {
        let solved = self.solve(grid, outlets);
        let level_mm = self
            .of
            .iter()
            .zip(self.floor_mm.iter())
            .map(|(basin, floor)| match *basin {
                NONE => *floor,
                basin => match solved.level_mm[basin as usize] {
                    f64::INFINITY => *floor,
                    level => level.max(*floor),
                },
            })
            .collect();
        let floods = Floods {
            up: self.up,
            floor_mm: Arc::clone(&self.floor_mm),
            ceiling_mm: Arc::clone(&self.ceiling_mm),
            level_mm,
        };
        let pools = self.pools(grid, outlets, &solved);
        (floods, pools)
    }

    fn pools(&self, grid: &HeightGrid, outlets: &[Outlet], solved: &Solved) -> Vec<Pool> {
        let count = self.count();
        let level = |basin: u32| solved.level_mm[basin as usize];
        let wet = |basin: u32| level(basin).is_finite() && level(basin) > self.pit_mm(basin);
        let mut joined: Vec<u32> = (0..count as u32).collect();
        for pass in &self.passes {
            let (a, b) = pass.basins;
            if pass.height_mm < level(a).min(level(b)) && level(a).is_finite() {
                let (a, b) = (root(&mut joined, a), root(&mut joined, b));
                joined[a.max(b) as usize] = a.min(b);
            }
        }
        // The basin of each pool that was settled first is the one that it spills from.
        let mut spills_from = vec![NONE; count];
        for &basin in &solved.order {
            let first = root(&mut joined, basin) as usize;
            if spills_from[first] == NONE {
                spills_from[first] = basin;
            }
        }
        let mut place = vec![NONE; count];
        let mut pools: Vec<Pool> = Vec::new();
        for basin in (0..count as u32).filter(|basin| wet(*basin)) {
            let first = root(&mut joined, basin) as usize;
            if place[first] == NONE {
                place[first] = pools.len() as u32;
                pools.push(Pool {
                    litres: 0.0,
                    level_mm: level(basin),
                    deepest_mm: 0.0,
                    deepest: Point::origin(),
                    spill: Point::origin(),
                    into: SpillInto::Edge,
                    cells: 0,
                });
            }
            let pool = &mut pools[place[first] as usize];
            for &cell in self.cells_of(basin) {
                let cell = cell as usize;
                let depth_mm = self.depth_mm(cell, pool.level_mm);
                if depth_mm > 0.0 {
                    pool.litres += self.litres(grid, cell, depth_mm);
                    pool.cells += 1;
                    if depth_mm > pool.deepest_mm {
                        pool.deepest_mm = depth_mm;
                        pool.deepest = grid.centre(cell);
                    }
                }
            }
        }
        for (first, &from) in spills_from.iter().enumerate() {
            let pool = place[first];
            if pool == NONE {
                continue;
            }
            let mut basin = from;
            let mut spill = None;
            let into = loop {
                let (at, way) = match solved.exit[basin as usize] {
                    Exit::Open(cell) => (cell as usize, Some(SpillInto::Edge)),
                    Exit::Outlet(outlet) => {
                        let outlet = &outlets[outlet as usize];
                        (outlet.cell, Some(SpillInto::Outlet(outlet.of)))
                    }
                    Exit::Pass(pass) => {
                        let pass = self.pass(pass);
                        basin = pass.beyond(basin);
                        let next = wet(basin).then(|| root(&mut joined, basin));
                        let next = next.filter(|next| *next as usize != first);
                        let into = next.map(|next| SpillInto::Pool(place[next as usize] as usize));
                        (pass.cell as usize, into)
                    }
                    Exit::None => (self.pits[basin as usize] as usize, Some(SpillInto::Edge)),
                };
                spill.get_or_insert(at);
                if let Some(way) = way {
                    break way;
                }
            };
            pools[pool as usize].into = into;
            pools[pool as usize].spill = grid.centre(spill.unwrap_or(self.pits[first] as usize));
        }
        pools
    }

    /// Litres in a cell under water `depth_mm` deep along up.
    pub(super) fn litres(&self, grid: &HeightGrid, cell: usize, depth_mm: f64) -> f64 {
        let (along, across) = grid.sides_mm(cell);
        // Over a square in plan water that is `depth` deep along up stands depth / up.z high.
        depth_mm * along * across / self.up.z.max(0.1) / MM3_PER_LITRE
    }
}

/// The floor of every cell measured along `up`, mm.
fn tilted(grid: &HeightGrid, up: &Vector) -> Vec<f64> {
    let middles = |lines: &[f64], share: f64| -> Vec<f64> {
        lines.windows(2).map(|pair| share * f64::midpoint(pair[0], pair[1])).collect()
    };
    let (along, across) = (middles(&grid.x_lines, up.x), middles(&grid.y_lines, up.y));
    let mut floor = Vec::with_capacity(grid.cells());
    for (row, heights) in grid.height_mm.chunks(grid.size.0.max(1)).enumerate() {
        for (column, height) in heights.iter().enumerate() {
            // No floor stays no floor: minus infinity plus anything finite.
            floor.push(along[column] + across[row] + up.z * height);
        }
    }
    for cell in grid.squares()..grid.cells() {
        let square = grid.square(cell);
        let (column, row) = (square % grid.size.0, square / grid.size.0);
        floor.push(along[column] + across[row] + up.z * grid.floor_mm(cell));
    }
    floor
}

/// Which cells water can pass between.
struct Links<'a> {
    grid: &'a HeightGrid,
    floor_mm: &'a [f64],
}

impl Links<'_> {
    fn flat(&self) -> bool {
        self.grid.cells() == self.grid.squares()
    }

    /// The cell that each one's water runs to; itself at a pit.
    fn descents(&self) -> Vec<u32> {
        let (columns, rows) = self.grid.size;
        let floor = self.floor_mm;
        let mut towards = vec![NONE; floor.len()];
        if self.flat() {
            for row in 0..rows {
                for column in 0..columns {
                    let cell = column + row * columns;
                    let here = floor[cell];
                    if here == NO_FLOOR_MM {
                        continue;
                    }
                    // Neighbours by rising index; a later one must be strictly lower.
                    let (mut low, mut to) = (here, cell);
                    let mut look = |next: usize, before: bool| {
                        let there = floor[next];
                        let lower = there < low || (before && to == cell && there <= low);
                        if lower && there != NO_FLOOR_MM {
                            (low, to) = (there, next);
                        }
                    };
                    if row > 0 {
                        look(cell - columns, true);
                    }
                    if column > 0 {
                        look(cell - 1, true);
                    }
                    if column + 1 < columns {
                        look(cell + 1, false);
                    }
                    if row + 1 < rows {
                        look(cell + columns, false);
                    }
                    towards[cell] = to as u32;
                }
            }
            return towards;
        }
        for cell in 0..floor.len() {
            if floor[cell] == NO_FLOOR_MM {
                continue;
            }
            let mut to = cell;
            self.each_beside(cell, |next| {
                if (floor[next], next) < (floor[to], to) {
                    to = next;
                }
            });
            towards[cell] = to as u32;
        }
        towards
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
            if top || grid.height_mm[next] < ceiling {
                visit(next);
            }
            for low in grid.low_cells(next) {
                if grid.floor_mm(low).max(floor) < grid.ceiling_mm(low).min(ceiling) {
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

    /// Every pair of neighbouring cells of different basins.
    fn passes(&self, of: &[u32]) -> Vec<Pass> {
        let floor = self.floor_mm;
        let mut passes = Vec::new();
        let mut add = |cell: usize, next: usize| {
            let basins = (of[cell], of[next]);
            if basins.0 != basins.1 && basins.0 != NONE && basins.1 != NONE {
                let higher = if floor[next] > floor[cell] { next } else { cell };
                passes.push(Pass { basins, height_mm: floor[higher], cell: higher as u32 });
            }
        };
        if self.flat() {
            let (columns, rows) = self.grid.size;
            for row in 0..rows {
                for column in 0..columns {
                    let cell = column + row * columns;
                    if column + 1 < columns {
                        add(cell, cell + 1);
                    }
                    if row + 1 < rows {
                        add(cell, cell + columns);
                    }
                }
            }
        } else {
            for cell in 0..floor.len() {
                self.each_beside(cell, |next| {
                    if next > cell {
                        add(cell, next);
                    }
                });
            }
        }
        passes
    }

    /// The lowest cell of each basin where water leaves the grid.
    fn open(&self, of: &[u32], basins: usize) -> Vec<Option<u32>> {
        let mut open: Vec<Option<u32>> = vec![None; basins];
        let mut lowest = |cell: usize| {
            let known = &mut open[of[cell] as usize];
            if known.is_none_or(|known| self.floor_mm[cell] < self.floor_mm[known as usize]) {
                *known = Some(cell as u32);
            }
        };
        let (columns, rows) = self.grid.size;
        let holes = self.grid.height_mm.contains(&NO_FLOOR_MM);
        for row in 0..rows {
            // Inside a floor without holes only the ends of a row are at an edge.
            let whole = holes || row == 0 || row + 1 == rows;
            let step = if whole || columns < 2 { 1 } else { columns - 1 };
            for square in (row * columns..(row + 1) * columns).step_by(step) {
                if self.grid.open(square) {
                    let low = self.grid.low_cells(square);
                    std::iter::once(square)
                        .chain(low)
                        .filter(|cell| of[*cell] != NONE)
                        .for_each(&mut lowest);
                }
            }
        }
        open
    }
}

/// The basin of each cell, numbered in the order of their first cells, and the pits.
fn labelled(floor_mm: &[f64], towards: Vec<u32>) -> (Vec<u32>, Vec<u32>) {
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

/// Indices of things by the basins that they belong to.
fn by_basin(
    basins: usize,
    things: usize,
    of: impl Fn(usize) -> [Option<u32>; 2],
) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0_u32; basins + 1];
    for thing in 0..things {
        for basin in of(thing).into_iter().flatten() {
            start[basin as usize + 1] += 1;
        }
    }
    for basin in 0..basins {
        start[basin + 1] += start[basin];
    }
    let mut next = start.clone();
    let mut sorted = vec![0_u32; start[basins] as usize];
    for thing in 0..things {
        for basin in of(thing).into_iter().flatten() {
            let at = &mut next[basin as usize];
            sorted[*at as usize] = thing as u32;
            *at += 1;
        }
    }
    (start, sorted)
}

/// The first of those that a basin is joined to.
fn root(joined: &mut [u32], basin: u32) -> u32 {
    let mut at = basin;
    while joined[at as usize] != at {
        let up = joined[joined[at as usize] as usize];
        joined[at as usize] = up;
        at = up;
    }
    at
}

/// Water filled to the brim for one attitude and one state of the drains.
#[derive(Debug, Clone, PartialEq)]
pub struct Floods {
    /// Up, unit length, vehicle frame.
    pub up: Vector,
    /// Each cell's floor measured along `up`, mm.
    pub floor_mm: Arc<Vec<f64>>,
    /// Each cell's level measured along `up`, mm; the floor's own where it is dry. Under a shelf that
    /// water stands up to, the level that presses there.
    pub level_mm: Vec<f64>,
    pub(super) ceiling_mm: Arc<Vec<f64>>,
}

impl Floods {
    /// Depth of water in a cell, mm along up; no more than there is room under what is over it.
    pub fn depth_mm(&self, cell: usize) -> f64 {
        let floor = self.floor_mm[cell];
        if floor == NO_FLOOR_MM {
            return 0.0;
        }
        let held = cell
            .checked_sub(self.floor_mm.len() - self.ceiling_mm.len())
            .map_or(self.level_mm[cell], |low| self.level_mm[cell].min(self.ceiling_mm[low]));
        (held - floor).max(0.0)
    }

    /// All the water that stands, litres, on the grid that was flooded.
    pub fn litres(&self, grid: &HeightGrid) -> f64 {
        let mm3: f64 = (0..self.level_mm.len())
            .map(|cell| {
                let depth_mm = self.depth_mm(cell);
                if depth_mm > 0.0 {
                    let (along, across) = grid.sides_mm(cell);
                    depth_mm * along * across
                } else {
                    0.0
                }
            })
            .sum();
        mm3 / self.up.z.max(0.1) / MM3_PER_LITRE
    }
}
