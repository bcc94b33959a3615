//! Which fixings are of use, what stands in their way, what they take, what one more would buy.

use dryberth::checks::hold::HoldDetails;
use dryberth::checks::{Ask, Boot, HeadlineId, Meshes, Scorecard, Verdict, evaluate_some};
use dryberth::model::{Layout, Pump};

use super::{PUMP, ask, check, near};

/// The cube with other mounts, at a place, with everything written down.
pub(super) fn asked(
    mounts: &str,
    bodies: &str,
    anchors: &str,
    at: &str,
    fixings: &str,
) -> Scorecard {
    let begin = PUMP.find("mounts: [").unwrap();
    let end = PUMP.find("max_tilt_deg").unwrap();
    let pump = format!("{}mounts: [{mounts}], {}", &PUMP[..begin], &PUMP[end..]);
    with_pump(&pump, bodies, anchors, at, fixings)
}

fn with_pump(pump: &str, bodies: &str, anchors: &str, at: &str, fixings: &str) -> Scorecard {
    let text = format!(
        r#"(schema: 1, name: "by hand", origin: "o", pump: "none",
            bodies: [(name: "floor", role: Floor, shape: Box(from: (-1000, -1000, -10), to: (1000, 1000, 0))), {bodies}],
            anchors: [{anchors}],
            spots: [(name: "spot", place: ({at}), fixings: [{fixings}])])"#
    );
    let layout: Layout = dryberth::format::layout_from_text("by hand", &text).unwrap();
    let pump: Pump = dryberth::format::pump_from_text("cube", pump).unwrap();
    let spot = layout.spots[0].clone();
    let boot = Boot::prepare(layout, pump, &Meshes::new(), &[]).unwrap();
    evaluate_some(&boot, &spot, &Ask { details: true, rock: true, ..Ask::default() })
}

pub(super) fn hold(card: &Scorecard) -> &HoldDetails {
    &card.details.as_ref().unwrap().hold
}

/// The cube's own two mounts on top.
pub(super) const TOP: &str = r#"(name: "left", at: (0, 50, 100), towards: (0, 0, 1)),
    (name: "right", at: (0, -50, 100), towards: (0, 0, 1)),"#;

fn trouble(anchors: &str, bodies: &str, fixings: &str) -> String {
    let card = asked(TOP, bodies, anchors, "at: (0, 0, 300)", fixings);
    let usable = check(&card, "fixings", "usable");
    assert_eq!(usable.verdict, Verdict::Fail, "{usable:#?}");
    usable.why.clone()
}

