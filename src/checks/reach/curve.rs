//! Centrelines of bounded curvature: arcs of the smallest radius joined by straights.

use super::corners::Corners;
use crate::model::{Point, Vector};

/// Spacing of the points along a drawn and checked centreline, mm.
const SPACING_MM: f64 = 4.0;

/// A point with the direction that a line has there, unit length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// Where.
    pub at: Point,
    /// Which way the line runs there, in its own sense.
    pub towards: Vector,
}

/// A centreline made of arcs and straights.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its length, mm; exact, not the length of the polyline.
    pub length_mm: f64,
    /// Points along it, at most 4 mm apart, ends included.
    pub points: Vec<Point>,
    /// Sum of the angles it turns through, degrees.
    pub turn_deg: f64,
    /// What it is made of, in order.
    parts: Vec<Part>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    Straight(Point, Point),
    Arc(Arc),
    /// An arc run through from its far end.
    Back(Arc),
}

impl Curve {
    pub(super) fn begin(at: Point) -> Curve {
        Curve { length_mm: 0.0, points: vec![at], turn_deg: 0.0, parts: Vec::new() }
    }

    pub(super) fn straight(&mut self, to: Point) {
        let from = self.end();
        let length = (to - from).norm();
        let parts = (length / SPACING_MM).ceil().max(1.0) as usize;
        for part in 1..=parts {
            self.points.push(from + (to - from) * (part as f64 / parts as f64));
        }
        self.length_mm += length;
        self.parts.push(Part::Straight(from, to));
    }

    pub(super) fn arc(&mut self, arc: &Arc) {
        let length = arc.radius_mm * arc.angle;
        let parts = (length / SPACING_MM).ceil().max(1.0) as usize;
        for part in 1..=parts {
            self.points.push(arc.point(arc.angle * part as f64 / parts as f64));
        }
        self.length_mm += length;
        self.turn_deg += arc.angle.to_degrees();
        self.parts.push(Part::Arc(*arc));
    }

    /// Points of its arcs and straights themselves, at most `spacing_mm` apart, ends included.
    pub fn sampled(&self, spacing_mm: f64) -> Vec<Point> {
        let mut points: Vec<Point> = self.points.first().copied().into_iter().collect();
        for part in &self.parts {
            let length_mm = match part {
                Part::Straight(from, to) => (to - from).norm(),
                Part::Arc(arc) | Part::Back(arc) => arc.radius_mm * arc.angle,
            };
            let steps = (length_mm / spacing_mm).ceil().max(1.0) as usize;
            points.extend((1..=steps).map(|step| {
                let share = step as f64 / steps as f64;
                match part {
                    Part::Straight(from, to) => from + (to - from) * share,
                    Part::Arc(arc) => arc.point(arc.angle * share),
                    Part::Back(arc) => arc.point(arc.angle * (1.0 - share)),
                }
            }));
        }
        points
    }

    /// The same followed by another that begins where it ends.
    pub(super) fn and(mut self, next: Curve) -> Curve {
        self.length_mm += next.length_mm;
        self.turn_deg += next.turn_deg;
        self.points.extend(next.points.into_iter().skip(1));
        self.parts.extend(next.parts);
        self
    }

    /// The angles of its first and last bends, degrees; 0 where it is straight.
    pub fn end_turns_deg(&self) -> (f64, f64) {
        let turn = |part: &Part| match part {
            Part::Straight(..) => None,
            Part::Arc(arc) | Part::Back(arc) => (arc.angle > 1e-6).then(|| arc.angle.to_degrees()),
        };
        let first = self.parts.iter().find_map(turn);
        (first.unwrap_or(0.0), self.parts.iter().rev().find_map(turn).unwrap_or(0.0))
    }

    /// The smallest radius that it bends at, mm, and the middle of the longest bend that tight; none where
    /// it is straight.
    pub fn tightest(&self) -> Option<(f64, Point)> {
        let bends = self.parts.iter().filter_map(|part| match part {
            Part::Straight(..) => None,
            Part::Arc(arc) | Part::Back(arc) => (arc.angle > 1e-6).then_some(arc),
        });
        let tight = bends
            .min_by(|a, b| a.radius_mm.total_cmp(&b.radius_mm).then(b.angle.total_cmp(&a.angle)))?;
        Some((tight.radius_mm, tight.point(tight.angle / 2.0)))
    }

