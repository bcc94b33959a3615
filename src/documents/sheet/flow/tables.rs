//! Tables in the flow: of figures, and to be signed.

use super::{BOTTOM_MM, Flow, KEPT_TOGETHER_MM, LEFT_MM, RIGHT_MM, Stroke, TOP_MM};
use crate::documents::pdf::{Cut, FAINT, INK, LINE, MM_PER_POINT, PALE};

/// Shares of the width for what is checked, what was found, and who says so.
const SIGN_SHARES: [f64; 3] = [0.50, 0.26, 0.24];

/// A table with its words folded into their cells.
struct Table {
    widths: Vec<f64>,
    size: f64,
    line: f64,
    head: Vec<Vec<String>>,
    rows: Vec<Vec<Vec<String>>>,
}

fn row_mm(cells: &[Vec<String>], line: f64) -> f64 {
    cells.iter().map(Vec::len).max().unwrap_or(1) as f64 * line + 2.0
}

fn together_mm(head: &[Vec<String>], rows: &[Vec<Vec<String>>], line: f64) -> f64 {
    let all: f64 = rows.iter().map(|row| row_mm(row, line)).sum();
    let first = rows.first().map_or(0.0, |row| row_mm(row, line));
    row_mm(head, line) + if all <= KEPT_TOGETHER_MM { all } else { first }
}

impl<'a> Flow<'a> {
    pub(super) fn table(&mut self, shares: &[f64], head: &[String], rows: &[Vec<String>]) {
        self.y += 2.0;
        let whole = RIGHT_MM - LEFT_MM;
        let Table { widths, size, line, head, rows } = self.folded_table(shares, head, rows);
        let height = |cells: &[Vec<String>]| row_mm(cells, line);
        self.need(together_mm(&head, &rows, line));
        let row = |flow: &mut Flow<'a>, cells: &[Vec<String>], cut: Cut| {
            let h = height(cells);
            if cut == Cut::Bold {
                flow.put(Stroke::Rect([LEFT_MM, flow.y, whole, h], Some(PALE), None));
            }
            let mut x = LEFT_MM;
            for (lines, width) in cells.iter().zip(&widths) {
                for (index, text) in lines.iter().enumerate() {
                    let foot = flow.y + 1.0 + line * (index as f64 + 0.78);
                    let colour = if cut == Cut::Bold { flow.colour } else { INK };
                    flow.text(x + 1.5, foot, size, cut, colour, text.clone());
                }
                x += width;
            }
            flow.y += h;
            flow.put(Stroke::Line((LEFT_MM, flow.y), (RIGHT_MM, flow.y), 0.15, LINE));
        };
        row(self, &head, Cut::Bold);
        for cells in &rows {
            if self.y + height(cells) > BOTTOM_MM {
                self.need(height(cells));
                row(self, &head, Cut::Bold);
            }
            row(self, cells, Cut::Regular);
        }
        self.y += 1.0;
    }

    /// How much of a table stands together at its beginning, mm: all of a short one, else head and first row.
    pub(super) fn table_start_mm(
        &self,
        shares: &[f64],
        head: &[String],
        rows: &[Vec<String>],
    ) -> f64 {
        let Table { line, head, rows, .. } = self.folded_table(shares, head, rows);
        2.0 + together_mm(&head, &rows, line)
    }

    fn folded_table(&self, shares: &[f64], head: &[String], rows: &[Vec<String>]) -> Table {
        let whole = RIGHT_MM - LEFT_MM;
        let sum: f64 = shares.iter().sum();
        let widths: Vec<f64> = shares.iter().map(|share| whole * share / sum).collect();
        let size = self.size - 0.7;
        let folded = |cells: &[String], cut| -> Vec<Vec<String>> {
            let cell =
                |(text, width): (&String, &f64)| self.fonts.folded(text, size, cut, width - 3.0);
            cells.iter().zip(&widths).map(cell).collect()
        };
        let head = folded(head, Cut::Bold);
        let rows = rows.iter().map(|row| folded(row, Cut::Regular)).collect();
        Table { line: size * 1.28 * MM_PER_POINT, size, head, rows, widths }
    }

    /// How high a table to sign is, mm, on one page.
    pub(super) fn sign_height(&self, rows: &[(String, String)]) -> f64 {
        let width = (RIGHT_MM - LEFT_MM) * SIGN_SHARES[0] - 10.0;
        let lines = |what: &str| self.fonts.folded(what, self.size, Cut::Regular, width).len();
        let row = |what: &str| (self.line_mm() * lines(what) as f64 + 4.0).max(11.0);
        7.0 + rows.iter().map(|(what, _)| row(what)).sum::<f64>()
    }

    pub(super) fn sign(&mut self, rows: &[(String, String)]) {
        self.y += 2.0;
        let whole = RIGHT_MM - LEFT_MM;
        let [check, found, date] = SIGN_SHARES.map(|share| whole * share);
        let line = self.line_mm();
        self.need(self.sign_height(rows).min(BOTTOM_MM - TOP_MM));
        let mut headed_page = None;
        for (what, record) in rows {
            let words = self.fonts.folded(what, self.size, Cut::Regular, check - 10.0);
            let h = (line * words.len() as f64 + 4.0).max(11.0);
            self.need(h);
            if headed_page != Some(self.pages.len()) {
                for (x, text) in [
                    (7.0, "Check"),
                    (check + 1.5, "Found"),
                    (check + found + 1.5, "Date, initials"),
                ] {
                    self.text(
                        LEFT_MM + x,
                        self.y + 3.6,
                        self.size - 0.7,
                        Cut::Bold,
                        self.colour,
                        text,
                    );
                }
                self.y += 5.0;
                headed_page = Some(self.pages.len());
            }
            self.put(Stroke::Rect([LEFT_MM, self.y, whole, h], None, Some((LINE, 0.2))));
            self.put(Stroke::Rect(
                [LEFT_MM + 2.0, self.y + h / 2.0 - 1.7, 3.4, 3.4],
                None,
                Some((FAINT, 0.25)),
            ));
            for at in [check, whole - date] {
                let x = LEFT_MM + at;
                self.put(Stroke::Line((x, self.y), (x, self.y + h), 0.2, LINE));
            }
            let top = self.y + (h - line * words.len() as f64) / 2.0;
            for (index, text) in words.into_iter().enumerate() {
                let foot = top + line * (index as f64 + 0.8);
                self.text(LEFT_MM + 7.5, foot, self.size, Cut::Regular, INK, text);
            }
            let size = self.size - 1.5;
            self.text(
                LEFT_MM + check + 1.5,
                self.y + h - 1.6,
                size,
                Cut::Regular,
                FAINT,
                record.clone(),
            );
            self.y += h;
        }
    }
}
