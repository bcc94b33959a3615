//! How hard the pump can be shaken each way before it begins to move: a surface round it, the weakest
//! way as an arrow.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut, Update,
    Visibility, With,
};

use super::convert::scene_mesh;
use super::document::Document;
use super::lines::LineSystems;
use super::paint::{Paint, tube, whole_paint};
use super::scores::Scores;
use super::theme::{self, Palette, Shade};
use super::view::View;
use crate::checks::Verdict;
use crate::geometry::Triangles;

/// Length that 1 g is drawn as, mm.
const MM_PER_G: f64 = 60.0;

/// The largest acceleration drawn, g: what holds more is held.
const MOST_G: f64 = 4.0;

/// The surface or its arrow.
#[derive(Component)]
struct Shaken;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, rebuild.in_set(LineSystems));
}

fn rebuild(
    mut commands: Commands,
    document: Res<Document>,
    scores: Res<Scores>,
    view: Res<View>,
    mut made: Local<Option<(u64, bool, bool)>>,
    old: Query<Entity, With<Shaken>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let landed = scores.of(document.current());
    let wanted = (landed.map_or(0, |landed| landed.age), view.dark, view.layers.rock);
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let rock =
        landed.filter(|_| view.layers.rock).and_then(|landed| landed.card.drawn.rock.as_ref());
    let Some(rock) = rock else { return };
    let far = |g: f64| g.clamp(0.0, MOST_G) * MM_PER_G;
    let surface = Triangles {
        vertices: rock
            .directions
            .iter()
            .zip(&rock.g)
            .map(|(way, g)| rock.centre + way * far(*g))
            .collect(),
        indices: rock.triangles.clone(),
    };
    let shade = Shade { colour: theme::ROCK, alpha: 0.30 };
    commands.spawn((
        Shaken,
        Mesh3d(meshes.add(scene_mesh(&surface))),
        MeshMaterial3d(whole_paint(&mut materials, shade)),
        Visibility::default(),
    ));
    let (g, way) = rock.weakest();
    let colour = Palette::of(view.dark).verdict(Verdict::Fail);
    if let Some(arrow) = tube(&[rock.centre, rock.centre + way * far(g).max(20.0)], 3.0, None) {
        commands.spawn((
            Shaken,
            Mesh3d(meshes.add(arrow)),
            MeshMaterial3d(whole_paint(&mut materials, Shade { colour, alpha: 1.0 })),
            Visibility::default(),
        ));
    }
}
