//! A template as PDF: a first page with the square to check by, then the tiles.

use krilla::Document;

use super::CHECK_MM;
use super::tiling::{Paper, Tile, TilePlan, tiles};
use crate::documents::cautions::PLANNING_AID;
use crate::documents::panel::Panel;
use crate::documents::pdf::{ACCENT, Canvas, Cut, FAINT, Fonts, INK, LINE, PALE, page_of};
use crate::model::Workshop;

/// Width of the cut line, mm; the cut goes along its middle.
const CUT_LINE_MM: f64 = 0.3;
/// Width of the panel's name between the arrows beside it, mm.
const NAME_MM: f64 = 32.0;
/// Half the size of a joining mark, mm.
const MARK_MM: f64 = 4.0;

/// A PDF file of the panel at true size, tiled on `paper` with overlap and joining marks; its first page
/// has a 100 mm square to check the print by, the plan of the sheets and what to do. None when the
/// panel would take more than 400 sheets.
///
/// Lengths: page coordinates are 32-bit floats in points, within 0.0001 mm on these sizes.
pub fn template_pdf(panel: &Panel, paper: Paper, workshop: Option<&Workshop>) -> Option<Vec<u8>> {
    let plan = tiles(panel, paper)?;
    let fonts = Fonts::new()?;
    let mut document = Document::new();
    let (width, height) = paper.size_mm();
    {
        let mut page = document.start_page_with(page_of(width, height)?);
        let mut surface = page.surface();
        let mut canvas = Canvas { surface: &mut surface, fonts: &fonts };
        first_page(&mut canvas, panel, &plan, paper, workshop);
        surface.finish();
        page.finish();
    }
    for tile in &plan.tiles {
        let mut page = document.start_page_with(page_of(plan.page_mm.0, plan.page_mm.1)?);
        let mut surface = page.surface();
        let mut canvas = Canvas { surface: &mut surface, fonts: &fonts };
        tile_page(&mut canvas, panel, &plan, tile);
        surface.finish();
        page.finish();
    }
    document.finish().ok()
}

fn first_page(
    canvas: &mut Canvas,
    panel: &Panel,
    plan: &TilePlan,
    paper: Paper,
    workshop: Option<&Workshop>,
) {
    let (width, height) = paper.size_mm();
    let (left, right) = (18.0, width - 18.0);
    let mut y = 24.0;
    let mut title_mm = right - left;
    if let Some(workshop) = workshop {
        let name = canvas.fonts.cut_short(&workshop.name, 9.0, Cut::Regular, title_mm / 2.0);
        title_mm -= canvas.fonts.width_mm(&name, 9.0, Cut::Regular) + 6.0;
        canvas.text_to(right, y - 0.5, 9.0, Cut::Regular, FAINT, &name);
    }
    let title = format!("Template: {}", panel.name);
    let fits = |size: &&f64| canvas.fonts.width_mm(&title, **size, Cut::Bold) <= title_mm;
    let size = *[17.0, 15.0, 13.0].iter().find(fits).unwrap_or(&12.0);
    let title = canvas.fonts.cut_short(&title, size, Cut::Bold, title_mm);
    canvas.text(left, y, size, Cut::Bold, INK, &title);
    y += 3.0;
    canvas.line((left, y), (right, y), 0.5, ACCENT, &[]);
    y += 7.0;
    let [l, b, r, t] = panel.outline.bounds();
    let sheets = plan.tiles.len();
    let size = format!(
        "Seen on its face. {:.0} × {:.0} mm over all, {:.2} dm². {sheets} sheet{} of {} at true size, {:.0} mm overlap.",
        r - l,
        t - b,
        panel.outline.area_mm2() / 1e4,
        if sheets == 1 { "" } else { "s" },
        paper.words(),
        plan.overlap_mm,
    );
    canvas.text(left, y, 9.5, Cut::Regular, INK, &size);
    y += 8.0;
    // The square, with its own size written inside.
    let square_y = y;
    canvas.rect(left, y, CHECK_MM, CHECK_MM, None, Some((INK, 0.25)));
    for tenth in 1..10 {
        let at = f64::from(tenth) * 10.0;
        let long = if tenth == 5 { 4.0 } else { 2.0 };
        canvas.line((left + at, y), (left + at, y + long), 0.2, INK, &[]);
        canvas.line((left, y + at), (left + long, y + at), 0.2, INK, &[]);
    }
    let middle = left + CHECK_MM / 2.0;
    canvas.text_mid(middle, y + 40.0, 13.0, Cut::Bold, INK, "100 mm × 100 mm");
    let words = [
        "Print at 100 %, without “fit to page”.",
        "Measure this square with a steel rule,",
        "both ways. If a side is not 100 mm",
        "within half a millimetre, don't cut.",
    ];
    for (line, text) in words.iter().enumerate() {
        canvas.text_mid(middle, y + 49.0 + 5.2 * line as f64, 9.5, Cut::Regular, INK, text);
    }
    // Plan of the sheets beside it.
    let side = left + CHECK_MM + 8.0;
    sheet_plan(canvas, panel, plan, (side, square_y, right - side, CHECK_MM));
    y += CHECK_MM + 10.0;
    let steps = steps(panel, sheets);
    y = list(canvas, (left, y, right - left), "What to do", &steps, true);
    if !panel.remarks.is_empty() {
        let title = if is_plate(panel) { "Sheet and holes" } else { "What is allowed for" };
        y = list(canvas, (left, y + 3.0, right - left), title, &panel.remarks, false);
    }
    let what = if is_plate(panel) { "plate" } else { "panel" };
    let slots = if is_plate(panel) { "" } else { "; edge every slot" };
    let cautions = [
        format!("Don't drill or screw where tank, lines or looms lie behind the {what}."),
        format!("Keep the {what}'s edges from hoses and cables{slots}."),
        "Keep the battery's vent and the way to the filler and the emergency release free."
            .to_string(),
        PLANNING_AID.to_string(),
    ];
    let _ =
        list(canvas, (left, (y + 3.0).min(height - 34.0), right - left), "Mind", &cautions, false);
}

