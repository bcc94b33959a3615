//! A centreline given by its corners, each rounded at the bend radius.

use super::curve::{Arc, Curve, End};
use crate::model::{Point, Vector};

/// Arcs of a free way are taken apart into corners of at most this angle, radians.
const WIDEST: f64 = 1.6;

/// The widest angle that one corner may turn by, radians.
pub(super) const MOST_TURN: f64 = 2.6;

/// Ends and corners of a line: the first straight lies on the ray out of the first end, the last one on the
/// ray into the last end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corners {
    /// First end, corners, last end.
    pub(super) nodes: Vec<Point>,
    pub(super) radius_mm: f64,
}

/// Lengths, angles and tangents of a line of corners.
pub(super) struct Measures {
    /// Unit directions of the straights from node to node.
    pub(super) ways: Vec<Vector>,
    /// Distances from node to node, mm.
    pub(super) runs_mm: Vec<f64>,
    /// Angle at each node, radians; 0 at the ends.
    pub(super) angles: Vec<f64>,
    /// What each corner takes of the straights beside it, mm.
    pub(super) tangents_mm: Vec<f64>,
    /// Of arcs and straights, mm.
    pub(super) length_mm: f64,
}

impl Measures {
    /// What is left of a straight between its corners, mm; negative where they don't fit.
    pub(super) fn rest_mm(&self, run: usize) -> f64 {
        self.runs_mm[run] - self.tangents_mm[run] - self.tangents_mm[run + 1]
    }

    /// By how much the corners don't fit, mm; 0 where they do.
    pub(super) fn misfit_mm(&self, radius_mm: f64) -> f64 {
        let rests = (0..self.runs_mm.len()).map(|run| -self.rest_mm(run));
        let turns = self.angles.iter().map(|angle| (angle - MOST_TURN) * radius_mm);
        rests.chain(turns).fold(0.0, f64::max)
    }
}

impl Corners {
    /// The corners of two arcs joined by a straight.
    pub(super) fn of_arcs(first: &Arc, last: &Arc, radius_mm: f64) -> Corners {
        let mut nodes = vec![first.from];
        push_arc(first, &mut nodes);
        let mut back = vec![last.from];
        push_arc(last, &mut back);
        nodes.extend(back.into_iter().rev());
        let mut corners = Corners { nodes, radius_mm };
        if corners.nodes.len() < 4 {
            // An arc of no angle still leaves a corner on its ray, so that it can be moved.
            let (from, to) = (corners.nodes[0], corners.nodes[corners.nodes.len() - 1]);
            let run_mm = (to - from).norm();
            let ahead = first.from + first.towards * (run_mm / 3.0);
            let before = last.from + last.towards * (run_mm / 3.0);
            corners.nodes = match corners.nodes.len() {
                2 => vec![from, ahead, before, to],
                _ if first.angle <= last.angle => vec![from, ahead, corners.nodes[1], to],
                _ => vec![from, corners.nodes[1], before, to],
            };
        }
        corners
    }

    /// The corners of arcs that follow on each other without straights; the first begins at the line's
    /// first end and the last ends at `to`.
    pub(super) fn of_turns(arcs: &[Arc], to: Point, radius_mm: f64) -> Corners {
        let mut nodes: Vec<Point> = arcs.first().map(|arc| arc.from).into_iter().collect();
        arcs.iter().for_each(|arc| push_arc(arc, &mut nodes));
        nodes.push(to);
        Corners { nodes, radius_mm }
    }

    /// Whether it leaves and arrives along the ends' directions.
    pub(super) fn meets(&self, from: &End, to: &End) -> bool {
        let count = self.nodes.len();
        let along = |run: Vector, way: &Vector| {
            let run_mm = run.norm();
            run_mm < 1e-9 || run.dot(way) >= run_mm * (1.0 - 1e-9)
        };
        count >= 4
            && along(self.nodes[1] - self.nodes[0], &from.towards)
            && along(self.nodes[count - 1] - self.nodes[count - 2], &to.towards)
    }

    /// Whether its corners fit, but for rounding.
    pub(super) fn fits(&self) -> bool {
        self.measures().misfit_mm(self.radius_mm) <= 1e-7
    }

