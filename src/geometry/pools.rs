//! The pools that stand when all the water does that can: how much, how deep, where each spills.

use std::sync::Arc;

use super::basins::{Exit, Solved};
use super::joined::root;
use super::links::NONE;
use super::{Basins, Floods, HeightGrid, Outlet};
use crate::model::Point;

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

impl Basins {
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
