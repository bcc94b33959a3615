//! Which cells of the floor a drain opens.

use crate::geometry::{HeightGrid, NO_FLOOR_MM, Outlet};
use crate::model::Drain;

/// How far the sheet under a drain may lie above the height that was measured for it, mm: sheet is
/// dished round a drain.
const DISHED_MM: f64 = 10.0;

/// The cells that a running drain opens: the one that it lies in, and all whose middle the hole covers,
/// where the sheet is not clearly above the hole. Water must rise to the hole's own height first, so a
/// drain in a wall or on a ledge doesn't empty what lies lower. Of several storeys it is the highest
/// that isn't clearly above the hole.
pub(super) fn outlets(grid: &HeightGrid, drain: &Drain, of: usize) -> Vec<Outlet> {
    let radius_mm = drain.diameter_mm / 2.0;
    let covered = grid.squares_round(drain.at.x, drain.at.y, radius_mm);
    let round = covered.into_iter().filter(|square| {
        let centre = grid.centre(*square);
        (centre.x - drain.at.x).hypot(centre.y - drain.at.y) <= radius_mm
    });
    grid.cell(drain.at.x, drain.at.y)
        .into_iter()
        .chain(round)
        .filter_map(|square| {
            let cell = grid.storeys(square).find(|cell| {
                let floor = grid.floor_mm(*cell);
                floor.is_finite() && floor <= drain.at.z + DISHED_MM
            })?;
            // Sheet about as high as was measured: a hole in it. Lower: a hole in a wall beside it.
            let hole = grid.floor_mm(cell) >= drain.at.z - DISHED_MM;
            let rim_mm = if hole { NO_FLOOR_MM } else { drain.at.z };
            Some(Outlet { cell, rim_mm, of })
        })
        .collect()
}
