//! Standing water.

use dryberth::checks::Boot;
use dryberth::checks::water::{DrainState, Slope};
use dryberth::geometry::{
    Basins, Filling, HeightGrid, NO_FLOOR_MM, Outlet, RunEnd, SpillInto, Triangles, run_down,
};
use dryberth::model::{Point, Vector};
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

/// Holes in the floor at some cells.
fn holes(drains: &[usize]) -> Vec<Outlet> {
    let hole = |(of, &cell): (usize, &usize)| Outlet { cell, rim_mm: NO_FLOOR_MM, of };
    drains.iter().enumerate().map(hole).collect()
}

/// A floor with a shelf on it here and there: boxes of random heights, some with another one over
/// them that leaves air between.
fn storeys() -> impl Strategy<Value = (HeightGrid, Slope)> {
    let column = (0..30_u8, proptest::option::of((1..12_u8, 1..8_u8)));
    (proptest::collection::vec(column, 49), (-20.0..20.0_f64, -10.0..10.0_f64)).prop_map(
        |(columns, (along_pct, across_pct))| {
            let mut parts: Vec<Triangles> = Vec::new();
            for (index, (floor, shelf)) in columns.into_iter().enumerate() {
                let (x, y) = ((index % 7) as f64 * 10.0, (index / 7) as f64 * 10.0);
                let mut stand = |low: f64, high: f64| {
                    let (from, to) = (Point::new(x, y, low), Point::new(x + 10.0, y + 10.0, high));
                    parts.push(Triangles::cuboid(&from, &to));
                };
                let floor = f64::from(floor);
                stand(-5.0, floor);
                if let Some((air, thick)) = shelf {
                    let low = floor + 1.0 + f64::from(air);
                    stand(low, low + f64::from(thick));
                }
            }
            let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 10.0).expect("a floor");
            (grid, Slope { words: "", along_pct, across_pct })
        },
    )
}

proptest! {
    #![proptest_config(cases(64))]

    /// Water in pools and water gone is water in, however much of it, wherever it is poured.
    #[test]
    fn poured_water_is_all_accounted_for((grid, slope, drains, one) in grid(), share in 0.0..3.0_f64) {
        let basins = Basins::of(&grid, &slope.up());
        let outlets = holes(&drains);
        let filling = Filling::from(&basins, &grid, &outlets, one).expect("there is floor everywhere");
        let litres = share * filling.full_l.max(0.01);
        let poured = filling.after(&basins, &grid, litres);
        let held: f64 = poured.pools.iter().map(|pool| pool.0).sum();
        let drained: f64 = poured.drained_l.values().sum();
        prop_assert!((held + drained + poured.spilled_l - litres).abs() < 1e-12 + 1e-9 * litres,
            "{litres}: {poured:?}");
        // What stands in the end stands no higher than the flood that fills everything.
        let floods = grid.flood_over(&slope.up(), &outlets);
        for (_, level_mm) in &poured.pools {
            let most = floods.level_mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(*level_mm <= most + 1e-9);
        }
        if share >= 1.0 {
            let in_pool = floods.depth_mm(one) > 0.0;
            prop_assert!(!in_pool || filling.litres_until(&basins, &grid, one, floods.level_mm[one]).is_some());
        }
    }

    /// The pools are the flood: together they hold all of it, and each spills where nothing holds more.
    #[test]
    fn pools_hold_the_flood((grid, slope, drains, _) in grid()) {
        let outlets = holes(&drains);
        let (floods, pools) = Basins::of(&grid, &slope.up()).filled(&grid, &outlets);
        let all: f64 = pools.iter().map(|pool| pool.litres).sum();
        prop_assert!((all - floods.litres(&grid)).abs() < 1e-12 + 1e-9 * all);
        let wet = (0..grid.cells()).filter(|cell| floods.depth_mm(*cell) > 0.0).count();
        prop_assert_eq!(pools.iter().map(|pool| pool.cells).sum::<usize>(), wet);
        for pool in &pools {
            let spill = slope.up().dot(&pool.spill.coords);
            prop_assert!(spill <= pool.level_mm + 1e-9, "{pool:?}");
            if let SpillInto::Pool(next) = pool.into {
                prop_assert!(pools[next].level_mm <= pool.level_mm);
            }
        }
    }

    /// In several storeys water still lies level: beside a wet cell, where air meets, stands water as high,
    /// or floor above it.
    #[test]
    fn storeys_hold_water_level((grid, slope) in storeys()) {
        let (floods, pools) = Basins::of(&grid, &slope.up()).filled(&grid, &[]);
        for cell in 0..grid.cells() {
            if grid.floor_mm(cell) == NO_FLOOR_MM || floods.depth_mm(cell) <= 0.0 {
                continue;
            }
            for beside in grid.beside(cell) {
                prop_assert!(floods.level_mm[beside] >= floods.level_mm[cell] - 1e-9);
            }
        }
        let all: f64 = pools.iter().map(|pool| pool.litres).sum();
        prop_assert!((all - floods.litres(&grid)).abs() < 1e-12 + 1e-9 * all);
    }

    /// A drop ends, and where it ends it can't go on.
    #[test]
    fn a_drop_runs_down_and_ends((grid, slope, drains, one) in grid()) {
        let floods = grid.flood(&slope.up(), &drains);
        let outlets = holes(&drains);
        let (points, end) = run_down(&grid, &floods, &outlets, &grid.centre(one), one);
        prop_assert!(points.len() <= grid.cells());
        let last = points.last().copied().unwrap_or_else(|| grid.centre(one));
        let down = |point: &Point| -> f64 { Vector::z().dot(&point.coords) };
        prop_assert!(down(&last) <= 30.0);
        if let RunEnd::Outlet(outlet) = end {
            prop_assert!(outlet < drains.len());
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