    /// The same with a straight of its own before and after it.
    pub(super) fn with_leads(self, exit: Point, port: Point) -> Curve {
        let mut whole = Curve::begin(exit);
        let Some(first) = self.points.first() else { return whole };
        whole.parts.push(Part::Straight(exit, *first));
        whole.length_mm = (first - exit).norm() + self.length_mm;
        whole.turn_deg = self.turn_deg;
        whole.points.extend(self.points);
        whole.parts.extend(self.parts);
        let last = whole.end();
        whole.length_mm += (port - last).norm();
        whole.parts.push(Part::Straight(last, port));
        whole.points.push(port);
        whole
    }

    pub(super) fn end(&self) -> Point {
        self.points.last().copied().unwrap_or_else(Point::origin)
    }
}

/// A circular turn that begins at `from` along `towards` and bends to the side of `inward`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arc {
    pub(super) from: Point,
    pub(super) towards: Vector,
    pub(super) inward: Vector,
    pub(super) radius_mm: f64,
    pub(super) angle: f64,
}

impl Arc {
    pub(super) fn point(&self, angle: f64) -> Point {
        self.from
            + self.towards * (self.radius_mm * angle.sin())
            + self.inward * (self.radius_mm * (1.0 - angle.cos()))
    }

    fn end(&self) -> Point {
        self.point(self.angle)
    }
}

/// The turn that leaves `from` and then heads straight at `target`; `away` turns with the circle on
/// the far side. None when the target lies within the turning circle.
fn turn_to(from: &End, target: &Point, radius_mm: f64, away: bool) -> Option<Arc> {
    let offset = target - from.at;
    let ahead = offset.dot(&from.towards);
    let sideways = offset - from.towards * ahead;
    let mut inward = sideways.try_normalize(1e-9).unwrap_or_else(|| {
        // Straight ahead or straight behind: any side will do.
        crate::geometry::across(&from.towards).0
    });
    let mut aside = sideways.dot(&inward);
    if away {
        inward = -inward;
        aside = -aside;
    }
    // In the plane of `towards` and `inward`: begin at (0, 0), circle about (0, radius).
    let (dx, dy) = (ahead, aside - radius_mm);
    let distance = dx.hypot(dy);
    if distance < radius_mm - 1e-9 {
        return None;
    }
    let leave = dy.atan2(dx) - (radius_mm / distance).min(1.0).acos();
    let mut angle = (leave + std::f64::consts::FRAC_PI_2).rem_euclid(std::f64::consts::TAU);
    if angle > std::f64::consts::TAU - 1e-9 {
        angle = 0.0;
    }
    Some(Arc { from: from.at, towards: from.towards, inward, radius_mm, angle })
}

fn reversed(end: &End) -> End {
    End { at: end.at, towards: -end.towards }
}

/// The shortest arc–straight–arc centreline in space from `from` to `to` with turns of
/// `radius_mm`; each arc lies in the plane of its end's direction and the straight. None when the
/// ends are too close together for one.
///
/// In a plane this is the shortest curve of bounded curvature whenever that has a straight middle
/// part (Dubins 1957).
///
/// Method: two, and the shorter answer counts. Each end turns towards the other's tangent point until
/// both stand still; this takes turns of half a circle in its stride but doesn't always settle. And
/// the direction of the straight settles both arcs, for an arc of radius R from direction a to
/// direction b moves by R tan(θ/2) (a + b), and by the negative of that when it turns the long way
/// round: Newton's method on that direction, from up to 24 beginnings, for each choice of turns.
///
/// ```
/// use dryberth::checks::reach::{End, arc_straight_arc};
/// use dryberth::model::{Point, Vector};
/// // Two quarter turns of radius 1 and a straight of 2.
/// let from = End { at: Point::origin(), towards: Vector::y() };
/// let to = End { at: Point::new(4.0, 0.0, 0.0), towards: -Vector::y() };
/// let curve = arc_straight_arc(&from, &to, 1.0).unwrap();
/// assert!((curve.length_mm - (2.0 + std::f64::consts::PI)).abs() < 1e-6);
/// ```
pub fn arc_straight_arc(from: &End, to: &End, radius_mm: f64) -> Option<Curve> {
    joined(from, to, radius_mm).map(|joined| joined.curve())
}