/// Whether it is a plate of its own, not the panel of an opening.
fn is_plate(panel: &Panel) -> bool {
    panel.opening.is_none()
}

/// What to do with the sheets, in order.
fn steps(panel: &Panel, sheets: usize) -> Vec<String> {
    let mut steps = Vec::new();
    if sheets > 1 {
        steps.extend([
            "Cut each sheet along the left and upper dashed line, where it has one.",
            "Lay it over its neighbour so that the joining marks fall on each other, and tape it down.",
            "Check: sides that cross a joint run straight on; marks with the same letters meet.",
        ]);
    }
    if is_plate(panel) {
        steps.extend([
            "Stick the paper on the face of the sheet metal. Punch the middle of each hole through its cross.",
            "Drill the holes, then cut along the middle of the solid line; take the burrs off, paint the edges.",
            "Try it on the car before anything is tightened; the face mark looks at you.",
        ]);
    } else {
        steps.extend([
            "Stick the paper on the face of the board or card. Cut along the middle of the solid line.",
            "Try it in the opening before carpet is glued. The face mark looks at you; up is up in the boot.",
        ]);
    }
    steps.into_iter().map(String::from).collect()
}

fn list(
    canvas: &mut Canvas,
    (x, mut y, width): (f64, f64, f64),
    title: &str,
    lines: &[String],
    numbered: bool,
) -> f64 {
    canvas.text(x, y, 11.0, Cut::Bold, ACCENT, title);
    y += 5.4;
    for (index, text) in lines.iter().enumerate() {
        let head = if numbered { format!("{}", index + 1) } else { "•".to_string() };
        canvas.text(x, y, 9.5, Cut::Bold, INK, &head);
        for line in canvas.fonts.folded(text, 9.5, Cut::Regular, width - 6.0) {
            canvas.text(x + 6.0, y, 9.5, Cut::Regular, INK, &line);
            y += 4.7;
        }
    }
    y + 1.5
}

/// The panel small, with the sheets over it.
fn sheet_plan(
    canvas: &mut Canvas,
    panel: &Panel,
    plan: &TilePlan,
    (x, y, w, h): (f64, f64, f64, f64),
) {
    let (Some(first), Some(last)) = (plan.tiles.first(), plan.tiles.last()) else { return };
    let whole = (
        last.left_mm + plan.drawn_mm.0 - first.left_mm,
        first.top_mm - (last.top_mm - plan.drawn_mm.1),
    );
    let scale = (w / whole.0).min((h - 8.0) / whole.1);
    let at =
        |(px, py): (f64, f64)| (x + (px - first.left_mm) * scale, y + (first.top_mm - py) * scale);
    for tile in &plan.tiles {
        let (tx, ty) = at((tile.left_mm, tile.top_mm));
        canvas.rect(
            tx,
            ty,
            plan.drawn_mm.0 * scale,
            plan.drawn_mm.1 * scale,
            None,
            Some((LINE, 0.2)),
        );
    }
    canvas.outline(&panel.outline, &at, Some(PALE), Some((INK, 0.3, &[])));
    for hole in &panel.holes {
        canvas.outline(hole, &at, Some((255, 255, 255)), Some((INK, 0.2, &[])));
    }
    for tile in &plan.tiles {
        let (tx, ty) =
            at((tile.left_mm + plan.drawn_mm.0 / 2.0, tile.top_mm - plan.drawn_mm.1 / 2.0));
        canvas.text_mid(tx, ty + 1.5, 10.0, Cut::Bold, ACCENT, &name_of(tile));
    }
    let under = y + whole.1 * scale + 5.0;
    canvas.text(x, under, 8.5, Cut::Regular, FAINT, "How the sheets lie");
}

