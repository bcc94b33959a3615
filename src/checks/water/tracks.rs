//! Where drips from a leak fall and run: over bodies, over the pump, down the floor.

use super::cases::SLOPES;
use super::standing::Water;
use crate::checks::boot::BootBody;
use crate::geometry::{Bounds, RayHit, RunEnd, Solid, run_to_brink};
use crate::model::{Layout, Point, Vector};

/// How far a drip is followed when it falls past everything, mm.
const FALL_MM: f64 = 2_000.0;

/// A drip's way over something that holds no water is followed in steps of this, mm.
pub(super) const STEP_MM: f64 = 4.0;

/// Most steps over things between two falls, and most falls.
pub(super) const MOST_STEPS: usize = 400;
const MOST_FALLS: usize = 64;

/// A face rises less than this where a drip stays and spreads, mm per mm.
pub(super) const LEVEL: f64 = 0.002;

/// What stands up beside a drip is looked for this high over the face that it runs on, and stops it
/// this far off, mm: about half a drop.
pub(super) const DROP_MM: f64 = 0.5;

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
    /// On top of the pump, where it spreads; the place of its solid in the pump's list.
    OnPump(usize),
}

/// The way of the drips of one leak on one slope.
#[derive(Debug, Clone, PartialEq)]
pub struct DripTrack {
    /// The leak; its place in the layout's list.
    pub leak: usize,
    /// The slope; its place in [`SLOPES`].
    pub slope: usize,
    /// From the leak on, vehicle frame; on what it runs over, to within a step's sagitta.
    pub points: Vec<Point>,
    /// Which pieces between two points are falls through air; by the place of their upper point.
    pub falls: Vec<usize>,
    /// Points on the pump: their places in `points`, and the solid's place in the pump's list.
    pub on_pump: Vec<(usize, usize)>,
    /// Its ways down the floor: places of the first and last point of each.
    pub floors: Vec<(usize, usize)>,
    /// How it ends.
    pub end: TrackEnd,
    /// Cell of the height grid onto which it falls last; none when it reaches no floor.
    pub lands_in: Option<usize>,
}

/// The way of every leak on every slope, by leak, then slope, with the drains as found and no pump.
///
/// A drip falls along gravity to the first body that it meets. On one that holds water it runs down
/// the height grid (as [`run_down`](crate::geometry::run_down)) to a pool, a drain or a hollow, or to an edge
/// or a slit, however narrow, where it falls again; over any other it runs down the faces, along whatever stands up beside them, and
/// falls off at the edge. Down upright sheet it runs to the sheet's end.
pub(crate) fn tracks(layout: &Layout, bodies: &[BootBody], water: &Water) -> Vec<DripTrack> {
    (0..layout.leaks.len())
        .flat_map(|leak| (0..SLOPES.len()).map(move |slope| (leak, slope)))
        .map(|(leak, slope)| {
            let up = SLOPES[slope].up();
            Follow { layout, bodies, water, up, pump: &[] }.track(leak, slope)
        })
        .collect()
}

/// What a drip can meet.
pub(super) struct Follow<'a> {
    pub(super) layout: &'a Layout,
    pub(super) bodies: &'a [BootBody],
    pub(super) water: &'a Water,
    pub(super) up: Vector,
    /// The pump's solids where they stand; empty without a pump.
    pub(super) pump: &'a [Solid],
}

/// What a drip met.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Met {
    /// A body; its place in the layout's list.
    Body(usize),
    /// A solid of the pump; its place in the pump's list.
    Pump(usize),
}

