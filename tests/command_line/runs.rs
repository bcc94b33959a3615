//! Running the command; its exit statuses and what it says where.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

/// The command with nothing of the tester's own surroundings.
pub(crate) fn dryberth(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dryberth"));
    command.args(arguments);
    for name in ["COLUMNS", "NO_COLOR", "TERM", "DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"] {
        command.env_remove(name);
    }
    command
}

pub(crate) fn run(arguments: &[&str]) -> Output {
    dryberth(arguments).output().expect("the program runs")
}

pub(crate) fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the output is UTF-8")
}

pub(crate) fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("the messages are UTF-8")
}

pub(crate) fn json(arguments: &[&str]) -> Value {
    let output = run(&[arguments, &["--json"]].concat());
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", err(&output));
    serde_json::from_slice(&output.stdout).expect("the output is JSON")
}

/// A small boot of our own making in a folder, with what `change` makes of its text.
pub(crate) fn bench_boot(folder: &Path, change: impl FnOnce(String) -> String) -> String {
    let path = folder.join("layout.ron");
    let text = include_str!("../hurtful/sound/layout.ron");
    let text = text.replace("Mesh(file: \"bump.glb\")", "Box(from: (0, 0, 0), to: (50, 40, 50))");
    fs::write(&path, change(text)).expect("a layout");
    fs::write(folder.join("pump.ron"), include_str!("../hurtful/sound/pump.ron")).expect("a pump");
    path.to_str().expect("a path that is text").to_string()
}

pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn swap(text: String, from: &str, to: &str) -> String {
    assert_eq!(text.matches(from).count(), 1, "`{from}` must stand once");
    text.replacen(from, to, 1)
}

#[test]
fn the_demo_is_checked_when_nothing_is_named() {
    let unnamed = run(&["check", "--json"]);
    let named = run(&["check", "wrenfield-drop-top", "--json"]);
    assert_eq!(unnamed.stdout, named.stdout);
    assert!(json(&["check"])["layout"].as_str().is_some_and(|name| name.contains("Wrenfield")));
    let other = json(&["check", "sandlark-cabriolet"]);
    assert!(other["layout"].as_str().is_some_and(|name| name.contains("Sandlark")));
}

#[test]
fn the_same_bytes_come_twice() {
    for arguments in [&["check"][..], &["check", "sandlark-cabriolet", "--json"]] {
        assert_eq!(run(arguments).stdout, run(arguments).stdout, "{arguments:?}");
    }
}

#[test]
fn the_working_directory_doesnt_matter() {
    let here = run(&["check", "--json"]);
    let there = dryberth(&["check", "--json"]).current_dir("/").output().expect("it runs");
    assert_eq!(here.stdout, there.stdout);
}

#[test]
fn an_answer_says_nothing_on_standard_error() {
    for arguments in [&["check"][..], &["check", "--json"]] {
        assert_eq!(err(&run(arguments)), "");
    }
}

#[test]
fn status_1_means_that_every_spot_asked_for_fails() {
    let demo = json(&["check"]);
    let spots = demo["spots"].as_array().expect("a list of spots");
    let all_fail = spots.iter().all(|spot| spot["verdict"] == "fail");
    assert_eq!(run(&["check"]).status.code(), Some(i32::from(all_fail)));
    for spot in [&spots[0], &spots[spots.len() - 1]] {
        let name = spot["name"].as_str().expect("a name");
        let one = run(&["check", "--spot", name]);
        assert_eq!(one.status.code(), Some(i32::from(spot["verdict"] == "fail")), "{name}");
    }
}

#[test]
fn statuses_on_a_boot_made_to_fail() {
    let folder = folder();
    // The pump 15 m away fails whatever the rules say.
    let away = bench_boot(folder.path(), |text| {
        let text = swap(text, "place: (at: (200, 170, 5))", "place: (at: (15000, 170, 5))");
        swap(text, "place: (at: (200, 0, 40), turn_deg: (0, 0, 15))", "place: (at: (0, 15000, 5))")
    });
    assert_eq!(run(&["check", &away]).status.code(), Some(1));
    assert_eq!(run(&["check", &away, "--spot", "middle"]).status.code(), Some(1));
    assert_eq!(run(&["check", &away, "--spot", "muddle"]).status.code(), Some(2));
}

