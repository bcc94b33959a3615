//! Moving the pump with the pointer: over surfaces, along an axis, round the vertical.
//!
//! Pure questions about rays and places; the viewport asks them.

mod handles;

use bevy_egui::egui::{Pos2, Vec2};
pub(crate) use handles::{
    HANDLE, HEAD, SQUARE, distance_to_stroke, handle_tip, handle_under, ring_strokes, square,
    turn_axis,
};

use super::bodies::surfaces;
use super::orbit::Orbit;
use super::view::View;
use crate::checks::Boot;
use crate::geometry::RayHit;
use crate::model::{Place, Point, Pose, Vector};

/// What the pointer has hold of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Hold {
    /// The pump itself: it slides over what lies under the pointer.
    Body {
        /// From the pointer to where the pump's foot is seen, points.
        off: Vec2,
    },
    /// An axis handle: 0 forward, 1 left, 2 up.
    Axis {
        /// Which axis.
        axis: usize,
        /// Where along the axis it was taken, mm from the pump's middle.
        taken_mm: f64,
        /// Where the pump stood.
        start: Place,
    },
    /// A ring: 0 roll, 1 pitch, 2 yaw.
    Ring {
        /// Which ring.
        turn: usize,
        /// The angle at which it was taken, degrees.
        taken_deg: f64,
        /// Where the pump stood.
        start: Place,
    },
    /// The small square, or the pump itself with Alt: it moves in the plane of the picture.
    Plane {
        /// From the pump's middle to where it was taken, mm.
        off: Vector,
        /// Where the pump stood.
        start: Place,
    },
}

/// A step of turning, degrees.
const STEP_DEG: f64 = 15.0;

/// The car's axes: forward, left, up.
pub(crate) fn axis(index: usize) -> Vector {
    match index {
        0 => Vector::x(),
        1 => Vector::y(),
        _ => Vector::z(),
    }
}

/// The middle of the pump's solids, pump frame.
pub(crate) fn middle(boot: &Boot) -> Point {
    boot.pump_solids()
        .iter()
        .map(|solid| *solid.bounds())
        .reduce(|a, b| a.with(&b))
        .map_or_else(Point::origin, |bounds| bounds.centre())
}

/// Where the pump's middle is, vehicle frame.
pub(crate) fn middle_at(boot: &Boot, place: &Place) -> Point {
    place.pose() * middle(boot)
}

/// Takes hold of whatever is under the pointer: a handle, or the pump where it is in sight.
pub(crate) fn take(
    boot: &Boot,
    view: &View,
    orbit: &Orbit,
    place: &Place,
    pointer: Pos2,
    in_plane: bool,
) -> Option<Hold> {
    let at = middle_at(boot, place);
    match handle_under(orbit, &at, place, pointer) {
        Some(SQUARE) => {
            let off = in_view_plane(orbit, &at, pointer)? - at;
            return Some(Hold::Plane { off, start: *place });
        }
        Some(ring @ 3..=5) => {
            let turn = 5 - ring;
            let taken_deg = angle_deg(orbit, &at, &turn_axis(place, turn), pointer)?;
            return Some(Hold::Ring { turn, taken_deg, start: *place });
        }
        Some(axis) => {
            let taken_mm = along_axis_mm(orbit, &at, axis, pointer)?;
            return Some(Hold::Axis { axis, taken_mm, start: *place });
        }
        None => {}
    }
    let (from, way) = orbit.ray(pointer);
    let pump = pump_hit(boot, place, &from, &way)?;
    let before = surface_hit(boot, view, &from, &way);
    if before.is_some_and(|hit| hit.distance_mm < pump.distance_mm - 1.0) {
        return None;
    }
    if in_plane {
        let off = in_view_plane(orbit, &at, pointer)? - at;
        return Some(Hold::Plane { off, start: *place });
    }
    let foot = orbit.screen(&foot(boot, place))?;
    Some(Hold::Body { off: foot - pointer })
}

