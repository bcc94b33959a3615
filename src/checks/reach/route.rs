//! From exit to port round whatever stands in the way.

use std::collections::BinaryHeap;

use super::along::{Nearest, holders};
use super::curve::{Curve, End, rounded, unobstructed};
use crate::checks::Boot;
use crate::geometry::{Bounds, Reached, Solid};
use crate::model::{Line, Point};

/// A line's way through the boot.
#[derive(Debug, Clone)]
pub(crate) struct Route {
    /// Leads, arcs and straights from exit to port.
    pub(crate) curve: Curve,
    /// What it comes nearest to, measured by the gap asked for there; its own pump left out.
    pub(crate) nearest: Option<Nearest>,
    /// Where it comes nearest to its own pump, if that is nearer than the gap to other things.
    pub(crate) on_pump: Option<Nearest>,
    /// Whether it keeps its gap to everything.
    pub(crate) clear: bool,
    /// Whether it also stays on one side of every trim surface.
    pub(super) hidden: bool,
    /// Whether a way round was looked for; not where even the free way is far too long.
    pub(crate) searched: bool,
}

/// One line's question: its ends, its skin, the gap that it keeps.
pub(super) struct Quest<'a> {
    pub(super) boot: &'a Boot,
    pub(super) pump: &'a [Solid],
    pub(super) pump_bounds: Bounds,
    pub(super) radius_mm: f64,
    pub(super) gap_mm: f64,
    bend_mm: f64,
    pub(super) lead_mm: f64,
    pub(super) exit: End,
    pub(super) port: End,
    /// Ways longer than this are of no use, mm.
    longest_mm: f64,
    /// What holds the line at its exit, and how near it is there.
    pub(super) holders: Vec<(usize, f64)>,
}

/// What a search keeps to.
struct Room {
    need_mm: f64,
    keep_to_trim: bool,
}

/// Ways that need more than this share of a line's free length are not looked for.
const USEFUL_SHARE: f64 = 1.25;

/// Cells that a search may open before it gives up.
const MOST_CELLS: usize = 120_000;

/// The shortest way found for `line` to the port at `port` (where the line arrives, pointing out of
/// the pump). None when its ends can't be joined at its bend radius at all.
///
/// A free arc–straight–arc way comes first; when that runs into something or through a trim surface,
/// a search on a 20 mm grid finds the corners to go round, and the bend radius rounds them. A way
/// that leaves trim alone is preferred, then any clear way; where there is none the free way is
/// given with what it runs into.
pub(crate) fn route(boot: &Boot, pump: &[Solid], line: &Line, port: &End) -> Option<Route> {
    let quest = Quest::new(boot, pump, line, port)?;
    let mut best =
        unobstructed(&quest.exit, &quest.port, quest.bend_mm).map(|curve| quest.checked(curve));
    if let Some(direct) = best.as_mut().filter(|best| best.curve.length_mm > quest.longest_mm) {
        direct.searched = false;
        return best;
    }
    for keep_to_trim in [true, false] {
        if best.as_ref().is_some_and(|best| best.clear && (best.hidden || !keep_to_trim)) {
            return best;
        }
        if let Some(found) = quest.search(keep_to_trim)
            && (found.clear || best.is_none())
        {
            best = Some(found);
        }
    }
    best
}

/// Points of a grid way that are tried as corners, at most.
const TRIED: usize = 18;

/// Sets of corners worth rounding: the taut ones, and every one or two points of the way itself.
fn corner_sets(taut: Vec<Point>, way: &[Point]) -> Vec<Vec<Point>> {
    let inner = &way[1..way.len().saturating_sub(1).max(1)];
    let some: Vec<Point> =
        inner.iter().step_by(inner.len().div_ceil(TRIED).max(1)).copied().collect();
    let mut sets = vec![taut];
    for (index, first) in some.iter().enumerate() {
        sets.push(vec![*first]);
        sets.extend(some[index + 1..].iter().map(|second| vec![*first, *second]));
    }
    sets
}

