//! Openings between walls that are too narrow to be told from none.

use super::columns::{Lines, Span};
use super::{Finer, HeightGrid};
use crate::model::Point;

/// What rises by less than this isn't an opening's side, mm; as low as a joint.
const LEAST_RISE_MM: f64 = 1.0;

/// Which openings count as shut.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Narrow<'a> {
    /// As wide as this or narrower, mm.
    pub(crate) up_to_mm: f64,
    /// But for those that lie here, such as drains.
    pub(crate) declared: &'a [Finer],
}

/// A square of an opening that was taken as shut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShutOpening {
    /// The cell, with its floor raised to the lower one of the walls on both sides.
    pub cell: usize,
    /// How wide it is, mm.
    pub width_mm: f64,
    /// Whether there is no floor under it: a slit in sheet over air.
    pub floorless: bool,
    /// Its middle, at the height of its own floor; at that of the wall's foot where it has none.
    pub at: Point,
}

/// A floor raised within a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fill {
    pub(super) cell: u32,
    width_mm: f64,
    /// The span that is raised; none where there is no material at all.
    span: Option<u32>,
    to: Span,
}

impl Fill {
    pub(super) fn opening(&self, grid: &HeightGrid, spans: &[Span]) -> ShutOpening {
        let square = self.cell as usize;
        let centre = grid.centre(square);
        let floor_mm = self.span.map_or(self.to.low_mm, |span| spans[span as usize].high_mm);
        let cell = grid
            .storeys(square)
            .find(|cell| (grid.floor_mm(*cell) - self.to.high_mm).abs() < LEAST_RISE_MM);
        ShutOpening {
            cell: cell.unwrap_or(square),
            width_mm: self.width_mm,
            floorless: self.span.is_none(),
            at: Point::new(centre.x, centre.y, floor_mm),
        }
    }
}

/// The squares between walls that stand no farther apart than `narrow` says, along x, along y or over a
/// corner, and how high the lower one of the walls stands there on a floor.
///
/// What hangs over a floor isn't bridged, nor anything up to what is over it, so that no space is shut off
/// from above. A slit in sheet over no floor at all is: what was measured there as two sheets may be one.
/// For drips it stays open, see [`HeightGrid::with_slits`]. Cost: a look at each square beside a narrow row or
/// column of squares.
pub(super) fn fills(lines: &Lines, start: &[u32], spans: &[Span], narrow: &Narrow) -> Vec<Fill> {
    let (columns, rows) = (lines.x.len() - 1, lines.y.len() - 1);
    let column = |cell: usize| start[cell] as usize..start[cell + 1] as usize;
    let next = [lines.x, lines.y].map(|lines| reaches(lines, narrow.up_to_mm));
    let mut found: Vec<Fill> = Vec::new();
    let mut bridge = |a: usize,
                      b: usize,
                      over: (std::ops::Range<usize>, std::ops::Range<usize>),
                      width_mm: f64| {
        for row in over.1 {
            for at in over.0.clone() {
                let cell = at + row * columns;
                let middle = |lines: &[f64], at: usize| f64::midpoint(lines[at], lines[at + 1]);
                let (x, y) = (middle(lines.x, at), middle(lines.y, row));
                if narrow
                    .declared
                    .iter()
                    .any(|place| (place.at.x - x).hypot(place.at.y - y) <= place.reach_mm)
                {
                    continue;
                }
                let filled = between(&spans[column(a)], &spans[column(b)], &spans[column(cell)]);
                found.extend(filled.map(|(span, to)| Fill {
                    cell: cell as u32,
                    width_mm,
                    span: span.map(|span| start[cell] + span),
                    to,
                }));
            }
        }
    };
    for row in 0..rows {
        for first in 0..columns {
            let here = first + row * columns;
            if column(here).is_empty() {
                continue;
            }
            // Straight on, and over the corners before and behind.
            for &(beyond, wide_mm) in &next[0][first] {
                if beyond > first + 1 {
                    bridge(
                        here,
                        beyond + row * columns,
                        (first + 1..beyond, row..row + 1),
                        wide_mm,
                    );
                }
                for &(below, deep_mm) in &next[1][row] {
                    let width_mm = wide_mm.hypot(deep_mm);
                    let touch = beyond == first + 1 && below == row + 1;
                    if touch || width_mm > narrow.up_to_mm {
                        continue;
                    }
                    // From here to the far corner, and between the other two corners.
                    for (a, b, at) in [
                        (here, beyond + below * columns, beyond),
                        (beyond + row * columns, first + below * columns, first),
                    ] {
                        let x = if beyond == first + 1 { at..at + 1 } else { first + 1..beyond };
                        let y = if below == row + 1 { below..below + 1 } else { row + 1..below };
                        bridge(a, b, (x, y), width_mm);
                    }
                }
            }
            for &(below, deep_mm) in next[1][row].iter().filter(|next| next.0 > row + 1) {
                bridge(here, first + below * columns, (first..first + 1, row + 1..below), deep_mm);
            }
        }
    }
    // Of several over one cell the highest.
    found.sort_by(|a, b| {
        (a.cell, a.span).cmp(&(b.cell, b.span)).then(b.to.high_mm.total_cmp(&a.to.high_mm))
    });
    found.dedup_by_key(|fill| (fill.cell, fill.span));
    found
}

