//! Water where it would stand, for the slope and drains chosen.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut,
    SystemSet, Transform, Update, Visibility, With,
};

use super::convert::scene_mesh_of;
use super::document::Document;
use super::paint::{Paint, paint};
use super::theme::{self, Shade};
use super::view::View;
use crate::checks::water::WaterCase;
use crate::geometry::{HeightGrid, NO_FLOOR_MM};
use crate::model::{Point, Vector};

/// When the standing water is brought in line with the case chosen.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct WaterSystems;

/// Depth from which water is drawn, mm; thinner films are wetness, not standing water.
const SHOWN_FROM_MM: f64 = 0.5;

/// The water's surface.
#[derive(Component)]
struct StandingWater;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, show.in_set(WaterSystems));
}

fn show(
    mut commands: Commands,
    document: Res<Document>,
    view: Res<View>,
    old: Query<Entity, With<StandingWater>>,
    mut made: Local<Option<(u64, Option<usize>)>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let wanted = (document.boot_age(), view.layers.water.then_some(view.water_case));
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let boot = document.boot();
    let Some(case) = wanted.1.and_then(|case| boot.water().get(case)) else { return };
    let Some(mesh) = boot.floor().and_then(|grid| surface(grid, case)) else { return };
    let material = paint(&mut materials, Shade { colour: theme::WATER, alpha: 0.36 });
    commands.spawn((
        StandingWater,
        Mesh3d(meshes.add(mesh)),
        MeshMaterial3d(material),
        Transform::IDENTITY,
        Visibility::default(),
    ));
}

/// One strip for each run of wet cells of a row; the case's level is a plane that the car leans in.
fn surface(grid: &HeightGrid, case: &WaterCase) -> Option<Mesh> {
    let up = case.floods.up;
    if up.z < 0.1 {
        return None;
    }
    let level = |cell: usize| {
        let floor_mm = case.floods.floor_mm[cell];
        let depth_mm = case.floods.level_mm[cell] - floor_mm;
        (floor_mm > NO_FLOOR_MM && depth_mm > SHOWN_FROM_MM).then(|| case.floods.level_mm[cell])
    };
    let (columns, rows) = grid.size;
    let (mut vertices, mut indices) = (Vec::new(), Vec::new());
    for row in 0..rows {
        let mut column = 0;
        while column < columns {
            let Some(height) = level(column + row * columns) else {
                column += 1;
                continue;
            };
            let first = column;
            while column < columns
                && level(column + row * columns).is_some_and(|other| (other - height).abs() < 0.05)
            {
                column += 1;
            }
            let corner = |column: usize, row: usize| {
                let x = grid.origin.0 + column as f64 * grid.step_mm;
                let y = grid.origin.1 + row as f64 * grid.step_mm;
                Point::new(x, y, (height - up.x * x - up.y * y) / up.z)
            };
            let base = vertices.len() as u32;
            vertices.extend([
                corner(first, row),
                corner(column, row),
                corner(column, row + 1),
                corner(first, row + 1),
            ]);
            indices.extend([base, base + 1, base + 2, base, base + 2, base + 3]);
        }
    }
    let normals: Vec<Vector> = vec![up; vertices.len()];
    (!indices.is_empty()).then(|| scene_mesh_of(&vertices, &normals, indices))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wet_square_is_one_strip_a_row() {
        // A 5 by 5 tray with a rim of 10 mm.
        let height = |cell: usize| {
            let (x, y) = (cell % 5, cell / 5);
            if x == 0 || y == 0 || x == 4 || y == 4 { 10.0 } else { 0.0 }
        };
        let grid = HeightGrid::from_heights(5.0, (5, 5), (0..25).map(height).collect());
        let slope = crate::checks::water::SLOPES[0];
        let case = WaterCase {
            slope,
            drains: crate::checks::water::DrainState::AllBlocked,
            floods: grid.flood(&slope.up(), &[]),
        };
        let mesh = surface(&grid, &case).expect("the tray fills");
        assert_eq!(mesh.count_vertices(), 3 * 4);
    }
}
