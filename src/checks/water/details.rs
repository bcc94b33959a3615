//! What the water headline found out beyond its verdicts.

use serde::Serialize;

use super::cases::{DrainState, SLOPES};
use super::freeboard::{cells_under, highest, holds_back};
use super::{LivePoint, drain_flow_l_min, drain_head_mm, drains};
use crate::checks::{Boot, Note};
use crate::geometry::{First, HeightGrid, SpillInto, Wanted};
use crate::model::Point;

/// The water over one live part in the worst case of one state of the drains.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LiveDepth {
    /// The live part.
    pub part: String,
    /// The state of the drains, in words.
    pub drains: String,
    /// The slope on which it is worst, in words.
    pub slope: &'static str,
    /// How far its lowest point stands over the water or the dry floor, mm; negative under water.
    pub freeboard_mm: f64,
}

/// A pool with its figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NamedPool {
    /// The case, in words.
    pub case: String,
    /// How much stands in it.
    pub litres: f64,
    /// Greatest depth, mm.
    pub depth_mm: f64,
    /// Height of its surface over the deepest place, z in the vehicle frame, mm.
    pub level_z_mm: f64,
    /// The deepest place, mm.
    pub deepest: [f64; 3],
    /// Where it spills, mm.
    pub spills_at: [f64; 3],
    /// What into, in words.
    pub spills_into: String,
}

/// What a drain passes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassedBy {
    /// The drain.
    pub drain: String,
    /// The leak rate asked about, l/min.
    pub rate_l_min: f64,
    /// How deep water stands over it while that runs off, mm.
    pub head_mm: f64,
    /// What it passes under 25 mm of water, l/min.
    pub at_25_mm_l_min: f64,
}

/// How long a leak takes to reach a live part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilledBy {
    /// The leak.
    pub leak: String,
    /// Its rate, l/min.
    pub rate_l_min: f64,
    /// The state of the drains, in words.
    pub drains: String,
    /// The slope on which it is quickest, or on which the most stays, in words.
    pub slope: &'static str,
    /// The part reached first; none when the water runs off before it reaches any.
    pub part: Option<String>,
    /// Litres let in until then; until everything runs off when no part is reached.
    pub litres: f64,
    /// Minutes until then.
    pub minutes: f64,
}

/// An opening that was taken as shut, too narrow to be told from none, and holds water back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakenAsShut {
    /// How wide it is as measured, mm.
    pub width_mm: f64,
    /// Where, mm.
    pub at: [f64; 3],
    /// The first case in which it does, in words.
    pub case: String,
}

/// Details of the water headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct WaterDetails {
    /// Each live part in each state of the drains.
    pub live: Vec<LiveDepth>,
    /// The pools of the worst case of each state of the drains.
    pub pools: Vec<NamedPool>,
    /// Each drain that was not found blocked.
    pub passed: Vec<PassedBy>,
    /// Each leak in each state of the drains.
    pub filled: Vec<FilledBy>,
    /// Openings that were taken as shut and hold water back.
    pub shut: Vec<TakenAsShut>,
}

impl WaterDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        let note = |title: String, text: String| Note { title, text };
        let live = self.live.iter().map(|live| {
            let side = if live.freeboard_mm < 0.0 { "under water" } else { "clear" };
            let text = format!(
                "{:.0} mm {side}, {}, {}",
                live.freeboard_mm.abs(),
                live.drains,
                live.slope
            );
            note(live.part.clone(), text)
        });
        let pools = self.pools.iter().map(|pool| {
            let text = format!(
                "{:.1} l, {:.0} mm deep, surface at z = {:.0}, spills at ({:.0}, {:.0}, {:.0}) {}",
                pool.litres,
                pool.depth_mm,
                pool.level_z_mm,
                pool.spills_at[0],
                pool.spills_at[1],
                pool.spills_at[2],
                pool.spills_into
            );
            note(format!("pool: {}", pool.case), text)
        });
        let passed = self.passed.iter().map(|drain| {
            let text = format!(
                "passes {:.1} l/min with {:.1} mm of water over it, {:.1} l/min under 25 mm",
                drain.rate_l_min, drain.head_mm, drain.at_25_mm_l_min
            );
            note(drain.drain.clone(), text)
        });
        // A state of the drains that changes nothing is said once.
        let said = |index: usize| {
            let leak = &self.filled[index];
            self.filled[..index].iter().any(|before| {
                before.leak == leak.leak
                    && before.part == leak.part
                    && before.slope == leak.slope
                    && (before.litres - leak.litres).abs() < 1e-9
            })
        };
        let new = (0..self.filled.len()).filter(|index| !said(*index));
        let filled = new.map(|index| &self.filled[index]).map(|leak| {
            let text = match &leak.part {
                Some(part) => format!(
                    "{:.1} l/min reaches {part} after {}, {:.1} l: {}, {}",
                    leak.rate_l_min,
                    time(leak.minutes),
                    leak.litres,
                    leak.drains,
                    leak.slope
                ),
                None => format!(
                    "{:.1} l/min reaches no live part; all runs off after {:.1} l at the most: {}, {}",
                    leak.rate_l_min, leak.litres, leak.drains, leak.slope
                ),
            };
            note(leak.leak.clone(), text)
        });
        let shut = self.shut.iter().map(|opening| {
            let [x, y, z] = opening.at;
            let text = format!(
                "{:.1} mm wide at ({x:.0}, {y:.0}, {z:.0}), narrower than a tape tells; it holds water back \
                 {}: list it as a drain if it is one",
                opening.width_mm, opening.case
            );
            note("opening taken as shut".to_string(), text)
        });
        live.chain(pools).chain(passed).chain(filled).chain(shut).collect()
    }
}

