//! How much water each basin holds up to a level.

use super::{Basins, HeightGrid};

/// The cells of every basin by the height at which water comes to them, with running sums, so that a
/// volume is one look-up.
///
/// Cells above the level that their basin takes with every outlet shut are left out: water never stands
/// there. One sort per basin.
#[derive(Debug, Clone)]
pub(super) struct Volumes {
    /// Where each basin's cells begin.
    start: Vec<u32>,
    /// Height above the basin's pit at which a cell's floor, or what is over it, is reached, mm;
    /// ascending within a basin.
    above_mm: Vec<f64>,
    /// Up to and with that cell: litres that one more mm takes, and the litres that floors so far take
    /// away from those.
    sums: Vec<(f64, f64)>,
}

/// Taken for the brim of a sealed space, where only the order of things is asked, mm.
const HIGHEST_MM: f64 = 1e5;

/// How far the water of a basin has risen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Risen {
    pub(super) basin: u32,
    /// How many of the basin's cells are under water.
    cells: u32,
}

impl Risen {
    /// Not at all.
    pub(super) fn nothing(basin: u32) -> Risen {
        Risen { basin, cells: 0 }
    }
}

/// What a cell adds to its basin's volume.
struct Reached {
    basin: u32,
    /// From this height over the pit on, mm.
    above_mm: f64,
    /// For each mm more.
    litres: f64,
}

/// The cells of every basin that lie below its brim. Under a ceiling a cell comes twice: where water
/// comes to it, and where it is full.
fn reached(basins: &Basins, grid: &HeightGrid, brim: &[f64]) -> Vec<Reached> {
    let mut found = Vec::new();
    let mut add = |basin: u32, floor: f64, ceiling: f64, plan_mm2: f64| {
        if floor < brim[basin as usize] && floor < ceiling {
            let (pit_mm, litres) = (basins.pit_mm(basin), basins.litres_per_mm(plan_mm2));
            found.push(Reached { basin, above_mm: floor - pit_mm, litres });
            if ceiling.is_finite() {
                found.push(Reached { basin, above_mm: ceiling - pit_mm, litres: -litres });
            }
        }
    };
    let (floor, of, squares) = (basins.floor_mm(), basins.of_cells(), grid.squares());
    let widths: Vec<f64> = grid.x_lines.windows(2).map(|pair| pair[1] - pair[0]).collect();
    for (row, pair) in grid.y_lines.windows(2).enumerate() {
        let across_mm = pair[1] - pair[0];
        for (column, along_mm) in widths.iter().enumerate() {
            let cell = column + row * widths.len();
            if of[cell] != u32::MAX {
                add(of[cell], floor[cell], f64::INFINITY, along_mm * across_mm);
            }
        }
    }
    for cell in (squares..of.len()).filter(|cell| of[*cell] != u32::MAX) {
        let (along_mm, across_mm) = grid.sides_mm(cell);
        add(of[cell], floor[cell], basins.ceiling_mm(cell), along_mm * across_mm);
    }
    found
}

impl Volumes {
    pub(super) fn of(basins: &Basins, grid: &HeightGrid) -> Volumes {
        let brim = basins.solve(grid, &[]).level_mm;
        let found = reached(basins, grid, &brim);
        let mut start = vec![0_u32; basins.count() + 1];
        for reached in &found {
            start[reached.basin as usize + 1] += 1;
        }
        for basin in 0..basins.count() {
            start[basin + 1] += start[basin];
        }
        // Within a basin by equal steps of height, as many as it has cells; then few are left to sort.
        let per_mm: Vec<f64> = (0..basins.count())
            .map(|basin| {
                let cells = f64::from(start[basin + 1] - start[basin]);
                cells / (brim[basin].min(HIGHEST_MM) - basins.pit_mm(basin as u32))
            })
            .collect();
        let step = |reached: &Reached| {
            let own = (start[reached.basin as usize], start[reached.basin as usize + 1]);
            let step = (reached.above_mm * per_mm[reached.basin as usize]) as u32;
            (own.0 + step.min(own.1 - own.0 - 1)) as usize
        };
        let mut next = vec![0_u32; found.len() + 1];
        for reached in &found {
            next[step(reached) + 1] += 1;
        }
        for step in 0..found.len() {
            next[step + 1] += next[step];
        }
        let mut sorted = vec![(0.0, 0.0); found.len()];
        for reached in &found {
            let at = &mut next[step(reached)];
            sorted[*at as usize] = (reached.above_mm, reached.litres);
            *at += 1;
        }
        let mut from = 0;
        for &to in next.iter().take(found.len()) {
            let own = &mut sorted[from..to as usize];
            if own.len() > 1 {
                own.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
            }
            from = to as usize;
        }
        let mut sums = Vec::with_capacity(sorted.len());
        for pair in start.windows(2) {
            let mut sum = (0.0, 0.0);
            for (above_mm, litres) in &sorted[pair[0] as usize..pair[1] as usize] {
                sum = (sum.0 + litres, sum.1 + litres * above_mm);
                sums.push(sum);
            }
        }
        let above_mm = sorted.into_iter().map(|(above_mm, _)| above_mm).collect();
        Volumes { start, above_mm, sums }
    }

    /// Litres in a basin with water up to a level along up, at most its brim; 0 with the level at its
    /// pit or lower.
    pub(super) fn held_l(&self, basins: &Basins, basin: u32, level_mm: f64) -> f64 {
        self.risen_l(basins, &mut Risen::nothing(basin), level_mm)
    }

    /// The same for a level that is no lower than when it was last asked with this `risen`.
    pub(super) fn risen_l(&self, basins: &Basins, risen: &mut Risen, level_mm: f64) -> f64 {
        let basin = risen.basin as usize;
        let own = self.start[basin] as usize..self.start[basin + 1] as usize;
        let above_mm = level_mm - basins.pit_mm(risen.basin);
        let dry = &self.above_mm[own.clone()][risen.cells as usize..];
        if dry.first().is_some_and(|next| *next < above_mm) {
            risen.cells += dry.partition_point(|next| *next < above_mm) as u32;
        }
        match risen.cells {
            0 => 0.0,
            cells => {
                let (per_mm, less) = self.sums[own.start + cells as usize - 1];
                per_mm * above_mm - less
            }
        }
    }
}
