//! Placing and seeing: turned, nudged, dropped, pushed, snapped, stopped; options; a section; help.

use std::sync::{Arc, Mutex};

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode};
use bevy_egui::egui::{Pos2, vec2};
use dryberth::model::{Place, Vector};
use dryberth::scene::{Document, Orbit, Tool, View};

use crate::drive::*;

fn deg(place: &Place) -> [f64; 3] {
    [place.turn_deg.0, place.turn_deg.1, place.turn_deg.2]
}

fn keep(script: &mut Script, kept: &Arc<Mutex<Place>>) {
    let kept = Arc::clone(kept);
    script.act("looking where it stands", move |world| *kept.lock().unwrap() = place(world));
}

fn steps(script: &mut Script) {
    let kept: Arc<Mutex<Place>> = Arc::default();
    script.past_the_cautions();
    script.over_the_picture();
    script.tap(KeyCode::Digit2, Key::Character("2".into()));
    script.until("the second spot", |world| {
        world.resource::<Document>().current() == 1 && settled(world)
    });
    // Nudged by 10 mm, and by 1 mm with Shift.
    keep(script, &kept);
    script.tap(KeyCode::ArrowUp, Key::ArrowUp);
    script.act("Shift and an arrow", |world| {
        key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Pressed);
        tap(world, KeyCode::ArrowUp, &Key::ArrowUp);
        key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Released);
    });
    script.pause(3);
    let before = Arc::clone(&kept);
    script.act("11 mm forward", move |world| {
        let by = place(world).at - before.lock().unwrap().at;
        assert!((by.x - 11.0).abs() < 1e-9 && by.y.abs() < 1e-9 && by.z.abs() < 1e-9, "{by}");
    });
    // Turned by a step of 15° with a button, and by 1° with a key.
    keep(script, &kept);
    script.click("+15°");
    script.over_the_picture();
    script.act("Shift and Q", |world| {
        key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Pressed);
        tap(world, KeyCode::KeyQ, &Key::Character("q".into()));
        key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Released);
    });
    script.pause(3);
    let before = Arc::clone(&kept);
    script.act("16° to the left", move |world| {
        let (now, was) = (deg(&place(world)), deg(&before.lock().unwrap()));
        assert!((now[2] - was[2] - 16.0).abs() < 1e-6, "{now:?} {was:?}");
    });
    drag_the_ring(script);
    // Snapped back over its studs: the spot's bolts say which.
    script.click("Snap");
    script.pause(3);
    script.act("over its studs again", |world| {
        let document = world.resource::<Document>();
        let spot = document.spot();
        let pose = spot.place.pose();
        for fixing in &spot.fixings {
            let mount = document.pump().mounts.iter().find(|m| m.name == fixing.mount).unwrap();
            let anchor =
                document.layout().anchors.iter().find(|a| a.name == fixing.anchor).unwrap();
            let off = pose * mount.at - anchor.at;
            assert!(off.x.hypot(off.y) < 2.0, "{}: {off}", fixing.mount);
        }
        assert_eq!(document.undo_words(), Some("move"));
    });
    script.until("at rest", settled);
    script.picture("snapped");
    // Raised and dropped until it rests.
    script.over_the_picture();
    for _ in 0..3 {
        script.tap(KeyCode::PageUp, Key::PageUp);
    }
    keep(script, &kept);
    script.tap(KeyCode::End, Key::End);
    let before = Arc::clone(&kept);
    script.act("it rests", move |world| {
        let (now, was) = (place(world), *before.lock().unwrap());
        assert!(now.at.z < was.at.z - 1.0, "{now:?} {was:?}");
        let gap = world.resource::<Document>().boot().smallest_gap_mm(&now, 20.0).unwrap();
        assert!((-0.01..0.3).contains(&gap), "{gap}");
    });
    // Pushed to the left until it touches.
    script.over_the_picture();
    script.tap(KeyCode::PageUp, Key::PageUp);
    keep(script, &kept);
    script.click("Push");
    script.click("To the right");
    let before = Arc::clone(&kept);
    script.until("it is pushed, or it is said why not", move |world| {
        let said = world.resource::<View>().said.clone();
        let said = said.map(|(words, _)| words).unwrap_or_default();
        let (now, was) = (place(world), *before.lock().unwrap());
        if said.starts_with("Pushed ") {
            assert!(now.at.y < was.at.y, "{now:?} {was:?}");
            let gap = world.resource::<Document>().boot().smallest_gap_mm(&now, 20.0).unwrap();
            assert!((-0.06..0.6).contains(&gap), "{gap}");
            return true;
        }
        said.starts_with("Not pushed ")
    });
    undo_and_redo(script);
    option(script);
    section(script);
    measuring(script);
    script.act("help for the first figure", |world| {
        let mut view = world.resource_mut::<View>();
        view.open.insert(0);
    });
    script.click_nth("?", 0);
    script.until("its meaning is shown", |world| world.resource::<View>().help.is_some());
    script.picture("meaning");
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("and closed", |world| world.resource::<View>().help.is_none());
    script.over_the_picture();
    script.tap(KeyCode::KeyP, Key::Character("p".into()));
    script.until("presenting", |world| world.resource::<View>().present);
    script.picture("presenting");
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("and back", |world| !world.resource::<View>().present);
}