/// Two arcs and the straight between their ends; the last arc runs backwards from its end.
pub(super) struct Joined {
    pub(super) first: Arc,
    pub(super) last: Arc,
    length_mm: f64,
}

impl Joined {
    fn of(first: Arc, last: Arc) -> Joined {
        let straight_mm = (last.end() - first.end()).norm();
        let length_mm = straight_mm + first.radius_mm * (first.angle + last.angle);
        Joined { first, last, length_mm }
    }

    fn curve(&self) -> Curve {
        let mut curve = Curve::begin(self.first.from);
        curve.arc(&self.first);
        curve.straight(self.last.end());
        append_reversed(&mut curve, &self.last);
        curve.length_mm = self.length_mm;
        curve
    }
}

/// The shortest of the ways that [`arc_straight_arc`] knows.
pub(super) fn joined(from: &End, to: &End, radius_mm: f64) -> Option<Joined> {
    let choices = [(false, false), (false, true), (true, false), (true, true)];
    let turned = choices
        .iter()
        .filter_map(|&(first, last)| take_turns(from, to, radius_mm, first, last))
        .min_by(|a, b| a.length_mm.total_cmp(&b.length_mm));
    if let Some(turned) = &turned
        && turned.first.angle + turned.last.angle <= std::f64::consts::PI
        && (to.at - from.at).norm() >= 4.0 * radius_mm
    {
        // Far ends and no more than half a circle of turns: nothing shorter was ever found (tested).
        return Some(Joined { ..*turned });
    }
    let mut best: Option<Joint> = None;
    for (first_long, last_long) in choices {
        let join = Join { from, to, radius_mm, first_long, last_long };
        for begin in beginnings(from, to, radius_mm) {
            if let Some(joint) = join.settle(begin)
                && best.as_ref().is_none_or(|best| joint.length_mm < best.length_mm - 1e-9)
            {
                best = Some(joint);
            }
        }
    }
    match (best, turned) {
        (Some(joint), Some(turned)) if turned.length_mm <= joint.length_mm => Some(turned),
        (Some(joint), _) => Some(joint.joined(from, to, radius_mm)),
        (None, turned) => turned,
    }
}

/// A free way between two ends as corners, for a search to begin with: the shortest of arc–straight–arc,
/// three arcs in a plane through the ends, and ways past a point aside where neither is there.
///
/// Where both ends lie in one plane this is the shortest curve of bounded curvature (Dubins 1957).
pub(super) fn free_corners(from: &End, to: &End, radius_mm: f64) -> Option<Corners> {
    let straight = joined(from, to, radius_mm)
        .map(|joined| Corners::of_arcs(&joined.first, &joined.last, radius_mm))
        .filter(|corners| corners.meets(from, to) && corners.fits());
    let turns = three_turns(from, to, radius_mm);
    let length = |corners: &Corners| corners.measures().length_mm;
    straight
        .into_iter()
        .chain(turns)
        .min_by(|a, b| length(a).total_cmp(&length(b)))
        .or_else(|| aside_corners(from, to, radius_mm))
}

