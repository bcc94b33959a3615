//! Whether fixings are clear of what stands between, go in, stay on and press.

use dryberth::checks::{Check, Scorecard, Verdict};

use super::held::{TOP, asked, hold, tie};
use super::{ask, check, near};

/// The cube stands with its underside at z = 300, mounts at its top edges.
fn usable(mounts: &str, bodies: &str, anchors: &str, fixings: &str) -> (Scorecard, Check) {
    let card = asked(mounts, bodies, anchors, "at: (0, 0, 300)", fixings);
    let usable = check(&card, "fixings", "usable").clone();
    (card, usable)
}

fn fails(mounts: &str, bodies: &str, anchors: &str, fixings: &str, says: &[&str]) -> Scorecard {
    let (card, usable) = usable(mounts, bodies, anchors, fixings);
    assert_eq!(usable.verdict, Verdict::Fail, "{usable:#?}");
    assert!(says.iter().all(|word| usable.why.contains(word)), "{says:?}: {}", usable.why);
    card
}

fn passes(mounts: &str, bodies: &str, anchors: &str, fixings: &str) -> Scorecard {
    let (card, usable) = usable(mounts, bodies, anchors, fixings);
    assert_eq!(usable.verdict, Verdict::Pass, "{usable:#?}");
    card
}

fn over(kind: &str) -> String {
    format!(r#"(name: "it", kind: {kind}, at: (0, 50, 425), normal: (0, 0, -1), strength_n: 900),"#)
}

fn shelf(low: f64, high: f64) -> String {
    format!(
        r#"(name: "shelf", role: Panel, shape: Box(from: (-200, -200, {low}), to: (200, 200, {high}))),"#
    )
}

#[test]
fn closed_sheet_between_stops_a_bolt_and_a_clamp() {
    // A solid that is closed lets nothing through; the sheet that the anchor is in has its hole.
    for (anchor, fixing) in [
        ("Stud(thread_mm: 6)", "Bolt(working_n: 200)"),
        ("Hole(diameter_mm: 7)", "Bolt(working_n: 200)"),
        ("Face", "Bolt(working_n: 200)"),
        ("Edge(thickness_mm: 2)", "Clamp(working_n: 200)"),
    ] {
        let fixing = format!(r#"(kind: {fixing}, mount: "left", anchor: "it"),"#);
        let anchor = over(anchor);
        passes(TOP, "", &anchor, &fixing);
        for (low, high) in [(400.0, 401.0), (402.0, 403.0), (410.0, 410.8), (412.0, 415.0)] {
            let says = ["through shelf", "mm from its mount"];
            let card = fails(TOP, &shelf(low, high), &anchor, &fixing, &says);
            let usable = check(&card, "fixings", "usable");
            assert!((usable.at.unwrap()[2] - low).abs() < 0.1, "{low}: {usable:#?}");
            // It carries nothing, and isn't on offer.
            let load = check(&card, "load", "fixings");
            assert_eq!(load.figure, Some(0.0));
            let none = load.why.contains("nothing holds it") || load.why.contains("0 fixings");
            assert!(none, "{}", load.why);
            assert!(hold(&card).proposed.is_empty(), "{:?}", hold(&card).proposed);
            assert_eq!(check(&card, "anchors", "in reach").figure, Some(0.0));
        }
        // What carries the anchor, with a pad of 1 mm on it, is what the fixing is in.
        passes(TOP, &shelf(424.0, 430.0), &anchor, &fixing);
    }
}

#[test]
fn sheet_right_under_the_foot_stops_a_bolt_too() {
    // Through the hole of a foot, as thick as the sheet may be.
    let holed = r#"(name: "left", at: (0, 50, 100), towards: (0, 0, 1), hole_mm: 6.6),"#;
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "it"),"#;
    let stud = over("Stud(thread_mm: 6)");
    passes(holed, "", &stud, bolt);
    fails(holed, &shelf(400.0, 401.0), &stud, bolt, &["through shelf, 0 mm"]);
    fails(holed, &shelf(410.0, 410.8), &stud, bolt, &["through shelf, 10 mm"]);
}

#[test]
fn a_shank_is_as_thick_as_its_thread() {
    // An M6 shank of 3 mm radius; a loom of 5 mm whose axis passes it at 7 and at 9 mm: 2 and 4 mm from
    // the bolt's axis.
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "it"),"#;
    let loom = |y: f64| {
        format!(
            r#"(name: "rear loom", role: Loom, shape: Cylinder(from: (-90, {y}, 413), to: (90, {y}, 413), radius_mm: 5)),"#
        )
    };
    let stud = over("Stud(thread_mm: 6)");
    fails(TOP, &loom(57.0), &stud, bolt, &["through rear loom"]);
    passes(TOP, &loom(59.0), &stud, bolt);
    // An M10 shank meets the second one.
    fails(TOP, &loom(59.0), &over("Stud(thread_mm: 10)"), bolt, &["through rear loom"]);
}

