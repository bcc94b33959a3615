//! A new boot made from nothing to a first score, changed, saved and opened again.

use std::fs;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use bevy::ecs::world::World;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode};
use bevy_egui::egui::{Pos2, Rect};
use dryberth::format;
use dryberth::model::{Layout, Point, Role, Shape};
use dryberth::scene::{Document, Kind, Orbit, Scores, Tab, View};

use crate::drive::*;

/// The left panel.
fn left(world: &mut World) -> Rect {
    let rect = world.resource::<Orbit>().rect;
    Rect::from_min_max(Pos2::ZERO, Pos2::new(rect.left(), 3_000.0))
}

fn layout(world: &World) -> Layout {
    world.resource::<Document>().whole()
}

fn things(layout: &Layout) -> usize {
    Kind::ALL.iter().map(|kind| kind.count(layout)).sum()
}

/// What is seen on the way.
#[derive(Default)]
struct Seen {
    layout: Option<Layout>,
    first_score: Vec<Option<i64>>,
    path: Option<PathBuf>,
    undone: usize,
}

fn make(script: &mut Script, seen: &Arc<Mutex<Seen>>) {
    script.past_the_cautions();
    script.click("New boot…");
    script.until("the start is shown", |world| world.resource::<View>().start.is_some());
    script.write("Test hatch");
    script.tap(KeyCode::Enter, Key::Enter);
    script.until("the new boot is open and scored", |world| {
        world.resource::<Document>().layout().name == "Test hatch" && settled(world)
    });
    let kept = Arc::clone(seen);
    script.act("a first score", move |world| {
        let mut kept = kept.lock().unwrap();
        kept.first_score = headlines(world);
        kept.path = world.resource::<Document>().file_name().map(PathBuf::from);
        assert_eq!(world.resource::<View>().tab, Tab::Measure);
        assert_eq!(things(world.resource::<Document>().layout()), 6, "floor, walls, an eye");
    });
    // Whatever isn't measured yet is added, one after the other, as the list says.
    script.picture("new-boot");
    for _ in 0..14 {
        let before = Arc::new(Mutex::new(0));
        let count = Arc::clone(&before);
        script.act("counting", move |world| *count.lock().unwrap() = things(&layout(world)));
        script.click("Add");
        script.until("it was added", move |world| {
            things(&layout(world)) == *before.lock().unwrap() + 1
                && world.resource::<View>().form.is_some()
        });
        script.click("Done");
    }
    script.until("the boot is ready and scored", settled);
    script.picture("measured-in");
    // A typed dimension: the floor's corner.
    // A click on what was measured opens its form.
    script.click("Floor");
    script.until("the floor's form is open", |world| world.resource::<View>().form.is_some());
    script.number(left, 3, "820");
    script.until("the floor is longer", |world| {
        world.resource::<Document>().layout().bodies.iter().any(|body| {
            body.role == Role::Floor
                && matches!(body.shape, Shape::Box { from, to }
                    if (from.x.max(to.x) - 820.0).abs() < 1e-9)
        })
    });
    // A figure that can't be is said and not taken; the next one is.
    script.number(left, 3, "0");
    script.until("a floor without a length is refused", |world| {
        world.resource::<View>().form.as_ref().is_some_and(|form| !form.wrong.is_empty())
            && world.resource::<Document>().layout().problems().is_empty()
    });
    script.number(left, 3, "830");
    script.until("the floor is longer still", |world| {
        world.resource::<View>().form.as_ref().is_some_and(|form| form.wrong.is_empty())
    });
    script.click("Done");
    script.until("the boot is ready and scored", settled);
    mirror_copy_delete(script);
    drag_a_face(script);
    script.until("the boot is ready and scored", settled);
    with_control(script, "saving", KeyCode::KeyS, "s");
    script.until("it is saved", |world| !world.resource::<Document>().any_unsaved());
    let kept = Arc::clone(seen);
    script.act("looking", move |world| {
        kept.lock().unwrap().layout = Some(layout(world));
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        assert_eq!(landed.card.headlines.len(), 5);
    });
    // Every step is taken back, down to what was begun with, and done again.
    let (kept, mut steps) = (Arc::clone(seen), 0);
    script.step("undo of everything", move |world| {
        if world.resource::<Document>().undo_words().is_none() {
            kept.lock().unwrap().undone = steps;
            return Progress::Done;
        }
        steps += 1;
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Pressed);
        tap(world, KeyCode::KeyZ, &Key::Character("z".into()));
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Released);
        Progress::Wait
    });
    script.act("only what was begun with is left", |world| {
        assert_eq!(things(world.resource::<Document>().layout()), 6);
    });
    script.step("redo of everything", |world| {
        if world.resource::<Document>().redo_words().is_none() {
            return Progress::Done;
        }
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Pressed);
        tap(world, KeyCode::KeyY, &Key::Character("y".into()));
        key(world, KeyCode::ControlLeft, Key::Control, ButtonState::Released);
        Progress::Wait
    });
    let kept = Arc::clone(seen);
    script.act("everything is back", move |world| {
        assert_eq!(Some(layout(world)), kept.lock().unwrap().layout);
        assert!(!world.resource::<Document>().any_unsaved());
    });
}

