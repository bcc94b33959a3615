//! Water poured in at one place: which hollows fill, in which order, with how much.

use std::collections::BTreeMap;

use super::basins::Exit;
use super::volumes::{Risen, Volumes};
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

/// No pool yet.
const NONE: usize = usize::MAX;

/// Basins that have become one pool.
struct Joint {
    /// Ascending.
    basins: Vec<Risen>,
    level_mm: f64,
    /// What stands in it up to its level.
    held_l: f64,
}

impl Filling {
    /// Pours water in at `cell` until it runs off; none where there is no floor.
    ///
    /// A pool rises to its lowest way out: an outlet, the grid's edge, or a pass to another basin,
    /// which then takes all that comes. Two pools that spill into each other are one from then on.
    /// Outlets take all that reaches their rim.
    ///
    /// A space that is sealed all round has no lowest way out: nothing holds it to any level. Water that
    /// ends in one adds no stage for it, `full_l` counts what came in before, and
    /// [`end`](Self::end) is [`SpillInto::Edge`]; [`Basins::filled`] keeps such a space dry.
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
        let volumes = basins.volumes(grid);
        let mut joint_of = vec![NONE; basins.count()];
        let mut joints: Vec<Joint> = Vec::new();
        let mut stages: Vec<Stage> = Vec::new();
        let mut before_l = 0.0;
        let mut at = joint_at(basins, &mut joint_of, &mut joints, first);
        loop {
            let (to_mm, exit, from) = lowest_exit(basins, &ways, &joints[at], &joint_of, at);
            let from_mm = joints[at].level_mm;
            if to_mm > from_mm && to_mm.is_finite() {
                let joint = &mut joints[at];
                let held_l = joint.rise_to(to_mm, basins, volumes);
                let takes_l = held_l - joint.held_l;
                let rising = joint.basins.iter().map(|risen| risen.basin).collect();
                stages.push(Stage { basins: rising, from_mm, to_mm, before_l, takes_l });
                before_l += takes_l;
                joint.level_mm = to_mm;
                joint.held_l = held_l;
            }
            let end = match exit {
                Exit::Open(_) | Exit::None => SpillInto::Edge,
                Exit::Outlet(outlet) => SpillInto::Outlet(outlets[outlet as usize].of),
                Exit::Pass(pass) => {
                    let beyond = basins.pass(pass).beyond(from);
                    let next = joint_at(basins, &mut joint_of, &mut joints, beyond);
                    if joints[next].level_mm >= to_mm {
                        let more = std::mem::take(&mut joints[next].basins);
                        for risen in &more {
                            joint_of[risen.basin as usize] = at;
                        }
                        joints[at].held_l += joints[next].held_l;
                        joints[at].basins.extend(more);
                        joints[at].basins.sort_unstable_by_key(|risen| risen.basin);
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
        let (basin, wanted) = Wanted::at(basins, cell, height_mm)?;
        let mut first = First::default();
        first.ask(basin, wanted, 0);
        self.first_reached(basins, grid, &first).map(|(litres, _)| litres)
    }

    /// Which of the things in `first` water reaches first, and how many litres have come in by then; none
    /// when it never reaches any. Of things reached at once it is one that was asked about earlier in the
    /// same basin.
    pub(crate) fn first_reached(
        &self,
        basins: &Basins,
        grid: &HeightGrid,
        first: &First,
    ) -> Option<(f64, usize)> {
        let mut soonest: Option<(usize, Wanted, usize)> = None;
        for (&basin, &(wanted, which)) in &first.by_basin {
            let Some(stage) = self.stages.iter().position(|stage| {
                stage.reaches(wanted) && stage.basins.binary_search(&basin).is_ok()
            }) else {
                continue;
            };
            let sooner = soonest.is_none_or(|(known, height, of)| {
                let order = stage.cmp(&known).then(wanted.height_mm.total_cmp(&height.height_mm));
                order.then(which.cmp(&of)).is_lt()
            });
            if sooner {
                soonest = Some((stage, wanted, which));
            }
        }
        let (stage, wanted, which) = soonest?;
        Some((self.stages[stage].litres_until(basins, grid, wanted.height_mm), which))
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

/// A height that water is to come to over some cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wanted {
    height_mm: f64,
    /// It is the floor itself: it is wet only when water stands higher.
    floor: bool,
}

impl Wanted {
    /// The basin of a cell, and a height over it, at least its floor; none without floor.
    pub(crate) fn at(basins: &Basins, cell: usize, height_mm: f64) -> Option<(u32, Wanted)> {
        let basin = basins.basin(cell)?;
        let floor_mm = basins.floor_mm()[cell];
        let wanted = Wanted { height_mm: height_mm.max(floor_mm), floor: height_mm <= floor_mm };
        Some((basin, wanted))
    }
}

/// Of many things in the way of water, by basin the lowest and its number.
#[derive(Debug, Clone, Default)]
pub(crate) struct First {
    by_basin: BTreeMap<u32, (Wanted, usize)>,
}

impl First {
    /// Asks about one more.
    pub(crate) fn ask(&mut self, basin: u32, wanted: Wanted, which: usize) {
        let known = self.by_basin.entry(basin).or_insert((wanted, which));
        let order = wanted.height_mm.total_cmp(&known.0.height_mm);
        if order.then(wanted.floor.cmp(&known.0.floor)).is_lt() {
            *known = (wanted, which);
        }
    }
}

impl Stage {
    fn reaches(&self, wanted: Wanted) -> bool {
        if wanted.floor { self.to_mm > wanted.height_mm } else { self.to_mm >= wanted.height_mm }
    }

    /// Litres that have come in when its level first is at `height_mm`, or it begins to rise.
    pub(super) fn litres_until(&self, basins: &Basins, grid: &HeightGrid, height_mm: f64) -> f64 {
        let rise_l = held_l(basins, grid, &self.basins, height_mm.max(self.from_mm))
            - held_l(basins, grid, &self.basins, self.from_mm);
        self.before_l + rise_l
    }
}

impl Joint {
    /// What it holds up to a level that is no lower than any before.
    fn rise_to(&mut self, level_mm: f64, basins: &Basins, volumes: &Volumes) -> f64 {
        let risen = self.basins.iter_mut();
        risen.map(|risen| volumes.risen_l(basins, risen, level_mm)).sum()
    }
}

/// The pool that a basin belongs to, empty when water comes to it for the first time.
fn joint_at(basins: &Basins, joint_of: &mut [usize], joints: &mut Vec<Joint>, basin: u32) -> usize {
    if joint_of[basin as usize] == NONE {
        joint_of[basin as usize] = joints.len();
        let level_mm = basins.pit_mm(basin);
        joints.push(Joint { basins: vec![Risen::nothing(basin)], level_mm, held_l: 0.0 });
    }
    joint_of[basin as usize]
}

/// A pool's lowest way out, how high it is, and the basin that it leaves; ways out of the grid first
/// among equals.
fn lowest_exit(
    basins: &Basins,
    ways: &[(f64, Exit)],
    joint: &Joint,
    joint_of: &[usize],
    own: usize,
) -> (f64, Exit, u32) {
    let mut lowest = (f64::INFINITY, Exit::None, joint.basins[0].basin);
    for risen in &joint.basins {
        let (level, way) = ways[risen.basin as usize];
        if level < lowest.0 {
            lowest = (level, way, risen.basin);
        }
    }
    for basin in joint.basins.iter().map(|risen| risen.basin) {
        for (index, pass) in basins.passes_of(basin) {
            let beyond = pass.beyond(basin);
            if pass.height_mm < lowest.0 && joint_of[beyond as usize] != own {
                lowest = (pass.height_mm, Exit::Pass(index), basin);
            }
        }
    }
    lowest
}

/// Litres that some basins hold up to a level.
fn held_l(basins: &Basins, grid: &HeightGrid, among: &[u32], level_mm: f64) -> f64 {
    let volumes = basins.volumes(grid);
    among.iter().map(|basin| volumes.held_l(basins, *basin, level_mm)).sum()
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
