//! Where the pump pushes a carpet or a board out of its place, drawn on the trim as a map: amber within
//! what it gives, red beyond, the darker the farther.

use std::sync::Arc;

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::mesh::Mesh;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh3d, Query, Res, ResMut, Update,
    Visibility, With,
};
use bevy::winit::EventLoopProxyWrapper;
use bevy_egui::egui::Color32;

use super::beside::{Broken, Slot, beside_the_frames};
use super::bodies::drawn;
use super::convert::{coloured_mesh, scene_point};
use super::document::Document;
use super::paint::{Paint, paint};
use super::pump::PumpSystems;
use super::theme::{self, Shade};
use super::view::View;
use crate::geometry::{Solid, across};
use crate::model::{Place, Point, Trim, Vector, newell_normal};

/// Side of the squares that the map is made of, mm.
const STEP_MM: f64 = 8.0;

/// How far before a trim something of the pump is looked for, mm.
const FAR_MM: f64 = 250.0;

/// Most squares of one face: a boot board at 8 mm has some 9000.
const MOST: usize = 20_000;

/// Lift at which the map is darkest, mm beyond the give.
const DARKEST_MM: f64 = 60.0;

/// A part of the map.
#[derive(Component)]
struct Lifted;

/// A corner of the map: where, how far it is pushed out, mm, and whether some of the pump lies behind
/// it.
#[derive(Clone, Copy)]
struct Corner {
    at: Point,
    lift_mm: f64,
    behind: bool,
}

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, rebuild.after(PumpSystems));
}

/// What the maps follow from: the boot, where the pump is, and which trims are drawn.
type Asked = (u64, Option<Place>, Vec<String>);

/// The maps as they were made last, and those that are being made beside the frames.
#[derive(Default)]
struct Maps {
    made: Option<Asked>,
    asked: Option<(Asked, Slot<Vec<Mesh>>)>,
}

fn rebuild(
    mut commands: Commands,
    document: Res<Document>,
    mut view: ResMut<View>,
    mut maps: Local<Maps>,
    old: Query<Entity, With<Lifted>>,
    (mut meshes, mut materials): (ResMut<Assets<Mesh>>, ResMut<Assets<Paint>>),
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    if let Some((_, slot)) = &maps.asked
        && let Some(answer) = slot.take()
    {
        maps.made = maps.asked.take().map(|(asked, _)| asked);
        for entity in &old {
            commands.entity(entity).despawn();
        }
        let made = answer.unwrap_or_else(|Broken(why)| {
            view.panic = Some(why);
            Vec::new()
        });
        for mesh in made {
            let white = Shade { colour: Color32::WHITE, alpha: 0.85 };
            commands.spawn((
                Lifted,
                Mesh3d(meshes.add(mesh)),
                MeshMaterial3d(paint(&mut materials, white)),
                Visibility::default(),
            ));
        }
    }
    let boot = document.boot();
    let on = view.layers.trims && view.layers.lift;
    let shown: Vec<String> = boot
        .trims()
        .map(|(trim, _)| trim.name.clone())
        .filter(|name| drawn(&view, |layers| layers.trims, name))
        .collect();
    let wanted: Asked = (document.boot_age(), on.then(|| document.spot().place), shown);
    if maps.asked.is_some() || maps.made.as_ref() == Some(&wanted) {
        return;
    }
    let (boot, (_, place, shown)) = (Arc::clone(boot), wanted.clone());
    let work = move || {
        let Some(place) = place else { return Vec::new() };
        let pump = boot.pump_at(&place);
        let trims = boot.trims().filter(|(trim, _)| shown.contains(&trim.name));
        trims.filter_map(|(trim, _)| map(trim, &pump)).collect()
    };
    maps.asked = Some((wanted, beside_the_frames(wake.as_deref(), work)));
}