pub(super) fn tie(mount: &str, anchor: &str) -> String {
    format!(r#"(kind: Tie(width_mm: 4.8), mount: "{mount}", anchor: "{anchor}"),"#)
}

#[test]
fn a_spot_with_no_anchor_in_reach_says_how_far_the_nearest_is() {
    // Mount at (0, 50, 400); the loop 600 mm over it.
    let far = r#"anchors: [(name: "far eye", kind: Loop, at: (0, 50, 1000), normal: (0, 0, -1), strength_n: 900)],"#;
    let card = ask("", far, "at: (0, 0, 300)", "");
    let anchors = check(&card, "anchors", "in reach");
    assert_eq!((anchors.figure, anchors.verdict), (Some(0.0), Verdict::Fail));
    assert!(anchors.why.contains("far eye") && anchors.why.contains("600.0 mm"), "{}", anchors.why);
    let none = check(&card, "fixings", "usable");
    assert!(none.why.contains("no fixing was chosen"), "{}", none.why);
    // Nothing measured at all is another thing.
    let card = ask("", "", "at: (0, 0, 300)", "");
    let anchors = check(&card, "anchors", "in reach");
    assert_eq!(anchors.verdict, Verdict::Unknown);
    assert!(anchors.why.contains("no anchor was measured"), "{}", anchors.why);
}

#[test]
fn a_tie_without_length_has_no_line() {
    let here =
        r#"(name: "eye", kind: Loop, at: (0, 50, 400), normal: (0, 0, -1), strength_n: 900),"#;
    let why = trouble(here, "", &tie("left", "eye"));
    assert!(why.contains("has no length") && why.contains("another anchor or mount"), "{why}");
}

#[test]
fn a_centre_of_gravity_outside_the_pump_leaves_the_load_open() {
    // 60 mm over the top of the cube.
    let pump = PUMP.replace("centre_of_gravity: (0, 0, 50)", "centre_of_gravity: (0, 0, 160)");
    let card = with_pump(&pump, "", "", "at: (0, 0, 0)", "");
    let load = check(&card, "load", "fixings");
    assert_eq!((load.figure, load.verdict), (None, Verdict::Unknown));
    assert!(load.why.contains("60 mm outside the pump"), "{}", load.why);
    assert!(hold(&card).cases.is_empty() && card.drawn.rock.is_none());
    // Nor is anything told of its shaking, or offered for a load that isn't known.
    assert_eq!(check(&card, "shake", "lowest frequency").verdict, Verdict::Unknown);
    assert!(hold(&card).proposed.is_empty() && hold(&card).one_more_tie.is_none());
}

#[test]
fn a_tie_runs_through_nothing() {
    // From the top of the cube to an eye under it.
    let under =
        r#"(name: "eye", kind: Loop, at: (0, 0, 250), normal: (0, 0, 1), strength_n: 900),"#;
    let why = trouble(under, "", &tie("left", "eye"));
    assert!(why.contains("through the pump's body"), "{why}");
    // A panel between.
    let over =
        r#"(name: "eye", kind: Loop, at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900),"#;
    let panel = r#"(name: "shelf", role: Panel, shape: Box(from: (-200, -200, 440), to: (200, 200, 442))),"#;
    let why = trouble(over, panel, &tie("left", "eye"));
    assert!(why.contains("through shelf"), "{why}");
}

#[test]
fn threads_holes_slots_and_heat_are_asked_for() {
    // A tie of 4.8 × 1.4 mm in a slot of 4 × 8; in one 1 mm wide.
    for slot in ["length_mm: 4, width_mm: 8", "length_mm: 30, width_mm: 1"] {
        let slot = format!(
            r#"(name: "slot", kind: Slot({slot}), at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900),"#
        );
        let why = trouble(&slot, "", &tie("left", "slot"));
        assert!(why.contains("doesn't go through slot"), "{why}");
    }
    // Nylon at 120 °C.
    let hot = r#"(name: "eye", kind: Loop, at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900, hot_c: 120),"#;
    let why = trouble(hot, "", &tie("left", "eye"));
    assert!(why.contains("120 °C"), "{why}");
    // A nut M6 is 4.8 mm high.
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "stud"),"#;
    let stud = r#"(name: "stud", kind: Stud(thread_mm: 6), at: (0, 50, 410), normal: (0, 0, -1), strength_n: 900, free_mm: 4),"#;
    let why = trouble(stud, "", bolt);
    assert!(why.contains("4 mm of free thread") && why.contains("5 mm"), "{why}");
    // M8 through a hole of 6.6 mm.
    let holed = r#"(name: "left", at: (0, 50, 100), towards: (0, 0, 1), hole_mm: 6.6),"#;
    let stud = r#"(name: "stud", kind: Stud(thread_mm: 8), at: (0, 50, 410), normal: (0, 0, -1), strength_n: 900),"#;
    let card = asked(holed, "", stud, "at: (0, 0, 300)", bolt);
    let why = &check(&card, "fixings", "usable").why;
    assert!(why.contains("M8") && why.contains("6.6 mm hole"), "{why}");
    // It leans by 20°.
    let card = asked(
        holed,
        "",
        &stud.replace("thread_mm: 8", "thread_mm: 6"),
        "at: (0, 17, 306), turn_deg: (20, 0, 0)",
        bolt,
    );
    let why = &check(&card, "fixings", "usable").why;
    assert!(why.contains("leans by 20°") || why.contains("beside stud"), "{why}");
}