/// Takes hold of the yaw ring and drags it.
fn drag_the_ring(script: &mut Script) {
    let kept: Arc<Mutex<(Place, Pos2, Pos2)>> =
        Arc::new(Mutex::new((Place::default(), Pos2::ZERO, Pos2::ZERO)));
    let start = Arc::clone(&kept);
    script.act("the pointer goes to the ring", move |world| {
        let document = world.resource::<Document>();
        let orbit = world.resource::<Orbit>();
        let now = place(world);
        let pump = document.boot().pump_solids();
        let middle = pump.iter().map(|s| *s.bounds()).reduce(|a, b| a.with(&b)).unwrap().centre();
        let at = now.pose() * middle;
        let seen = orbit.screen(&at).unwrap();
        // The ring lies level: of its points take the one nearest to the eye's side.
        let radius = orbit.ring_radius_mm(&at);
        let on = |angle: f64| {
            let (sin, cos) = angle.to_radians().sin_cos();
            orbit.screen(&(at + Vector::new(cos, sin, 0.0) * radius)).unwrap()
        };
        // Away from the axes' handles.
        let taken = on(225.0);
        assert!((taken - seen).length() > 10.0);
        *start.lock().unwrap() = (now, taken, on(255.0));
        move_to(world, taken);
    });
    script.act("pressing", |world| left_button(world, ButtonState::Pressed));
    let way = Arc::clone(&kept);
    let mut step = 0.0_f32;
    script.step("dragging along the ring", move |world| {
        step += 1.0;
        let (_, from, to) = *way.lock().unwrap();
        move_to(world, from + (to - from) * (step / 8.0).min(1.0));
        if step > 9.0 { Progress::Done } else { Progress::Wait }
    });
    script.act("letting go", |world| left_button(world, ButtonState::Released));
    script.pause(3);
    script.act("it turned by 30°", move |world| {
        let now = place(world);
        let was = kept.lock().unwrap().0;
        let by = deg(&now)[2] - deg(&was)[2];
        assert!((by - 30.0).abs() < 3.0, "{by}");
        assert!((deg(&now)[0] - deg(&was)[0]).abs() < 1e-9);
    });
}

fn undo_and_redo(script: &mut Script) {
    let kept: Arc<Mutex<Place>> = Arc::default();
    keep(script, &kept);
    with_control(script, "undo", KeyCode::KeyZ, "z");
    script.pause(3);
    let before = Arc::clone(&kept);
    script.act("taken back", move |world| {
        assert!(!same(&place(world), &before.lock().unwrap()));
    });
    with_control(script, "redo", KeyCode::KeyY, "y");
    script.pause(3);
    script.act("done again", move |world| assert!(same(&place(world), &kept.lock().unwrap())));
}

fn option(script: &mut Script) {
    let kept: Arc<Mutex<(Vec<String>, usize)>> = Arc::default();
    let start = Arc::clone(&kept);
    script.until("at rest", settled);
    script.act("what is fitted", move |world| {
        let document = world.resource::<Document>();
        let boot = document.boot();
        *start.lock().unwrap() = (boot.fitted().to_vec(), boot.bodies().count());
    });
    script.click("Tow socket module");
    let start = Arc::clone(&kept);
    script.until("the boot is ready with the other option", move |world| {
        let (fitted, bodies) = start.lock().unwrap().clone();
        let boot = world.resource::<Document>().boot();
        boot.fitted() != fitted && boot.bodies().count() != bodies && settled(world)
    });
    script.click("Tow socket module");
    script.until("and as it was", move |world| {
        let (fitted, bodies) = kept.lock().unwrap().clone();
        let boot = world.resource::<Document>().boot();
        boot.fitted() == fitted && boot.bodies().count() == bodies && settled(world)
    });
}

fn section(script: &mut Script) {
    script.click("none");
    script.click("level");
    script.until("the picture is cut level", |world| {
        world.resource::<View>().section.is_some_and(|section| section.axis == 2)
    });
    script.picture("section-level");
    script.click("Turn");
    script.until("from the other side", |world| {
        world.resource::<View>().section.is_some_and(|section| section.flipped)
    });
    script.click("level");
    script.click("none");
    script.until("and whole again", |world| world.resource::<View>().section.is_none());
}

fn measuring(script: &mut Script) {
    script.over_the_picture();
    script.tap(KeyCode::KeyM, Key::Character("m".into()));
    script.until("measuring", |world| matches!(world.resource::<View>().tool, Tool::Points(_)));
    let at: Arc<Mutex<(Pos2, Pos2)>> = Arc::default();
    let start = Arc::clone(&at);
    script.act("two places", move |world| {
        let pump = on_the_pump(world);
        *start.lock().unwrap() = (pump, on_the_floor(world) + vec2(0.0, 2.0));
    });
    let first = Arc::clone(&at);
    script.press_at(move || first.lock().unwrap().0);
    script.press_at(move || at.lock().unwrap().1);
    script.until(
        "two points",
        |world| matches!(&world.resource::<View>().tool, Tool::Points(points) if points.len() == 2),
    );
    script.picture("measured-points");
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("the hand again", |world| world.resource::<View>().tool == Tool::Hand);
}

#[test]
fn the_pump_is_turned_nudged_dropped_pushed_and_snapped_and_the_boot_cut_open() {
    if !alone("placing::the_pump_is_turned_nudged_dropped_pushed_and_snapped_and_the_boot_cut_open")
    {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path()).with_file_name("sandlark-cabriolet.ron");
    drive(&path, (1280, 800), steps);
}
