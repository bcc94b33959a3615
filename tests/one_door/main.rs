//! Small boots whose figures can be worked out by hand, asked through the one door.
//!
//! Every expected number here is a closed form of the sizes written beside it.
#![allow(clippy::unwrap_used, reason = "a test that can't go on should stop")]

mod attacks;
mod chances;
mod held;
mod lifts;
mod room;
mod seen;

use dryberth::checks::{Boot, Check, Meshes, Scorecard, Verdict, evaluate};
use dryberth::geometry::Triangles;
use dryberth::model::{Layout, Point, Pump, Spot};

/// A pump that is a cube of 100 mm on its origin's floor, with a tank of 80 × 80 × 80 mm in it.
const PUMP: &str = r#"(
    schema: 1, name: "cube", mass_kg: 4, centre_of_gravity: (0, 0, 50),
    solids: [(name: "body", part: Block, shape: Box(from: (-50, -50, 0), to: (50, 50, 100)))],
    reservoir: (
        inside: Box(from: (-40, -40, 10), to: (40, 40, 90)),
        level_line: (40, 0, 60), inlet: (0, 0, 20), pickup: (0, 0, 15), breather: (0, 0, 90),
        filler: (0, 0, 100), density_kg_l: 0.85,
    ),
    ports: [(name: "port", at: (50, 0, 50), towards: (1, 0, 0))],
    live: [(name: "plug", points: [(0, 0, 30)])],
    mounts: [
        (name: "left", at: (0, 50, 100), towards: (0, 0, 1)),
        (name: "right", at: (0, -50, 100), towards: (0, 0, 1)),
    ],
    max_tilt_deg: 30, running_a: 20, stall_a: 60,
)"#;

/// A floor of 2 × 2 m at z = 0 with a rim 150 mm high.
const FLOOR: &str = r#"
    (name: "floor", role: Floor, shape: Box(from: (-1000, -1000, -10), to: (1000, 1000, 0))),
    (name: "rim front", role: Panel, shape: Box(from: (990, -1000, 0), to: (1000, 1000, 150))),
    (name: "rim rear", role: Panel, shape: Box(from: (-1000, -1000, 0), to: (-990, 1000, 150))),
    (name: "rim left", role: Panel, shape: Box(from: (-1000, 990, 0), to: (1000, 1000, 150))),
    (name: "rim right", role: Panel, shape: Box(from: (-1000, -1000, 0), to: (1000, -990, 150))),
"#;

fn ready(bodies: &str, rest: &str, at: &str, fixings: &str, meshes: &Meshes) -> (Boot, Spot) {
    let text = format!(
        r#"(schema: 1, name: "by hand", origin: "middle of the floor", pump: "none",
            bodies: [{FLOOR} {bodies}], {rest}
            spots: [(name: "spot", place: ({at}), fixings: [{fixings}])])"#
    );
    let layout: Layout = dryberth::format::layout_from_text("by hand", &text).unwrap();
    let pump: Pump = dryberth::format::pump_from_text("cube", PUMP).unwrap();
    let spot = layout.spots[0].clone();
    (Boot::prepare(layout, pump, meshes, &[]).unwrap(), spot)
}

fn ask_with(bodies: &str, rest: &str, at: &str, fixings: &str, meshes: &Meshes) -> Scorecard {
    let (boot, spot) = ready(bodies, rest, at, fixings, meshes);
    evaluate(&boot, &spot)
}

fn ask(bodies: &str, rest: &str, at: &str, fixings: &str) -> Scorecard {
    ask_with(bodies, rest, at, fixings, &Meshes::new())
}

fn check<'a>(card: &'a Scorecard, id: &str, subject: &str) -> &'a Check {
    card.check(id, subject)
        .unwrap_or_else(|| panic!("no check {id} of {subject} in {:#?}", card.headlines))
}

#[track_caller]
fn near(check: &Check, expected: f64, within: f64) {
    let figure = check.figure.unwrap();
    assert!((figure - expected).abs() <= within, "{expected} expected: {check:#?}");
}

