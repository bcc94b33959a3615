//! Water where it would stand, for the slope and drains chosen.

use std::sync::Arc;

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut,
    Resource, SystemSet, Transform, Update, Visibility, With,
};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, Slot, beside_the_frames};
use super::convert::scene_mesh_of;
use super::document::Document;
use super::paint::{Paint, paint};
use super::theme::{self, Shade};
use super::view::View;
use crate::checks::water::{DrainState, WaterCase};
use crate::geometry::HeightGrid;
use crate::model::Vector;

/// When the standing water is brought in line with the case chosen.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct WaterSystems;

/// The water's surface.
#[derive(Component)]
struct StandingWater;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Flooding>().add_systems(Update, (flood, show).chain().in_set(WaterSystems));
}

/// What the water on a slope of its own follows from.
type Asked = (u64, (f64, f64), DrainState);

/// Water on a slope of its own, worked out beside the frames.
#[derive(Resource, Default)]
struct Flooding {
    asked: Option<(Asked, Slot<Option<WaterCase>>)>,
    landed: Option<(Asked, Option<WaterCase>)>,
    age: u64,
}

fn flood(
    document: Res<Document>,
    mut view: ResMut<View>,
    mut flooding: ResMut<Flooding>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    if let Some((asked, answer)) =
        flooding.asked.as_ref().and_then(|(asked, slot)| Some((*asked, slot.take()?)))
    {
        flooding.asked = None;
        flooding.age += 1;
        let case = match answer {
            Ok(case) => case,
            Err(Broken(why)) => {
                view.panic = Some(why);
                None
            }
        };
        flooding.landed = Some((asked, case));
    }
    let boot = document.boot();
    let Some(slope) = view.slope.filter(|_| view.layers.water) else { return };
    let Some(case) = boot.water().get(view.water_case).or(boot.water().first()) else { return };
    let wanted = (document.boot_age(), slope, case.drains);
    let have = flooding.landed.as_ref().is_some_and(|(asked, _)| *asked == wanted);
    if have || flooding.asked.is_some() {
        return;
    }
    let (boot, drains) = (Arc::clone(boot), case.drains);
    let work = move || boot.water_on(slope.0, slope.1, drains);
    flooding.asked = Some((wanted, beside_the_frames(wake.as_deref(), work)));
}

fn show(
    mut commands: Commands,
    document: Res<Document>,
    view: Res<View>,
    flooding: Res<Flooding>,
    old: Query<Entity, With<StandingWater>>,
    mut made: Local<Option<(u64, Option<usize>, Option<u64>)>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let own = view.slope.and(flooding.landed.as_ref()).map(|_| flooding.age);
    let wanted = (document.boot_age(), view.layers.water.then_some(view.water_case), own);
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let boot = document.boot();
    let own = own.and(flooding.landed.as_ref()).and_then(|(_, case)| case.as_ref());
    let listed = wanted.1.and_then(|case| boot.water().get(case));
    let Some(case) = listed.map(|listed| own.unwrap_or(listed)) else { return };
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
