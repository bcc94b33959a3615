//! How far things stand out of a wavy sheet, or stay behind it, against brute force on its triangles
//! (`lifts.py`).

use dryberth::geometry::{Sheet, Solid};
use dryberth::model::{Point, Pose, Shape};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};
use serde_json::Value;

use crate::shapes::{boxed, hull, mesh, solid, torus};

/// The referee's own closeness, and ours in hollows, mm.
const CLOSE_MM: f64 = 0.02 + 0.004;

fn height(x: f64, y: f64) -> f64 {
    14.0 * (x / 31.0).sin() * (y / 43.0).cos() + 5.0 * ((x + 2.0 * y) / 23.0).sin()
}

/// The sheet of the script.
fn sheet() -> Sheet {
    let at = |i: u32, j: u32| {
        let (x, y) = (f64::from(i) * 20.0 - 240.0, f64::from(j) * 20.0 - 240.0);
        Point::new(x, y, height(x, y))
    };
    let mut faces = Vec::new();
    for i in 0..24 {
        for j in 0..24 {
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            faces.extend([vec![a, b, c], vec![a, c, d]]);
        }
    }
    Sheet::of(&faces)
}

fn thing(kind: &str, size: &Value) -> Solid {
    let numbers = || -> Vec<f64> { serde_json::from_value(size.clone()).expect("numbers") };
    match kind {
        "box" => {
            let half: [f64; 3] = numbers().try_into().expect("three");
            boxed(half.map(|half| -half), half)
        }
        "hull" => {
            let points: Vec<[f64; 3]> = serde_json::from_value(size.clone()).expect("points");
            hull(&points)
        }
        "ring" => mesh(torus((20, 12), numbers()[0], |_, _| numbers()[1])),
        _ => {
            let (radius_mm, half) = (numbers()[0], numbers()[1]);
            let (from, to) = (Point::new(0.0, 0.0, -half), Point::new(0.0, 0.0, half));
            solid(&Shape::Cylinder { from, to, radius_mm })
        }
    }
}

#[test]
fn things_stand_out_of_a_wavy_sheet_as_brute_force_says() {
    let cases: Vec<Value> =
        serde_json::from_str(include_str!("data/lifts.json")).expect("sound data");
    assert!(cases.len() >= 120);
    let sheet = sheet();
    let (mut out, mut behind, mut worst) = (0, 0, 0.0_f64);
    // Unoptimised tests ask every fifth; the four kinds take turns.
    let step = if cfg!(debug_assertions) { 5 } else { 1 };
    for (index, case) in cases.iter().enumerate().step_by(step) {
        let number = |name: &str, k: usize| case[name][k].as_f64().expect("a number");
        let [x, y, z, w] = [0, 1, 2, 3].map(|k| number("turn", k));
        let turn = UnitQuaternion::from_quaternion(Quaternion::new(w, x, y, z));
        let [x, y, z] = [0, 1, 2].map(|k| number("at", k));
        let pose = Pose::from_parts(Translation3::new(x, y, z), turn);
        let kind = case["kind"].as_str().expect("a kind");
        let solid = thing(kind, &case["size"]).moved(&pose);
        let expected = case["proud"].as_f64().expect("a number");
        let found = sheet.stand_out(&[&solid]).expect("part of it is behind the sheet");
        let error = (found.proud_mm - expected).abs();
        // A cylinder counts with 96 sides of the same cross-section: within 0.05 % of its radius.
        let round_mm = if kind == "cylinder" {
            5e-4 * case["size"][0].as_f64().expect("a radius")
        } else {
            0.0
        };
        assert!(
            error <= CLOSE_MM + round_mm,
            "case {index} {kind}: {found:?}, expected {expected}"
        );
        worst = worst.max(error);
        if expected > 0.0 { out += 1 } else { behind += 1 }
    }
    println!("worst {worst:.1e} mm of {out} that stand out and {behind} behind");
    assert!(out * step >= 60 && behind * step >= 20, "{out} out, {behind} behind");
}
