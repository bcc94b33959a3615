//! How a template is laid over sheets of paper.

use crate::documents::panel::Panel;

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8½ × 11 inches, 215.9 × 279.4 mm.
    Letter,
}

impl Paper {
    /// Every size by the name that the command line uses.
    pub const ALL: [(&'static str, Paper); 3] =
        [("a4", Paper::A4), ("a3", Paper::A3), ("letter", Paper::Letter)];

    /// Width and height upright, mm.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::A3 => (297.0, 420.0),
            Paper::Letter => (215.9, 279.4),
        }
    }

    /// Its name.
    pub fn words(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
            Paper::Letter => "Letter",
        }
    }
}

/// What printers leave blank at the edges, mm. Common practice, no source.
const MARGIN_MM: f64 = 10.0;
/// Room for the words at the foot of a sheet, mm.
const FOOT_MM: f64 = 20.0;
/// How far neighbouring tiles overlap, mm.
pub(super) const OVERLAP_MM: f64 = 12.0;
/// Free room round the panel, mm.
pub(super) const ROUND_MM: f64 = 6.0;
/// Most sheets of one template.
const MOST_TILES: usize = 400;

/// One sheet's part of the template.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tile {
    /// Row from the top, from 1.
    pub row: usize,
    /// Column from the left, from 1.
    pub column: usize,
    /// The panel's x at the left edge of the drawn part, mm.
    pub left_mm: f64,
    /// The panel's y at its upper edge, mm.
    pub top_mm: f64,
}

/// A template laid over sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct TilePlan {
    /// Size of a sheet as it is turned, mm.
    pub page_mm: (f64, f64),
    /// Where on the sheet the drawn part begins, from its upper left corner, mm.
    pub drawn_at_mm: (f64, f64),
    /// Size of the drawn part, mm.
    pub drawn_mm: (f64, f64),
    /// How far neighbours overlap, mm.
    pub overlap_mm: f64,
    /// Rows and columns.
    pub grid: (usize, usize),
    /// The sheets, row by row from the upper left.
    pub tiles: Vec<Tile>,
}

/// Lays a panel over sheets of this paper, upright or lying, whichever takes fewer sheets. None when
/// it would take more than 400.
pub fn tiles(panel: &Panel, paper: Paper) -> Option<TilePlan> {
    let [mut left, mut bottom, mut right, mut top] = panel.outline.bounds();
    for more in panel.opening.iter().chain(&panel.holes) {
        let [l, b, r, t] = more.bounds();
        (left, bottom, right, top) = (left.min(l), bottom.min(b), right.max(r), top.max(t));
    }
    let (left, top) = (left - ROUND_MM, top + ROUND_MM);
    let (width, height) = (right + ROUND_MM - left, top - bottom + ROUND_MM);
    let (short, long) = paper.size_mm();
    let plans = [(short, long), (long, short)].map(|page_mm| {
        let drawn = (page_mm.0 - 2.0 * MARGIN_MM, page_mm.1 - MARGIN_MM - FOOT_MM);
        let count = |whole: f64, part: f64| {
            ((whole - OVERLAP_MM - 1e-9) / (part - OVERLAP_MM)).ceil().max(1.0) as usize
        };
        let grid = (count(height, drawn.1), count(width, drawn.0));
        (page_mm, drawn, grid)
    });
    let fewest = |plan: &&((f64, f64), (f64, f64), (usize, usize))| plan.2.0 * plan.2.1;
    let (page_mm, drawn_mm, grid) = *plans.iter().min_by_key(fewest)?;
    if grid.0.saturating_mul(grid.1) > MOST_TILES {
        return None;
    }
    // What the sheets have over is shared out on both sides.
    let cover = |count: usize, part: f64| count as f64 * (part - OVERLAP_MM) + OVERLAP_MM;
    let spare = (cover(grid.1, drawn_mm.0) - width, cover(grid.0, drawn_mm.1) - height);
    let tile = |row: usize, column: usize| Tile {
        row: row + 1,
        column: column + 1,
        left_mm: left - spare.0 / 2.0 + column as f64 * (drawn_mm.0 - OVERLAP_MM),
        top_mm: top + spare.1 / 2.0 - row as f64 * (drawn_mm.1 - OVERLAP_MM),
    };
    let tiles =
        (0..grid.0).flat_map(|row| (0..grid.1).map(move |column| tile(row, column))).collect();
    Some(TilePlan {
        page_mm,
        drawn_at_mm: (MARGIN_MM, MARGIN_MM),
        drawn_mm,
        overlap_mm: OVERLAP_MM,
        grid,
        tiles,
    })
}
