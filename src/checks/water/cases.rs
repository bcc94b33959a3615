//! The cases in which water stands: parked slopes, which drains run, and what stands then.

use crate::geometry::{Floods, HeightGrid, Pool};
use crate::model::{Drain, Point, Vector};

/// A slope the car is parked on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// In words.
    pub words: &'static str,
    /// Rise towards the nose, %; negative when it stands nose down.
    pub along_pct: f64,
    /// Rise towards the left side, %.
    pub across_pct: f64,
}

impl Slope {
    /// Up, unit length, in the vehicle frame of a car that stands on it.
    ///
    /// ```
    /// // 20 % along and 2.5 % across is 11.40° in all.
    /// let slope = dryberth::checks::water::Slope { words: "", along_pct: 20.0, across_pct: 2.5 };
    /// assert!((slope.up().z.acos().to_degrees() - 11.40).abs() < 0.005);
    /// ```
    pub fn up(&self) -> Vector {
        Vector::new(self.along_pct / 100.0, self.across_pct / 100.0, 1.0).normalize()
    }
}

/// Level, ±20 % along, ±10 % across and both together. Source for 20 %: the gradient that a parking
/// brake must hold (UN R13-H, from memory); 10 % across is common practice, no source.
pub const SLOPES: [Slope; 9] = [
    Slope { words: "on level ground", along_pct: 0.0, across_pct: 0.0 },
    Slope { words: "nose up 20 %", along_pct: 20.0, across_pct: 0.0 },
    Slope { words: "nose down 20 %", along_pct: -20.0, across_pct: 0.0 },
    Slope { words: "left side higher by 10 %", along_pct: 0.0, across_pct: 10.0 },
    Slope { words: "right side higher by 10 %", along_pct: 0.0, across_pct: -10.0 },
    Slope { words: "nose up 20 %, left side higher by 10 %", along_pct: 20.0, across_pct: 10.0 },
    Slope { words: "nose up 20 %, right side higher by 10 %", along_pct: 20.0, across_pct: -10.0 },
    Slope { words: "nose down 20 %, left side higher by 10 %", along_pct: -20.0, across_pct: 10.0 },
    Slope {
        words: "nose down 20 %, right side higher by 10 %",
        along_pct: -20.0,
        across_pct: -10.0,
    },
];

/// Depth from which water is drawn, mm; thinner films are wetness, not standing water.
const SHOWN_FROM_MM: f64 = 0.5;

/// Which drains run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrainState {
    /// As they were found.
    AsFound,
    /// As found, and this one blocked too; its place in the layout's list.
    OneBlocked(usize),
    /// None runs.
    AllBlocked,
}

impl DrainState {
    /// In words, naming a blocked drain.
    pub fn words(self, drains: &[Drain]) -> String {
        match self {
            DrainState::AsFound => "drains as found".to_string(),
            DrainState::OneBlocked(drain) => {
                let name = drains.get(drain).map_or("drain", |drain| drain.name.as_str());
                format!("{name} blocked")
            }
            DrainState::AllBlocked => "all drains blocked".to_string(),
        }
    }

    /// Whether a drain of the list runs in it.
    pub fn runs(self, index: usize, drain: &Drain) -> bool {
        match self {
            DrainState::AsFound => !drain.blocked,
            DrainState::OneBlocked(blocked) => !drain.blocked && index != blocked,
            DrainState::AllBlocked => false,
        }
    }
}

/// Water filled to the brim for one slope and drain state.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterCase {
    /// The slope.
    pub slope: Slope,
    /// The drains.
    pub drains: DrainState,
    /// Levels cell by cell.
    pub floods: Floods,
    /// Pools of 10 ml or more, the largest first. [`SpillInto::Outlet`] counts the layout's drains,
    /// [`SpillInto::Pool`] this list.
    pub pools: Vec<Pool>,
}

impl WaterCase {
    /// The case in words, naming a blocked drain.
    pub fn words(&self, drains: &[Drain]) -> String {
        format!("{}, {}", self.drains.words(drains), self.slope.words)
    }

    /// The water's surface to draw: a flat four-cornered strip for each run of squares along x that
    /// stand at one level, over every storey. Corners counter-clockwise from above, vehicle frame.
    pub fn surface(&self, grid: &HeightGrid) -> Vec<[Point; 4]> {
        let up = self.floods.up;
        let level = |cell: usize| {
            (self.floods.depth_mm(cell) > SHOWN_FROM_MM).then(|| self.floods.level_mm[cell])
        };
        let strip = |first: usize, last: usize, row: usize, height: f64| {
            let corner = |x: f64, y: f64| Point::new(x, y, (height - up.x * x - up.y * y) / up.z);
            let (left, right) = (grid.x_lines[first], grid.x_lines[last]);
            let (near, far) = (grid.y_lines[row], grid.y_lines[row + 1]);
            [corner(left, near), corner(right, near), corner(right, far), corner(left, far)]
        };
        let mut strips = Vec::new();
        if up.z < 0.1 {
            return strips;
        }
        let (columns, rows) = grid.size;
        for row in 0..rows {
            let mut column = 0;
            while column < columns {
                let Some(height) = level(column + row * columns) else {
                    column += 1;
                    continue;
                };
                let first = column;
                while column < columns
                    && level(column + row * columns)
                        .is_some_and(|other| (other - height).abs() < 0.05)
                {
                    column += 1;
                }
                strips.push(strip(first, column, row, height));
            }
        }
        for cell in grid.squares()..grid.cells() {
            // Where water presses against what is over it there is no surface.
            let Some(height) = level(cell) else { continue };
            let centre = grid.centre(cell);
            if height < up.dot(&Vector::new(centre.x, centre.y, grid.ceiling_mm(cell))) {
                let (column, row) = (grid.square(cell) % columns, grid.square(cell) / columns);
                strips.push(strip(column, column + 1, row, height));
            }
        }
        strips
    }
}
