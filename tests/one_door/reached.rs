//! Lines that see each other, clips, spans, closed ways, cables as read on the bench.

use dryberth::checks::reach::LineDetails;
use dryberth::checks::{Ask, Boot, HeadlineId, Meshes, Scorecard, Verdict, evaluate_some};

use super::{FLOOR, HOSE, PUMP, ask, check, near, ready};

fn detailed(bodies: &str, rest: &str) -> (Scorecard, Vec<LineDetails>) {
    let (boot, spot) = ready(bodies, rest, "at: (0, 0, 300)", "", &Meshes::new());
    let ask = Ask { headlines: vec![HeadlineId::Reach], details: true, ..Ask::default() };
    let card = evaluate_some(&boot, &spot, &ask);
    let lines = card.details.clone().unwrap().reach.lines;
    (card, lines)
}

/// A wall across the boot with a slot of `free` mm, 350 mm up.
fn slotted(free: f64) -> String {
    let (low, high) = (350.0 - free / 2.0, 350.0 + free / 2.0);
    format!(
        r#"(name: "wall below", role: Panel, shape: Box(from: (300, -1500, -200), to: (306, 1500, {low}))),
        (name: "wall above", role: Panel, shape: Box(from: (300, -1500, {high}), to: (306, 1500, 1900))),"#
    )
}

#[test]
fn a_slot_is_used_when_the_line_fits_and_named_when_not() {
    // 8 mm thick with 3 mm round it: 14 mm. Off to one side, so that it has to be looked for.
    let aside = HOSE.replace("at: (600, 0, 350)", "at: (600, 0, 420)");
    for (free, fits) in [(14.5, true), (16.0, true), (30.0, true), (13.5, false), (6.0, false)] {
        let card = ask(&slotted(free), &aside, "at: (0, 0, 300)", "");
        let gap = check(&card, "line-gap", "hose");
        assert_eq!(gap.verdict != Verdict::Fail, fits, "{free} mm: {gap:#?}");
        assert!(fits || gap.why.contains("wall"), "{}", gap.why);
    }
}

#[test]
fn a_second_line_goes_round_the_first() {
    // Both leave and arrive at the same height, crossing in plan: the second can't go through the first.
    let lines = r#"lines: [
        (name: "first", kind: Hose, from: (at: (600, -60, 350), towards: (-1, 0, 0)),
            to: "port", free_mm: 900, od_mm: 12, bend_mm: 40),
        (name: "second", kind: Hose, from: (at: (330, -300, 350), towards: (0, 1, 0)),
            to: "port", free_mm: 1500, od_mm: 12, bend_mm: 40),
    ],"#;
    let (boot, spot) = ready("", lines, "at: (0, 0, 300)", "", &Meshes::new());
    let card = evaluate_some(&boot, &spot, &Ask::default());
    let [first, second] = &card.drawn.lines[..] else { panic!("two lines") };
    // Away from the port that this test makes them share, skins touch at most.
    let port = first.centreline.last().unwrap();
    let apart = second
        .centreline
        .iter()
        .filter(|at| (*at - port).norm() > 120.0)
        .flat_map(|at| first.centreline.iter().map(move |other| (at - other).norm()))
        .fold(f64::INFINITY, f64::min);
    assert!(apart > 11.5 || second.verdict == Verdict::Fail, "{apart}");
}

