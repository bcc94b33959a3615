//! Water filled to the brim, against scikit-image's reconstruction (`floods.py`).

use dryberth::geometry::HeightGrid;
use dryberth::model::Vector;
use serde::Deserialize;

#[derive(Deserialize)]
struct Data {
    step_mm: f64,
    grids: Vec<Grid>,
}

#[derive(Deserialize)]
struct Grid {
    size: (usize, usize),
    up: [f64; 3],
    drains: Vec<usize>,
    height_mm: Vec<f64>,
    level_mm: Vec<f64>,
}

#[test]
fn levels_cell_by_cell_with_drains_and_slopes() {
    let data: Data = serde_json::from_str(include_str!("data/floods.json")).expect("sound data");
    assert_eq!(data.grids.len(), 20);
    let mut wet = 0;
    for (index, given) in data.grids.iter().enumerate() {
        let grid = HeightGrid::from_heights(data.step_mm, given.size, given.height_mm.clone());
        let floods = grid.flood(&Vector::from(given.up).normalize(), &given.drains);
        assert_eq!(floods.level_mm.len(), given.level_mm.len());
        for (cell, (found, expected)) in floods.level_mm.iter().zip(&given.level_mm).enumerate() {
            assert!(
                (found - expected).abs() < 1e-9,
                "grid {index} cell {cell}: {found}, expected {expected}"
            );
            wet += usize::from(floods.depth_mm(cell) > 0.0);
        }
    }
    assert!(wet > 500, "only {wet} cells under water: the grids test nothing");
}
