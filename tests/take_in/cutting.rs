//! Cropped to a box, and boxes cut away, against closed forms.

use crate::files::{Bench, Faces, area, f};

/// 600 × 400 × 200 mm of the vehicle frame from the origin.
fn bench() -> Bench {
    let bench = Bench::new();
    let cuboid = Faces::cuboid([0.0; 3], [600.0, 400.0, 200.0]);
    bench.write("scan.obj", cuboid.obj());
    bench
}

fn cut(bench: &Bench, plan: &str) -> (serde_json::Value, dryberth::geometry::Triangles) {
    bench.write("plan.ron", plan);
    bench.taken("scan.obj", &["--plan", "plan.ron", "--unit", "mm", "--up", "z"])
}

#[test]
fn a_cropped_box_keeps_exactly_what_lies_inside() {
    let bench = bench();
    // Two walls, the floor: 100..600 × 0..300 of it, up to 50.
    let plan = "(schema: 1, crop: (from: (100, -10, -10), to: (700, 300, 50)))";
    let (report, body) = cut(&bench, plan);
    let left = 500.0 * 300.0 + 300.0 * 50.0 + 500.0 * 50.0;
    assert!((area(&body) - left).abs() < 0.2, "{} of {left}", area(&body));
    assert_eq!(report["closed"], false);
    // As near as a 32-bit float of metres goes.
    assert!((f(&report["low"][0]) - 100.0).abs() < 1e-5);
    assert!((f(&report["high"][2]) - 50.0).abs() < 1e-5);
    assert_eq!((&report["edges"]["crowded"], &report["edges"]["at_odds"]), (&0.into(), &0.into()));
}

#[test]
fn a_box_cut_away_leaves_exactly_the_rest() {
    let bench = bench();
    // A pump that stands on the lid, and a hand at a corner.
    let plan = "(schema: 1, cut_away: [
        (from: (250, 120, 180), to: (330, 170, 400)),
        (from: (650, 450, 250), to: (580, 390, 170)),
    ])";
    let (report, body) = cut(&bench, plan);
    let whole = 2.0 * (600.0 * 400.0 + 600.0 * 200.0 + 400.0 * 200.0);
    let gone = 80.0 * 50.0 + 20.0 * 10.0 + 20.0 * 30.0 + 10.0 * 30.0;
    assert!((area(&body) - (whole - gone)).abs() < 0.2, "{}", area(&body));
    assert_eq!((&report["edges"]["crowded"], &report["edges"]["at_odds"]), (&0.into(), &0.into()));
    // Nothing hangs apart: the only rims are those of the two holes, 2 · 130 + 2 · (20 + 10 + 30).
    let rim = rim_mm(&body);
    assert!((rim - (260.0 + 120.0)).abs() < 1e-2, "{rim}");
}

/// Length of the edges that only one triangle has.
fn rim_mm(body: &dryberth::geometry::Triangles) -> f64 {
    let mut edges = std::collections::BTreeMap::new();
    for &[a, b, c] in &body.indices {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *edges.entry((from.min(to), from.max(to))).or_insert(0) += 1;
        }
    }
    edges
        .iter()
        .filter(|(_, count)| **count == 1)
        .map(|((a, b), _)| (body.vertices[*a as usize] - body.vertices[*b as usize]).norm())
        .sum()
}

#[test]
fn cuts_that_meet_nothing_or_everything_are_said() {
    let bench = bench();
    let (report, body) =
        cut(&bench, "(schema: 1, cut_away: [(from: (100, 100, 50), to: (200, 200, 150))])");
    assert_eq!(report["closed"], true);
    assert!((body.volume_mm3() - 48e6).abs() < 50.0);
    for (plan, wanted) in [
        ("(schema: 1, crop: (from: (900, 0, 0), to: (999, 9, 9)))", "nothing of the scan in it"),
        ("(schema: 1, cut_away: [(from: (-9, -9, -9), to: (999, 999, 999))])", "leave nothing"),
    ] {
        bench.write("plan.ron", plan);
        let run = bench.run(&["scan.obj", "-o", "none.glb", "--plan", "plan.ron", "--unit", "mm"]);
        assert_eq!(run.refusal(&["plan.ron:1:", wanted]), "");
    }
    assert!(!bench.path("none.glb").exists());
}