fn time(minutes: f64) -> String {
    match minutes {
        minutes if minutes < 2.0 => format!("{:.0} s", minutes * 60.0),
        minutes if minutes < 120.0 => format!("{minutes:.0} min"),
        _ => format!("{:.1} h", minutes / 60.0),
    }
}

/// Looks everything up in the water that was worked out for the boot; nothing is flooded again.
pub(super) fn of(boot: &Boot, live: &[LivePoint]) -> WaterDetails {
    let Some(grid) = boot.floor() else { return WaterDetails::default() };
    let names = &boot.layout().drains;
    let cells: Vec<Option<Vec<usize>>> =
        live.iter().map(|point| cells_under(boot, grid, &point.at)).collect();
    let mut details = WaterDetails::default();
    for state in states(boot) {
        let mut by_part: Vec<LiveDepth> = Vec::new();
        for case in boot.water().iter().filter(|case| case.drains == state) {
            for (point, cells) in live.iter().zip(&cells) {
                let Some(cells) = cells else { continue };
                let freeboard_mm = case.floods.up.dot(&point.at.coords) - highest(case, cells).0;
                let found = LiveDepth {
                    part: point.part.to_string(),
                    drains: state.words(names),
                    slope: case.slope.words,
                    freeboard_mm,
                };
                match by_part.iter_mut().find(|known| known.part == point.part) {
                    Some(known) if known.freeboard_mm <= freeboard_mm => {}
                    Some(known) => *known = found,
                    None => by_part.push(found),
                }
            }
        }
        details.live.extend(by_part);
    }
    details.pools = pools(boot);
    details.passed = passed(boot);
    details.filled = filled(boot, live, &cells);
    details.shut = shut(boot, grid);
    details
}

/// Squares of openings nearer together than this are told as one opening, mm.
const ONE_OPENING_MM: f64 = 30.0;

/// The openings taken as shut that hold water back, each with the first case in which it does.
fn shut(boot: &Boot, grid: &HeightGrid) -> Vec<TakenAsShut> {
    let mut told: Vec<TakenAsShut> = Vec::new();
    for opening in grid.shut_openings() {
        let at = opening.at;
        let near = |known: &TakenAsShut| (Point::from(known.at) - at).norm() < ONE_OPENING_MM;
        if told.iter().any(near) {
            continue;
        }
        let mut cases = boot.water().iter();
        if let Some(case) = cases.find(|case| holds_back(grid, case, opening).is_some()) {
            let case = case.words(&boot.layout().drains);
            told.push(TakenAsShut { width_mm: opening.width_mm, at: at.into(), case });
        }
    }
    told
}

fn states(boot: &Boot) -> Vec<DrainState> {
    boot.water().iter().step_by(SLOPES.len()).map(|case| case.drains).collect()
}

/// Most pools that are listed for one state of the drains.
const LISTED: usize = 4;

