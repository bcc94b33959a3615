//! Room for a line: how far each place of the boot is from the nearest solid.

use std::sync::Arc;

use super::{Bounds, Solid};
use crate::model::Point;

/// Distances beyond this are not told apart, mm.
const FAR_MM: f64 = 60.0;

/// Most cells of a field; a larger boot gets larger cells.
const MOST_CELLS: f64 = 400_000.0;

/// A solid that lines keep away from.
#[derive(Clone)]
pub struct Obstacle {
    /// The solid.
    pub solid: Solid,
    /// How much farther lines keep away from it than from others, mm.
    pub extra_mm: f64,
}

/// A coarse grid of distances to the nearest obstacle, with the obstacles for exact answers. An
/// obstacle counts as nearer by what lines keep away from it beyond the usual.
#[derive(Clone)]
pub struct ClearanceField {
    obstacles: Vec<Obstacle>,
    low: Point,
    step_mm: f64,
    size: [usize; 3],
    distance_mm: Arc<Vec<f32>>,
}

/// The solid nearest to a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldHit {
    /// Signed distance to its surface, mm.
    pub distance_mm: f64,
    /// How much farther lines keep away from it than from others, mm.
    pub extra_mm: f64,
    /// Its index among the obstacles that the field was made of.
    pub solid: usize,
}

impl ClearanceField {
    /// A field over `bounds` and 60 mm round them, with cells of `step_mm` or more. Fields over the
    /// same bounds have the same cells.
    pub fn of(obstacles: Vec<Obstacle>, bounds: &Bounds, step_mm: f64) -> ClearanceField {
        let bounds = bounds.grown(FAR_MM);
        let extent = bounds.high - bounds.low;
        let step_mm = step_mm.max((extent.x * extent.y * extent.z / MOST_CELLS).cbrt());
        let size = [0, 1, 2].map(|axis| (extent[axis] / step_mm).ceil().max(1.0) as usize);
        let mut field = ClearanceField {
            obstacles: Vec::new(),
            low: bounds.low,
            step_mm,
            size,
            distance_mm: Arc::default(),
        };
        let mut distance_mm = vec![FAR_MM as f32; size[0] * size[1] * size[2]];
        for obstacle in &obstacles {
            field.enter(obstacle, &mut distance_mm);
        }
        field.distance_mm = Arc::new(distance_mm);
        field.obstacles = obstacles;
        field
    }

    /// The same cells with the same coarse distances, and other obstacles for the exact answers: the
    /// same ones a few mm off, in the same order.
    #[must_use]
    pub(crate) fn with_obstacles(&self, obstacles: Vec<Obstacle>) -> ClearanceField {
        ClearanceField {
            obstacles,
            low: self.low,
            step_mm: self.step_mm,
            size: self.size,
            distance_mm: Arc::clone(&self.distance_mm),
        }
    }

    fn enter(&self, Obstacle { solid, extra_mm }: &Obstacle, distances_mm: &mut [f32]) {
        let near = solid.bounds().grown(FAR_MM + extra_mm);
        let span = |axis: usize| {
            let cell = |value: f64| ((value - self.low[axis]) / self.step_mm).floor();
            let first = cell(near.low[axis]).max(0.0) as usize;
            let last = (cell(near.high[axis]).max(0.0) as usize + 1).min(self.size[axis]);
            first..last
        };
        for z in span(2) {
            for y in span(1) {
                for x in span(0) {
                    let cell = self.cell([x, y, z]);
                    let centre = self.centre(cell);
                    if solid.bounds().distance_to_point_mm(&centre) - extra_mm
                        < f64::from(distances_mm[cell])
                    {
                        let distance_mm = (solid.distance_to_point_mm(&centre) - extra_mm) as f32;
                        distances_mm[cell] = distances_mm[cell].min(distance_mm);
                    }
                }
            }
        }
    }

    fn cell(&self, [x, y, z]: [usize; 3]) -> usize {
        x + self.size[0] * (y + self.size[1] * z)
    }

    /// The obstacles it was made of, in their order.
    pub fn obstacles(&self) -> &[Obstacle] {
        &self.obstacles
    }

    /// Side of a cell, mm.
    pub fn step_mm(&self) -> f64 {
        self.step_mm
    }

    /// How many cells there are.
    pub fn cells(&self) -> usize {
        self.distance_mm.len()
    }

    /// The cell that holds a point; none outside the field.
    pub fn cell_of(&self, point: &Point) -> Option<usize> {
        let mut at = [0; 3];
        for axis in 0..3 {
            let steps = ((point[axis] - self.low[axis]) / self.step_mm).floor();
            if steps < 0.0 || steps >= self.size[axis] as f64 {
                return None;
            }
            at[axis] = steps as usize;
        }
        Some(self.cell(at))
    }

    /// The middle of a cell.
    pub fn centre(&self, cell: usize) -> Point {
        let at = self.coordinates(cell);
        Point::from(
            self.low.coords
                + nalgebra::Vector3::new(
                    at[0] as f64 + 0.5,
                    at[1] as f64 + 0.5,
                    at[2] as f64 + 0.5,
                ) * self.step_mm,
        )
    }

    fn coordinates(&self, cell: usize) -> [usize; 3] {
        [
            cell % self.size[0],
            cell / self.size[0] % self.size[1],
            cell / (self.size[0] * self.size[1]),
        ]
    }

    /// Distance from a cell's middle to the nearest solid, mm, told apart up to 60.
    pub fn distance_mm(&self, cell: usize) -> f64 {
        f64::from(self.distance_mm[cell])
    }

    /// The up to 26 cells round a cell.
    pub fn around(&self, cell: usize) -> impl Iterator<Item = usize> + '_ {
        let at = self.coordinates(cell);
        (0..27).filter(|&turn| turn != 13).filter_map(move |turn| {
            let mut next = [0; 3];
            for (axis, offset) in [turn % 3, turn / 3 % 3, turn / 9].into_iter().enumerate() {
                let moved = at[axis] + offset;
                if moved < 1 || moved > self.size[axis] {
                    return None;
                }
                next[axis] = moved - 1;
            }
            Some(self.cell(next))
        })
    }

    /// The nearest obstacle within `up_to_mm` of a point and what lines keep away beyond the usual,
    /// exactly; obstacles that `skip` names are left out.
    pub fn nearest(
        &self,
        point: &Point,
        up_to_mm: f64,
        skip: impl Fn(usize) -> bool,
    ) -> Option<FieldHit> {
        // No point of a cell is farther from its middle than half its diagonal; the hundredth is for
        // the cell's rounded distance.
        let half_diagonal_mm = self.step_mm * 0.75_f64.sqrt() + 0.01;
        if let Some(cell) = self.cell_of(point)
            && self.distance_mm(cell) - half_diagonal_mm > up_to_mm
        {
            return None;
        }
        let mut best: Option<FieldHit> = None;
        let mut reach_mm = up_to_mm;
        for (index, Obstacle { solid, extra_mm }) in self.obstacles.iter().enumerate() {
            if solid.bounds().distance_to_point_mm(point) - extra_mm > reach_mm || skip(index) {
                continue;
            }
            let distance_mm = solid.distance_to_point_mm(point);
            if distance_mm - extra_mm <= reach_mm {
                reach_mm = distance_mm - extra_mm;
                best = Some(FieldHit { distance_mm, extra_mm: *extra_mm, solid: index });
            }
        }
        best
    }
}
