//! Standing water on grids that two depression-filling libraries test themselves with.
//!
//! Cells on the border are open. Water passes between cells that share a side, never a corner.

use dryberth::geometry::{Basins, Filling, HeightGrid, RunEnd, SpillInto, Triangles, run_down};
use dryberth::model::{Point, Vector};

use crate::near;

/// Levels and the grid of rows from the top as printed.
fn filled(rows: &[&[f64]], outlets: &[(usize, usize)]) -> (Vec<Vec<f64>>, f64) {
    let columns = rows[0].len();
    let grid = HeightGrid::from_heights(1.0, (columns, rows.len()), rows.concat());
    let outlets: Vec<usize> = outlets.iter().map(|(row, column)| row * columns + column).collect();
    let floods = grid.flood(&Vector::z(), &outlets);
    let added = floods.litres(&grid) * 1e6;
    (floods.level_mm.chunks(columns).map(<[f64]>::to_vec).collect(), added)
}

/// W1, W2: rims 1.0, (1,1) 0.5, (2,2) 0.6, (3,1) 0.7, gaps in the rim (4,1) 0.8 and (1,5) 0.9.
const RIM: [&[f64]; 5] = [
    &[1.0, 1.0, 1.0, 1.0, 1.0, 1.0],
    &[1.0, 0.5, 1.0, 1.0, 1.0, 0.9],
    &[1.0, 1.0, 0.6, 1.0, 1.0, 1.0],
    &[1.0, 0.7, 1.0, 1.0, 1.0, 1.0],
    &[1.0, 0.8, 1.0, 1.0, 1.0, 1.0],
];

#[test]
fn w1_w2_water_passes_sides_only() {
    // 4 neighbours (W2): (1,1) and (2,2) to 1.0, (3,1) to 0.8; 1.0 cell units added. A flood-fill
    // library's tests, READ. ± 1e-12. With 8 neighbours (W1) it would be 0.8 each and 0.6 in all: the
    // diagonal trap.
    let (level, added) = filled(&RIM, &[]);
    near(level[1][1], 1.0, 1e-12);
    near(level[2][2], 1.0, 1e-12);
    near(level[3][1], 0.8, 1e-12);
    near(added, 1.0, 1e-9);
    assert!(added > 0.9, "a seam leaks at its corner");
}

#[test]
fn a_drain_in_the_middle_empties_its_own_pit_only() {
    // CALC on the same grid: an outlet at (2,2) dries it; (1,1) still stands to 1.0.
    let (level, added) = filled(&RIM, &[(2, 2)]);
    near(level[2][2], 0.6, 1e-12);
    near(level[1][1], 1.0, 1e-12);
    near(added, 0.6, 1e-9);
}

#[test]
fn w3_w4_one_outlet_and_no_edge() {
    // The same library's outflow tests, READ: water leaves at (3,4) = 0.1 only. 4 neighbours (W4): 0.6 in
    // the left hollow, 0.4 in the middle and at (5,2). With 8 neighbours (W3) it would be 0.3: a corner
    // leaks. Ours leaves at the edge too, so a ring stands round the grid that nothing rises over.
    let rows: [[f64; 6]; 6] = [
        [1.0, 1.0, 1.0, 1.0, 1.0, 1.0],
        [1.0, 0.1, 1.0, 1.0, 1.0, 1.0],
        [0.1, 0.6, 0.2, 0.3, 1.0, 1.0],
        [0.2, 0.7, 0.3, 0.4, 0.1, 1.0],
        [1.0, 0.8, 0.4, 1.0, 1.0, 1.0],
        [1.0, 1.0, 0.2, 1.0, 1.0, 1.0],
    ];
    let raised = [
        ((1, 1), 0.6),
        ((2, 0), 0.6),
        ((3, 0), 0.6),
        ((2, 2), 0.4),
        ((2, 3), 0.4),
        ((3, 2), 0.4),
        ((5, 2), 0.4),
    ];
    let mut ringed = vec![vec![9.0; 8]; 8];
    for (row, heights) in rows.iter().enumerate() {
        ringed[row + 1][1..7].copy_from_slice(heights);
    }
    let printed: Vec<&[f64]> = ringed.iter().map(Vec::as_slice).collect();
    let (level, added) = filled(&printed, &[(4, 5)]);
    let mut total = 0.0;
    for (row, heights) in rows.iter().enumerate() {
        for (column, height) in heights.iter().enumerate() {
            let known = raised.iter().find(|(at, _)| *at == (row, column));
            let expected = known.map_or(*height, |(_, level)| *level);
            near(level[row + 1][column + 1], expected, 1e-12);
            total += expected - height;
        }
    }
    near(added, total, 1e-9);
    assert!(level[2][2] > 0.5, "a seam leaks at its corner: W3's 0.3");
}

