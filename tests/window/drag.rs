//! A drag with the pointer: scores change, one undo takes it back, saving writes it.

use std::fs;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode};
use bevy_egui::egui::Pos2;
use dryberth::format;
use dryberth::model::Place;
use dryberth::scene::{Document, Orbit, Scores, View};

use crate::drive::*;

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
    eye: Option<Pos2>,
    eye_after: Option<Pos2>,
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
    let kept = note(seen);
    script.act("the pointer goes to the pump", move |world| {
        kept.lock().unwrap().eye = Some(eye_stays_at(world));
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
        kept.eye_after = Some(eye_stays_at(world));
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
    if !alone("drag::a_drag_changes_the_scores_and_is_undone_in_one_step_and_saved") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path());
    let before = fs::read_to_string(&path).unwrap();
    let seen: Arc<Mutex<Seen>> = Arc::default();
    let kept = Arc::clone(&seen);
    drive(&path, (1280, 800), move |script| drag_and_save(script, &kept));
    let seen = seen.lock().unwrap().clone();
    let (start, dropped) = (seen.start.unwrap(), seen.dropped.unwrap());
    assert!((start.at - dropped.at).norm() > 50.0, "the pump was dragged: {start:?} {dropped:?}");
    let turned = (seen.eye.unwrap() - seen.eye_after.unwrap()).length();
    assert!(turned < 0.01, "the view stays while the pump is held: {turned}");
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