/// `A1`: rows are letters, columns numbers.
fn name_of(tile: &Tile) -> String {
    let letter = (b'A' + ((tile.row - 1) % 26) as u8) as char;
    let more = if tile.row > 26 { format!("{}", (tile.row - 1) / 26) } else { String::new() };
    format!("{letter}{more}{}", tile.column)
}

fn tile_page(canvas: &mut Canvas, panel: &Panel, plan: &TilePlan, tile: &Tile) {
    let (x0, y0) = plan.drawn_at_mm;
    let (w, h) = plan.drawn_mm;
    let at = |(px, py): (f64, f64)| (x0 + px - tile.left_mm, y0 + tile.top_mm - py);
    canvas.clip(x0, y0, w, h);
    marks_of(canvas, panel, &at);
    if let Some(opening) = &panel.opening {
        canvas.outline(opening, &at, None, Some((FAINT, 0.15, &[3.0, 2.0])));
    }
    canvas.outline(&panel.outline, &at, None, Some((INK, CUT_LINE_MM, &[])));
    for (index, hole) in panel.holes.iter().enumerate() {
        canvas.outline(hole, &at, None, Some((INK, CUT_LINE_MM, &[])));
        let [l, b, r, t] = hole.bounds();
        let (cx, cy) = at(((l + r) / 2.0, (b + t) / 2.0));
        canvas.line((cx - 3.0, cy), (cx + 3.0, cy), 0.12, INK, &[]);
        canvas.line((cx, cy - 3.0), (cx, cy + 3.0), 0.12, INK, &[]);
        if is_plate(panel) {
            let beside = (cx + (r - l) / 2.0 + 1.2, cy - 1.2);
            canvas.text(beside.0, beside.1, 8.0, Cut::Bold, FAINT, &format!("{}", index + 1));
        }
    }
    joining_marks(canvas, plan, tile, &at);
    canvas.unclip();
    // Where the sheet is cut to lie on its neighbours.
    let dash = [1.5, 1.5];
    if tile.column > 1 {
        canvas.line((x0, y0), (x0, y0 + h), 0.15, FAINT, &dash);
    }
    if tile.row > 1 {
        canvas.line((x0, y0), (x0 + w, y0), 0.15, FAINT, &dash);
    }
    let foot = plan.page_mm.1 - 9.0;
    let sheet = if plan.tiles.len() == 1 {
        "  ·  the only sheet".to_string()
    } else {
        format!("  ·  sheet {} of {} × {}", name_of(tile), plan.grid.0, plan.grid.1)
    };
    // The name gives way to the scale beside it.
    let room = w - CHECK_MM - 6.0 - canvas.fonts.width_mm(&sheet, 9.0, Cut::Bold);
    let name = canvas.fonts.cut_short(&panel.name, 9.0, Cut::Bold, room);
    canvas.text(x0, foot, 9.0, Cut::Bold, INK, &format!("{name}{sheet}"));
    // A scale of 100 mm on every sheet.
    let bar = x0 + w - CHECK_MM;
    canvas.line((bar, foot - 2.0), (bar + CHECK_MM, foot - 2.0), 0.25, INK, &[]);
    for tenth in 0..=10 {
        let long = if tenth % 5 == 0 { 2.6 } else { 1.5 };
        let at = bar + f64::from(tenth) * 10.0;
        canvas.line((at, foot - 2.0 - long), (at, foot - 2.0), 0.25, INK, &[]);
    }
    canvas.text_to(bar + CHECK_MM, foot + 2.0, 7.5, Cut::Regular, FAINT, "100 mm, print at 100 %");
}