#[test]
fn a_spanner_needs_room_over_the_nut() {
    // Nut at 400 − 5 − 0.5 mm on the inner side of the mount; a shelf 30 mm below it.
    let stud = r#"(name: "stud", kind: Stud(thread_mm: 6), at: (0, 50, 402), normal: (0, 0, -1), strength_n: 900),"#;
    let shelf = r#"(name: "shelf", role: Panel, shape: Box(from: (-100, 20, 300), to: (100, 160, 364.5))),"#;
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "stud"),"#;
    let card = asked(TOP, shelf, stud, "at: (0, 0, 300)", bolt);
    // A rod with a round end of 7.5 mm: it meets the shelf 7.5 mm before its middle does.
    near(check(&card, "tool", "left"), 30.0 - 7.5, 0.1);
    assert!(check(&card, "tool", "left").why.contains("shelf"));
    // What the foot lies flat against is on the other side of it: the spanner doesn't meet it.
    let bracket =
        r#"(name: "bracket", role: Bracket, shape: Box(from: (-40, 20, 400), to: (40, 90, 404))),"#;
    let card = asked(TOP, &format!("{shelf}{bracket}"), stud, "at: (0, 0, 300)", bolt);
    near(check(&card, "tool", "left"), 30.0 - 7.5, 0.1);
}

#[test]
fn what_lies_behind_a_hole_to_be_drilled_is_found() {
    // Face of the panel at z = 402, a loom of 10 mm radius behind it, its axis at z = 450: 38 mm less
    // the 6 mm that a drill throws.
    let face =
        r#"(name: "face", kind: Face, at: (0, 50, 402), normal: (0, 0, -1), strength_n: 900),"#;
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "face"),"#;
    let behind = |axis: f64| {
        let bodies = format!(
            r#"(name: "panel", role: Panel, shape: Box(from: (-300, -300, 402), to: (300, 300, 404))),
            (name: "rear loom", role: Loom, shape: Cylinder(from: (-200, 50, {axis}), to: (200, 50, {axis}), radius_mm: 10)),"#
        );
        asked(TOP, &bodies, face, "at: (0, 0, 300)", bolt)
    };
    let card = behind(450.0);
    near(check(&card, "drill", "face"), 32.0, 0.1);
    let near_by = behind(425.0);
    let drill = check(&near_by, "drill", "face");
    assert_eq!(drill.verdict, Verdict::Fail);
    assert!(drill.why.contains("rear loom"), "{}", drill.why);
    assert!(
        hold(&near_by)
            .cautions
            .iter()
            .any(|it| it.kind == "drill" && it.text.contains("rear loom"))
    );
    // Nothing behind: still to be looked for.
    let card = asked(TOP, "", face, "at: (0, 0, 300)", bolt);
    assert!(check(&card, "drill", "face").why.contains("look for tank"));
}

#[test]
fn a_sharp_edge_by_a_tie_is_minded() {
    let eye =
        r#"(name: "eye", kind: Loop, at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900),"#;
    let edge = r#"(name: "seam", role: Panel, sharp: true, shape: Box(from: (-200, 54, 430), to: (200, 200, 432))),"#;
    let card = asked(TOP, edge, eye, "at: (0, 0, 300)", &tie("left", "eye"));
    let minded = &hold(&card).cautions;
    assert!(
        minded.iter().any(|it| it.kind == "edge" && it.text.contains("4 mm of seam")),
        "{minded:?}"
    );
}

#[test]
fn a_pump_on_a_plinth_rests_on_the_plinths_corners() {
    let plinth =
        r#"(name: "plinth", role: Bracket, shape: Box(from: (-20, -30, 0), to: (20, 30, 200))),"#;
    let card = asked(TOP, plinth, "", "at: (0, 0, 200)", "");
    assert_eq!(card.drawn.rests.len(), 4, "{:?}", card.drawn.rests);
    // It begins to move by sliding, at 0.3 / √(1 + 0.3²) = 0.287 g, upward and aside; or by tipping over
    // the plinth's side: (20 / 50) against lifting: 20 / √(20² + 50²) = 0.371 g. The grid is 15° wide.
    let rock = card.drawn.rock.as_ref().unwrap();
    assert!((0.287 * 0.998..0.292).contains(&rock.weakest().0), "{:?}", rock.weakest());
    let least_g = hold(&card).rock.as_ref().unwrap().least_g;
    assert!((least_g - rock.weakest().0).abs() < 1e-12);
}