const HOSE: &str = r#"lines: [(name: "hose", kind: Hose, from: (at: (600, 0, 350), towards: (-1, 0, 0)),
    to: "port", free_mm: 700, od_mm: 8, bend_mm: 40)],"#;

#[test]
fn a_straight_hose_needs_the_distance_and_keeps_four_percent_back() {
    // Exit 550 mm straight ahead of the port: 700 × 0.96 − 550 = 122.
    let card = ask("", HOSE, "at: (0, 0, 300)", "");
    near(check(&card, "slack", "hose"), 122.0, 1e-6);
    assert_eq!(check(&card, "line-gap", "hose").verdict, Verdict::Pass);
    near(check(&card, "spare", "hose"), 150.0, 1e-6);
}

#[test]
fn a_blocked_straight_run_is_seen_and_the_way_round_is_priced() {
    // A post of 60 × 60 mm across the way. A taut string over it at 4 + 3 mm from its corner would
    // take about 2 × √(275² + 37²) = 555 mm; a hose with bends of 44 mm a little more.
    let post =
        r#"(name: "post", role: Bracket, shape: Box(from: (295, -30, 0), to: (355, 30, 600))),"#;
    let card = ask(post, HOSE, "at: (0, 0, 300)", "");
    let gap = check(&card, "line-gap", "hose");
    assert_ne!(gap.verdict, Verdict::Fail, "{gap:#?}");
    let needed = 672.0 - check(&card, "slack", "hose").figure.unwrap();
    assert!((553.0..600.0).contains(&needed), "{needed}");
}

#[test]
fn a_wall_all_across_leaves_the_length_unknown_and_names_the_wall() {
    let wall =
        r#"(name: "wall", role: Panel, shape: Box(from: (300, -1000, 0), to: (310, 1000, 900))),"#;
    let card = ask(wall, HOSE, "at: (0, 0, 300)", "");
    let gap = check(&card, "line-gap", "hose");
    assert_eq!(gap.verdict, Verdict::Fail);
    assert!(gap.why.contains("wall"), "{}", gap.why);
    assert_eq!(check(&card, "slack", "hose").verdict, Verdict::Unknown);
}

#[test]
fn volts_follow_loop_resistance() {
    // 2 × (1.5 + 0.7) m × 4.95 mΩ/m + 10 mΩ = 31.78 mΩ; 20 A lose 0.6356 V, 5.297 % of 12 V.
    let cable = HOSE.replace(
        "kind: Hose",
        "kind: Cable(area_mm2: 4, upstream_mm: 1500, supply_v: 12, joints_mohm: 10, conductor_c: 20)",
    );
    let card = ask("", &cable, "at: (0, 0, 300)", "");
    near(check(&card, "volts", "hose"), 100.0 * 20.0 * 0.031_78 / 12.0, 1e-9);
}

#[test]
fn the_gap_to_a_body_is_exact_and_a_terminal_asks_for_more() {
    let near_by = r#"
        (name: "case", role: Module, shape: Box(from: (62, -50, 300), to: (90, 50, 400))),
        (name: "live", role: Terminal, shape: Box(from: (-90, -50, 300), to: (-70, 50, 400))),"#;
    let card = ask(near_by, "", "at: (0, 0, 300)", "");
    let case = check(&card, "clearance", "case");
    near(case, 12.0, 1e-9);
    assert!((case.limit - 5.0).abs() < 1e-12 && case.verdict == Verdict::Pass);
    let live = check(&card, "clearance", "live");
    near(live, 20.0, 1e-9);
    assert!((live.limit - 25.0).abs() < 1e-12 && live.verdict == Verdict::Fail);
}

#[test]
fn a_pump_wholly_inside_a_closed_mesh_is_not_clear() {
    let cube =
        Triangles::cuboid(&Point::new(-400.0, -400.0, 160.0), &Point::new(400.0, 400.0, 900.0));
    let meshes = Meshes::from([("block.glb".to_string(), cube)]);
    let body = r#"(name: "block", role: Other, shape: Mesh(file: "block.glb")),"#;
    let card = ask_with(body, "", "at: (0, 0, 480)", "", &meshes);
    let block = check(&card, "clearance", "block");
    assert_eq!(block.verdict, Verdict::Fail);
    // It is at least 320 mm deep: its lower corners lie 320 mm above the block's underside.
    assert!(block.figure.unwrap() <= -320.0 + 1e-6, "{block:#?}");
}

