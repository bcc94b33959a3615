//! Saving a spot: only that spot changes in the file, and nothing is ever lost.

use std::fs;
use std::path::{Path, PathBuf};

use dryberth::format::{Opened, open};
use dryberth::model::{Fixing, FixingKind, Place, Point, Spot};

use crate::runs::{bench_boot, folder};

fn opened(folder: &Path, change: impl FnOnce(String) -> String) -> (Opened, PathBuf, String) {
    let path = PathBuf::from(bench_boot(folder, change));
    let before = fs::read_to_string(&path).expect("the layout");
    (open(&path).expect("a sound layout"), path, before)
}

fn moved(spot: &Spot) -> Spot {
    let mut spot = spot.clone();
    spot.place.at = Point::new(123.25, -0.5, 1e-3);
    spot.place.turn_deg = (0.0, -12.5, 90.0);
    spot.note = "He said \"tight\";\nmind the (bracket), [really]. \\ Käfer ½".to_string();
    spot
}

fn new_spot() -> Spot {
    Spot {
        name: "Neu: \"hinten\" // rechts".to_string(),
        place: Place { at: Point::new(1.0, 2.0, 3.0), turn_deg: (0.0, 0.0, -180.0) },
        fixings: vec![Fixing::new(FixingKind::Tie { width_mm: 4.8 }, "top", "wall slot")],
        note: String::new(),
        tap_hz: Some(63.5),
    }
}

/// Every line of `text` that has a comment.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find("// ").map(|at| &line[at..])).collect()
}

fn backup(path: &Path) -> PathBuf {
    path.with_extension("ron.bak")
}

#[test]
fn only_the_spot_changes() {
    let folder = folder();
    let (mut opened, path, before) = opened(folder.path(), |text| text);
    for index in [0, 1] {
        let spot = moved(&opened.layout.spots[index]);
        let before = fs::read_to_string(&path).expect("the layout");
        assert_eq!(opened.file.save_spot(&spot).expect("saved"), path);
        let after = fs::read_to_string(&path).expect("the layout");
        let again = open(&path).expect("a sound layout still");
        let mut expected = opened.layout.clone();
        expected.spots[index] = spot;
        assert_eq!(again.layout, expected);
        assert_eq!(comments(&after), comments(&before));
        assert!(after.contains("// beside the wall"));
        // What stands before the spot and after it is the same to the byte.
        let start = before.find("    spots: [").expect("the spots");
        assert_eq!(after[..start], before[..start]);
        assert_eq!(fs::read_to_string(backup(&path)).expect("a backup"), before);
        opened.layout = expected;
    }
    assert_ne!(fs::read_to_string(&path).expect("the layout"), before);
}

#[test]
fn saving_the_same_spot_again_changes_nothing_more() {
    let folder = folder();
    let (mut opened, path, _) = opened(folder.path(), |text| text);
    let spot = moved(&opened.layout.spots[1]);
    opened.file.save_spot(&spot).expect("saved");
    let once = fs::read_to_string(&path).expect("the layout");
    opened.file.save_spot(&spot).expect("saved");
    assert_eq!(fs::read_to_string(&path).expect("the layout"), once);
}

#[test]
fn a_file_changed_on_disk_is_not_overwritten() {
    let folder = folder();
    let (mut opened, path, before) = opened(folder.path(), |text| text);
    let theirs = before.replace("Bench boot", "Bench boot, measured again");
    fs::write(&path, &theirs).expect("somebody else's change");
    let spot = moved(&opened.layout.spots[0]);
    let error = opened.file.save_spot(&spot).expect_err("a refusal");
    assert!(error.to_string().contains("changed on disk"), "{error}");
    assert_eq!(fs::read_to_string(&path).expect("the layout"), theirs);
    assert!(!backup(&path).exists());
    fs::remove_file(&path).expect("somebody else's removal");
    opened.file.save_spot(&spot).expect_err("a refusal");
    assert!(!path.exists());
}