#[test]
fn a_long_run_calls_for_a_clip_and_gets_it() {
    // 550 mm from exit to port: more than the 450 mm of ISO 10133 practice. A clip halfway makes it two of
    // 275 mm.
    let card = ask("", HOSE, "at: (0, 0, 300)", "");
    near(check(&card, "span", "hose"), 550.0, 1e-6);
    assert_eq!(check(&card, "span", "hose").verdict, Verdict::Tight);
    let clipped = HOSE
        .replace("bend_mm: 40", r#"bend_mm: 40, clips: [(anchor: "eye", towards: (-1, 0, 0))]"#);
    let anchor = r#"anchors: [(name: "eye", kind: Loop, at: (325, 0, 346), normal: (0, 0, 1), strength_n: 100)],"#;
    let card = ask("", &format!("{clipped}{anchor}"), "at: (0, 0, 300)", "");
    near(check(&card, "span", "hose"), 275.0, 1e-6);
    near(check(&card, "slack", "hose"), 122.0, 1e-6);
    // A clip aside is honoured: the line takes the longer way through it.
    let aside = anchor.replace("(325, 0, 346)", "(325, 80, 346)");
    let card = ask("", &format!("{clipped}{aside}"), "at: (0, 0, 300)", "");
    let needed = 672.0 - check(&card, "slack", "hose").figure.unwrap();
    let chords = 2.0 * 275.0_f64.hypot(80.0);
    assert!(needed > chords && needed < chords + 30.0, "{needed}, chords {chords}");
}

#[test]
fn figures_of_a_line_and_what_would_make_it_reach() {
    let (_, lines) = detailed("", HOSE);
    assert!((lines[0].needed_mm.unwrap() - 550.0).abs() < 1e-6);
    assert!((lines[0].slack_pct.unwrap() - 100.0 * 122.0 / 700.0).abs() < 1e-6);
    assert!(lines[0].smallest_radius_mm.is_none() && lines[0].advice.is_empty());
    // 520 mm less 4 % is 499.2: 50.8 mm short, so 52.9 mm more hose, 55 by fives.
    let (_, lines) = detailed("", &HOSE.replace("free_mm: 700", "free_mm: 520"));
    assert!(lines[0].advice[0].contains("55 mm longer"), "{:?}", lines[0].advice);
    assert!(
        lines[0].advice.iter().any(|line| line.contains("80 mm towards")),
        "{:?}",
        lines[0].advice
    );
}

#[test]
fn an_exit_inside_a_body_says_so() {
    let block =
        r#"(name: "block", role: Module, shape: Box(from: (560, -80, 300), to: (590, 80, 400))),"#;
    let card = ask(block, HOSE, "at: (0, 0, 300)", "");
    let gap = check(&card, "line-gap", "hose");
    assert_eq!(gap.verdict, Verdict::Fail);
    assert!(gap.why.contains("exit") && gap.why.contains("block"), "{}", gap.why);
}

#[test]
fn a_bundle_bends_no_tighter_than_it_may() {
    let turned = HOSE.replace("towards: (-1, 0, 0)", "towards: (0, 1, 0)");
    let radius = |rest: &str| detailed("", rest).1[0].smallest_radius_mm.unwrap();
    assert!((radius(&turned) - 44.0).abs() < 1e-9);
    let tied = turned.replace("bend_mm: 40", r#"bend_mm: 40, bundle: (name: "four", bend_mm: 70)"#);
    assert!((radius(&tied) - 70.0).abs() < 1e-9);
}

#[test]
fn a_reading_at_the_plug_replaces_what_was_assumed() {
    // 12.0 V at the supply, 11.4 V at the plug at 24 A: 25 mΩ. At 60 A stalled 1.5 V are lost.
    let cable = HOSE.replace(
        "kind: Hose",
        "kind: Cable(area_mm2: 4, upstream_mm: 1500, supply_v: 12, joints_mohm: 10, conductor_c: 20), \
         measured: (plug_v: 11.4, current_a: 24)",
    );
    let (card, lines) = detailed("", &cable);
    near(check(&card, "volts", "hose"), 5.0, 1e-9);
    let supply = lines[0].supply.clone().unwrap();
    assert!((supply.loop_mohm - 25.0).abs() < 1e-9 && supply.read_at_plug);
    assert!((supply.running_v - 11.4).abs() < 1e-9 && (supply.stalled_v - 10.5).abs() < 1e-9);
    // 24 A × 1.25 = 30 A.
    assert_eq!(supply.fuse_a, Some(30.0));
    // 0.1 V at 24 A: 4.2 mΩ, but 2 × 2.2 m of 4 mm² have 21.8 by IEC 60228. Such a reading tells nothing.
    let wrong = cable.replace("plug_v: 11.4", "plug_v: 11.9");
    let (card, _) = detailed("", &wrong);
    let volts = check(&card, "volts", "hose");
    assert_eq!(volts.verdict, Verdict::Unknown);
    assert!(volts.why.contains("4.2 mΩ") && volts.why.contains("21.8"), "{}", volts.why);
}

#[test]
fn what_a_driven_mover_reaches_in_passing_counts() {
    // Driven down and up again within 7 mm of its driver's travel, to 280 mm: the hose at 350 mm would be
    // struck. Its underside passes 60 mm on either side of the straight way; 15 mm are kept from a mover.
    let movers = r#"movers: [
        (name: "driver", kind: Roof, shapes: [Box(from: (0, 800, 1200), to: (10, 810, 1210))],
            motion: Slide(along: (0, 0, 1), from_mm: 0, to_mm: 100)),
        (name: "flap", kind: Roof, shapes: [Box(from: (290, -60, 480), to: (310, 60, 500))],
            motion: Slide(along: (0, 0, -1), from_mm: 0, to_mm: 200),
            driven: (by: "driver", table: [(0, 0), (50.5, 0), (54, 200), (57.5, 0), (100, 0)])),
    ],"#;
    let card = ask("", &format!("{HOSE}{movers}"), "at: (0, 0, 300)", "");
    let needed = 672.0 - check(&card, "slack", "hose").figure.unwrap();
    assert!(needed > 560.0, "{needed}");
    assert!(check(&card, "line-gap", "hose").figure.unwrap() >= 15.0 - 1e-6);
}

#[test]
fn what_asks_for_more_room_doesnt_hold_a_line_at_its_exit() {
    // 1.5 mm from the hose's skin along its lead: a battery's terminal asks for 25.
    let plus = r#"(name: "plus", role: Terminal, shape: Box(from: (540, -20, 330), to: (620, 20, 344.5))),"#;
    let card = ask(plus, HOSE, "at: (0, 0, 300)", "");
    let gap = check(&card, "line-gap", "hose");
    assert_eq!(gap.verdict, Verdict::Fail, "{gap:#?}");
    assert!(gap.why.contains("plus"), "{}", gap.why);
    // What the line lies against does hold it.
    let shelf = plus.replace("Terminal", "Panel");
    let card = ask(&shelf, HOSE, "at: (0, 0, 300)", "");
    assert_eq!(check(&card, "line-gap", "hose").verdict, Verdict::Pass);
}

#[test]
fn a_thin_sheet_beside_the_exit_is_not_gone_through() {
    // The hose lies on a sheet of 1 mm that covers the pump: straight down through it would be 560 mm, round
    // it more than a metre.
    let sheet = r#"(name: "sheet", role: Panel, shape: Box(from: (-600, -600, 345), to: (640, 600, 346))),"#;
    let card = ask(sheet, &HOSE.replace("700", "900"), "at: (0, 0, 230)", "");
    let slack = check(&card, "slack", "hose");
    assert_ne!(slack.verdict, Verdict::Pass, "{slack:#?}");
}

#[test]
fn a_lead_through_its_own_pump_is_no_way() {
    // The exit lies behind the pump, the port before it, and the lead is as long as the pump.
    let through = HOSE
        .replace("at: (600, 0, 350), towards: (-1, 0, 0)", "at: (-600, 0, 350), towards: (1, 0, 0)")
        .replace("bend_mm: 40", "bend_mm: 40, lead_mm: 110");
    let card = ask("", &through, "at: (0, 0, 300)", "");
    let slack = check(&card, "slack", "hose");
    assert_ne!(slack.verdict, Verdict::Pass, "{slack:#?}");
}

#[test]
fn a_line_may_go_where_nothing_was_measured() {
    // One wall, and all the room of the garage above it: the way up and over is about 580 mm.
    let wall =
        r#"(name: "wall", role: Panel, shape: Box(from: (300, -400, 200), to: (306, 400, 400))),"#;
    let card = ask(wall, &HOSE.replace("700", "900"), "at: (0, 0, 300)", "");
    let slack = check(&card, "slack", "hose");
    assert_eq!(slack.verdict, Verdict::Pass, "{slack:#?}");
    assert!(864.0 - slack.figure.unwrap() < 600.0, "{slack:#?}");
}

#[test]
fn a_reading_of_a_pump_that_ran_free_counts_by_its_resistance() {
    // 12.0 V at the supply, 11.9 V at the plug at 4 A: 25 mΩ. At the pump's 20 A: 0.5 V, 4.17 %, and 25 A
    // of fuse.
    let cable = HOSE.replace(
        "kind: Hose",
        "kind: Cable(area_mm2: 6, upstream_mm: 1500, supply_v: 12, joints_mohm: 2, conductor_c: 20), \
         measured: (plug_v: 11.9, current_a: 4)",
    );
    let (card, lines) = detailed("", &cable);
    near(check(&card, "volts", "hose"), 50.0 / 12.0, 1e-9);
    let supply = lines[0].supply.clone().unwrap();
    assert_eq!(supply.fuse_a, Some(25.0));
    // 0.36 V of 20 A are 18 mΩ; beyond the 13.8 mΩ of its conductors 11 were read. 6 mm² keeps 25.
    assert!(supply.enough_mm2.is_none_or(|size| size > 6.0), "{supply:?}");
}

/// Two hoses side by side to two ports, the listed one first, through a wall with two windows that let one
/// of them pass each: straight before the second hose, and 90 mm beside that.
fn side_by_side(first: &str, second: &str) -> Scorecard {
    let walls = [
        (-1500.0, -38.0, -200.0, 1900.0),
        (-38.0, -22.0, -200.0, 342.0),
        (-38.0, -22.0, 358.0, 1900.0),
        (-22.0, 52.0, -200.0, 1900.0),
        (52.0, 68.0, -200.0, 342.0),
        (52.0, 68.0, 358.0, 1900.0),
        (68.0, 1500.0, -200.0, 1900.0),
    ];
    let walls: Vec<String> = walls
        .iter()
        .enumerate()
        .map(|(count, (right, left, low, high))| {
            format!(
                r#"(name: "wall {count}", role: Panel,
                    shape: Box(from: (300, {right:.1}, {low:.1}), to: (306, {left:.1}, {high:.1}))),"#
            )
        })
        .collect();
    let text = format!(
        r#"(schema: 1, name: "by hand", origin: "middle of the floor", pump: "none",
            bodies: [{FLOOR} {}], lines: [{first} {second}],
            spots: [(name: "spot", place: (at: (0, 0, 300)))])"#,
        walls.join("\n")
    );
    let layout = dryberth::format::layout_from_text("by hand", &text).unwrap();
    let pump = PUMP.replace(
        "ports: [",
        r#"ports: [(name: "second port", at: (50, -30, 50), towards: (1, 0, 0)),"#,
    );
    let pump = dryberth::format::pump_from_text("cube", &pump).unwrap();
    let spot = layout.spots[0].clone();
    let boot = Boot::prepare(layout, pump, &Meshes::new(), &[]).unwrap();
    let ask = Ask { headlines: vec![HeadlineId::Reach], ..Ask::default() };
    evaluate_some(&boot, &spot, &ask)
}

