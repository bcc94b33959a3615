//! The two cameras: one sees the boot, the other the panels over it.

use bevy::camera::{CameraOutputMode, visibility::RenderLayers};
use bevy::core_pipeline::tonemapping::{DebandDither, Tonemapping};
use bevy::prelude::{
    App, Camera, Camera2d, Camera3d, ClearColorConfig, Color, Commands, Component, Msaa,
    PerspectiveProjection, Projection, Query, Res, ResMut, Resource, Startup, Transform, Update,
    With, default,
};
use bevy::render::render_resource::BlendState;
use bevy::render::renderer::RenderAdapterInfo;
use bevy_egui::{EguiGlobalSettings, PrimaryEguiContext};

use super::orbit::OPENING;
use super::theme::{Palette, scene_colour};
use super::view::View;

/// Whether edges are smoothed.
#[derive(Resource)]
pub(crate) struct Smooth(pub(crate) bool);

/// The camera that sees the boot.
#[derive(Component)]
pub struct SceneEye;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Startup, set_up).add_systems(Update, sky);
}

fn set_up(
    mut commands: Commands,
    smooth: Res<Smooth>,
    adapter: Option<Res<RenderAdapterInfo>>,
    mut egui: ResMut<EguiGlobalSettings>,
) {
    egui.auto_create_primary_context = false;
    // The type's own name isn't re-exported, so it is known by how it prints itself.
    let without_card = adapter.is_some_and(|adapter| format!("{:?}", adapter.device_type) == "Cpu");
    let samples = if smooth.0 || !without_card { Msaa::Sample4 } else { Msaa::Off };
    commands.spawn((
        SceneEye,
        Camera3d::default(),
        Projection::Perspective(PerspectiveProjection { fov: OPENING, near: 0.01, ..default() }),
        Transform::IDENTITY,
        Tonemapping::None,
        DebandDither::Disabled,
        samples,
    ));
    commands.spawn((
        PrimaryEguiContext,
        Camera2d,
        RenderLayers::none(),
        Camera {
            order: 1,
            output_mode: CameraOutputMode::Write {
                // What egui has drawn is already multiplied by its alpha.
                blend_state: Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING),
                clear_color: ClearColorConfig::None,
            },
            clear_color: ClearColorConfig::Custom(Color::NONE),
            ..default()
        },
        Tonemapping::None,
        DebandDither::Disabled,
        Msaa::Off,
    ));
}

fn sky(view: Res<View>, mut eye: Query<&mut Camera, With<SceneEye>>) {
    let colour = scene_colour(Palette::of(view.dark).sky);
    for mut camera in &mut eye {
        if !matches!(camera.clear_color, ClearColorConfig::Custom(known) if known == colour) {
            camera.clear_color = ClearColorConfig::Custom(colour);
        }
    }
}