#[test]
fn a_carpet_is_lifted_by_what_stands_over_its_plane() {
    // The pump's top is at 400; the carpet lies at 388: 12 mm, of which it gives 8.
    let trim = r#"trims: [(name: "carpet", kind: Carpet, thickness_mm: 5, give_mm: 8, faces: [[
        (-300, -300, 388), (300, -300, 388), (300, 300, 388), (-300, 300, 388)]])],"#;
    let card = ask("", trim, "at: (0, 0, 300)", "");
    let lift = check(&card, "lift", "carpet");
    near(lift, 12.0, 1e-9);
    assert_eq!(lift.verdict, Verdict::Fail);
    // Standing on top of it the pump pushes nothing out.
    let card = ask("", trim, "at: (0, 0, 388.5)", "");
    assert_eq!(check(&card, "lift", "carpet").verdict, Verdict::Pass);
}

#[test]
fn an_arm_is_caught_in_the_middle_of_its_travel() {
    // An arm 400 mm long and 10 mm thick turns a quarter about z beside the pump, whose corner lies
    // at 50 √2 from its axis. Seen from the arm's axis at (300, 300) the nearest corner (50, 50) is
    // 250 √2 = 353.6 mm away: the arm, 300 mm long, passes it at 53.6 mm, at 225°.
    let mover = r#"movers: [(name: "arm", kind: Hinge,
        shapes: [Box(from: (0, 299.9, 330), to: (300, 300.1, 340))],
        motion: Swing(through: (300, 300, 0), along: (0, 0, 1), from_deg: 0, to_deg: 90))],"#;
    let card = ask("", mover, "at: (0, 0, 300)", "");
    near(check(&card, "travel", "arm"), 250.0 * 2.0_f64.sqrt() - 300.0, 0.2);
}

#[test]
fn the_surface_stands_where_the_volume_says() {
    // Level: the line at 60 over the inlet at 20: 40. Nose up 20 % (and 10 % across) the middle of
    // the surface stays, since the inlet is on the tank's axis: 40 × cos of the slope.
    let card = ask("", "", "at: (0, 0, 300)", "");
    let head = check(&card, "head", "reservoir");
    near(head, 40.0 / (1.0_f64 + 0.04 + 0.01).sqrt(), 1e-4);
    assert!(head.why.contains("40 mm above the pump inlet on level ground"), "{}", head.why);
    // Two rods of 8 mm and 100 mm: 10.05 ml less, over 80 × 80 mm: 1.571 mm lower.
    let rams = r#"rams: [(name: "bow", rod_mm: 8, stroke_mm: 100, count: 2)],"#;
    let card = ask("", rams, "at: (0, 0, 300)", "");
    let lower = 40.0 - 2.0 * std::f64::consts::PI * 16.0 * 100.0 / 6400.0;
    near(check(&card, "head", "reservoir"), lower / 1.05_f64.sqrt(), 1e-4);
}

#[test]
fn water_stands_to_the_rim_unless_a_drain_runs() {
    // The plug is 30 mm over the pump's foot. All blocked, the tray fills to its rim at 150 and no
    // slope holds more over the middle of the floor: 300 + 30 − 150 = 180 on level ground.
    let drain = r#"drains: [(name: "drain", at: (0, 0, 0), diameter_mm: 20)],"#;
    let card = ask("", drain, "at: (0, 0, 300)", "");
    near(check(&card, "freeboard", "drains as found"), 330.0 * 0.976, 2.0);
    let full = check(&card, "freeboard", "all drains blocked");
    near(full, 180.0, 1e-6);
    assert!(full.why.contains("on level ground"), "{}", full.why);
    // On the floor it drowns by 150 − 30.
    let card = ask("", drain, "at: (0, 0, 0)", "");
    near(check(&card, "freeboard", "all drains blocked"), -120.0, 1e-6);
}

