//! The arrows between the parts of the program, read from its source: dependencies point inward.

use std::fs;
use std::path::{Path, PathBuf};

/// Each Rust file under `src` by its path there, with comments, doc comments and unit tests left
/// out: only what is compiled into the program counts.
fn sources() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut open = vec![root.clone()];
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).expect("a folder of sources") {
            let path: PathBuf = entry.expect("an entry of it").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let name = path.strip_prefix(&root).expect("a path under src");
                let name = name.to_string_lossy().replace('\\', "/");
                found.push((name, code(&fs::read_to_string(&path).expect("a source file"))));
            }
        }
    }
    found.sort();
    found
}

fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let lines = text.lines().map(|line| match line.find("//") {
        Some(at) if !line[..at].contains('"') => &line[..at],
        _ => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Whether `text` holds `word` as a whole word.
fn says(text: &str, word: &str) -> bool {
    let part = |letter: char| letter.is_alphanumeric() || letter == '_';
    text.match_indices(word)
        .any(|(at, _)| !text[..at].ends_with(part) && !text[at + word.len()..].starts_with(part))
}

/// Fails with every file under `folder` that says one of `words`, except those in `allowed`.
#[track_caller]
fn never_says(folder: &str, words: &[&str], allowed: &[&str]) {
    let sources = sources();
    let mut looked_at = 0;
    let mut wrong = Vec::new();
    for (name, text) in sources.iter().filter(|(name, _)| name.starts_with(folder)) {
        looked_at += 1;
        if allowed.iter().any(|allowed| name.starts_with(allowed)) {
            continue;
        }
        let said = words.iter().filter(|word| says(text, word));
        wrong.extend(said.map(|word| format!("src/{name} says `{word}`")));
    }
    assert!(looked_at > 0, "no source under `{folder}`");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn bevy_is_written_only_in_the_scene() {
    never_says("", &["bevy", "bevy_egui", "egui"], &["scene/"]);
}

#[test]
fn parry_is_written_only_in_the_geometry_and_at_the_frames_edge() {
    never_says("", &["parry3d", "parry3d_f64", "parry"], &["geometry/", "frame.rs"]);
}

#[test]
fn the_core_touches_no_file_clock_or_screen() {
    let outside = [
        "std::fs",
        "std::io",
        "std::env",
        "std::net",
        "std::process",
        "std::time",
        "println",
        "eprintln",
        "print",
        "eprint",
        "dbg",
        "HashMap",
        "HashSet",
        "SystemTime",
        "Instant",
        "ron",
        "gltf",
        "serde_json",
        "clap",
        "comfy_table",
    ];
    for folder in ["model/", "geometry/", "checks/", "units.rs", "frame.rs"] {
        never_says(folder, &outside, &[]);
    }
}

#[test]
fn the_model_knows_only_itself() {
    let above = ["geometry", "checks", "compare", "search", "format", "documents", "cli", "scene"]
        .map(|part| format!("crate::{part}"));
    let above: Vec<&str> = above.iter().map(String::as_str).collect();
    for folder in ["model/", "units.rs", "frame.rs"] {
        never_says(folder, &above, &[]);
    }
}

#[test]
fn the_geometry_knows_only_the_model() {
    never_says(
        "geometry/",
        &["crate::checks", "crate::search", "crate::format", "crate::cli", "crate::scene"],
        &[],
    );
}

#[test]
fn the_checks_know_neither_files_nor_screens() {
    never_says(
        "checks/",
        &[
            "crate::compare",
            "crate::search",
            "crate::documents",
            "crate::format",
            "crate::cli",
            "crate::scene",
        ],
        &[],
    );
}

#[test]
fn the_reading_knows_neither_the_terminal_nor_the_scene() {
    never_says("format/", &["crate::cli", "crate::scene"], &[]);
    never_says("scene/", &["crate::cli"], &[]);
}

#[test]
fn deciding_knows_neither_files_nor_documents() {
    let above =
        ["crate::format", "crate::documents", "crate::cli", "crate::scene", "std::fs", "std::io"];
    never_says("compare/", &above, &[]);
}

#[test]
fn documents_touch_no_file_clock_or_screen() {
    let outside = [
        "std::fs",
        "std::env",
        "std::time",
        "std::process",
        "crate::cli",
        "crate::scene",
        "HashMap",
    ];
    never_says("documents/", &outside, &[]);
}

#[test]
fn only_the_command_line_prints() {
    never_says("", &["println", "eprintln", "print!", "eprint!", "stdout", "stderr"], &["cli/"]);
}

#[test]
fn nothing_unsafe_and_no_unproven_unwrap() {
    never_says("", &["unwrap", "todo", "unimplemented", "dbg"], &[]);
    // A page's content policy has a keyword of that name; the lint forbids the code itself everywhere.
    never_says("", &["unsafe"], &["documents/html.rs"]);
}

#[test]
fn the_reading_of_the_sources_itself_works() {
    assert!(says("use bevy::prelude", "bevy") && !says("bevy_free", "bevy"));
    assert_eq!(code("a // bevy\n    /// bevy\nb\n#[cfg(test)]\nmod tests {}"), "a \n    \nb");
    let names: Vec<String> = sources().into_iter().map(|(name, _)| name).collect();
    for known in ["lib.rs", "main.rs", "model/layout.rs", "checks/boot.rs", "format/glb.rs"] {
        assert!(names.iter().any(|name| name == known), "{known} is not among the sources");
    }
}
