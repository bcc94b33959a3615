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
use crate::geometry::HeightGrid;
use crate::model::Vector;

/// When the standing water is brought in line with the case chosen.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct WaterSystems;

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

/// The case's strips as a mesh; the water is level along the car's own up.
fn surface(grid: &HeightGrid, case: &WaterCase) -> Option<Mesh> {
    let (mut vertices, mut indices) = (Vec::new(), Vec::new());
    for corners in case.surface(grid) {
        let base = vertices.len() as u32;
        vertices.extend(corners);
        indices.extend([base, base + 1, base + 2, base, base + 2, base + 3]);
    }
    let normals: Vec<Vector> = vec![case.floods.up; vertices.len()];
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
            pools: Vec::new(),
        };
        let mesh = surface(&grid, &case).expect("the tray fills");
        assert_eq!(mesh.count_vertices(), 3 * 4);
    }
}
