//! Which of the pump's holes fall on bolts of the boot, and the plate that carries the rest.

use serde::Serialize;

use super::fit::{MountAt, THREADS, cover, thread_mm};
use crate::checks::Boot;
use crate::geometry::across;
use crate::model::{Anchor, AnchorKind, Point, Vector};

/// Mounts matched to anchors after a small move of the pump.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PatternMatch {
    /// Mount and anchor of each bolt.
    pub pairs: Vec<(String, String)>,
    /// How the pump would have to move in the plane of its feet, mm, vehicle frame.
    pub shift: Vector,
    /// How far it would have to turn about the feet's normal, degrees.
    pub turn_deg: f64,
    /// The largest miss of a bolt then left, mm.
    pub miss_mm: f64,
}

/// A hole of a plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateHole {
    /// The mount or anchor that it's for.
    pub name: String,
    /// Its centre, mm, in the plate's own axes.
    pub at: (f64, f64),
    /// Its diameter, mm: a free hole for the thread.
    pub diameter_mm: f64,
    /// Whether it's for the pump's foot; else for the boot's anchor.
    pub pump: bool,
}

/// A flat adapter plate between anchors and the pump's feet, for a template at true size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plate {
    /// Its corners in order, counter-clockwise, mm, in its own axes.
    pub outline: Vec<(f64, f64)>,
    /// Its holes.
    pub holes: Vec<PlateHole>,
    /// Its origin in the boot: the first anchor.
    pub origin: Point,
    /// Its first axis in the boot, unit length; the second is `normal × first`.
    pub first: Vector,
    /// Out of the metal, towards the pump, unit length.
    pub normal: Vector,
    /// Sheet to cut it from, mm.
    pub thickness_mm: f64,
    /// Spacers between plate and feet, mm.
    pub spacer_mm: f64,
    /// What doesn't fit, in words: holes too near to each other.
    pub clashes: Vec<String>,
}

/// How square anchors must face the feet, cosine.
const FACING: f64 = -0.98;

/// How far beside a foot an anchor may lie for a plate, mm. Common practice, no source.
const PLATE_REACH_MM: f64 = 120.0;

/// Thickness of a steel plate for a unit of a few kg, mm. Common practice, no source.
const PLATE_MM: f64 = 3.0;

/// Metal round a hole's centre, in thread diameters, and between two holes. Common practice, no source:
/// 2 d to the edge, 3 d between.
const EDGE_D: f64 = 2.0;
const APART_D: f64 = 3.0;

/// Farthest that a pump may be moved to fall on bolts, mm, and turned, degrees.
const MOVE_MM: f64 = 60.0;
const TURN_DEG: f64 = 10.0;

/// The pump's holes that face one way, and the studs and holes of the boot that face them.
struct Pattern<'a> {
    mounts: Vec<MountAt<'a>>,
    anchors: Vec<&'a Anchor>,
    normal: Vector,
    first: Vector,
    second: Vector,
}

