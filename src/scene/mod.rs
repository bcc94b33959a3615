//! The 3D window: the only place where Bevy may be written.
//!
//! The [`Document`] is the truth; entities are a view of it. One plugin a file.

mod beside;
mod bodies;
mod chances;
mod clear;
mod convert;
mod document;
mod edit;
mod eye;
mod figures;
mod fit;
mod grip;
mod import;
mod keeper;
mod labels;
mod lift_map;
mod lines;
mod marks;
mod mirror;
mod moves;
mod opening;
mod orbit;
mod overlay;
mod paint;
mod panels;
mod picture;
mod pump;
mod rock;
mod scores;
mod settings;
mod swept;
mod theme;
mod thing;
mod thing_grip;
mod unseen;
mod view;
mod water;

pub use bodies::BodySystems;
pub use chances::Chances;
pub use document::Document;
pub use edit::{Draft, Edit, Gesture};
pub use eye::SceneEye;
pub use import::{Import, Pair, Preview};
pub use keeper::Keeper;
pub use lines::LineSystems;
pub use orbit::{Look, Orbit, OrbitSystems, Side};
pub use pump::PumpSystems;
pub use scores::{Landed, ScoreSystems, Scores};
pub use settings::{SceneError, WindowSettings};
pub use thing::{Kind, Known, Thing};
pub use view::{Choosing, Failed, Form, Layers, Marker, Section, Start, Tab, Tool, View};
pub use water::WaterSystems;

use std::panic::AssertUnwindSafe;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use bevy::app::{App, AppExit, PluginGroup, Update};
use bevy::asset::AssetPlugin;
use bevy::log::LogPlugin;
use bevy::prelude::{DefaultPlugins, IntoScheduleConfigs, Window, default};
use bevy::window::{WindowPlugin, WindowResizeConstraints, WindowResolution};
use bevy::winit::{UpdateMode, WinitPlugin, WinitSettings};
use bevy_egui::EguiPlugin;

use crate::format::Opened;

/// Whether there is a display to open a window on.
pub fn display_available() -> bool {
    if !cfg!(all(unix, not(target_os = "macos"))) {
        return true;
    }
    ["DISPLAY", "WAYLAND_DISPLAY"]
        .into_iter()
        .any(|name| std::env::var_os(name).is_some_and(|value| !value.is_empty()))
}

/// Opens the window on a layout and returns when it is closed.
///
/// # Errors
/// When there is no display or graphics adapter, the layout can't be made ready, or the picture
/// that was asked for can't be written.
pub fn open_window(opened: Opened, settings: WindowSettings) -> Result<(), SceneError> {
    if !display_available() {
        return Err(SceneError::NoDisplay);
    }
    let path = settings.picture.clone();
    let ready = prepare(opened, &settings)?;
    let (exit, outcome) = without_panic(move || {
        let mut app = assemble(ready, &settings, true);
        let outcome =
            app.world().get_resource::<picture::Wanted>().map(|wanted| Arc::clone(&wanted.outcome));
        (app.run(), outcome)
    })
    .map_err(SceneError::Stopped)?;
    let outcome = outcome.and_then(|outcome| outcome.lock().ok()?.take());
    match (path, outcome, exit) {
        (Some(_), Some(Ok(())), _) | (None, _, AppExit::Success) => Ok(()),
        (Some(path), outcome, _) => Err(SceneError::Picture {
            path: path.display().to_string(),
            why: match outcome {
                Some(Err(why)) => why,
                _ => "the window was closed before the figures had landed".to_string(),
            },
        }),
        (None, _, AppExit::Error(code)) => {
            Err(SceneError::Stopped(format!("it ended with status {code}")))
        }
    }
}

/// The window's app, ready to run; further systems can be added to it.
///
/// # Errors
/// When the layout can't be made ready or has no spot of the name asked for.
pub fn app(opened: Opened, settings: &WindowSettings) -> Result<App, SceneError> {
    Ok(assemble(prepare(opened, settings)?, settings, true))
}

/// The same without a window or a display: it draws onto an image, frame after frame, each waited for. What
/// a person would do in the window has to be written to its messages. For measuring.
///
/// # Errors
/// As [`app`].
pub fn app_unseen(opened: Opened, settings: &WindowSettings) -> Result<App, SceneError> {
    Ok(assemble(prepare(opened, settings)?, settings, false))
}

/// Runs `work`; a panic in it, such as Bevy's when there is no graphics adapter, becomes its
/// message. That message is kept from the terminal, since the caller reports it; a panic on another
/// thread is reported as ever.
fn without_panic<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    let heard: Arc<Mutex<Option<String>>> = Arc::default();
    let ear = Arc::clone(&heard);
    let here = std::thread::current().id();
    let before = Arc::new(std::panic::take_hook());
    let usual = Arc::clone(&before);
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().id() != here {
            usual(info);
        } else if let Ok(mut heard) = ear.lock() {
            heard.get_or_insert_with(|| first_line(&info.to_string()));
        }
    }));
    let done = std::panic::catch_unwind(AssertUnwindSafe(work));
    std::panic::set_hook(Box::new(move |info| before(info)));
    done.map_err(|_| {
        let heard = heard.lock().ok().and_then(|mut heard| heard.take());
        heard.unwrap_or_else(|| "no reason given".to_string())
    })
}