#[test]
fn sheet_stops_foam_but_not_what_it_presses_on() {
    let side = r#"(name: "side", at: (0, 50, 50), towards: (0, 1, 0)),"#;
    let face =
        r#"(name: "face", kind: Face, at: (10, 80, 350), normal: (0, -1, 0), strength_n: 900),"#;
    let foam = r#"(kind: Wedge(working_n: 50), mount: "side", anchor: "face"),"#;
    let wall = |name: &str, from: f64, to: f64| {
        format!(
            r#"(name: "{name}", role: Panel, shape: Box(from: (-99, {from}, 301), to: (99, {to}, 399))),"#
        )
    };
    let panel = wall("panel", 80.0, 84.0);
    passes(side, &panel, face, foam);
    let lined = panel.clone() + &wall("lining", 65.0, 66.0);
    fails(side, &lined, face, foam, &["through lining, 15 mm"]);
    // What stands 15 mm beside its middle is cut round.
    let pipe = r#"(name: "pipe", role: Other, shape: Cylinder(from: (-90, 65, 370), to: (90, 65, 370), radius_mm: 5)),"#;
    passes(side, &(panel + pipe), face, foam);
}

#[test]
fn a_clamp_doesnt_reach_through_the_pump() {
    // The edge lies under the pump's top, 20 mm in from its side.
    let edge = r#"(name: "it", kind: Edge(thickness_mm: 2), at: (0, 30, 385), normal: (0, 1, 0), strength_n: 900),"#;
    let clamp = r#"(kind: Clamp(working_n: 200), mount: "left", anchor: "it"),"#;
    fails(TOP, "", edge, clamp, &["through the pump's body"]);
}

#[test]
fn a_fixing_through_trim_that_goes_back_is_a_lift() {
    // The pump stands over the board and is bolted to a stud under it: the board can't go back.
    let board = r#"trims: [(name: "board", kind: Board, thickness_mm: 5, faces: [[
        (-300, -300, 410), (-300, 300, 410), (300, 300, 410), (300, -300, 410)]])],
        anchors: [(name: "it", kind: Stud(thread_mm: 6), at: (0, 50, 425), normal: (0, 0, -1), strength_n: 900)],"#;
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "it"),"#;
    let card = ask("", board, "at: (0, 0, 300)", bolt);
    let lift = check(&card, "lift", "board");
    assert_eq!(lift.verdict, Verdict::Fail, "{lift:#?}");
    let card = ask("", board, "at: (0, 0, 300)", "");
    assert_eq!(check(&card, "lift", "board").verdict, Verdict::Pass);
}

const STRAP: &str = r#"(kind: Strap(working_n: 300), mount: "left", anchor: "it"),"#;

fn eye(kind: &str, more: &str) -> String {
    format!(
        r#"(name: "it", kind: {kind}, at: (0, 50, 500), normal: (0, 0, -1), strength_n: 900{more}),"#
    )
}

#[test]
fn bands_go_only_through_what_is_wide_enough() {
    // The diagonal of its cross section: 25 × 1.5 mm of webbing √(25² + 1.5²) = 25.04 mm; a tie of
    // 4.8 × 1.4 mm 5.0 mm. Closed form.
    let tie = tie("left", "it");
    for (fixing, kind, goes) in [
        (STRAP, "Hole(diameter_mm: 7)", false),
        (STRAP, "Hole(diameter_mm: 25.0)", false),
        (STRAP, "Hole(diameter_mm: 25.1)", true),
        (&tie, "Hole(diameter_mm: 4.9)", false),
        (&tie, "Hole(diameter_mm: 5.1)", true),
        (STRAP, "Slot(length_mm: 24, width_mm: 8)", false),
        (STRAP, "Slot(length_mm: 30, width_mm: 1)", false),
        (STRAP, "Slot(length_mm: 25, width_mm: 1.5)", true),
        (STRAP, "Bar(girth_mm: 60)", true),
    ] {
        if goes {
            passes(TOP, "", &eye(kind, ""), fixing);
        } else {
            let card = fails(TOP, "", &eye(kind, ""), fixing, &["doesn't go through it"]);
            assert!(check(&card, "load", "fixings").why.contains("nothing holds it"));
        }
    }
}