#[test]
fn a_line_lies_elsewhere_where_another_would_not_get_past_it() {
    // The way of the first through the near window is 553 mm, through the far one 563; the second has
    // 576, which is enough for the near one only (2 × √(275² + 90²) = 579).
    let first = r#"(name: "first", kind: Hose, from: (at: (600, 0, 350), towards: (-1, 0, 0)),
        to: "port", free_mm: 700, od_mm: 8, bend_mm: 40),"#;
    let second = r#"(name: "second", kind: Hose, from: (at: (600, -30, 350), towards: (-1, 0, 0)),
        to: "second port", free_mm: 600, od_mm: 8, bend_mm: 40),"#;
    for (one, other) in [(first, second), (second, first)] {
        let card = side_by_side(one, other);
        for name in ["first", "second"] {
            let gap = check(&card, "line-gap", name);
            assert_eq!(gap.verdict, Verdict::Pass, "{gap:#?}");
            let slack = check(&card, "slack", name);
            assert!(slack.figure.unwrap() > 0.0, "{slack:#?}");
        }
        near(check(&card, "slack", "second"), 576.0 - 550.0, 0.5);
        let needed = 672.0 - check(&card, "slack", "first").figure.unwrap();
        assert!((562.8..570.0).contains(&needed), "{needed}");
    }
    // With 580 mm of hose the first reaches only alone, and so does the second: one of them is told of.
    let short = first.replace("free_mm: 700", "free_mm: 580");
    let card = side_by_side(&short, second);
    let slack = |name: &str| check(&card, "slack", name).verdict;
    assert!(slack("first") == Verdict::Fail || slack("second") == Verdict::Fail);
}

