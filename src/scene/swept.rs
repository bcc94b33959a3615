//! The space that moving parts go through over their whole travel, drawn faintly when it is asked for.

use std::sync::Arc;

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut,
    Resource, Update, Visibility, With,
};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, Slot, beside_the_frames};
use super::bodies::BodySystems;
use super::convert::scene_mesh;
use super::document::Document;
use super::paint::{Paint, paint};
use super::theme::{self, Shade};
use super::view::View;
use crate::geometry::Triangles;
use crate::model::MoverKind;

/// How much of what lies behind is hidden by one wall of the space.
const FAINT: f32 = 0.05;

/// The space of one moving part.
struct Space {
    name: String,
    kind: MoverKind,
    surface: Triangles,
}

/// The spaces of every moving part of a boot, worked out beside the frames.
#[derive(Resource, Default)]
struct Sweeping {
    asked: Option<(u64, Slot<Vec<Space>>)>,
    landed: Option<(u64, Vec<Space>)>,
}

/// A space as drawn.
#[derive(Component)]
struct Swept;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Sweeping>()
        .add_systems(Update, (work_out, show).chain().in_set(BodySystems));
}

fn work_out(
    document: Res<Document>,
    mut view: ResMut<View>,
    mut sweeping: ResMut<Sweeping>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    if let Some((age, answer)) =
        sweeping.asked.as_ref().and_then(|(age, slot)| Some((*age, slot.take()?)))
    {
        sweeping.asked = None;
        let spaces = match answer {
            Ok(spaces) => spaces,
            Err(Broken(why)) => {
                view.panic = Some(why);
                Vec::new()
            }
        };
        sweeping.landed = Some((age, spaces));
    }
    let age = document.boot_age();
    let have = sweeping.landed.as_ref().is_some_and(|(landed, _)| *landed == age);
    if !view.layers.swept || have || sweeping.asked.is_some() {
        return;
    }
    let boot = Arc::clone(document.boot());
    let work = move || {
        boot.movers()
            .filter_map(|(mover, _)| {
                let surface = boot.swept(&mover.name)?;
                Some(Space { name: mover.name.clone(), kind: mover.kind, surface })
            })
            .collect()
    };
    sweeping.asked = Some((age, beside_the_frames(wake.as_deref(), work)));
}

fn show(
    mut commands: Commands,
    view: Res<View>,
    sweeping: Res<Sweeping>,
    mut made: Local<Option<(u64, Vec<String>)>>,
    old: Query<Entity, With<Swept>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let landed = sweeping.landed.as_ref().filter(|_| view.layers.swept);
    let wanted = landed.map(|(age, spaces)| {
        let shown = spaces.iter().filter(|space| !view.hidden.contains(&space.name));
        (*age, shown.map(|space| space.name.clone()).collect::<Vec<_>>())
    });
    if *made == wanted {
        return;
    }
    for entity in &old {
        commands.entity(entity).despawn();
    }
    for space in landed.iter().flat_map(|(_, spaces)| spaces) {
        if view.hidden.contains(&space.name) {
            continue;
        }
        let shade = Shade { colour: theme::mover_colour(space.kind), alpha: FAINT };
        commands.spawn((
            Swept,
            Mesh3d(meshes.add(scene_mesh(&space.surface))),
            MeshMaterial3d(paint(&mut materials, shade)),
            Visibility::default(),
        ));
    }
    *made = wanted;
}