/// Ways of three arcs, each bending the other way than the one before, in the planes through the ends: short
/// ones where the ends are near together.
fn three_turns(from: &End, to: &End, radius_mm: f64) -> Vec<Corners> {
    let offset = to.at - from.at;
    if offset.norm() > 4.0 * radius_mm {
        return Vec::new();
    }
    let planes = [
        from.towards.cross(&offset),
        to.towards.cross(&offset),
        from.towards.cross(&to.towards) * radius_mm,
        crate::geometry::across(&from.towards).0 * radius_mm,
    ];
    let mut found = Vec::new();
    for normal in planes.iter().filter_map(|normal| normal.try_normalize(1e-6 * radius_mm)) {
        // Both ends must lie in it.
        let off = normal.dot(&offset).abs() / radius_mm
            + normal.dot(&from.towards).abs()
            + normal.dot(&to.towards).abs();
        if off > 1e-9 {
            continue;
        }
        for side in [1.0, -1.0] {
            let left = |way: &Vector| normal.cross(way) * side;
            let first = from.at + left(&from.towards) * radius_mm;
            let last = to.at + left(&to.towards) * radius_mm;
            let apart = last - first;
            let half_mm = apart.norm() / 2.0;
            let Some(along) = apart.try_normalize(1e-9) else { continue };
            if half_mm > 2.0 * radius_mm {
                continue;
            }
            let aside_mm = (4.0 * radius_mm * radius_mm - half_mm * half_mm).max(0.0).sqrt();
            for beside in [1.0, -1.0] {
                let middle = first + along * half_mm + normal.cross(&along) * (beside * aside_mm);
                let meets = [nalgebra::center(&first, &middle), nalgebra::center(&middle, &last)];
                // Angles are counted the way that each circle is gone round.
                let turn = |about: &Point, a: &Point, b: &Point, way: f64| {
                    let (a, b) = ((a - about) / radius_mm, (b - about) / radius_mm);
                    let angle = normal.dot(&a.cross(&b)).atan2(a.dot(&b)) * way;
                    let whole = angle.rem_euclid(std::f64::consts::TAU);
                    if whole > std::f64::consts::TAU - 1e-9 { 0.0 } else { whole }
                };
                let arc = |about: &Point, a: &Point, b: &Point, way: f64| {
                    let inward = (about - a) / radius_mm;
                    let towards = inward.cross(&normal) * way;
                    Arc { from: *a, towards, inward, radius_mm, angle: turn(about, a, b, way) }
                };
                let arcs = [
                    arc(&first, &from.at, &meets[0], side),
                    arc(&middle, &meets[0], &meets[1], -side),
                    arc(&last, &meets[1], &to.at, side),
                ];
                let corners = Corners::of_turns(&arcs, to.at, radius_mm);
                if corners.meets(from, to) && corners.fits() {
                    found.push(corners);
                }
            }
        }
    }
    found
}

fn aside_corners(from: &End, to: &End, radius_mm: f64) -> Option<Corners> {
    let (via, _) = past_one(from, to, radius_mm)?;
    let first = turn_to(from, &via, radius_mm, false)?;
    let last = turn_to(&reversed(to), &via, radius_mm, false)?;
    let mut corners = Corners::of_arcs(&first, &last, radius_mm);
    let at = corners.nodes.len() / 2;
    // Between the corners of the first arc and those of the last.
    let place = (1..corners.nodes.len() - 1)
        .filter(|node| {
            (corners.nodes[*node] - first.from).norm() <= (corners.nodes[*node] - last.from).norm()
        })
        .count()
        .max(1)
        .min(at.max(1));
    corners.nodes.insert(place + 1, via);
    Some(corners)
}

/// Turns each end towards the other's tangent point until both stand still; `away` ends turn with
/// their circle on the far side.
fn take_turns(
    from: &End,
    to: &End,
    radius_mm: f64,
    first_away: bool,
    last_away: bool,
) -> Option<Joined> {
    let back = reversed(to);
    let mut leave = from.at;
    let mut arrive = to.at;
    for _ in 0..200 {
        let first = turn_to(from, &arrive, radius_mm, first_away)?;
        let last = turn_to(&back, &first.end(), radius_mm, last_away)?;
        let moved = (first.end() - leave).norm() + (last.end() - arrive).norm();
        leave = first.end();
        arrive = last.end();
        if moved < 1e-11 * radius_mm {
            let straight = arrive - leave;
            let tangent = first.towards * first.angle.cos() + first.inward * first.angle.sin();
            let run_mm = straight.norm();
            if run_mm > 1e-6 * radius_mm && straight.dot(&tangent) < run_mm * (1.0 - 1e-9) {
                return None; // crossing circles: the arcs would meet in a kink
            }
            let arrival = last.towards * last.angle.cos() + last.inward * last.angle.sin();
            if run_mm <= 1e-6 * radius_mm && tangent.dot(&arrival) > -1.0 + 1e-9 {
                return None; // the same where they touch
            }
            return Some(Joined::of(first, last));
        }
    }
    None
}