/// The map of a trim; none where nothing pushes it. What stands wholly in front of it pushes nothing.
fn map(trim: &Trim, pump: &[Solid]) -> Option<Mesh> {
    let faces: Vec<(Vector, Vec<[Corner; 4]>)> = trim
        .faces
        .iter()
        .filter_map(|face| Some((newell_normal(face).try_normalize(1e-9)?, squares(face, pump))))
        .collect();
    if !pushes(&faces) {
        return None;
    }
    let (mut positions, mut colours) = (Vec::new(), Vec::new());
    for (normal, squares) in &faces {
        let out = |corner: &Corner| {
            scene_point(&(corner.at + normal * (trim.thickness_mm + 0.5))).to_array()
        };
        for square in squares.iter().filter(|square| lifted(square)) {
            for index in [0, 1, 2, 0, 2, 3] {
                positions.push(out(&square[index]));
                colours.push(colour(square[index].lift_mm, trim));
            }
        }
    }
    (!positions.is_empty()).then(|| coloured_mesh(positions, colours))
}

fn lifted(square: &[Corner; 4]) -> bool {
    square.iter().any(|corner| corner.lift_mm > 0.05)
}

fn pushes(faces: &[(Vector, Vec<[Corner; 4]>)]) -> bool {
    faces.iter().flat_map(|(_, squares)| squares).flatten().any(|corner| corner.behind)
}

/// Amber within the give, red beyond it, the darker the farther.
fn colour(lift_mm: f64, trim: &Trim) -> [f32; 4] {
    let (colour, share) = if lift_mm <= 0.05 {
        (theme::trim_colour(trim.kind), 0.0)
    } else if lift_mm <= trim.give_mm {
        (theme::LIFT_WITHIN, 0.0)
    } else {
        (theme::LIFT_BEYOND, ((lift_mm - trim.give_mm) / DARKEST_MM).clamp(0.0, 1.0) as f32)
    };
    let [r, g, b, _] = bevy_egui::egui::Rgba::from(colour).to_array();
    let dark = 1.0 - 0.7 * share;
    [r * dark, g * dark, b * dark, 1.0]
}

/// The squares of a face round whatever of the pump stands before its hidden side, each with its four
/// corners in order.
fn squares(face: &[Point], pump: &[Solid]) -> Vec<[Corner; 4]> {
    let Some(normal) = newell_normal(face).try_normalize(1e-9) else { return Vec::new() };
    let (u, v) = across(&normal);
    let flat = |point: &Point| {
        let off = point - face[0];
        (u.dot(&off), v.dot(&off))
    };
    let outline: Vec<(f64, f64)> = face.iter().map(flat).collect();
    // Only where the pump's corners fall onto the face, and only when some of it is near the face.
    let mut low = (f64::MAX, f64::MAX);
    let mut high = (f64::MIN, f64::MIN);
    let mut near = false;
    for corner in pump.iter().flat_map(|solid| &solid.triangles().vertices) {
        let (a, b) = flat(corner);
        low = (low.0.min(a), low.1.min(b));
        high = (high.0.max(a), high.1.max(b));
        near |= normal.dot(&(corner - face[0])).abs() < FAR_MM;
    }
    if !near {
        return Vec::new();
    }
    let edge = outline.iter().fold(((f64::MAX, f64::MAX), (f64::MIN, f64::MIN)), |(a, b), p| {
        ((a.0.min(p.0), a.1.min(p.1)), (b.0.max(p.0), b.1.max(p.1)))
    });
    let start = (low.0.max(edge.0.0) - STEP_MM, low.1.max(edge.0.1) - STEP_MM);
    let end = (high.0.min(edge.1.0) + STEP_MM, high.1.min(edge.1.1) + STEP_MM);
    let count = |from: f64, to: f64| ((to - from) / STEP_MM).ceil().max(0.0) as usize;
    let (columns, rows) = (count(start.0, end.0), count(start.1, end.1));
    if columns * rows > MOST {
        return Vec::new();
    }
    let corner = |column: usize, row: usize| {
        let (a, b) = (start.0 + column as f64 * STEP_MM, start.1 + row as f64 * STEP_MM);
        let at = face[0] + u * a + v * b;
        Corner {
            at,
            lift_mm: FAR_MM - reached(&at, &normal, pump).unwrap_or(FAR_MM),
            behind: reached(&at, &-normal, pump).is_some(),
        }
    };
    let mut corners: Vec<Option<Corner>> = vec![None; (columns + 1) * (rows + 1)];
    let mut known = |column: usize, row: usize| {
        *corners[row * (columns + 1) + column].get_or_insert_with(|| corner(column, row))
    };
    let mut all = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let middle =
                (start.0 + (column as f64 + 0.5) * STEP_MM, start.1 + (row as f64 + 0.5) * STEP_MM);
            if !inside(&outline, middle) {
                continue;
            }
            let square = [
                known(column, row),
                known(column + 1, row),
                known(column + 1, row + 1),
                known(column, row + 1),
            ];
            all.push(square);
        }
    }
    all
}

