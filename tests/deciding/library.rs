//! The library: search, new from another, upgrade.

use std::fs;
use std::path::Path;

use dryberth::compare::changes;
use dryberth::format::{DEMOS, Wanted, open, search_library};
use dryberth::model::SCHEMA;

fn unpacked() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for demo in &DEMOS {
        demo.unpack(folder.path()).expect("unpacked");
    }
    folder
}

fn names(folder: &Path, words: &[&str], options: &[&str], pump: &[&str]) -> Vec<String> {
    let texts = |list: &[&str]| list.iter().map(|text| (*text).to_string()).collect();
    let wanted = Wanted { words: texts(words), options: texts(options), pump: texts(pump) };
    let found = search_library(folder, &wanted).expect("a search");
    assert!(found.unread.is_empty(), "{:?}", found.unread);
    found.layouts.into_iter().map(|entry| entry.name).collect()
}

#[test]
fn layouts_are_found_by_words_options_and_pump() {
    let folder = unpacked();
    let at = folder.path();
    let both = ["Sandlark cabriolet", "Wrenfield drop-top"];
    assert_eq!(names(at, &[], &[], &[]), both);
    assert_eq!(names(at, &["sandlark"], &[], &[]), both[..1]);
    // Nearly spelt.
    assert_eq!(names(at, &["sandlrak"], &[], &[]), both[..1]);
    assert_eq!(names(at, &["drop-top", "wrenfield"], &[], &[]), both[1..]);
    assert!(names(at, &["sandlark", "wrenfield"], &[], &[]).is_empty(), "every word must be found");
    assert_eq!(names(at, &[], &["hoop"], &[]), both[1..], "by code");
    assert_eq!(names(at, &[], &["space-saver"], &[]), both[..1], "by part of a name");
    assert_eq!(names(at, &[], &["amp", "tow"], &[]), both);
    assert_eq!(names(at, &[], &[], &["two-line"]), both);
    assert!(names(at, &[], &[], &["rotary"]).is_empty());
}

#[test]
fn broken_layouts_are_told_and_other_files_passed_over() {
    let folder = unpacked();
    fs::write(
        folder.path().join("layouts/broken.ron"),
        "(schema: 1, origin: \"x\", bodies: [(nmae: 1)])",
    )
    .expect("a file");
    fs::write(folder.path().join("layouts/notes.ron"), "(anything: 1)").expect("a file");
    fs::write(folder.path().join("layouts/binary.ron"), [0xFF, 0xFE, 0x00]).expect("a file");
    let found = search_library(folder.path(), &Wanted::default()).expect("a search");
    assert_eq!(found.layouts.len(), 2);
    assert_eq!(found.unread.len(), 1, "{:?}", found.unread);
    assert!(found.unread[0].file.ends_with("broken.ron"));
    assert!(search_library(Path::new("/nowhere/at/all"), &Wanted::default()).is_err());
}

#[test]
fn a_new_layout_is_the_old_one_under_a_new_name() {
    let folder = unpacked();
    let old = open(&DEMOS[1].layout_in(folder.path())).expect("a sound layout");
    assert!(!old.layout.trials.is_empty());
    // Into another folder: pump and mesh go along.
    let other = tempfile::tempdir().expect("a folder");
    let path = other.path().join("next.ron");
    let name = "Sandlark estate \"late\"";
    old.begin_new(&path, name).expect("begun");
    let new = open(&path).expect("a sound layout that finds its pump and mesh");
    assert_eq!((new.layout.name.as_str(), new.layout.trials.len()), (name, 0));
    assert_eq!((&new.pump, &new.meshes), (&old.pump, &old.meshes));
    let told = changes(&old.layout, &new.layout);
    assert!(told.len() == 2, "the name and the trials: {told:?}");
    assert!(old.begin_new(&path, name).is_err(), "it is there already");
    assert!(old.begin_new(&other.path().join("next.txt"), name).is_err());
    // A demo that isn't on disk can be begun from too.
    let demo = dryberth::format::open_demo(None).expect("the demo");
    demo.begin_new(&other.path().join("third.ron"), "Third").expect("begun");
    open(&other.path().join("third.ron")).expect("a sound layout");
}

#[test]
fn an_upgrade_keeps_the_original() {
    let folder = unpacked();
    let path = DEMOS[0].layout_in(folder.path());
    let before = fs::read_to_string(&path).expect("the layout");
    assert!(before.contains("schema: 1"));
    let mut opened = open(&path).expect("a sound layout");
    let (layout, kept) = opened.file.upgrade().expect("upgraded").expect("it was older");
    assert_eq!(layout, path);
    assert_eq!(fs::read_to_string(&kept).expect("the original"), before);
    let after = fs::read_to_string(&path).expect("the layout");
    assert_eq!(after, before.replacen("schema: 1", &format!("schema: {SCHEMA}"), 1));
    let mut again = open(&path).expect("a sound layout");
    assert_eq!(again.layout.schema, SCHEMA);
    assert_eq!(again.file.upgrade().expect("nothing to do"), None);
    // An original that says something else is not overwritten.
    fs::write(&path, &before).expect("the old text again");
    fs::write(&kept, "mine").expect("somebody's file");
    let mut opened = open(&path).expect("a sound layout");
    assert!(opened.file.upgrade().is_err());
    assert_eq!(fs::read_to_string(&kept).expect("somebody's file"), "mine");
    assert_eq!(fs::read_to_string(&path).expect("the layout"), before);
}
