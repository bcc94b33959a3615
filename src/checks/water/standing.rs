//! Everything about water that doesn't depend on the pump, worked out once.

use std::sync::Arc;

use super::cases::{DrainState, SLOPES, Slope, WaterCase};
use super::drains::in_mid_air;
use super::outlets::outlets;
use super::tracks::{self, DripTrack};
use crate::checks::boot::BootBody;
use crate::geometry::{
    Basins, Filling, Finer, Floods, HeightGrid, Narrow, Outlet, Pool, SpillInto, Triangles,
};
use crate::model::Layout;

/// Pools smaller than this are wet spots, litres. Common practice, no source.
const LEAST_POOL_L: f64 = 0.01;

/// However badly things were measured, an opening wider than this lets water out, mm. Common practice, no
/// source.
const MOST_NARROW_MM: f64 = 10.0;

/// Everything about water that doesn't depend on the pump.
pub(crate) struct Water {
    pub(crate) grid: HeightGrid,
    /// What drips run on where sheet has slits that count as shut for standing water: the same cells with the
    /// slits open, and what stands there on each slope with the drains as found.
    slits: Option<(HeightGrid, Vec<Floods>)>,
    /// Each slope's basins.
    basins: Vec<Basins>,
    states: Vec<DrainState>,
    /// Each state's outlets.
    outlets: Vec<Vec<Outlet>>,
    /// By state, then slope.
    pub(crate) cases: Vec<WaterCase>,
    /// By leak, then slope, with the drains as found.
    pub(crate) tracks: Vec<DripTrack>,
    /// What a leak fills, by case, then leak; none where it falls past everything. Leaks that run into one
    /// basin share it.
    fillings: Vec<Vec<Option<Arc<Filling>>>>,
}

impl Water {
    /// Floods every slope with drains as found, then each running drain blocked, then all blocked, and
    /// follows every leak; none when nothing can hold water.
    pub(crate) fn of(layout: &Layout, bodies: &[BootBody]) -> Option<Water> {
        let sheets: Vec<&Triangles> = bodies
            .iter()
            .filter(|body| layout.bodies[body.index].role.holds_water())
            .map(|body| body.solid.triangles())
            .collect();
        let step_mm = layout.limits.water_step_mm;
        // Half as wide a step round drains and under leaks, where a cell more or less decides.
        let drains = layout
            .drains
            .iter()
            .map(|drain| Finer { at: drain.at, reach_mm: drain.diameter_mm / 2.0 + step_mm });
        let leaks = layout.leaks.iter().map(|leak| Finer { at: leak.at, reach_mm: step_mm });
        let declared: Vec<Finer> = drains.collect();
        let finer: Vec<Finer> = declared.iter().copied().chain(leaks).collect();
        // Walls measured as so near each other may as well touch.
        let up_to_mm = layout.limits.tape_mm.min(MOST_NARROW_MM);
        let narrow = Narrow { up_to_mm, declared: &declared };
        let grid = HeightGrid::tight(&sheets, step_mm, &finer, Some(&narrow))?;
        let running: Vec<usize> = (0..layout.drains.len())
            .filter(|&index| {
                let drain = &layout.drains[index];
                let off_mm = bodies
                    .iter()
                    .filter(|body| layout.bodies[body.index].role.holds_water())
                    .map(|body| body.solid.distance_to_point_mm(&drain.at).abs())
                    .fold(f64::INFINITY, f64::min);
                !drain.blocked && !in_mid_air(off_mm, drain.diameter_mm)
            })
            .collect();
        let mut states = vec![DrainState::AsFound];
        states.extend(running.iter().map(|&index| DrainState::OneBlocked(index)));
        states.push(DrainState::AllBlocked);
        let outlets: Vec<Vec<Outlet>> = states
            .iter()
            .map(|state| {
                let open =
                    running.iter().filter(|index| state.runs(**index, &layout.drains[**index]));
                open.flat_map(|&index| outlets(&grid, &layout.drains[index], index)).collect()
            })
            .collect();
        let flooded = each_slope(&SLOPES.map(|slope| slope.up()), |up| {
            let basins = Basins::of(&grid, up);
            let filled: Vec<(Floods, Vec<Pool>)> =
                outlets.iter().map(|outlets| basins.filled(&grid, outlets)).collect();
            (basins, filled)
        });
        let mut basins = Vec::with_capacity(SLOPES.len());
        let mut by_slope = Vec::with_capacity(SLOPES.len());
        for (found, filled) in flooded {
            basins.push(found);
            by_slope.push(filled.into_iter());
        }
        let mut cases = Vec::with_capacity(states.len() * SLOPES.len());
        for &drains in &states {
            for (slope, filled) in SLOPES.iter().zip(&mut by_slope) {
                let Some((floods, pools)) = filled.next() else { continue };
                cases.push(WaterCase { slope: *slope, drains, floods, pools: worth_naming(pools) });
            }
        }
        let slits = grid.with_slits().map(|grid| {
            let as_found = outlets.first().map_or(&[][..], Vec::as_slice);
            let floods = each_slope(&SLOPES.map(|slope| slope.up()), |up| {
                Basins::of(&grid, up).filled(&grid, as_found).0
            });
            (grid, floods)
        });
        let mut water = Water {
            grid,
            slits,
            basins,
            states,
            outlets,
            cases,
            tracks: Vec::new(),
            fillings: Vec::new(),
        };
        water.tracks = tracks::tracks(layout, bodies, &water);
        water.fillings = water.fill(layout);
        Some(water)
    }