/// The largest pools of each state of the drains, on the slope on which most water stands.
fn pools(boot: &Boot) -> Vec<NamedPool> {
    let names = &boot.layout().drains;
    let mut listed = Vec::new();
    for state in states(boot) {
        let litres = |case: &&super::WaterCase| case.pools.iter().map(|p| p.litres).sum::<f64>();
        let fullest = boot
            .water()
            .iter()
            .filter(|case| case.drains == state)
            .max_by(|a, b| litres(a).total_cmp(&litres(b)));
        let Some(case) = fullest else { continue };
        for pool in case.pools.iter().take(LISTED) {
            let into = match pool.into {
                SpillInto::Edge => "off the floor".to_string(),
                SpillInto::Outlet(drain) => {
                    let name = names.get(drain).map_or("a drain", |drain| drain.name.as_str());
                    format!("into {name}")
                }
                SpillInto::Pool(next) => case.pools.get(next).map_or_else(
                    || "into another pool".to_string(),
                    |next| {
                        let at = next.deepest;
                        format!("into the pool at ({:.0}, {:.0}, {:.0})", at.x, at.y, at.z)
                    },
                ),
            };
            let up = case.floods.up;
            let level_z_mm = (pool.level_mm - up.x * pool.deepest.x - up.y * pool.deepest.y) / up.z;
            listed.push(NamedPool {
                case: case.words(names),
                litres: pool.litres,
                depth_mm: pool.deepest_mm,
                level_z_mm,
                deepest: pool.deepest.into(),
                spills_at: pool.spill.into(),
                spills_into: into,
            });
        }
    }
    listed
}

/// The rate of a leak, l/min.
fn rate_l_min(boot: &Boot, leak: usize) -> f64 {
    boot.layout().leaks[leak].rate_l_min.unwrap_or(boot.layout().limits.leak_l_min)
}

/// What each drain that runs passes; asked with the largest leak.
fn passed(boot: &Boot) -> Vec<PassedBy> {
    let layout = boot.layout();
    let leaks = (0..layout.leaks.len()).map(|leak| rate_l_min(boot, leak));
    let rate_l_min = leaks.reduce(f64::max).unwrap_or(layout.limits.leak_l_min);
    let runs = layout.drains.iter().filter(|drain| {
        let off_mm = drains::off_sheet_mm(boot, drain);
        !drain.blocked && off_mm.is_some_and(|off| !drains::in_mid_air(off, drain.diameter_mm))
    });
    runs.map(|drain| PassedBy {
        drain: drain.name.clone(),
        rate_l_min,
        head_mm: drain_head_mm(drain.diameter_mm, rate_l_min),
        at_25_mm_l_min: drain_flow_l_min(drain.diameter_mm, 25.0),
    })
    .collect()
}

/// For each state of the drains and each leak, how soon it reaches the first live part, over every
/// slope; when it reaches none, how much stays in the boot at the most.
fn filled(boot: &Boot, live: &[LivePoint], cells: &[Option<Vec<usize>>]) -> Vec<FilledBy> {
    let Some(water) = boot.waters() else { return Vec::new() };
    let layout = boot.layout();
    // The lowest live part in each basin of each slope, whatever the leak and the drains.
    let lowest: Vec<First> = water
        .basins()
        .iter()
        .map(|basins| {
            let mut first = First::default();
            for (which, (point, cells)) in live.iter().zip(cells).enumerate() {
                let height_mm = basins.up().dot(&point.at.coords);
                for &cell in cells.iter().flatten() {
                    if let Some((basin, wanted)) = Wanted::at(basins, cell, height_mm) {
                        first.ask(basin, wanted, which);
                    }
                }
            }
            first
        })
        .collect();
    let mut found = Vec::new();
    for state in states(boot) {
        for (leak, source) in layout.leaks.iter().enumerate() {
            let rate_l_min = rate_l_min(boot, leak);
            let mut first: Option<(f64, Option<&str>, &'static str)> = None;
            for (index, case) in boot.water().iter().enumerate() {
                if case.drains != state {
                    continue;
                }
                let slope = index % SLOPES.len();
                let reached = water.filling(index, leak).and_then(|filling| {
                    filling.first_reached(&water.basins()[slope], &water.grid, &lowest[slope])
                });
                let reached = reached.map(|(litres, which)| (litres, live[which].part));
                let stays = || water.filling(index, leak).map_or(0.0, |filling| filling.full_l);
                let candidate = match reached {
                    Some((litres, part)) => (litres, Some(part), case.slope.words),
                    None => (stays(), None, case.slope.words),
                };
                let sooner = match (&first, &candidate) {
                    (None, _) => true,
                    (Some((_, None, _)), (_, Some(_), _)) => true,
                    (Some((_, Some(_), _)), (_, None, _)) => false,
                    (Some((least, Some(_), _)), (litres, ..)) => litres < least,
                    (Some((most, None, _)), (litres, ..)) => litres > most,
                };
                if sooner {
                    first = Some(candidate);
                }
            }
            if let Some((litres, part, slope)) = first {
                found.push(FilledBy {
                    leak: source.name.clone(),
                    rate_l_min,
                    drains: state.words(&layout.drains),
                    slope,
                    part: part.map(str::to_string),
                    litres,
                    minutes: litres / rate_l_min,
                });
            }
        }
    }
    found
}
