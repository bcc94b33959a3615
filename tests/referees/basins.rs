//! Standing water and its pools on workload W3, against scikit-image (`basins.py`): a million cells,
//! compared bit for bit by a checksum and pool by pool, and a patch of it cell for cell, level and tilted.

use dryberth::geometry::{Basins, HeightGrid, NO_FLOOR_MM, Outlet, Pool};
use dryberth::model::Vector;
use serde::Deserialize;

use crate::w3;

#[derive(Deserialize)]
struct Data {
    heights_checksum: String,
    levels_checksum: String,
    wet: usize,
    litres: f64,
    pools: usize,
    /// Cells, litres, level; the largest first.
    largest: Vec<(usize, f64, f64)>,
    patch: Patch,
}

#[derive(Deserialize)]
struct Patch {
    columns: usize,
    rows: usize,
    drains: Vec<(usize, usize)>,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    up: [f64; 3],
    levels: Vec<f64>,
    pools: Vec<(usize, f64, f64)>,
}

fn data() -> Data {
    serde_json::from_str(include_str!("data/basins.json")).expect("sound data")
}

/// Sum of bits × (2 × index + 1), modulo 2⁶⁴.
fn checksum(values: impl Iterator<Item = f64>) -> String {
    let add = |sum: u64, (index, value): (usize, f64)| {
        sum.wrapping_add(value.to_bits().wrapping_mul(2 * index as u64 + 1))
    };
    values.enumerate().fold(0, add).to_string()
}

fn largest_first(mut pools: Vec<Pool>) -> Vec<Pool> {
    pools.sort_by(|a, b| b.litres.total_cmp(&a.litres));
    pools
}

#[track_caller]
fn same_pools(found: &[Pool], expected: &[(usize, f64, f64)], close: f64) {
    for (found, (cells, litres, level_mm)) in found.iter().zip(expected) {
        assert_eq!(found.cells, *cells, "{found:?}");
        assert!((found.litres - litres).abs() < 1e-9 * litres.max(1.0), "{found:?} {litres}");
        assert!((found.level_mm - level_mm).abs() <= close, "{found:?} {level_mm}");
    }
}

#[test]
fn w3_is_the_same_million_cells() {
    let data = data();
    let heights = (0..w3::SIDE).flat_map(|y| (0..w3::SIDE).map(move |x| w3::height_mm(x, y)));
    assert_eq!(checksum(heights), data.heights_checksum);
}

#[test]
fn w3_levels_and_pools() {
    let data = data();
    let grid = w3::grid();
    let (floods, pools) = Basins::of(&grid, &Vector::z()).filled(&grid, &w3::outlets());
    let cells = || (0..w3::SIDE).flat_map(|y| (0..w3::SIDE).map(move |x| w3::cell(w3::SIDE, x, y)));
    assert_eq!(checksum(cells().map(|cell| floods.level_mm[cell])), data.levels_checksum);
    assert_eq!(cells().filter(|cell| floods.depth_mm(*cell) > 0.0).count(), data.wet);
    assert!((floods.litres(&grid) - data.litres).abs() < 1e-9 * data.litres);
    assert_eq!(pools.len(), data.pools);
    let all: f64 = pools.iter().map(|pool| pool.litres).sum();
    assert!((all - data.litres).abs() < 1e-9 * data.litres);
    same_pools(&largest_first(pools), &data.largest, 1e-12);
}

#[test]
fn a_patch_of_w3_cell_for_cell_level_and_tilted() {
    let Patch { columns, rows, drains, cases } = data().patch;
    let grid: HeightGrid = w3::patch(columns, rows);
    let outlets: Vec<Outlet> = drains
        .iter()
        .enumerate()
        .map(|(of, &(y, x))| Outlet { cell: w3::cell(columns, x, y), rim_mm: NO_FLOOR_MM, of })
        .collect();
    for case in &cases {
        let up = Vector::from(case.up).normalize();
        let (floods, pools) = Basins::of(&grid, &up).filled(&grid, &outlets);
        for y in 0..rows {
            for x in 0..columns {
                let found = floods.level_mm[w3::cell(columns, x, y)];
                let expected = case.levels[x + y * columns];
                assert!((found - expected).abs() < 1e-9, "({x}, {y}): {found}, {expected}");
            }
        }
        assert_eq!(pools.len(), case.pools.len());
        same_pools(&largest_first(pools), &case.pools, 1e-9);
    }
}