    /// What each leak fills in each case.
    fn fill(&self, layout: &Layout) -> Vec<Vec<Option<Arc<Filling>>>> {
        let slopes: Vec<usize> = (0..SLOPES.len()).collect();
        let by_slope = each_slope(&slopes, |&slope| self.fill_on(layout, slope));
        (0..self.cases.len())
            .map(|case| by_slope[case % SLOPES.len()][case / SLOPES.len()].clone())
            .collect()
    }

    /// The same on one slope, by state, then leak.
    fn fill_on(&self, layout: &Layout, slope: usize) -> Vec<Vec<Option<Arc<Filling>>>> {
        let basins = &self.basins[slope];
        let lands_in = |leak: usize| self.tracks[leak * SLOPES.len() + slope].lands_in;
        let cells: Vec<Option<usize>> = (0..layout.leaks.len()).map(lands_in).collect();
        self.outlets
            .iter()
            .map(|outlets| {
                let mut found: Vec<Option<Arc<Filling>>> = Vec::with_capacity(cells.len());
                for (leak, &cell) in cells.iter().enumerate() {
                    let alike = (0..leak).find(|&before| {
                        cell.zip(cells[before]).is_some_and(|(a, b)| basins.one_basin(a, b))
                    });
                    found.push(match alike {
                        Some(before) => found[before].clone(),
                        None => cell
                            .and_then(|cell| Filling::from(basins, &self.grid, outlets, cell))
                            .map(Arc::new),
                    });
                }
                found
            })
            .collect()
    }

    /// The floor as drips meet it: its cells are those of the grid that water stands on.
    pub(super) fn drip_grid(&self) -> &HeightGrid {
        self.slits.as_ref().map_or(&self.grid, |(grid, _)| grid)
    }

    /// What drips run into on a slope, with the drains as found.
    pub(super) fn drip_floods(&self, slope: usize) -> Option<&Floods> {
        match &self.slits {
            Some((_, floods)) => floods.get(slope),
            None => self.cases.get(slope).map(|case| &case.floods),
        }
    }

    /// The outlets with the drains as found.
    pub(crate) fn outlets_as_found(&self) -> &[Outlet] {
        self.outlets.first().map_or(&[], Vec::as_slice)
    }

    /// Each slope's basins.
    pub(super) fn basins(&self) -> &[Basins] {
        &self.basins
    }

    /// What a leak fills in a case.
    pub(super) fn filling(&self, case: usize, leak: usize) -> Option<&Filling> {
        self.fillings.get(case)?.get(leak)?.as_deref()
    }

    /// The water on any slope, for a drain state among [`states`](Self::states).
    pub(crate) fn on(&self, slope: Slope, drains: DrainState) -> Option<WaterCase> {
        let state = self.states.iter().position(|known| *known == drains)?;
        let basins = Basins::of(&self.grid, &slope.up());
        let (floods, pools) = basins.filled(&self.grid, &self.outlets[state]);
        Some(WaterCase { slope, drains, floods, pools: worth_naming(pools) })
    }
}

/// Asks every slope, on as many threads as there are; each is worked out on its own, so the threads'
/// order reaches no figure.
fn each_slope<S: Sync, T: Send>(ups: &[S], ask: impl Fn(&S) -> T + Sync) -> Vec<T> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let share = ups.len().div_ceil(threads).max(1);
    let ask = &ask;
    std::thread::scope(|scope| {
        let workers: Vec<_> = ups
            .chunks(share)
            .map(|part| scope.spawn(move || part.iter().map(ask).collect::<Vec<T>>()))
            .collect();
        workers
            .into_iter()
            .flat_map(|worker| match worker.join() {
                Ok(found) => found,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}

/// The pools large enough to be named, the largest first.
fn worth_naming(pools: Vec<Pool>) -> Vec<Pool> {
    let mut kept: Vec<usize> =
        (0..pools.len()).filter(|&pool| pools[pool].litres >= LEAST_POOL_L).collect();
    kept.sort_by(|a, b| pools[*b].litres.total_cmp(&pools[*a].litres).then(a.cmp(b)));
    let place = |pool: usize| kept.iter().position(|kept| *kept == pool);
    kept.iter()
        .map(|&index| {
            let mut pool = pools[index];
            // Through wet spots to what they run into. Each lies lower, so this ends.
            while let SpillInto::Pool(next) = pool.into {
                match place(next) {
                    Some(next) => {
                        pool.into = SpillInto::Pool(next);
                        break;
                    }
                    None => pool.into = pools[next].into,
                }
            }
            pool
        })
        .collect()
}
