//! Boots made to fool the checks: each once gave a pass, or another figure, where the hand-worked
//! answer beside it is right. The boots lie in the folder `attacks`.

use std::path::Path;

use dryberth::checks::water::TrackEnd;
use dryberth::checks::{Boot, Scorecard, Verdict, evaluate};

use super::{ask, check};

pub(super) fn boot(name: &str) -> Boot {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/one_door/attacks");
    let opened = dryberth::format::open(&folder.join(format!("{name}.ron"))).unwrap();
    opened.boot(&Boot::usual_options(&opened.layout)).unwrap()
}

fn card(name: &str) -> Scorecard {
    let boot = boot(name);
    evaluate(&boot, &boot.layout().spots[0])
}

/// A figure within bounds, and the verdict.
#[track_caller]
pub(super) fn expect(
    card: &Scorecard,
    id: &str,
    subject: &str,
    low: f64,
    high: f64,
    verdict: Verdict,
) {
    let check = super::check(card, id, subject);
    let figure = check.figure.unwrap();
    assert!((low..=high).contains(&figure) && check.verdict == verdict, "{check:#?}");
}

#[test]
fn a_panel_that_leans_outward_still_dams() {
    // Rims of 150 mm, the plug at 130: 20 mm under. The panel leans out by 8° from the floor's end.
    let found = card("01-leaning-panel");
    expect(&found, "freeboard", "all drains blocked", -20.1, -19.9, Verdict::Fail);
}

#[test]
fn lift_is_the_same_from_whichever_corner_a_face_is_listed() {
    // A leg goes down behind the carpet at one place, the body stands 100 mm over it at another.
    for name in ["02a-lift", "02b-lift"] {
        expect(&card(name), "lift", "c", 100.0 - 1e-6, 100.0 + 1e-6, Verdict::Fail);
    }
}

#[test]
fn what_lies_along_the_lead_is_in_the_way() {
    // A block of 60 mm fills the whole section 20 mm after the exit, within a lead of 100 mm.
    let found = card("04-lead");
    let gap = super::check(&found, "line-gap", "h");
    assert!(gap.verdict == Verdict::Fail && gap.why.contains("block"), "{gap:#?}");
}

#[test]
fn a_line_may_not_double_back_through_the_sheet_that_holds_it() {
    let found = card("05-pierce");
    assert_eq!(super::check(&found, "line-gap", "h").verdict, Verdict::Fail);
}

#[test]
fn a_fin_is_found_wherever_it_stands_on_its_drum() {
    // The drum keeps 45 mm; its fin reaches 5 mm into the pump at 163°.
    expect(&card("06-fin"), "travel", "m", -5.2, -4.9, Verdict::Fail);
}

#[test]
fn a_drain_in_a_wall_drains_only_what_stands_above_it() {
    // The hole's middle is at 100, the plug at 110.
    expect(&card("07-side-drain"), "freeboard", "drains as found", 9.9, 10.1, Verdict::Fail);
}

#[test]
fn a_drain_on_a_ledge_does_not_empty_the_well_below_it() {
    let found = card("08-ledge-drain");
    assert_eq!(super::check(&found, "freeboard", "drains as found").verdict, Verdict::Fail);
}

#[test]
fn water_under_a_shelf_is_that_of_its_own_side_of_the_dam() {
    // The dam stands at 300, the plug at 230: at least 70 mm under.
    expect(&card("09-shelf"), "freeboard", "all drains blocked", -200.0, -70.0, Verdict::Fail);
}

#[test]
fn a_pump_flush_with_its_bracket_is_held_by_friction_and_straps_only() {
    // Two straps of 5 N straight down, friction 0.3: 0.3 × 10 / (0.9 − 0.3) / 39.227 = 0.127.
    expect(&card("10-flush-rest"), "load", "fixings", 0.117, 0.128, Verdict::Fail);
}

#[test]
fn no_lean_allowed_means_no_lean() {
    expect(&card("11-tilt0"), "tilt", "pump", 39.9, 40.1, Verdict::Fail);
}

