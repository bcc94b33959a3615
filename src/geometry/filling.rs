//! Water poured in at one place: which hollows fill, in which order, with how much.

use std::collections::BTreeMap;

use super::basins::Exit;
use super::{Basins, HeightGrid, Outlet, SpillInto};

/// One pool rising from one level to the next while the rest stands still.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Its basins, ascending.
    basins: Vec<u32>,
    /// Level at which it begins to rise, mm along up.
    pub from_mm: f64,
    /// Level at which it spills, mm along up.
    pub to_mm: f64,
    /// What has come in before it begins to rise, litres.
    pub before_l: f64,
    /// What it takes until it spills, litres.
    pub takes_l: f64,
}

/// Everything that happens until all that comes in runs off again.
#[derive(Debug, Clone, PartialEq)]
pub struct Filling {
    /// In the order in which they come; each pool may come several times, joined with others.
    pub stages: Vec<Stage>,
    /// Where the water runs off in the end.
    pub end: SpillInto,
    /// Litres from which on it runs off.
    pub full_l: f64,
}

/// What became of some water.
#[derive(Debug, Clone, PartialEq)]
pub struct Poured {
    /// Litres in each pool that holds any, with its level along up, mm.
    pub pools: Vec<(f64, f64)>,
    /// Litres that left over the grid's edge.
    pub spilled_l: f64,
    /// Litres that left by each outlet, by the outlet's number.
    pub drained_l: BTreeMap<usize, f64>,
}

/// Basins that have become one pool.
struct Joint {
    basins: Vec<u32>,
    level_mm: f64,
}

impl Filling {
    /// Pours water in at `cell` until it runs off; none where there is no floor.
    ///
    /// A pool rises to its lowest way out: an outlet, the grid's edge, or a pass to another basin,
    /// which then takes all that comes. Two pools that spill into each other are one from then on.
    /// Outlets take all that reaches their rim. The end may be a sealed space that is full.
    ///
    /// Method: fill, spill and merge on the basins; each pool's volume is summed over its cells, so a
    /// stage is exact to rounding. Source: R. Barnes, K. Callaghan, A. Wickert, Earth Surface Dynamics 9
    /// (2021), the idea only, from memory.
    pub fn from(
        basins: &Basins,
        grid: &HeightGrid,
        outlets: &[Outlet],
        cell: usize,
    ) -> Option<Filling> {
        let first = basins.basin(cell)?;
        let ways = basins.ways_out(grid, outlets);
        let mut joint_of: BTreeMap<u32, usize> = BTreeMap::new();
        let mut joints: Vec<Joint> = Vec::new();
        let mut stages: Vec<Stage> = Vec::new();
        let mut before_l = 0.0;
        let mut at = joint_at(basins, &mut joint_of, &mut joints, first);
        loop {
            let (to_mm, exit, from) = lowest_exit(basins, &ways, &joints[at], &joint_of, at);
            let from_mm = joints[at].level_mm;
            if to_mm > from_mm && to_mm.is_finite() {
                let takes_l = held_l(basins, grid, &joints[at].basins, to_mm)
                    - held_l(basins, grid, &joints[at].basins, from_mm);
                let rising = joints[at].basins.clone();
                stages.push(Stage { basins: rising, from_mm, to_mm, before_l, takes_l });
                before_l += takes_l;
                joints[at].level_mm = to_mm;
            }
            let end = match exit {
                Exit::Open(_) | Exit::None => SpillInto::Edge,
                Exit::Outlet(outlet) => SpillInto::Outlet(outlets[outlet as usize].of),
                Exit::Pass(pass) => {
                    let beyond = basins.pass(pass).beyond(from);
                    let next = joint_at(basins, &mut joint_of, &mut joints, beyond);
                    if joints[next].level_mm >= to_mm {
                        let more = std::mem::take(&mut joints[next].basins);
                        for basin in &more {
                            joint_of.insert(*basin, at);
                        }
                        joints[at].basins.extend(more);
                        joints[at].basins.sort_unstable();
                    } else {
                        at = next;
                    }
                    continue;
                }
            };
            return Some(Filling { stages, end, full_l: before_l });
        }
    }

    /// Litres that have come in when the water over `cell` first stands at `height_mm` along up; none
    /// when it never does.
    pub fn litres_until(
        &self,
        basins: &Basins,
        grid: &HeightGrid,
        cell: usize,
        height_mm: f64,
    ) -> Option<f64> {
        let basin = basins.basin(cell)?;
        let height_mm = height_mm.max(basins.floor_mm()[cell]);
        let stage = self.stages.iter().find(|stage| {
            stage.to_mm >= height_mm
                && stage.to_mm > basins.floor_mm()[cell]
                && stage.basins.binary_search(&basin).is_ok()
        })?;
        let rise_l = held_l(basins, grid, &stage.basins, height_mm.max(stage.from_mm))
            - held_l(basins, grid, &stage.basins, stage.from_mm);
        Some(stage.before_l + rise_l)
    }