const FEET: &str = r#"(name: "a", at: (40, 30, 0), towards: (0, 0, -1), hole_mm: 6.6),
    (name: "b", at: (40, -30, 0), towards: (0, 0, -1), hole_mm: 6.6),
    (name: "c", at: (-40, 30, 0), towards: (0, 0, -1), hole_mm: 6.6),
    (name: "d", at: (-40, -30, 0), towards: (0, 0, -1), hole_mm: 6.6),"#;

fn studs(at: &[(f64, f64)]) -> String {
    at.iter()
        .enumerate()
        .map(|(index, (x, y))| {
            format!(
                r#"(name: "stud {index}", kind: Stud(thread_mm: 6), at: ({x}, {y}, 188), normal: (0, 0, 1), strength_n: 900),"#
            )
        })
        .collect()
}

#[test]
fn holes_that_would_fall_on_studs_are_found_by_their_pattern() {
    // The same rectangle, 12 mm forward and 5 mm to the right.
    let four = studs(&[(52.0, 25.0), (52.0, -35.0), (-28.0, 25.0), (-28.0, -35.0)]);
    let card = asked(FEET, "", &four, "at: (0, 0, 200)", "");
    let found = hold(&card).pattern.as_ref().unwrap();
    assert_eq!(found.pairs.len(), 4);
    assert!((found.shift - nalgebra::Vector3::new(12.0, -5.0, 0.0)).norm() < 1e-9, "{found:?}");
    assert!(found.turn_deg.abs() < 1e-9 && found.miss_mm < 1e-9);
    // Turned by 4° about the middle of the feet.
    let (sin, cos) = 4.0_f64.to_radians().sin_cos();
    let turned: Vec<(f64, f64)> = [(40.0, 30.0), (40.0, -30.0), (-40.0, 30.0), (-40.0, -30.0)]
        .iter()
        .map(|(x, y)| (cos * x - sin * y, sin * x + cos * y))
        .collect();
    let card = asked(FEET, "", &studs(&turned), "at: (0, 0, 200)", "");
    // As it stands, each foot is within the 6 mm of play; it would still turn by 4° to lie square.
    let found = hold(&card).pattern.as_ref().unwrap();
    assert_eq!(found.pairs.len(), 4);
    assert!(found.shift.norm() < 6.0 && found.turn_deg.abs() < 4.0 + 1e-9, "{found:?}");
    assert!(hold(&card).plate.is_none(), "bolts go straight through");
}

#[test]
fn a_plate_takes_the_feet_to_studs_beside_them() {
    let two = studs(&[(75.0, 0.0), (-75.0, 0.0)]);
    let card = asked(FEET, "", &two, "at: (0, 0, 200)", "");
    let plate = hold(&card).plate.as_ref().unwrap();
    assert_eq!(plate.holes.len(), 6);
    assert!(plate.clashes.is_empty(), "{:?}", plate.clashes);
    // Distances between its holes are those of feet and studs; free holes for M6 are 6.6 mm.
    let at = |name: &str| plate.holes.iter().find(|hole| hole.name == name).unwrap().at;
    let apart = |a: &str, b: &str| (at(a).0 - at(b).0).hypot(at(a).1 - at(b).1);
    assert!((apart("stud 0", "stud 1") - 150.0).abs() < 1e-9);
    assert!((apart("a", "d") - 100.0).abs() < 1e-9);
    assert!((apart("a", "stud 0") - 35.0_f64.hypot(30.0)).abs() < 1e-9);
    assert!(plate.holes.iter().all(|hole| (hole.diameter_mm - 6.6).abs() < 1e-12));
    // Feet at 200, studs' face at 188: 3 mm of plate and 9 of spacer.
    assert!((plate.spacer_mm - 9.0).abs() < 1e-9);
    // Every hole keeps 12 mm of metal from its centre to the outline.
    let corners = &plate.outline;
    for hole in &plate.holes {
        for (index, from) in corners.iter().enumerate() {
            let to = corners[(index + 1) % corners.len()];
            let along = (to.0 - from.0, to.1 - from.1);
            let inside = along.0 * (hole.at.1 - from.1) - along.1 * (hole.at.0 - from.0);
            assert!(inside / along.0.hypot(along.1) >= 12.0 - 1e-9, "{hole:?}");
        }
    }
    // Closed form of its length: 150 and a radius of 12 / cos(π/16) at each end, at most.
    let long = corners.iter().map(|at| at.0.hypot(at.1)).fold(0.0, f64::max);
    assert!((162.0 - 1e-9..164.0).contains(&long), "{long}");
}