fn mirror_copy_delete(script: &mut Script) {
    script.click("Wheel arch, left");
    script.click("Mirror");
    script.until("the other side has one too", |world| {
        let layout = world.resource::<Document>().layout();
        let side = |name: &str| layout.bodies.iter().find(|body| body.name == name);
        let low = |shape: &Shape| match shape {
            Shape::Box { from, to } => {
                Point::new(from.x.min(to.x), from.y.min(to.y), from.z.min(to.z))
            }
            _ => panic!("a box"),
        };
        let high = |shape: &Shape| match shape {
            Shape::Box { from, to } => from.y.max(to.y),
            _ => panic!("a box"),
        };
        match (side("wheel arch, left"), side("wheel arch, right")) {
            (Some(left), Some(right)) => {
                assert!((low(&left.shape).y + high(&right.shape)).abs() < 1e-9);
                assert!((low(&left.shape).x - low(&right.shape).x).abs() < 1e-9);
                true
            }
            _ => false,
        }
    });
    script.click("Copy");
    script.until("a copy", |world| world.resource::<Document>().layout().bodies.len() == 9);
    // The upper one is the spot's.
    script.click_nth("Delete", 1);
    script
        .until("it is gone again", |world| world.resource::<Document>().layout().bodies.len() == 8);
}

/// Drags the bracket's upper face.
fn drag_a_face(script: &mut Script) {
    script.click("Bracket");
    script.until("its form is open", |world| world.resource::<View>().form.is_some());
    script.click("Show");
    script.until("the eye rests", settled);
    script.pause(12);
    script.picture("bracket-form");
    let from: Arc<Mutex<(Pos2, f64)>> = Arc::default();
    let start = Arc::clone(&from);
    script.act("the pointer goes to the top face's handle", move |world| {
        let document = world.resource::<Document>();
        let body = document.layout().bodies.iter().find(|body| body.name == "bracket").unwrap();
        let Shape::Box { from, to } = body.shape else { panic!("a box") };
        let top = Point::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0, from.z.max(to.z));
        let at = world.resource::<Orbit>().screen(&top).unwrap();
        *start.lock().unwrap() = (at, top.z);
        move_to(world, at);
    });
    let eye: Arc<Mutex<Pos2>> = Arc::default();
    let still = Arc::clone(&eye);
    script.act("pressing", move |world| {
        *still.lock().unwrap() = eye_stays_at(world);
        left_button(world, ButtonState::Pressed);
    });
    let way = Arc::clone(&from);
    let mut step = 0.0_f32;
    script.step("dragging up", move |world| {
        step += 1.0;
        let (at, _) = *way.lock().unwrap();
        move_to(world, at - bevy_egui::egui::vec2(0.0, 6.0 * step));
        if step >= 8.0 { Progress::Done } else { Progress::Wait }
    });
    script.act("letting go", |world| left_button(world, ButtonState::Released));
    script.pause(3);
    script.act("the bracket is thicker", move |world| {
        let document = world.resource::<Document>();
        let body = document.layout().bodies.iter().find(|body| body.name == "bracket").unwrap();
        let Shape::Box { from: a, to: b } = body.shape else { panic!("a box") };
        let (_, before) = *from.lock().unwrap();
        assert!(a.z.max(b.z) > before + 5.0, "{} {}", a.z.max(b.z), before);
        assert_eq!(document.undo_words(), Some("drag"));
        let turned = (*eye.lock().unwrap() - eye_stays_at(world)).length();
        assert!(turned < 0.01, "the view stays while a handle is held: {turned}");
    });
    script.click("Done");
}

#[test]
fn a_boot_is_made_from_nothing_to_a_first_score_and_kept() {
    if !alone("authoring::a_boot_is_made_from_nothing_to_a_first_score_and_kept") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path());
    let seen: Arc<Mutex<Seen>> = Arc::default();
    let kept = Arc::clone(&seen);
    drive(&path, (1600, 1040), move |script| make(script, &kept));
    let seen = seen.lock().unwrap();
    assert_eq!(seen.first_score.len(), 5, "a first score");
    let made = path.with_file_name("boot.ron");
    assert_eq!(seen.path.as_deref(), made.file_name().map(std::path::Path::new));
    let mut again = format::open(&made).unwrap();
    let layout = seen.layout.clone().unwrap();
    assert_eq!(again.layout, layout, "it reads back as it was");
    assert!(layout.bodies.len() == 8 && !layout.anchors.is_empty() && !layout.lines.is_empty());
    let text = fs::read_to_string(&made).unwrap();
    assert!(text.contains("// Places that can hold"), "the guiding comments stay");
    again.file.save_layout(&again.layout).unwrap();
    assert_eq!(fs::read_to_string(&made).unwrap(), text, "saved again it is the same bytes");
    assert!(seen.undone >= 18, "every step can be taken back: {}", seen.undone);
}