/// How far from 250 mm before a point, on the side that `out` looks to, the pump begins; none when it
/// doesn't on that side.
fn reached(at: &Point, out: &Vector, pump: &[Solid]) -> Option<f64> {
    let from = at + out * FAR_MM;
    pump.iter()
        .filter_map(|solid| solid.ray(&from, &-out, FAR_MM))
        .map(|hit| hit.distance_mm)
        .min_by(f64::total_cmp)
}

/// Whether a flat point lies inside an outline, by counting crossings.
fn inside(outline: &[(f64, f64)], (x, y): (f64, f64)) -> bool {
    let mut odd = false;
    for (index, a) in outline.iter().enumerate() {
        let b = outline[(index + 1) % outline.len()];
        if (a.1 > y) != (b.1 > y) && x < a.0 + (b.0 - a.0) * (y - a.1) / (b.1 - a.1) {
            odd = !odd;
        }
    }
    odd
}

/// The largest lift that the map of a trim shows, mm; 0 when there is none.
#[cfg(test)]
fn largest_mm(boot: &crate::checks::Boot, trim: &str, place: &Place) -> f64 {
    let pump = boot.pump_at(place);
    let Some((known, _)) = boot.trims().find(|(known, _)| known.name == trim) else { return 0.0 };
    let faces: Vec<_> =
        known.faces.iter().map(|face| (Vector::zeros(), squares(face, &pump))).collect();
    if !pushes(&faces) {
        return 0.0;
    }
    faces
        .iter()
        .flat_map(|(_, squares)| squares)
        .flatten()
        .map(|corner| corner.lift_mm)
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{Boot, evaluate};
    use crate::format::open_demo;

    #[test]
    fn the_map_shows_the_lift_that_the_check_says() {
        for demo in &crate::format::DEMOS {
            let opened = open_demo(Some(demo.name)).expect("the demo is sound");
            let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
            let mut some = false;
            for spot in &opened.layout.spots {
                // The pump alone: the check counts the lines too.
                let card = evaluate(&boot, spot);
                for check in card.headlines.iter().flat_map(|headline| &headline.checks) {
                    let Some(figure) = check.figure.filter(|_| check.id == "lift") else {
                        continue;
                    };
                    let shown = largest_mm(&boot, &check.subject, &spot.place);
                    // Squares of 8 mm miss a corner by less than what lies between them.
                    assert!(shown <= figure.max(0.0) + 0.2, "{}: {shown} {figure}", spot.name);
                    some |= shown > 1.0;
                }
            }
            assert!(some, "{}: no spot lifts anything", demo.name);
        }
    }

    #[test]
    fn a_point_is_inside_by_crossings() {
        let outline = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 4.0), (0.0, 10.0)];
        assert!(inside(&outline, (5.0, 2.0)));
        assert!(!inside(&outline, (5.0, 6.0)));
        assert!(!inside(&outline, (-1.0, 5.0)));
    }
}
