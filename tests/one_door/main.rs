//! Small boots whose figures can be worked out by hand, asked through the one door.
//!
//! Every expected number here is a closed form of the sizes written beside it.
#![allow(clippy::unwrap_used, reason = "a test that can't go on should stop")]

mod attacks;
mod chances;
mod edges;
mod fitted;
mod held;
mod lifts;
mod openings;
mod reached;
mod room;
mod seen;
mod sumps;
mod wet;

use dryberth::checks::feed::FeedCase;
use dryberth::checks::{Ask, Boot, Check, Meshes, Scorecard, Verdict, evaluate, evaluate_some};
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
fn a_pair_of_roles_may_ask_for_a_gap_of_its_own() {
    // The case is 12 mm from the cube, a valve block; the panel 8 mm; the post stands 20 mm from a hose
    // of 8 mm that runs straight ahead at y = 0.
    let near_by = r#"
        (name: "case", role: Module, shape: Box(from: (-50, 62, 300), to: (50, 90, 400))),
        (name: "wall", role: Panel, shape: Box(from: (-50, -90, 300), to: (50, -58, 400))),
        (name: "post", role: Loom, shape: Box(from: (200, 24, 0), to: (260, 60, 900))),"#;
    let usual = ask(near_by, HOSE, "at: (0, 0, 300)", "");
    assert_eq!(check(&usual, "clearance", "case").verdict, Verdict::Pass);
    near(check(&usual, "line-gap", "hose"), 20.0, 0.02);
    let stated = format!(
        "required_gaps: [(of: Block, to: Module, gap_mm: 13), (of: Pump, to: Module, gap_mm: 2),
            (of: Pump, to: Panel, gap_mm: 2), (of: Line, to: Loom, gap_mm: 30)], {HOSE}"
    );
    let card = ask(near_by, &stated, "at: (0, 0, 300)", "");
    let case = check(&card, "clearance", "case");
    near(case, 12.0, 1e-9);
    assert!((case.limit - 13.0).abs() < 1e-12 && case.verdict == Verdict::Fail, "{case:#?}");
    let wall = check(&card, "clearance", "wall");
    assert!((wall.limit - 2.0).abs() < 1e-12, "{wall:#?}");
    // The hose now bows out, so less of it is left over.
    let left = |card: &Scorecard| check(card, "slack", "hose").figure.unwrap();
    assert!(left(&card) < left(&usual) - 0.5, "{} {}", left(&card), left(&usual));
}

#[test]
fn a_strap_keeps_off_a_terminal_and_off_what_a_pair_says() {
    // A tie from (0, 50, 400) to (0, 300, 400), a bar of 6 mm: 20 mm under it stands the live post, 12 mm
    // over it the box.
    let near_by = r#"
        (name: "live", role: Terminal, shape: Box(from: (-20, 180, 300), to: (20, 220, 377))),
        (name: "box", role: Module, shape: Box(from: (-20, 180, 415), to: (20, 220, 460))),"#;
    let anchor = r#"limits: (tie_reach_mm: 400),
        anchors: [(name: "loop", kind: Loop, at: (0, 300, 400), normal: (0, 0, 1), strength_n: 900, inside_mm: 30)],"#;
    let fixing = r#"(kind: Strap(working_n: 400), mount: "left", anchor: "loop")"#;
    let card = ask(near_by, anchor, "at: (0, 0, 300)", fixing);
    let live = check(&card, "clearance", "live");
    near(live, 20.0, 1e-6);
    assert!(live.verdict == Verdict::Fail && live.why.contains("fixing to loop"), "{live:#?}");
    assert!(card.check("clearance", "box").is_none_or(|it| !it.why.contains("fixing")));
    let stated = format!("required_gaps: [(of: Fixing, to: Module, gap_mm: 15)], {anchor}");
    let card = ask(near_by, &stated, "at: (0, 0, 300)", fixing);
    let case = check(&card, "clearance", "box");
    near(case, 12.0, 1e-6);
    assert!(case.verdict == Verdict::Fail && case.why.contains("fixing to loop"), "{case:#?}");
}

