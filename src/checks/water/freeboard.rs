//! How high the lowest live part stands above the water that could lie there.

use super::LivePoint;
use super::cases::{DrainState, WaterCase};
use crate::checks::{Boot, Check, DrawnWater, Reading};
use crate::geometry::{HeightGrid, ShutOpening, Solid};
use crate::model::Point;
use crate::units::root_sum_of_squares;

/// Room above the limit from which freeboard is comfortable, mm. Common practice, no source.
const COMFORTABLE_MM: f64 = 50.0;

/// How far beside a live part water is looked for, in steps of the grid: water laps round a point.
const LAP_STEPS: f64 = 2.2;

/// A state of the drains that is judged by itself.
struct Asked {
    subject: &'static str,
    limit_mm: f64,
    wanted: fn(DrainState) -> bool,
}

/// The least freeboard of a state of the drains.
struct Worst<'a> {
    freeboard_mm: f64,
    point: &'a LivePoint<'a>,
    case: usize,
    depth_mm: f64,
}

/// Freeboard with the drains as found, with the worst one of them blocked, with all blocked; and which
/// of all cases is worst by its margin.
pub(super) fn check(boot: &Boot, live: &[LivePoint]) -> (Vec<Check>, Option<DrawnWater>) {
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
    let mut checks = Vec::with_capacity(asked.len());
    let mut drawn: Option<(f64, DrawnWater)> = None;
    for asked in asked.iter().filter(|asked| many || asked.subject != "one drain blocked") {
        let (check, worst) = judge(boot, live, asked);
        checks.push(check);
        let Some(worst) = worst else { continue };
        let margin_mm = worst.freeboard_mm - asked.limit_mm;
        if drawn.as_ref().is_none_or(|(least, _)| margin_mm < *least) {
            drawn = Some((margin_mm, worst));
        }
    }
    (checks, drawn.map(|(_, drawn)| drawn))
}

fn judge(boot: &Boot, live: &[LivePoint], asked: &Asked) -> (Check, Option<DrawnWater>) {
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
        return (reading.unknown(why.to_string(), None), None);
    };
    if live.is_empty() {
        let why = "the pump's file lists no live part: plug, motor seam, breather";
        return (reading.unknown(why.to_string(), None), None);
    }
    let cells: Vec<Option<Vec<usize>>> =
        live.iter().map(|point| cells_under(boot, grid, &point.at)).collect();
    let mut worst: Option<Worst> = None;
    let wanted = |(_, case): &(usize, &WaterCase)| (asked.wanted)(case.drains);
    for (index, case) in boot.water().iter().enumerate().filter(wanted) {
        for (point, cells) in live.iter().zip(&cells) {
            let Some(cells) = cells else { continue };
            let (level_mm, depth_mm) = highest(case, cells);
            let freeboard_mm = case.floods.up.dot(&point.at.coords) - level_mm;
            if worst.as_ref().is_none_or(|worst| freeboard_mm < worst.freeboard_mm) {
                worst = Some(Worst { freeboard_mm, point, case: index, depth_mm });
            }
        }
    }
    let off = live.iter().zip(&cells).find(|(_, cells)| cells.is_none()).map(|(point, _)| point);
    let below_limit = worst.as_ref().is_some_and(|worst| worst.freeboard_mm < asked.limit_mm);
    let (Some(worst), true) = (worst, off.is_none() || below_limit) else {
        let name = off.map_or("the pump", |point| point.part);
        let why =
            format!("{name} stands where no floor was measured below it: measure the floor there");
        return (reading.unknown(why, off.or(live.first()).map(|point| point.at)), None);
    };
    let Worst { freeboard_mm, point, case: index, depth_mm } = worst;
    let case = &boot.water()[index];
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
    let level_mm = case.floods.up.dot(&point.at.coords) - freeboard_mm;
    let held = if depth_mm > 0.5 { held_back(grid, case, level_mm) } else { None };
    let why = match held {
        Some(opening) => format!("{why}; {}", shut_words(opening)),
        None => why,
    };
    let drawn = DrawnWater {
        case: index,
        part: point.part.to_string(),
        at: point.at,
        surface: point.at - case.floods.up * freeboard_mm,
        freeboard_mm,
        wet: depth_mm > 0.5,
    };
    (reading.judge(freeboard_mm, why, Some(point.at)), Some(drawn))
}

