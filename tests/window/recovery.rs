//! A killed window loses at most the last two seconds; a file changed elsewhere is noticed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::thread;
use std::time::{Duration, Instant};

use bevy::input::keyboard::{Key, KeyCode};
use dryberth::format;
use dryberth::scene::{Document, View};

use crate::drive::*;

/// The layout that the process to be killed works on, and the file in which it says that it has.
const VICTIM: &str = "DRYBERTH_WINDOW_VICTIM";

/// The most that a crash may cost.
const LOST: Duration = Duration::from_secs(2);

struct Killed(Child);

impl Drop for Killed {
    fn drop(&mut self) {
        // kill -9: nothing is written any more, nothing is cleaned up.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn marker(path: &Path) -> PathBuf {
    path.with_extension("edited")
}

/// Not a test by itself: works on the layout until it is killed.
#[test]
#[ignore = "started by the test below, which kills it"]
fn victim() {
    let Ok(path) = std::env::var(VICTIM) else { return };
    let path = PathBuf::from(path);
    let say = marker(&path);
    drive(&path, (1024, 700), move |script| {
        script.past_the_cautions();
        script.over_the_picture();
        script.tap(KeyCode::ArrowUp, Key::ArrowUp);
        script.tap(KeyCode::KeyQ, Key::Character("q".into()));
        script.act("the last edit is made", move |world| {
            let document = world.resource::<Document>();
            assert!(document.any_unsaved());
            let at = document.spot().place;
            fs::write(&say, format!("{:?}", (at.at.x, at.at.y, at.at.z, at.turn_deg.2))).unwrap();
        });
        script.step("it is killed", |_| Progress::Wait);
    });
}

#[test]
fn a_killed_window_loses_two_seconds_at_most() {
    let test = "recovery::a_killed_window_loses_two_seconds_at_most";
    if std::env::var("DRYBERTH_WINDOW_ALONE").is_ok_and(|name| name == test) {
        return bring_back();
    }
    if !window_wanted(test) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path());
    let before = fs::read(&path).unwrap();
    let child = Command::new(std::env::current_exe().unwrap())
        .args(["recovery::victim", "--exact", "--nocapture", "--ignored"])
        .env(VICTIM, &path)
        .spawn()
        .unwrap();
    let killed = Killed(child);
    let started = Instant::now();
    while !marker(&path).exists() {
        assert!(started.elapsed() < LONGEST, "the window to be killed made no edit");
        thread::sleep(Duration::from_millis(10));
    }
    thread::sleep(LOST);
    drop(killed);
    assert_eq!(fs::read(&path).unwrap(), before, "the layout's own file is untouched");
    let status = Command::new(std::env::current_exe().unwrap())
        .args([test, "--exact", "--nocapture"])
        .env(VICTIM, &path)
        .env("DRYBERTH_WINDOW_ALONE", test)
        .status()
        .unwrap();
    assert!(status.success());
    let journal =
        path.with_file_name(format!(".{}.unsaved", path.file_name().unwrap().to_string_lossy()));
    assert!(!journal.exists(), "saved work needs no journal");
    assert_ne!(fs::read(&path).unwrap(), before, "the recovered work was saved");
}

/// Opens the window again, brings the work back, takes it back and brings it again, saves.
fn bring_back() {
    let path = PathBuf::from(std::env::var(VICTIM).unwrap());
    let said = fs::read_to_string(marker(&path)).unwrap();
    let original = format::open(&path).unwrap().layout.spots[0].place;
    drive(&path, (1024, 700), move |script| {
        script.past_the_cautions();
        script.until("unsaved work is found", |world| world.resource::<View>().recovered.is_some());
        script.tap(KeyCode::Escape, Key::Escape);
        script.act("it can't be closed by mistake", |world| {
            assert!(world.resource::<View>().recovered.is_some());
        });
        script.picture("recovered");
        script.click("Bring it back");
        script.until("it is decided", |world| world.resource::<View>().recovered.is_none());
        let wanted = said.clone();
        script.act("the work is back", move |world| {
            let at = place(world);
            let now = format!("{:?}", (at.at.x, at.at.y, at.at.z, at.turn_deg.2));
            assert_eq!(now, wanted);
            assert!(world.resource::<Document>().any_unsaved());
        });
        with_control(script, "undo", KeyCode::KeyZ, "z");
        script.until("undo takes it back", move |world| same(&place(world), &original));
        with_control(script, "redo", KeyCode::KeyY, "y");
        script.until("redo brings it again", move |world| !same(&place(world), &original));
        with_control(script, "saving", KeyCode::KeyS, "s");
        script.until("it is saved", |world| !world.resource::<Document>().any_unsaved());
        script.act("asking to close", ask_to_close);
        script.step("the window closes by itself", |_| Progress::Wait);
    });
}

#[test]
fn a_file_changed_elsewhere_is_noticed_and_taken_or_kept() {
    if !alone("recovery::a_file_changed_elsewhere_is_noticed_and_taken_or_kept") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path());
    let text = fs::read_to_string(&path).unwrap();
    let file = path.clone();
    drive(&path, (1024, 700), move |script| {
        script.past_the_cautions();
        script.pause(5);
        let (to, theirs) = (file.clone(), text.replacen("name: \"", "name: \"Theirs: ", 1));
        let mut frames = 0;
        script.step("somebody else saves", move |_| {
            // The time that the file had must have been looked at once.
            frames += 1;
            thread::sleep(Duration::from_millis(100));
            if frames < 25 {
                return Progress::Wait;
            }
            fs::write(&to, &theirs).unwrap();
            Progress::Done
        });
        script.until("it is noticed", |world| world.resource::<View>().on_disk.is_some());
        script.picture("changed-on-disk");
        script.click("Take it");
        script.until("theirs is open", |world| {
            world.resource::<Document>().layout().name.starts_with("Theirs: ")
                && world.resource::<View>().on_disk.is_none()
                && settled(world)
        });
        script.over_the_picture();
        script.tap(KeyCode::ArrowUp, Key::ArrowUp);
        let (to, again) = (file.clone(), text.replacen("name: \"", "name: \"Again: ", 1));
        script.act("somebody else saves once more", move |_| fs::write(&to, &again).unwrap());
        script.until("it is noticed", |world| world.resource::<View>().on_disk.is_some());
        script.click("Keep mine");
        script.until("mine stays", |world| {
            world.resource::<View>().on_disk.is_none()
                && world.resource::<Document>().layout().name.starts_with("Theirs: ")
        });
        with_control(script, "saving", KeyCode::KeyS, "s");
        script.until("it is saved", |world| !world.resource::<Document>().any_unsaved());
    });
    let saved = format::open(&path).unwrap();
    assert!(saved.layout.name.starts_with("Theirs: "), "{}", saved.layout.name);
}
