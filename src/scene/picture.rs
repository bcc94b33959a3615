//! A picture of the whole window, written to a file once the figures have landed.

use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use bevy::app::AppExit;
use bevy::ecs::observer::On;
use bevy::image::Image;
use bevy::prelude::{
    App, Commands, IntoScheduleConfigs, MessageWriter, Res, ResMut, Resource, Update,
    resource_exists,
};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::RequestRedraw;

use super::document::Document;
use super::orbit::Orbit;
use super::scores::Scores;

/// Frames drawn after the figures have landed, so that everything made from them is in the picture.
const SETTLE_FRAMES: u32 = 12;

/// What became of the picture; none while it isn't taken.
pub(crate) type Outcome = Arc<Mutex<Option<Result<(), String>>>>;

/// A picture to be taken.
#[derive(Resource)]
pub(crate) struct Wanted {
    /// Where it goes; a PNG file.
    pub(crate) path: PathBuf,
    /// What became of it.
    pub(crate) outcome: Outcome,
    frames: u32,
    asked: bool,
}

impl Wanted {
    pub(crate) fn new(path: PathBuf) -> Wanted {
        Wanted { path, outcome: Arc::default(), frames: 0, asked: false }
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, take.run_if(resource_exists::<Wanted>));
}

fn take(
    mut commands: Commands,
    mut wanted: ResMut<Wanted>,
    document: Res<Document>,
    scores: Res<Scores>,
    orbit: Res<Orbit>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    // A window without focus would rest for a minute between frames.
    redraw.write(RequestRedraw);
    if !scores.settled(&document) || orbit.gliding() {
        return;
    }
    wanted.frames += 1;
    if wanted.asked || wanted.frames < SETTLE_FRAMES {
        return;
    }
    wanted.asked = true;
    let (path, outcome) = (wanted.path.clone(), Arc::clone(&wanted.outcome));
    commands.spawn(Screenshot::primary_window()).observe(
        move |shot: On<ScreenshotCaptured>, mut exit: MessageWriter<AppExit>| {
            let written = write(&shot.image, &path);
            if let Ok(mut outcome) = outcome.lock() {
                *outcome = Some(written);
            }
            exit.write(AppExit::Success);
        },
    );
}

fn write(image: &Image, path: &std::path::Path) -> Result<(), String> {
    let picture = image.clone().try_into_dynamic().map_err(|error| error.to_string())?;
    picture.to_rgb8().save(path).map_err(|error| error.to_string())
}
