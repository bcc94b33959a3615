//! How long does a line's way take?
//!
//! On each demo boot, at its best spot: every line of the spot with nothing known of the boot yet, the
//! same with the boot's distances known, and with the pump moved by a few mm each time, as in a drag. Then
//! each line alone. The planner beside it is an ompl run of the same kind of question in
//! `tests/referees/ways_planner.py`, whose 60 s a case are stated there.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod stopwatch;

use std::time::Duration;

use dryberth::checks::{Ask, Boot, HeadlineId, evaluate, evaluate_some};
use dryberth::format::open_demo;
use dryberth::model::Spot;
use stopwatch::{Row, print, timed};

const BUDGET: Duration = Duration::from_millis(500);

fn main() {
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let opened = open_demo(Some(demo)).expect("a demo");
        let options = Boot::usual_options(&opened.layout);
        let mut boot = opened.boot(&options).expect("a boot");
        let spots = &opened.layout.spots;
        let best = spots
            .iter()
            .min_by(|a, b| evaluate(&boot, a).rank(&evaluate(&boot, b)))
            .expect("a demo has spots");
        lines(&format!("{demo}, spot `{}`, all lines", best.name), &mut boot, best);
        for line in &opened.layout.lines {
            let mut one = opened.layout.clone();
            one.lines = vec![line.clone()];
            let alone = Boot::prepare(one, boot.pump().clone(), &opened.meshes, &options);
            let mut alone = alone.expect("a boot");
            lines(&format!("{demo}, spot `{}`, {} alone", best.name, line.name), &mut alone, best);
        }
    }
}

fn lines(title: &str, boot: &mut Boot, spot: &Spot) {
    let ask = Ask { headlines: vec![HeadlineId::Reach], ..Ask::default() };
    let mut step = 0_u32;
    let mut moved = || {
        // A slow drag: along a circle of 4 mm round the spot.
        step += 1;
        let angle = f64::from(step) * 0.7;
        let mut spot = spot.clone();
        spot.place.at.x += 4.0 * angle.cos();
        spot.place.at.y += 4.0 * angle.sin();
        spot
    };
    let rows: [Row; 3] = [
        timed("reach: from nothing", BUDGET, || {
            boot.forget_distances();
            evaluate_some(boot, spot, &ask)
        }),
        timed("reach: again", BUDGET, || evaluate_some(boot, spot, &ask)),
        timed("reach: after a move of up to 8 mm", BUDGET, || evaluate_some(boot, &moved(), &ask)),
    ];
    print(title, &rows);
}
