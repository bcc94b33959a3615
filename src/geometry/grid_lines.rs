//! Where the lines between a height grid's squares are drawn.

use super::{Bounds, Triangles};
use crate::model::Point;

/// Lines are not drawn nearer to each other than this, mm.
const CLOSEST_LINES_MM: f64 = 1.0;

/// Surfaces with more corners than this were scanned: no lines are drawn along their faces.
const MEASURED_CORNERS: usize = 500;

/// Most lines that faces add along one axis.
const MOST_FACES: usize = 300;

/// A place round which the grid is finer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finer {
    /// Its middle; the height doesn't matter.
    pub at: Point,
    /// How far round it, mm.
    pub reach_mm: f64,
}

/// Lines along one axis: along upright faces, and as many between as the step asks for.
pub(super) fn lines(
    surfaces: &[&Triangles],
    axis: usize,
    bounds: &Bounds,
    step_mm: f64,
    finer: &[Finer],
) -> Vec<f64> {
    let mut faces = vec![bounds.low[axis], bounds.high[axis]];
    let across = 1 - axis;
    for surface in surfaces.iter().filter(|surface| surface.vertices.len() <= MEASURED_CORNERS) {
        for triangle in surface.each() {
            for side in 0..3 {
                let (a, b) = (triangle[side], triangle[(side + 1) % 3]);
                let along = (a[axis] - b[axis]).abs() < 1e-9;
                if along && (a[across] - b[across]).abs() > step_mm {
                    faces.push(a[axis]);
                }
            }
        }
    }
    faces.sort_unstable_by(f64::total_cmp);
    faces.dedup_by(|next, kept| *next - *kept < CLOSEST_LINES_MM);
    if faces.len() > MOST_FACES {
        faces = vec![bounds.low[axis], bounds.high[axis]];
    }
    // The grid ends where the floor does; a hair of rounding is no face of its own.
    if let Some(last) = faces.last_mut() {
        *last = bounds.high[axis];
    }
    let mut found = vec![faces[0] - step_mm, faces[0]];
    for pair in faces.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let near = finer.iter().any(|place| {
            place.at[axis] + place.reach_mm > from && place.at[axis] - place.reach_mm < to
        });
        let parts = ((to - from) / step_mm - 1e-9).ceil().max(1.0) as usize;
        for part in 0..parts {
            let (low, high) = (
                from + (to - from) * part as f64 / parts as f64,
                from + (to - from) * (part + 1) as f64 / parts as f64,
            );
            let fine = near
                && finer.iter().any(|place| {
                    place.at[axis] + place.reach_mm > low && place.at[axis] - place.reach_mm < high
                });
            if fine && high - low > 2.0 * CLOSEST_LINES_MM {
                found.push(f64::midpoint(low, high));
            }
            found.push(if part + 1 == parts { to } else { high });
        }
    }
    // A rim of empty squares all round, so that a wall on the very edge still lies in the grid.
    found.push(faces[faces.len() - 1] + step_mm);
    found.dedup_by(|next, kept| *next <= *kept);
    found
}
