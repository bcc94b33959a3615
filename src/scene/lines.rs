//! Hoses, cables and the release cord as routed; fixings as they run.

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, DetectChangesMut, IntoScheduleConfigs, Local, Mesh, Mesh3d, Or,
    Query, Res, ResMut, SystemSet, Update, Visibility, With, Without,
};

use super::document::Document;
use super::paint::{Paint, paint, tube};
use super::scores::Scores;
use super::theme::{self, Palette, Shade};
use super::view::View;
use crate::checks::{DrawnFixing, DrawnLine, Verdict};
use crate::model::LineKind;

/// When routed lines and fixings are brought in line with the newest figures.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct LineSystems;

/// A routed line.
#[derive(Component)]
struct Routed;

/// A fixing.
#[derive(Component)]
struct Held;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (rebuild, show).chain().in_set(LineSystems));
}

fn rebuild(
    mut commands: Commands,
    document: Res<Document>,
    scores: Res<Scores>,
    view: Res<View>,
    mut made: Local<Option<(u64, bool)>>,
    old: Query<Entity, Or<(With<Routed>, With<Held>)>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let landed = scores.of(document.current());
    let wanted = (landed.map_or(0, |landed| landed.age), view.dark);
    if *made == Some(wanted) {
        return;
    }
    *made = Some(wanted);
    for entity in &old {
        commands.entity(entity).despawn();
    }
    let Some(landed) = landed else { return };
    let palette = Palette::of(view.dark);
    for line in &landed.card.drawn.lines {
        if let Some(mesh) = line_mesh(line) {
            let kind = document.layout().lines.iter().find(|known| known.name == line.name);
            let colour = line_colour(line.verdict, kind.map(|line| &line.kind), &palette);
            commands.spawn((
                Routed,
                Mesh3d(meshes.add(mesh)),
                MeshMaterial3d(paint(&mut materials, Shade { colour, alpha: 1.0 })),
                Visibility::default(),
            ));
        }
    }
    for fixing in &landed.card.drawn.fixings {
        if let Some(mesh) = fixing_mesh(fixing) {
            let colour = if fixing.in_reach {
                palette.verdict(Verdict::Pass)
            } else {
                palette.verdict(Verdict::Fail)
            };
            commands.spawn((
                Held,
                Mesh3d(meshes.add(mesh)),
                MeshMaterial3d(paint(&mut materials, Shade { colour, alpha: 1.0 })),
                Visibility::default(),
            ));
        }
    }
}

/// A line that fails is dashed, so that it is told apart without its colour.
fn line_mesh(line: &DrawnLine) -> Option<Mesh> {
    let dash_mm = (line.verdict == Verdict::Fail).then_some(18.0);
    tube(&line.centreline, line.radius_mm.max(1.5), dash_mm)
}

fn fixing_mesh(fixing: &DrawnFixing) -> Option<Mesh> {
    tube(&[fixing.from, fixing.to], 2.2, (!fixing.in_reach).then_some(8.0))
}

fn line_colour(
    verdict: Verdict,
    kind: Option<&LineKind>,
    palette: &Palette,
) -> bevy_egui::egui::Color32 {
    match (verdict, kind) {
        (Verdict::Pass, Some(kind)) => theme::line_colour(kind),
        _ => palette.verdict(verdict),
    }
}

fn show(
    view: Res<View>,
    mut lines: Query<&mut Visibility, (With<Routed>, Without<Held>)>,
    mut fixings: Query<&mut Visibility, (With<Held>, Without<Routed>)>,
) {
    let wanted = |seen: bool| if seen { Visibility::Inherited } else { Visibility::Hidden };
    for mut visibility in &mut lines {
        visibility.set_if_neq(wanted(view.layers.lines));
    }
    for mut visibility in &mut fixings {
        visibility.set_if_neq(wanted(view.layers.anchors));
    }
}