/// Directions from which a straight is looked for: the chord and both ends' own, the straights of the
/// plane case in three planes through the ends, and nine spread over the sphere.
fn beginnings(from: &End, to: &End, radius_mm: f64) -> Vec<Vector> {
    let offset = to.at - from.at;
    let chord = offset.try_normalize(1e-9).unwrap_or(from.towards);
    let mut all = vec![chord, from.towards, to.towards];
    for across in
        [from.towards.cross(&chord), to.towards.cross(&chord), from.towards.cross(&to.towards)]
    {
        if let Some(normal) = across.try_normalize(1e-9) {
            plane_straights(from, to, &normal, radius_mm, &mut all);
        }
    }
    // A spiral of equal steps in height and golden turns.
    all.extend((0..9).map(|step| {
        let height = 1.0 - (f64::from(step) + 0.5) * 2.0 / 9.0;
        let angle = f64::from(step) * 2.399_963_229_728_653;
        let flat = (1.0 - height * height).sqrt();
        Vector::new(flat * angle.cos(), flat * angle.sin(), height)
    }));
    all
}

/// The common tangents of the turning circles to either side, seen in the plane across `normal`.
fn plane_straights(from: &End, to: &End, normal: &Vector, radius_mm: f64, found: &mut Vec<Vector>) {
    let flat = |way: &Vector| way - normal * normal.dot(way);
    let (Some(leave), Some(arrive)) =
        (flat(&from.towards).try_normalize(1e-6), flat(&to.towards).try_normalize(1e-6))
    else {
        return;
    };
    for first in [1.0, -1.0] {
        for last in [1.0, -1.0] {
            let centres = flat(&(to.at - from.at)) + normal.cross(&arrive) * (last * radius_mm)
                - normal.cross(&leave) * (first * radius_mm);
            let distance = centres.norm();
            if distance < 1e-9 * radius_mm {
                continue;
            }
            let along = centres / distance;
            // Circles turned the same way share outer tangents, otherwise inner ones.
            let lean = (first - last) * radius_mm / distance;
            if lean.abs() <= 1.0 {
                let aside = normal.cross(&along);
                found.push(along * (1.0 - lean * lean).sqrt() + aside * lean);
            }
        }
    }
}

/// One choice of turns.
struct Join<'a> {
    from: &'a End,
    to: &'a End,
    radius_mm: f64,
    first_long: bool,
    last_long: bool,
}

/// A straight that meets both arcs.
struct Joint {
    straight: Vector,
    first_angle: f64,
    last_angle: f64,
    length_mm: f64,
}

impl Join<'_> {
    /// What is left for the straight when it runs along `straight`; none where an arc would turn by
    /// nearly half a circle and its plane is lost.
    fn rest(&self, straight: &Vector) -> Option<Vector> {
        let arc = |a: &Vector, b: &Vector, long: bool| {
            let cosine = a.dot(b).clamp(-1.0, 1.0);
            if cosine < -1.0 + 1e-9 {
                return None;
            }
            let half_tangent = ((1.0 - cosine) / (1.0 + cosine)).sqrt();
            Some((a + b) * (self.radius_mm * half_tangent * if long { -1.0 } else { 1.0 }))
        };
        let first = arc(&self.from.towards, straight, self.first_long)?;
        let last = arc(straight, &self.to.towards, self.last_long)?;
        Some(self.to.at - self.from.at - first - last)
    }

    /// Newton's method for a rest along the straight itself.
    fn settle(&self, begin: Vector) -> Option<Joint> {
        let scale = (self.to.at - self.from.at).norm() + self.radius_mm;
        let mut straight = begin;
        for _ in 0..40 {
            let (u, v) = crate::geometry::across(&straight);
            let off = |way: &Vector| {
                let rest = self.rest(way)?;
                Some(nalgebra::Vector2::new(rest.dot(&u), rest.dot(&v)))
            };
            // Measured across the direction itself, so that at the root both vanish.
            let miss = off(&straight)?;
            if miss.norm() < 1e-11 * scale {
                return self.joint(straight);
            }
            let nudge = 1e-7;
            let across_mm = |way: Vector| {
                let rest = self.rest(&way)?;
                let (a, b) = (u - way * u.dot(&way), v - way * v.dot(&way));
                Some(nalgebra::Vector2::new(rest.dot(&a), rest.dot(&b)))
            };
            let along_u = (across_mm((straight + u * nudge).normalize())? - miss) / nudge;
            let along_v = (across_mm((straight + v * nudge).normalize())? - miss) / nudge;
            let slope = nalgebra::Matrix2::from_columns(&[along_u, along_v]);
            let step = slope.try_inverse()? * miss;
            let length = step.norm();
            if !length.is_finite() {
                return None;
            }
            // No more than a tenth of a turn at once.
            let step = step * (0.6 / length.max(0.6));
            straight = (straight - u * step.x - v * step.y).normalize();
        }
        // Slow at a double root: near enough is still exact to a millionth.
        let rest = self.rest(&straight)?;
        let miss = rest - straight * straight.dot(&rest);
        (miss.norm() < 1e-7 * scale).then(|| self.joint(straight)).flatten()
    }

    fn joint(&self, straight: Vector) -> Option<Joint> {
        let run_mm = self.rest(&straight)?.dot(&straight);
        if run_mm < -1e-7 * self.radius_mm {
            return None; // the arcs run into each other
        }
        let angle = |cosine: f64, long: bool| {
            let short = cosine.clamp(-1.0, 1.0).acos();
            if long { std::f64::consts::TAU - short } else { short }
        };
        let first_angle = angle(self.from.towards.dot(&straight), self.first_long);
        let last_angle = angle(straight.dot(&self.to.towards), self.last_long);
        let run_mm = run_mm.max(0.0);
        let length_mm = run_mm + self.radius_mm * (first_angle + last_angle);
        Some(Joint { straight, first_angle, last_angle, length_mm })
    }
}

