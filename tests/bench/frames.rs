//! How long does a frame take while the pump is dragged, and how soon do figures follow?
//!
//! The real window at 1920 × 1080 on a demo boot with a scan of 500,000 triangles over it, driven by the
//! events that a pointer makes, without waiting for the display. Frames of a drag; then single moves: time
//! from the pointer's event until every figure but the routes is there, and until the routes are. Last the
//! start: from `main` to the second frame. The same without the scan stands beside it. Where there is no
//! display the same is drawn onto an image, each frame waited for. With a software Vulkan driver it is the
//! processor that is measured.

#![allow(
    missing_docs,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a bench prints its table"
)]

#[cfg(feature = "scene")]
#[allow(dead_code, reason = "shared with the window tests")]
#[path = "../window/drive/mod.rs"]
mod drive;

fn main() {
    #[cfg(feature = "scene")]
    frames::run();
    #[cfg(not(feature = "scene"))]
    println!("frames: skipped, built without the window");
}

#[cfg(feature = "scene")]
mod frames {
    use std::process::Command;
    use std::sync::{Arc, Mutex};
    use std::time::{Duration, Instant};

    use bevy::app::{App, First, Last, MainScheduleOrder, PostUpdate, PreUpdate, Update};
    use bevy::ecs::query::With;
    use bevy::ecs::schedule::{IntoScheduleConfigs, ScheduleLabel};
    use bevy::ecs::world::World;
    use bevy::input::ButtonState;
    use bevy::input::keyboard::{Key, KeyCode};
    use bevy::render::renderer::RenderAdapterInfo;
    use bevy::render::{Render, RenderApp, RenderSystems};
    use bevy::window::{PresentMode, PrimaryWindow, Window};
    use bevy::winit::{UpdateMode, WinitSettings};
    use bevy_egui::egui::{Pos2, vec2};
    use dryberth::checks::{Boot, HeadlineId};
    use dryberth::format::{Opened, open_demo};
    use dryberth::geometry::Triangles;
    use dryberth::model::{Body, Point, Role, Shape};
    use dryberth::scene::{self, Document, Scores, View, WindowSettings};

    use crate::drive::{left_button, move_to, on_the_pump, settled, tap};

    /// Frames of the drag that count, after as many again to warm up.
    const FRAMES: usize = 400;

    /// Time after which it is given up, and said where.
    const LONGEST: Duration = Duration::from_secs(180);

    /// Single moves whose figures are waited for.
    const MOVES: usize = 40;

    /// Set in the process that opens a window.
    const WHICH: &str = "DRYBERTH_FRAMES_OF";

    pub(crate) fn run() {
        match std::env::var(WHICH).as_deref() {
            Ok("scan") => window(true),
            Ok(_) => window(false),
            // A process has one event loop.
            Err(_) => {
                for which in ["plain", "scan"] {
                    let program = std::env::current_exe().unwrap();
                    let status = Command::new(program).env(WHICH, which).status().unwrap();
                    assert!(status.success(), "{which}: {status}");
                }
            }
        }
    }

    /// A bumpy sheet of 2 × 500 × 500 triangles, 12 mm over the boot's floor, as a scan would be.
    fn with_scan(mut opened: Opened) -> Opened {
        let count = 500_u32;
        let mut sheet = Triangles::default();
        for row in 0..=count {
            for column in 0..=count {
                let (x, y) = (f64::from(row) * 1.8 + 10.0, f64::from(column) * 2.4 - 600.0);
                let z = -160.0 + 3.0 * (x * 0.05).sin() * (y * 0.04).cos();
                sheet.vertices.push(Point::new(x, y, z));
            }
        }
        for row in 0..count {
            for column in 0..count {
                let at = row * (count + 1) + column;
                sheet.indices.push([at, at + count + 1, at + 1]);
                sheet.indices.push([at + 1, at + count + 1, at + count + 2]);
            }
        }
        let file = "scan.glb".to_string();
        opened.meshes.insert(file.clone(), sheet);
        let body = opened.layout.bodies[0].clone();
        opened.layout.bodies.push(Body {
            name: "scan of the boot".into(),
            role: Role::Panel,
            shape: Shape::Mesh { file },
            skin: None,
            option: None,
            ..body
        });
        opened
    }

    /// The parts of a frame that are timed one by one: those of the window's own world, then those of what
    /// draws it beside the next frame.
    const PARTS: [&str; 6] = [
        "the window's world",
        "  its first part (input)",
        "  its middle (figures, things, lines)",
        "  its last part (panels, places)",
        "what draws it",
        "  until it is handed to the card",
    ];

