//! Workload W3: a grid of 1000 × 1000 heights with waves and noise, one side open, three drains, by a
//! formula that gives the same bits in any language with IEEE 754 doubles (`w3.py`).

use dryberth::geometry::{HeightGrid, NO_FLOOR_MM, Outlet};

/// Cells along each side.
pub(crate) const SIDE: usize = 1000;

/// Row and column of each drain.
const DRAINS: [(usize, usize); 3] = [(250, 700), (600, 450), (820, 880)];

/// Side of a cell, mm.
const STEP_MM: f64 = 2.0;

/// A number from 0 to 1 for a lattice point. Method: splitmix64's finaliser, 53 bits of it.
fn lattice(x: u64, y: u64, seed: u64) -> f64 {
    let mut z = (seed << 40)
        .wrapping_add(y << 20)
        .wrapping_add(x)
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / 9_007_199_254_740_992.0
}

/// Lattice numbers, between them smoothly.
fn noise(x: usize, y: usize, wide: usize, seed: u64) -> f64 {
    let (column, row) = ((x / wide) as u64, (y / wide) as u64);
    let share = |at: usize| {
        let t = (at % wide) as f64 / wide as f64;
        t * t * (3.0 - 2.0 * t)
    };
    let (u, v) = (share(x), share(y));
    let at = |column, row| lattice(column, row, seed);
    let low = at(column, row) * (1.0 - u) + at(column + 1, row) * u;
    let high = at(column, row + 1) * (1.0 - u) + at(column + 1, row + 1) * u;
    low * (1.0 - v) + high * v
}

/// A height, mm, rounded to a 32-bit float.
pub(crate) fn height_mm(x: usize, y: usize) -> f64 {
    let waves = 60.0 * noise(x, y, 50, 1) + 24.0 * noise(x, y, 12, 2) + 10.0 * noise(x, y, 5, 3);
    f64::from((waves + 0.004 * x as f64) as f32)
}

/// The grid: its column 0 is open, its other sides are walled by a rim higher than anything.
pub(crate) fn grid() -> HeightGrid {
    patch(SIDE, SIDE)
}

/// The first columns and rows of it, with a rim round them but for column 0.
pub(crate) fn patch(columns: usize, rows: usize) -> HeightGrid {
    // Water leaves a grid at its edge, so the walls are a ring of high cells of their own.
    let (wide, high) = (columns + 1, rows + 2);
    let mut heights = vec![1e4; wide * high];
    for y in 0..rows {
        for x in 0..columns {
            heights[x + (y + 1) * wide] = height_mm(x, y);
        }
    }
    debug_assert!(heights.iter().all(|height| *height > NO_FLOOR_MM));
    HeightGrid::from_heights(STEP_MM, (wide, high), heights)
}

/// The cell of a height in [`patch`].
pub(crate) fn cell(columns: usize, x: usize, y: usize) -> usize {
    x + (y + 1) * (columns + 1)
}

/// The drains, as holes in the floor.
pub(crate) fn outlets() -> Vec<Outlet> {
    DRAINS
        .iter()
        .enumerate()
        .map(|(of, &(y, x))| Outlet { cell: cell(SIDE, x, y), rim_mm: NO_FLOOR_MM, of })
        .collect()
}
