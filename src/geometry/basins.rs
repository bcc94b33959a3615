//! Standing water by basins: each cell belongs to the hollow that it runs down to, and hollows spill
//! into one another.

use std::collections::BinaryHeap;
use std::sync::{Arc, OnceLock};

use super::frontier::Reached;
use super::volumes::Volumes;
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
    /// How much each basin holds, once something has asked.
    volumes: OnceLock<Volumes>,
    /// In the order of their cells; of several between two basins the lowest is always there.
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
        let (passes_start, passes_of) = by_basin(pits.len(), &passes);
        Basins {
            up: *up,
            floor_mm: Arc::new(floor_mm),
            ceiling_mm: Arc::new(ceiling_mm),
            of,
            pits,
            volumes: OnceLock::new(),
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

    /// Whether two cells have floor and are of one basin.
    pub(crate) fn one_basin(&self, a: usize, b: usize) -> bool {
        self.basin(a).is_some() && self.basin(a) == self.basin(b)
    }

    /// Basin of each cell, [`u32::MAX`] without floor.
    pub(super) fn of_cells(&self) -> &[u32] {
        &self.of
    }

    /// How much each basin holds up to a level; worked out when it is first asked for, for all outlets.
    pub(super) fn volumes(&self, grid: &HeightGrid) -> &Volumes {
        self.volumes.get_or_init(|| Volumes::of(self, grid))
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

    /// What is over a cell's floor, measured along up, mm; infinite under the open sky.
    pub(super) fn ceiling_mm(&self, cell: usize) -> f64 {
        cell.checked_sub(self.of.len() - self.ceiling_mm.len())
            .map_or(f64::INFINITY, |low| self.ceiling_mm[low])
    }

    /// Litres per mm of depth along up over a cell of `plan_mm2` in plan: over it water that is `depth`
    /// deep along up stands depth / up.z high.
    pub(super) fn litres_per_mm(&self, plan_mm2: f64) -> f64 {
        plan_mm2 / self.up.z.max(0.1) / MM3_PER_LITRE
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
        let (mut pools, place, joined) = self.pools(&solved);
        let level_mm = self.levels(grid, &solved, &place, &mut pools);
        self.spills(grid, outlets, &solved, &place, joined, &mut pools);
        let floods = Floods {
            up: self.up,
            floor_mm: Arc::clone(&self.floor_mm),
            ceiling_mm: Arc::clone(&self.ceiling_mm),
            level_mm,
        };
        (floods, pools)
    }

    fn wet(&self, solved: &Solved, basin: u32) -> bool {
        let level_mm = solved.level_mm[basin as usize];
        level_mm.is_finite() && level_mm > self.pit_mm(basin)
    }

    /// The pools, empty yet, each basin's place among them, and the basins joined into one.
    fn pools(&self, solved: &Solved) -> (Vec<Pool>, Vec<u32>, Vec<u32>) {
        let count = self.count() as u32;
        let level = |basin: u32| solved.level_mm[basin as usize];
        let mut joined: Vec<u32> = (0..count).collect();
        for pass in &self.passes {
            let (a, b) = pass.basins;
            if pass.height_mm < level(a).min(level(b)) && level(a).is_finite() {
                let (a, b) = (root(&mut joined, a), root(&mut joined, b));
                joined[a.max(b) as usize] = a.min(b);
            }
        }
        let mut place = vec![NONE; count as usize];
        let mut pools: Vec<Pool> = Vec::new();
        for basin in (0..count).filter(|basin| self.wet(solved, *basin)) {
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
            place[basin as usize] = place[first];
        }
        (pools, place, joined)
    }

    /// The level of every cell; what stands there goes into its pool.
    fn levels(
        &self,
        grid: &HeightGrid,
        solved: &Solved,
        place: &[u32],
        pools: &mut [Pool],
    ) -> Vec<f64> {
        // A dry basin's level is under every floor.
        let stands: Vec<f64> = (0..self.count() as u32)
            .map(|basin| match place[basin as usize] {
                NONE => f64::NEG_INFINITY,
                _ => solved.level_mm[basin as usize],
            })
            .collect();
        let mut level_mm = Vec::with_capacity(self.of.len());
        let mut deepest = vec![(NONE, 0_usize); pools.len()];
        let mut stand = |cell: usize, basin: u32, depth_mm: f64, plan_mm2: f64| {
            let at = place[basin as usize] as usize;
            let pool = &mut pools[at];
            pool.litres += self.litres_per_mm(depth_mm * plan_mm2);
            pool.cells += 1;
            // Of equally deep places that of the first basin.
            let equal = depth_mm >= pool.deepest_mm && basin < deepest[at].0;
            if depth_mm > pool.deepest_mm || equal {
                pool.deepest_mm = depth_mm;
                deepest[at] = (basin, cell);
            }
        };
        let columns = grid.size.0.max(1);
        let squares = grid.squares();
        let widths: Vec<f64> = grid.x_lines.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let rows = self.of[..squares].chunks(columns).zip(self.floor_mm.chunks(columns));
        for (row, (basins, floors)) in rows.enumerate() {
            let across_mm = grid.y_lines[row + 1] - grid.y_lines[row];
            for (column, (&basin, &floor)) in basins.iter().zip(floors).enumerate() {
                let level = if basin == NONE { floor } else { stands[basin as usize] };
                if level > floor {
                    let plan_mm2 = widths[column] * across_mm;
                    stand(column + row * columns, basin, level - floor, plan_mm2);
                    level_mm.push(level);
                } else {
                    level_mm.push(floor);
                }
            }
        }
        for cell in squares..self.of.len() {
            let (basin, floor) = (self.of[cell], self.floor_mm[cell]);
            let level = if basin == NONE { floor } else { stands[basin as usize] };
            let depth_mm = level.min(self.ceiling_mm(cell)) - floor;
            if depth_mm > 0.0 {
                let (along_mm, across_mm) = grid.sides_mm(cell);
                stand(cell, basin, depth_mm, along_mm * across_mm);
            }
            level_mm.push(level.max(floor));
        }
        for (pool, (_, cell)) in pools.iter_mut().zip(deepest) {
            if pool.cells > 0 {
                pool.deepest = grid.centre(cell);
            }
        }
        level_mm
    }

    /// Where each pool spills, and what into.
    fn spills(
        &self,
        grid: &HeightGrid,
        outlets: &[Outlet],
        solved: &Solved,
        place: &[u32],
        mut joined: Vec<u32>,
        pools: &mut [Pool],
    ) {
        // The basin of each pool that was settled first is the one that it spills from.
        let mut done = vec![false; pools.len()];
        for &from in &solved.order {
            let pool = place[from as usize];
            if pool == NONE || std::mem::replace(&mut done[pool as usize], true) {
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
                        let next = place[basin as usize];
                        let into = (next != NONE && next != pool)
                            .then_some(SpillInto::Pool(next as usize));
                        (pass.cell as usize, into)
                    }
                    Exit::None => (self.pits[basin as usize] as usize, Some(SpillInto::Edge)),
                };
                spill.get_or_insert(at);
                if let Some(way) = way {
                    break way;
                }
            };
            let pit = self.pits[root(&mut joined, from) as usize] as usize;
            pools[pool as usize].into = into;
            pools[pool as usize].spill = grid.centre(spill.unwrap_or(pit));
        }
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
    /// The cell that each one's water runs to; itself at a pit.
    fn descents(&self) -> Vec<u32> {
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

    /// Pairs of neighbouring cells of different basins, in the order of their cells. Of several between
    /// two basins the first of the lowest is there; most of the others are left out.
    fn passes(&self, of: &[u32]) -> Vec<Pass> {
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
    fn open(&self, of: &[u32], basins: usize) -> Vec<Option<u32>> {
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

/// Places of the passes by the basins that they join, and where each basin's begin.
fn by_basin(basins: usize, passes: &[Pass]) -> (Vec<u32>, Vec<u32>) {
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