    pub(super) fn measures(&self) -> Measures {
        let count = self.nodes.len();
        let mut ways = Vec::with_capacity(count - 1);
        let mut runs_mm = Vec::with_capacity(count - 1);
        for pair in self.nodes.windows(2) {
            let run = pair[1] - pair[0];
            let run_mm = run.norm();
            runs_mm.push(run_mm);
            ways.push(if run_mm > 1e-12 { run / run_mm } else { Vector::zeros() });
        }
        let mut angles = vec![0.0; count];
        let mut tangents_mm = vec![0.0; count];
        let mut length_mm: f64 = runs_mm.iter().sum();
        for node in 1..count - 1 {
            let (before, after) = (&ways[node - 1], &ways[node]);
            let angle = before.cross(after).norm().atan2(before.dot(after));
            angles[node] = angle;
            tangents_mm[node] = self.radius_mm * (angle.min(3.1) / 2.0).tan();
            length_mm -= 2.0 * tangents_mm[node] - self.radius_mm * angle;
        }
        Measures { ways, runs_mm, angles, tangents_mm, length_mm }
    }

    /// The arc that rounds a corner; none where it doesn't turn.
    pub(super) fn arc(&self, measures: &Measures, node: usize) -> Option<Arc> {
        let (before, after) = (measures.ways[node - 1], measures.ways[node]);
        let angle = measures.angles[node];
        let inward = (after - before * before.dot(&after)).try_normalize(1e-9)?;
        Some(Arc {
            from: self.nodes[node] - before * measures.tangents_mm[node],
            towards: before,
            inward,
            radius_mm: self.radius_mm,
            angle,
        })
    }

    /// The straight between two corners' arcs.
    pub(super) fn straight(&self, measures: &Measures, run: usize) -> (Point, Point) {
        let way = measures.ways[run];
        (
            self.nodes[run] + way * measures.tangents_mm[run],
            self.nodes[run + 1] - way * measures.tangents_mm[run + 1],
        )
    }

    /// The centreline; its length is that of its arcs and straights.
    pub(super) fn curve(&self) -> Curve {
        let measures = self.measures();
        let mut curve = Curve::begin(self.nodes[0]);
        for run in 0..measures.runs_mm.len() {
            let (_, to) = self.straight(&measures, run);
            if (to - curve.end()).norm() > 1e-6 {
                curve.straight(to);
            }
            if run + 1 < measures.runs_mm.len()
                && let Some(arc) = self.arc(&measures, run + 1)
            {
                curve.arc(&arc);
            }
        }
        curve.length_mm = measures.length_mm;
        curve
    }

    /// A line past some places: a corner ahead of each end, and two where one would have to turn about.
    pub(super) fn past(from: &End, inner: &[Point], to: &End, radius_mm: f64) -> Corners {
        let (ahead, before) = (radius_mm * 0.6, radius_mm * 0.6);
        let mut nodes = vec![from.at, from.at + from.towards * ahead];
        for place in inner {
            if nodes.last().is_none_or(|last| (place - last).norm() > radius_mm * 0.2) {
                nodes.push(*place);
            }
        }
        let end = to.at - to.towards * before;
        if nodes.len() > 2
            && nodes.last().is_some_and(|last| (end - last).norm() <= radius_mm * 0.2)
        {
            nodes.pop();
        }
        nodes.push(end);
        nodes.push(to.at);
        let mut widened = vec![nodes[0]];
        for node in 1..nodes.len() - 1 {
            widened.push(nodes[node]);
            let came = (nodes[node] - nodes[node - 1]).try_normalize(1e-9).unwrap_or(from.towards);
            let goes = (nodes[node + 1] - nodes[node]).try_normalize(1e-9).unwrap_or(to.towards);
            if came.dot(&goes) < -0.5 {
                let side = (goes - came * came.dot(&goes))
                    .try_normalize(1e-6)
                    .unwrap_or_else(|| crate::geometry::across(&came).0);
                if node + 2 == nodes.len() {
                    // The last corner stays on its ray: the new one comes before it.
                    let last = widened.pop().unwrap_or(nodes[node]);
                    widened.push(last - side * (2.0 * radius_mm));
                    widened.push(last);
                } else {
                    widened.push(nodes[node] + side * (2.0 * radius_mm));
                }
            }
        }
        widened.push(to.at);
        Corners { nodes: widened, radius_mm }
    }
}

fn push_arc(arc: &Arc, nodes: &mut Vec<Point>) {
    if arc.angle < 1e-9 {
        return;
    }
    let parts = (arc.angle / WIDEST).ceil().max(1.0) as usize;
    let part = arc.angle / parts as f64;
    for step in 0..parts {
        let begin = part * step as f64;
        let towards = arc.towards * begin.cos() + arc.inward * begin.sin();
        nodes.push(arc.point(begin) + towards * (arc.radius_mm * (part / 2.0).tan()));
    }
}
