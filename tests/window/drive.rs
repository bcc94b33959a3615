//! Driving the real window: each test in a process of its own, since a process has one event loop.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use bevy::app::{App, AppExit, First};
use bevy::asset::RenderAssetUsages;
use bevy::ecs::entity::Entity;
use bevy::ecs::observer::On;
use bevy::ecs::query::With;
use bevy::ecs::world::World;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::input::mouse::{MouseButton, MouseButtonInput, MouseScrollUnit, MouseWheel};
use bevy::input::touch::TouchPhase;
use bevy::math::Vec2;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::{CursorMoved, PrimaryWindow, WindowCloseRequested, WindowEvent};
use bevy::winit::{UpdateMode, WinitSettings};
use bevy_egui::egui::{self, Pos2, Rect};
use bevy_egui::{EguiContext, PrimaryEguiContext};
use dryberth::checks::{Boot, HeadlineId};
use dryberth::format;
use dryberth::model::{Place, Point};
use dryberth::scene::{self, Document, Orbit, Scores, View, WindowSettings};

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

/// The panels' own state.
pub(crate) fn panels(world: &mut World) -> egui::Context {
    let mut found = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    found.single_mut(world).unwrap().get_mut().clone()
}

/// Where the widgets are that have a label, as drawn last, from top to bottom; needs
/// [`Script::see_widgets`].
pub(crate) fn widgets(world: &mut World, label: &str) -> Vec<Rect> {
    let screen = panels(world).viewport_rect();
    let mut found = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| widgets.info(widget.id).is_some_and(|info| called(info, label)))
            .map(|widget| widget.interact_rect)
            .filter(|rect| rect.is_positive() && screen.contains_rect(*rect))
            .collect::<Vec<_>>()
    });
    found.sort_by(|a, b| (a.min.y, a.min.x).partial_cmp(&(b.min.y, b.min.x)).unwrap());
    found.dedup();
    found
}

/// Whether a widget is told by this label; a list that is shut, by what is chosen in it.
fn called(info: &egui::WidgetInfo, label: &str) -> bool {
    let chosen =
        info.typ == egui::WidgetType::ComboBox && info.current_text_value.as_deref() == Some(label);
    // `Bodies (*)` stands for `Bodies (7)`, however many there are.
    let counted = |stem: &str| {
        info.label.as_deref().is_some_and(|said| said.starts_with(stem) && said.ends_with(')'))
    };
    chosen || info.label.as_deref() == Some(label) || label.strip_suffix("*)").is_some_and(counted)
}

/// Turns the wheel over the left panel towards a widget with this label that is out of sight.
fn scroll_to(world: &mut World, label: &str) {
    let picture = world.resource::<Orbit>().rect;
    let at = Pos2::new(picture.left() / 2.0, 400.0);
    let above = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| widgets.info(widget.id).is_some_and(|info| called(info, label)))
            .map(|widget| widget.rect.center().y < at.y)
            .next()
    });
    let Some(above) = above else { return };
    move_to(world, at);
    let wheel = MouseWheel {
        unit: MouseScrollUnit::Pixel,
        x: 0.0,
        y: if above { 120.0 } else { -120.0 },
        window: window(world),
        phase: TouchPhase::Moved,
    };
    world.write_message(WindowEvent::MouseWheel(wheel));
    world.write_message(wheel);
}

/// The boxes for numbers inside a part of the window, row by row.
pub(crate) fn number_boxes(world: &mut World, within: Rect) -> Vec<Rect> {
    let mut found = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| {
                widgets.info(widget.id).is_some_and(|info| info.typ == egui::WidgetType::DragValue)
            })
            .map(|widget| widget.interact_rect)
            .filter(|rect| rect.is_positive() && within.contains_rect(*rect))
            .collect::<Vec<_>>()
    });
    found.sort_by(|a, b| {
        (a.min.y.round(), a.min.x).partial_cmp(&(b.min.y.round(), b.min.x)).unwrap()
    });
    found.dedup();
    found
}

fn typed(world: &mut World, text: &str) {
    for letter in text.chars() {
        let pressed = KeyboardInput {
            key_code: KeyCode::KeyA,
            logical_key: Key::Character(letter.to_string().into()),
            state: ButtonState::Pressed,
            text: Some(letter.to_string().into()),
            repeat: false,
            window: window(world),
        };
        world.write_message(WindowEvent::KeyboardInput(pressed.clone()));
        world.write_message(pressed);
    }
}

/// Width of the pictures that are held against each other: small enough that a letter drawn half a
/// point aside doesn't count.
const SMALL: usize = 320;