#[test]
fn w5_three_closed_basins() {
    // Walls 2 over ground 0, nine enclosed cells in three basins: all fill to 2; with cells of 3 m
    // that is 162 m³. A terrain library's tests, READ; the volume CALC. The basins' places are ours.
    let mut rows = vec![vec![2.0; 10]; 10];
    for (row, column) in [(2, 2), (2, 3), (3, 2), (2, 6), (2, 7), (2, 8), (6, 4), (7, 4), (7, 5)] {
        rows[row][column] = 0.0;
    }
    let heights: Vec<f64> = rows.concat().iter().map(|metre| metre * 1000.0).collect();
    let grid = HeightGrid::from_heights(3000.0, (10, 10), heights);
    let floods = grid.flood(&Vector::z(), &[]);
    let wet = (0..100).filter(|&cell| floods.depth_mm(cell) > 0.0).count();
    assert_eq!(wet, 9);
    near(floods.litres(&grid) / 1000.0, 162.0, 1e-9);
}

#[test]
fn w6_a_single_pit() {
    // 3,3,3,7 / 3,2,4,2 / 5,6,8,0: only (1,1) = 2 is a pit; it rises to 3. A hydrology library's
    // example, input READ, answer CALC.
    let rows: [&[f64]; 3] = [&[3.0, 3.0, 3.0, 7.0], &[3.0, 2.0, 4.0, 2.0], &[5.0, 6.0, 8.0, 0.0]];
    let (level, added) = filled(&rows, &[]);
    near(level[1][1], 3.0, 1e-12);
    near(level[1][2], 4.0, 1e-12);
    near(added, 1.0, 1e-9);
}

#[test]
fn a_seam_of_touching_corners_holds_water() {
    // The diagonal trap (difference of W1 and W2): a wall that steps one cell over at a time.
    let height = |row: usize, column: usize| match (row, column) {
        (0 | 8, _) | (_, 0 | 8) => 5.0,
        _ if row == column => 4.0,
        _ => 0.0,
    };
    let rows: Vec<Vec<f64>> =
        (0..9).map(|row| (0..9).map(|column| height(row, column)).collect()).collect();
    let printed: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
    let (level, _) = filled(&printed, &[(1, 7)]);
    near(level[1][6], 0.0, 1e-12); // this side drains
    near(level[7][1], 4.0, 1e-12); // behind the seam it stands to its top
}

#[test]
fn a_tray_on_a_slope_keeps_a_wedge() {
    // Closed form: a tray of 1000 × 600 mm inside with a rim of 40 mm, nose up 10 %: water stands to
    // the tail rim and dries out 400 mm ahead of it: ½ × 40 × 400 × 600 mm = 4.8 L. ± 2.5 %: the
    // grid's cells are 5 mm, and a wall's face on a cell's edge takes that cell too.
    let wall =
        |from: [f64; 3], to: [f64; 3]| Triangles::cuboid(&Point::from(from), &Point::from(to));
    let parts = [
        wall([0.0, 0.0, -10.0], [1010.0, 610.0, 0.0]),
        wall([0.0, 0.0, -10.0], [5.0, 610.0, 40.0]),
        wall([1005.0, 0.0, -10.0], [1010.0, 610.0, 200.0]),
        wall([0.0, 0.0, -10.0], [1010.0, 5.0, 200.0]),
        wall([0.0, 605.0, -10.0], [1010.0, 610.0, 200.0]),
    ];
    let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 5.0).expect("a tray");
    let up = dryberth::checks::water::Slope { words: "", along_pct: 10.0, across_pct: 0.0 }.up();
    near(grid.flood(&up, &[]).litres(&grid), 4.8, 0.12);
    // Level it stands 40 mm deep all over: 24 L, by the same grid.
    near(grid.flood(&Vector::z(), &[]).litres(&grid), 24.0, 0.6);
}