impl<'a> Quest<'a> {
    fn new(boot: &'a Boot, pump: &'a [Solid], line: &Line, port: &End) -> Option<Quest<'a>> {
        let lead_mm = line.lead_mm();
        let leave = line.from.towards.try_normalize(1e-9)?;
        let radius_mm = line.od_mm / 2.0;
        let gap_mm = boot.layout().limits.gap_line_mm;
        let holders = holders(boot, &line.from.at, radius_mm + gap_mm);
        Some(Quest {
            boot,
            pump,
            pump_bounds: pump.iter().map(|s| *s.bounds()).reduce(|a, b| a.with(&b))?,
            radius_mm,
            gap_mm,
            bend_mm: line.bend_centre_mm(),
            lead_mm,
            exit: End { at: line.from.at + leave * lead_mm, towards: leave },
            port: End { at: port.at + port.towards * lead_mm, towards: -port.towards },
            longest_mm: line.free_mm * USEFUL_SHARE,
            holders,
        })
    }

    /// The shortest clear way among the rounded corners of grid ways with more and more room.
    fn search(&self, keep_to_trim: bool) -> Option<Route> {
        let mut blocked = None;
        for extra_mm in [0.0, 8.0, 20.0] {
            let room = Room { need_mm: self.need_mm() + extra_mm, keep_to_trim };
            let Some(way) = self.grid_way(&room) else { break };
            let mut curves: Vec<Curve> = corner_sets(self.taut(&way, &room), &way)
                .iter()
                .filter_map(|vias| rounded(&self.exit, vias, &self.port, self.bend_mm))
                .collect();
            curves.sort_by(|a, b| a.length_mm.total_cmp(&b.length_mm));
            for curve in curves {
                let route = self.checked(curve);
                if route.clear && (route.hidden || !keep_to_trim) {
                    return Some(route);
                }
                blocked.get_or_insert(route);
            }
        }
        blocked
    }

    pub(super) fn need_mm(&self) -> f64 {
        self.radius_mm + self.gap_mm
    }

    /// Corners of a grid way pulled taut.
    fn taut(&self, way: &[Point], room: &Room) -> Vec<Point> {
        let mut corners = Vec::new();
        let mut index = 0;
        while index + 1 < way.len() {
            // Far jumps first, then shorter ones: enough to find long straights at little cost.
            let mut reach = way.len() - 1;
            while reach > index + 1 && !self.straight_clear(&way[index], &way[reach], room) {
                reach = index + ((reach - index) * 3 / 4).max(1);
            }
            index = reach;
            corners.push(way[index]);
        }
        corners.pop(); // the port's end is no corner
        corners
    }

    fn straight_clear(&self, from: &Point, to: &Point, room: &Room) -> bool {
        let length = (to - from).norm();
        let parts = (length / 8.0).ceil().max(1.0) as usize;
        // Half of the extra room may go: it is there for the rounding of the corners.
        let need_mm = f64::midpoint(room.need_mm, self.need_mm());
        (1..parts).all(|part| {
            let point = from + (to - from) * (part as f64 / parts as f64);
            self.near_an_end(&point) || self.free(&point, &Room { need_mm, ..*room })
        })
    }

    pub(super) fn near_an_end(&self, point: &Point) -> bool {
        let near_mm = self.lead_mm.max(self.boot.field.step_mm());
        (point - self.exit.at).norm() < near_mm || (point - self.port.at).norm() < near_mm
    }

    fn free(&self, point: &Point, room: &Room) -> bool {
        let trim_mm = self.radius_mm + 1.0;
        self.boot.field.nearest(point, room.need_mm, |_| false).is_none()
            && self.pump_room(point, room.need_mm)
            && (!room.keep_to_trim
                || self.boot.trim_field.nearest(point, trim_mm, |_| false).is_none())
    }

    fn pump_room(&self, point: &Point, need_mm: f64) -> bool {
        self.pump_bounds.distance_to_point_mm(point) > need_mm
            || self.pump.iter().all(|solid| {
                solid.bounds().distance_to_point_mm(point) > need_mm
                    || solid.distance_to_point_mm(point) > need_mm
            })
    }

    /// Middles of the cells of a shortest way, exit and port first and last (A*, 26 neighbours).
    fn grid_way(&self, room: &Room) -> Option<Vec<Point>> {
        let field = &self.boot.field;
        let (start, goal) = (field.cell_of(&self.exit.at)?, field.cell_of(&self.port.at)?);
        let goal_at = field.centre(goal);
        let mut cost = vec![f32::INFINITY; field.cells()];
        let mut came = vec![u32::MAX; field.cells()];
        let mut front = BinaryHeap::new();
        cost[start] = 0.0;
        front.push(Reached { key: (field.centre(start) - goal_at).norm(), cell: start });
        // A way between cells can't slip through a sheet that no cell's middle is near.
        let trim_mm = (self.radius_mm + 1.0).max(field.step_mm() * 0.87);
        let free = |cell: usize, at: &Point| {
            self.near_an_end(at)
                || (field.distance_mm(cell) > room.need_mm
                    && (!room.keep_to_trim || self.boot.trim_field.distance_mm(cell) > trim_mm)
                    && self.pump_room(at, room.need_mm))
        };
        let mut opened = 0;
        while let Some(Reached { key: estimate_mm, cell }) = front.pop() {
            let here = field.centre(cell);
            if cell == goal {
                return Some(self.way_back(&came, cell));
            }
            if estimate_mm > f64::from(cost[cell]) + (here - goal_at).norm() + 1e-3 {
                continue;
            }
            opened += 1;
            if opened > MOST_CELLS {
                return None;
            }
            for next in field.around(cell) {
                let there = field.centre(next);
                let tried = cost[cell] + (there - here).norm() as f32;
                let estimate_mm = f64::from(tried) + (there - goal_at).norm();
                if tried < cost[next] && estimate_mm <= self.longest_mm && free(next, &there) {
                    cost[next] = tried;
                    came[next] = cell as u32;
                    front.push(Reached { key: estimate_mm, cell: next });
                }
            }
        }
        None
    }

    fn way_back(&self, came: &[u32], goal: usize) -> Vec<Point> {
        let mut way = vec![self.port.at];
        let mut cell = goal;
        while came[cell] != u32::MAX {
            cell = came[cell] as usize;
            way.push(self.boot.field.centre(cell));
        }
        way.pop();
        way.push(self.exit.at);
        way.reverse();
        way
    }
}