#[test]
fn one_more_tie_buys_what_it_says() {
    // Standing on the floor with one tie down at one side: eyes on the other side are on offer.
    let eyes = r#"(name: "left eye", kind: Loop, at: (0, 130, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "right eye", kind: Loop, at: (0, -130, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "front eye", kind: Loop, at: (150, 20, 5), normal: (0, 0, 1), strength_n: 900),"#;
    let sides = r#"(name: "left", at: (0, 50, 80), towards: (0, 1, 0)),
        (name: "right", at: (0, -50, 80), towards: (0, -1, 0)),
        (name: "front", at: (50, 0, 80), towards: (1, 0, 0)),"#;
    let one = tie("left", "left eye");
    let card = asked(sides, "", eyes, "at: (0, 0, 0)", &one);
    let before = check(&card, "load", "fixings").figure.unwrap();
    let offer = hold(&card).one_more_tie.as_ref().unwrap();
    assert!(offer.factor > before + 1e-6, "{offer:?}, {before} before");
    assert!(offer.items[0].what.contains("cable tie"), "{:?}", offer.items);
    // Done as offered, it is what was promised.
    let dryberth::model::FixingKind::Tie { width_mm } = offer.fixing.kind else { panic!("a tie") };
    let added = format!(
        r#"{one} (kind: Tie(width_mm: {width_mm}), mount: "{}", anchor: "{}"),"#,
        offer.fixing.mount, offer.fixing.anchor
    );
    let with = asked(sides, "", eyes, "at: (0, 0, 0)", &added);
    near(check(&with, "load", "fixings"), offer.factor, 1e-6);
    // From nothing, each step of the proposal holds no less than the one before.
    let proposed = &hold(&card).proposed;
    assert!(!proposed.is_empty());
    assert!(
        proposed.windows(2).all(|pair| pair[1].factor >= pair[0].factor - 1e-6),
        "{proposed:?}"
    );
}

