//! Pulls a line of corners tight: the shortest one near by that fits and keeps its room.

use super::corners::{Corners, MOST_TURN, Measures};
use super::curve::End;
use super::room::{Room, Space};
use crate::model::{Point, Vector};

/// Room that a line is pulled to keep beyond what it needs, mm.
const RESERVE_MM: f64 = 0.12;

/// Room below which a place doesn't count as kept, mm. With places [`FINE_MM`] apart this proves every
/// place between: past a point `d` away the distance bends by at most 1/d + 1/R, so it sinks by less than
/// 0.5² / 2 × (1/4 + 1/20) = 0.04 mm between two of them.
const KEPT_MM: f64 = 0.06;

/// Farthest apart that places are looked at where there is little room, mm.
const FINE_MM: f64 = 0.5;

/// The same while pulling, mm.
const COARSE_MM: f64 = 4.0;

/// Room beyond which a place puts no bound on a step, mm.
const LOOK_MM: f64 = 8.0;

/// Steps of one pull, at most.
const STEPS: usize = 30;

/// What a millimetre of misfit or of missing room weighs against a millimetre of length.
const WEIGHT: f64 = 12.0;

/// A line of corners with the ends that it keeps.
pub(super) struct Pull<'a> {
    pub(super) space: &'a Space<'a>,
    pub(super) from: End,
    pub(super) to: End,
}

/// One bound on a step: `row · step ≥ least`.
struct Bound {
    row: Vec<f64>,
    least: f64,
}

struct Looked {
    measures: Measures,
    misfit_mm: f64,
    /// How much room is missing at worst, mm.
    missing_mm: f64,
    /// Where.
    worst: Point,
    bounds: Vec<Bound>,
    merit: f64,
}

impl Looked {
    fn sound(&self) -> bool {
        self.misfit_mm <= 1e-9 && self.missing_mm <= 0.0
    }
}