const ANCHORS: &str = r#"anchors: [
    (name: "beam left", kind: Loop, at: (0, 50, 450), normal: (0, 0, -1), strength_n: 1000),
    (name: "beam right", kind: Loop, at: (0, -50, 450), normal: (0, 0, -1), strength_n: 1000),
],"#;

#[test]
fn two_ties_hang_the_pump_but_do_not_brake_it() {
    let ties = r#"(kind: Tie(width_mm: 4.8), mount: "left", anchor: "beam left"),
        (kind: Tie(width_mm: 4.8), mount: "right", anchor: "beam right")"#;
    let card = ask("", ANCHORS, "at: (0, 0, 300)", ties);
    assert_eq!(check(&card, "fixings", "usable").verdict, Verdict::Pass);
    near(check(&card, "fixing-length", "beam right"), 50.0, 1e-9);
    let load = check(&card, "load", "fixings");
    // Straight up they can't take any push forward.
    near(load, 0.0, 1e-9);
    assert!(load.why.contains("braking"), "{}", load.why);
}

#[test]
fn nothing_measured_is_unknown_and_says_what_to_measure() {
    let card = ask("", "", "at: (0, 0, 300)", "");
    for (id, subject) in [
        ("slack", "lines"),
        ("sight", "level line"),
        ("seen", "pump"),
        ("space", "boot"),
        ("blocks", "boot"),
        ("drips", "leaks"),
        ("anchors", "in reach"),
    ] {
        let check = check(&card, id, subject);
        assert_eq!(check.verdict, Verdict::Unknown, "{check:#?}");
        assert!(check.figure.is_none() && check.score.is_none() && !check.why.is_empty());
    }
    // No fixing was chosen: that is known, and it fails.
    assert_eq!(check(&card, "fixings", "usable").verdict, Verdict::Fail);
}

#[test]
fn a_bolt_must_line_up_with_its_stud() {
    let studs = r#"anchors: [
        (name: "stud", kind: Stud(thread_mm: 6), at: (0, 50, 420), normal: (0, 0, -1), strength_n: 1000),
    ],"#;
    let bolt = r#"(kind: Bolt(working_n: 400), mount: "left", anchor: "stud")"#;
    // 20 mm below the stud and straight under it; then 10 mm beside it.
    let card = ask("", studs, "at: (0, 0, 300)", bolt);
    assert_eq!(check(&card, "fixings", "usable").verdict, Verdict::Pass);
    let card = ask("", studs, "at: (10, 0, 300)", bolt);
    let usable = check(&card, "fixings", "usable");
    assert_eq!(usable.verdict, Verdict::Fail);
    assert!(usable.why.contains("10.0 mm beside stud"), "{}", usable.why);
}

#[test]
fn an_anchor_under_a_module_is_no_use_and_fixings_share_what_an_anchor_carries() {
    let ties = r#"(kind: Strap(working_n: 500), mount: "left", anchor: "beam left"),
        (kind: Strap(working_n: 500), mount: "left", anchor: "beam left")"#;
    let weak = ANCHORS.replace("1000", "78.4532");
    // One loop straight over one mount: it pulls up and turns the pump; nothing else balances it, so
    // hang it by both mounts instead: 2 × 39.2266 N carry 39.2266 N of weight exactly twice.
    let both = r#"(kind: Strap(working_n: 500), mount: "left", anchor: "beam left"),
        (kind: Strap(working_n: 500), mount: "right", anchor: "beam right")"#;
    let hanging = |fixings: &str, anchors: &str| {
        let card = ask("", anchors, "at: (0, 0, 300)", fixings);
        check(&card, "load", "fixings").why.clone()
    };
    assert!(hanging(both, &weak).contains("braking"), "upright straps can't brake");
    assert!(hanging(ties, &weak).contains("hanging"), "two straps on one side don't hang it level");
    let module =
        r#"(name: "box", role: Module, shape: Box(from: (-40, 20, 400.5), to: (40, 90, 460))),"#;
    let card = ask(module, ANCHORS, "at: (0, 0, 300)", both);
    let usable = check(&card, "fixings", "usable");
    assert!(
        usable.verdict == Verdict::Fail && usable.why.contains("covered by box"),
        "{usable:#?}"
    );
}
