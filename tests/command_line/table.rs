//! The table: within the width asked for, plain when piped, coloured on a terminal only.

use crate::runs::{bench_boot, dryberth, err, folder, out, run};

fn widest(text: &str) -> (usize, String) {
    let line = text.lines().max_by_key(|line| line.chars().count()).unwrap_or_default();
    (line.chars().count(), line.to_string())
}

#[test]
fn nothing_is_wider_than_asked_for() {
    let cases: [(usize, &[&str]); 8] = [
        (60, &["check"]),
        (80, &["check"]),
        (120, &["check"]),
        (60, &["check", "--spot", "In its well, as built"]),
        (80, &["check", "sandlark-cabriolet"]),
        (60, &["check", "--spot", "In its well, as built", "--tolerance-runs", "2"]),
        (80, &["check", "--spot", "Above the battery", "--tolerance-runs", "1"]),
        (60, &[]),
    ];
    for (columns, arguments) in cases {
        let output =
            dryberth(arguments).env("COLUMNS", columns.to_string()).output().expect("it runs");
        assert_ne!(output.status.code(), Some(2), "{}", err(&output));
        let (width, line) = widest(&out(&output));
        assert!(width <= columns, "{width} columns of {columns} in {arguments:?}: {line}");
        assert!(width > columns / 2, "hardly any of {columns} columns used: {width}");
    }
}

#[test]
fn long_names_are_folded_too() {
    let folder = folder();
    let path = bench_boot(folder.path(), |text| {
        let long = format!("\"{}\"", "Sidewinder".repeat(11));
        text.replace("\"middle\"", &long)
            .replace("\"Bench boot\"", &format!("\"{}\"", "boot ".repeat(20)))
    });
    for columns in [60, 80] {
        let output = dryberth(&["check", &path])
            .env("COLUMNS", columns.to_string())
            .output()
            .expect("it runs");
        let (width, line) = widest(&out(&output));
        assert!(width <= columns, "{width} columns of {columns}: {line}");
    }
}

#[test]
fn a_width_of_no_sense_is_survived() {
    let folder = folder();
    let path = bench_boot(folder.path(), |text| text);
    for columns in ["0", "1", "-5", "70000", "99999999999", "many", ""] {
        let output = dryberth(&["check", &path]).env("COLUMNS", columns).output().expect("it runs");
        assert_ne!(output.status.code(), Some(2), "{}", err(&output));
        assert!(widest(&out(&output)).0 <= 240, "COLUMNS={columns}");
    }
}

#[test]
fn a_pipe_gets_no_escape_sequence() {
    for arguments in [&["check"][..], &["check", "--json"], &["check", "--spot", "nowhere"]] {
        let output = dryberth(arguments).env("TERM", "xterm-256color").output().expect("it runs");
        assert!(!output.stdout.contains(&0x1b) && !output.stderr.contains(&0x1b), "{arguments:?}");
    }
}

#[test]
fn chances_have_a_column_of_their_own() {
    let spot = ["check", "--spot", "On the amplifier bracket"];
    let plain = out(&run(&spot));
    assert!(!plain.contains("Holds") && !plain.contains("All hold"));
    let asked = out(&run(&[&spot[..], &["--tolerance-runs", "3"]].concat()));
    assert!(asked.contains("Holds") && asked.contains("All hold") && asked.contains("100 %"));
    for wrong in [&["--tolerance-runs", "0"][..], &["--seed", "4"], &["--tolerance-runs", "many"]] {
        let output = run(&[&spot[..], wrong].concat());
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn verdicts_are_words_and_shapes_and_every_spot_has_its_why() {
    let text = out(&run(&["check"]));
    let opened = dryberth::format::open_demo(None).expect("the demo");
    for spot in &opened.layout.spots {
        assert!(
            text.lines().filter(|line| line.contains(&spot.name)).count() >= 2,
            "{}",
            spot.name
        );
    }
    for headline in ["Reach", "Carpet line", "Feed", "Water", "Hold"] {
        assert!(text.contains(headline), "{headline}");
    }
    let words = [("● pass", '●'), ("◐ tight", '◐'), ("✖ fail", '✖'), ("? unknown", '?')];
    assert!(words.iter().any(|(word, _)| text.contains(word)), "{text}");
    assert!(text.contains("planning aids"), "the caution is missing");
}

/// What the command prints to a terminal, by the `script` tool; none where there is no such tool.
#[cfg(target_os = "linux")]
fn on_a_terminal(extra: &[(&str, &str)]) -> Option<Vec<u8>> {
    let mut command = std::process::Command::new("script");
    command
        .args(["-q", "-e", "-c", &format!("'{}' check", env!("CARGO_BIN_EXE_dryberth"))])
        .arg("/dev/null")
        .stdin(std::process::Stdio::null())
        .env_remove("NO_COLOR")
        .env_remove("COLUMNS")
        .env("TERM", "xterm-256color");
    command.envs(extra.iter().copied());
    match command.output() {
        Ok(output) if matches!(output.status.code(), Some(0 | 1)) => Some(output.stdout),
        _ => {
            eprintln!("skipped: the `script` tool is needed to make a terminal");
            None
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_terminal_gets_colour_unless_it_was_declined() {
    let Some(coloured) = on_a_terminal(&[]) else { return };
    assert!(coloured.contains(&0x1b), "a terminal should get colour");
    for declined in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let plain = on_a_terminal(&[declined]).expect("the tool was there a moment ago");
        assert!(!plain.contains(&0x1b), "{declined:?}");
        assert!(String::from_utf8_lossy(&plain).contains("Wrenfield"));
    }
    // Set but empty is not set (no-color.org).
    let empty = on_a_terminal(&[("NO_COLOR", "")]).expect("the tool was there a moment ago");
    assert!(empty.contains(&0x1b));
}