impl Follow<'_> {
    fn track(&self, leak: usize, slope: usize) -> DripTrack {
        let from = self.layout.leaks[leak].at;
        let track = DripTrack {
            leak,
            slope,
            points: vec![from],
            falls: Vec::new(),
            on_pump: Vec::new(),
            floors: Vec::new(),
            end: TrackEnd::Off,
            lands_in: None,
        };
        self.go_on(track)
    }

    /// A track of drips without the pump, followed again from where the pump gets in its way through air or
    /// over things; none where it doesn't, nor stands where it runs down the floor. There it goes on as if the
    /// pump had no feet, which it has come to.
    pub(super) fn aside(&self, track: &DripTrack) -> Option<DripTrack> {
        let all = self.pump.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b))?;
        let beside = |piece: &(usize, [Point; 2])| meets(&all, &piece.1);
        let near: Vec<(usize, [Point; 2])> = self.pieces(track).filter(beside).collect();
        if near.is_empty() {
            return None;
        }
        let met = |(_, piece): &&(usize, [Point; 2])| {
            let [a, b] = piece;
            let blocks = |solid: &Solid| meets(solid.bounds(), piece) && solid.blocks(a, b);
            self.pump.iter().any(blocks)
        };
        let first = near.iter().filter(|(index, _)| !track.over_floor(*index)).find(met);
        let mut track = match first {
            Some(&(first, _)) => {
                // The fall that it belongs to, and everything before it, stays as it was.
                let falls = track.falls.iter().take_while(|fall| **fall <= first);
                let falls: Vec<usize> = falls.copied().collect();
                let (begin, before) = falls.split_last()?;
                let floors = track.floors.iter().take_while(|floor| floor.1 <= *begin);
                self.go_on(DripTrack {
                    points: track.points[..=*begin].to_vec(),
                    falls: before.to_vec(),
                    on_pump: Vec::new(),
                    floors: floors.copied().collect(),
                    end: TrackEnd::Off,
                    lands_in: None,
                    ..*track
                })
            }
            None => track.clone(),
        };
        self.against_feet(&mut track);
        (first.is_some() || !track.on_pump.is_empty()).then_some(track)
    }

    /// The pieces of a track, a drop's half over what they run on, by the places of their first points.
    fn pieces(&self, track: &DripTrack) -> impl Iterator<Item = (usize, [Point; 2])> {
        let mut falls = track.falls.iter().copied().peekable();
        track.points.windows(2).enumerate().map(move |(index, pair)| {
            let lift = if falls.next_if_eq(&index).is_some() { 0.0 } else { DROP_MM };
            (index, [pair[0] + self.up * lift, pair[1] + self.up * lift])
        })
    }

    /// Notes where a track that runs down the floor first comes to each solid of the pump.
    fn against_feet(&self, track: &mut DripTrack) {
        for (which, solid) in self.pump.iter().enumerate() {
            let met = self.pieces(track).find_map(|(index, piece)| {
                if !track.over_floor(index) || !meets(solid.bounds(), &piece) {
                    return None;
                }
                let way = piece[1] - piece[0];
                let hit = solid.ray(&piece[0], &way.try_normalize(1e-9)?, way.norm())?;
                Some((index, hit.point - self.up * DROP_MM))
            });
            if let Some((index, at)) = met {
                track.insert(index + 1, at);
                track.on_pump.push((index + 1, which));
                track.on_pump.sort_unstable();
            }
        }
    }

    /// Falls from a track's last point, runs, and falls again, to its end.
    fn go_on(&self, mut track: DripTrack) -> DripTrack {
        for _ in 0..MOST_FALLS {
            let Some(at) = track.points.last().copied() else { break };
            track.falls.push(track.points.len() - 1);
            let Some((met, hit)) = self.below(&at) else {
                track.points.push(at - self.up * FALL_MM);
                return track;
            };
            self.push(&mut track, met, hit.point);
            if !self.over_things(&mut track, met, hit) {
                return track;
            }
        }
        track
    }

    pub(super) fn push(&self, track: &mut DripTrack, met: Met, at: Point) {
        if let Met::Pump(solid) = met {
            track.on_pump.push((track.points.len(), solid));
        }
        track.points.push(at);
    }

    /// Everything that a drip can meet.
    fn solids(&self) -> impl Iterator<Item = (Met, &Solid)> {
        let bodies = self.bodies.iter().map(|body| (Met::Body(body.index), &body.solid));
        let pump = self.pump.iter().enumerate();
        bodies.chain(pump.map(|(index, solid)| (Met::Pump(index), solid)))
    }

    /// The first thing under a point, and where.
    fn below(&self, from: &Point) -> Option<(Met, RayHit)> {
        self.solids()
            .filter(|(_, solid)| over(solid, from, &self.up))
            .filter_map(|(met, solid)| Some((met, solid.ray(from, &-self.up, FALL_MM)?)))
            .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm))
    }

    /// The first thing that a short ray meets, and where.
    pub(super) fn ahead(&self, from: &Point, way: &Vector, far_mm: f64) -> Option<(Met, RayHit)> {
        self.solids()
            .filter(|(_, solid)| solid.bounds().distance_to_point_mm(from) <= far_mm)
            .filter(|(_, solid)| !solid.holds(from))
            .filter_map(|(met, solid)| Some((met, solid.ray(from, way, far_mm)?)))
            .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm))
    }

    /// Down the faces of bodies that hold no water and of the pump, from where a fall met one. Whether it
    /// falls on from the track's last point; else the track is at its end.
    fn over_things(&self, track: &mut DripTrack, first: Met, hit: RayHit) -> bool {
        let (mut met, mut hit) = (first, hit);
        for _ in 0..MOST_STEPS {
            if self.holds(met) {
                match self.over_floor(track, &hit) {
                    Next::Ends => return false,
                    Next::Falls => return true,
                    Next::Over(next, there) => {
                        (met, hit) = (next, there);
                        continue;
                    }
                }
            }
            let stays = match met {
                Met::Body(body) => TrackEnd::On(body),
                Met::Pump(solid) => TrackEnd::OnPump(solid),
            };
            let normal = outward(&hit.normal, &self.up);
            let down = normal * normal.dot(&self.up) - self.up;
            let Some(step) = down.try_normalize(LEVEL).and_then(|way| self.step(&hit, &way)) else {
                track.end = stays;
                return false;
            };
            let ahead = hit.point + step;
            match self.ahead(&(ahead + self.up * STEP_MM), &-self.up, 3.0 * STEP_MM) {
                Some((next, there)) => {
                    // Over an edge, and down from there.
                    if (ahead - there.point).dot(&self.up) > DROP_MM {
                        self.push(track, met, ahead);
                    }
                    self.push(track, next, there.point);
                    (met, hit) = (next, there);
                }
                // Off its edge: on from a hair beyond it, so that it falls past.
                None => {
                    self.push(track, met, ahead);
                    track.points.push(ahead - self.up * 1e-3);
                    return true;
                }
            }
        }
        track.end = TrackEnd::Rest;
        false
    }

    /// The next step of a drop down a face: along `way`, or along what stands up in it; none where that
    /// leads no lower.
    fn step(&self, hit: &RayHit, way: &Vector) -> Option<Vector> {
        let from = hit.point + outward(&hit.normal, &self.up) * DROP_MM;
        let mut way = *way;
        for _ in 0..2 {
            let Some((_, wall)) = self.ahead(&from, &way, STEP_MM + DROP_MM) else {
                return Some(way * STEP_MM);
            };
            let free_mm = wall.distance_mm - DROP_MM;
            if free_mm > DROP_MM {
                return Some(way * free_mm);
            }
            let out = if wall.normal.dot(&way) > 0.0 { -wall.normal } else { wall.normal };
            way = (way - out * out.dot(&way)).try_normalize(LEVEL)?;
            if way.dot(&self.up) > -LEVEL {
                return None;
            }
        }
        None
    }

    /// Whether it is a body that holds water.
    pub(super) fn holds(&self, met: Met) -> bool {
        matches!(met, Met::Body(body) if self.layout.bodies[body].role.holds_water())
    }

    /// Over the floor, from where a fall or a run met it.
    fn over_floor(&self, track: &mut DripTrack, hit: &RayHit) -> Next {
        let grid = self.water.drip_grid();
        let Some(floods) = self.water.drip_floods(track.slope) else { return Next::Ends };
        let normal = outward(&hit.normal, &self.up);
        let (cell, mut at) = match self.foot(track, hit, &normal) {
            Ok(landed) => landed,
            Err(next) => return next,
        };
        track.lands_in = Some(cell);
        let begin = track.points.len() - 1;
        if grid.cell(at.x, at.y) != Some(grid.square(cell)) {
            at = grid.centre(cell);
            track.points.push(at);
        }
        let outlets = self.water.outlets_as_found();
        let (points, end, brink) = run_to_brink(grid, floods, outlets, &at, cell);
        let from = points.last().copied().unwrap_or(at);
        track.points.extend(points);
        track.end = match end {
            RunEnd::Water => TrackEnd::Water,
            RunEnd::Outlet(outlet) => TrackEnd::Drain(outlets[outlet].of),
            RunEnd::Edge | RunEnd::Brink => TrackEnd::Off,
            RunEnd::Rest => TrackEnd::Rest,
        };
        let over = brink.map(|brink| self.over_brink(&from, &brink));
        track.points.extend(over.map(|[edge, _]| edge));
        track.floors.push((begin, track.points.len() - 1));
        let Some([_, beyond]) = over else { return Next::Ends };
        track.points.push(beyond);
        Next::Falls
    }
}

