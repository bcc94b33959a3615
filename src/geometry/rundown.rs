//! The way of a drop down the floor.

use super::height_grid::STEEPEST;
use super::{Floods, HeightGrid};
use crate::model::{Point, Vector};

/// How a drop's way over the floor ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunEnd {
    /// In standing water.
    Water,
    /// At an outlet; its place in the list that was asked with.
    Outlet(usize),
    /// Off the grid: over its edge, or where the floor ends.
    Edge,
    /// In a dry hollow, or on level floor: it spreads there.
    Rest,
    /// At an edge that it falls over, when that was asked for.
    Brink,
}

/// An edge of the floor that a drop falls over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Brink {
    /// On the border between the two squares, at the height of the upper one's floor.
    pub(crate) border: Point,
    /// Out over the edge, level, unit length.
    pub(crate) out: Vector,
    /// Height of the floor beyond; [`super::NO_FLOOR_MM`] where there is none.
    pub(crate) lower_mm: f64,
}

/// The way of a drop that lies at `from` on the floor of `cell`, down the steepest slope of a flooded
/// grid, and how it ends. Points are on the floor, vehicle frame.
///
/// Method: over a slope the drop leaves each square where the straight along the floor's own gradient
/// (central differences over its squares) does, so its direction is the slope's, not the grid's; at a
/// step, an edge or a seam it goes to the lowest square beside, over the edge between the two and down
/// it. It only ever enters lower squares, so it ends; at most three points a square.
pub fn run_down(
    grid: &HeightGrid,
    floods: &Floods,
    outlets: &[super::Outlet],
    from: &Point,
    cell: usize,
) -> (Vec<Point>, RunEnd) {
    let (points, end, _) = run(grid, floods, outlets, (from, cell), false);
    (points, end)
}

/// The same, as far as the first edge: where a floor lies lower beside by more than a slope could, or
/// where the floor ends. A fall through air follows there.
pub(crate) fn run_to_brink(
    grid: &HeightGrid,
    floods: &Floods,
    outlets: &[super::Outlet],
    from: &Point,
    cell: usize,
) -> (Vec<Point>, RunEnd, Option<Brink>) {
    run(grid, floods, outlets, (from, cell), true)
}

fn run(
    grid: &HeightGrid,
    floods: &Floods,
    outlets: &[super::Outlet],
    (from, cell): (&Point, usize),
    to_brink: bool,
) -> (Vec<Point>, RunEnd, Option<Brink>) {
    let mut points = Vec::new();
    let mut at = *from;
    let mut cell = cell;
    loop {
        if floods.depth_mm(cell) > 0.1 {
            return (points, RunEnd::Water, None);
        }
        if let Some(outlet) = outlets
            .iter()
            .position(|outlet| outlet.cell == cell && outlet.rim_mm <= grid.floor_mm(cell))
        {
            return (points, RunEnd::Outlet(outlet), None);
        }
        let next = match along_slope(grid, floods, &at, cell) {
            Slope::To(point, next) => Some((point, next)),
            Slope::Off(side) => return off(grid, points, &at, (cell, side), to_brink),
            Slope::None if grid.open(cell) => {
                let falls = |beside: Option<usize>| beside.is_none_or(|square| grid.falls(square));
                let side = sides(grid, cell).into_iter().position(falls).unwrap_or(0);
                return off(grid, points, &at, (cell, side), to_brink);
            }
            Slope::None => lowest(grid, floods, cell),
        };
        let Some((point, next)) = next else { return (points, RunEnd::Rest, None) };
        if is_step(grid, cell, next) {
            let lower_mm = grid.floor_mm(next);
            let beyond = Some(grid.square(next));
            let side = sides(grid, cell).into_iter().position(|square| square == beyond);
            let brink = brink(grid, &at, (cell, side.unwrap_or(0)), lower_mm);
            if to_brink {
                return (points, RunEnd::Brink, Some(brink));
            }
            points.push(brink.border);
            points.push(Point::new(brink.border.x, brink.border.y, lower_mm));
        }
        points.push(point);
        at = point;
        cell = next;
    }
}

