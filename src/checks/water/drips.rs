//! Where drips from a leak fall and run, and how near that comes to a live part.

use super::LivePoint;
use super::standing::{SLOPES, Water};
use crate::checks::boot::BootBody;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::{RayHit, RunEnd, run_down};
use crate::model::{Layout, Point, Vector};
use crate::units::root_sum_of_squares;

/// Room beyond the limit from which it is comfortable, mm. Common practice, no source.
const COMFORTABLE_MM: f64 = 50.0;

/// How far a drip is followed when it falls past everything, mm.
const FALL_MM: f64 = 2_000.0;

/// A drip's way over something that holds no water is followed in steps of this, mm.
const STEP_MM: f64 = 4.0;

/// Most steps over one thing, and most things fallen from.
const MOST_STEPS: usize = 400;
const MOST_FALLS: usize = 12;

/// A face rises less than this where a drip stays and spreads, mm per mm.
const LEVEL: f64 = 0.002;

/// How a drip's way ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrackEnd {
    /// In standing water, with the drains as found.
    Water,
    /// At a drain; its place in the layout's list.
    Drain(usize),
    /// Off the floor, or past everything that was measured.
    Off,
    /// In a dry hollow or on level sheet, where it spreads.
    Rest,
    /// On top of a body that holds no water, where it spreads; its place in the layout's list.
    On(usize),
}

/// The way of the drips of one leak on one slope.
#[derive(Debug, Clone, PartialEq)]
pub struct DripTrack {
    /// The leak; its place in the layout's list.
    pub leak: usize,
    /// The slope; its place in [`SLOPES`].
    pub slope: usize,
    /// From the leak on, vehicle frame.
    pub points: Vec<Point>,
    /// Which pieces between two points are falls through air; by the place of their upper point.
    pub falls: Vec<usize>,
    /// How it ends.
    pub end: TrackEnd,
    /// Cell of the height grid that it comes to first; none when it reaches no floor.
    pub lands_in: Option<usize>,
}

/// The way of every leak on every slope, by leak, then slope, with the drains as found.
///
/// A drip falls along gravity to the first body that it meets. On one that holds water it runs down
/// the height grid ([`run_down`]) to a pool, a drain, an edge or a hollow; over any other it runs down
/// the faces and falls off at the edge.
pub(crate) fn tracks(layout: &Layout, bodies: &[BootBody], water: &Water) -> Vec<DripTrack> {
    (0..layout.leaks.len())
        .flat_map(|leak| (0..SLOPES.len()).map(move |slope| (leak, slope)))
        .map(|(leak, slope)| {
            Follow { layout, bodies, water, up: SLOPES[slope].up() }.track(leak, slope)
        })
        .collect()
}

struct Follow<'a> {
    layout: &'a Layout,
    bodies: &'a [BootBody],
    water: &'a Water,
    up: Vector,
}

impl Follow<'_> {
    fn track(&self, leak: usize, slope: usize) -> DripTrack {
        let from = self.layout.leaks[leak].at;
        let mut track = DripTrack {
            leak,
            slope,
            points: vec![from],
            falls: Vec::new(),
            end: TrackEnd::Off,
            lands_in: None,
        };
        let mut at = from;
        for _ in 0..MOST_FALLS {
            track.falls.push(track.points.len() - 1);
            let Some((body, hit)) = self.below(&at) else {
                track.points.push(at - self.up * FALL_MM);
                return track;
            };
            track.points.push(hit.point);
            if self.layout.bodies[body].role.holds_water() {
                self.over_floor(&mut track, &hit);
                return track;
            }
            match self.over_body(&mut track, body, &hit) {
                Some(edge) => at = edge,
                None => return track,
            }
        }
        track
    }

    /// The first body under a point, and where.
    fn below(&self, from: &Point) -> Option<(usize, RayHit)> {
        self.bodies
            .iter()
            .filter(|body| over(body, from, &self.up))
            .filter_map(|body| Some((body.index, body.solid.ray(from, &-self.up, FALL_MM)?)))
            .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm))
    }

    /// Down the faces of a body that holds no water; the place where it drips off, or none where it
    /// stays.
    fn over_body(&self, track: &mut DripTrack, body: usize, first: &RayHit) -> Option<Point> {
        let own = self.bodies.iter().find(|known| known.index == body)?;
        let mut hit = *first;
        for _ in 0..MOST_STEPS {
            let normal = if hit.normal.dot(&self.up) < 0.0 { -hit.normal } else { hit.normal };
            let down = normal * normal.dot(&self.up) - self.up;
            let Some(way) = down.try_normalize(LEVEL) else {
                track.end = TrackEnd::On(body);
                return None;
            };
            let ahead = hit.point + way * STEP_MM;
            let over = ahead + self.up * STEP_MM;
            match own.solid.ray(&over, &-self.up, 3.0 * STEP_MM) {
                Some(next) => {
                    track.points.push(next.point);
                    hit = next;
                }
                // Off its edge: on from a hair beyond it, so that it falls past.
                None => {
                    track.points.push(ahead);
                    return Some(ahead - self.up * 1e-3);
                }
            }
        }
        track.end = TrackEnd::On(body);
        None
    }

    /// Over the floor, from where a fall met it.
    fn over_floor(&self, track: &mut DripTrack, hit: &RayHit) {
        let grid = &self.water.grid;
        let step_mm = grid.step_mm;
        // On an upright face it runs down beside it: the squares that the face itself stands in are up
        // to a step wide.
        let normal = if hit.normal.dot(&self.up) < 0.0 { -hit.normal } else { hit.normal };
        let cell = [0.01, 0.6, 1.2, 1.8]
            .iter()
            .find_map(|steps| grid.cell_under(&(hit.point + normal * (steps * step_mm))));
        let Some(cell) = cell else {
            track.points.push(hit.point - self.up * FALL_MM);
            return;
        };
        let floods = match self.water.cases.get(track.slope) {
            Some(case) => &case.floods,
            None => return,
        };
        track.lands_in = Some(cell);
        let centre = grid.centre(cell);
        let mut at = hit.point;
        if centre.z < hit.point.z - 1.0 || grid.cell(at.x, at.y) != Some(grid.square(cell)) {
            track.points.push(centre);
            at = centre;
        }
        let outlets = self.water.outlets_as_found();
        let (points, end) = run_down(grid, floods, outlets, &at, cell);
        track.points.extend(points);
        track.end = match end {
            RunEnd::Water => TrackEnd::Water,
            RunEnd::Outlet(outlet) => TrackEnd::Drain(outlets[outlet].of),
            RunEnd::Edge => TrackEnd::Off,
            RunEnd::Rest => TrackEnd::Rest,
        };
    }
}

