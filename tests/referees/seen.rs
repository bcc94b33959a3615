//! The share of the pump that an eye sees, against trimesh with embreex (`seen.py`).

use dryberth::checks::{Ask, Boot, HeadlineId, Meshes, evaluate_some};
use serde::Deserialize;

type Corners = ([f64; 3], [f64; 3]);

#[derive(Deserialize)]
struct Data {
    pump: Vec<Corners>,
    bar: ([f64; 3], [f64; 3], f64),
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    eye: [f64; 3],
    bodies: Vec<Corners>,
    seen_pct: f64,
}

fn at([x, y, z]: [f64; 3]) -> String {
    format!("({x}, {y}, {z})")
}

fn boxed((low, high): &Corners) -> String {
    format!("Box(from: {}, to: {})", at(*low), at(*high))
}

fn pump(data: &Data) -> String {
    let (from, to, radius) = data.bar;
    let mut shapes: Vec<String> = data.pump.iter().map(boxed).collect();
    shapes.push(format!("Cylinder(from: {}, to: {}, radius_mm: {radius})", at(from), at(to)));
    let solids: Vec<String> = shapes
        .iter()
        .enumerate()
        .map(|(index, shape)| format!("(name: \"{index}\", part: Block, shape: {shape})"))
        .collect();
    format!(
        r#"(schema: 1, name: "three solids", mass_kg: 4, centre_of_gravity: (0, 0, 50),
        solids: [{}], reservoir: (inside: Box(from: (-40, -20, 10), to: (40, 20, 70)),
        level_line: (40, 0, 60), inlet: (0, 0, 20), pickup: (0, 0, 15), breather: (0, 0, 70),
        filler: (0, 0, 80), density_kg_l: 0.85), ports: [], live: [], mounts: [],
        max_tilt_deg: 30, running_a: 20, stall_a: 60)"#,
        solids.join(", ")
    )
}

#[test]
fn shares_seen_past_other_bodies_and_the_pump_itself() {
    let data: Data = serde_json::from_str(include_str!("data/seen.json")).expect("sound data");
    let pump = dryberth::format::pump_from_text("pump", &pump(&data)).expect("a pump");
    let ask = Ask { headlines: vec![HeadlineId::Carpet], stop_at_fail: false, ..Ask::default() };
    assert!(data.cases.len() >= 20);
    let mut squares = 0.0;
    for case in &data.cases {
        let bodies: Vec<String> = case
            .bodies
            .iter()
            .enumerate()
            .map(|(index, corners)| {
                format!("(name: \"{index}\", role: Other, shape: {})", boxed(corners))
            })
            .collect();
        let text = format!(
            r#"(schema: 1, name: "scene", origin: "o", pump: "none", bodies: [{}],
            viewpoints: [(name: "eye", at: {})], spots: [(name: "spot", place: ())])"#,
            bodies.join(", "),
            at(case.eye)
        );
        let layout = dryberth::format::layout_from_text("scene", &text).expect("a layout");
        let spot = layout.spots[0].clone();
        let boot = Boot::prepare(layout, pump.clone(), &Meshes::new(), &[]).expect("a boot");
        let card = evaluate_some(&boot, &spot, &ask);
        let seen = card.check("seen", "pump").and_then(|check| check.figure).expect("a share");
        let off = seen - case.seen_pct;
        // Two standard deviations of some 800 random points are 3.5; these are spread evenly.
        assert!(off.abs() < 1.5, "{:?}: {seen}, expected {}", case.eye, case.seen_pct);
        squares += off * off;
    }
    let spread = (squares / data.cases.len() as f64).sqrt();
    assert!(spread < 1.0, "{spread} % off in the mean");
}
