//! A reservoir with a ridge inside: what it parts isn't one fluid. Every expected number is a closed form of
//! the sizes.

use dryberth::checks::{Meshes, Scorecard, Verdict, evaluate};

use super::check;

/// The cube with a tank of 80 × 80 × 80 mm that a ridge 10 mm wide and 40 mm high parts into halves, pickup and
/// inlet on the left, filled to `line_mm` over the ground.
fn card(line_mm: f64) -> Scorecard {
    let ridged = "inside: Prism(along: X, outline: [(-40,10),(-5,10),(-5,50),(5,50),(5,10),(40,10),(40,90),(-40,90)], \
                  from_mm: -40, to_mm: 40)";
    let pump = super::PUMP
        .replace("inside: Box(from: (-40, -40, 10), to: (40, 40, 90))", ridged)
        .replace("level_line: (40, 0, 60)", &format!("level_line: (40, 20, {line_mm})"))
        .replace(
            "inlet: (0, 0, 20), pickup: (0, 0, 15)",
            "inlet: (0, 20, 12), pickup: (0, 20, 11)",
        );
    let (boot, spot) = super::ready("", "", "at: (0, 0, 300)", "", &Meshes::new());
    let pump = dryberth::format::pump_from_text("ridged", &pump).unwrap();
    let boot = dryberth::checks::Boot::prepare(boot.layout().clone(), pump, &Meshes::new(), &[]);
    evaluate(&boot.unwrap(), &spot)
}

#[test]
fn a_sump_behind_a_ridge_is_sure_of_what_the_other_side_cant_hold() {
    // Filled to 20 mm under the ridge: 56 ml a side, and one side holds 112 ml up to the ridge. All of it may
    // be on the other side: nothing is sure at the pickup, 1 mm over the ground; with one surface through both
    // it had 19 mm over it on level ground.
    let found = card(30.0);
    for id in ["pickup", "head"] {
        let check = check(&found, id, "reservoir");
        assert_eq!(check.verdict, Verdict::Fail, "{check:#?}");
        assert!(check.why.contains("a ridge inside parts the fluid"), "{check:#?}");
    }
    // Filled 35 mm over the ridge it is one fluid wherever the car leans when parked; hard driving aside, the
    // pickup stays covered.
    let found = card(85.0);
    let check = check(&found, "pickup", "reservoir");
    assert!(check.figure.unwrap() > 0.0 && check.verdict != Verdict::Fail, "{check:#?}");
}