    /// What has become of `litres` poured in.
    pub fn after(&self, basins: &Basins, grid: &HeightGrid, litres: f64) -> Poured {
        // The last level of each basin decides; a stage that is not done stands lower.
        let mut level: BTreeMap<u32, (f64, usize)> = BTreeMap::new();
        for (index, stage) in self.stages.iter().enumerate() {
            if stage.before_l > litres {
                break;
            }
            let level_mm = if litres >= stage.before_l + stage.takes_l {
                stage.to_mm
            } else {
                self.level_of(basins, grid, stage, litres - stage.before_l)
            };
            for basin in &stage.basins {
                level.insert(*basin, (level_mm, index));
            }
        }
        let mut pools: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        for (basin, (level_mm, stage)) in level {
            let pool = pools.entry(stage).or_insert((0.0, level_mm));
            pool.0 += held_l(basins, grid, &[basin], level_mm);
        }
        let off_l = (litres - self.full_l).max(0.0);
        let (mut spilled_l, mut drained_l) = (0.0, BTreeMap::new());
        match self.end {
            SpillInto::Outlet(of) => {
                drained_l.insert(of, off_l);
            }
            _ => spilled_l = off_l,
        }
        Poured { pools: pools.into_values().collect(), spilled_l, drained_l }
    }

    /// The level at which a stage's pool has taken `litres`, by halving.
    fn level_of(&self, basins: &Basins, grid: &HeightGrid, stage: &Stage, litres: f64) -> f64 {
        let base_l = held_l(basins, grid, &stage.basins, stage.from_mm);
        let (mut low, mut high) = (stage.from_mm, stage.to_mm);
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if held_l(basins, grid, &stage.basins, middle) - base_l < litres {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }
}

/// The pool that a basin belongs to, empty when water comes to it for the first time.
fn joint_at(
    basins: &Basins,
    joint_of: &mut BTreeMap<u32, usize>,
    joints: &mut Vec<Joint>,
    basin: u32,
) -> usize {
    *joint_of.entry(basin).or_insert_with(|| {
        joints.push(Joint { basins: vec![basin], level_mm: basins.pit_mm(basin) });
        joints.len() - 1
    })
}

/// A pool's lowest way out, how high it is, and the basin that it leaves; ways out of the grid first
/// among equals.
fn lowest_exit(
    basins: &Basins,
    ways: &[(f64, Exit)],
    joint: &Joint,
    joint_of: &BTreeMap<u32, usize>,
    own: usize,
) -> (f64, Exit, u32) {
    let mut lowest = (f64::INFINITY, Exit::None, joint.basins[0]);
    for &basin in &joint.basins {
        let (level, way) = ways[basin as usize];
        if level < lowest.0 {
            lowest = (level, way, basin);
        }
    }
    for &basin in &joint.basins {
        for (index, pass) in basins.passes_of(basin) {
            let beyond = pass.beyond(basin);
            if pass.height_mm < lowest.0 && joint_of.get(&beyond) != Some(&own) {
                lowest = (pass.height_mm, Exit::Pass(index), basin);
            }
        }
    }
    lowest
}

/// Litres that some basins hold up to a level.
fn held_l(basins: &Basins, grid: &HeightGrid, among: &[u32], level_mm: f64) -> f64 {
    let mut litres = 0.0;
    for &basin in among.iter().filter(|basin| basins.pit_mm(**basin) < level_mm) {
        for &cell in basins.cells_of(basin) {
            let depth_mm = basins.depth_mm(cell as usize, level_mm);
            if depth_mm > 0.0 {
                litres += basins.litres(grid, cell as usize, depth_mm);
            }
        }
    }
    litres
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Vector;

    #[test]
    fn two_hollows_fill_one_after_the_other_and_then_together() {
        // Cells of 10 mm: rim 9, hollow A 0, pass 3, hollow B 1, rim 6 on B's far side.
        let heights = [9.0, 9.0, 9.0, 9.0, 9.0, 9.0, 0.0, 3.0, 1.0, 6.0, 9.0, 9.0, 9.0, 9.0, 9.0];
        let grid = HeightGrid::from_heights(10.0, (5, 3), heights.to_vec());
        let basins = Basins::of(&grid, &Vector::z());
        let poured = Filling::from(&basins, &grid, &[], 6).expect("a floor");
        let litre = 100.0 / 1e6;
        let takes: Vec<f64> = poured.stages.iter().map(|stage| stage.takes_l / litre).collect();
        // A to the pass: 3; B to the pass: 2; both to the rim at 6: 3 each over three cells.
        assert_eq!(takes.len(), 3);
        for (found, wanted) in takes.iter().zip([3.0, 2.0, 9.0]) {
            assert!((found - wanted).abs() < 1e-9, "{takes:?}");
        }
        assert_eq!(poured.end, SpillInto::Edge);
        let until = poured.litres_until(&basins, &grid, 8, 4.0).expect("it gets there");
        assert!((until / litre - 8.0).abs() < 1e-9);
        assert!(poured.litres_until(&basins, &grid, 8, 6.5).is_none());
    }
}