#[test]
fn shaking_takes_its_part_of_the_clearance() {
    // Four bolts of 300 N/mm in the plane of the centre of gravity, alike about it: 4 kg on 1200 N/mm,
    // 87.17 Hz, the same motion everywhere. Miles with Q 10 and 6.5 (f / 55)^−2.748 (m/s²)²/Hz there.
    let mounts = r#"(name: "a", at: (50, 0, 50), towards: (1, 0, 0)), (name: "b", at: (-50, 0, 50), towards: (-1, 0, 0)),
        (name: "c", at: (0, 50, 50), towards: (0, 1, 0)), (name: "d", at: (0, -50, 50), towards: (0, -1, 0)),"#;
    let (mut anchors, mut bolts) = (String::new(), String::new());
    for (name, x, y) in [("a", 1.0, 0.0), ("b", -1.0, 0.0), ("c", 0.0, 1.0), ("d", 0.0, -1.0)] {
        let (ax, ay) = (55.0 * x, 55.0 * y);
        anchors += &format!(
            r#"(name: "stud {name}", kind: Stud(thread_mm: 6), at: ({ax}, {ay}, 350), normal: ({}, {}, 0), strength_n: 900),"#,
            -x, -y
        );
        bolts +=
            &format!(r#"(kind: Bolt(working_n: 400), mount: "{name}", anchor: "stud {name}"),"#);
    }
    let lid =
        r#"(name: "lid", role: Other, shape: Box(from: (-50, -50, 420), to: (50, 50, 440))),"#;
    let card = asked(mounts, lid, &anchors, "at: (0, 0, 300)", &bolts);
    let hz = (1.2e6_f64 / 4.0).sqrt() / std::f64::consts::TAU;
    let found = hold(&card).shake.as_ref().unwrap();
    assert_eq!(found.hz.iter().filter(|found| (**found - hz).abs() < 1e-6).count(), 3, "{found:?}");
    // It rolls first, on two bolts 50 mm out: 2 × 300 × 50² over m a² / 6.
    let rolls = (1.5e9_f64 / (4.0 * 1e4 / 6.0)).sqrt() / std::f64::consts::TAU;
    near(check(&card, "shake", "lowest frequency"), rolls, 1e-6);
    let slope = (0.25_f64 / 6.5).ln() / (180.0_f64 / 55.0).ln();
    let density = 6.5 * (hz / 55.0).powf(slope);
    let rms = (std::f64::consts::FRAC_PI_2 * hz * 10.0 * density).sqrt();
    let lost_mm = 3.0 * 1000.0 * rms / (std::f64::consts::TAU * hz).powi(2);
    assert!((0.4..0.6).contains(&lost_mm), "{lost_mm}");
    near(check(&card, "clearance", "lid"), 20.0 - lost_mm, 1e-6);
    assert!(check(&card, "clearance", "lid").why.contains("shaking takes 0.5 mm;"));
    // Without a fixing nothing is known of its shaking, and nothing is taken.
    let free = asked(mounts, lid, &anchors, "at: (0, 0, 300)", "");
    near(check(&free, "clearance", "lid"), 20.0, 1e-9);
    assert_eq!(check(&free, "shake", "lowest frequency").verdict, Verdict::Fail);
}

#[test]
fn a_crash_is_shown_for_information_and_judges_nothing() {
    let card = asked(TOP, "", "", "at: (0, 0, 0)", "");
    let mut checks = card.headlines.iter().flat_map(|headline| &headline.checks);
    assert!(checks.all(|check| check.id != "crash"));
    let notes = hold(&card).notes();
    let crashes: Vec<_> = notes.iter().filter(|note| note.title.starts_with("crash")).collect();
    assert_eq!(crashes.len(), 4);
    assert!(crashes.iter().all(|note| note.text.contains("not a certification")));
    assert!(crashes.iter().all(|note| !note.text.contains("pass")));
}

#[test]
fn foam_holds_only_where_its_push_meets_the_face() {
    // The mount pushes along y at x = 0; the pad's face is 20 mm away, over x from `from` to 50.
    let side = r#"(name: "side", at: (0, 50, 50), towards: (0, 1, 0)),"#;
    let face = r#"(name: "pad's face", kind: Face, at: (40, 70, 350), normal: (0, -1, 0), strength_n: 900),"#;
    let foam = r#"(kind: Wedge(working_n: 50), mount: "side", anchor: "pad's face"),"#;
    let with = |from: f64| {
        let pad = format!(
            r#"(name: "pad", role: Other, shape: Box(from: ({from}, 70, 330), to: (50, 80, 370))),"#
        );
        let card = asked(side, &pad, face, "at: (0, 0, 300)", foam);
        check(&card, "fixings", "usable").clone()
    };
    assert_eq!(with(-10.0).verdict, Verdict::Pass);
    let beside = with(30.0);
    assert_eq!(beside.verdict, Verdict::Fail, "{beside:#?}");
    assert!(beside.why.contains("30 mm beside pad"), "{}", beside.why);
    // Nothing measured there: within half a block of 40 mm.
    let card = asked(side, "", face, "at: (0, 0, 300)", foam);
    let why = &check(&card, "fixings", "usable").why;
    assert!(why.contains("40 mm beside pad's face"), "{why}");
    let near = face.replace("(40, 70", "(15, 70");
    let card = asked(side, "", &near, "at: (0, 0, 300)", foam);
    assert_eq!(check(&card, "fixings", "usable").verdict, Verdict::Pass);
}

#[test]
fn air_is_no_rest_and_says_how_much_packing_it_wants() {
    let over = |air_mm: f64| {
        let top = 300.0 - air_mm;
        let shelf = format!(
            r#"(name: "shelf", role: Bracket, shape: Box(from: (-150, -150, 290), to: (150, 150, {top}))),"#
        );
        asked(TOP, &shelf, "", "at: (0, 0, 300)", "")
    };
    for (air_mm, rests) in [(0.0, 4), (0.4, 4), (-1.0, 4), (0.6, 0), (1.5, 0), (7.0, 0)] {
        assert_eq!(over(air_mm).drawn.rests.len(), rests, "{air_mm}");
    }
    let card = over(1.5);
    let load = check(&card, "load", "fixings");
    assert_eq!(load.verdict, Verdict::Fail);
    assert!(load.why.contains("1.5 mm of air between its body and shelf"), "{}", load.why);
    let packings = &hold(&card).packings;
    assert!(packings.len() == 1 && (packings[0].air_mm - 1.5).abs() < 1e-9, "{packings:?}");
}

#[test]
fn what_slides_is_said_to_slide_and_what_helps_nothing_is_not_offered() {
    // It stands on the floor with friction 0.3: braking at 0.9 g shifts it.
    let card = asked(TOP, "", "", "at: (0, 0, 0)", "");
    let why = &check(&card, "load", "fixings").why;
    assert!(why.contains("braking at 0.9 g: it moves forward"), "{why}");
    // In the air with one eye over it: no tie holds that, however many.
    let eye =
        r#"(name: "eye", kind: Loop, at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900),"#;
    let card = asked(TOP, "", eye, "at: (0, 0, 300)", "");
    let found = hold(&card);
    assert!(found.one_more_tie.is_none() && found.more_ties.is_empty(), "{:?}", found.more_ties);
    assert!(found.proposed.is_empty() && found.advice.is_some(), "{:?}", found.advice);
    assert!(check(&card, "load", "fixings").why.contains("nothing holds it"));
    // Two eyes straight up and one ahead, low, and one behind: none by itself, but together.
    let mounts = r#"(name: "front", at: (50, 0, 50), towards: (1, 0, 0)), (name: "rear", at: (-50, 0, 50), towards: (-1, 0, 0)),
        (name: "left", at: (0, 50, 50), towards: (0, 1, 0)), (name: "right", at: (0, -50, 50), towards: (0, -1, 0)),"#;
    let eyes = r#"(name: "a", kind: Loop, at: (150, 0, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "b", kind: Loop, at: (-150, 0, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "c", kind: Loop, at: (0, 150, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "d", kind: Loop, at: (0, -150, 5), normal: (0, 0, 1), strength_n: 900),"#;
    let card = asked(mounts, "", eyes, "at: (0, 0, 0)", "");
    let found = hold(&card);
    // A tie takes a pull one way; sliding the other way is left, so it takes several.
    assert!(found.one_more_tie.is_none());
    let last = found.more_ties.last().map(|offer| offer.factor);
    assert!(last.is_none_or(|factor| factor > 0.005), "{:?}", found.more_ties);
    assert!(found.proposed.last().is_some_and(|offer| offer.factor > 0.005));
    for note in found.notes() {
        let offered = note.title.starts_with("from nothing") || note.title.starts_with("more ties");
        assert!(!(offered && note.text.contains(" 0.00")), "{note:?}");
    }
}

#[test]
fn no_reason_and_no_note_reads_as_minus_nothing() {
    for name in [None, Some("sandlark-cabriolet")] {
        let opened = dryberth::format::open_demo(name).unwrap();
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).unwrap();
        let headlines = vec![HeadlineId::Feed, HeadlineId::Water, HeadlineId::Hold];
        let ask = Ask { details: true, headlines, ..Ask::default() };
        for spot in &opened.layout.spots {
            let card = evaluate_some(&boot, spot, &ask);
            let details = card.details.as_ref().unwrap();
            let notes =
                [details.feed.notes(), details.water.notes(), details.hold.notes()].concat();
            let reasons = card.headlines.iter().flat_map(|headline| &headline.checks);
            let texts = reasons.map(|check| check.why.clone());
            for text in texts.chain(notes.into_iter().map(|note| note.text)) {
                assert!(!text.contains("-0 ") && !text.contains("-0.0 "), "{}: {text}", spot.name);
            }
        }
    }
}