/// Where a drag puts the pump; none when the pointer is over nothing it could be put on.
/// `keep_height` slides it level instead of over surfaces; `in_steps` turns it by 15° at a time.
pub(crate) fn drag(
    boot: &Boot,
    view: &View,
    orbit: &Orbit,
    place: &Place,
    hold: &Hold,
    pointer: Pos2,
    keep_height: bool,
    in_steps: bool,
) -> Option<Place> {
    match *hold {
        Hold::Axis { axis: index, taken_mm, start } => {
            let at = middle_at(boot, &start);
            let by_mm = along_axis_mm(orbit, &at, index, pointer)? - taken_mm;
            Some(shifted(&start, &(axis(index) * tenth(by_mm))))
        }
        Hold::Ring { turn, taken_deg, start } => {
            let at = middle_at(boot, &start);
            let by_deg = angle_deg(orbit, &at, &turn_axis(&start, turn), pointer)? - taken_deg;
            let step = if in_steps { STEP_DEG } else { 1.0 };
            let by_deg = (by_deg / step).round() * step;
            let mut by = [0.0; 3];
            by[turn] = by_deg;
            Some(turned(boot, &start, (by[0], by[1], by[2])))
        }
        Hold::Plane { off, start } => {
            let at = middle_at(boot, &start);
            let to = in_view_plane(orbit, &at, pointer)? - off;
            Some(shifted(&start, &(to - at)))
        }
        Hold::Body { off } => {
            let (from, way) = orbit.ray(pointer + off);
            let foot = foot(boot, place);
            if keep_height {
                if way.z.abs() < 0.02 {
                    return None;
                }
                let along = (foot.z - from.z) / way.z;
                let to = from + way * along;
                let within = along > 0.0 && along < 5_000.0;
                return within
                    .then(|| shifted(place, &Vector::new(to.x - foot.x, to.y - foot.y, 0.0)));
            }
            let hit = surface_hit(boot, view, &from, &way)?;
            Some(stood_off(boot, place, &hit, view.stand_off_mm))
        }
    }
}

/// The place at which the pump, turned as it is, touches the plane of a hit but for `room_mm`, its
/// middle over the point that was hit.
pub(crate) fn stood_off(boot: &Boot, place: &Place, hit: &RayHit, room_mm: f64) -> Place {
    let turn = Pose::from_parts(nalgebra::Translation3::identity(), place.pose().rotation);
    let own_middle = turn * middle(boot);
    let normal = hit.normal;
    let lowest = boot
        .pump_solids()
        .iter()
        .flat_map(|solid| &solid.triangles().vertices)
        .map(|corner| normal.dot(&(turn * corner - own_middle)))
        .fold(0.0, f64::min);
    // Slightly more than asked for, so that rounding never makes it less.
    let to = hit.point + normal * (room_mm - lowest + 0.05);
    let at = to - own_middle.coords;
    Place { at: at.map(tenth), ..*place }
}

/// Where a ray first meets the pump.
pub(crate) fn pump_hit(boot: &Boot, place: &Place, from: &Point, way: &Vector) -> Option<RayHit> {
    // The ray is taken into the pump's frame: cheaper than moving the pump.
    let pose = place.pose();
    let (from_pump, way_pump) = (pose.inverse() * from, pose.inverse() * way);
    boot.pump_solids()
        .iter()
        .filter_map(|solid| solid.ray(&from_pump, &way_pump, 20_000.0))
        .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
        .map(|hit| RayHit { point: pose * hit.point, normal: pose * hit.normal, ..hit })
}

/// Where a ray first meets a body that is drawn.
pub(crate) fn surface_hit(boot: &Boot, view: &View, from: &Point, way: &Vector) -> Option<RayHit> {
    let (from, gone) = view.past_section(from, way);
    surfaces(boot, view)
        .filter_map(|(_, solid)| solid.ray(&from, way, 20_000.0))
        .filter(|hit| view.shows(&hit.point))
        .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
        .map(|hit| RayHit { distance_mm: hit.distance_mm + gone, ..hit })
}

/// The same place moved, rounded to 0.1 mm.
pub(crate) fn shifted(place: &Place, by: &Vector) -> Place {
    Place { at: (place.at + by).map(tenth), ..*place }
}

/// The same place turned by roll, pitch and yaw, degrees, about the pump's middle.
pub(crate) fn turned(boot: &Boot, place: &Place, by_deg: (f64, f64, f64)) -> Place {
    let (roll, pitch, yaw) = place.turn_deg;
    let turn_deg = (wrapped(roll + by_deg.0), wrapped(pitch + by_deg.1), wrapped(yaw + by_deg.2));
    let before = middle_at(boot, place);
    let turned = Place { turn_deg, ..*place };
    let after = middle_at(boot, &turned);
    shifted(&turned, &(before - after))
}

