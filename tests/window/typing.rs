//! Forms of what isn't a solid: limits, gaps of pairs of roles, openings, what drives a moving part.

use std::sync::{Arc, Mutex};

use bevy::ecs::world::World;
use bevy::input::keyboard::{Key, KeyCode};
use bevy_egui::egui::{Pos2, Rect};
use dryberth::model::Role;
use dryberth::scene::{Document, Orbit, View};

use crate::drive::*;

/// The left panel.
fn left(world: &mut World) -> Rect {
    let rect = world.resource::<Orbit>().rect;
    Rect::from_min_max(Pos2::ZERO, Pos2::new(rect.left(), 3_000.0))
}

/// A pair's own gap: added and its role chosen by keys alone, typed, taken out, taken back.
fn required_gaps(script: &mut Script) {
    let gaps = |world: &World| world.resource::<Document>().layout().required_gaps.clone();
    script.click("Required gaps (*)");
    script.tab_to("Add a pair", false);
    script.tap(KeyCode::Enter, Key::Enter);
    script.until("a pair with the gap that held so far", move |world| {
        let limits = world.resource::<Document>().layout().limits;
        gaps(world).len() == 1 && (gaps(world)[0].gap_mm - limits.gap_mm).abs() < 1e-9
    });
    // The list of bodies that stands before the button.
    script.tab_to("module", true);
    script.tap(KeyCode::Enter, Key::Enter);
    script.tab_to("battery", false);
    script.tap(KeyCode::Enter, Key::Enter);
    script.until("to the battery", move |world| gaps(world)[0].to == Role::Battery);
    script.number(left, 0, "17.5");
    script.until("it is typed", move |world| (gaps(world)[0].gap_mm - 17.5).abs() < 1e-9);
    script.pause(6);
    script.picture("required-gaps");
    script.click("✖");
    script.until("it is out", move |world| gaps(world).is_empty());
    with_control(script, "undo", KeyCode::KeyZ, "z");
    script.until("it is back", move |world| {
        gaps(world).first().is_some_and(|pair| (pair.gap_mm - 17.5).abs() < 1e-9)
    });
    for _ in 0..2 {
        with_control(script, "undo", KeyCode::KeyZ, "z");
        script.pause(3);
    }
    script.until("as it was", move |world| gaps(world).is_empty() && settled(world));
    script.click("Required gaps (*)");
}

fn forms(script: &mut Script) {
    script.click("Measure in");
    script.click("Limits");
    script.pause(12);
    script.picture("limits");
    script.click("Limits");
    required_gaps(script);
    let count = |world: &World| world.resource::<Document>().layout().openings.len();
    let before: Arc<Mutex<usize>> = Arc::default();
    let was = Arc::clone(&before);
    script.act("counting", move |world| *was.lock().unwrap() = count(world));
    script.click("Openings for a panel (*)");
    script.click("Add: opening for a panel");
    script.until("there is one more", move |world| {
        count(world) == *before.lock().unwrap() + 1 && world.resource::<View>().form.is_some()
    });
    script.pause(12);
    script.picture("opening-form");
    // The upper one is the spot's.
    script.click_nth("Delete", 1);
    script.until("it is gone again", |world| world.resource::<View>().form.is_none());
    script.click("Moving parts (*)");
    script.click("Boot lid");
    script.until("the lid's form", |world| world.resource::<View>().form.is_some());
    // Escape closes the list that is open, not the form under it.
    script.click("turns");
    script.until("the list is open", popup);
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("the list is shut", |world| !popup(world));
    script.act("the form is not", |world| assert!(world.resource::<View>().form.is_some()));
    script.click("Another part drives it");
    script.until("it is driven", |world| {
        world
            .resource::<Document>()
            .layout()
            .movers
            .iter()
            .any(|mover| mover.name.to_lowercase() == "boot lid" && mover.driven.is_some())
    });
    script.pause(12);
    script.picture("drive-form");
    with_control(script, "undo", KeyCode::KeyZ, "z");
    script.until("what was taken back is said", |world| {
        let said = world.resource::<View>().said.clone().unwrap_or_default().0;
        said == "Took back: change, boot lid"
    });
    script.click("Done");
    script.until("at rest", settled);
    script.act("and still is when the boot is ready", |world| {
        let said = world.resource::<View>().said.clone().unwrap_or_default().0;
        assert_eq!(said, "Took back: change, boot lid");
    });
}

/// Another layout is opened in the same window, from the list of those beside the open one.
fn opened(script: &mut Script) {
    script.click("Open…");
    script.until("those near by are listed", |world| {
        let choosing = world.resource::<View>().choosing.clone();
        choosing.is_some_and(|choosing| choosing.found.len() >= 2)
    });
    script.pause(6);
    script.picture("open");
    script.click("Wrenfield drop-top (*)");
    script.tab_to("Open", false);
    script.tap(KeyCode::Enter, Key::Enter);
    script.until("it is open", |world| {
        let document = world.resource::<Document>();
        document.file_name().as_deref() == Some("wrenfield-drop-top.ron")
    });
    script.until("and scored", settled);
}

fn popup(world: &mut World) -> bool {
    bevy_egui::egui::Popup::is_any_open(&panels(world))
}

#[test]
fn limits_gaps_openings_and_drives_are_typed_and_taken_back() {
    if !alone("typing::limits_gaps_openings_and_drives_are_typed_and_taken_back") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path()).with_file_name("sandlark-cabriolet.ron");
    drive(&path, (1280, 800), |script| {
        script.past_the_cautions();
        forms(script);
        opened(script);
    });
}
