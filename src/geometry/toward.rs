//! The move that comes nearest to a goal on its side of some planes.

use crate::model::Vector;

/// The room that is kept while sliding along surfaces, mm: contact has no direction.
pub(super) const ROOM_MM: f64 = 1e-3;

/// The move nearest to `goal` that keeps to its side of every plane and is no longer than `reach_mm`.
///
/// Method: the plane most overstepped joins the at most three that hold the move so far, and the best
/// move that these four allow replaces it, until no plane is overstepped; then pulled back as far as
/// rounding asks.
pub(super) fn toward(goal: &Vector, kept: &[(Vector, f64)], reach_mm: f64) -> Vector {
    let goal = if goal.norm() > reach_mm { goal.normalize() * reach_mm } else { *goal };
    let planes: Vec<(Vector, f64)> =
        kept.iter().map(|(towards, room_mm)| (*towards, -(room_mm - ROOM_MM).max(0.0))).collect();
    let over = |plane: &(Vector, f64), by: &Vector| plane.1 - plane.0.dot(by);
    let mut by = goal;
    let mut holding: Vec<(Vector, f64)> = Vec::with_capacity(4);
    for _ in 0..200 {
        let worst = planes.iter().max_by(|a, b| over(a, &by).total_cmp(&over(b, &by)));
        let Some(worst) = worst.filter(|worst| over(worst, &by) > 1e-7) else { break };
        let Some((next, held)) = held_by(&goal, &holding, worst) else { break };
        by = next;
        holding = held;
    }
    let mut share = if by.norm() > reach_mm { reach_mm / by.norm() } else { 1.0_f64 };
    for (towards, room_mm) in kept {
        let along = towards.dot(&by);
        let most = -(room_mm - ROOM_MM).max(0.0) - room_mm.min(ROOM_MM) / 2.0;
        if along < most {
            share = share.min(most / along);
        }
    }
    by * share
}

/// The move nearest to `goal` on its side of the planes in `holding` and of `more`, and the planes of
/// these that it lies on; at most three.
fn held_by(
    goal: &Vector,
    holding: &[(Vector, f64)],
    more: &(Vector, f64),
) -> Option<(Vector, Vec<(Vector, f64)>)> {
    let count = holding.len();
    let mut best: Option<(f64, Vector, Vec<(Vector, f64)>)> = None;
    for pick in 0..1_usize << count {
        if pick.count_ones() > 2 {
            continue;
        }
        let mut on = vec![*more];
        on.extend((0..count).filter(|bit| pick >> bit & 1 == 1).map(|bit| holding[bit]));
        let Some(at) = nearest_on(goal, &on) else { continue };
        let kept = holding.iter().all(|plane| plane.0.dot(&at) >= plane.1 - 1e-9);
        let away = (at - goal).norm();
        if kept && best.as_ref().is_none_or(|(least, ..)| away < *least) {
            best = Some((away, at, on));
        }
    }
    best.map(|(_, at, on)| (at, on))
}

/// The point nearest to `goal` that lies on each of one to three planes; none when two are as good as
/// parallel.
fn nearest_on(goal: &Vector, planes: &[(Vector, f64)]) -> Option<Vector> {
    // Gram-Schmidt over the normals: walk to each plane without leaving those before.
    let mut at = *goal;
    let mut before: Vec<Vector> = Vec::with_capacity(3);
    for (normal, offset) in planes {
        let mut free = *normal;
        for known in &before {
            free -= known * known.dot(&free);
        }
        let size = free.norm();
        if size < 1e-6 {
            return None;
        }
        let free = free / size;
        at += free * ((offset - normal.dot(&at)) / size);
        before.push(free);
    }
    Some(at)
}