impl Joint {
    fn joined(&self, from: &End, to: &End, radius_mm: f64) -> Joined {
        let first = bend(from, &self.straight, radius_mm, self.first_angle);
        let back = End { at: to.at, towards: -to.towards };
        let last = bend(&back, &-self.straight, radius_mm, self.last_angle);
        Joined { first, last, length_mm: self.length_mm }
    }
}

/// The arc from an end that comes to run along `onwards` after turning by `angle`, beyond half a
/// circle the long way round.
fn bend(from: &End, onwards: &Vector, radius_mm: f64, angle: f64) -> Arc {
    let sideways = onwards - from.towards * onwards.dot(&from.towards);
    let inward =
        sideways.try_normalize(1e-12).unwrap_or_else(|| crate::geometry::across(&from.towards).0);
    let inward = if angle > std::f64::consts::PI { -inward } else { inward };
    Arc { from: from.at, towards: from.towards, inward, radius_mm, angle }
}

fn append_reversed(curve: &mut Curve, arc: &Arc) {
    let mut back = Curve::begin(arc.from);
    back.arc(arc);
    curve.points.extend(back.points.iter().rev().skip(1));
    curve.parts.push(Part::Back(*arc));
    curve.length_mm += back.length_mm;
    curve.turn_deg += back.turn_deg;
}

/// A centreline from `from` past each of `vias` to `to`: a turn at either end and a rounded corner
/// at each via, all of `radius_mm`. None when the corners don't fit between the vias.
pub fn rounded(from: &End, vias: &[Point], to: &End, radius_mm: f64) -> Option<Curve> {
    let (Some(first), Some(last)) = (vias.first(), vias.last()) else {
        return arc_straight_arc(from, to, radius_mm);
    };
    let first_arc = turn_to(from, first, radius_mm, false)?;
    let last_arc = turn_to(&reversed(to), last, radius_mm, false)?;
    let mut corners = vec![first_arc.end()];
    corners.extend_from_slice(vias);
    corners.push(last_arc.end());
    let mut curve = Curve::begin(from.at);
    curve.arc(&first_arc);
    let mut used = 0.0;
    for window in corners.windows(3) {
        let (before, after) = (window[1] - window[0], window[2] - window[1]);
        let (run, next_run) = (before.norm(), after.norm());
        if run < 1e-9 || next_run < 1e-9 {
            return None;
        }
        let (towards, onwards) = (before / run, after / next_run);
        let angle = towards.dot(&onwards).clamp(-1.0, 1.0).acos();
        if angle > 3.0 {
            return None; // doubling back needs more room than a corner
        }
        let tangent = radius_mm * (angle / 2.0).tan();
        // A corner that fits exactly must not fail by rounding.
        let close = 1e-9 * radius_mm;
        if used + tangent > run + close || tangent > next_run + close {
            return None;
        }
        curve.straight(window[1] - towards * tangent);
        if let Some(inward) = (onwards - towards * angle.cos()).try_normalize(1e-9) {
            curve.arc(&Arc { from: curve.end(), towards, inward, radius_mm, angle });
        }
        used = tangent;
    }
    if used > (last_arc.end() - last).norm() + 1e-9 * radius_mm {
        return None;
    }
    curve.straight(last_arc.end());
    append_reversed(&mut curve, &last_arc);
    Some(curve)
}