/// The message of a panic without the place in the source, in one line; in our words where the
/// cause is known.
fn first_line(panic: &str) -> String {
    let message = panic.split_once('\n').map_or(panic, |(_, message)| message);
    if message.contains("Unable to find a GPU") {
        return "no graphics adapter was found; install a Vulkan driver (a software one will do)"
            .to_string();
    }
    if message.contains("event loop") {
        return "the display that DISPLAY or WAYLAND_DISPLAY names can't be reached".to_string();
    }
    message.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The smallest window in which nothing overlaps, logical pixels.
const SMALLEST: (f32, f32) = (1024.0, 640.0);

/// What is seen round the pump when the window is opened at a spot, mm.
const ROUND_THE_PUMP_MM: f64 = 110.0;

/// A document with what is shown of it.
struct Ready {
    document: Document,
    view: View,
    orbit: Orbit,
}

fn prepare(opened: Opened, settings: &WindowSettings) -> Result<Ready, SceneError> {
    let boot = opened.boot(&settings.fitted)?;
    let mut document = Document::new(opened, boot);
    if let Some(wanted) = &settings.spot {
        let spot = document.spots().iter().position(|spot| spot.name == *wanted);
        let names = || document.spots().iter().map(|spot| format!("`{}`", spot.name));
        let spot = spot.ok_or_else(|| SceneError::Spot {
            wanted: wanted.clone(),
            known: names().collect::<Vec<_>>().join(", "),
        })?;
        document.turn_to(spot);
    }
    let mut view = View::of(document.boot(), settings.dark);
    view.inches = settings.inches;
    // A picture is of the boot, not of the cautions or the pointer over it.
    view.still = settings.picture.is_some();
    view.cautions = !view.still;
    if !view.still {
        view.recovered = keeper::journal(&document).find().map(Box::new);
    }
    let bounds =
        document.boot().bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
    // The eye begins on the side away from the pump, so that it looks at it from inside the boot.
    let left = document.spot().place.at.y > bounds.map_or(0.0, |bounds| bounds.centre().y);
    let mut orbit = Orbit::seeing(bounds, left);
    if settings.spot.is_some() {
        let pump = document.boot().pump_at(&document.spot().place);
        let pump = pump.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b));
        if let Some(pump) = pump {
            orbit.begin_with(pump.grown(ROUND_THE_PUMP_MM));
        }
    }
    Ok(Ready { document, view, orbit })
}

fn assemble(ready: Ready, settings: &WindowSettings, seen: bool) -> App {
    let title = format!("Dryberth: {}", ready.document.layout().name);
    let window = Window {
        title,
        name: Some("dryberth".into()),
        resolution: WindowResolution::new(settings.size.0, settings.size.1),
        resize_constraints: WindowResizeConstraints {
            min_width: SMALLEST.0,
            min_height: SMALLEST.1,
            ..default()
        },
        ..default()
    };
    let mut app = App::new();
    let plugins = DefaultPlugins
        // Closing is asked about first when something is unsaved.
        .set(WindowPlugin {
            primary_window: Some(window),
            close_when_requested: false,
            ..default()
        })
        .set(AssetPlugin { file_path: String::new(), ..default() })
        .set(LogPlugin { filter: "error,wgpu_hal=off".into(), ..default() });
    app.add_plugins(if seen {
        plugins.set(WinitPlugin { run_on_any_thread: settings.any_thread })
    } else {
        plugins.disable::<WinitPlugin>()
    })
    .add_plugins(EguiPlugin::default())
    .insert_resource(when_to_draw())
    .insert_resource(eye::Smooth(settings.smooth || settings.picture.is_some()))
    .insert_resource(ready.document)
    .insert_resource(ready.view)
    .insert_resource(ready.orbit)
    .configure_sets(
        Update,
        (ScoreSystems, BodySystems, PumpSystems, LineSystems, WaterSystems, OrbitSystems).chain(),
    );
    app.add_plugins((
        paint::plugin,
        eye::plugin,
        (scores::plugin, chances::plugin),
        bodies::plugin,
        pump::plugin,
        lines::plugin,
        water::plugin,
        orbit::plugin,
        panels::plugin,
        picture::plugin,
    ))
    .add_plugins((
        keeper::plugin,
        opening::plugin,
        import::plugin,
        lift_map::plugin,
        rock::plugin,
        swept::plugin,
    ));
    if !seen {
        app.add_plugins(unseen::plugin);
    }
    // A picture has the size that was asked for.
    if seen && settings.picture.is_none() {
        app.add_plugins(fit::plugin);
    }
    if let Some(path) = &settings.picture {
        app.insert_resource(picture::Wanted::new(path.clone()));
    }
    app
}

/// A frame is drawn when something happened, not all the time.
fn when_to_draw() -> WinitSettings {
    WinitSettings {
        focused_mode: UpdateMode::Reactive {
            wait: Duration::from_secs(5),
            react_to_device_events: false,
            react_to_user_events: true,
            react_to_window_events: true,
        },
        unfocused_mode: UpdateMode::Reactive {
            wait: Duration::from_secs(60),
            react_to_device_events: false,
            react_to_user_events: true,
            react_to_window_events: true,
        },
    }
}
