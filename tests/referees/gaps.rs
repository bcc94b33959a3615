//! Signed gaps against coal, python-fcl, a Minkowski difference and a convex programme (`gaps.py`).

use std::collections::BTreeMap;

use dryberth::geometry::{Solid, gap};
use dryberth::model::{Place, Point, Shape};
use serde::Deserialize;

use crate::shapes::{boxed, hull, mesh, ring, solid};

/// Largest error of a distance or a depth with flat faces, mm.
const EXACT_MM: f64 = 1e-6;

/// Largest error of a distance where a cylinder takes part, mm. On a round skin GJK closes in from
/// above and stops at a relative 1e-8 or so: seen up to 1.8e-6 too much.
const ROUND_APART_MM: f64 = 5e-6;

/// Largest error of a depth where a cylinder takes part, mm: EPA puts facets on the round skin.
const ROUND_DEEP_MM: f64 = 1e-3;

fn close_mm(case: &str, deep: bool) -> f64 {
    match (case.contains("cylinder"), deep) {
        (false, _) => EXACT_MM,
        (true, false) => ROUND_APART_MM,
        (true, true) => ROUND_DEEP_MM,
    }
}

#[derive(Deserialize)]
struct Data {
    hull: Vec<[f64; 3]>,
    rock: Vec<[f64; 3]>,
    cases: Vec<(String, String, [f64; 6], String, f64)>,
}

fn data() -> (BTreeMap<&'static str, Solid>, Data) {
    let data: Data = serde_json::from_str(include_str!("data/gaps.json")).expect("sound data");
    let cylinder = Shape::Cylinder {
        from: Point::new(0.0, 0.0, -58.0),
        to: Point::new(0.0, 0.0, 58.0),
        radius_mm: 38.0,
    };
    let solids = BTreeMap::from([
        ("box", boxed([-110.0, -60.0, -55.0], [110.0, 60.0, 55.0])),
        ("small", boxed([-12.0, -9.0, -7.0], [12.0, 9.0, 7.0])),
        ("plate", boxed([-200.0, -150.0, -20.0], [200.0, 150.0, 20.0])),
        ("cylinder", solid(&cylinder)),
        ("hull", hull(&data.hull)),
        ("rock", hull(&data.rock)),
        ("ring", mesh(ring())),
    ]);
    (solids, data)
}

/// The cases of one kind with our gap, looked up to `up_to_mm`: names, kind, expected, found.
fn found(kind: &str) -> Vec<(String, f64, Option<f64>)> {
    let (solids, data) = data();
    data.cases
        .iter()
        .filter(|case| case.3 == kind)
        .map(|(first, second, [x, y, z, roll, pitch, yaw], _, expected)| {
            let place = Place { at: Point::new(*x, *y, *z), turn_deg: (*roll, *pitch, *yaw) };
            let moved = solids[first.as_str()].moved(&place.pose());
            let gap = gap(&moved, &solids[second.as_str()], 600.0).map(|gap| gap.distance_mm);
            (format!("{first} / {second} at {place:?}"), *expected, gap)
        })
        .collect()
}

#[test]
fn distances_apart() {
    let cases = found("apart");
    assert!(cases.len() >= 150);
    for (case, expected, found) in cases {
        let found = found.unwrap_or_else(|| panic!("{case}: nothing within 600 mm"));
        let close = close_mm(&case, false);
        assert!((found - expected).abs() < close, "{case}: {found}, expected {expected}");
    }
}

#[test]
fn depths_of_convex_pairs() {
    let cases = found("deep");
    assert!(cases.len() >= 80);
    for (case, expected, found) in cases {
        let found = found.unwrap_or_else(|| panic!("{case}: no overlap seen"));
        let close = close_mm(&case, true);
        assert!((found - expected).abs() < close, "{case}: {found}, expected {expected}");
    }
}

#[test]
fn skins_that_cross_overlap() {
    let cases = found("crossing");
    assert!(cases.len() >= 30);
    for (case, _, found) in cases {
        assert!(found.is_some_and(|gap| gap < 0.0), "{case}: {found:?}");
    }
}

#[test]
fn a_box_wholly_inside_a_closed_mesh_overlaps_it_at_least_that_deep() {
    let cases = found("inside");
    assert!(cases.len() >= 30);
    for (case, at_least, found) in cases {
        let found = found.unwrap_or_else(|| panic!("{case}: taken as clear"));
        assert!(found < at_least + EXACT_MM, "{case}: {found}, at least {at_least}");
    }
}

#[test]
fn the_order_of_the_two_doesnt_matter() {
    let (solids, data) = data();
    for (first, second, [x, y, z, roll, pitch, yaw], kind, _) in data.cases.iter().step_by(3) {
        let place = Place { at: Point::new(*x, *y, *z), turn_deg: (*roll, *pitch, *yaw) };
        let moved = solids[first.as_str()].moved(&place.pose());
        let there = gap(&moved, &solids[second.as_str()], 600.0).expect("near");
        let back = gap(&solids[second.as_str()], &moved, 600.0).expect("near");
        let close = close_mm(first, kind != "apart");
        assert!(
            (there.distance_mm - back.distance_mm).abs() < close,
            "{first} / {second} {kind} at {place:?}: {} and {}",
            there.distance_mm,
            back.distance_mm
        );
    }
}

#[test]
fn witness_points_are_as_far_apart_as_the_gap_says() {
    let (solids, data) = data();
    for (first, second, [x, y, z, roll, pitch, yaw], kind, expected) in &data.cases {
        if kind != "apart" {
            continue;
        }
        let place = Place { at: Point::new(*x, *y, *z), turn_deg: (*roll, *pitch, *yaw) };
        let moved = solids[first.as_str()].moved(&place.pose());
        let found = gap(&moved, &solids[second.as_str()], 600.0).expect("near");
        let apart = (found.on_first - found.on_second).norm();
        let close = close_mm(first, false);
        assert!((apart - expected).abs() < close, "{first} / {second} at {place:?}");
        for (solid, point) in
            [(&moved, &found.on_first), (&solids[second.as_str()], &found.on_second)]
        {
            let off = solid.distance_to_point_mm(point).abs();
            assert!(off < close, "{first} / {second} at {place:?}: {off} mm off the skin");
        }
    }
}