impl Pull<'_> {
    /// The line pulled tight, and the place where it lacks room if it does.
    ///
    /// `more` corners are added at most, each where room is lacking.
    pub(super) fn tight(
        &self,
        corners: Corners,
        longest_mm: f64,
        more: usize,
    ) -> Result<Corners, Point> {
        let mut corners = corners;
        let mut worst = self.from.at;
        for round in 0..=more {
            let (pulled, looked) = self.pulled(corners, STEPS, COARSE_MM, true);
            corners = pulled;
            if looked.misfit_mm < 2.0 && looked.missing_mm < 2.0 {
                match self.settled(corners.clone()) {
                    Ok(settled) => return Ok(settled),
                    Err(place) => worst = place,
                }
            } else {
                worst = looked.worst;
            }
            if round == more || looked.measures.length_mm > longest_mm {
                break;
            }
            // A corner more where it is worst.
            let Some(one_more) = self.with_corner(&corners, &worst) else { break };
            corners = one_more;
        }
        Err(worst)
    }

    /// Small steps until every place is proven to have its room.
    fn settled(&self, corners: Corners) -> Result<Corners, Point> {
        let mut corners = corners;
        let mut worst = self.from.at;
        for (steps, step_mm, tighten) in [(6, 1.5, true), (8, 0.8, false), (8, FINE_MM, false)] {
            match self.proven(&corners) {
                Ok(()) => return Ok(corners),
                Err(place) => worst = place,
            }
            let (pulled, looked) = self.pulled(corners, steps, step_mm, tighten);
            corners = pulled;
            if looked.misfit_mm > 1.0 || looked.missing_mm > 1.5 {
                return Err(looked.worst);
            }
        }
        self.proven(&corners).map(|()| corners).map_err(|_| worst)
    }

    /// Whether the corners fit and every place of the line has its room; else where not.
    pub(super) fn proven(&self, corners: &Corners) -> Result<(), Point> {
        let measures = corners.measures();
        if measures.misfit_mm(corners.radius_mm) > 1e-9 {
            let worst = (0..measures.runs_mm.len())
                .min_by(|a, b| measures.rest_mm(*a).total_cmp(&measures.rest_mm(*b)));
            return Err(corners.nodes[worst.unwrap_or(0)]);
        }
        if !corners.meets(&self.from, &self.to) {
            return Err(self.from.at);
        }
        let mut lacks = None;
        self.walk(corners, &measures, FINE_MM, 6.0, |_, at, room| {
            if room.mm < KEPT_MM {
                lacks = Some(*at);
            }
            lacks.is_none()
        });
        lacks.map_or(Ok(()), Err)
    }

    /// Visits places along the line with the room that each has at least; `visit` says whether to go on.
    fn walk(
        &self,
        corners: &Corners,
        measures: &Measures,
        least_mm: f64,
        look_mm: f64,
        mut visit: impl FnMut(Place, &Point, &Room) -> bool,
    ) {
        for run in 0..measures.runs_mm.len() {
            let (from, to) = corners.straight(measures, run);
            let length = measures.rest_mm(run).max(0.0);
            let way = measures.ways[run];
            let mut along = 0.0;
            loop {
                let at = if along >= length { to } else { from + way * along };
                let room = self.space.near_room(&at, look_mm);
                let share = if measures.runs_mm[run] > 1e-9 {
                    (measures.tangents_mm[run] + along.min(length)) / measures.runs_mm[run]
                } else {
                    0.5
                };
                if !visit(Place::Straight { run, share: share.clamp(0.0, 1.0) }, &at, &room) {
                    return;
                }
                if along >= length {
                    break;
                }
                along = (along + room.mm.max(least_mm)).min(length);
            }
            let node = run + 1;
            if node + 1 >= corners.nodes.len() {
                continue;
            }
            let Some(arc) = corners.arc(measures, node) else { continue };
            let length = arc.radius_mm * arc.angle;
            let mut along = 0.0;
            while along < length {
                let at = arc.point(along / arc.radius_mm);
                let room = self.space.near_room(&at, look_mm);
                if !visit(Place::Arc { node, share: along / length }, &at, &room) {
                    return;
                }
                along += room.mm.max(least_mm);
            }
        }
    }

    /// Unknowns: along the first ray, three for each inner corner, along the last ray.
    fn unknowns(corners: &Corners) -> usize {
        3 * (corners.nodes.len() - 4) + 2
    }

    /// Adds `by · move of node` to a row.
    fn add(&self, corners: &Corners, row: &mut [f64], node: usize, by: &Vector) {
        let last = corners.nodes.len() - 2;
        if node == 1 {
            row[0] += by.dot(&self.from.towards);
        } else if node == last {
            let end = row.len() - 1;
            row[end] -= by.dot(&self.to.towards);
        } else if node > 1 && node < last {
            let at = 1 + 3 * (node - 2);
            row[at] += by.x;
            row[at + 1] += by.y;
            row[at + 2] += by.z;
        }
    }

    fn stepped(&self, corners: &Corners, step: &[f64]) -> Corners {
        let mut next = corners.clone();
        let last = corners.nodes.len() - 2;
        let on_ray = |at: &Point, end: &Point, towards: &Vector| (at - end).dot(towards);
        let first_mm = on_ray(&corners.nodes[1], &self.from.at, &self.from.towards) + step[0];
        next.nodes[1] = self.from.at + self.from.towards * first_mm.max(1e-6);
        for node in 2..last {
            let at = 1 + 3 * (node - 2);
            next.nodes[node] += Vector::new(step[at], step[at + 1], step[at + 2]);
        }
        let back = -self.to.towards;
        let last_mm = on_ray(&corners.nodes[last], &self.to.at, &back) + step[step.len() - 1];
        next.nodes[last] = self.to.at + back * last_mm.max(1e-6);
        next
    }

    /// Adds `scale · d(angle at node)` to a row.
    fn add_angle(&self, corners: &Corners, m: &Measures, row: &mut [f64], node: usize, scale: f64) {
        let (before, after) = (&m.ways[node - 1], &m.ways[node]);
        let (in_mm, out_mm) = (m.runs_mm[node - 1].max(1e-6), m.runs_mm[node].max(1e-6));
        let sideways = |way: &Vector, of: &Vector| {
            (of - way * way.dot(of)).try_normalize(1e-9).unwrap_or_else(Vector::zeros)
        };
        // The angle grows as the node before goes aside towards where the line goes on, and as the node
        // after goes aside away from where it came.
        let d_before = sideways(before, after) / in_mm;
        let d_after = -sideways(after, before) / out_mm;
        self.add(corners, row, node - 1, &(d_before * scale));
        self.add(corners, row, node + 1, &(d_after * scale));
        self.add(corners, row, node, &((d_before + d_after) * -scale));
    }

    fn slope(&self, corners: &Corners, m: &Measures) -> Vec<f64> {
        let mut slope = vec![0.0; Self::unknowns(corners)];
        for run in 0..m.runs_mm.len() {
            self.add(corners, &mut slope, run, &-m.ways[run]);
            self.add(corners, &mut slope, run + 1, &m.ways[run]);
        }
        for node in 1..corners.nodes.len() - 1 {
            let tan = (m.angles[node].min(3.1) / 2.0).tan();
            self.add_angle(corners, m, &mut slope, node, -corners.radius_mm * tan * tan);
        }
        slope
    }

    fn look(&self, corners: &Corners, step_mm: f64) -> Looked {
        let measures = corners.measures();
        let misfit_mm = measures.misfit_mm(corners.radius_mm);
        let mut bounds = Vec::new();
        let count = Self::unknowns(corners);
        for run in 0..measures.runs_mm.len() {
            let rest_mm = measures.rest_mm(run);
            if rest_mm > 3.0 * LOOK_MM {
                continue;
            }
            let mut row = vec![0.0; count];
            self.add(corners, &mut row, run, &-measures.ways[run]);
            self.add(corners, &mut row, run + 1, &measures.ways[run]);
            for node in [run, run + 1] {
                if node > 0 && node + 1 < corners.nodes.len() {
                    let tan = (measures.angles[node].min(3.1) / 2.0).tan();
                    let scale = -corners.radius_mm / 2.0 * (1.0 + tan * tan);
                    self.add_angle(corners, &measures, &mut row, node, scale);
                }
            }
            bounds.push(Bound { row, least: 1e-3 - rest_mm });
        }
        for node in 1..corners.nodes.len() - 1 {
            if measures.angles[node] > MOST_TURN - 0.8 {
                let mut row = vec![0.0; count];
                let radius_mm = corners.radius_mm;
                self.add_angle(corners, &measures, &mut row, node, -radius_mm);
                let least = (measures.angles[node] - MOST_TURN + 0.02) * radius_mm;
                bounds.push(Bound { row, least });
            }
        }
        let mut missing_mm: f64 = 0.0;
        let mut worst = self.from.at;
        let mut total_mm = 0.0;
        self.walk(corners, &measures, step_mm, LOOK_MM, |place, at, room| {
            let lacks_mm = RESERVE_MM - room.mm;
            if lacks_mm > missing_mm + 1e-9 {
                missing_mm = lacks_mm;
                worst = *at;
            }
            total_mm += lacks_mm.clamp(0.0, 20.0) * 0.1;
            if room.mm < LOOK_MM && room.out != Vector::zeros() {
                let mut row = vec![0.0; count];
                for (node, share) in place.shares(&measures) {
                    self.add(corners, &mut row, node, &(room.out * share));
                }
                bounds.push(Bound { row, least: RESERVE_MM + 0.02 - room.mm });
            }
            true
        });
        let merit = measures.length_mm
            + WEIGHT * (misfit_mm + missing_mm.min(40.0))
            + WEIGHT * total_mm.min(60.0);
        let missing_mm = if missing_mm <= 1e-9 { 0.0 } else { missing_mm };
        Looked { measures, misfit_mm, missing_mm, worst, bounds, merit }
    }

    /// Steps down the length within the bounds, each a projection onto them, while that helps.
    fn pulled(
        &self,
        corners: Corners,
        steps: usize,
        step_mm: f64,
        tighten: bool,
    ) -> (Corners, Looked) {
        let mut corners = corners;
        let mut looked = self.look(&corners, step_mm);
        let mut trust_mm: f64 = if step_mm < COARSE_MM { 4.0 } else { 25.0 };
        let mut quiet = 0;
        for _ in 0..steps {
            if !tighten && looked.sound() {
                break;
            }
            let step = self.step(&corners, &looked, trust_mm, tighten);
            let next = self.stepped(&corners, &step);
            let seen = self.look(&next, step_mm);
            let gain = looked.merit - seen.merit;
            if gain > 1e-4 {
                corners = next;
                looked = seen;
                trust_mm = (trust_mm * 1.5).min(40.0);
                quiet = if gain < 0.1 && looked.sound() { quiet + 1 } else { 0 };
                if quiet >= 2 {
                    break;
                }
            } else {
                trust_mm *= 0.35;
                if trust_mm < 0.02 {
                    break;
                }
            }
        }
        (corners, looked)
    }

    /// One step: down the slope by what the straights beside a corner allow, projected onto the bounds
    /// (Hildreth's method), no corner by more than `trust_mm`.
    fn step(&self, corners: &Corners, looked: &Looked, trust_mm: f64, tighten: bool) -> Vec<f64> {
        let m = &looked.measures;
        let count = Self::unknowns(corners);
        let last = corners.nodes.len() - 2;
        // Short straights bend sharply for little: their corners move less.
        let mut scale = vec![0.0; count];
        for node in 1..=last {
            let reach_mm = m.runs_mm[node - 1].min(m.runs_mm[node]).clamp(2.0, 120.0);
            let by = (0.35 * reach_mm).sqrt();
            if node == 1 {
                scale[0] = by;
            } else if node == last {
                scale[count - 1] = by;
            } else {
                let at = 1 + 3 * (node - 2);
                scale[at..at + 3].fill(by);
            }
        }
        let mut step: Vec<f64> = if tighten {
            self.slope(corners, m).iter().zip(&scale).map(|(g, s)| -g * s).collect()
        } else {
            vec![0.0; count]
        };
        let largest = step.iter().zip(&scale).map(|(d, s)| (d * s).abs()).fold(0.0, f64::max);
        if largest > trust_mm {
            step.iter_mut().for_each(|d| *d *= trust_mm / largest);
        }
        let rows: Vec<(Vec<f64>, f64)> = looked
            .bounds
            .iter()
            .map(|bound| {
                let row: Vec<f64> = bound.row.iter().zip(&scale).map(|(a, s)| a * s).collect();
                let square = row.iter().map(|a| a * a).sum::<f64>();
                (row, square)
            })
            .collect();
        let mut pressed = vec![0.0; rows.len()];
        for _ in 0..40 {
            let mut moved: f64 = 0.0;
            for (index, (row, square)) in rows.iter().enumerate() {
                if *square < 1e-12 {
                    continue;
                }
                let reached: f64 = row.iter().zip(&step).map(|(a, d)| a * d).sum();
                let lacks = looked.bounds[index].least - reached;
                let press = (pressed[index] + lacks / square).max(0.0) - pressed[index];
                if press != 0.0 {
                    pressed[index] += press;
                    step.iter_mut().zip(row).for_each(|(d, a)| *d += a * press);
                    moved = moved.max((press * square).abs());
                }
            }
            if moved < 1e-3 {
                break;
            }
        }
        step.iter_mut().zip(&scale).for_each(|(d, s)| *d *= s);
        let largest = step.iter().map(|d| d.abs()).fold(0.0, f64::max);
        if largest > trust_mm {
            step.iter_mut().for_each(|d| *d *= trust_mm / largest);
        }
        step
    }

    /// One corner more, beside the place that lacks room.
    fn with_corner(&self, corners: &Corners, place: &Point) -> Option<Corners> {
        if corners.nodes.len() > 12 {
            return None;
        }
        let room = self.space.room(place, LOOK_MM);
        let moved = place + room.out * (1.0 - room.mm).clamp(0.0, 40.0);
        let away = |pair: &[Point]| {
            let way = pair[1] - pair[0];
            let share = (place - pair[0]).dot(&way) / way.norm_squared().max(1e-9);
            (pair[0] + way * share.clamp(0.0, 1.0) - place).norm()
        };
        let runs = corners.nodes.windows(2).enumerate().skip(1);
        let run = runs
            .take(corners.nodes.len() - 3)
            .min_by(|(_, a), (_, b)| away(a).total_cmp(&away(b)))
            .map(|(run, _)| run)?;
        let mut more = corners.clone();
        more.nodes.insert(run + 1, moved);
        Some(more)
    }
}

/// A place on a line of corners, for how it moves with them.
#[derive(Clone, Copy)]
enum Place {
    Straight { run: usize, share: f64 },
    Arc { node: usize, share: f64 },
}

impl Place {
    /// How much of each node's move the place takes part in.
    fn shares(self, m: &Measures) -> [(usize, f64); 3] {
        match self {
            Place::Straight { run, share } => {
                [(run, 1.0 - share), (run + 1, share), (run + 1, 0.0)]
            }
            Place::Arc { node, share } => {
                let back = m.tangents_mm[node] / m.runs_mm[node - 1].max(1e-6) * (1.0 - share);
                let on = m.tangents_mm[node] / m.runs_mm[node].max(1e-6) * share;
                [(node - 1, back), (node, 1.0 - back - on), (node + 1, on)]
            }
        }
    }
}