/// The middle of the pump's underside, vehicle frame.
fn foot(boot: &Boot, place: &Place) -> Point {
    let pose = place.pose();
    let middle = middle_at(boot, place);
    let lowest = boot
        .pump_solids()
        .iter()
        .flat_map(|solid| &solid.triangles().vertices)
        .map(|corner| (pose * corner).z)
        .fold(middle.z, f64::min);
    Point::new(middle.x, middle.y, lowest)
}

/// How far along an axis through `at` the pointer is, mm.
pub(crate) fn along_axis_mm(orbit: &Orbit, at: &Point, index: usize, pointer: Pos2) -> Option<f64> {
    let (from, way) = orbit.ray(pointer);
    let axis = axis(index);
    let across = axis.dot(&way);
    let flat = 1.0 - across * across;
    if flat < 1e-3 {
        return None; // looking along the axis
    }
    let off = at - from;
    Some((across * way.dot(&off) - axis.dot(&off)) / flat)
}

/// The angle about an axis through `at` at which the pointer is, degrees.
fn angle_deg(orbit: &Orbit, at: &Point, axis: &Vector, pointer: Pos2) -> Option<f64> {
    let (from, way) = orbit.ray(pointer);
    let flat = axis.dot(&way);
    if flat.abs() < 0.02 {
        return None;
    }
    let to = from + way * (axis.dot(&(at - from)) / flat) - at;
    let (u, v) = crate::geometry::across(axis);
    Some(v.dot(&to).atan2(u.dot(&to)).to_degrees())
}

/// The point under the pointer in the plane through `at` that faces the eye.
fn in_view_plane(orbit: &Orbit, at: &Point, pointer: Pos2) -> Option<Point> {
    let (from, way) = orbit.ray(pointer);
    let (_, ahead) = orbit.ray(orbit.rect.center());
    let flat = ahead.dot(&way);
    (flat > 0.02).then(|| from + way * (ahead.dot(&(at - from)) / flat))
}

fn tenth(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0 + 0.0
}

fn wrapped(deg: f64) -> f64 {
    let turned = (deg + 180.0).rem_euclid(360.0) - 180.0;
    tenth(if turned <= -180.0 { 180.0 } else { turned })
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::Rect;

    fn orbit() -> Orbit {
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(800.0, 600.0));
        orbit
    }

    #[test]
    fn a_pointer_on_an_axis_is_as_far_along_as_the_point_under_it() {
        let orbit = orbit();
        let at = Point::new(30.0, -20.0, 50.0);
        for index in 0..3 {
            let point = at + axis(index) * 77.0;
            let pointer = orbit.screen(&point).expect("before the eye");
            let found = along_axis_mm(&orbit, &at, index, pointer).expect("not along the axis");
            assert!((found - 77.0).abs() < 0.1, "axis {index}: {found}");
        }
    }

    #[test]
    fn a_pointer_on_the_ring_has_the_angle_of_the_point_under_it() {
        let orbit = orbit();
        let at = Point::new(0.0, 10.0, 0.0);
        let point = at + Vector::new(0.0, 60.0, 0.0);
        let pointer = orbit.screen(&point).expect("before the eye");
        let found = angle_deg(&orbit, &at, &Vector::z(), pointer).expect("not edge on");
        let start = orbit.screen(&(at + Vector::new(60.0, 0.0, 0.0))).expect("before the eye");
        let from = angle_deg(&orbit, &at, &Vector::z(), start).expect("not edge on");
        assert!((wrapped(found - from) - 90.0).abs() < 0.1);
    }

    #[test]
    fn a_ring_turns_the_way_that_its_angle_says() {
        let place = Place { turn_deg: (10.0, -20.0, 35.0), ..Place::default() };
        for turn in 0..3 {
            let axis = turn_axis(&place, turn);
            let mut more = place;
            match turn {
                0 => more.turn_deg.0 += 5.0,
                1 => more.turn_deg.1 += 5.0,
                _ => more.turn_deg.2 += 5.0,
            }
            let by = more.pose().rotation * place.pose().rotation.inverse();
            let about = by.axis().expect("it turns").into_inner();
            assert!((about - axis).norm() < 1e-6, "turn {turn}: {about} {axis}");
        }
    }

    #[test]
    fn angles_stay_within_half_a_turn() {
        assert!((wrapped(190.0) + 170.0).abs() < 1e-9);
        assert!((wrapped(-180.0) - 180.0).abs() < 1e-9);
        assert!((wrapped(540.0) - 180.0).abs() < 1e-9);
    }
}