/// What comes next on a drop's way.
pub(super) enum Next {
    /// Nothing: it is at its end.
    Ends,
    /// It falls from the track's last point.
    Falls,
    /// It runs on over this.
    Over(Met, RayHit),
}

impl DripTrack {
    /// Whether the piece from this point to the next runs down the floor.
    pub fn over_floor(&self, index: usize) -> bool {
        self.floors.iter().any(|floor| (floor.0..floor.1).contains(&index))
    }

    /// Puts a point into the middle of a piece.
    fn insert(&mut self, place: usize, at: Point) {
        self.points.insert(place, at);
        let shift = |index: &mut usize| *index += usize::from(*index >= place);
        self.falls.iter_mut().for_each(shift);
        self.on_pump.iter_mut().for_each(|(index, _)| shift(index));
        self.floors.iter_mut().for_each(|(first, last)| {
            shift(first);
            shift(last);
        });
    }
}

/// Whether the box round a straight meets another.
fn meets(bounds: &Bounds, piece: &[Point; 2]) -> bool {
    let [a, b] = piece;
    (0..3).all(|axis| {
        a[axis].min(b[axis]) <= bounds.high[axis] && a[axis].max(b[axis]) >= bounds.low[axis]
    })
}

/// A face's normal on the side that rain falls on.
fn outward(normal: &Vector, up: &Vector) -> Vector {
    if normal.dot(up) < 0.0 { -normal } else { *normal }
}

/// Whether a solid can lie under a point at all: its box meets the straight down.
fn over(solid: &Solid, from: &Point, up: &Vector) -> bool {
    let bounds = solid.bounds();
    let fall_mm = (from.z - bounds.low.z).max(0.0) / up.z.max(0.1);
    let lean = (up * fall_mm).xy().norm();
    bounds.low.z <= from.z
        && (bounds.low.x - lean..=bounds.high.x + lean).contains(&from.x)
        && (bounds.low.y - lean..=bounds.high.y + lean).contains(&from.y)
}