#[test]
fn a_new_spot_is_added_however_the_list_is_written() {
    let variants: [(&str, fn(String) -> String); 9] = [
        ("as it is", |text| text),
        ("no comma after the last spot", |text| {
            text.replace("\"Not held yet.\"),", "\"Not held yet.\")")
        }),
        ("a comment after the last spot", |text| {
            text.replace(
                "\"Not held yet.\"),",
                "\"Not held yet.\") // last, for now\n        /* really, ] */ ,",
            )
        }),
        ("no spots", |text| format!("{})\n", &text[..text.find("    spots: [").expect("spots")])),
        ("no spots and no comma", |text| {
            let end = text.find("    spots: [").expect("spots");
            format!("{}\n)", text[..end].trim_end().trim_end_matches(','))
        }),
        ("no spots and a comment at the end", |text| {
            let end = text.find("    spots: [").expect("spots");
            format!("{}    // no spot yet :)\n) // the end (really)\n", &text[..end])
        }),
        ("no spots, no comma and a comment at the end", |text| {
            let end = text.find("    spots: [").expect("spots");
            let body = text[..end].trim_end().trim_end_matches(',').to_string();
            format!("{body} // no spot yet :)\n)\n")
        }),
        ("an empty list", |text| {
            format!("{}    spots: [],\n)\n", &text[..text.find("    spots: [").expect("spots")])
        }),
        ("an empty list with a comment", |text| {
            let end = text.find("    spots: [").expect("spots");
            format!("{}    spots: [ /* none */ ],\n)\n", &text[..end])
        }),
    ];
    for (name, change) in variants {
        let folder = folder();
        let (mut opened, path, before) = opened(folder.path(), change);
        opened.file.save_spot(&new_spot()).unwrap_or_else(|error| panic!("{name}: {error}"));
        let again = open(&path).unwrap_or_else(|error| panic!("{name}: {error}"));
        let mut expected = opened.layout.clone();
        expected.spots.push(new_spot());
        assert_eq!(again.layout, expected, "{name}");
        let after = fs::read_to_string(&path).expect("the layout");
        assert!(comments(&before).iter().all(|comment| after.contains(comment)), "{name}: {after}");
        assert_eq!(fs::read_to_string(backup(&path)).expect("a backup"), before, "{name}");
        // The second new spot finds the list as the first one left it.
        let mut second = new_spot();
        second.name = "second".to_string();
        opened.file.save_spot(&second).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(open(&path).expect("sound").layout.spots.last(), Some(&second), "{name}");
    }
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_are_kept_in_the_backup() {
    let folder = folder();
    let (mut opened, path, before) =
        opened(folder.path(), |text| format!("\u{feff}{}", text.replace('\n', "\r\n")));
    let spot = moved(&opened.layout.spots[0]);
    opened.file.save_spot(&spot).expect("saved");
    assert_eq!(open(&path).expect("sound").layout.spots[0], spot);
    assert_eq!(fs::read_to_string(backup(&path)).expect("a backup"), before);
}

#[test]
fn a_spot_that_is_not_sound_is_not_saved() {
    let folder = folder();
    let (mut opened, path, before) = opened(folder.path(), |text| text);
    let mut spots = vec![opened.layout.spots[0].clone(); 4];
    spots[0].place.at.x = f64::NAN;
    spots[1].place.at.x = 1e300;
    spots[2].name = String::new();
    spots[3].fixings[0].anchor = "nothing of that name".to_string();
    for spot in spots {
        opened.file.save_spot(&spot).expect_err("a refusal");
        assert_eq!(fs::read_to_string(&path).expect("the layout"), before, "{spot:?}");
    }
    assert!(!backup(&path).exists());
    assert!(open(&path).is_ok());
}

#[test]
fn nothing_is_left_beside_the_file_but_the_backup() {
    let folder = folder();
    let (mut opened, _, _) = opened(folder.path(), |text| text);
    let spot = moved(&opened.layout.spots[0]);
    opened.file.save_spot(&spot).expect("saved");
    let mut names: Vec<String> = fs::read_dir(folder.path())
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names, ["layout.ron", "layout.ron.bak", "pump.ron"]);
}