#[test]
fn a_line_without_a_way_is_in_no_other_lines_way() {
    let hood =
        r#"(name: "hood", role: Module, shape: Box(from: (540, -20, 330), to: (640, 20, 370))),"#;
    let lost = r#"(name: "lost", kind: Hose, from: (at: (600, 0, 350), towards: (-1, 0, 0)),
        to: "port", free_mm: 900, od_mm: 8, bend_mm: 40),"#;
    let second = r#"(name: "second", kind: Hose, from: (at: (300, -100, 350), towards: (0, 1, 0)),
        to: "port", free_mm: 900, od_mm: 8, bend_mm: 40),"#;
    let both = ask(hood, &format!("lines: [{lost} {second}],"), "at: (0, 0, 300)", "");
    let alone = ask(hood, &format!("lines: [{second}],"), "at: (0, 0, 300)", "");
    assert_eq!(check(&both, "line-gap", "lost").verdict, Verdict::Fail);
    let slack = |card: &Scorecard| check(card, "slack", "second").figure;
    assert_eq!(slack(&both), slack(&alone));
    assert!(slack(&alone).is_some());
}

#[test]
fn a_hose_that_lies_on_a_thin_sheet_at_its_exit_leaves_it() {
    // 8 mm thick on a sheet of 1 mm: its middle 4 mm above. It runs off the sheet's edge, 300 mm ahead.
    let sheet =
        r#"(name: "sheet", role: Panel, shape: Box(from: (300, -200, 345), to: (640, 200, 346))),"#;
    let card = ask(sheet, HOSE, "at: (0, 0, 300)", "");
    let gap = check(&card, "line-gap", "hose");
    assert_ne!(gap.verdict, Verdict::Fail, "{gap:#?}");
    let needed = 672.0 - check(&card, "slack", "hose").figure.unwrap();
    assert!((550.0..552.0).contains(&needed), "{needed}");
}
