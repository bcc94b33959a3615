//! How long does the fluid take: volumes below a thousand planes, heights of volumes, a whole feed
//! headline?
//!
//! W4 (`w4.rs`): a tank of 220 triangles and a ball of 12,800. Beside ours stand, where
//! `DRYBERTH_REFEREES` names a Python that has them, manifold3d and trimesh on the same triangles and planes
//! (`fluid.py`); otherwise they are said to be skipped. Every figure is for one plane or one question.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod referee;
mod stopwatch;
#[path = "../referees/w4.rs"]
mod w4;

use std::time::Duration;

use dryberth::checks::{Ask, Boot, HeadlineId, evaluate_some};
use dryberth::format::open_demo;
use dryberth::geometry::{Triangles, clip};
use dryberth::model::Vector;
use stopwatch::{Row, given, per, print, timed};

const BUDGET: Duration = Duration::from_millis(1_500);

fn main() {
    let data = w4::W4::read();
    let planes = data.planes();
    let referees = referee::answers("fluid.py");
    let bodies = [("tank", w4::tank(), &data.tank), ("ball", w4::ball(), &data.ball)];
    for ((name, surface, expected), whole) in bodies.iter().zip(data.wholes_mm3()) {
        assert!((surface.volume_mm3() - whole).abs() < 1e-9 * whole, "another {name}");
        cuts(name, surface, &planes, expected, &referees);
    }
    let opened = open_demo(None).expect("the demo");
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
    let feed = Ask { headlines: vec![HeadlineId::Feed], ..Ask::default() };
    let detailed = Ask { details: true, ..feed.clone() };
    let spot = &opened.layout.spots[0];
    let rows = [
        timed("evaluate_some: feed, 78 cases and two sections", BUDGET, || {
            evaluate_some(&boot, spot, &feed)
        }),
        timed("the same with details and the cone of lean", BUDGET, || {
            evaluate_some(&boot, spot, &detailed)
        }),
    ];
    print("wrenfield-drop-top, the feed headline", &rows);
}

fn cuts(
    name: &str,
    surface: &Triangles,
    planes: &[(Vector, f64)],
    expected: &[f64],
    referees: &[(String, f64)],
) {
    let below = || -> Vec<f64> {
        let below = |(up, height): &(Vector, f64)| clip::volume_below_mm3(surface, up, *height);
        planes.iter().map(below).collect()
    };
    let whole = surface.volume_mm3();
    let off = below().iter().zip(expected).map(|(a, b)| (a - b).abs() / whole).fold(0.0, f64::max);
    assert!(off < 1e-6, "the referee's volumes are {off} of the whole away");
    let count = planes.len() as f64;
    let few = &planes[..100];
    let heights = || -> Vec<Option<f64>> {
        let height = |((up, _), volume): (&(Vector, f64), &f64)| {
            clip::height_of_volume_mm(surface, up, *volume)
        };
        few.iter().zip(expected).map(height).collect()
    };
    let mut rows: Vec<Row> = vec![
        per(timed("volume_below_mm3", BUDGET, below), count),
        per(timed("height_of_volume_mm: the plane of a volume", BUDGET, heights), 100.0),
    ];
    let here = referees.iter().filter(|(referee, _)| referee.starts_with(name));
    rows.extend(here.map(|(referee, ms)| given(referee.clone(), *ms)));
    let triangles = surface.indices.len();
    print(
        &format!("W4, {name} of {triangles} triangles, one plane ({off:.0e} of the whole off)"),
        &rows,
    );
}
