//! How long does a line's way take?
//!
//! On each demo boot, at its best spot: every line of the spot with nothing known of the boot yet, the
//! same with the boot's distances known, and with the pump moved by a few mm each time, as in a drag. Then
//! each line alone. Last, the longest of the lines between a place near its exit and one near its port,
//! past the same bodies, by us and by ompl (`routes.py`): how long until it is within 3 % of ours.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod referee;
mod stopwatch;

use std::time::Duration;

use dryberth::checks::reach::{End, Wanted, shortest_way};
use dryberth::checks::{Ask, Boot, DrawnLine, HeadlineId, evaluate, evaluate_some};
use dryberth::format::open_demo;
use dryberth::model::{Point, Spot};
use referee::answers_to;
use stopwatch::{Row, given, print, timed};

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
        beside_ompl(demo, &boot, best);
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

/// Longest of the spot's lines, from a place 60 mm along it to one 60 mm before its end.
fn beside_ompl(demo: &str, boot: &Boot, spot: &Spot) {
    let card = evaluate(boot, spot);
    let length = |line: &DrawnLine| -> f64 {
        line.centreline.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
    };
    let drawn = card.drawn.lines.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
    let drawn = drawn.expect("a demo has lines");
    let line = boot.layout().lines.iter().find(|line| line.name == drawn.name).expect("its line");
    let end = |points: &mut dyn Iterator<Item = &Point>, way: f64| {
        let points: Vec<&Point> = points.collect();
        let mut left_mm = 60.0;
        let at = points.windows(2).find(|pair| {
            left_mm -= (pair[1] - pair[0]).norm();
            left_mm <= 0.0
        });
        let at = at.expect("a line longer than 60 mm");
        End { at: *at[1], towards: (at[1] - at[0]).normalize() * way }
    };
    let wanted = Wanted {
        from: end(&mut drawn.centreline.iter(), 1.0),
        to: end(&mut drawn.centreline.iter().rev(), -1.0),
        bend_mm: line.bend_centre_mm(),
        longest_mm: f64::INFINITY,
    };
    let field = boot.line_field();
    let need_mm = drawn.radius_mm + boot.layout().limits.gap_line_mm;
    let ours = match shortest_way(field, need_mm, &wanted) {
        Ok(way) => way,
        Err(why) => return println!("\n{demo}: no way past the bodies alone: {why:?}"),
    };
    let mut rows = vec![timed("ours", BUDGET, || {
        shortest_way(field, need_mm, &wanted).map(|way| way.length_mm)
    })];
    // A grid of distances round the way, for the planner.
    let step = 5.0;
    let (from, to) = (wanted.from.at, wanted.to.at);
    let (low, high) = (from.inf(&to), from.sup(&to));
    let low = low - dryberth::model::Vector::repeat(150.0);
    let size = [0, 1, 2].map(|axis| ((high[axis] + 150.0 - low[axis]) / step).ceil() as usize);
    let mut file = serde_json::to_vec(&serde_json::json!({
        "low": [low.x, low.y, low.z], "step": step, "size": size, "need": need_mm,
        "bend": wanted.bend_mm, "length": ours.length_mm,
        "from": { "at": from.coords.as_slice(), "towards": wanted.from.towards.as_slice() },
        "to": { "at": to.coords.as_slice(), "towards": wanted.to.towards.as_slice() },
    }))
    .expect("plain figures");
    file.push(b'\n');
    for z in 0..size[2] {
        for y in 0..size[1] {
            for x in 0..size[0] {
                let at = low + dryberth::model::Vector::new(x as f64, y as f64, z as f64) * step;
                let hit = field.nearest(&at, 30.0, |_| false);
                let mm = hit.map_or(30.0, |hit| hit.distance_mm - hit.extra_mm);
                file.extend((mm as f32).to_le_bytes());
            }
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("case");
    std::fs::write(&path, file).expect("written");
    rows.extend(answers_to("routes.py", &[&path]).into_iter().map(|(name, ms)| given(name, ms)));
    print(&format!("{demo}, {} past the bodies, {:.0} mm", drawn.name, ours.length_mm), &rows);
}
