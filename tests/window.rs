//! The real window, driven by the events that a pointer and a keyboard make.
//!
//! Needs a display and a Vulkan driver; a software one under Xvfb will do. Without a display the
//! tests say so and pass, unless `DRYBERTH_NEED_WINDOW=1` is set.
#![cfg(feature = "scene")]
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use bevy::app::{App, AppExit, First};
use bevy::asset::RenderAssetUsages;
use bevy::ecs::entity::Entity;
use bevy::ecs::query::With;
use bevy::ecs::world::World;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
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
use dryberth::scene::{self, Document, Orbit, Scores, View, WindowSettings};

/// The longest that the driven window may take.
const LONGEST: Duration = Duration::from_secs(85);

/// Whether to go on: there is a display, or there must be one.
fn window_wanted(test: &str) -> bool {
    let needed = std::env::var("DRYBERTH_NEED_WINDOW").is_ok_and(|value| value == "1");
    if scene::display_available() {
        return true;
    }
    assert!(!needed, "{test}: DRYBERTH_NEED_WINDOW is set, but there is no display");
    println!("{test}: skipped, there is no display");
    false
}

/// A copy of the demo layouts and their assets, so that saving changes nothing here.
fn demo_copy(folder: &Path) -> PathBuf {
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

fn copy_folder(from: &Path, to: &Path) {
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
type Steps = Box<dyn FnMut(&mut World) -> Progress + Send + Sync>;

enum Progress {
    /// Ask again next frame.
    Wait,
    /// Go on with the next step in the next frame.
    Done,
}

struct Script {
    steps: Vec<(&'static str, Steps)>,
    at: usize,
    now: Arc<Mutex<&'static str>>,
}

impl Script {
    fn step(
        &mut self,
        words: &'static str,
        step: impl FnMut(&mut World) -> Progress + Send + Sync + 'static,
    ) {
        self.steps.push((words, Box::new(step)));
    }

    /// A step that is done at once.
    fn act(
        &mut self,
        words: &'static str,
        mut act: impl FnMut(&mut World) + Send + Sync + 'static,
    ) {
        self.step(words, move |world| {
            act(world);
            Progress::Done
        });
    }

    /// Waits until something is so, and then two frames more, so that it is drawn.
    fn until(
        &mut self,
        words: &'static str,
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

    fn play(mut self, app: &mut App) {
        app.add_systems(First, move |world: &mut World| {
            let Some((words, step)) = self.steps.get_mut(self.at) else {
                world.write_message(AppExit::Success);
                return;
            };
            *self.now.lock().unwrap() = words;
            if matches!(step(world), Progress::Done) {
                self.at += 1;
            }
        });
    }
}

fn window(world: &mut World) -> Entity {
    world.query_filtered::<Entity, With<PrimaryWindow>>().single(world).unwrap()
}

/// Moves the pointer, as the window system would report it.
fn move_to(world: &mut World, to: Pos2) {
    let moved = CursorMoved { window: window(world), position: Vec2::new(to.x, to.y), delta: None };
    world.write_message(WindowEvent::CursorMoved(moved.clone()));
    world.write_message(moved);
}

fn ask_to_close(world: &mut World) {
    let window = window(world);
    world.write_message(WindowCloseRequested { window });
}

fn left_button(world: &mut World, state: ButtonState) {
    let pressed = MouseButtonInput { button: MouseButton::Left, state, window: window(world) };
    world.write_message(WindowEvent::MouseButtonInput(pressed));
    world.write_message(pressed);
}

fn key(world: &mut World, key_code: KeyCode, logical_key: Key, state: ButtonState) {
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

fn tap(world: &mut World, key_code: KeyCode, logical_key: &Key) {
    key(world, key_code, logical_key.clone(), ButtonState::Pressed);
    key(world, key_code, logical_key.clone(), ButtonState::Released);
}

/// A shortcut pressed so fast that all of it lies within one frame.
fn with_control(script: &mut Script, words: &'static str, key_code: KeyCode, letter: &'static str) {
    script.act(words, move |world| {
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Pressed);
        tap(world, key_code, &Key::Character(letter.into()));
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Released);
    });
}

fn settled(world: &mut World) -> bool {
    world.resource::<Scores>().settled(world.resource::<Document>())
}

fn place(world: &World) -> Place {
    world.resource::<Document>().spot().place
}

/// Scores of the five headlines as last landed, rounded.
fn headlines(world: &World) -> Vec<Option<i64>> {
    let document = world.resource::<Document>();
    let landed = world.resource::<Scores>().of(document.current()).expect("figures have landed");
    HeadlineId::ALL
        .into_iter()
        .map(|id| landed.card.headline(id)?.score.map(|score| score.round() as i64))
        .collect()
}

/// A place in the window where nothing lies before the pump: the one nearest to its middle.
fn on_the_pump(world: &World) -> Pos2 {
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
fn on_the_floor(world: &World) -> Pos2 {
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

fn same(a: &Place, b: &Place) -> bool {
    (a.at - b.at).norm() < 1e-9
        && (a.turn_deg.0 - b.turn_deg.0).abs() < 1e-9
        && (a.turn_deg.1 - b.turn_deg.1).abs() < 1e-9
        && (a.turn_deg.2 - b.turn_deg.2).abs() < 1e-9
}

/// What the steps see, to be looked at when the window is closed.
#[derive(Default, Clone)]
struct Seen {
    start: Option<Place>,
    start_scores: Vec<Option<i64>>,
    scores_while_held: usize,
    dropped: Option<Place>,
    dropped_scores: Vec<Option<i64>>,
    undone: Option<Place>,
    steps_left: bool,
    redone: Option<Place>,
    spot: String,
    unsaved_after: bool,
    said: String,
}

fn drag_and_save(script: &mut Script, seen: &Arc<Mutex<Seen>>) {
    let note = |seen: &Arc<Mutex<Seen>>| Arc::clone(seen);
    script.until("the figures of every spot land", settled);
    script.act("the cautions are closed", |world| {
        assert!(world.resource::<View>().cautions, "the cautions are shown on opening");
        let middle = world.resource::<Orbit>().rect.center();
        move_to(world, middle);
        // Behind a dialog nothing is reached by a key.
        tap(world, KeyCode::KeyQ, &Key::Character("q".into()));
        tap(world, KeyCode::Escape, &Key::Escape);
    });
    script.until("the cautions are closed", |world| !world.resource::<View>().cautions);
    script.act("nothing was turned behind them", |world| {
        assert!(world.resource::<Document>().undo_words().is_none());
    });
    script.act("a key away from the picture changes nothing", |world| {
        move_to(world, Pos2::new(20.0, 400.0));
        tap(world, KeyCode::Digit3, &Key::Character("3".into()));
    });
    script.act("the pointer goes over the picture", |world| {
        let middle = world.resource::<Orbit>().rect.center();
        move_to(world, middle);
    });
    let mut frames = 0;
    script.step("still on the first spot", move |world| {
        frames += 1;
        assert_eq!(world.resource::<Document>().current(), 0, "the key was for nobody");
        if frames > 3 { Progress::Done } else { Progress::Wait }
    });
    script.act("turning to the second spot by its key", |world| {
        tap(world, KeyCode::Digit2, &Key::Character("2".into()));
    });
    let kept = note(seen);
    script.until("turning to the second spot by its key", move |world| {
        let mut kept = kept.lock().unwrap();
        kept.start = Some(place(world));
        kept.start_scores = headlines(world);
        kept.spot = world.resource::<Document>().spot().name.clone();
        world.resource::<Document>().current() == 1 && settled(world)
    });
    let from: Arc<Mutex<(Pos2, Pos2)>> = Arc::new(Mutex::new((Pos2::ZERO, Pos2::ZERO)));
    let way = Arc::clone(&from);
    script.act("the pointer goes to the pump", move |world| {
        *way.lock().unwrap() = (on_the_pump(world), on_the_floor(world));
        move_to(world, way.lock().unwrap().0);
    });
    script.act("pressing", |world| left_button(world, ButtonState::Pressed));
    let (kept, mut step, mut last) = (note(seen), 0.0_f32, 0);
    script.step("dragging over the floor", move |world| {
        let (start, end) = *from.lock().unwrap();
        step += 1.0;
        move_to(world, start + (end - start) * (step / 14.0).min(1.0));
        let document = world.resource::<Document>();
        if let Some(landed) = world.resource::<Scores>().of(document.current())
            && landed.age != last
        {
            last = landed.age;
            kept.lock().unwrap().scores_while_held += 1;
        }
        if step >= 18.0 { Progress::Done } else { Progress::Wait }
    });
    script.act("letting go", |world| left_button(world, ButtonState::Released));
    script.until("the new figures land", settled);
    let kept = note(seen);
    script.act("looking", move |world| {
        let mut kept = kept.lock().unwrap();
        kept.dropped = Some(place(world));
        kept.dropped_scores = headlines(world);
    });
    with_control(script, "undo", KeyCode::KeyZ, "z");
    let (kept, mut frames) = (note(seen), 0);
    script.step("undo", move |world| {
        frames += 1;
        let mut kept = kept.lock().unwrap();
        kept.undone = Some(place(world));
        kept.steps_left = world.resource::<Document>().undo_words().is_some();
        if frames > 3 { Progress::Done } else { Progress::Wait }
    });
    with_control(script, "redo", KeyCode::KeyY, "y");
    let (kept, mut frames) = (note(seen), 0);
    script.step("redo", move |world| {
        frames += 1;
        kept.lock().unwrap().redone = Some(place(world));
        if frames > 3 { Progress::Done } else { Progress::Wait }
    });
    script.act("asking to close with something unsaved", ask_to_close);
    script.until("being asked whether to save", |world| world.resource::<View>().closing);
    script.act("going on", |world| tap(world, KeyCode::Escape, &Key::Escape));
    script.until("going on", |world| !world.resource::<View>().closing);
    with_control(script, "saving", KeyCode::KeyS, "s");
    let (kept, mut frames) = (note(seen), 0);
    script.step("saving", move |world| {
        frames += 1;
        let mut kept = kept.lock().unwrap();
        let document = world.resource::<Document>();
        kept.unsaved_after = document.unsaved(document.current());
        kept.said = format!("{:?}", world.resource::<View>().said);
        if frames > 3 { Progress::Done } else { Progress::Wait }
    });
    script.act("asking to close with everything saved", ask_to_close);
    script.step("the window closes by itself", |_| Progress::Wait);
}

#[test]
fn a_drag_changes_the_scores_and_is_undone_in_one_step_and_saved() {
    if !window_wanted("drag") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path());
    let before = fs::read_to_string(&path).unwrap();
    let seen: Arc<Mutex<Seen>> = Arc::default();
    let now: Arc<Mutex<&'static str>> = Arc::new(Mutex::new("opening"));
    let (done, wait) = mpsc::channel();
    let (file, kept, step) = (path.clone(), Arc::clone(&seen), Arc::clone(&now));
    let started = Instant::now();
    let worker = thread::spawn(move || {
        let opened = format::open(&file).unwrap();
        let settings = WindowSettings {
            size: (1280, 800),
            fitted: Boot::usual_options(&opened.layout),
            any_thread: true,
            ..WindowSettings::default()
        };
        let mut app = scene::app(opened, &settings).unwrap();
        let mut script = Script { steps: Vec::new(), at: 0, now: step };
        drag_and_save(&mut script, &kept);
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
            let step = *now.lock().unwrap();
            let why = worker.join().err().and_then(|why| why.downcast_ref::<String>().cloned());
            panic!("the window broke at the step: {step}: {}", why.unwrap_or_default());
        }
    }
    println!("driven through in {:?}", started.elapsed());
    let seen = seen.lock().unwrap().clone();
    let (start, dropped) = (seen.start.unwrap(), seen.dropped.unwrap());
    assert!((start.at - dropped.at).norm() > 50.0, "the pump was dragged: {start:?} {dropped:?}");
    assert_ne!(seen.start_scores, seen.dropped_scores, "the headline scores changed");
    assert!(seen.scores_while_held >= 2, "scores landed during the drag");
    assert!(same(&start, &seen.undone.unwrap()), "one undo brought it back");
    assert!(!seen.steps_left, "the whole drag was one step");
    assert!(same(&dropped, &seen.redone.unwrap()), "redo moved it again");
    assert!(!seen.unsaved_after, "nothing is unsaved after saving: {}", seen.said);
    let after = fs::read_to_string(&path).unwrap();
    assert_ne!(before, after, "the file changed: {}", seen.said);
    let backups: Vec<PathBuf> = fs::read_dir(path.parent().unwrap())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|found| found.to_string_lossy().ends_with(".bak"))
        .collect();
    assert_eq!(backups.len(), 1, "one backup: {backups:?}");
    assert_eq!(fs::read_to_string(&backups[0]).unwrap(), before, "the backup is what was there");
    let again = format::open(&path).unwrap();
    let saved = again.layout.spot(&seen.spot).expect("the spot is still there").place;
    assert!(same(&saved, &dropped), "the file reads back as the new place");
}

/// Spread of the brightness in a part of a picture, and how many colours it holds.
fn spread(image: &Image, x: std::ops::Range<u32>, y: std::ops::Range<u32>) -> (f64, usize) {
    let mut values = Vec::new();
    let mut colours = std::collections::BTreeSet::new();
    for row in y.step_by(3) {
        for column in x.clone().step_by(3) {
            let pixel = image.pixel_bytes(bevy::math::UVec3::new(column, row, 0)).unwrap();
            let sum = f64::from(pixel[0]) + f64::from(pixel[1]) + f64::from(pixel[2]);
            values.push(sum / 3.0);
            colours.insert([pixel[0] / 8, pixel[1] / 8, pixel[2] / 8]);
        }
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let square = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
    ((square / values.len() as f64).sqrt(), colours.len())
}

#[test]
fn pictures_of_both_sizes_show_boot_and_panels() {
    if !window_wanted("pictures") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (width, height) in [(1280_u32, 800_u32), (1920, 1080)] {
        let file = folder.path().join(format!("{width}.png"));
        let mut child = Command::new(env!("CARGO_BIN_EXE_dryberth"))
            .args(["scene", "--size", &format!("{width}x{height}"), "--picture"])
            .arg(&file)
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let started = Instant::now();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status;
            }
            if started.elapsed() > LONGEST {
                let _ = child.kill();
                panic!("no picture of {width} × {height} after {LONGEST:?}");
            }
            thread::sleep(Duration::from_millis(50));
        };
        assert!(status.success(), "{width} × {height}: {status}");
        println!("{width} × {height} in {:?}", started.elapsed());
        let bytes = fs::read(&file).unwrap();
        let image = Image::from_buffer(
            &bytes,
            ImageType::Extension("png"),
            CompressedImageFormats::NONE,
            true,
            ImageSampler::Default,
            RenderAssetUsages::default(),
        )
        .unwrap();
        assert_eq!((image.width(), image.height()), (width, height));
        let boot = spread(&image, 260..width - 360, 90..height - 300);
        assert!(boot.0 > 12.0 && boot.1 > 60, "the boot is drawn: {boot:?}");
        let left = spread(&image, 10..220, 50..height - 60);
        assert!(left.0 > 8.0 && left.1 > 12, "the left panel is drawn: {left:?}");
        let right = spread(&image, width - 310..width - 20, 50..height - 60);
        assert!(right.0 > 8.0 && right.1 > 12, "the right panel is drawn: {right:?}");
    }
}