/// Mean difference of a colour, of 255, up to which two pictures are the same.
const MEAN: f64 = 4.0;

/// Share of the points that may differ by more than 48 of 255, such as figures that changed.
const SPOTS: f64 = 0.02;

/// A picture made small: the mean of every block, red, green, blue.
fn small(image: &Image) -> (usize, usize, Vec<u8>) {
    let (width, height) = (image.width() as usize, image.height() as usize);
    let picture = image.clone().try_into_dynamic().unwrap().to_rgb8();
    let bytes = picture.as_raw();
    let block = (width / SMALL).max(1);
    let (wide, high) = (width / block, height / block);
    let mut out = Vec::with_capacity(wide * high * 3);
    for row in 0..high {
        for column in 0..wide {
            for colour in 0..3 {
                let mut sum = 0_usize;
                for y in 0..block {
                    for x in 0..block {
                        let at = ((row * block + y) * width + column * block + x) * 3 + colour;
                        sum += usize::from(bytes[at]);
                    }
                }
                out.push((sum / (block * block)) as u8);
            }
        }
    }
    (wide, high, out)
}

/// Holds a picture against its reference.
fn compare(name: &str, image: &Image) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/window/pictures");
    let file = folder.join(format!("{name}.png"));
    if let Some(keep) = std::env::var_os("DRYBERTH_KEEP_PICTURES") {
        let whole = image.clone().try_into_dynamic().unwrap().to_rgb8();
        whole.save(Path::new(&keep).join(format!("{name}.png"))).unwrap();
    }
    let (wide, high, now) = small(image);
    if std::env::var("DRYBERTH_NEW_PICTURES").is_ok_and(|value| value == "1") {
        fs::create_dir_all(&folder).unwrap();
        let rgba: Vec<u8> = now.chunks(3).flat_map(|rgb| [rgb[0], rgb[1], rgb[2], 255]).collect();
        let small = Image::new(
            Extent3d { width: wide as u32, height: high as u32, depth_or_array_layers: 1 },
            TextureDimension::D2,
            rgba,
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::default(),
        );
        small.try_into_dynamic().unwrap().to_rgb8().save(&file).unwrap();
        return;
    }
    let bytes = fs::read(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    let reference = Image::from_buffer(
        &bytes,
        ImageType::Extension("png"),
        CompressedImageFormats::NONE,
        true,
        ImageSampler::Default,
        RenderAssetUsages::default(),
    )
    .unwrap();
    let reference = reference.try_into_dynamic().unwrap().to_rgb8();
    assert_eq!(reference.dimensions(), (wide as u32, high as u32), "{name}: another size");
    let differences: Vec<f64> =
        now.iter().zip(reference.as_raw()).map(|(a, b)| f64::from(a.abs_diff(*b))).collect();
    let mean = differences.iter().sum::<f64>() / differences.len() as f64;
    let far = differences.iter().filter(|by| **by > 48.0).count() as f64;
    let share = far / differences.len() as f64;
    println!("{name}: {mean:.2} of 255 on the mean, {:.2} % far off", share * 100.0);
    assert!(
        mean <= MEAN && share <= SPOTS,
        "{name}: {mean:.2} of 255 on the mean, {:.2} % far off; if that is meant to be, run with \
         DRYBERTH_NEW_PICTURES=1 and look at the new references",
        share * 100.0
    );
}

/// egui tells where its widgets are only where assertions are built in.
fn mark_widgets(panels: &egui::Context, mark: bool) {
    #[cfg(debug_assertions)]
    panels.all_styles_mut(|style| style.debug.show_interactive_widgets = mark);
    #[cfg(not(debug_assertions))]
    let _ = panels;
    #[cfg(not(debug_assertions))]
    assert!(!mark, "the panels are clicked in the dev profile only, not with --release");
}

impl Script {
    /// Makes the panels say where their widgets are.
    pub(crate) fn see_widgets(&mut self) {
        self.act("seeing where the widgets are", |world| {
            let panels = panels(world);
            mark_widgets(&panels, true);
            // On a loaded machine seconds may pass from one frame to the next.
            panels.options_mut(|options| options.input_options.max_click_duration = 60.0);
        });
    }

    /// No longer, so that a picture has no marks of it.
    pub(crate) fn hide_widgets(&mut self) {
        self.act("hiding the marks", |world| {
            mark_widgets(&panels(world), false);
        });
    }