impl<'a> Pattern<'a> {
    fn of(boot: &'a Boot, mounts: &[MountAt<'a>]) -> Option<Pattern<'a>> {
        let lead = mounts.iter().find(|it| it.mount.hole_mm.is_some())?;
        let normal = -lead.towards;
        let mounts: Vec<MountAt> = mounts
            .iter()
            .filter(|it| it.mount.hole_mm.is_some() && it.towards.dot(&normal) < FACING)
            .filter(|it| normal.dot(&(it.at - lead.at)).abs() < 1.0)
            .copied()
            .collect();
        let deepest_mm = boot.layout().limits.bolt_reach_mm + PLATE_MM;
        let anchors: Vec<&Anchor> = boot
            .anchors()
            .filter(|it| matches!(it.kind, AnchorKind::Stud { .. } | AnchorKind::Hole { .. }))
            .filter(|it| {
                it.normal.try_normalize(1e-9).is_some_and(|out| out.dot(&normal) > -FACING)
            })
            .filter(|it| {
                let below_mm = normal.dot(&(lead.at - it.at));
                (-1.0..=deepest_mm).contains(&below_mm)
            })
            .filter(|it| cover(boot, it).is_none())
            .collect();
        let (first, second) = across(&normal);
        (mounts.len() >= 2).then_some(Pattern { mounts, anchors, normal, first, second })
    }

    fn flat(&self, at: &Point) -> (f64, f64) {
        (self.first.dot(&at.coords), self.second.dot(&at.coords))
    }
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// The smallest move in the plane of the feet that brings most of the pump's holes onto studs and holes
/// of the boot; none when fewer than two would fall on any. Every pair of holes is tried on every pair
/// of anchors as far apart.
pub(super) fn pattern_match(boot: &Boot, mounts: &[MountAt]) -> Option<PatternMatch> {
    let pattern = Pattern::of(boot, mounts)?;
    let play_mm = boot.layout().limits.bolt_play_mm;
    let feet: Vec<(f64, f64)> = pattern.mounts.iter().map(|it| pattern.flat(&it.at)).collect();
    let bolts: Vec<(f64, f64)> = pattern.anchors.iter().map(|it| pattern.flat(&it.at)).collect();
    let mut best: Option<(PatternMatch, f64)> = None;
    for (i, j) in pairs(feet.len()) {
        for (a, b) in pairs(bolts.len()).flat_map(|(a, b)| [(a, b), (b, a)]) {
            if (apart(feet[i], feet[j]) - apart(bolts[a], bolts[b])).abs() > play_mm {
                continue;
            }
            let angle = |from: (f64, f64), to: (f64, f64)| (to.1 - from.1).atan2(to.0 - from.0);
            let mut turn = angle(bolts[a], bolts[b]) - angle(feet[i], feet[j]);
            turn -= (turn / std::f64::consts::TAU).round() * std::f64::consts::TAU;
            if turn.abs().to_degrees() > TURN_DEG {
                continue;
            }
            let (sin, cos) = turn.sin_cos();
            let turned = |at: (f64, f64)| (cos * at.0 - sin * at.1, sin * at.0 + cos * at.1);
            let middle =
                |p: (f64, f64), q: (f64, f64)| (f64::midpoint(p.0, q.0), f64::midpoint(p.1, q.1));
            let (from, to) = (turned(middle(feet[i], feet[j])), middle(bolts[a], bolts[b]));
            let moved = |at: (f64, f64)| {
                let at = turned(at);
                (at.0 + to.0 - from.0, at.1 + to.1 - from.1)
            };
            let mut used = vec![false; bolts.len()];
            let (mut found, mut miss_mm, mut far_mm) = (Vec::new(), 0.0_f64, 0.0_f64);
            for (foot, mount) in feet.iter().zip(&pattern.mounts) {
                let at = moved(*foot);
                far_mm = far_mm.max(apart(at, *foot));
                let near = (0..bolts.len())
                    .filter(|bolt| !used[*bolt] && apart(at, bolts[*bolt]) <= play_mm)
                    .min_by(|x, y| apart(at, bolts[*x]).total_cmp(&apart(at, bolts[*y])));
                if let Some(bolt) = near {
                    used[bolt] = true;
                    miss_mm = miss_mm.max(apart(at, bolts[bolt]));
                    let names = (mount.mount.name.clone(), pattern.anchors[bolt].name.clone());
                    found.push(names);
                }
            }
            let better = best.as_ref().is_none_or(|(known, known_mm)| {
                found.len() > known.pairs.len()
                    || found.len() == known.pairs.len() && far_mm < known_mm - 1e-6
            });
            if found.len() >= 2 && far_mm <= MOVE_MM && better {
                // Of the pump's own middle, so that a turn about it is a turn and no shift.
                let count = feet.len() as f64;
                let centre = feet.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
                let centre = (centre.0 / count, centre.1 / count);
                let there = moved(centre);
                let shift =
                    pattern.first * (there.0 - centre.0) + pattern.second * (there.1 - centre.1);
                let turn_deg = turn.to_degrees();
                best = Some((PatternMatch { pairs: found, shift, turn_deg, miss_mm }, far_mm));
            }
        }
    }
    best.map(|(found, _)| found)
}

fn pairs(count: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..count).flat_map(move |i| (i + 1..count).map(move |j| (i, j)))
}

