//! Templates on paper, read back with lopdf: sizes, the square, joints. tests/referees/paper.py does the
//! same with pdfplumber and on printed pixels.

use dryberth::documents::panel::{Panel, panel_for, plate};
use dryberth::documents::{Paper, template_pdf, tiles};

use crate::pages::{Page, Path, pages};
use crate::sandlark;

fn square(page: &Page) -> &Path {
    let is_square = |path: &&Path| {
        let (w, h) = path.size();
        !path.curved && path.points.len() >= 4 && (w - 100.0).abs() < 2.0 && (h - 100.0).abs() < 2.0
    };
    page.paths.iter().find(is_square).expect("the check square")
}

/// The cut line: 0.3 mm wide, and the largest of those.
fn cut_line(page: &Page) -> &Path {
    let wide = page.paths.iter().filter(|path| (path.line_mm - 0.3).abs() < 1e-3);
    wide.max_by(|a, b| (a.size().0 * a.size().1).total_cmp(&(b.size().0 * b.size().1)))
        .expect("a cut line")
}

/// Middles of the joining marks' circles.
fn marks(page: &Page) -> Vec<(f64, f64)> {
    let round = page.paths.iter().filter(|path| path.curved && (path.size().0 - 4.4).abs() < 0.01);
    let mut marks: Vec<(f64, f64)> = round
        .map(|path| {
            let [l, t, r, b] = path.bounds();
            ((l + r) / 2.0, (t + b) / 2.0)
        })
        .collect();
    marks.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    marks
}

fn large() -> Panel {
    let corners =
        [(0.0, 0.0), (610.0, -20.0), (655.0, 210.0), (420.0, 470.0), (380.0, 300.0), (30.0, 455.0)];
    plate("large plate", &corners, &[((100.0, 100.0), 8.0), ((500.0, 120.0), 30.0)])
        .expect("a plate")
}

#[test]
fn sheets_have_their_standard_sizes_and_the_square_is_100_mm() {
    // ISO 216, and 8½ × 11 inches.
    for (paper, size) in
        [(Paper::A4, (210.0, 297.0)), (Paper::A3, (297.0, 420.0)), (Paper::Letter, (215.9, 279.4))]
    {
        let pdf = template_pdf(&large(), paper, None).expect("a file");
        let pages = pages(&pdf);
        let plan = tiles(&large(), paper).expect("a plan");
        assert_eq!(pages.len(), plan.tiles.len() + 1, "{paper:?}");
        for page in &pages {
            let (w, h) = (page.size.0.min(page.size.1), page.size.0.max(page.size.1));
            assert!((w - size.0).abs() < 0.01 && (h - size.1).abs() < 0.01, "{paper:?}: {w} × {h}");
        }
        let (w, h) = square(&pages[0]).size();
        assert!((w - 100.0).abs() < 0.01 && (h - 100.0).abs() < 0.01, "{w} × {h}");
    }
}

#[test]
fn tiles_join_where_their_marks_meet() {
    let plan = tiles(&large(), Paper::A4).expect("a plan");
    let pdf = template_pdf(&large(), Paper::A4, None).expect("a file");
    let pages = &pages(&pdf)[1..];
    let (rows, columns) = plan.grid;
    assert!(rows > 1 && columns > 1, "the plate is larger than a sheet both ways");
    let mut joints = 0;
    for row in 0..rows {
        for column in 0..columns {
            let here = &pages[row * columns + column];
            let mut neighbours = Vec::new();
            if column + 1 < columns {
                neighbours.push(&pages[row * columns + column + 1]);
            }
            if row + 1 < rows {
                neighbours.push(&pages[(row + 1) * columns + column]);
            }
            for next in neighbours {
                // How the panel lies on one sheet against the other, and how the marks do.
                let (a, b) = (cut_line(here), cut_line(next));
                let shift = (a.points[0].0 - b.points[0].0, a.points[0].1 - b.points[0].1);
                for (p, q) in a.points.iter().zip(&b.points) {
                    let off = (p.0 - q.0 - shift.0).hypot(p.1 - q.1 - shift.1);
                    assert!(off < 0.001, "{off} mm: {:?} and {:?}", a.points, b.points);
                }
                let there = marks(next);
                let met = marks(here)
                    .iter()
                    .filter(|mark| {
                        let wanted = (mark.0 - shift.0, mark.1 - shift.1);
                        there
                            .iter()
                            .any(|m| (m.0 - wanted.0).abs() < 0.2 && (m.1 - wanted.1).abs() < 0.2)
                    })
                    .count();
                assert!(met >= 3, "three marks of a joint meet");
                joints += 1;
            }
        }
    }
    assert_eq!(joints, rows * (columns - 1) + (rows - 1) * columns);
}

#[test]
fn a_panel_is_drawn_at_its_true_size() {
    let ready = sandlark();
    let opening = &ready.opened.layout.openings[0];
    let panel = panel_for(&ready.boot, opening, &[]).expect("a panel");
    let [l, b, r, t] = panel.outline.bounds();
    let pdf = template_pdf(&panel, Paper::A4, None).expect("a file");
    for page in &pages(&pdf)[1..] {
        let (w, h) = cut_line(page).size();
        assert!((w - (r - l)).abs() < 0.01 && (h - (t - b)).abs() < 0.01, "{w} × {h}");
    }
}

#[test]
fn the_same_panel_gives_the_same_bytes_and_a_monstrous_one_none() {
    let panel = large();
    assert_eq!(template_pdf(&panel, Paper::A3, None), template_pdf(&panel, Paper::A3, None));
    let field = [
        (-19_000.0, -19_000.0),
        (19_000.0, -19_000.0),
        (19_000.0, 19_000.0),
        (-19_000.0, 19_000.0),
    ];
    let field = plate("a field", &field, &[]).expect("an outline");
    assert!(template_pdf(&field, Paper::A4, None).is_none());
}