#[test]
fn webbing_through_a_loop_that_wasnt_measured_isnt_known_to_go() {
    let (_, open) = usable(TOP, "", &eye("Loop", ""), STRAP);
    assert_eq!((open.figure, open.verdict), (None, Verdict::Unknown), "{open:#?}");
    assert!(open.why.contains("measure how wide the loop is inside"), "{}", open.why);
    passes(TOP, "", &eye("Loop", ", inside_mm: 30"), STRAP);
    fails(TOP, "", &eye("Loop", ", inside_mm: 20"), STRAP, &["20 mm wide inside"]);
    // A tie goes through whatever is a loop.
    passes(TOP, "", &eye("Loop", ""), &tie("left", "it"));
}

#[test]
fn bands_go_through_the_hole_of_a_foot_or_round_it() {
    let foot = |more: &str| {
        format!(r#"(name: "left", at: (0, 50, 100), towards: (0, 0, 1), hole_mm: 6.6{more}),"#)
    };
    let eye = eye("Loop", ", inside_mm: 30");
    let says = ["6.6 mm hole of left", "measure once round it"];
    fails(&foot(""), "", &eye, STRAP, &says);
    passes(&foot(", girth_mm: 70"), "", &eye, STRAP);
    let wide = tie("left", "it").replace("4.8", "7.6");
    fails(&foot(""), "", &eye, &wide, &says);
    passes(&foot(""), "", &eye, &tie("left", "it"));
}

#[test]
fn what_goes_through_one_slot_goes_in_together() {
    // Ties of 4.8 × 1.4 mm: two lie side by side on 12 mm; a third needs a second layer, 2.8 mm in all.
    let three = tie("left", "it") + &tie("right", "it") + &tie("left", "it");
    let slot = |size: &str| eye(&format!("Slot({size})"), "");
    let tight = slot("length_mm: 12, width_mm: 2");
    passes(TOP, "", &tight, &(tie("left", "it") + &tie("right", "it")));
    let card = fails(TOP, "", &tight, &three, &["beside the 2 led through it already"]);
    assert_eq!(check(&card, "fixings", "usable").figure, Some(2.0));
    passes(TOP, "", &slot("length_mm: 12, width_mm: 3"), &three);
    passes(TOP, "", &slot("length_mm: 14.4, width_mm: 2"), &three);
    // In a round hole they lie on one another: √(4.8² + 2.8²) = 5.56 mm.
    let two = tie("left", "it") + &tie("right", "it");
    fails(TOP, "", &eye("Hole(diameter_mm: 5.5)", ""), &two, &["beside the 1 led through"]);
    passes(TOP, "", &eye("Hole(diameter_mm: 5.6)", ""), &two);
    // Nor does one go beside a bolt.
    let hole = over("Hole(diameter_mm: 7)");
    let bolt = r#"(kind: Bolt(working_n: 200), mount: "left", anchor: "it"),"#;
    fails(TOP, "", &hole, &(bolt.to_string() + &tie("right", "it")), &["has a bolt in it"]);
    fails(TOP, "", &hole, &(tie("right", "it") + bolt), &["already, where the bolt would go"]);
}

#[test]
fn a_tie_slips_off_a_bare_stud_that_it_is_pulled_along() {
    // The stud stands 100 mm beside the mount, which is `high` mm over it. Friction cone of 0.3, common
    // practice, no source: up to 30 mm it stays.
    let stud = |high: f64, more: &str| {
        let z = 400.0 - high;
        format!(
            r#"(name: "it", kind: Stud(thread_mm: 6), at: (0, 150, {z}), normal: (0, 0, 1), strength_n: 900{more}),"#
        )
    };
    let bare = tie("left", "it");
    for high in [-80.0, 0.0, 29.5] {
        passes(TOP, "", &stud(high, ""), &bare);
    }
    for high in [30.5, 60.0, 150.0] {
        let says = ["would slip off", "nut and a wide washer", "P-clip"];
        let card = fails(TOP, "", &stud(high, ""), &bare, &says);
        assert!(check(&card, "load", "fixings").why.contains("nothing holds it"));
        // Under a nut it stays, and nut and washer are to be bought.
        let nut = bare.replace(r#"anchor: "it""#, r#"anchor: "it", nut: true"#);
        let card = passes(TOP, "", &stud(high, ""), &nut);
        let bought: Vec<_> = hold(&card).shopping.iter().map(|it| it.what.as_str()).collect();
        assert!(bought.contains(&"lock nut M6") && bought.contains(&"washer M6, wide"));
        // A nut M6 is 4.8 mm high.
        passes(TOP, "", &stud(high, ", free_mm: 10"), &nut);
        fails(TOP, "", &stud(high, ", free_mm: 9"), &nut, &["needs 10 mm of it"]);
    }
    // A band wider than the stud is long lies over its end.
    fails(TOP, "", &stud(0.0, ", free_mm: 1"), &bare, &["stands 1 mm free"]);
}

const SIDES: &str = r#"(name: "left", at: (0, 50, 50), towards: (0, 1, 0)),
    (name: "right", at: (0, -50, 50), towards: (0, -1, 0)),"#;

/// Faces 30 mm beside the cube's sides, with foam on both, at the height of its centre of gravity.
fn between(working_n: f64, squeeze: &str) -> Scorecard {
    let faces = r#"(name: "to left", kind: Face, at: (0, 80, 350), normal: (0, -1, 0), strength_n: 900),
        (name: "to right", kind: Face, at: (0, -80, 350), normal: (0, 1, 0), strength_n: 900),"#;
    let foam: String = ["left", "right"]
        .iter()
        .map(|side| {
            format!(
                r#"(kind: Wedge(working_n: {working_n}), mount: "{side}", anchor: "to {side}"{squeeze}),"#
            )
        })
        .collect();
    asked(SIDES, "", faces, "at: (0, 0, 300)", &foam)
}

fn factor(card: &Scorecard, case: &str) -> f64 {
    hold(card).cases.iter().find(|it| it.case == case).unwrap().factor
}

#[test]
fn foam_has_friction_of_its_stated_squeeze_only() {
    // Closed form: two blocks pressed by 8 mm at 20 N/mm push with 160 N each; 2 × 0.3 × 160 N against
    // 4 kg. The pyramid of friction is up to 0.12 % less.
    let weight_n = 4.0 * 9.80665;
    let grip_n = 2.0 * 0.3 * 160.0;
    let pressed = between(250.0, ", squeeze_mm: 8");
    for (case, load_g) in [
        ("hanging at 1 g", 1.0),
        ("a 2 g bump", 2.0),
        ("braking at 0.9 g", 0.9_f64.hypot(1.0)),
        ("pulling away at 0.5 g", 0.5_f64.hypot(1.0)),
    ] {
        let found = factor(&pressed, case);
        let exact = grip_n / (load_g * weight_n);
        assert!((found / exact - 1.0).abs() < 2e-3, "{case}: {found} {exact}");
    }
    // A stronger foam that is pressed no harder holds no more.
    let stronger = between(800.0, ", squeeze_mm: 8");
    let (a, b) = (factor(&stronger, "hanging at 1 g"), factor(&pressed, "hanging at 1 g"));
    assert!((a - b).abs() < 1e-9, "{a} {b}");
    let notes = hold(&pressed).notes();
    let says = |words: &str| notes.iter().any(|note| note.text.contains(words));
    assert!(says("pressed 8.0 mm thinner, pushes with 160 N"), "{notes:?}");
    // The block to buy is as much thicker than the 30 mm of room.
    assert!(hold(&pressed).shopping.iter().any(|it| it.what.contains("38 mm")));
    // Nothing stated: no friction, and it says so.
    let loose = between(250.0, "");
    assert!(factor(&loose, "hanging at 1 g").abs() < 1e-9);
    let load = check(&loose, "load", "fixings");
    assert_eq!(load.verdict, Verdict::Fail);
    assert!(load.why.contains("isn't stated"), "{}", load.why);
    // Pressed harder than it stands.
    let burst = between(250.0, ", squeeze_mm: 13");
    let why = &check(&burst, "fixings", "usable").why;
    assert!(why.contains("pushes with 260 N; at most 250 N"), "{why}");
}

#[test]
fn foam_above_presses_the_pump_down_with_its_squeeze_only() {
    // The cube on the floor, foam between its top and a shelf, pressed by 4 mm: 80 N. Braking at f × 0.9 g
    // slides it on the floor, pressed by weight and foam, and along the foam: 0.9 f W = 0.3 (f W + 80) +
    // 0.3 × 80, so f = 80 / W. Closed form.
    let top = r#"(name: "top", at: (0, 0, 100), towards: (0, 0, 1)),"#;
    let under =
        r#"(name: "shelf", kind: Face, at: (0, 0, 130), normal: (0, 0, -1), strength_n: 900),"#;
    let with = |squeeze: &str| {
        let foam =
            format!(r#"(kind: Wedge(working_n: 250), mount: "top", anchor: "shelf"{squeeze}),"#);
        asked(top, "", under, "at: (0, 0, 0)", &foam)
    };
    let found = factor(&with(", squeeze_mm: 4"), "braking at 0.9 g");
    let exact = 80.0 / (4.0 * 9.80665);
    assert!((found / exact - 1.0).abs() < 3e-3, "{found} {exact}");
    assert!(factor(&with(""), "braking at 0.9 g") < 1e-9);
    near(check(&with(""), "fixings", "usable"), 1.0, 1e-12);
}

#[test]
fn what_is_on_offer_stays_on_and_presses_as_it_says() {
    // Studs low beside the cube, which stands on the floor: ties to them pull 43° off square and need nuts.
    let studs = r#"(name: "left stud", kind: Stud(thread_mm: 6), at: (0, 130, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "right stud", kind: Stud(thread_mm: 6), at: (0, -130, 5), normal: (0, 0, 1), strength_n: 900),
        (name: "front stud", kind: Stud(thread_mm: 6), at: (150, 20, 5), normal: (0, 0, 1), strength_n: 900),"#;
    let sides = r#"(name: "left", at: (0, 50, 80), towards: (0, 1, 0)),
        (name: "right", at: (0, -50, 80), towards: (0, -1, 0)),
        (name: "front", at: (50, 0, 80), towards: (1, 0, 0)),"#;
    let one =
        tie("left", "left stud").replace(")", ", nut: true)").replacen(", nut: true)", ")", 1);
    let card = asked(sides, "", studs, "at: (0, 0, 0)", &one);
    assert_eq!(check(&card, "fixings", "usable").verdict, Verdict::Pass);
    let offer = hold(&card).one_more_tie.as_ref().unwrap();
    assert!(offer.fixing.nut, "{offer:?}");
    assert!(offer.items.iter().any(|it| it.what == "lock nut M6"), "{:?}", offer.items);
    // Foam is offered with the squeeze that makes its push: 50 N at 20 N/mm are 2.5 mm, so a block for the
    // 30 mm of room is 33 mm thick.
    let faces = r#"(name: "to left", kind: Face, at: (0, 80, 50), normal: (0, -1, 0), strength_n: 900),
        (name: "to right", kind: Face, at: (0, -80, 50), normal: (0, 1, 0), strength_n: 900),"#;
    let card = asked(SIDES, "", faces, "at: (0, 0, 0)", "");
    let foam = &hold(&card).proposed;
    assert_eq!(foam.len(), 2, "{foam:?}");
    for offer in foam {
        assert_eq!(offer.fixing.squeeze_mm, Some(2.5), "{offer:?}");
        assert!(offer.items[0].what.contains("× 33 mm"), "{:?}", offer.items);
    }
    // A slot that a tie fills is not offered to another.
    let slot = r#"(name: "slot", kind: Slot(length_mm: 10, width_mm: 2.2), at: (0, 130, 80), normal: (0, -1, 0), strength_n: 900),
        (name: "other", kind: Slot(length_mm: 10, width_mm: 2.2), at: (0, -130, 80), normal: (0, 1, 0), strength_n: 900),"#;
    let full = tie("left", "slot").replace("4.8", "9");
    let card = asked(sides, "", slot, "at: (0, 0, 0)", &full);
    let offered = hold(&card).more_ties.iter().chain(&hold(&card).one_more_tie);
    assert!(
        offered.clone().all(|offer| offer.fixing.anchor == "other"),
        "{:?}",
        hold(&card).more_ties
    );
}