/// The end of a way where the floor ends on a side of a cell.
fn off(
    grid: &HeightGrid,
    points: Vec<Point>,
    at: &Point,
    (cell, side): (usize, usize),
    to_brink: bool,
) -> (Vec<Point>, RunEnd, Option<Brink>) {
    if to_brink {
        (points, RunEnd::Brink, Some(brink(grid, at, (cell, side), super::NO_FLOOR_MM)))
    } else {
        (points, RunEnd::Edge, None)
    }
}

/// Where the slope under a drop leads.
enum Slope {
    /// To a point on the border of another cell.
    To(Point, usize),
    /// Off the floor on this one of the four sides.
    Off(usize),
    /// Nowhere: level floor, a step, or no way down.
    None,
}

/// The lowest cell beside that lies lower.
fn lowest(grid: &HeightGrid, floods: &Floods, cell: usize) -> Option<(Point, usize)> {
    let next = grid
        .beside(cell)
        .filter(|next| floods.floor_mm[*next] < floods.floor_mm[cell] - 1e-9)
        .min_by(|a, b| floods.floor_mm[*a].total_cmp(&floods.floor_mm[*b]))?;
    Some((grid.centre(next), next))
}

/// A floor that lies this much lower beside is reached over the edge between, mm.
const STEP_MM: f64 = 1.0;

/// Whether a cell beside lies so much lower that a drop falls there.
fn is_step(grid: &HeightGrid, cell: usize, next: usize) -> bool {
    let (along, across) = grid.sides_mm(cell);
    grid.floor_mm(cell) - grid.floor_mm(next) > STEP_MM.max(STEEPEST * along.max(across))
}

/// The squares on the four sides of a cell: low x, high x, low y, high y; none outside the grid.
fn sides(grid: &HeightGrid, cell: usize) -> [Option<usize>; 4] {
    let (columns, rows) = grid.size;
    let square = grid.square(cell);
    let (column, row) = (square % columns, square / columns);
    [
        square.checked_sub(1).filter(|_| column > 0),
        (column + 1 < columns).then_some(square + 1),
        square.checked_sub(columns),
        (row + 1 < rows).then_some(square + columns),
    ]
}

/// The edge on one of the four sides of a cell for a drop at `at` in it.
fn brink(grid: &HeightGrid, at: &Point, (cell, side): (usize, usize), lower_mm: f64) -> Brink {
    let (square, columns) = (grid.square(cell), grid.size.0);
    let (column, row) = (square % columns, square / columns);
    let mut border = Point::new(at.x, at.y, grid.floor_mm(cell));
    match side {
        0 => border.x = grid.x_lines[column],
        1 => border.x = grid.x_lines[column + 1],
        2 => border.y = grid.y_lines[row],
        _ => border.y = grid.y_lines[row + 1],
    }
    let out = [-Vector::x(), Vector::x(), -Vector::y(), Vector::y()];
    Brink { border, out: out[side.min(3)], lower_mm }
}