#[test]
fn an_unknown_spot_is_refused_with_the_nearest_name() {
    let output = run(&["check", "--spot", "Above the batery"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(out(&output), "");
    assert!(err(&output).contains("no spot `Above the batery`"), "{}", err(&output));
    assert!(err(&output).contains("did you mean `Above the battery`?"), "{}", err(&output));
}

#[test]
fn an_unknown_option_is_refused_with_the_nearest_name() {
    for switch in ["--with", "--without"] {
        let output = run(&["check", switch, "sound amplifyer"]);
        assert_eq!(output.status.code(), Some(2));
        assert_eq!(out(&output), "");
        assert!(err(&output).contains("no option `sound amplifyer`"), "{}", err(&output));
        assert!(err(&output).contains("did you mean `sound amplifier`?"), "{}", err(&output));
    }
}

#[test]
fn mistakes_on_the_command_line_give_status_2() {
    for arguments in [
        &["chek"][..],
        &["check", "--jason"],
        &["check", "--spot"],
        &["check", "one.ron", "two.ron"],
        &["check", "no-such-demo"],
        &["check", ""],
        &["unpack", concat!(env!("CARGO_BIN_EXE_dryberth"), "/below-a-file")],
    ] {
        let output = run(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert_eq!(out(&output), "", "{arguments:?}");
        assert!(!err(&output).is_empty(), "{arguments:?}");
        assert!(!err(&output).contains("panicked"), "{arguments:?}");
    }
}

#[test]
fn help_and_version_are_no_mistake() {
    let version = run(&["--version"]);
    assert_eq!(version.status.code(), Some(0));
    assert_eq!(out(&version).trim(), format!("dryberth {}", env!("CARGO_PKG_VERSION")));
    let help = run(&["check", "--help"]);
    assert_eq!(help.status.code(), Some(0));
    for word in ["--spot", "--json", "--with", "--without", "Exit status"] {
        assert!(out(&help).contains(word), "{word}");
    }
}

#[test]
fn an_option_changes_what_is_in_the_way() {
    let folder = folder();
    let path = bench_boot(folder.path(), |text| text);
    let clearance = |arguments: &[&str]| {
        let answer = json(&[&["check", &path, "--spot", "left side"], arguments].concat());
        let checks: Vec<Value> = answer["spots"][0]["headlines"]
            .as_array()
            .expect("headlines")
            .iter()
            .flat_map(|headline| headline["checks"].as_array().expect("checks").clone())
            .collect();
        let found = checks
            .into_iter()
            .find(|check| check["id"] == "clearance" && check["subject"] == "amplifier");
        (answer["options"].clone(), found)
    };
    let (options, usual) = clearance(&[]);
    assert_eq!(options, serde_json::json!(["tow module"]));
    assert_eq!(usual, None);
    let (options, with) = clearance(&["--with", "spare amplifier"]);
    assert_eq!(options, serde_json::json!(["spare amplifier", "tow module"]));
    let with = with.expect("the amplifier is looked at");
    assert_eq!(with["verdict"], "fail");
    assert!(with["figure"].as_f64().is_some_and(|depth| depth < 0.0));
    let (options, _) = clearance(&["--without", "tow module"]);
    assert_eq!(options, serde_json::json!([]));
}

#[test]
fn an_unpacked_demo_gives_the_same_answer() {
    let folder = folder();
    let to = folder.path().join("demo");
    let unpacked = run(&["unpack", to.to_str().expect("text")]);
    assert_eq!(unpacked.status.code(), Some(0));
    let listing = out(&unpacked);
    assert_eq!(listing.lines().count(), 2);
    for path in listing.lines() {
        let name = Path::new(path).file_stem().and_then(|name| name.to_str()).expect("a name");
        assert!(Path::new(path).starts_with(&to), "{path}");
        let from_disk = run(&["check", path, "--json"]);
        assert_eq!(from_disk.stdout, run(&["check", name, "--json"]).stdout, "{name}");
        // And what was unpacked is what is used: its pump is beside it, not the one built in.
    }
    let pump = to.join("assets/pumps/two-line-unit.ron");
    let text = fs::read_to_string(&pump).expect("the pump was unpacked");
    fs::write(&pump, text.replace("schema: 1", "schema: 99")).expect("it can be changed");
    let path = to.join("layouts/wrenfield-drop-top.ron");
    let broken = run(&["check", path.to_str().expect("text")]);
    assert_eq!(broken.status.code(), Some(2));
    assert!(err(&broken).contains("two-line-unit.ron:"), "{}", err(&broken));
}

#[test]
fn a_layout_is_found_from_its_own_folder() {
    let folder = folder();
    bench_boot(folder.path(), |text| text);
    let output = dryberth(&["check", "layout.ron"]).current_dir(&folder).output().expect("it runs");
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", err(&output));
}

#[test]
fn without_a_display_the_table_is_printed_and_how_to_see_the_scene() {
    let output = run(&[]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = out(&output);
    assert!(text.contains("Wrenfield"), "{text}");
    assert!(text.contains("To see the scene"), "{text}");
    assert!(text.contains("dryberth check LAYOUT.ron"), "{text}");
}

#[test]
fn a_reader_who_leaves_early_is_no_failure() {
    let mut child = dryberth(&["check", "--json"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("it runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert!(matches!(output.status.code(), Some(0 | 1)));
    assert_eq!(err(&output), "");
}