/// Whether a body can lie under a point at all: its box meets the straight down.
fn over(body: &BootBody, from: &Point, up: &Vector) -> bool {
    let bounds = body.solid.bounds();
    let fall_mm = (from.z - bounds.low.z).max(0.0) / up.z.max(0.1);
    let lean = (up * fall_mm).xy().norm();
    bounds.low.z <= from.z
        && (bounds.low.x - lean..=bounds.high.x + lean).contains(&from.x)
        && (bounds.low.y - lean..=bounds.high.y + lean).contains(&from.y)
}

/// The nearest that a track comes to a live part.
struct Nearest<'a> {
    distance_mm: f64,
    track: &'a DripTrack,
    point: &'a LivePoint<'a>,
    /// Whether it is a fall that comes so near, from above.
    falling: bool,
}

/// The nearest that any drip, falling from its leak and running down whatever lies under it, comes to a
/// live part below the leak, over every parked slope.
pub(super) fn check(boot: &Boot, live: &[LivePoint]) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "drips",
        subject: "leaks".to_string(),
        unit: "mm",
        limit: limits.drip_mm,
        comfort: limits.drip_mm + COMFORTABLE_MM,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let leaks = &boot.layout().leaks;
    if boot.floor().is_none() || leaks.is_empty() {
        return reading.unknown("no leak point was measured: hose the seals and look".into(), None);
    }
    let mut nearest: Option<Nearest> = None;
    for track in boot.drips() {
        let up = SLOPES[track.slope].up();
        let leak_mm = up.dot(&leaks[track.leak].at.coords);
        for point in live.iter().filter(|point| up.dot(&point.at.coords) <= leak_mm) {
            let least_mm = nearest.as_ref().map_or(f64::INFINITY, |nearest| nearest.distance_mm);
            if let Some((distance_mm, falling)) = track.nearer_than(&point.at, least_mm) {
                nearest = Some(Nearest { distance_mm, track, point, falling });
            }
        }
    }
    match nearest {
        Some(Nearest { distance_mm, track, point, falling }) => {
            let (leak, slope) = (&leaks[track.leak].name, SLOPES[track.slope].words);
            let shielded =
                if falling && distance_mm < limits.drip_mm { "; nothing shields it" } else { "" };
            let why = format!(
                "drips from {leak} come within {distance_mm:.0} mm of {} {slope}{shielded}",
                point.part
            );
            reading.judge(distance_mm, why, Some(point.at))
        }
        None => {
            let at = live.first().map(|point| point.at);
            if at.is_none() {
                return reading.unknown("the pump's file lists no live part".into(), None);
            }
            reading.judge(1000.0, "every live part is above every leak".to_string(), at)
        }
    }
}

impl DripTrack {
    /// Distance from a point, mm, and whether a fall is what comes nearest; none when it isn't less
    /// than `least_mm`.
    fn nearer_than(&self, point: &Point, least_mm: f64) -> Option<(f64, bool)> {
        let mut found: Option<(f64, bool)> = None;
        let mut least = least_mm;
        for (index, piece) in self.points.windows(2).enumerate() {
            let along = piece[1] - piece[0];
            let share = if along.norm_squared() > 0.0 {
                ((point - piece[0]).dot(&along) / along.norm_squared()).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let distance_mm = (point - (piece[0] + along * share)).norm();
            if distance_mm < least {
                least = distance_mm;
                found = Some((distance_mm, self.falls.contains(&index)));
            }
        }
        found
    }
}
