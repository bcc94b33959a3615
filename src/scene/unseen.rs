//! The window's app without a window: it draws onto an image, so that frames can be measured where there is
//! no display.

use bevy::app::{App, AppExit, Last, PluginsState};
use bevy::asset::Assets;
use bevy::camera::{Camera, RenderTarget};
use bevy::image::Image;
use bevy::prelude::{
    Commands, Entity, IntoScheduleConfigs, Local, Query, Res, ResMut, Single, With,
};
use bevy::render::render_resource::{PollType, TextureFormat};
use bevy::render::renderer::{RenderDevice, RenderQueue};
use bevy::render::{Render, RenderApp, RenderSystems};
use bevy::tasks::tick_global_task_pools_on_main_thread;
use bevy::window::{PrimaryWindow, Window};

pub(super) fn plugin(app: &mut App) {
    app.add_systems(Last, onto_an_image).set_runner(run);
    if let Some(render) = app.get_sub_app_mut(RenderApp) {
        render.add_systems(Render, until_drawn.in_set(RenderSystems::Cleanup));
    }
}

/// Frame after frame, as fast as they come.
fn run(mut app: App) -> AppExit {
    while app.plugins_state() == PluginsState::Adding {
        tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
    loop {
        app.update();
        if let Some(exit) = app.should_exit() {
            return exit;
        }
    }
}

/// Turns the cameras from the window that isn't there to an image of its size. In the first
/// frame they begin at the window, so that what is typed and clicked in it finds its way.
fn onto_an_image(
    mut commands: Commands,
    window: Single<&Window, With<PrimaryWindow>>,
    cameras: Query<(Entity, &RenderTarget), With<Camera>>,
    mut images: ResMut<Assets<Image>>,
) {
    if cameras.iter().all(|(_, target)| target.as_image().is_some()) {
        return;
    }
    let size = window.resolution.physical_size();
    let format = TextureFormat::Rgba8UnormSrgb;
    let image = images.add(Image::new_target_texture(size.x, size.y, format, None));
    for (camera, _) in &cameras {
        commands.entity(camera).insert(RenderTarget::Image(image.clone().into()));
    }
}

/// No display holds a frame back, so the one before is waited for, as where two pictures take turns on a
/// display: else the graphics card would fall behind.
fn until_drawn(
    device: Res<RenderDevice>,
    queue: Res<RenderQueue>,
    mut before: Local<Option<PollType>>,
) {
    // What is handed over last comes after all of this frame.
    let here = PollType::Wait { submission_index: Some(queue.submit([])), timeout: None };
    if let Some(before) = before.replace(here) {
        // Fails only where the card is lost, and then the next frame says so.
        let _ = device.poll(before);
    }
}