    /// Waits for a widget with this label, and clicks the `nth` one from the top.
    pub(crate) fn click_nth(&mut self, label: &'static str, nth: usize) {
        let at: Arc<Mutex<Option<Pos2>>> = Arc::default();
        let (seen, frames) = (Arc::clone(&at), Mutex::new(0));
        self.step(format!("finding “{label}”"), move |world| {
            let mut frames = frames.lock().unwrap();
            *frames += 1;
            let found = widgets(world, label);
            if found.len() <= nth && *frames % 4 == 0 {
                scroll_to(world, label);
            }
            match found.get(nth) {
                // Two frames, so that what moves has come to rest.
                Some(rect) if *seen.lock().unwrap() == Some(rect.center()) => {
                    move_to(world, rect.center());
                    Progress::Done
                }
                found => {
                    *seen.lock().unwrap() = found.map(|rect| rect.center());
                    assert!(*frames < 400, "there is no “{label}” to click");
                    Progress::Wait
                }
            }
        });
        self.press_at(move || at.lock().unwrap().unwrap());
    }

    /// Takes a picture of the window and holds it against the reference of that name; with
    /// `DRYBERTH_NEW_PICTURES=1` it becomes the reference.
    pub(crate) fn picture(&mut self, name: &'static str) {
        self.hide_widgets();
        self.pause(6);
        let taken: Arc<Mutex<Option<Image>>> = Arc::default();
        let to = Arc::clone(&taken);
        self.act(format!("taking the picture {name}"), move |world| {
            let to = Arc::clone(&to);
            world.spawn(Screenshot::primary_window()).observe(
                move |shot: On<ScreenshotCaptured>| {
                    *to.lock().unwrap() = Some(shot.image.clone());
                },
            );
        });
        self.step(format!("looking at the picture {name}"), move |_| {
            let Some(image) = taken.lock().unwrap().take() else { return Progress::Wait };
            compare(name, &image);
            Progress::Done
        });
        self.see_widgets();
        self.pause(2);
    }

    /// Clicks the only widget with this label, or the topmost.
    pub(crate) fn click(&mut self, label: &'static str) {
        self.click_nth(label, 0);
    }

    /// Clicks somewhere.
    pub(crate) fn press_at(&mut self, at: impl Fn() -> Pos2 + Send + Sync + Clone + 'static) {
        let (first, second) = (at.clone(), at);
        self.act("the pointer goes there", move |world| move_to(world, first()));
        self.act("it presses", move |world| {
            move_to(world, second());
            left_button(world, ButtonState::Pressed);
        });
        self.act("it lets go", |world| left_button(world, ButtonState::Released));
        self.pause(3);
    }

    /// Lets some frames pass.
    pub(crate) fn pause(&mut self, frames: u32) {
        let mut passed = 0;
        self.step("some frames", move |_| {
            passed += 1;
            if passed > frames { Progress::Done } else { Progress::Wait }
        });
    }

    /// Types into whatever has the keyboard.
    pub(crate) fn write(&mut self, text: impl Into<String>) {
        let text = text.into();
        self.act("typing", move |world| typed(world, &text));
        self.pause(2);
    }

    /// Presses a key.
    pub(crate) fn tap(&mut self, code: KeyCode, logical: Key) {
        self.act(format!("{logical:?}"), move |world| tap(world, code, &logical));
        self.pause(3);
    }

    /// Types a number into the `nth` box of a part of the window.
    pub(crate) fn number(&mut self, within: fn(&mut World) -> Rect, nth: usize, text: &str) {
        let at: Arc<Mutex<Pos2>> = Arc::default();
        let found = Arc::clone(&at);
        self.step(format!("finding the box for {text}"), move |world| {
            let part = within(world);
            let boxes = number_boxes(world, part);
            let Some(rect) = boxes.get(nth) else { return Progress::Wait };
            *found.lock().unwrap() = rect.center();
            Progress::Done
        });
        self.press_at(move || *at.lock().unwrap());
        self.write(text);
        self.tap(KeyCode::Enter, Key::Enter);
    }

    /// Closes the cautions that a window opens with.
    pub(crate) fn past_the_cautions(&mut self) {
        self.until("the figures land", settled);
        self.see_widgets();
        self.click("Understood");
        self.until("the cautions are closed", |world| !world.resource::<View>().cautions);
    }

    /// Puts the pointer over the middle of the picture, where keys move the pump.
    pub(crate) fn over_the_picture(&mut self) {
        for off in [4.0, 0.0] {
            self.act("the pointer goes over the picture", move |world| {
                let rect = world.resource::<Orbit>().rect;
                let corner = rect.left_bottom() + egui::vec2(rect.width() * 0.5, -60.0 - off);
                move_to(world, corner);
            });
            self.pause(2);
        }
    }
}
