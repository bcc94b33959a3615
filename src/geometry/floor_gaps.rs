//! Holes in the floor with floor all round: nothing was measured there.

use super::{HeightGrid, NO_FLOOR_MM};
use crate::model::Point;

/// A hole in the floor with floor all round it in plan: nothing was measured there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorGap {
    /// A place in it, at the height of the floor beside it.
    pub at: Point,
    /// Its area, mm².
    pub area_mm2: f64,
}

impl HeightGrid {
    /// Holes in the floor that have floor all round them in plan, largest first: squares that no
    /// surface covers. Water is taken to stand over them as if they were shut.
    pub fn gaps(&self) -> Vec<FloorGap> {
        let mut seen = vec![false; self.squares()];
        let mut gaps = Vec::new();
        for first in 0..self.squares() {
            if !self.enclosed[first] || std::mem::replace(&mut seen[first], true) {
                continue;
            }
            let (mut open, mut area_mm2, mut beside_mm) = (vec![first], 0.0, f64::INFINITY);
            while let Some(square) = open.pop() {
                let (along, across) = self.sides_mm(square);
                area_mm2 += along * across;
                for next in self.neighbours(square) {
                    if self.height_mm[next].is_finite() {
                        beside_mm = beside_mm.min(self.height_mm[next]);
                    } else if !std::mem::replace(&mut seen[next], true) {
                        open.push(next);
                    }
                }
            }
            let middle = self.centre(first);
            let z = if beside_mm.is_finite() { beside_mm } else { 0.0 };
            gaps.push(FloorGap { at: Point::new(middle.x, middle.y, z), area_mm2 });
        }
        gaps.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
        gaps
    }
}

/// Which squares without floor the edge of the grid can't be reached from over others such.
pub(super) fn enclosed(size: (usize, usize), height_mm: &[f64]) -> Vec<bool> {
    let (columns, rows) = size;
    let mut shut: Vec<bool> = height_mm.iter().map(|height| *height == NO_FLOOR_MM).collect();
    let on_edge = (0..columns)
        .flat_map(|column| [column, column + (rows.max(1) - 1) * columns])
        .chain((0..rows).flat_map(|row| [row * columns, row * columns + columns.max(1) - 1]));
    let mut open: Vec<usize> = Vec::new();
    for square in on_edge {
        if shut.get(square).copied().unwrap_or(false) {
            shut[square] = false;
            open.push(square);
        }
    }
    while let Some(square) = open.pop() {
        let (column, row) = (square % columns, square / columns);
        let beside = [
            (row > 0).then(|| square - columns),
            (column > 0).then(|| square - 1),
            (column + 1 < columns).then(|| square + 1),
            (row + 1 < rows).then(|| square + columns),
        ];
        for next in beside.into_iter().flatten() {
            if std::mem::replace(&mut shut[next], false) {
                open.push(next);
            }
        }
    }
    shut
}

#[cfg(test)]
mod tests {
    use super::super::Triangles;
    use super::*;

    #[test]
    fn a_hole_with_floor_all_round_is_a_gap_and_holds() {
        let parts = [
            Triangles::cuboid(&Point::new(0.0, 0.0, 0.0), &Point::new(100.0, 40.0, 2.0)),
            Triangles::cuboid(&Point::new(0.0, 60.0, 0.0), &Point::new(100.0, 100.0, 2.0)),
            Triangles::cuboid(&Point::new(0.0, 40.0, 0.0), &Point::new(30.0, 60.0, 2.0)),
            Triangles::cuboid(&Point::new(50.0, 40.0, 0.0), &Point::new(100.0, 60.0, 2.0)),
        ];
        let grid = HeightGrid::of(&parts.iter().collect::<Vec<_>>(), 5.0).expect("a floor");
        let gaps = grid.gaps();
        assert_eq!(gaps.len(), 1);
        assert!((gaps[0].area_mm2 - 400.0).abs() < 1e-6 && (gaps[0].at.z - 2.0).abs() < 1e-9);
    }
}