/// A free centreline between two ends, whatever stands in between: arc–straight–arc, or past one
/// point aside where the ends are too close for that.
pub fn unobstructed(from: &End, to: &End, radius_mm: f64) -> Option<Curve> {
    if let Some(curve) = arc_straight_arc(from, to, radius_mm) {
        return Some(curve);
    }
    past_one(from, to, radius_mm).map(|(_, curve)| curve)
}

/// The shortest way past one point aside, of those tried, and that point.
fn past_one(from: &End, to: &End, radius_mm: f64) -> Option<(Point, Curve)> {
    let middle = nalgebra::center(&from.at, &to.at);
    let mut best: Option<(Point, Curve)> = None;
    for stretch in [1.0, 1.5, 2.0, 3.0, 4.0, 6.0] {
        for turn in 0..27 {
            let side = [turn % 3, turn / 3 % 3, turn / 9].map(|step| f64::from(step) - 1.0);
            let Some(side) = Vector::from(side).try_normalize(0.5) else { continue };
            let via = middle + side * (radius_mm * stretch);
            if let Some(curve) = rounded(from, &[via], to, radius_mm)
                && best.as_ref().is_none_or(|(_, best)| curve.length_mm < best.length_mm)
            {
                best = Some((via, curve));
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_rounded_with_its_arc() {
        // Legs of 100 mm round a right angle, radius 40: 60 + 60 straight and a quarter of 40.
        let from = End { at: Point::origin(), towards: Vector::x() };
        let to = End { at: Point::new(100.0, 100.0, 0.0), towards: Vector::y() };
        let curve = rounded(&from, &[Point::new(100.0, 0.0, 0.0)], &to, 40.0).expect("it fits");
        let expected = 120.0 + 40.0 * std::f64::consts::FRAC_PI_2;
        assert!((curve.length_mm - expected).abs() < 1e-9, "{}", curve.length_mm);
        assert!(rounded(&from, &[Point::new(100.0, 0.0, 0.0)], &to, 120.0).is_none());
    }

    #[test]
    fn ends_too_close_for_a_straight_still_get_a_way() {
        let from = End { at: Point::origin(), towards: Vector::x() };
        let to = End { at: Point::new(0.0, 30.0, 0.0), towards: Vector::x() };
        let curve = unobstructed(&from, &to, 40.0).expect("a loop");
        assert!(curve.length_mm > 120.0);
    }

    #[test]
    fn turning_about_on_the_spot_takes_three_arcs() {
        // 60° out, 300° round and 60° back, on three circles that touch: 7π/3 of the radius (Dubins 1957).
        let from = End { at: Point::origin(), towards: Vector::x() };
        for towards in [Vector::x(), Vector::y(), Vector::new(1.0, 2.0, -0.5).normalize()] {
            let from = End { towards, ..from };
            let to = End { at: from.at, towards: -towards };
            let corners = free_corners(&from, &to, 40.0).expect("a way");
            let expected = 7.0 / 3.0 * std::f64::consts::PI * 40.0;
            assert!((corners.measures().length_mm - expected).abs() < 1e-6);
            let curve = corners.curve();
            assert!((curve.end() - to.at).norm() < 1e-6);
        }
        // Facing ends that touch need nothing.
        let nothing = free_corners(&from, &from, 40.0).expect("a way");
        assert!(nothing.measures().length_mm.abs() < 1e-9);
    }
}
