//! The pump, drawn where the current spot puts it, with the fluid in its tank.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut, Single,
    SystemSet, Transform, Update, Visibility, With,
};

use super::convert::{scene_edges, scene_mesh, scene_pose};
use super::document::Document;
use super::paint::{Paint, paint};
use super::scores::Scores;
use super::theme::{self, Palette, Shade};
use super::view::View;
use crate::geometry::Triangles;
use crate::model::{Part, Pose};

/// When the pump's entities are brought in line with the document.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct PumpSystems;

/// The pump; its parts are children in the pump's own frame.
#[derive(Component)]
struct PumpRoot;

/// The fluid's surface, in the pump's own frame.
#[derive(Component)]
struct FluidSurface;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, show_fluid, follow).chain().in_set(PumpSystems));
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
    let outline = paint(&mut materials, Shade { colour: accent, alpha: 1.0 });
    let root = commands.spawn((PumpRoot, Transform::IDENTITY, Visibility::default())).id();
    let boot = document.boot();
    for (solid, made) in document.pump().solids.iter().zip(boot.pump_solids()) {
        let alpha = if solid.part == Part::Tank { 0.45 } else { 1.0 };
        let shade = Shade { colour: theme::part_colour(solid.part), alpha };
        let material = paint(&mut materials, shade);
        let mesh = meshes.add(scene_mesh(made.triangles()));
        let mut part = commands.spawn((Mesh3d(mesh), MeshMaterial3d(material)));
        if let Some(lines) = scene_edges(made.triangles()) {
            part.with_child((Mesh3d(meshes.add(lines)), MeshMaterial3d(outline.clone())));
        }
        let part = part.id();
        commands.entity(root).add_child(part);
    }
}

fn follow(document: Res<Document>, root: Option<Single<&mut Transform, With<PumpRoot>>>) {
    let Some(mut transform) = root else { return };
    let pose = scene_pose(&document.spot().place.pose());
    if **transform != pose {
        **transform = pose;
    }
}

fn show_fluid(
    mut commands: Commands,
    document: Res<Document>,
    scores: Res<Scores>,
    root: Option<Single<Entity, With<PumpRoot>>>,
    old: Query<Entity, With<FluidSurface>>,
    mut made: Local<Option<(Entity, u64)>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let Some(root) = root.map(|root| *root) else { return };
    let Some(landed) = scores.of(document.current()) else { return };
    if *made == Some((root, landed.age)) {
        return;
    }
    *made = Some((root, landed.age));
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let Some(surface) = &landed.card.drawn.surface else { return };
    if surface.outline.len() < 3 {
        return;
    }
    // The surface was worked out where the pump stood; drawn in the pump's frame it goes along.
    let to_pump: Pose = landed.place.pose().inverse();
    let sheet = Triangles::polygon(&surface.outline).moved(&to_pump);
    let mesh = meshes.add(scene_mesh(&sheet));
    let fluid = paint(&mut materials, Shade { colour: theme::FLUID, alpha: 0.85 });
    commands.entity(root).with_child((FluidSurface, Mesh3d(mesh), MeshMaterial3d(fluid)));
}
