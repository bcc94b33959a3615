//! Dragging a measured thing: along the car's axes, or a box's faces one by one, snapping to what
//! else was measured.

use bevy_egui::egui::{Pos2, Rect, Stroke, Vec2, epaint};

use super::figures;
use super::grip::{along_axis_mm, axis, distance_to_stroke};
use super::labels::Labels;
use super::orbit::Orbit;
use super::theme;
use super::thing::Thing;
use super::view::View;
use crate::checks::Boot;
use crate::model::{Axis, Opening, OpeningOutline, Place, Point, Shape, Vector};

/// How near the pointer must come to a handle, points.
const NEAR: f32 = 10.0;

/// How far a drag may be from a face or an anchor to snap to it, points.
const SNAP: f64 = 7.0;

/// Length of a handle, points.
const LONG: f64 = 60.0;

/// What of a thing is held.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ThingHold {
    /// Which axis it goes along.
    axis: usize,
    /// A box's face, the high one or the low one; the whole thing when none.
    face: Option<bool>,
    /// Where along the axis it was taken, mm from the handle's foot.
    taken_mm: f64,
    /// The handle's foot as it was taken.
    foot: Point,
    /// The thing as it was taken.
    start: Thing,
}

/// A handle as shown.
struct Handle {
    axis: usize,
    face: Option<bool>,
    foot: Point,
    way: Vector,
}

/// The corners of a box that can be dragged by its faces: one that stands where it was measured.
fn dragged_box(thing: &Thing) -> Option<(Point, Point)> {
    let shape = match thing {
        Thing::Body(body) if body.place == Place::default() => &body.shape,
        Thing::Space(shape) => shape,
        _ => return None,
    };
    let Shape::Box { from, to } = shape else { return None };
    let sorted = |pick: fn(f64, f64) -> f64| {
        Point::new(pick(from.x, to.x), pick(from.y, to.y), pick(from.z, to.z))
    };
    Some((sorted(f64::min), sorted(f64::max)))
}

fn handles(thing: &Thing) -> Vec<Handle> {
    let Some(at) = thing.at() else { return Vec::new() };
    let mut all: Vec<Handle> = (0..3)
        .map(|index| Handle { axis: index, face: None, foot: at, way: axis(index) })
        .collect();
    if let Some((low, high)) = dragged_box(thing) {
        let middle = Point::from((low.coords + high.coords) / 2.0);
        for index in 0..3 {
            for upper in [false, true] {
                let mut foot = middle;
                foot[index] = if upper { high[index] } else { low[index] };
                let way = axis(index) * if upper { 1.0 } else { -1.0 };
                all.push(Handle { axis: index, face: Some(upper), foot, way });
            }
        }
    }
    all
}

/// Both ends of a handle in the window.
fn stroke(orbit: &Orbit, handle: &Handle) -> Option<(Pos2, Pos2)> {
    let long = orbit.mm_per_point(&handle.foot) * if handle.face.is_some() { 20.0 } else { LONG };
    Some((orbit.screen(&handle.foot)?, orbit.screen(&(handle.foot + handle.way * long))?))
}

/// The handle under the pointer: of the faces' the nearest, since those of a thin sheet lie close to one
/// another, else of the others.
fn under(orbit: &Orbit, thing: &Thing, pointer: Pos2) -> Option<Handle> {
    let away = |handle: &Handle| {
        let (a, b) = stroke(orbit, handle)?;
        let start = if handle.face.is_some() { a } else { a + (b - a) * 0.4 };
        let away = distance_to_stroke(pointer, start, b);
        ((b - a).length() > 6.0 && away < NEAR).then_some(away)
    };
    handles(thing)
        .into_iter()
        .filter_map(|handle| Some((handle.face.is_none(), away(&handle)?, handle)))
        .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))
        .map(|(.., handle)| handle)
}

/// Whether the pointer is over a handle of the thing.
pub(crate) fn over(orbit: &Orbit, thing: &Thing, pointer: Pos2) -> bool {
    under(orbit, thing, pointer).is_some()
}

