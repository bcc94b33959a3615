//! Driving the real window: each test in a process of its own, since a process has one event loop.

mod clicks;
mod looks;

#[allow(unused_imports, reason = "the bench that shares this clicks nothing")]
pub(crate) use clicks::*;
#[allow(unused_imports, reason = "the bench that shares this reads no pictures")]
pub(crate) use looks::read;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use bevy::app::{App, AppExit, First};
use bevy::ecs::entity::Entity;
use bevy::ecs::query::With;
use bevy::ecs::world::World;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::input::mouse::{MouseButton, MouseButtonInput};
use bevy::math::Vec2;
use bevy::window::{CursorMoved, PrimaryWindow, WindowCloseRequested, WindowEvent};
use bevy::winit::{UpdateMode, WinitSettings};
use bevy_egui::egui::Pos2;
use dryberth::checks::{Boot, HeadlineId};
use dryberth::format;
use dryberth::model::{Place, Point};
use dryberth::scene::{self, Document, Orbit, Scores, WindowSettings};

/// Set in the process that a test runs its window in.
const ALONE: &str = "DRYBERTH_WINDOW_ALONE";

/// Windows are driven one after the other: they share the processor.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// The longest that the driven window may take.
pub(crate) const LONGEST: Duration = Duration::from_secs(480);

/// Whether to go on: there is a display, or there must be one.
pub(crate) fn window_wanted(test: &str) -> bool {
    let needed = std::env::var("DRYBERTH_NEED_WINDOW").is_ok_and(|value| value == "1");
    if scene::display_available() {
        return true;
    }
    assert!(!needed, "{test}: DRYBERTH_NEED_WINDOW is set, but there is no display");
    println!("{test}: skipped, there is no display");
    false
}

/// A copy of the demo layouts and their assets, so that saving changes nothing here.
pub(crate) fn demo_copy(folder: &Path) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for part in ["layouts", "assets"] {
        copy_folder(&root.join(part), &folder.join(part));
    }
    let mut layouts: Vec<PathBuf> = fs::read_dir(folder.join("layouts"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "ron"))
        .collect();
    layouts.sort();
    layouts.pop().expect("there are demo layouts")
}

pub(crate) fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// What the test wants next from the window; `None` when it has nothing to wait for.
pub(crate) type Steps = Box<dyn FnMut(&mut World) -> Progress + Send + Sync>;

pub(crate) enum Progress {
    /// Ask again next frame.
    Wait,
    /// Go on with the next step in the next frame.
    Done,
}

pub(crate) struct Script {
    steps: Vec<(String, Steps)>,
    at: usize,
    now: Arc<Mutex<String>>,
}

impl Script {
    pub(crate) fn step(
        &mut self,
        words: impl Into<String>,
        step: impl FnMut(&mut World) -> Progress + Send + Sync + 'static,
    ) {
        self.steps.push((words.into(), Box::new(step)));
    }

    /// A step that is done at once.
    pub(crate) fn act(
        &mut self,
        words: impl Into<String>,
        mut act: impl FnMut(&mut World) + Send + Sync + 'static,
    ) {
        self.step(words, move |world| {
            act(world);
            Progress::Done
        });
    }

    /// Waits until something is so, and then two frames more, so that it is drawn.
    pub(crate) fn until(
        &mut self,
        words: impl Into<String>,
        mut so: impl FnMut(&mut World) -> bool + Send + Sync + 'static,
    ) {
        let mut frames = 0;
        self.step(words, move |world| {
            if so(world) {
                frames += 1;
            }
            if frames > 2 { Progress::Done } else { Progress::Wait }
        });
    }

    pub(crate) fn play(mut self, app: &mut App) {
        app.add_systems(First, move |world: &mut World| {
            let Some((words, step)) = self.steps.get_mut(self.at) else {
                world.write_message(AppExit::Success);
                return;
            };
            if *self.now.lock().unwrap() != *words {
                self.now.lock().unwrap().clone_from(words);
                // Whoever looks at the pictures wants to know where it hangs, too.
                if std::env::var_os("DRYBERTH_KEEP_PICTURES").is_some() {
                    println!("step: {words}");
                }
            }
            if matches!(step(world), Progress::Done) {
                self.at += 1;
            }
        });
    }
}