/// The plate that takes the pump's holes to the nearest studs and holes; none when bolts go straight
/// through every hole, or fewer than two anchors lie near.
pub(super) fn plate(boot: &Boot, mounts: &[MountAt]) -> Option<Plate> {
    let pattern = Pattern::of(boot, mounts)?;
    let play_mm = boot.layout().limits.bolt_play_mm;
    let flat = |at: &Point| pattern.flat(at);
    let mut chosen: Vec<&Anchor> = Vec::new();
    let mut direct = 0;
    for mount in &pattern.mounts {
        let aside = |anchor: &Anchor| apart(flat(&anchor.at), flat(&mount.at));
        direct += usize::from(pattern.anchors.iter().any(|anchor| aside(anchor) <= play_mm));
        let near = pattern
            .anchors
            .iter()
            .filter(|anchor| !chosen.iter().any(|known| known.name == anchor.name))
            .filter(|anchor| aside(anchor) <= PLATE_REACH_MM)
            .min_by(|a, b| aside(a).total_cmp(&aside(b)));
        chosen.extend(near.copied());
    }
    let origin = chosen.first()?.at;
    if direct == pattern.mounts.len() || chosen.len() < 2 {
        return None;
    }
    // One plane: that of the first anchor; others within 2 mm of it.
    chosen.retain(|anchor| pattern.normal.dot(&(anchor.at - origin)).abs() < 2.0);
    let zero = flat(&origin);
    let local = |at: &Point| (flat(at).0 - zero.0, flat(at).1 - zero.1);
    let mut holes: Vec<PlateHole> = Vec::new();
    let mut threads: Vec<f64> = Vec::new();
    for anchor in &chosen {
        let thread = thread_mm(anchor.kind, None).unwrap_or(6.0);
        threads.push(thread);
        let (name, at) = (anchor.name.clone(), local(&anchor.at));
        holes.push(PlateHole { name, at, diameter_mm: free_hole_mm(thread), pump: false });
    }
    for mount in &pattern.mounts {
        // One bolt goes through foot, plate and anchor where they lie over each other.
        let over = |anchor: &&Anchor| apart(flat(&anchor.at), flat(&mount.at)) <= play_mm;
        if chosen.iter().any(over) {
            continue;
        }
        let hole_mm = mount.mount.hole_mm.unwrap_or(6.6);
        let thread = THREADS.iter().rev().find(|it| it.1 <= hole_mm + 0.11).map_or(3.0, |it| it.0);
        threads.push(thread);
        let (name, at) = (mount.mount.name.clone(), local(&mount.at));
        holes.push(PlateHole { name, at, diameter_mm: free_hole_mm(thread), pump: true });
    }
    let clashes = pairs(holes.len())
        .filter(|(a, b)| apart(holes[*a].at, holes[*b].at) < APART_D * threads[*a].max(threads[*b]))
        .map(|(a, b)| {
            format!(
                "{} and {} are {:.0} mm apart; holes need {:.0} mm",
                holes[a].name,
                holes[b].name,
                apart(holes[a].at, holes[b].at),
                APART_D * threads[a].max(threads[b])
            )
        })
        .collect();
    let outline = outline(&holes, &threads);
    let lead = pattern.mounts.first()?;
    let over_mm = pattern.normal.dot(&(lead.at - origin));
    Some(Plate {
        outline,
        holes,
        origin,
        first: pattern.first,
        normal: pattern.normal,
        thickness_mm: PLATE_MM,
        spacer_mm: (over_mm - PLATE_MM).max(0.0),
        clashes,
    })
}

fn free_hole_mm(thread: f64) -> f64 {
    THREADS.iter().find(|it| it.0 >= thread - 1e-9).map_or(1.1 * thread, |it| it.1)
}

/// The convex outline that leaves 2 diameters round the centre of every hole, its corners rounded as
/// polygons of 16 sides drawn round the circle.
fn outline(holes: &[PlateHole], threads: &[f64]) -> Vec<(f64, f64)> {
    let sides = 16;
    let step = std::f64::consts::TAU / f64::from(sides);
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (hole, thread) in holes.iter().zip(threads) {
        let radius = EDGE_D * thread / (step / 2.0).cos();
        for side in 0..sides {
            let angle = step * (f64::from(side) + 0.5);
            points.push((hole.at.0 + radius * angle.cos(), hole.at.1 + radius * angle.sin()));
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let half = |points: &mut dyn Iterator<Item = &(f64, f64)>| {
        let mut chain: Vec<(f64, f64)> = Vec::new();
        for point in points {
            while let [.., a, b] = chain.as_slice() {
                if (b.0 - a.0) * (point.1 - a.1) - (b.1 - a.1) * (point.0 - a.0) > 1e-9 {
                    break;
                }
                chain.pop();
            }
            chain.push(*point);
        }
        chain.pop();
        chain
    };
    let below = half(&mut points.iter());
    let above = half(&mut points.iter().rev());
    below.into_iter().chain(above).collect()
}
