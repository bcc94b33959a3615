//! Standing water for every parked slope and drain state.

use crate::geometry::{Floods, HeightGrid, NO_FLOOR_MM, Outlet};
use crate::model::{Drain, Vector};

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

/// Water filled to the brim for one slope and drain state.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterCase {
    /// The slope.
    pub slope: Slope,
    /// The drains.
    pub drains: DrainState,
    /// Levels cell by cell.
    pub floods: Floods,
}

impl WaterCase {
    /// The case in words, naming a blocked drain.
    pub fn words(&self, drains: &[Drain]) -> String {
        match self.drains {
            DrainState::AsFound => format!("drains as found, {}", self.slope.words),
            DrainState::OneBlocked(drain) => {
                let name = drains.get(drain).map_or("drain", |drain| drain.name.as_str());
                format!("{name} blocked, {}", self.slope.words)
            }
            DrainState::AllBlocked => format!("all drains blocked, {}", self.slope.words),
        }
    }
}

/// Every slope with drains as found, then each running drain blocked, then all blocked.
pub(crate) fn every_case(grid: &HeightGrid, drains: &[Drain]) -> Vec<WaterCase> {
    let mut states = vec![DrainState::AsFound];
    let running = || drains.iter().enumerate().filter(|(_, drain)| !drain.blocked);
    states.extend(running().map(|(index, _)| DrainState::OneBlocked(index)));
    states.push(DrainState::AllBlocked);
    let asked: Vec<(Slope, DrainState)> =
        states.iter().flat_map(|&state| SLOPES.map(|slope| (slope, state))).collect();
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let share = asked.len().div_ceil(threads).max(1);
    // Each case is worked out on its own, so the threads' order reaches no figure.
    std::thread::scope(|scope| {
        let workers: Vec<_> = asked
            .chunks(share)
            .map(|part| {
                scope.spawn(move || {
                    part.iter()
                        .map(|&(slope, state)| WaterCase {
                            slope,
                            drains: state,
                            floods: grid.flood_over(&slope.up(), &outlets(grid, drains, state)),
                        })
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        workers.into_iter().flat_map(|worker| worker.join().unwrap_or_default()).collect()
    })
}

/// How far the sheet under a drain may lie above the height that was measured for it, mm: sheet is
/// dished round a drain.
const DISHED_MM: f64 = 10.0;

/// The cells that running drains open: the one each lies in, and all whose middle the hole covers,
/// where the sheet is not clearly above the hole. Water must rise to the hole's own height first, so a
/// drain in a wall or on a ledge doesn't empty what lies lower.
fn outlets(grid: &HeightGrid, drains: &[Drain], state: DrainState) -> Vec<Outlet> {
    let runs = |(index, drain): &(usize, &Drain)| match state {
        DrainState::AsFound => !drain.blocked,
        DrainState::OneBlocked(blocked) => !drain.blocked && *index != blocked,
        DrainState::AllBlocked => false,
    };
    let mut found = Vec::new();
    for (_, drain) in drains.iter().enumerate().filter(runs) {
        let radius_mm = drain.diameter_mm / 2.0;
        let reach = (radius_mm / grid.step_mm).ceil() as i64;
        let own = grid.cell(drain.at.x, drain.at.y);
        let covered = (-reach..=reach).flat_map(|row| {
            (-reach..=reach).filter_map(move |column| {
                let x = drain.at.x + column as f64 * grid.step_mm;
                let y = drain.at.y + row as f64 * grid.step_mm;
                let cell = grid.cell(x, y)?;
                let centre = grid.centre(cell);
                let off_mm = (centre.x - drain.at.x).hypot(centre.y - drain.at.y);
                (off_mm <= radius_mm).then_some(cell)
            })
        });
        for cell in own.into_iter().chain(covered) {
            let floor = grid.height_mm[cell];
            if !floor.is_finite() || floor > drain.at.z + DISHED_MM {
                continue;
            }
            // Sheet about as high as was measured: a hole in it. Lower: a hole in a wall beside it.
            let hole = floor >= drain.at.z - DISHED_MM;
            let rim_mm = if hole { NO_FLOOR_MM } else { drain.at.z };
            found.push(Outlet { cell, rim_mm });
        }
    }
    found
}