/// Why water stands that would run out by an opening as it was measured.
fn shut_words(opening: &ShutOpening) -> String {
    format!(
        "an opening of {:.1} mm at ({:.0}, {:.0}) that would let it out counts as shut, no tape can tell: \
         list it as a drain if it is one",
        opening.width_mm, opening.at.x, opening.at.y
    )
}

/// The widest opening taken as shut that keeps water at this level from running out in a case.
fn held_back<'a>(grid: &'a HeightGrid, case: &WaterCase, level_mm: f64) -> Option<&'a ShutOpening> {
    let holds = |opening: &&ShutOpening| {
        holds_back(grid, case, opening).is_some_and(|held_mm| (held_mm - level_mm).abs() < 1e-6)
    };
    let openings = grid.shut_openings().iter().filter(holds);
    openings.max_by(|a, b| a.width_mm.total_cmp(&b.width_mm))
}

/// The level of the water that an opening taken as shut keeps from running out, along up, mm; none where it
/// is dry on both sides or under water itself.
pub(super) fn holds_back(
    grid: &HeightGrid,
    case: &WaterCase,
    opening: &ShutOpening,
) -> Option<f64> {
    let floods = &case.floods;
    if floods.depth_mm(opening.cell) > 0.0 {
        return None;
    }
    let own_mm = floods.up.dot(&opening.at.coords);
    grid.beside(opening.cell)
        .filter(|cell| floods.depth_mm(*cell) > 0.5 && floods.level_mm[*cell] > own_mm + 0.5)
        .map(|cell| floods.level_mm[cell])
        .max_by(f64::total_cmp)
}

/// The highest level among some cells, and the depth there, mm.
pub(super) fn highest(case: &WaterCase, cells: &[usize]) -> (f64, f64) {
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

/// The cell in whose air a point stands, and those round it whose air it could be in. None off the floor,
/// and where all that was measured over its square hangs above it: a shelf over a part isn't what it stands over.
///
/// Cells within 2.2 steps along x and y count, as long as nothing that holds water stands between the
/// point and their middle at the point's height: water behind a wall, however thin, isn't that of the
/// point's side. Where the square under a point is taken up by a wall, the nearest cell on the point's own
/// side is the one. A point inside the sheet, or walled in all round within that reach: the lowest floor of
/// its square.
pub(super) fn cells_under(boot: &Boot, grid: &HeightGrid, point: &Point) -> Option<Vec<usize>> {
    let square = grid.cell(point.x, point.y)?;
    if grid.is_under_all(point) {
        return None;
    }
    let reach_mm = LAP_STEPS * grid.step_mm;
    let walls: Vec<&Solid> = boot
        .bodies()
        .filter(|(body, solid)| {
            let bounds = solid.bounds();
            let beside = |axis: usize| {
                bounds.low[axis] <= point[axis] + reach_mm
                    && bounds.high[axis] >= point[axis] - reach_mm
            };
            let level = bounds.low.z <= point.z && bounds.high.z >= point.z;
            level && beside(0) && beside(1) && body.role.holds_water()
        })
        .map(|(_, solid)| solid)
        .collect();
    let apart_mm = |cell: usize| {
        let middle = grid.centre(cell);
        (middle.x - point.x).hypot(middle.y - point.y)
    };
    let mut near: Vec<usize> = Vec::new();
    for beside in grid.squares_round(point.x, point.y, reach_mm) {
        let cell = grid.storeys(beside).find(|cell| {
            let floor = grid.floor_mm(*cell);
            floor.is_finite() && floor <= point.z && point.z < grid.ceiling_mm(*cell)
        });
        let Some(cell) = cell else { continue };
        let middle = grid.centre(cell);
        let there = Point::new(middle.x, middle.y, point.z);
        if !walls.iter().any(|wall| wall.blocks(point, &there)) {
            near.push(cell);
        }
    }
    // Steps in the sheet under a point, as under a shelf, are no walls beside it.
    let own = grid
        .cell_under(point)
        .or_else(|| near.iter().copied().min_by(|a, b| apart_mm(*a).total_cmp(&apart_mm(*b))));
    let here = own.or_else(|| grid.storeys(square).last())?;
    near.retain(|cell| *cell != here);
    near.insert(0, here);
    Some(near)
}