#[test]
fn drips_fall_on_past_the_end_of_the_floor() {
    // Without the pump they fall past everything, straight through where the plug will be.
    let bare = boot("12-drip-off-floor");
    let track = &bare.drips()[0];
    assert!(track.end == TrackEnd::Off && track.points[1].z < -1000.0, "{track:?}");
    assert!(track.points.iter().all(|at| at.x.abs() + at.y.abs() < 1e-9), "{track:?}");
    // The cube shelters the plug in its middle: they run over its top, 70 mm above, and off its edges, 50 mm
    // aside.
    expect(&card("12-drip-off-floor"), "drips", "leaks", 50.0, 70.0, Verdict::Pass);
    // Nor is the plug known to be dry where no floor was measured under it.
    let found = card("12-drip-off-floor");
    let freeboard = super::check(&found, "freeboard", "all drains blocked");
    assert_eq!(freeboard.verdict, Verdict::Unknown, "{freeboard:#?}");
}

#[test]
fn a_leaning_rim_keeps_its_height_on_the_grid() {
    // Exact 75.63 mm for a rim leaning by 12°; never more.
    let found = card("13-rim");
    let freeboard = super::check(&found, "freeboard", "all drains blocked").figure.unwrap();
    assert!((70.0..=75.7).contains(&freeboard), "{freeboard}");
}

#[test]
fn two_walls_that_the_pump_touches_dont_hold_it_up() {
    // Nothing presses the pump to either wall, and there is no floor under it: two ties on anchors of 1 N
    // can't carry 4 kg.
    let walls = r#"(name: "wall left", role: Panel, shape: Box(from: (-150, 50, 250), to: (150, 60, 450))),
        (name: "wall right", role: Panel, shape: Box(from: (-150, -60, 250), to: (150, -50, 450))),"#;
    let anchors = r#"anchors: [
        (name: "a", kind: Loop, at: (0, 50, 430), normal: (0, -1, 0), strength_n: 1),
        (name: "b", kind: Loop, at: (0, -50, 430), normal: (0, 1, 0), strength_n: 1),
    ],"#;
    let fixings = r#"(kind: Tie(width_mm: 4.8), mount: "left", anchor: "a"),
        (kind: Tie(width_mm: 4.8), mount: "right", anchor: "b"),"#;
    let card = ask(walls, anchors, "at: (0, 0, 300)", fixings);
    assert_eq!(check(&card, "load", "fixings").verdict, Verdict::Fail);
}

#[test]
fn a_hole_takes_one_bolt() {
    let shelf = r#"(name: "shelf", role: Bracket, shape: Box(from: (-150, -150, 290), to: (150, 150, 300))),"#;
    let anchors = r#"anchors: [
        (name: "hole", kind: Hole(diameter_mm: 7), at: (0, 50, 400), normal: (0, 0, 1), strength_n: 2000),
    ],"#;
    let one = r#"(kind: Bolt(working_n: 100), mount: "left", anchor: "hole"),"#;
    let alone = ask(shelf, anchors, "at: (0, 0, 300)", one);
    let twice = ask(shelf, anchors, "at: (0, 0, 300)", &format!("{one}{one}"));
    let fixings = check(&twice, "fixings", "usable");
    let first = check(&alone, "fixings", "usable");
    assert_eq!(first.verdict, Verdict::Pass, "{first:#?}");
    assert_eq!(fixings.verdict, Verdict::Fail, "{fixings:#?}");
    assert_eq!(check(&alone, "load", "fixings").figure, check(&twice, "load", "fixings").figure);
}

#[test]
fn what_is_open_under_the_surface_leaks() {
    // The line stands at 60 mm, an opening at 40: 20 mm of fluid over it on level ground, and hot more.
    expect(&card("low_opening"), "breather", "reservoir", -40.0, -20.0, Verdict::Fail);
}

#[test]
fn what_the_tank_cant_hold_comes_out() {
    // 506 ml in a tank of 512 and 503 ml in the hose: 40 K more make 0.0007 × 40 × 1009 = 28 ml, 22 too many.
    let card = card("overfull");
    expect(&card, "breather", "reservoir", -10.0, -0.9, Verdict::Fail);
    let why = &check(&card, "breather", "reservoir").why;
    assert!(why.contains("22 ml"), "{why}");
}