/// For each square of a line of squares, those behind it with no more than `up_to_mm` between, and how much
/// that is: the next one, and those beyond narrow ones.
fn reaches(lines: &[f64], up_to_mm: f64) -> Vec<Vec<(usize, f64)>> {
    let count = lines.len() - 1;
    let from = |first: usize| {
        let wide = move |next: usize| lines[next] - lines[first + 1];
        (first + 1..count).map(move |next| (next, wide(next))).take_while(|next| next.1 <= up_to_mm)
    };
    (0..count).map(|first| from(first).collect()).collect()
}

/// What of two walls stands on both sides of a cell on its floor: the place of the span that it raises and
/// what stands there then.
fn between<'a>(
    a: &'a [Span],
    b: &'a [Span],
    cell: &'a [Span],
) -> impl Iterator<Item = (Option<u32>, Span)> + 'a {
    let both = a.iter().flat_map(move |a| {
        b.iter().map(move |b| Span {
            low_mm: a.low_mm.max(b.low_mm),
            high_mm: a.high_mm.min(b.high_mm),
        })
    });
    both.filter_map(move |wall| {
        if wall.high_mm - wall.low_mm < 0.0 {
            return None;
        }
        if cell.is_empty() {
            return (a.len() == 1 && b.len() == 1).then_some((None, wall));
        }
        let stands = |span: &Span| {
            span.high_mm >= wall.low_mm - LEAST_RISE_MM
                && span.high_mm < wall.high_mm - LEAST_RISE_MM
        };
        let place = cell.iter().position(stands)?;
        let over =
            cell.get(place + 1).is_none_or(|over| wall.high_mm < over.low_mm - LEAST_RISE_MM);
        let raised = Span { low_mm: cell[place].low_mm, high_mm: wall.high_mm };
        over.then_some((Some(place as u32), raised))
    })
}

/// The spans with some floors raised.
pub(super) fn raised(start: &[u32], spans: &[Span], fills: &[Fill]) -> (Vec<u32>, Vec<Span>) {
    let mut spans_now = Vec::with_capacity(spans.len() + fills.len());
    let mut start_now = Vec::with_capacity(start.len());
    let mut fills = fills.iter().peekable();
    for cell in 0..start.len() - 1 {
        let begin = spans_now.len();
        start_now.push(begin as u32);
        spans_now.extend_from_slice(&spans[start[cell] as usize..start[cell + 1] as usize]);
        while let Some(fill) = fills.next_if(|fill| fill.cell as usize == cell) {
            match fill.span {
                Some(span) => spans_now[begin + (span - start[cell]) as usize] = fill.to,
                None => spans_now.push(fill.to),
            }
        }
    }
    start_now.push(spans_now.len() as u32);
    (start_now, spans_now)
}

/// Which cells no air reaches from outside. Under the open sky it reaches all.
pub(super) fn sealed(grid: &HeightGrid) -> Vec<bool> {
    let squares = grid.squares();
    let mut shut = vec![false; grid.cells()];
    shut[squares..].fill(true);
    let mut open: Vec<usize> = Vec::new();
    let aired = |cell: &usize| grid.open(*cell) || grid.beside(*cell).any(|next| next < squares);
    for cell in (squares..grid.cells()).filter(aired) {
        shut[cell] = false;
        open.push(cell);
    }
    while let Some(cell) = open.pop() {
        for next in grid.beside(cell) {
            if std::mem::replace(&mut shut[next], false) {
                open.push(next);
            }
        }
    }
    shut
}