#[cfg(unix)]
#[test]
fn a_folder_that_cant_be_written_to_leaves_the_file_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    let (mut opened, path, before) = opened(folder.path(), |text| text);
    let locked = |mode| fs::set_permissions(folder.path(), fs::Permissions::from_mode(mode));
    locked(0o555).expect("permissions");
    if fs::write(folder.path().join("probe"), "").is_ok() {
        eprintln!("skipped: this user may write anywhere");
        locked(0o755).expect("permissions");
        return;
    }
    let spot = moved(&opened.layout.spots[0]);
    let error = opened.file.save_spot(&spot).expect_err("a refusal");
    locked(0o755).expect("permissions");
    assert!(error.to_string().contains("can't be written"), "{error}");
    assert_eq!(fs::read_to_string(&path).expect("the layout"), before);
}

#[test]
fn a_renamed_spot_keeps_its_place_in_the_file() {
    let folder = folder();
    let (mut opened, path, _) = opened(folder.path(), |text| text);
    let old = opened.layout.spots[0].name.clone();
    let mut spot = opened.layout.spots[0].clone();
    spot.name = "renamed".to_string();
    opened.file.save_spot_over(&old, &spot).expect("saved");
    let again = open(&path).expect("a sound layout still");
    assert_eq!(again.layout.spots.len(), opened.layout.spots.len());
    assert_eq!(again.layout.spots[0], spot);
    // A name that another spot has is refused, and the file stays as it is.
    let before = fs::read_to_string(&path).expect("the layout");
    let mut clash = spot.clone();
    clash.name = again.layout.spots[1].name.clone();
    let error = opened.file.save_spot_over("renamed", &clash).expect_err("two of one name");
    assert!(error.to_string().contains("second time"), "{error}");
    assert_eq!(fs::read_to_string(&path).expect("the layout"), before);
}

#[test]
fn what_stands_in_the_spot_besides_the_change_stays() {
    let folder = folder();
    let marked = |text: String| text.replacen("name: \"", "/* kept */ name: \"", 1);
    let (mut opened, path, _) = opened(folder.path(), |text| {
        // A comment inside the first spot.
        let at = text.find("spots:").expect("a list of spots");
        format!("{}{}", &text[..at], marked(text[at..].to_string()))
    });
    let before = fs::read_to_string(&path).expect("the layout");
    let mut spot = opened.layout.spots[0].clone();
    spot.place.at.x += 10.0;
    opened.file.save_spot(&spot).expect("saved");
    let after = fs::read_to_string(&path).expect("the layout");
    assert!(after.contains("/* kept */ name: "));
    // Only the lines of the place differ.
    let differing = before.lines().zip(after.lines()).filter(|(old, new)| old != new).count();
    assert!(differing <= 1, "{differing} lines differ");
    assert_eq!(open(&path).expect("sound").layout.spots[0], spot);
}

#[test]
fn a_copy_goes_beside_and_the_old_file_stays() {
    let folder = folder();
    let (mut opened, path, before) = opened(folder.path(), |text| text);
    let spot = moved(&opened.layout.spots[0]);
    let copy = path.with_file_name("copy.ron");
    assert_eq!(opened.file.save_copy(&copy, &spot.name, &spot).expect("saved"), copy);
    assert_eq!(fs::read_to_string(&path).expect("the layout"), before);
    assert_eq!(open(&copy).expect("sound").layout.spots[0], spot);
    assert_eq!(opened.file.path(), Some(copy.as_path()));
    for refused in [copy.clone(), folder.path().join("elsewhere").join("x.ron"), "x.txt".into()] {
        assert!(opened.file.save_copy(&refused, &spot.name, &spot).is_err(), "{refused:?}");
    }
}
