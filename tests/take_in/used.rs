//! The written body: read back, put in a layout, checked; and what is never overwritten.

use std::fs;
use std::process::Command;

use dryberth::format::scan::{ScanOptions, Unit, Up, take_in};
use dryberth::format::{as_glb_holds, glb_from_triangles, triangles_from_glb};
use dryberth::geometry::Triangles;
use dryberth::model::{Point, Spot};

use crate::files::{Bench, Faces};

#[test]
fn a_body_reads_back_as_it_was_written() {
    for count in [4, 70_000] {
        // Few corners take 16-bit numbers, many take 32.
        let corner = |index: u32| {
            let turn = f64::from(index) * 0.1;
            Point::new(700.0 * turn.sin(), 512.3 - turn, 333.3 * turn.cos())
        };
        let surface = Triangles {
            vertices: (0..count).map(corner).collect(),
            indices: (0..count - 2).map(|i| [i, i + 1, i + 2]).collect(),
        };
        let held = as_glb_holds(surface.clone());
        let bytes = glb_from_triangles("body.glb", "body", &surface).expect("a GLB");
        assert_eq!(triangles_from_glb("body.glb", &bytes).expect("read"), held);
        assert_eq!(as_glb_holds(held.clone()), held);
        let off = |(a, b): (&Point, &Point)| (a - b).norm();
        assert!(surface.vertices.iter().zip(&held.vertices).map(off).fold(0.0, f64::max) < 3e-4);
        let size = if count < 65_536 { 2 } else { 4 };
        let data = count as usize * 12 + (count as usize - 2) * 3 * size;
        assert!(bytes.len() >= data && bytes.len() < data + 1_400 && bytes.len().is_multiple_of(4));
    }
}

#[test]
fn the_body_is_what_the_library_hands_over() {
    let bench = Bench::new();
    bench.write("scan.stl", Faces::cuboid([0.1; 3], [0.3; 3]).stl_binary());
    let mut stages = Vec::new();
    let body = bench.path("body.glb");
    let options = ScanOptions { unit: Some(Unit::M), up: Up::Z, plan: None };
    let taken = take_in(&bench.path("scan.stl"), &body, options, &mut |stage, done| {
        assert!((0.0..=1.0).contains(&done));
        stages.push(format!("{stage:?}"));
    })
    .expect("taken in");
    let again = triangles_from_glb("body.glb", &fs::read(&body).expect("a body")).expect("sound");
    assert_eq!(taken.triangles, again);
    stages.dedup();
    assert_eq!(stages, ["Read", "Clean", "Place", "Write"]);
}

/// A demo layout unpacked in the bench's folder, and its first spot.
pub(crate) fn unpacked(bench: &Bench) -> (std::path::PathBuf, Spot) {
    let unpacked = Command::new(env!("CARGO_BIN_EXE_dryberth"))
        .args(["unpack", "demo"])
        .current_dir(bench.path(""))
        .output()
        .expect("the program runs");
    assert!(unpacked.status.success());
    let listed = String::from_utf8(unpacked.stdout).expect("text");
    let layout = bench.path(listed.lines().next().expect("a layout"));
    let spot = dryberth::format::open(&layout).expect("sound").layout.spots.remove(0);
    (layout, spot)
}

/// The checks of a spot that fail and name `block`, a body of the mesh `block.glb` beside the layout.
pub(crate) fn failing_for_a_block(layout: &std::path::Path, spot: &Spot) -> usize {
    let text = fs::read_to_string(layout).expect("the layout");
    let entry =
        "bodies: [\n        (name: \"block\", role: Other, shape: Mesh(file: \"block.glb\")),";
    fs::write(layout, text.replacen("bodies: [", entry, 1)).expect("written");
    let answer = Command::new(env!("CARGO_BIN_EXE_dryberth"))
        .args(["check", layout.to_str().expect("a path"), "--spot", &spot.name, "--json"])
        .output()
        .expect("the program runs");
    fs::write(layout, text).expect("written");
    assert_eq!(answer.status.code(), Some(1), "{}", String::from_utf8_lossy(&answer.stderr));
    let answer: serde_json::Value = serde_json::from_slice(&answer.stdout).expect("JSON");
    let headlines = answer["spots"][0]["headlines"].as_array().expect("headlines").clone();
    let checks = headlines.iter().flat_map(|headline| headline["checks"].as_array());
    checks
        .flatten()
        .filter(|check| check["verdict"] == "fail" && check.to_string().contains("block"))
        .count()
}

#[test]
fn the_body_can_be_checked_in_a_layout() {
    let bench = Bench::new();
    let (layout, spot) = unpacked(&bench);
    // A block of 120 mm round the place where the pump is to stand, in inches.
    let side = |by: f64| [0, 1, 2].map(|axis| (spot.place.at[axis] + by) / 25.4);
    bench.write("scan.ply", Faces::cuboid(side(-60.0), side(60.0)).ply_text());
    let body = layout.with_file_name("block.glb");
    let body = body.to_str().expect("a path");
    let run = bench.run(&["scan.ply", "-o", body, "--unit", "inch", "--up", "z"]);
    assert_eq!(run.status, Some(0), "{}", run.err);
    // The pump can't go where the block is, and the block is named as the reason.
    assert!(failing_for_a_block(&layout, &spot) > 0);
}

#[test]
fn nothing_that_is_read_is_written_over_and_a_refusal_writes_nothing() {
    let bench = Bench::new();
    let scan = Faces::cuboid([0.1; 3], [0.3; 3]).glb();
    bench.write("scan.glb", &scan);
    bench.write("plan.ron", "(schema: 1)");
    fs::create_dir(bench.path("folder.glb")).expect("a folder");
    for (out, wanted) in [
        ("scan.glb", "the file that is read"),
        ("./scan.glb", "the file that is read"),
        ("plan.ron", ".glb"),
        ("body.stl", ".glb"),
        ("folder.glb", "no plain file"),
        ("missing/body.glb", "can't be written"),
    ] {
        let run = bench.run(&["scan.glb", "-o", out, "--plan", "plan.ron"]);
        assert_eq!(run.refusal(&["found ", "expected ", wanted]), "", "{out}");
    }
    assert_eq!(fs::read(bench.path("scan.glb")).expect("the scan"), scan);
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(bench.path("scan.glb"), bench.path("link.glb")).expect("a link");
        let run = bench.run(&["link.glb", "-o", "scan.glb"]);
        assert_eq!(run.refusal(&["the file that is read"]), "");
    }
    // A body that is there is kept when the scan can't be used.
    bench.write("body.glb", "old");
    bench.write("bad.obj", "v 0 0 0\n");
    assert_eq!(bench.run(&["bad.obj", "-o", "body.glb"]).refusal(&["no triangle"]), "");
    assert_eq!(fs::read(bench.path("body.glb")).expect("the body"), b"old");
    // And replaced when it can, with nothing left beside it.
    bench.taken("scan.glb", &[]);
    let mut names: Vec<String> = fs::read_dir(bench.path(""))
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|name| name.contains("body"))
        .collect();
    names.sort();
    assert_eq!(names, ["body.glb"]);
}
