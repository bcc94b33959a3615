//! A clear view of the pump: what stands between it and the eye fades.

use std::collections::BTreeSet;

use bevy::asset::Handle;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{Component, Query, Res, ResMut};

use super::bodies::Shown;
use super::document::Document;
use super::orbit::Orbit;
use super::paint::Paint;
use super::view::View;
use crate::checks::Boot;
use crate::geometry::{Solid, Triangles};
use crate::model::{Body, Place, Point, Role, Vector};

/// The paints of something that may stand before the pump.
#[derive(Component)]
pub(super) struct Fade {
    /// When it hides nothing.
    pub(super) usual: Handle<Paint>,
    /// When it stands before the pump.
    pub(super) clear: Handle<Paint>,
    /// When the user has asked for it.
    pub(super) shown: Handle<Paint>,
    /// Of a trim, for whoever looks over one's shoulder: as it looks when it is in.
    pub(super) whole: Option<Handle<Paint>>,
}

/// How many of the nine places looked at on the pump a thing may hide before it fades. A wall fades
/// at the first: what is not a wall is worth seeing beside the pump.
const MAY_HIDE: usize = 2;

/// Fades what stands between the eye and the pump.
pub(super) fn clear(
    document: Res<Document>,
    orbit: Res<Orbit>,
    mut view: ResMut<View>,
    mut fading: Query<(&Shown, &Fade, &mut MeshMaterial3d<Paint>)>,
) {
    let asked = view.marker.as_ref().and_then(|marker| marker.trim.clone());
    // With the trim in, whoever looks over one's shoulder is to see what hides the pump.
    let as_it_is = view.present && view.layers.trims;
    let mut cleared = if view.layers.see_through && !as_it_is {
        before_pump(document.boot(), &view, &document.spot().place, &orbit)
    } else {
        BTreeSet::new()
    };
    if let Some(asked) = &asked {
        cleared.remove(asked);
    }
    for (shown, fade, mut material) in &mut fading {
        let wanted = if let Some(whole) = fade.whole.as_ref().filter(|_| view.present)
            && !view.faded.contains(&shown.name)
        {
            whole
        } else if asked.as_ref() == Some(&shown.name) {
            &fade.shown
        } else if cleared.contains(&shown.name) || view.faded.contains(&shown.name) {
            &fade.clear
        } else {
            &fade.usual
        };
        if material.0 != *wanted {
            material.0 = wanted.clone();
        }
    }
    if view.cleared != cleared {
        view.cleared = cleared;
    }
}

pub(super) fn is_wall(role: Role) -> bool {
    matches!(role, Role::Panel | Role::Bulkhead | Role::WheelArch)
}

/// The names of bodies, moving parts and trims that hide the pump.
fn before_pump(boot: &Boot, view: &View, place: &Place, orbit: &Orbit) -> BTreeSet<String> {
    let seen = places_on_pump(boot, place);
    let eye = orbit.eye();
    let mut names = BTreeSet::new();
    let may_hide = |body: &Body| if is_wall(body.role) { 0 } else { MAY_HIDE };
    for (body, solid) in boot.bodies() {
        if hidden_by(solid, &eye, &seen) > may_hide(body) {
            names.insert(body.name.clone());
        }
    }
    for (mover, solids) in boot.movers() {
        // The eye is taken into the part's own attitude: cheaper than moving the part.
        let back = view.mover_pose(boot, &mover.name).inverse();
        let (eye, seen) = (back * eye, seen.iter().map(|at| back * at).collect::<Vec<_>>());
        if solids.iter().any(|solid| hidden_by(solid, &eye, &seen) > 0) {
            names.insert(mover.name.clone());
        }
    }
    for (trim, sheet) in boot.trims() {
        if seen.iter().any(|at| crosses(sheet, &eye, at)) {
            names.insert(trim.name.clone());
        }
    }
    names
}

/// The pump's middle and the corners of its bounds, a little inside, so that what it stands on does
/// not count as before it.
fn places_on_pump(boot: &Boot, place: &Place) -> Vec<Point> {
    let pose = place.pose();
    let bounds = boot.pump_solids().iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b));
    let Some(bounds) = bounds else { return Vec::new() };
    let middle = bounds.centre();
    let corner = |index: usize| {
        let side = |axis: usize| if index >> axis & 1 == 0 { bounds.low } else { bounds.high };
        let outer = Point::new(side(0).x, side(1).y, side(2).z);
        pose * (outer + (middle - outer) * 0.15)
    };
    (0..8).map(corner).chain([pose * middle]).collect()
}

fn hidden_by(solid: &Solid, eye: &Point, seen: &[Point]) -> usize {
    let hides = |at: &&Point| {
        let way: Vector = **at - eye;
        let far_mm = way.norm();
        way.try_normalize(1e-9).is_some_and(|way| solid.ray(eye, &way, far_mm).is_some())
    };
    seen.iter().filter(hides).count()
}

/// Whether a sheet lies across the way between two points.
fn crosses(sheet: &Triangles, from: &Point, to: &Point) -> bool {
    let way = to - from;
    sheet.each().any(|[a, b, c]| {
        let (along, aside) = (b - a, c - a);
        let across = way.cross(&aside);
        let flat = along.dot(&across);
        if flat.abs() < 1e-9 {
            return false;
        }
        let off = from - a;
        let u = off.dot(&across) / flat;
        let turned = off.cross(&along);
        let v = way.dot(&turned) / flat;
        let share = aside.dot(&turned) / flat;
        u >= 0.0 && v >= 0.0 && u + v <= 1.0 && (0.0..=1.0).contains(&share)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_is_crossed_only_within_its_edges_and_between_the_points() {
        let at = |x, y| Point::new(x, y, 0.0);
        let sheet = Triangles {
            vertices: vec![at(0.0, 0.0), at(10.0, 0.0), at(0.0, 10.0)],
            indices: vec![[0, 1, 2]],
        };
        let above = Point::new(2.0, 2.0, 50.0);
        assert!(crosses(&sheet, &above, &Point::new(2.0, 2.0, -1.0)));
        assert!(!crosses(&sheet, &above, &Point::new(2.0, 2.0, 1.0)));
        assert!(!crosses(&sheet, &above, &Point::new(30.0, 2.0, -50.0)));
    }
}