pub(crate) fn window(world: &mut World) -> Entity {
    world.query_filtered::<Entity, With<PrimaryWindow>>().single(world).unwrap()
}

/// Moves the pointer, as the window system would report it.
pub(crate) fn move_to(world: &mut World, to: Pos2) {
    let moved = CursorMoved { window: window(world), position: Vec2::new(to.x, to.y), delta: None };
    world.write_message(WindowEvent::CursorMoved(moved.clone()));
    world.write_message(moved);
}

pub(crate) fn ask_to_close(world: &mut World) {
    let window = window(world);
    world.write_message(WindowCloseRequested { window });
}

pub(crate) fn left_button(world: &mut World, state: ButtonState) {
    let pressed = MouseButtonInput { button: MouseButton::Left, state, window: window(world) };
    world.write_message(WindowEvent::MouseButtonInput(pressed));
    world.write_message(pressed);
}

pub(crate) fn key(world: &mut World, key_code: KeyCode, logical_key: Key, state: ButtonState) {
    let pressed = KeyboardInput {
        key_code,
        logical_key,
        state,
        text: None,
        repeat: false,
        window: window(world),
    };
    world.write_message(WindowEvent::KeyboardInput(pressed.clone()));
    world.write_message(pressed);
}

pub(crate) fn tap(world: &mut World, key_code: KeyCode, logical_key: &Key) {
    key(world, key_code, logical_key.clone(), ButtonState::Pressed);
    key(world, key_code, logical_key.clone(), ButtonState::Released);
}

/// A shortcut pressed so fast that all of it lies within one frame.
pub(crate) fn with_control(
    script: &mut Script,
    words: impl Into<String>,
    key_code: KeyCode,
    letter: &'static str,
) {
    script.act(words, move |world| {
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Pressed);
        tap(world, key_code, &Key::Character(letter.into()));
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Released);
    });
}

pub(crate) fn settled(world: &mut World) -> bool {
    world.resource::<Scores>().settled(world.resource::<Document>())
}

pub(crate) fn place(world: &World) -> Place {
    world.resource::<Document>().spot().place
}

/// Scores of the five headlines as last landed, rounded.
pub(crate) fn headlines(world: &World) -> Vec<Option<i64>> {
    let document = world.resource::<Document>();
    let landed = world.resource::<Scores>().of(document.current()).expect("figures have landed");
    HeadlineId::ALL
        .into_iter()
        .map(|id| landed.card.headline(id)?.score.map(|score| score.round() as i64))
        .collect()
}

/// A place in the window where nothing lies before the pump: the one nearest to its middle.
pub(crate) fn on_the_pump(world: &World) -> Pos2 {
    let document = world.resource::<Document>();
    let orbit = world.resource::<Orbit>();
    let boot = document.boot();
    let pump = boot.pump_at(&document.spot().place);
    let bounds = pump.iter().map(|solid| *solid.bounds()).reduce(|a, b| a.with(&b)).unwrap();
    let middle = orbit.screen(&bounds.centre()).expect("the pump is before the eye");
    let mut found: Vec<Pos2> = Vec::new();
    for row in -20..=20_i16 {
        for column in -20..=20_i16 {
            let at = middle + bevy_egui::egui::vec2(f32::from(column), f32::from(row)) * 3.0;
            let (from, way) = orbit.ray(at);
            let near = |solids: &[dryberth::geometry::Solid]| {
                solids
                    .iter()
                    .filter_map(|solid| solid.ray(&from, &way, 20_000.0))
                    .map(|hit| hit.distance_mm)
                    .min_by(f64::total_cmp)
            };
            let before = boot.pick(&from, &way, false).map(|picked| picked.hit.distance_mm);
            if let Some(pump_mm) = near(&pump)
                && before.is_none_or(|before_mm| pump_mm < before_mm - 2.0)
                && orbit.rect.contains(at)
            {
                found.push(at);
            }
        }
    }
    found
        .into_iter()
        .min_by(|a, b| (*a - middle).length().total_cmp(&(*b - middle).length()))
        .expect("some of the pump is in sight")
}