/// Where the straight down the slope under `at` leaves its square, and the cell that it enters.
fn along_slope(grid: &HeightGrid, floods: &Floods, at: &Point, cell: usize) -> Slope {
    let (columns, _) = grid.size;
    let square = grid.square(cell);
    let (column, row) = (square % columns, square / columns);
    let fall = [
        slope(
            grid,
            floods,
            cell,
            square.checked_sub(1).filter(|_| column > 0),
            (column + 1 < columns).then_some(square + 1),
            0,
        ),
        slope(
            grid,
            floods,
            cell,
            square.checked_sub(columns),
            (row + 1 < grid.size.1).then_some(square + columns),
            1,
        ),
    ];
    let (x, y) = (-fall[0], -fall[1]);
    if x.hypot(y) < 1e-6 {
        return Slope::None;
    }
    // How far until the square's border along each axis.
    let reach = |at: f64, way: f64, low: f64, high: f64| {
        if way > 1e-12 {
            (high - at) / way
        } else if way < -1e-12 {
            (low - at) / way
        } else {
            f64::INFINITY
        }
    };
    let to_x = reach(at.x, x, grid.x_lines[column], grid.x_lines[column + 1]).max(0.0);
    let to_y = reach(at.y, y, grid.y_lines[row], grid.y_lines[row + 1]).max(0.0);
    let far = to_x.min(to_y);
    let side = if to_x <= to_y { usize::from(x > 0.0) } else { 2 + usize::from(y > 0.0) };
    let beyond = sides(grid, cell)[side].filter(|beyond| !grid.falls(*beyond));
    let Some(beyond) = beyond else { return Slope::Off(side) };
    let off = |next: usize| (floods.floor_mm[next] - floods.floor_mm[cell]).abs();
    let next = grid
        .beside(cell)
        .filter(|next| grid.square(*next) == beyond)
        .min_by(|a, b| off(*a).total_cmp(&off(*b)));
    let Some(next) = next else { return Slope::None };
    let lower = floods.floor_mm[cell] - floods.floor_mm[next];
    let (along, across) = grid.sides_mm(next);
    if lower <= 1e-9 || lower > STEEPEST * along.max(across) {
        return Slope::None;
    }
    let (px, py) = (at.x + x * far, at.y + y * far);
    // A hair inside the next square, so that it is the one to go on from.
    let inside = |at: f64, lines: &[f64], index: usize| at.clamp(lines[index], lines[index + 1]);
    let (to_column, to_row) = (beyond % columns, beyond / columns);
    let point = Point::new(
        inside(px, &grid.x_lines, to_column),
        inside(py, &grid.y_lines, to_row),
        f64::midpoint(grid.floor_mm(cell), grid.floor_mm(next)),
    );
    Slope::To(point, next)
}

/// Rise of the floor along one axis, mm per mm of plan: between the squares before and behind where
/// both go on without a step, else to the one that does.
fn slope(
    grid: &HeightGrid,
    floods: &Floods,
    cell: usize,
    before: Option<usize>,
    behind: Option<usize>,
    axis: usize,
) -> f64 {
    let here = (grid.centre(cell)[axis], floods.floor_mm[cell]);
    let even = |square: Option<usize>| {
        let next = grid.beside(cell).find(|next| Some(grid.square(*next)) == square)?;
        let there = (grid.centre(next)[axis], floods.floor_mm[next]);
        let steep = ((there.1 - here.1) / (there.0 - here.0)).abs() > STEEPEST;
        (!steep).then_some(there)
    };
    match (even(before), even(behind)) {
        (Some(a), Some(b)) => (b.1 - a.1) / (b.0 - a.0),
        (Some(a), None) => (here.1 - a.1) / (here.0 - a.0),
        (None, Some(b)) => (b.1 - here.1) / (b.0 - here.0),
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn on_a_plane_the_way_is_the_planes_own() {
        // Nose up 20 %, left side higher by 10 %: a drop runs two to the rear for one to the right.
        let grid = HeightGrid::from_heights(5.0, (100, 100), vec![0.0; 10_000]);
        let up = Vector::new(0.2, 0.1, 1.0).normalize();
        let floods = grid.flood(&up, &[]);
        let from = Point::new(450.0, 450.0, 0.0);
        let cell = grid.cell(from.x, from.y).expect("on the floor");
        let (points, end) = run_down(&grid, &floods, &[], &from, cell);
        assert_eq!(end, RunEnd::Edge);
        let last = points.last().expect("it runs");
        let (dx, dy) = (from.x - last.x, from.y - last.y);
        assert!(dx > 430.0 && (dx / dy - 2.0).abs() < 0.02, "{dx} {dy}");
    }

    #[test]
    fn on_level_floor_it_rests_and_at_a_drain_it_ends() {
        let grid = HeightGrid::from_heights(5.0, (9, 9), vec![0.0; 81]);
        let floods = grid.flood(&Vector::z(), &[]);
        let middle = grid.centre(40);
        assert_eq!(run_down(&grid, &floods, &[], &middle, 40), (Vec::new(), RunEnd::Rest));
        let outlet = super::super::Outlet { cell: 40, rim_mm: super::super::NO_FLOOR_MM, of: 0 };
        let (points, end) = run_down(&grid, &floods, &[outlet], &middle, 40);
        assert!(points.is_empty() && end == RunEnd::Outlet(0));
    }
}
