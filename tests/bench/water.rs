//! How long does the water take: one grid of a million cells, and the demo boots' whole question?
//!
//! W3 is a grid of 1000 × 1000 heights with one open side and three drains (`w3.rs`). Beside our flood
//! stands a plain priority-flood with a binary heap, written here, and, where `DRYBERTH_REFEREES` names a
//! Python that has them, scikit-image's reconstruction and pyflwdir's depression fill on the same
//! heights (`water.py`); otherwise they are said to be skipped.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod referee;
mod stopwatch;
#[path = "../referees/w3.rs"]
mod w3;

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::time::Duration;

use dryberth::checks::{Ask, Boot, HeadlineId, evaluate_some};
use dryberth::format::open_demo;
use dryberth::geometry::{Basins, HeightGrid, Outlet};
use dryberth::model::Vector;
use stopwatch::{Row, given, print, timed};

const BUDGET: Duration = Duration::from_millis(2_000);

fn main() {
    let grid = w3::grid();
    let outlets = w3::outlets();
    let rows: Vec<Row> = [
        timed("Basins: basins and levels", BUDGET, || flooded(&grid, &outlets)),
        timed("priority-flood with a binary heap, here", BUDGET, || heap_flooded(&grid, &outlets)),
    ]
    .into_iter()
    .chain(referee::answers("water.py").into_iter().map(|(name, ms)| given(name, ms)))
    .collect();
    assert_eq!(flooded(&grid, &outlets), heap_flooded(&grid, &outlets), "the two ways disagree");
    print("W3: 1000 × 1000 cells, one open side, three drains", &rows);
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        whole_question(demo);
    }
}

fn flooded(grid: &HeightGrid, outlets: &[Outlet]) -> Vec<f64> {
    Basins::of(grid, &Vector::z()).filled(grid, outlets).0.level_mm
}

/// The textbook's way: the lowest cell reached so far goes on. Heights above zero sort as their bits do.
fn heap_flooded(grid: &HeightGrid, outlets: &[Outlet]) -> Vec<f64> {
    let heights = &grid.height_mm;
    let mut level = vec![f64::NAN; heights.len()];
    let mut front = BinaryHeap::new();
    let edge = (0..heights.len()).filter(|&cell| {
        let (x, y) = (cell % grid.size.0, cell / grid.size.0);
        x == 0 || y == 0 || x + 1 == grid.size.0 || y + 1 == grid.size.1
    });
    for cell in edge.chain(outlets.iter().map(|outlet| outlet.cell)) {
        front.push(Reverse((heights[cell].to_bits(), cell)));
    }
    while let Some(Reverse((bits, cell))) = front.pop() {
        if !level[cell].is_nan() {
            continue;
        }
        let here = f64::from_bits(bits);
        level[cell] = here;
        for next in grid.neighbours(cell) {
            if level[next].is_nan() {
                front.push(Reverse((here.max(heights[next]).to_bits(), next)));
            }
        }
    }
    level
}

fn whole_question(demo: &str) {
    let opened = open_demo(Some(demo)).expect("a demo");
    let fitted = Boot::usual_options(&opened.layout);
    let boot = opened.boot(&fitted).expect("a boot");
    let spot = &opened.layout.spots[0];
    let water = Ask { headlines: vec![HeadlineId::Water], ..Ask::default() };
    let detailed = Ask { details: true, ..water.clone() };
    let (cases, cells) = (boot.water().len(), boot.floor().map_or(0, HeightGrid::cells));
    let drains = boot.water()[0].drains;
    let rows = [
        timed("the whole water question: grid, floods, pools, drips, filling", BUDGET, || {
            boot.water_again()
        }),
        timed("one more slope, of the window's slider", BUDGET, || boot.water_on(7.0, 3.0, drains)),
        timed("a moved pump: freeboard, drips", BUDGET, || evaluate_some(&boot, spot, &water)),
        timed("a moved pump with details", BUDGET, || evaluate_some(&boot, spot, &detailed)),
    ];
    print(&format!("{demo}: {cases} cases on {cells} cells"), &rows);
}