/// Takes hold of the handle under the pointer.
pub(crate) fn take(orbit: &Orbit, thing: &Thing, pointer: Pos2) -> Option<ThingHold> {
    let handle = under(orbit, thing, pointer)?;
    let taken_mm = along_axis_mm(orbit, &handle.foot, handle.axis, pointer)?;
    Some(ThingHold {
        axis: handle.axis,
        face: handle.face,
        taken_mm,
        foot: handle.foot,
        start: thing.clone(),
    })
}

/// The thing as the drag has it now, in whole mm or snapped to a face or an anchor near by.
pub(crate) fn drag(
    boot: &Boot,
    view: &View,
    orbit: &Orbit,
    hold: &ThingHold,
    pointer: Pos2,
) -> Option<Thing> {
    let by_mm = along_axis_mm(orbit, &hold.foot, hold.axis, pointer)? - hold.taken_mm;
    let free = hold.foot[hold.axis] + by_mm;
    let reach_mm = orbit.mm_per_point(&hold.foot) * SNAP;
    let to = snapped(boot, view, hold, free, reach_mm).unwrap_or_else(|| free.round());
    let by = to - hold.foot[hold.axis];
    let mut thing = hold.start.clone();
    match hold.face {
        None => thing.shift(&(axis(hold.axis) * by)),
        Some(upper) => {
            let shape = match &mut thing {
                Thing::Body(body) => &mut body.shape,
                Thing::Space(shape) => shape,
                _ => return None,
            };
            let Shape::Box { from, to } = shape else { return None };
            let from_is_upper = from[hold.axis] > to[hold.axis];
            let (corner, other) = if from_is_upper == upper { (from, to) } else { (to, from) };
            let moved = corner[hold.axis] + by;
            // A box never turns inside out.
            let least = if upper { other[hold.axis] + 1.0 } else { other[hold.axis] - 1.0 };
            corner[hold.axis] = if upper { moved.max(least) } else { moved.min(least) };
        }
    }
    Some(thing)
}

/// The coordinate of a face, an edge or an anchor near the one that the pointer gives.
fn snapped(boot: &Boot, view: &View, hold: &ThingHold, to: f64, reach_mm: f64) -> Option<f64> {
    let own = hold.start.name();
    let bodies = boot
        .bodies()
        .filter(|(body, _)| Some(body.name.as_str()) != own && !view.hidden.contains(&body.name))
        .flat_map(|(_, solid)| [solid.bounds().low[hold.axis], solid.bounds().high[hold.axis]]);
    let anchors = boot
        .anchors()
        .filter(|anchor| Some(anchor.name.as_str()) != own)
        .map(|anchor| anchor.at[hold.axis]);
    let drains = boot.layout().drains.iter().map(|drain| drain.at[hold.axis]);
    bodies
        .chain(anchors)
        .chain(drains)
        .filter(|known| (known - to).abs() < reach_mm)
        .min_by(|a, b| (a - to).abs().total_cmp(&(b - to).abs()))
}

/// Draws the outline of the thing and its handles; what is held or under the pointer stands out.
pub(crate) fn draw(
    labels: &mut Labels,
    orbit: &Orbit,
    view: &View,
    thing: &Thing,
    hold: Option<&ThingHold>,
    pointer: Option<Pos2>,
) {
    let palette = labels.palette;
    let seen = |point: &Point| orbit.screen(point);
    for (a, b) in edges(thing) {
        if let (Some(a), Some(b)) = (seen(&a), seen(&b)) {
            labels.painter.line_segment([a, b], Stroke::new(3.5, palette.card.gamma_multiply(0.6)));
            labels.painter.line_segment([a, b], Stroke::new(1.6, palette.accent));
        }
    }
    let lit = hold
        .map(|hold| (hold.axis, hold.face))
        .or_else(|| under(orbit, thing, pointer?).map(|handle| (handle.axis, handle.face)));
    for handle in handles(thing) {
        let Some((a, b)) = stroke(orbit, &handle) else { continue };
        if (b - a).length() < 6.0 {
            continue; // seen end on
        }
        let colour = theme::AXES[handle.axis];
        let on = lit == Some((handle.axis, handle.face));
        if handle.face.is_some() {
            labels.painter.circle_filled(a, if on { 7.0 } else { 5.0 }, palette.card);
            labels.painter.circle_stroke(a, if on { 7.0 } else { 5.0 }, Stroke::new(2.0, colour));
            labels.painter.line_segment([a, b], Stroke::new(if on { 3.5 } else { 2.0 }, colour));
            continue;
        }
        let width = if on { 4.5 } else { 2.5 };
        labels.painter.line_segment([a, b], Stroke::new(width + 2.0, palette.card));
        labels.painter.line_segment([a, b], Stroke::new(width, colour));
        let ahead = (b - a).normalized();
        let side = Vec2::new(-ahead.y, ahead.x) * 6.0;
        let corners = vec![b + ahead * 12.0, b + side, b - side];
        labels.painter.add(epaint::PathShape::convex_polygon(corners, colour, Stroke::NONE));
    }
    if let Some(at) = thing.at().and_then(|at| seen(&at)) {
        labels.keep_clear(Rect::from_center_size(at, Vec2::splat(20.0)));
        let name = thing.name().unwrap_or("luggage space");
        let size = dragged_box(thing).map(|(low, high)| {
            let far = |axis: usize| figures::length(high[axis] - low[axis], view.inches);
            format!("{name}: {} × {} × {}", far(0), far(1), far(2))
        });
        labels.write(at, &size.unwrap_or_else(|| name.to_string()), None);
    }
}