#[test]
fn a_drain_passes_what_the_handbook_says() {
    // Q = Cd A √(2 g h), Cd 0.62 for a sharp edge (engineering handbook, READ): a 10 mm hole under 50 mm
    // passes 2.894 l/min (CALC, with g = 9.81 m/s²; we take 9.80665). Twice the head passes 1.414 times as much.
    let flow = dryberth::checks::water::drain_flow_l_min;
    near(flow(10.0, 50.0) * (9.81_f64 / 9.80665).sqrt(), 2.894, 5e-4);
    near(flow(10.0, 100.0) / flow(10.0, 50.0), 1.414, 5e-4);
    near(flow(20.0, 50.0) / flow(10.0, 50.0), 4.0, 1e-12);
    let head = dryberth::checks::water::drain_head_mm;
    near(head(10.0, 2.894) * 9.80665 / 9.81, 50.0, 0.02);
}

#[test]
fn a_shelf_runs_over_into_the_floor_below() {
    // Closed form: a tray of 400 × 200 mm inside whose right wall is 20 mm high, the others 200, with a
    // shelf at 60 over its left half that has a lip of 10 mm.
    let block =
        |from: [f64; 3], to: [f64; 3]| Triangles::cuboid(&Point::from(from), &Point::from(to));
    let parts = [
        block([-10.0, -10.0, -10.0], [410.0, 210.0, 0.0]),
        block([-10.0, -10.0, -10.0], [0.0, 210.0, 200.0]),
        block([400.0, -10.0, -10.0], [410.0, 210.0, 20.0]),
        block([-10.0, -10.0, -10.0], [410.0, 0.0, 200.0]),
        block([-10.0, 200.0, -10.0], [410.0, 210.0, 200.0]),
        // The shelf: 3 mm of sheet at 60, its lip at 70.
        block([0.0, 0.0, 57.0], [200.0, 200.0, 60.0]),
        block([197.0, 0.0, 57.0], [200.0, 200.0, 70.0]),
    ];
    let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 5.0).expect("a tray");
    let basins = Basins::of(&grid, &Vector::z());
    let (_, pools) = basins.filled(&grid, &[]);
    assert_eq!(pools.len(), 2, "{pools:?}");
    // The pan on the shelf: 197 × 200 × 10 mm = 0.394 l; the tray to its rim at 20: 400 × 200 × 20 = 1.6 l.
    let mut litres: Vec<f64> = pools.iter().map(|pool| pool.litres).collect();
    litres.sort_by(f64::total_cmp);
    near(litres[0], 0.394, 1e-9);
    near(litres[1], 1.6, 1e-9);
    // The pan spills into the tray, and the tray off the floor.
    let pan = pools.iter().position(|pool| pool.litres < 1.0).expect("the pan");
    assert_eq!(pools[pan].into, SpillInto::Pool(1 - pan));
    assert_eq!(pools[1 - pan].into, SpillInto::Edge);
    // Poured onto the shelf, the tray begins to fill after 0.394 l; 1.194 l stand 10 mm deep in it.
    let on_shelf = grid.cell_under(&Point::new(50.0, 100.0, 65.0)).expect("on the shelf");
    let under = grid.cell_under(&Point::new(50.0, 100.0, 5.0)).expect("under the shelf");
    let filling = Filling::from(&basins, &grid, &[], on_shelf).expect("a floor");
    let until = filling.litres_until(&basins, &grid, under, 10.0).expect("it gets there");
    near(until, 0.394 + 0.8, 1e-9);
}

#[test]
fn a_drip_on_a_slope_runs_straight_down_it() {
    // Closed form: on a flat floor, nose up 20 % and left side higher by 10 %, a drop runs two to the rear
    // for one to the right. ± 3 %: cells of
    // 5 mm.
    let floor =
        Triangles::cuboid(&Point::new(-1000.0, -1000.0, -10.0), &Point::new(1000.0, 1000.0, 0.0));
    let grid = HeightGrid::of(&[&floor], 5.0).expect("a floor");
    let up = dryberth::checks::water::Slope { words: "", along_pct: 20.0, across_pct: 10.0 }.up();
    let floods = grid.flood(&up, &[]);
    let from = Point::new(700.0, 700.0, 0.0);
    let cell = grid.cell(from.x, from.y).expect("on the floor");
    let (points, end) = run_down(&grid, &floods, &[], &from, cell);
    let last = points.last().expect("it runs");
    assert_eq!(end, RunEnd::Edge);
    near((from.x - last.x) / (from.y - last.y), 2.0, 0.06);
}
