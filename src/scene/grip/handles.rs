//! The handles round the pump: where they are drawn, and which one is under the pointer.

use bevy_egui::egui::{Pos2, Vec2};

use super::axis;
use crate::model::{Place, Point, Vector};
use crate::scene::orbit::Orbit;

/// Something that a pointer can take, by its number: 0 to 2 the axes, 3 to 5 the rings of yaw, pitch
/// and roll, 6 the square.
pub(crate) const SQUARE: usize = 6;

/// Length of an axis handle and radius of the ring, points of the window.
pub(crate) const HANDLE: f64 = 92.0;

/// Length of the arrow's head at the end of a handle, points.
pub(crate) const HEAD: f32 = 14.0;

/// How near the pointer must come to a handle, points.
const NEAR: f32 = 9.0;

/// Corners of an axis handle: from the pump's middle to its tip.
pub(crate) fn handle_tip(orbit: &Orbit, at: &Point, index: usize) -> Point {
    at + axis(index) * (orbit.mm_per_point(at) * HANDLE)
}

/// The axis that a turn goes about: the turned front for roll, the yawed left for pitch, up for yaw.
pub(crate) fn turn_axis(place: &Place, turn: usize) -> Vector {
    let yaw =
        nalgebra::Rotation3::from_axis_angle(&Vector::z_axis(), place.turn_deg.2.to_radians());
    match turn {
        0 => place.pose().rotation * Vector::x(),
        1 => yaw * Vector::y(),
        _ => Vector::z(),
    }
}

/// Points of the ring of a turn, closed.
fn ring(orbit: &Orbit, at: &Point, place: &Place, turn: usize) -> Vec<Point> {
    let radius_mm = orbit.mm_per_point(at) * HANDLE * if turn == 2 { 0.8 } else { 0.66 };
    let (u, v) = crate::geometry::across(&turn_axis(place, turn));
    (0..=48)
        .map(|step| {
            let angle = std::f64::consts::TAU * f64::from(step) / 48.0;
            at + (u * angle.cos() + v * angle.sin()) * radius_mm
        })
        .collect()
}

/// Where the square is seen.
pub(crate) fn square(middle: Pos2) -> Pos2 {
    middle + Vec2::new(58.0, 58.0)
}

/// The strokes of a ring that can be taken: not those near the pump's middle, where the pump is, and
/// none when the ring is seen nearly edge on.
pub(crate) fn ring_strokes(
    orbit: &Orbit,
    at: &Point,
    place: &Place,
    turn: usize,
) -> Vec<(Pos2, Pos2)> {
    let Some(middle) = orbit.screen(at) else { return Vec::new() };
    let facing = (at - orbit.eye())
        .try_normalize(1e-9)
        .map_or(0.0, |way| way.dot(&turn_axis(place, turn)).abs());
    if turn != 2 && facing < 0.25 {
        return Vec::new();
    }
    let corners: Vec<Pos2> =
        ring(orbit, at, place, turn).iter().filter_map(|point| orbit.screen(point)).collect();
    corners
        .windows(2)
        .map(|pair| (pair[0], pair[1]))
        .filter(|(a, _)| turn == 2 || (*a - middle).length() > HANDLE as f32 * 0.4)
        .collect()
}

/// The handle under the pointer, if any: an axis first, then the square, then a ring.
pub(crate) fn handle_under(
    orbit: &Orbit,
    at: &Point,
    place: &Place,
    pointer: Pos2,
) -> Option<usize> {
    let seen = |point: &Point| orbit.screen(point);
    let middle = seen(at)?;
    let axes = (0..3).filter_map(|index| {
        let tip = seen(&handle_tip(orbit, at, index))?;
        // The innermost part belongs to the pump, not to its handles.
        let start = middle + (tip - middle) * 0.35;
        // The arrow's head stands on the end of the stroke.
        let end = tip + (tip - middle).normalized() * HEAD;
        let away = distance_to_stroke(pointer, start, end);
        ((tip - middle).length() > 14.0 && away < NEAR).then_some((index, away))
    });
    if let Some((index, _)) = axes.min_by(|a, b| a.1.total_cmp(&b.1)) {
        return Some(index);
    }
    if (square(middle) - pointer).length() < NEAR {
        return Some(SQUARE);
    }
    [2, 1, 0]
        .into_iter()
        .find(|&turn| {
            ring_strokes(orbit, at, place, turn)
                .into_iter()
                .any(|(a, b)| distance_to_stroke(pointer, a, b) < NEAR * 0.7)
        })
        .map(|turn| 5 - turn)
}

/// How far a place in the window is from a stroke between two others, points.
pub(crate) fn distance_to_stroke(point: Pos2, from: Pos2, to: Pos2) -> f32 {
    let along = to - from;
    let share = ((point - from).dot(along) / along.length_sq().max(1e-6)).clamp(0.0, 1.0);
    (from + along * share - point).length()
}