/// The edges of a thing as measured, to be drawn over the picture before the boot is ready with it.
fn edges(thing: &Thing) -> Vec<(Point, Point)> {
    match thing {
        Thing::Body(body) => {
            let pose = body.place.pose();
            let mut all = shape_edges(&body.shape);
            all.iter_mut().for_each(|(a, b)| (*a, *b) = (pose * *a, pose * *b));
            all
        }
        Thing::Mover(mover) => mover.shapes.iter().flat_map(shape_edges).collect(),
        Thing::Space(shape) => shape_edges(shape),
        Thing::Trim(trim) => trim.faces.iter().flat_map(|face| closed(face)).collect(),
        Thing::Anchor(anchor) => {
            let out = anchor.normal.try_normalize(1e-9).unwrap_or_else(Vector::z) * 40.0;
            vec![(anchor.at, anchor.at + out)]
        }
        Thing::Line(line) => {
            let out = line.from.towards.try_normalize(1e-9).unwrap_or_else(Vector::z) * 60.0;
            vec![(line.from.at, line.from.at + out)]
        }
        Thing::Drain(_) | Thing::Leak(_) | Thing::Viewpoint(_) => {
            thing.at().into_iter().flat_map(cross).collect()
        }
        Thing::Opening(opening) => opening_edges(opening),
        Thing::Option(_)
        | Thing::Ram(_)
        | Thing::Rule(_)
        | Thing::Car(_)
        | Thing::Edge(_)
        | Thing::Unbolt(_) => Vec::new(),
    }
}

/// The outline of an opening in its plane, or a cross where its plane is cut; and a stroke out of its
/// face.
fn opening_edges(opening: &Opening) -> Vec<(Point, Point)> {
    let pose = opening.place.pose();
    let mut all = match &opening.outline {
        OpeningOutline::Measured(outline) => {
            let corners: Vec<Point> =
                outline.iter().map(|(right, up)| pose * Point::new(*right, *up, 0.0)).collect();
            closed(&corners)
        }
        OpeningOutline::Cut { around } => cross(pose * Point::new(around.0, around.1, 0.0)),
    };
    all.push((opening.place.at, pose * Point::new(0.0, 0.0, 40.0)));
    all
}

fn cross(at: Point) -> Vec<(Point, Point)> {
    (0..3).map(|index| (at - axis(index) * 12.0, at + axis(index) * 12.0)).collect()
}

fn closed(corners: &[Point]) -> Vec<(Point, Point)> {
    (0..corners.len()).map(|at| (corners[at], corners[(at + 1) % corners.len()])).collect()
}