    /// When the parts of the frame began, and how long each took.
    #[derive(Default)]
    struct Parts {
        since: [Option<Instant>; PARTS.len()],
        took_ms: [Vec<f64>; PARTS.len()],
    }

    /// Run between the schedules of a frame.
    #[derive(ScheduleLabel, Debug, Clone, PartialEq, Eq, Hash)]
    struct Between(usize);

    fn begin(parts: &Arc<Mutex<Parts>>, of: usize) -> impl Fn() + use<> {
        let parts = Arc::clone(parts);
        move || parts.lock().unwrap().since[of] = Some(Instant::now())
    }

    fn end(parts: &Arc<Mutex<Parts>>, of: usize) -> impl Fn() + use<> {
        let parts = Arc::clone(parts);
        move || {
            let mut parts = parts.lock().unwrap();
            if let Some(since) = parts.since[of].take() {
                parts.took_ms[of].push(since.elapsed().as_secs_f64() * 1e3);
            }
        }
    }

    fn time_parts(app: &mut App) -> Arc<Mutex<Parts>> {
        let parts: Arc<Mutex<Parts>> = Arc::default();
        let p = &parts;
        let mut order = app.world_mut().resource_mut::<MainScheduleOrder>();
        order.insert_before(First, Between(0));
        order.insert_before(PreUpdate, Between(1));
        order.insert_after(PreUpdate, Between(2));
        order.insert_before(Update, Between(3));
        order.insert_after(Update, Between(4));
        order.insert_before(PostUpdate, Between(5));
        order.insert_after(PostUpdate, Between(6));
        order.insert_after(Last, Between(7));
        app.add_systems(Between(0), begin(p, 0)).add_systems(Between(7), end(p, 0));
        for (of, schedule) in [(1, 1), (2, 3), (3, 5)] {
            app.add_systems(Between(schedule), begin(p, of));
            app.add_systems(Between(schedule + 1), end(p, of));
        }
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            let sent = end(p, 5);
            render.add_systems(
                Render,
                (
                    (begin(p, 4), begin(p, 5)).before(RenderSystems::ExtractCommands),
                    sent.after(RenderSystems::Render).before(RenderSystems::Cleanup),
                    end(p, 4).after(RenderSystems::PostCleanup),
                ),
            );
        }
        parts
    }

    /// What was measured.
    #[derive(Default)]
    struct Times {
        adapter: String,
        start_ms: Option<f64>,
        frames_ms: Vec<f64>,
        figures_ms: Vec<f64>,
        figures_frames: Vec<f64>,
        routes_ms: Vec<f64>,
    }

    fn window(scan: bool) {
        let begun = Instant::now();
        let opened = open_demo(Some("sandlark-cabriolet")).expect("a demo");
        let opened = if scan { with_scan(opened) } else { opened };
        let settings = WindowSettings {
            size: (1920, 1080),
            fitted: Boot::usual_options(&opened.layout),
            ..WindowSettings::default()
        };
        let seen = scene::display_available();
        let app = if seen { scene::app } else { scene::app_unseen };
        let mut app = app(opened, &settings).expect("an app");
        let times: Arc<Mutex<Times>> = Arc::default();
        play(&mut app, begun, Arc::clone(&times));
        let parts = time_parts(&mut app);
        if seen {
            app.insert_resource(WinitSettings {
                focused_mode: UpdateMode::Continuous,
                unfocused_mode: UpdateMode::Continuous,
            });
        }
        app.run();
        let times = times.lock().unwrap();
        let what = if scan { "with a scan of 500,000 triangles" } else { "as it is" };
        println!(
            "\nsandlark-cabriolet {what}, 1920 × 1080, {}, {}",
            times.adapter,
            if seen { "in a window" } else { "on an image" }
        );
        println!("{:<52} {:>9} {:>9} {:>9} {:>7}", "", "median", "99 %", "most", "count");
        row("frame while dragging, ms", &times.frames_ms);
        let parts = parts.lock().unwrap();
        for (name, took_ms) in PARTS.iter().zip(&parts.took_ms) {
            row(&format!("  {name}, all frames, ms"), took_ms);
        }
        row("from a move to all figures but routes, ms", &times.figures_ms);
        row("from a move to all figures but routes, frames", &times.figures_frames);
        row("from a move to the routes too, ms", &times.routes_ms);
        println!("from main to the second frame: {:.0} ms", times.start_ms.unwrap_or(f64::NAN));
    }

    fn row(name: &str, all: &[f64]) {
        let mut all = all.to_vec();
        all.sort_by(f64::total_cmp);
        if all.is_empty() {
            return;
        }
        let at = |share: f64| all[((all.len() - 1) as f64 * share).round() as usize];
        println!("{name:<52} {:>9.2} {:>9.2} {:>9.2} {:>7}", at(0.5), at(0.99), at(1.0), all.len());
    }

    /// Where a move is on its way to.
    enum Waiting {
        Nothing,
        Figures(Instant, usize),
        Routes(Instant),
    }

    fn play(app: &mut App, begun: Instant, times: Arc<Mutex<Times>>) {
        let mut phase = 0;
        let mut count = 0_usize;
        let mut last = Instant::now();
        let mut from = Pos2::ZERO;
        let mut waiting = Waiting::Nothing;
        let mut frames_seen = 0;
        app.add_systems(First, move |world: &mut World| {
            let now = Instant::now();
            let frame_ms = (now - last).as_secs_f64() * 1e3;
            last = now;
            frames_seen += 1;
            let mut times = times.lock().unwrap();
            assert!(
                begun.elapsed() < LONGEST,
                "stuck at step {phase}, place {count}, after {frames_seen} frames, at spot {}, boot ready: {}, \
                 settled: {}; {} moves took {:?} ms",
                world.resource::<Document>().current(),
                !world.resource::<Document>().boot_stale(),
                settled(world),
                times.routes_ms.len(),
                times.routes_ms
            );
            if frames_seen == 3 {
                times.start_ms = Some((now - begun).as_secs_f64() * 1e3);
                times.adapter = world
                    .get_resource::<RenderAdapterInfo>()
                    .map_or_else(|| "an unknown adapter".into(), |info| info.name.clone());
                let mut windows = world.query_filtered::<&mut Window, With<PrimaryWindow>>();
                windows.single_mut(world).unwrap().present_mode = PresentMode::AutoNoVsync;
            }
            let circle = |turn: usize| {
                let angle = turn as f32 * 0.05;
                from + vec2(60.0 * angle.sin(), 25.0 * (1.0 - angle.cos()))
            };
            match phase {
                0 if settled(world) => phase = 1,
                1 => {
                    // What an earlier run left unsaved isn't asked about.
                    world.resource_mut::<View>().recovered = None;
                    tap(world, KeyCode::Escape, &Key::Escape);
                    phase = 2;
                }
                2 if !world.resource::<View>().cautions => {
                    move_to(world, world.resource::<scene::Orbit>().rect.center());
                    phase = 3;
                }
                3 => {
                    tap(world, KeyCode::Digit2, &Key::Character("2".into()));
                    phase = 4;
                }
                4 if world.resource::<Document>().current() == 1 && settled(world) => {
                    count += 1;
                    if count > 10 {
                        from = on_the_pump(world);
                        move_to(world, from);
                        count = 0;
                        phase = 5;
                    }
                }
                5 => {
                    left_button(world, ButtonState::Pressed);
                    phase = 6;
                }
                6 => {
                    count += 1;
                    move_to(world, circle(count));
                    if count > FRAMES {
                        times.frames_ms.push(frame_ms);
                    }
                    if count == 2 * FRAMES {
                        phase = 7;
                    }
                }
                7 => match waiting {
                    Waiting::Nothing if settled(world) => {
                        count += 1;
                        if times.routes_ms.len() == MOVES {
                            left_button(world, ButtonState::Released);
                            phase = 8;
                        } else {
                            move_to(world, circle(count * 7));
                            waiting = Waiting::Figures(now, 0);
                        }
                    }
                    Waiting::Nothing => {}
                    Waiting::Figures(since, frames) => {
                        let moved = frames > 0;
                        if moved && fresh(world, HeadlineId::Hold) {
                            times.figures_ms.push((now - since).as_secs_f64() * 1e3);
                            times.figures_frames.push(frames as f64);
                            waiting = Waiting::Routes(since);
                        } else {
                            waiting = Waiting::Figures(since, frames + 1);
                        }
                    }
                    Waiting::Routes(since) => {
                        if fresh(world, HeadlineId::Reach) {
                            times.routes_ms.push((now - since).as_secs_f64() * 1e3);
                            waiting = Waiting::Nothing;
                        }
                    }
                },
                8 => {
                    world.write_message(bevy::app::AppExit::Success);
                }
                _ => {}
            }
        });
    }

    fn fresh(world: &World, id: HeadlineId) -> bool {
        let document = world.resource::<Document>();
        world.resource::<Scores>().headline_fresh(document, document.current(), id)
    }
}
