//! Luggage blocks that go in, never more than CP-SAT proves possible (`blocks.py`).

use dryberth::checks::{Boot, Meshes};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    size: [f64; 3],
    body: Option<([f64; 3], [f64; 3])>,
    bound: usize,
    found: usize,
}

const PUMP: &str = r#"(schema: 1, name: "small", mass_kg: 4, centre_of_gravity: (0, 0, 5),
    solids: [(name: "case", part: Block, shape: Box(from: (-5, -5, 0), to: (5, 5, 10)))],
    reservoir: (inside: Box(from: (-4, -4, 1), to: (4, 4, 9)), level_line: (4, 0, 5),
        inlet: (0, 0, 2), pickup: (0, 0, 2), breather: (0, 0, 9), filler: (0, 0, 10),
        density_kg_l: 0.85),
    ports: [], live: [], mounts: [], max_tilt_deg: 30, running_a: 20, stall_a: 60)"#;

fn at([x, y, z]: [f64; 3]) -> String {
    format!("({x}, {y}, {z})")
}

#[test]
fn a_packing_is_never_fuller_than_the_best_one() {
    let cases: Vec<Case> = serde_json::from_str(include_str!("data/blocks.json")).expect("data");
    let pump = dryberth::format::pump_from_text("pump", PUMP).expect("a pump");
    let (mut packed, mut best) = (0, 0);
    for case in &cases {
        let (low, high) = case.body.unwrap_or(([-900.0; 3], [-890.0; 3]));
        let text = format!(
            r#"(schema: 1, name: "boxes", origin: "o", pump: "none",
            bodies: [(name: "case", role: Other, shape: Box(from: {}, to: {}))],
            boot_space: [Box(from: (0, 0, 0), to: {})])"#,
            at(low),
            at(high),
            at(case.size)
        );
        let layout = dryberth::format::layout_from_text("boxes", &text).expect("a layout");
        let boot = Boot::prepare(layout, pump.clone(), &Meshes::new(), &[]).expect("a boot");
        let (_, blocks) = boot.luggage().expect("a space");
        assert!(blocks <= case.bound, "{:?}: {blocks}, at most {}", case.size, case.bound);
        assert!(case.found <= case.bound);
        packed += blocks;
        best += case.found;
    }
    // What the rows on a grid give away, over all cases.
    assert!(packed * 100 >= best * 95, "{packed} of {best}");
}
