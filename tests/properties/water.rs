//! Standing water.

use dryberth::checks::Boot;
use dryberth::checks::water::{DrainState, Slope};
use dryberth::geometry::HeightGrid;
use proptest::prelude::*;

use crate::cases;

/// A grid of whole heights, an up, and some cells.
fn grid() -> impl Strategy<Value = (HeightGrid, Slope, Vec<usize>, usize)> {
    (4..14_usize, 4..14_usize).prop_flat_map(|(columns, rows)| {
        let cells = columns * rows;
        (
            proptest::collection::vec(0..30_u8, cells),
            (-20.0..20.0_f64, -10.0..10.0_f64, any::<bool>()),
            proptest::collection::vec(0..cells, 0..4),
            0..cells,
        )
            .prop_map(move |(heights, (along_pct, across_pct, level), drains, one)| {
                let heights = heights.into_iter().map(f64::from).collect();
                let grid = HeightGrid::from_heights(5.0, (columns, rows), heights);
                let (along_pct, across_pct) =
                    if level { (0.0, 0.0) } else { (along_pct, across_pct) };
                (grid, Slope { words: "", along_pct, across_pct }, drains, one)
            })
    })
}

/// Levels by letting water down until it stands still: a cell stands as high as its floor or its
/// lowest neighbour, open cells at their floor. No queue, no order.
fn settled(grid: &HeightGrid, floor_mm: &[f64], drains: &[usize]) -> Vec<f64> {
    let open = |cell: usize| drains.contains(&cell) || grid.neighbours(cell).count() < 4;
    let mut level: Vec<f64> = (0..floor_mm.len())
        .map(|cell| if open(cell) { floor_mm[cell] } else { f64::INFINITY })
        .collect();
    loop {
        let mut still = true;
        for cell in 0..level.len() {
            let lowest =
                grid.neighbours(cell).map(|beside| level[beside]).fold(f64::INFINITY, f64::min);
            let stands = floor_mm[cell].max(lowest);
            if stands < level[cell] {
                level[cell] = stands;
                still = false;
            }
        }
        if still {
            return level;
        }
    }
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn unblocking_a_drain_never_raises_water((grid, slope, drains, one) in grid()) {
        let before = grid.flood(&slope.up(), &drains);
        let mut more = drains;
        more.push(one);
        let after = grid.flood(&slope.up(), &more);
        for cell in 0..grid.height_mm.len() {
            prop_assert!(after.level_mm[cell] <= before.level_mm[cell]);
        }
        prop_assert!(after.depth_mm(one) < 1e-12);
        prop_assert!(after.litres(&grid) <= before.litres(&grid) + 1e-12);
    }

    #[test]
    fn water_lies_level_and_is_held((grid, slope, drains, _) in grid()) {
        let floods = grid.flood(&slope.up(), &drains);
        let expected = settled(&grid, &floods.floor_mm, &drains);
        for (cell, expected) in expected.into_iter().enumerate() {
            prop_assert!((floods.level_mm[cell] - expected).abs() < 1e-12);
            prop_assert!(floods.level_mm[cell] >= floods.floor_mm[cell]);
            if floods.depth_mm(cell) > 0.0 {
                prop_assert!(!drains.contains(&cell));
                // Nothing flows: beside water stands water as high, or higher floor.
                for beside in grid.neighbours(cell) {
                    prop_assert!(floods.level_mm[beside] >= floods.level_mm[cell]);
                }
            }
        }
    }

    #[test]
    fn raising_the_floor_never_lowers_a_level((grid, slope, drains, one) in grid(), more in 0.0..20.0_f64) {
        let before = grid.flood(&slope.up(), &drains);
        let mut raised = grid.clone();
        raised.height_mm[one] += more;
        let after = raised.flood(&slope.up(), &drains);
        for cell in 0..grid.height_mm.len() {
            prop_assert!(after.level_mm[cell] >= before.level_mm[cell] - 1e-12);
        }
    }
}

#[test]
fn in_a_whole_boot_blocking_drains_never_lowers_water() {
    let opened = dryberth::format::open_demo(None).expect("the demo");
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("sound");
    let cases = boot.water();
    let mut compared = 0;
    for free in cases.iter().filter(|case| case.drains == DrainState::AsFound) {
        for blocked in cases.iter().filter(|case| case.slope == free.slope) {
            for (low, high) in free.floods.level_mm.iter().zip(&blocked.floods.level_mm) {
                assert!(low <= high, "{:?}", blocked.drains);
            }
            compared += 1;
        }
    }
    assert!(compared >= 27);
}
