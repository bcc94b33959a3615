//! The pump, drawn where the current spot puts it.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut, Single,
    SystemSet, Transform, Update, Visibility, With,
};

use super::convert::{scene_edges, scene_mesh, scene_pose};
use super::document::Document;
use super::paint::{Paint, paint, whole_paint};
use super::theme::{self, Palette, Shade};
use super::view::View;
use crate::model::Place;

/// When the pump's entities are brought in line with the document.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct PumpSystems;

/// The pump; its parts are children in the pump's own frame.
#[derive(Component)]
struct PumpRoot;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, follow, ghosts).chain().in_set(PumpSystems));
}

fn rebuild(
    mut commands: Commands,
    document: Res<Document>,
    view: Res<View>,
    mut made: Local<Option<(u64, bool)>>,
    old: Query<Entity, With<PumpRoot>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let wanted = (document.boot_age(), view.dark);
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let accent = Palette::of(view.dark).accent;
    let outline = whole_paint(&mut materials, Shade { colour: accent, alpha: 1.0 });
    let root = commands.spawn((PumpRoot, Transform::IDENTITY, Visibility::default())).id();
    let boot = document.boot();
    for (solid, made) in document.pump().solids.iter().zip(boot.pump_solids()) {
        // Solid throughout: seen through what stands before it, a clear tank would be lost.
        let shade = Shade { colour: theme::part_colour(solid.part), alpha: 1.0 };
        let material = whole_paint(&mut materials, shade);
        let mesh = meshes.add(scene_mesh(made.triangles()));
        let mut part = commands.spawn((Mesh3d(mesh), MeshMaterial3d(material)));
        if let Some(lines) = scene_edges(made.triangles()) {
            part.with_child((Mesh3d(meshes.add(lines)), MeshMaterial3d(outline.clone())));
        }
        let part = part.id();
        commands.entity(root).add_child(part);
    }
}

/// The pump as another spot has it.
#[derive(Component)]
struct Ghost;

/// Draws the pump where the other spots have it, faintly, when that is asked for.
fn ghosts(
    mut commands: Commands,
    document: Res<Document>,
    view: Res<View>,
    mut made: Local<Option<(u64, Vec<Place>)>>,
    old: Query<Entity, With<Ghost>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let wanted = view.layers.ghosts.then(|| {
        let current = document.current();
        let others = document.spots().iter().enumerate().filter(|(index, _)| *index != current);
        (document.boot_age(), others.map(|(_, spot)| spot.place).collect::<Vec<_>>())
    });
    if *made == wanted {
        return;
    }
    for entity in &old {
        commands.entity(entity).despawn();
    }
    if let Some((_, places)) = &wanted {
        let material = paint(&mut materials, Shade { colour: theme::GHOST, alpha: 0.22 });
        let parts: Vec<_> = document
            .boot()
            .pump_solids()
            .iter()
            .map(|solid| meshes.add(scene_mesh(solid.triangles())))
            .collect();
        for place in places {
            for part in &parts {
                commands.spawn((
                    Ghost,
                    Mesh3d(part.clone()),
                    MeshMaterial3d(material.clone()),
                    scene_pose(&place.pose()),
                    Visibility::default(),
                ));
            }
        }
    }
    *made = wanted;
}

fn follow(document: Res<Document>, root: Option<Single<&mut Transform, With<PumpRoot>>>) {
    let Some(mut transform) = root else { return };
    let pose = scene_pose(&document.spot().place.pose());
    if **transform != pose {
        **transform = pose;
    }
}
