//! Centrelines of bounded curvature: arcs of the smallest radius joined by straights.

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
}

impl Curve {
    fn begin(at: Point) -> Curve {
        Curve { length_mm: 0.0, points: vec![at], turn_deg: 0.0 }
    }

    fn straight(&mut self, to: Point) {
        let from = self.end();
        let length = (to - from).norm();
        let parts = (length / SPACING_MM).ceil().max(1.0) as usize;
        for part in 1..=parts {
            self.points.push(from + (to - from) * (part as f64 / parts as f64));
        }
        self.length_mm += length;
    }

    fn arc(&mut self, arc: &Arc) {
        let length = arc.radius_mm * arc.angle;
        let parts = (length / SPACING_MM).ceil().max(1.0) as usize;
        for part in 1..=parts {
            self.points.push(arc.point(arc.angle * part as f64 / parts as f64));
        }
        self.length_mm += length;
        self.turn_deg += arc.angle.to_degrees();
    }

    fn end(&self) -> Point {
        self.points.last().copied().unwrap_or_else(Point::origin)
    }
}

/// A circular turn that begins at `from` along `towards` and bends to the side of `inward`.
#[derive(Debug, Clone, Copy)]
struct Arc {
    from: Point,
    towards: Vector,
    inward: Vector,
    radius_mm: f64,
    angle: f64,
}

impl Arc {
    fn point(&self, angle: f64) -> Point {
        self.from
            + self.towards * (self.radius_mm * angle.sin())
            + self.inward * (self.radius_mm * (1.0 - angle.cos()))
    }

    fn end(&self) -> Point {
        self.point(self.angle)
    }
}

/// The turn that leaves `from` and then heads straight at `target`. `away` turns the long way
/// round, with the circle on the far side. None when the target lies within the turning circle.
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
    let sides = [(false, false), (false, true), (true, false), (true, true)];
    sides
        .iter()
        .filter_map(|&(first, last)| settle(from, to, radius_mm, first, last))
        .min_by(|a, b| a.length_mm.total_cmp(&b.length_mm))
}

/// Turns each end towards the other's tangent point until both stand still.
fn settle(from: &End, to: &End, radius_mm: f64, first: bool, last: bool) -> Option<Curve> {
    let back = reversed(to);
    let mut leave = from.at;
    let mut arrive = to.at;
    for _ in 0..200 {
        let first_arc = turn_to(from, &arrive, radius_mm, first)?;
        let last_arc = turn_to(&back, &first_arc.end(), radius_mm, last)?;
        let moved = (first_arc.end() - leave).norm() + (last_arc.end() - arrive).norm();
        leave = first_arc.end();
        arrive = last_arc.end();
        if moved < 1e-9 {
            return joined(from, &first_arc, &last_arc);
        }
    }
    None
}

fn joined(from: &End, first: &Arc, last: &Arc) -> Option<Curve> {
    let straight = last.end() - first.end();
    let tangent = first.towards * first.angle.cos() + first.inward * first.angle.sin();
    if straight.norm() > 1e-6 && straight.dot(&tangent) < 0.0 {
        return None; // the tangents run into each other
    }
    let mut curve = Curve::begin(from.at);
    curve.arc(first);
    curve.straight(last.end());
    append_reversed(&mut curve, last);
    Some(curve)
}

fn append_reversed(curve: &mut Curve, arc: &Arc) {
    let mut back = Curve::begin(arc.from);
    back.arc(arc);
    curve.points.extend(back.points.iter().rev().skip(1));
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
        if used + tangent > run || tangent > next_run {
            return None;
        }
        curve.straight(window[1] - towards * tangent);
        if let Some(inward) = (onwards - towards * angle.cos()).try_normalize(1e-9) {
            curve.arc(&Arc { from: curve.end(), towards, inward, radius_mm, angle });
        }
        used = tangent;
    }
    if used > (last_arc.end() - last).norm() {
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
    let middle = nalgebra::center(&from.at, &to.at);
    let mut best: Option<Curve> = None;
    for stretch in [1.0, 1.5, 2.0, 3.0, 4.0, 6.0] {
        for turn in 0..27 {
            let side = [turn % 3, turn / 3 % 3, turn / 9].map(|step| f64::from(step) - 1.0);
            let Some(side) = Vector::from(side).try_normalize(0.5) else { continue };
            let via = middle + side * (radius_mm * stretch);
            if let Some(curve) = rounded(from, &[via], to, radius_mm)
                && best.as_ref().is_none_or(|best| curve.length_mm < best.length_mm)
            {
                best = Some(curve);
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
}
