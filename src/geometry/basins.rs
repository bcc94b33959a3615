//! Standing water by basins: each cell belongs to the hollow that it runs down to, and hollows spill
//! into one another.

use std::collections::BinaryHeap;
use std::sync::{Arc, OnceLock};

use super::frontier::Reached;
use super::links::{Links, NONE, Pass, by_basin, labelled};
use super::volumes::Volumes;
use super::{HeightGrid, Outlet};
use crate::model::Vector;
use crate::units::MM3_PER_LITRE;

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
    pub(super) up: Vector,
    pub(super) floor_mm: Arc<Vec<f64>>,
    pub(super) ceiling_mm: Arc<Vec<f64>>,
    /// Basin of each cell.
    pub(super) of: Vec<u32>,
    /// Lowest cell of each basin.
    pub(super) pits: Vec<u32>,
    /// How much each basin holds, once something has asked.
    volumes: OnceLock<Volumes>,
    /// In the order of their cells; of several between two basins the lowest is always there.
    pub(super) passes: Vec<Pass>,
    /// Passes by basin.
    passes_start: Vec<u32>,
    passes_of: Vec<u32>,
    /// Lowest cell of each basin at which water leaves the grid.
    open: Vec<Option<u32>>,
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

/// Levels of every basin for one state of the outlets.
pub(super) struct Solved {
    /// Infinite in a sealed space.
    pub(super) level_mm: Vec<f64>,
    pub(super) exit: Vec<Exit>,
    /// Basins in the order in which they were settled.
    pub(super) order: Vec<u32>,
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