/// Some place on the boot's floor, away from the pump, as seen in the window.
pub(crate) fn on_the_floor(world: &World) -> Pos2 {
    let document = world.resource::<Document>();
    let bounds = document
        .boot()
        .bodies()
        .map(|(_, solid)| *solid.bounds())
        .reduce(|a, b| a.with(&b))
        .unwrap();
    let middle = bounds.centre();
    let floor = document
        .boot()
        .floor()
        .and_then(|grid| grid.cell(middle.x, middle.y).map(|cell| grid.centre(cell)))
        .unwrap_or(Point::new(middle.x, middle.y, bounds.low.z));
    world.resource::<Orbit>().screen(&floor).expect("the floor is before the eye")
}

/// Where a place of the boot is seen, as long as the eye stays: a change of it is a turn of the view.
pub(crate) fn eye_stays_at(world: &World) -> Pos2 {
    let far = dryberth::model::Point::new(300.0, 100.0, 50.0);
    world.resource::<Orbit>().screen(&far).expect("before the eye")
}

pub(crate) fn same(a: &Place, b: &Place) -> bool {
    (a.at - b.at).norm() < 1e-9
        && (a.turn_deg.0 - b.turn_deg.0).abs() < 1e-9
        && (a.turn_deg.1 - b.turn_deg.1).abs() < 1e-9
        && (a.turn_deg.2 - b.turn_deg.2).abs() < 1e-9
}

/// Runs a test's window in a process of its own. Says whether this is that process.
pub(crate) fn alone(test: &str) -> bool {
    if std::env::var(ALONE).is_ok_and(|name| name == test) {
        return true;
    }
    if !window_wanted(test) {
        return false;
    }
    let _turn = ONE_AT_A_TIME.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let status = Command::new(std::env::current_exe().unwrap())
        .args([test, "--exact", "--nocapture", "--include-ignored"])
        .env(ALONE, test)
        .status()
        .unwrap();
    assert!(status.success(), "{test}: {status}");
    false
}

/// Opens a layout and plays a script in its window; panics when the window breaks or takes too long.
pub(crate) fn drive(
    path: &Path,
    size: (u32, u32),
    steps: impl FnOnce(&mut Script) + Send + 'static,
) {
    let now: Arc<Mutex<String>> = Arc::new(Mutex::new("opening".into()));
    let (done, wait) = mpsc::channel();
    let (file, step) = (path.to_path_buf(), Arc::clone(&now));
    let started = Instant::now();
    let worker = thread::spawn(move || {
        let opened = format::open(&file).unwrap();
        let settings = WindowSettings {
            size,
            fitted: Boot::usual_options(&opened.layout),
            any_thread: true,
            ..WindowSettings::default()
        };
        let mut app = scene::app(opened, &settings).unwrap();
        let mut script = Script { steps: Vec::new(), at: 0, now: step };
        steps(&mut script);
        script.play(&mut app);
        app.insert_resource(WinitSettings {
            focused_mode: UpdateMode::Continuous,
            unfocused_mode: UpdateMode::Continuous,
        });
        let exit = app.run();
        let _ = done.send(exit);
    });
    match wait.recv_timeout(LONGEST) {
        Ok(exit) => assert_eq!(exit, AppExit::Success),
        Err(mpsc::RecvTimeoutError::Timeout) => {
            panic!("after {LONGEST:?} still at the step: {}", now.lock().unwrap())
        }
        Err(mpsc::RecvTimeoutError::Disconnected) => {
            let step = now.lock().unwrap().clone();
            let why = worker.join().err().and_then(|why| why.downcast_ref::<String>().cloned());
            panic!("the window broke at the step: {step}: {}", why.unwrap_or_default());
        }
    }
    println!("driven through in {:?}", started.elapsed());
}