#[test]
fn while_it_is_dragged_a_depth_may_be_a_bound_and_says_so() {
    let cube =
        Triangles::cuboid(&Point::new(-400.0, -400.0, 160.0), &Point::new(400.0, 400.0, 900.0));
    let meshes = Meshes::from([("block.glb".to_string(), cube)]);
    let body = r#"(name: "block", role: Other, shape: Mesh(file: "block.glb")),"#;
    let (boot, spot) = ready(body, "", "at: (0, 0, 480)", "", &meshes);
    let exact = evaluate(&boot, &spot);
    let rough = evaluate_some(&boot, &spot, &Ask { rough_depths: true, ..Ask::default() });
    let (exact, rough) = (check(&exact, "clearance", "block"), check(&rough, "clearance", "block"));
    let (deep, bound) = (exact.figure.unwrap(), rough.figure.unwrap());
    assert!(deep <= bound + 1e-6 && bound < 0.0, "{deep} {bound}");
    assert!(rough.why.contains("at least") && !exact.why.contains("at least"), "{}", rough.why);
    assert_eq!(exact.verdict, rough.verdict);
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
    // Level: the line at 60 over the inlet at 20: 40. On a slope or in a bend the middle of the surface
    // stays, since the inlet is on the tank's axis, while the surface meets neither top nor bottom:
    // 40 × cos of its lean.
    let everything = Ask { details: true, ..Ask::default() };
    let cases_of = |rest: &str| {
        let (boot, spot) = ready("", rest, "at: (0, 0, 300)", "", &Meshes::new());
        let card = evaluate_some(&boot, &spot, &everything);
        let head = check(&card, "head", "reservoir").clone();
        (head, card.details.unwrap().feed.cases)
    };
    let (head, cases) = cases_of("");
    let in_case = |cases: &[FeedCase], words: &str| -> FeedCase {
        cases.iter().find(|case| case.case == words).unwrap_or_else(|| panic!("no {words}")).clone()
    };
    for (words, lean) in [
        ("on level ground, rams in", 0.0),
        ("nose up 20 %, left side higher by 10 %, rams in", 0.05),
        ("speeding up at 0.5 g, rams in", 0.25),
        ("in a right bend at 0.7 g, rams in", 0.49),
    ] {
        let found = in_case(&cases, words);
        assert!((found.head_mm - 40.0 / (1.0_f64 + lean).sqrt()).abs() < 1e-4, "{found:?}");
        // Static pressure is ρ g × the depth along gravity; driving, gravity grows as the depth along
        // it shrinks, so it stays that of 40 mm.
        let depth_mm = if words.contains(" g, ") { 40.0 } else { found.head_mm };
        assert!((found.head_mbar - 0.85 * 9.806_65 * depth_mm / 100.0).abs() < 1e-4, "{found:?}");
        assert!((found.cover_mm - 45.0 / (1.0_f64 + lean).sqrt()).abs() < 1e-4, "{found:?}");
    }
    let least = cases.iter().map(|case| case.head_mm).fold(f64::INFINITY, f64::min);
    near(&head, least, 1e-12);
    assert!(head.why.contains("40 mm above the pump inlet on level ground"), "{}", head.why);
    // 320 ml at 20 °C: 0.0007 × 320 × 40 = 8.96 ml less at −20 °C, over 80 × 80 mm 1.4 mm lower.
    let cold = in_case(&cases, "on level ground, rams in, cold at -20 °C");
    assert!((cold.head_mm - 38.6).abs() < 1e-4, "{cold:?}");
    // Two rods of 8 mm and 100 mm: 10.05 ml less, over 80 × 80 mm: 1.571 mm lower.
    let (_, cases) = cases_of(r#"rams: [(name: "bow", rod_mm: 8, stroke_mm: 100, count: 2)],"#);
    let lower = 40.0 - 2.0 * std::f64::consts::PI * 16.0 * 100.0 / 6400.0;
    let out = in_case(&cases, "nose up 20 %, left side higher by 10 %, rams out");
    assert!((out.head_mm - lower / 1.05_f64.sqrt()).abs() < 1e-4, "{out:?}");
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

#[test]
fn a_drain_in_mid_air_is_a_finding_and_drains_nothing() {
    let drain = r#"drains: [(name: "stray", at: (200, 0, 90), diameter_mm: 20)],"#;
    let card = ask("", drain, "at: (0, 0, 300)", "");
    let found = check(&card, "drain", "stray");
    assert_eq!(found.verdict, Verdict::Unknown);
    assert!(found.why.contains("90 mm from the nearest sheet"), "{}", found.why);
    // The tray stands full: 300 + 30 − 150.
    near(check(&card, "freeboard", "drains as found"), 180.0, 1e-6);
    let sound = drain.replace("90)", "0)");
    assert!(ask("", &sound, "at: (0, 0, 300)", "").check("drain", "stray").is_none());
}

#[test]
fn a_floor_with_a_gap_is_a_finding_and_holds() {
    // Four plates round a hole of 60 × 40 mm, with the rim of 150 mm round all.
    let plate = |name: &str, from: [i32; 2], to: [i32; 2]| {
        format!(
            "(name: \"{name}\", role: Floor, shape: Box(from: ({}, {}, -10), to: ({}, {}, 0))),",
            from[0], from[1], to[0], to[1]
        )
    };
    let plates = [
        plate("a", [-1000, -1000], [400, 1000]),
        plate("b", [460, -1000], [1000, 1000]),
        plate("c", [400, -1000], [460, 0]),
        plate("d", [400, 40], [460, 1000]),
    ]
    .concat();
    let rims = FLOOR.split_once("),\n").map(|(_, rims)| rims).unwrap();
    let text = format!(
        r#"(schema: 1, name: "by hand", origin: "middle of the floor", pump: "none",
            bodies: [{plates} {rims}], spots: [(name: "spot", place: (at: (0, 0, 300)))])"#
    );
    let layout = dryberth::format::layout_from_text("by hand", &text).unwrap();
    let pump = dryberth::format::pump_from_text("cube", PUMP).unwrap();
    let boot = Boot::prepare(layout, pump, &Meshes::new(), &[]).unwrap();
    let card = evaluate(&boot, &boot.layout().spots[0]);
    let found = check(&card, "floor", "gaps");
    assert_eq!(found.verdict, Verdict::Unknown);
    assert!(found.why.contains("a gap of 24 cm²"), "{}", found.why);
    near(check(&card, "freeboard", "all drains blocked"), 180.0, 1e-6);
}

#[test]
fn moving_the_pump_floods_nothing_again() {
    let (boot, spot) = ready("", "", "at: (0, 0, 300)", "", &Meshes::new());
    let levels = |boot: &Boot| {
        boot.water().iter().map(|case| case.floods.level_mm.as_ptr() as usize).collect::<Vec<_>>()
    };
    let before = levels(&boot);
    let mut moved = spot.clone();
    moved.place.at.x += 120.0;
    let (here, there) = (evaluate(&boot, &spot), evaluate(&boot, &moved));
    assert_eq!(before, levels(&boot));
    // The worst case to draw is there, names its case, and its surface lies under the part.
    for card in [here, there] {
        let worst = card.drawn.water.expect("a worst case");
        let case = &boot.water()[worst.case];
        let over = case.floods.up.dot(&(worst.at - worst.surface));
        assert!((over - worst.freeboard_mm).abs() < 1e-9 && worst.part == "plug");
    }
}

#[test]
fn the_tank_is_drawn_with_every_case() {
    let card = ask("", "", "at: (0, 0, 300)", "");
    let tank = card.drawn.tank.expect("a drawing");
    for view in &tank.views {
        // 80 × 80 mm, one loop, in the vehicle frame.
        assert_eq!(view.outline.len(), 1, "{}", view.words);
        let heights = view.outline[0].iter().map(|at| at[1]);
        let (low, high) = heights.fold((f64::MAX, f64::MIN), |(l, h), z| (l.min(z), h.max(z)));
        assert!((low - 310.0).abs() < 1e-9 && (high - 390.0).abs() < 1e-9);
        assert_eq!(view.surfaces.len(), 13 * 6);
        // Level: from wall to wall at the line.
        let [[from, to]] = view.surfaces[0].pieces[..] else { panic!("{:?}", view.surfaces[0]) };
        assert!((from[1] - 360.0).abs() < 1e-6 && (to[1] - 360.0).abs() < 1e-6);
        assert!((to[0] - from[0] - 80.0).abs() < 1e-6);
    }
    // Nose up 20 %: seen from the right it stands 16 mm lower at the nose than at the tail.
    let side = &tank.views[0].surfaces[1];
    assert!(side.words.starts_with("nose up 20 %"));
    assert!((side.pieces[0][0][1] - side.pieces[0][1][1] - 16.0).abs() < 1e-6, "{side:?}");
}
