//! Levels and depths of water filled to the brim, cell by cell.

use std::sync::Arc;

use super::{HeightGrid, NO_FLOOR_MM};
use crate::model::Vector;
use crate::units::MM3_PER_LITRE;

/// Water filled to the brim for one attitude and one state of the drains.
#[derive(Debug, Clone, PartialEq)]
pub struct Floods {
    /// Up, unit length, vehicle frame.
    pub up: Vector,
    /// Each cell's floor measured along `up`, mm.
    pub floor_mm: Arc<Vec<f64>>,
    /// Each cell's level measured along `up`, mm; the floor's own where it is dry. Under a shelf that
    /// water stands up to, the level that presses there.
    pub level_mm: Vec<f64>,
    pub(super) ceiling_mm: Arc<Vec<f64>>,
}

impl Floods {
    /// Depth of water in a cell, mm along up; no more than there is room under what is over it.
    pub fn depth_mm(&self, cell: usize) -> f64 {
        let floor = self.floor_mm[cell];
        if floor == NO_FLOOR_MM {
            return 0.0;
        }
        let held = cell
            .checked_sub(self.floor_mm.len() - self.ceiling_mm.len())
            .map_or(self.level_mm[cell], |low| self.level_mm[cell].min(self.ceiling_mm[low]));
        (held - floor).max(0.0)
    }

    /// All the water that stands, litres, on the grid that was flooded.
    pub fn litres(&self, grid: &HeightGrid) -> f64 {
        let mm3: f64 = (0..self.level_mm.len())
            .map(|cell| {
                let depth_mm = self.depth_mm(cell);
                if depth_mm > 0.0 {
                    let (along, across) = grid.sides_mm(cell);
                    depth_mm * along * across
                } else {
                    0.0
                }
            })
            .sum();
        mm3 / self.up.z.max(0.1) / MM3_PER_LITRE
    }
}