/// Crosses in circles where sheets join, at the same places of the panel on both.
fn joining_marks(
    canvas: &mut Canvas,
    plan: &TilePlan,
    tile: &Tile,
    at: &dyn Fn((f64, f64)) -> (f64, f64),
) {
    let (w, h) = plan.drawn_mm;
    let step = (w - plan.overlap_mm, h - plan.overlap_mm);
    let half = plan.overlap_mm / 2.0;
    let other = |row: usize, column: usize| name_of(&Tile { row, column, ..*tile });
    let mut mark = |place: (f64, f64), words: String| {
        let (x, y) = at(place);
        canvas.circle(x, y, MARK_MM * 0.55, None, Some((ACCENT, 0.2)));
        canvas.line((x - MARK_MM, y), (x + MARK_MM, y), 0.15, ACCENT, &[]);
        canvas.line((x, y - MARK_MM), (x, y + MARK_MM), 0.15, ACCENT, &[]);
        canvas.text(x + 3.0, y - 1.0, 6.5, Cut::Regular, ACCENT, &words);
    };
    for share in [0.15, 0.5, 0.85] {
        if tile.column > 1 {
            let words = format!("{}–{}", other(tile.row, tile.column - 1), name_of(tile));
            mark((tile.left_mm + half, tile.top_mm - h * share), words);
        }
        if tile.column < plan.grid.1 {
            let words = format!("{}–{}", name_of(tile), other(tile.row, tile.column + 1));
            mark((tile.left_mm + step.0 + half, tile.top_mm - h * share), words);
        }
        if tile.row > 1 {
            let words = format!("{}–{}", other(tile.row - 1, tile.column), name_of(tile));
            mark((tile.left_mm + w * share, tile.top_mm - half), words);
        }
        if tile.row < plan.grid.0 {
            let words = format!("{}–{}", name_of(tile), other(tile.row + 1, tile.column));
            mark((tile.left_mm + w * share, tile.top_mm - step.1 - half), words);
        }
    }
}

/// Face, up, grain, the names of the slots.
fn marks_of(canvas: &mut Canvas, panel: &Panel, at: &dyn Fn((f64, f64)) -> (f64, f64)) {
    let Some(middle) = middle_of(panel) else { return };
    let (x, y) = at(middle);
    let arrow = |canvas: &mut Canvas, angle_deg: f64, (x, y): (f64, f64), length: f64| {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let tip = (x + cos * length / 2.0, y - sin * length / 2.0);
        let tail = (x - cos * length / 2.0, y + sin * length / 2.0);
        canvas.line(tail, (tip.0 - cos * 3.0, tip.1 + sin * 3.0), 0.35, FAINT, &[]);
        let wing = |side: f64| (tip.0 - cos * 5.0 - sin * side, tip.1 + sin * 5.0 - cos * side);
        canvas.polygon(&[tip, wing(1.8), wing(-1.8)], FAINT);
    };
    canvas.text_mid(x, y - 2.0, 11.0, Cut::Bold, FAINT, "FACE");
    for (line, text) in
        canvas.fonts.folded(&panel.name, 8.0, Cut::Regular, NAME_MM).iter().take(3).enumerate()
    {
        canvas.text_mid(x, y + 3.0 + 3.6 * line as f64, 8.0, Cut::Regular, FAINT, text);
    }
    arrow(canvas, 90.0, (x - 24.0, y), 18.0);
    canvas.text_mid(x - 24.0, y + 13.0, 8.0, Cut::Regular, FAINT, "up");
    if let Some(grain_deg) = panel.grain_deg {
        arrow(canvas, grain_deg, (x + 27.0, y), 20.0);
        canvas.text_mid(x + 27.0, y + 14.0, 8.0, Cut::Regular, FAINT, "pile, grain");
    }
    for (index, relief) in panel.reliefs.iter().enumerate() {
        let (x, y) = at(relief.at);
        canvas.line((x - 2.0, y), (x + 2.0, y), 0.15, FAINT, &[]);
        canvas.line((x, y - 2.0), (x, y + 2.0), 0.15, FAINT, &[]);
        // Beside the slot, clear of its cut line; the first page says which line it is.
        let beside = y - relief.width_mm / 2.0 - 2.0;
        canvas.text_mid(x, beside, 8.0, Cut::Bold, FAINT, &format!("{}", index + 1));
    }
}

/// A place well inside the panel: of a grid of points, the one farthest from the cut line.
fn middle_of(panel: &Panel) -> Option<(f64, f64)> {
    let [l, b, r, t] = panel.outline.bounds();
    let mut best: Option<((f64, f64), f64)> = None;
    for row in 1..24 {
        for column in 1..24 {
            let x = l + (r - l) * f64::from(column) / 24.0;
            let y = b + (t - b) * f64::from(row) / 24.0;
            let all = std::iter::once(&panel.outline).chain(&panel.holes);
            let clear = all
                .filter_map(|outline| outline.nearest((x, y)))
                .map(|(edge, _)| (edge.0 - x).hypot((edge.1 - y) * 2.0))
                .fold(f64::INFINITY, f64::min);
            if panel.outline.holds((x, y)) && best.is_none_or(|(_, most)| clear > most) {
                best = Some(((x, y), clear));
            }
        }
    }
    best.map(|(at, _)| at)
}
