//! Standing water for every parked slope and drain state.

use std::sync::Arc;

use super::drains::in_mid_air;
use super::drips::{self, DripTrack};
use crate::checks::boot::BootBody;
use crate::geometry::{
    Basins, Filling, Finer, Floods, HeightGrid, NO_FLOOR_MM, Outlet, Pool, SpillInto, Triangles,
};
use crate::model::{Drain, Layout, Point, Vector};

/// A slope the car is parked on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// In words.
    pub words: &'static str,
    /// Rise towards the nose, %; negative when it stands nose down.
    pub along_pct: f64,
    /// Rise towards the left side, %.
    pub across_pct: f64,
}

impl Slope {
    /// Up, unit length, in the vehicle frame of a car that stands on it.
    ///
    /// ```
    /// // 20 % along and 2.5 % across is 11.40° in all.
    /// let slope = dryberth::checks::water::Slope { words: "", along_pct: 20.0, across_pct: 2.5 };
    /// assert!((slope.up().z.acos().to_degrees() - 11.40).abs() < 0.005);
    /// ```
    pub fn up(&self) -> Vector {
        Vector::new(self.along_pct / 100.0, self.across_pct / 100.0, 1.0).normalize()
    }
}

/// Level, ±20 % along, ±10 % across and both together. Source for 20 %: the gradient that a parking
/// brake must hold (UN R13-H, from memory); 10 % across is common practice, no source.
pub const SLOPES: [Slope; 9] = [
    Slope { words: "on level ground", along_pct: 0.0, across_pct: 0.0 },
    Slope { words: "nose up 20 %", along_pct: 20.0, across_pct: 0.0 },
    Slope { words: "nose down 20 %", along_pct: -20.0, across_pct: 0.0 },
    Slope { words: "left side higher by 10 %", along_pct: 0.0, across_pct: 10.0 },
    Slope { words: "right side higher by 10 %", along_pct: 0.0, across_pct: -10.0 },
    Slope { words: "nose up 20 %, left side higher by 10 %", along_pct: 20.0, across_pct: 10.0 },
    Slope { words: "nose up 20 %, right side higher by 10 %", along_pct: 20.0, across_pct: -10.0 },
    Slope { words: "nose down 20 %, left side higher by 10 %", along_pct: -20.0, across_pct: 10.0 },
    Slope {
        words: "nose down 20 %, right side higher by 10 %",
        along_pct: -20.0,
        across_pct: -10.0,
    },
];

/// Pools smaller than this are wet spots, litres. Common practice, no source.
const LEAST_POOL_L: f64 = 0.01;

/// Depth from which water is drawn, mm; thinner films are wetness, not standing water.
const SHOWN_FROM_MM: f64 = 0.5;

/// Which drains run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrainState {
    /// As they were found.
    AsFound,
    /// As found, and this one blocked too; its place in the layout's list.
    OneBlocked(usize),
    /// None runs.
    AllBlocked,
}

impl DrainState {
    /// In words, naming a blocked drain.
    pub fn words(self, drains: &[Drain]) -> String {
        match self {
            DrainState::AsFound => "drains as found".to_string(),
            DrainState::OneBlocked(drain) => {
                let name = drains.get(drain).map_or("drain", |drain| drain.name.as_str());
                format!("{name} blocked")
            }
            DrainState::AllBlocked => "all drains blocked".to_string(),
        }
    }

    /// Whether a drain of the list runs in it.
    pub fn runs(self, index: usize, drain: &Drain) -> bool {
        match self {
            DrainState::AsFound => !drain.blocked,
            DrainState::OneBlocked(blocked) => !drain.blocked && index != blocked,
            DrainState::AllBlocked => false,
        }
    }
}

/// Water filled to the brim for one slope and drain state.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterCase {
    /// The slope.
    pub slope: Slope,
    /// The drains.
    pub drains: DrainState,
    /// Levels cell by cell.
    pub floods: Floods,
    /// Pools of 10 ml or more, the largest first. [`SpillInto::Outlet`] counts the layout's drains,
    /// [`SpillInto::Pool`] this list.
    pub pools: Vec<Pool>,
}