fn shape_edges(shape: &Shape) -> Vec<(Point, Point)> {
    match shape {
        Shape::Box { from, to } => {
            let corner = |index: usize| {
                let side = |axis: usize| if index >> axis & 1 == 0 { from[axis] } else { to[axis] };
                Point::new(side(0), side(1), side(2))
            };
            (0..8_usize)
                .flat_map(|index| (0..3).map(move |axis| (index, index | 1 << axis)))
                .filter(|(a, b)| a != b)
                .map(|(a, b)| (corner(a), corner(b)))
                .collect()
        }
        Shape::Cylinder { from, to, radius_mm } => {
            let (u, v) = crate::geometry::across(&(to - from));
            let rim = |end: &Point| -> Vec<Point> {
                (0..24)
                    .map(|step| {
                        let angle = std::f64::consts::TAU * f64::from(step) / 24.0;
                        end + (u * angle.cos() + v * angle.sin()) * *radius_mm
                    })
                    .collect()
            };
            let mut all = closed(&rim(from));
            all.extend(closed(&rim(to)));
            all.push((*from, *to));
            all
        }
        Shape::Prism { along, outline, from_mm, to_mm } => {
            let at = |(a, b): (f64, f64), out: f64| match along {
                Axis::X => Point::new(out, a, b),
                Axis::Y => Point::new(b, out, a),
                Axis::Z => Point::new(a, b, out),
            };
            let end = |out: f64| -> Vec<Point> { outline.iter().map(|&c| at(c, out)).collect() };
            let mut all = closed(&end(*from_mm));
            all.extend(closed(&end(*to_mm)));
            all.extend(outline.iter().map(|&corner| (at(corner, *from_mm), at(corner, *to_mm))));
            all
        }
        Shape::Hull { points } => points.iter().copied().flat_map(cross).collect(),
        Shape::Mesh { .. } => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::open_demo;

    #[test]
    fn of_a_thin_sheet_the_face_under_the_pointer_is_taken() {
        let from = Point::new(214.0, 339.0, 156.0);
        let shape = Shape::Box { from, to: from + Vector::new(220.0, 120.0, 4.0) };
        let sheet = crate::scene::thing::body("bracket", crate::model::Role::Bracket, shape);
        let thing = Thing::Body(sheet);
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(900.0, 700.0));
        for (z, upper) in [(160.0, true), (156.0, false)] {
            let foot = Point::new(324.0, 399.0, z);
            let pointer = orbit.screen(&foot).expect("before the eye");
            let hold = take(&orbit, &thing, pointer).expect("on a handle");
            assert_eq!((hold.axis, hold.face), (2, Some(upper)), "at {z}");
        }
    }

    #[test]
    fn a_box_is_dragged_by_one_face_and_snaps_to_its_neighbour() {
        let opened = open_demo(Some("sandlark-cabriolet")).expect("the demo is sound");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
        let view = View::of(&boot, false);
        let mut orbit = Orbit::seeing(None, true);
        orbit.rect = Rect::from_min_max(Pos2::ZERO, Pos2::new(900.0, 700.0));
        let index = opened.layout.bodies.iter().position(|b| b.name == "fuse box").expect("known");
        let thing =
            Thing::get(&opened.layout, crate::scene::thing::Kind::Body, index).expect("listed");
        let (low, high) = dragged_box(&thing).expect("a box");
        let mut foot = Point::from((low.coords + high.coords) / 2.0);
        foot.z = high.z;
        let pointer = orbit.screen(&foot).expect("before the eye");
        let hold =
            ThingHold { axis: 2, face: Some(true), taken_mm: 0.0, foot, start: thing.clone() };
        let higher = orbit.screen(&(foot + Vector::z() * 37.0)).expect("before the eye");
        let now = drag(&boot, &view, &orbit, &hold, higher).expect("not along the axis");
        let (new_low, new_high) = dragged_box(&now).expect("a box still");
        assert!((new_low - low).norm() < 1e-9, "the other faces stay");
        assert!((new_high.x - high.x).abs() < 1e-9);
        assert!((new_high.z - high.z - 37.0).abs() < 12.0, "{new_high}");
        // Far below its own floor it stops at 1 mm, never inside out.
        let down = orbit.screen(&(foot - Vector::z() * 300.0)).expect("before the eye");
        let flat = drag(&boot, &view, &orbit, &hold, down).expect("not along the axis");
        let (flat_low, flat_high) = dragged_box(&flat).expect("a box still");
        assert!((flat_high.z - flat_low.z - 1.0).abs() < 1e-9);
        let _ = pointer;
        // Within reach of the battery's top it takes that height.
        let top = 194.0;
        let near = snapped(&boot, &view, &hold, top + 3.0, 5.0);
        assert!(near.is_some_and(|near| (near - top).abs() < 4.0), "{near:?}");
    }
}
