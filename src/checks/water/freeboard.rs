//! How high the lowest live part stands above the water that could lie there.

use super::LivePoint;
use super::standing::{DrainState, WaterCase};
use crate::checks::{Boot, Check, Reading};
use crate::geometry::HeightGrid;
use crate::units::root_sum_of_squares;

/// Room above the limit from which freeboard is comfortable, mm. Common practice, no source.
const COMFORTABLE_MM: f64 = 50.0;

/// How far from a live part water is looked for, in cells: water laps round a point.
const LAP_CELLS: i64 = 2;

/// How far away floor is looked for under an overhang, in cells.
const OVERHANG_CELLS: i64 = 40;

/// A state of the drains that is judged by itself.
struct Asked {
    subject: &'static str,
    limit_mm: f64,
    wanted: fn(DrainState) -> bool,
}

/// Freeboard with the drains as found, with the worst one of them blocked, with all blocked.
pub(super) fn check(boot: &Boot, live: &[LivePoint]) -> Vec<Check> {
    let freeboard_mm = boot.layout().limits.freeboard_mm;
    let asked = [
        Asked {
            subject: "drains as found",
            limit_mm: freeboard_mm,
            wanted: |drains| drains == DrainState::AsFound,
        },
        Asked {
            subject: "one drain blocked",
            limit_mm: freeboard_mm,
            wanted: |drains| matches!(drains, DrainState::OneBlocked(_)),
        },
        Asked {
            subject: "all drains blocked",
            limit_mm: 0.0,
            wanted: |drains| drains == DrainState::AllBlocked,
        },
    ];
    let many = boot.layout().drains.iter().filter(|drain| !drain.blocked).count() > 0;
    asked
        .iter()
        .filter(|asked| many || asked.subject != "one drain blocked")
        .map(|asked| judge(boot, live, asked))
        .collect()
}

fn judge(boot: &Boot, live: &[LivePoint], asked: &Asked) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "freeboard",
        subject: asked.subject.to_string(),
        unit: "mm",
        limit: asked.limit_mm,
        comfort: asked.limit_mm + COMFORTABLE_MM,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let Some(grid) = boot.floor() else {
        let why = "no floor, panel or wheel arch was measured for water to stand on";
        return reading.unknown(why.to_string(), None);
    };
    if live.is_empty() {
        let why = "the pump's file lists no live part: plug, motor seam, breather";
        return reading.unknown(why.to_string(), None);
    }
    let cells: Vec<Option<Vec<usize>>> =
        live.iter().map(|point| cells_under(grid, point)).collect();
    let mut worst: Option<(f64, &LivePoint, &WaterCase, f64)> = None;
    for case in boot.water().iter().filter(|case| (asked.wanted)(case.drains)) {
        for (point, cells) in live.iter().zip(&cells) {
            let Some(cells) = cells else { continue };
            let (level_mm, depth_mm) = highest(case, cells);
            let freeboard_mm = case.floods.up.dot(&point.at.coords) - level_mm;
            if worst.as_ref().is_none_or(|(least, ..)| freeboard_mm < *least) {
                worst = Some((freeboard_mm, point, case, depth_mm));
            }
        }
    }
    let off = live.iter().zip(&cells).find(|(_, cells)| cells.is_none()).map(|(point, _)| point);
    let below_limit = worst.as_ref().is_some_and(|(least, ..)| *least < asked.limit_mm);
    let (Some((freeboard_mm, point, case, depth_mm)), true) = (worst, off.is_none() || below_limit)
    else {
        let name = off.map_or("the pump", |point| point.part);
        let why =
            format!("{name} stands where no floor was measured below it: measure the floor there");
        return reading.unknown(why, off.or(live.first()).map(|point| point.at));
    };
    let words = case.words(&boot.layout().drains);
    let why = match (freeboard_mm < 0.0, depth_mm > 0.5) {
        (true, true) => {
            format!("{} would be {:.0} mm under water: {words}", point.part, -freeboard_mm)
        }
        (false, true) => format!(
            "{} stands {freeboard_mm:.0} mm above the water that could lie there: {words}",
            point.part
        ),
        _ => format!(
            "no water stands there; {} is {freeboard_mm:.0} mm above the floor: {words}",
            point.part
        ),
    };
    reading.judge(freeboard_mm, why, Some(point.at))
}

/// The highest level among some cells, and the depth there, mm.
fn highest(case: &WaterCase, cells: &[usize]) -> (f64, f64) {
    cells
        .iter()
        .map(|&cell| (case.floods.level_mm[cell], case.floods.depth_mm(cell)))
        // A dry cell's level is its floor: only water counts beyond the cell right below.
        .enumerate()
        .filter(|(index, (_, depth_mm))| *index == 0 || *depth_mm > 0.0)
        .map(|(_, found)| found)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((f64::NEG_INFINITY, 0.0))
}

/// The cell under a point and those round it. Under an overhang, where the grid shows the top of
/// what is above, every cell within 200 mm whose floor lies below the point: the highest water among
/// them counts, so this errs to the safe side. None off the floor.
fn cells_under(grid: &HeightGrid, point: &LivePoint) -> Option<Vec<usize>> {
    let below = |cell: &usize| {
        let height = grid.height_mm[*cell];
        height.is_finite() && height <= point.at.z
    };
    let here = grid.cell(point.at.x, point.at.y)?;
    if !grid.height_mm[here].is_finite() {
        return None;
    }
    let reach = if below(&here) { LAP_CELLS } else { OVERHANG_CELLS };
    // Where nothing lies lower anywhere near, the point itself is in the sheet.
    let mut cells = vec![here];
    cells.extend((1..=reach).flat_map(|reach| ring(grid, here, reach)).filter(below));
    if reach == OVERHANG_CELLS && cells.len() > 1 {
        cells.remove(0);
    }
    Some(cells)
}

/// The cells on the square ring `reach` cells out.
fn ring(grid: &HeightGrid, centre: usize, reach: i64) -> Vec<usize> {
    let (columns, rows) = (grid.size.0 as i64, grid.size.1 as i64);
    let (column, row) = (centre as i64 % columns, centre as i64 / columns);
    let mut cells = Vec::new();
    for across in -reach..=reach {
        for along in -reach..=reach {
            let (x, y) = (column + along, row + across);
            let on_ring = across.abs() == reach || along.abs() == reach;
            if on_ring && (0..columns).contains(&x) && (0..rows).contains(&y) {
                cells.push((x + y * columns) as usize);
            }
        }
    }
    cells
}