impl WaterCase {
    /// The case in words, naming a blocked drain.
    pub fn words(&self, drains: &[Drain]) -> String {
        format!("{}, {}", self.drains.words(drains), self.slope.words)
    }

    /// The water's surface to draw: a flat four-cornered strip for each run of squares along x that
    /// stand at one level, over every storey. Corners counter-clockwise from above, vehicle frame.
    pub fn surface(&self, grid: &HeightGrid) -> Vec<[Point; 4]> {
        let up = self.floods.up;
        let level = |cell: usize| {
            (self.floods.depth_mm(cell) > SHOWN_FROM_MM).then(|| self.floods.level_mm[cell])
        };
        let strip = |first: usize, last: usize, row: usize, height: f64| {
            let corner = |x: f64, y: f64| Point::new(x, y, (height - up.x * x - up.y * y) / up.z);
            let (left, right) = (grid.x_lines[first], grid.x_lines[last]);
            let (near, far) = (grid.y_lines[row], grid.y_lines[row + 1]);
            [corner(left, near), corner(right, near), corner(right, far), corner(left, far)]
        };
        let mut strips = Vec::new();
        if up.z < 0.1 {
            return strips;
        }
        let (columns, rows) = grid.size;
        for row in 0..rows {
            let mut column = 0;
            while column < columns {
                let Some(height) = level(column + row * columns) else {
                    column += 1;
                    continue;
                };
                let first = column;
                while column < columns
                    && level(column + row * columns)
                        .is_some_and(|other| (other - height).abs() < 0.05)
                {
                    column += 1;
                }
                strips.push(strip(first, column, row, height));
            }
        }
        for cell in grid.squares()..grid.cells() {
            // Where water presses against what is over it there is no surface.
            let Some(height) = level(cell) else { continue };
            let centre = grid.centre(cell);
            if height < up.dot(&Vector::new(centre.x, centre.y, grid.ceiling_mm(cell))) {
                let (column, row) = (grid.square(cell) % columns, grid.square(cell) / columns);
                strips.push(strip(column, column + 1, row, height));
            }
        }
        strips
    }
}

/// Everything about water that doesn't depend on the pump.
pub(crate) struct Water {
    pub(crate) grid: HeightGrid,
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
        let finer: Vec<Finer> = drains.chain(leaks).collect();
        let grid = HeightGrid::finer(&sheets, step_mm, &finer)?;
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
        let mut water = Water {
            grid,
            basins,
            states,
            outlets,
            cases,
            tracks: Vec::new(),
            fillings: Vec::new(),
        };
        water.tracks = drips::tracks(layout, bodies, &water);
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

/// How far the sheet under a drain may lie above the height that was measured for it, mm: sheet is
/// dished round a drain.
const DISHED_MM: f64 = 10.0;

/// The cells that a running drain opens: the one that it lies in, and all whose middle the hole covers,
/// where the sheet is not clearly above the hole. Water must rise to the hole's own height first, so a
/// drain in a wall or on a ledge doesn't empty what lies lower. Of several storeys it is the highest
/// that isn't clearly above the hole.
fn outlets(grid: &HeightGrid, drain: &Drain, of: usize) -> Vec<Outlet> {
    let radius_mm = drain.diameter_mm / 2.0;
    let covered = grid.squares_round(drain.at.x, drain.at.y, radius_mm);
    let round = covered.into_iter().filter(|square| {
        let centre = grid.centre(*square);
        (centre.x - drain.at.x).hypot(centre.y - drain.at.y) <= radius_mm
    });
    grid.cell(drain.at.x, drain.at.y)
        .into_iter()
        .chain(round)
        .filter_map(|square| {
            let cell = grid.storeys(square).find(|cell| {
                let floor = grid.floor_mm(*cell);
                floor.is_finite() && floor <= drain.at.z + DISHED_MM
            })?;
            // Sheet about as high as was measured: a hole in it. Lower: a hole in a wall beside it.
            let hole = grid.floor_mm(cell) >= drain.at.z - DISHED_MM;
            let rim_mm = if hole { NO_FLOOR_MM } else { drain.at.z };
            Some(Outlet { cell, rim_mm, of })
        })
        .collect()
}
